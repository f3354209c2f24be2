/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "standard.h"
#include "obstacle.h"
#include "reasons.h"
#include "under_errors.h"
#include <bloomcoat/refine.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COMFORTABLE  0.8 /* limit_used: no further refinement is needed before its runs are counted */
#define MOST_REFINED 12  /* standard coatings, those that come nearest as they are */
#define SPREAD       1.0 /* standard deviations of the errors under which a refined one is to hold */
#define MOST_OFFERED 3   /* among the options */

/* The stack made for this substrate, else the one for the substrate of the nearest index in the middle of the first
 * band. */
static const bc_stack *nearest_stack(const bc_standard *standard, const bc_design_problem *problem)
{
    const bc_callout *first = &problem->callouts->callout[0];
    const double at_nm = 0.5 * (first->from_nm + first->to_nm), wanted = bc_index_at(&problem->substrate[0], at_nm);
    const bc_stack *nearest = &standard->stack[0];
    double least = INFINITY;
    for (size_t i = 0; i < standard->stacks; i++) {
        const bc_medium *substrate = &standard->stack[i].substrate;
        const double distance = fabs(bc_index_at(substrate, at_nm) - wanted);
        if (substrate->dispersion == problem->substrate[0].dispersion)
            return &standard->stack[i];
        if (distance < least) {
            least = distance;
            nearest = &standard->stack[i];
        }
    }
    return nearest;
}

/* A layer material that the request does not allow, or the shop has none of; NULL: every one will do. */
static const bc_medium *refused(const bc_stack *stack, const bc_quote_result *result)
{
    for (size_t j = 0; j < stack->layers; j++) {
        bool allowed = false;
        for (size_t m = 0; m < result->layers; m++)
            allowed = allowed || result->layer[m].dispersion == stack->layer[j].material.dispersion;
        if (!allowed)
            return &stack->layer[j].material;
    }
    return NULL;
}

static double most_moved(const bc_stack *from, const bc_stack *to)
{
    double most = 0.0;
    for (size_t j = 0; j < from->layers; j++)
        most = fmax(most, fabs(from->layer[j].thickness_nm - to->layer[j].thickness_nm));
    return most;
}

/* The largest move as a share of what still counts as the standard coating. */
static double share_moved(const bc_stack *from, const bc_stack *to)
{
    double most = 0.0;
    for (size_t j = 0; j < from->layers; j++) {
        const double thickness_nm = from->layer[j].thickness_nm;
        most = fmax(most, fabs(thickness_nm - to->layer[j].thickness_nm) /
                              fmax(BC_STANDARD_MOVE * thickness_nm, BC_STANDARD_MOVE_NM));
    }
    return most;
}

static bc_status judge(bc_pool *pool, const bc_stack *stack, bc_standard_offer *offer, bc_error *error)
{
    bc_stack_clear(&offer->option.stack);
    offer->option = (bc_quote_option){0};
    bc_thread_watch watch = {pool->watch, true};
    const bc_status status = bc_option_judge(pool, stack, false, &watch, &offer->option, error);
    offer->does = status == BC_OK && stack->layers > 0 && bc_option_as_asked(pool->request, &offer->option) &&
                  offer->option.total_nm <= pool->problem->max_total_nm;
    return status;
}

static bc_status hold_as_it_is(bc_pool *pool, const bc_standard *standard, const bc_quote_result *result,
                               bc_standard_offer *offer, bc_error *error)
{
    const bc_stack *stack = nearest_stack(standard, pool->problem);
    bc_stack placed = *stack; /* the layers are borrowed */
    *offer =
        (bc_standard_offer){.standard = standard, .made_for = &stack->substrate, .refused = refused(stack, result)};
    if (stack->incident.dispersion != pool->problem->incident.dispersion)
        offer->refused = &stack->incident;
    placed.substrate = pool->problem->substrate[0];
    return offer->refused != NULL ? BC_OK : judge(pool, &placed, offer, error);
}

/* Thicknesses for this request: first for the design alone, then so that it holds under errors. */
static bc_status refine(bc_pool *pool, bc_stack *stack, bc_standard_offer *offer, bc_error *error)
{
    bc_refine_result refined;
    bc_status status = bc_refine_until(pool->problem, COMFORTABLE, stack, &refined, error);
    if (status == BC_OK)
        status = judge(pool, stack, offer, error);
    if (status == BC_OK && !offer->does && offer->option.limit_used <= 1.0 && bc_yield_is_known(pool->request)) {
        status = bc_refine_under_errors(pool->problem, pool->request->process, SPREAD, NULL, stack, error);
        if (status == BC_OK)
            status = judge(pool, stack, offer, error);
    }
    return status;
}

/* One that moved too far, taken back to where it still counts as the standard coating: left there if it does it. */
static bc_status hold_nearer(bc_pool *pool, const bc_stack *start, bc_stack *stack, bc_standard_offer *offer,
                             bc_error *error)
{
    const double share = 0.999 / share_moved(start, stack);
    bc_standard_offer near = *offer;
    bc_stack nearer = {0};
    bc_status status = bc_stack_copy(stack, &nearer, error);
    near.option = (bc_quote_option){0};
    for (size_t j = 0; status == BC_OK && j < start->layers; j++)
        nearer.layer[j].thickness_nm =
            start->layer[j].thickness_nm + share * (stack->layer[j].thickness_nm - start->layer[j].thickness_nm);
    if (status == BC_OK)
        status = judge(pool, &nearer, &near, error);
    if (status == BC_OK && near.does) {
        bc_stack_clear(&offer->option.stack);
        bc_stack_clear(stack);
        *offer = near;
        *stack = nearer;
        return BC_OK;
    }
    bc_stack_clear(&near.option.stack);
    bc_stack_clear(&nearer);
    return status;
}

/* Same layers, other thicknesses; a new design where they moved too far. */
static bc_status hold_refined(bc_pool *pool, const bc_standard_offer *as_it_is, bc_standard_offer *offer,
                              bc_error *error)
{
    const bc_stack *start = &as_it_is->option.stack;
    bc_stack stack = {0};
    *offer = (bc_standard_offer){.standard = as_it_is->standard, .made_for = as_it_is->made_for, .refined = true};
    bc_status status = bc_stack_copy(start, &stack, error);
    if (status == BC_OK)
        status = refine(pool, &stack, offer, error);
    if (status == BC_OK && share_moved(start, &stack) > 1.0)
        status = hold_nearer(pool, start, &stack, offer, error);
    if (status == BC_OK) {
        offer->moved_nm = most_moved(start, &stack);
        offer->new_design = share_moved(start, &stack) > 1.0;
    }
    bc_stack_clear(&stack);
    return status;
}

/* Those that do first, as they are before refined; then by what is recommended of options; refused ones last. */
static int best_first(const bc_quote_request *request, const bc_standard_offer *a, const bc_standard_offer *b)
{
    if ((a->refused != NULL) != (b->refused != NULL))
        return a->refused != NULL ? 1 : -1;
    if (a->refused != NULL)
        return 0;
    if (a->does != b->does)
        return a->does ? -1 : 1;
    if (a->does && a->refined != b->refined)
        return a->refined ? 1 : -1;
    if (a->does && a->new_design != b->new_design)
        return a->new_design ? 1 : -1;
    return a->does ? bc_option_prefer(request, &a->option, &b->option)
                   : (a->option.limit_used > b->option.limit_used) - (a->option.limit_used < b->option.limit_used);
}

static void sort(const bc_quote_request *request, bc_quote_result *result)
{
    for (size_t i = 1; i < result->standards; i++)
        for (size_t j = i; j > 0 && best_first(request, &result->standard[j - 1], &result->standard[j]) > 0; j--) {
            const bc_standard_offer before = result->standard[j - 1];
            result->standard[j - 1] = result->standard[j];
            result->standard[j] = before;
        }
}

static bool is_offered(const bc_standard_offer *offer)
{
    return offer->does && !offer->new_design;
}

bool bc_standard_does(const bc_quote_result *result)
{
    return result->standards > 0 && is_offered(&result->standard[0]);
}

bc_status bc_standards_start(bc_pool *pool, const bc_quote_result *result, bc_error *error)
{
    bc_making making[MOST_REFINED];
    size_t count = 0;
    for (size_t i = 0; i < result->standards && count < MOST_REFINED; i++)
        if (result->standard[i].new_design)
            making[count++] = (bc_making){.problem = pool->problem, .start = &result->standard[i].option.stack};
    return bc_pool_make(pool, count, making, NULL, error);
}

bc_status bc_standards_hold(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const bc_standards *standards = pool->request->standards;
    const size_t count = standards == NULL ? 0 : standards->count;
    bc_status status = BC_OK;
    result->standard = calloc(2 * count + 1, sizeof *result->standard);
    if (result->standard == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < count; i++)
        status = hold_as_it_is(pool, &standards->standard[i], result, &result->standard[result->standards++], error);
    sort(pool->request, result);
    if (bc_standard_does(result))
        return status;
    for (size_t i = 0; status == BC_OK && i < count && i < MOST_REFINED && result->standard[i].refused == NULL; i++)
        if (result->standard[i].option.stack.layers > 0)
            status = hold_refined(pool, &result->standard[i], &result->standard[result->standards++], error);
    sort(pool->request, result);
    return status;
}

bc_status bc_standards_put_first(const bc_quote_request *request, bc_quote_result *result, bc_error *error)
{
    bc_quote_option *all = calloc(result->options + MOST_OFFERED, sizeof *all);
    size_t count = 0;
    bc_status status = all == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t i = 0;
         status == BC_OK && i < result->standards && is_offered(&result->standard[i]) && count < MOST_OFFERED; i++) {
        all[count] = result->standard[i].option;
        all[count].standard = &result->standard[i];
        status = bc_stack_copy(&result->standard[i].option.stack, &all[count].stack, error);
        count += status == BC_OK;
    }
    if (status != BC_OK) {
        for (size_t i = 0; i < count; i++)
            bc_stack_clear(&all[i].stack);
        free(all);
        return status;
    }
    if (result->options > 0)
        memcpy(all + count, result->option, result->options * sizeof *all);
    free(result->option);
    result->option = all;
    result->options += count;
    bc_options_settle(request, 0, result);
    return BC_OK;
}
