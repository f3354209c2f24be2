/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "balance.h"
#include <bloomcoat/refine.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WIDER    0.012 /* of the wavelength, at each end of a band */
#define HARDER   0.85  /* limit of the callout that fails most, times this */
#define ROUNDS   3
#define HOPELESS 0.3 /* below the yield asked for by so much: not worth the time; half of it after each round */

typedef struct bench {
    const bc_quote_request *request;
    const bc_design_problem *problem; /* as asked */
    bc_design_problem harder;
    bc_callouts callouts; /* of `harder` */
    double *fails;        /* [callouts] of the last design judged */
} bench;

static double reach(double nm, double wider_nm, const bc_medium *medium)
{
    const double wanted = wider_nm;
    double first_nm, last_nm;
    bc_dispersion_range(medium->dispersion, &first_nm, &last_nm);
    return wanted < nm ? fmax(wanted, fmin(nm, first_nm)) : fmin(wanted, fmax(nm, last_nm));
}

/* An end of a band, as far out as every table reaches. */
static double widened(const bench *b, const bc_stack *stack, double nm, double wider_nm)
{
    for (size_t j = 0; j < stack->layers; j++)
        wider_nm = reach(nm, wider_nm, &stack->layer[j].material);
    for (size_t g = 0; g < b->problem->substrates; g++)
        wider_nm = reach(nm, wider_nm, &b->problem->substrate[g]);
    return reach(nm, wider_nm, &b->problem->incident);
}

static bc_status open_bench(bench *b, const bc_stack *stack, bc_error *error)
{
    const bc_callouts *asked = b->problem->callouts;
    b->callouts = (bc_callouts){.count = asked->count, .callout = malloc(asked->count * sizeof *asked->callout)};
    b->fails = calloc(asked->count, sizeof *b->fails);
    if (b->callouts.callout == NULL || b->fails == NULL)
        return bc_fail_memory(error);
    memcpy(b->callouts.callout, asked->callout, asked->count * sizeof *asked->callout);
    b->harder = *b->problem;
    b->harder.callouts = &b->callouts;
    if (b->problem->back.kind == BC_BACK_OWN) /* its tables may end sooner */
        return BC_OK;
    for (size_t c = 0; c < asked->count; c++) {
        bc_callout *row = &b->callouts.callout[c];
        row->from_nm = widened(b, stack, row->from_nm, row->from_nm * (1.0 - WIDER));
        row->to_nm = widened(b, stack, row->to_nm, row->to_nm * (1.0 + WIDER));
    }
    return BC_OK;
}

static void close_bench(bench *b)
{
    free(b->callouts.callout);
    free(b->fails);
}

static void make_harder(bench *b)
{
    size_t worst = 0;
    bc_callout *row;
    for (size_t c = 1; c < b->callouts.count; c++)
        if (b->fails[c] > b->fails[worst])
            worst = c;
    row = &b->callouts.callout[worst];
    row->limit = row->sense == BC_AT_MOST ? HARDER * row->limit : 1.0 - HARDER * (1.0 - row->limit);
}

/* Refine `trial` for the harder callouts, judge it by those asked for, keep it where it is better. */
static bc_status take_turn(bench *b, size_t runs, size_t threads, bc_stack *trial, bc_stack *best,
                           bc_judgment *judgment, bc_error *error)
{
    bc_refine_result refined;
    bc_judgment found = {INFINITY, NAN, NAN, NAN};
    bc_stack copy;
    bc_status status = bc_refine_until(&b->harder, INFINITY, trial, &refined, error);
    if (status == BC_OK)
        status =
            bc_quote_judge(b->request, b->problem, trial, runs, b->request->seed, threads, &found, b->fails, error);
    if (status != BC_OK || found.limit_used > 1.0 || found.yield <= judgment->yield)
        return status;
    status = bc_stack_copy(trial, &copy, error);
    if (status == BC_OK) {
        bc_stack_clear(best);
        *best = copy;
        *judgment = found;
    }
    return status;
}

bc_status bc_balance(const bc_quote_request *request, const bc_design_problem *problem, size_t runs, size_t threads,
                     double margin, bc_stack *stack, bc_judgment *judgment, bc_error *error)
{
    bench b = {.request = request, .problem = problem};
    bc_stack trial = {0};
    bc_status status;
    double hopeless = HOPELESS;
    if (isnan(judgment->yield) || judgment->yield < request->yield - hopeless)
        return BC_OK;
    status = open_bench(&b, stack, error);
    if (status == BC_OK)
        status = bc_stack_copy(stack, &trial, error);
    for (int round = 0; status == BC_OK && round < ROUNDS && !bc_judged_good(request, judgment, margin) &&
                        judgment->yield >= request->yield - hopeless;
         round++, hopeless /= 2.0) {
        if (round > 0)
            make_harder(&b);
        status = take_turn(&b, runs, threads, &trial, stack, judgment, error);
    }
    bc_stack_clear(&trial);
    close_bench(&b);
    return status;
}
