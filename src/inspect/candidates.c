/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cause.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define EXACT    5e-4 /* of a thickness: no chamber is set finer */
#define COARSE   0.05
#define COARSEST 0.25
#define SELDOM   10.0 /* times less likely than others: an instrument keeps its angle from scan to scan */
#define THE_RULE 5.0  /* times likelier beforehand than any cause: a run as the process makes it */
#define FIRST    64

#define LEAST_SCATTER 0.03 /* of a layer, for a verdict from the fit */

static bc_candidate *add(bc_candidates *all, bc_cause_kind kind)
{
    bc_candidate *candidate;
    if (all->count == all->room) {
        const size_t room = all->room == 0 ? FIRST : 2 * all->room;
        bc_candidate *more = realloc(all->candidate, room * sizeof *more);
        if (more == NULL)
            return NULL;
        all->candidate = more;
        all->room = room;
    }
    candidate = &all->candidate[all->count++];
    *candidate = (bc_candidate){.cause = {.kind = kind, .size = NAN, .size_sigma = NAN},
                                .extra = {.material = SIZE_MAX},
                                .material = SIZE_MAX,
                                .start = 1.0};
    return candidate;
}

/* Kinds that strike all layers or none. */
static bool add_plain(bc_candidates *all, const bc_inspection *inspection)
{
    static const double scatter[] = {0.0, COARSE, COARSEST};
    bc_candidate *c = add(all, BC_CAUSE_AS_DESIGNED);
    if (c != NULL)
        c->extra.scatter = EXACT;
    for (size_t i = 0; c != NULL && i < 3; i++) {
        c = add(all, BC_CAUSE_RANDOM);
        if (c != NULL)
            c->extra.scatter = scatter[i];
    }
    if (c != NULL && (c = add(all, BC_CAUSE_COMMON_FACTOR)) != NULL) {
        c->extra.common = BC_USUAL_COMMON;
        c->start = inspection->result->scale;
    }
    if (c != NULL && (c = add(all, BC_CAUSE_WAVELENGTH)) != NULL)
        c->extra.wavelength = BC_USUAL_SHIFT_NM;
    if (c != NULL && inspection->readings.R.measured && (c = add(all, BC_CAUSE_READING_SCALE)) != NULL)
        c->extra.scale = BC_USUAL_SCALE;
    if (c != NULL && (c = add(all, BC_CAUSE_READING_OFFSET)) != NULL)
        c->extra.constant = BC_USUAL_OFFSET;
    if (c != NULL)
        c = add(all, BC_CAUSE_ANGLE);
    return c != NULL;
}

static bool add_materials(bc_candidates *all, const bc_inspection *inspection)
{
    const bc_fit *fit = &inspection->fit;
    bc_candidate *c = all->candidate;
    for (size_t m = 0; c != NULL && m < fit->materials; m++)
        for (int kind = BC_CAUSE_MATERIAL_FACTOR; c != NULL && kind <= BC_CAUSE_INDEX; kind += 2) {
            if (kind == BC_CAUSE_MATERIAL_FACTOR && fit->materials == 1)
                continue; /* that is a common factor */
            c = add(all, (bc_cause_kind)kind);
            if (c == NULL)
                break;
            c->material = c->extra.material = m;
            c->cause.material = *fit->simulated.medium[m];
            if (kind == BC_CAUSE_INDEX)
                c->extra.index = BC_USUAL_INDEX;
            else
                c->extra.common = BC_USUAL_COMMON;
        }
    return c != NULL;
}

static bool same(const bc_medium *one, const bc_medium *other)
{
    return one->dispersion == other->dispersion;
}

static bool add_other_materials(bc_candidates *all, const bc_inspection *inspection, size_t j)
{
    const bc_inspect_setup *setup = inspection->setup;
    const bc_fit *fit = &inspection->fit;
    const bc_medium *own = &setup->design->layer[j].material;
    for (size_t m = 0; m < fit->materials + setup->layer_media; m++) {
        const bc_medium *medium =
            m < fit->materials ? fit->simulated.medium[m] : &setup->layer_medium[m - fit->materials];
        bool known = same(medium, own);
        bc_candidate *c;
        for (size_t i = 0; i < m && !known; i++)
            known =
                same(medium, i < fit->materials ? fit->simulated.medium[i] : &setup->layer_medium[i - fit->materials]);
        if (known)
            continue;
        c = add(all, BC_CAUSE_OTHER_MATERIAL);
        if (c == NULL)
            return false;
        c->cause.layers = 1;
        c->cause.layer[0] = j;
        c->cause.material = *medium;
        c->medium = medium;
    }
    return true;
}

static bool add_layers(bc_candidates *all, const bc_inspection *inspection)
{
    const bc_stack *design = inspection->setup->design;
    for (size_t j = 0; j < design->layers; j++) {
        bc_candidate *c = NULL;
        if (design->layers > 1 && (c = add(all, BC_CAUSE_LAYER)) == NULL)
            return false;
        if (c != NULL) {
            c->cause.layers = 1;
            c->cause.layer[0] = c->extra.layer_at = j;
            c->cause.material = design->layer[j].material;
            c->extra.layer = BC_USUAL_LAYER;
        }
        if (design->layers > 1) {
            if ((c = add(all, BC_CAUSE_MISSING)) == NULL)
                return false;
            c->cause.layers = 1;
            c->cause.layer[0] = j;
            c->cause.material = design->layer[j].material;
        }
        if (j + 1 < design->layers && !same(&design->layer[j].material, &design->layer[j + 1].material)) {
            if ((c = add(all, BC_CAUSE_SWAPPED)) == NULL)
                return false;
            c->cause.layers = 2;
            c->cause.layer[0] = j;
            c->cause.layer[1] = j + 1;
        }
        if (!add_other_materials(all, inspection, j))
            return false;
    }
    return design->layers < 2 || add(all, BC_CAUSE_REVERSED) != NULL;
}

static bool add_substrate(bc_candidates *all, const bc_stack *design, const bc_medium *medium)
{
    bc_candidate *c;
    if (same(medium, &design->substrate))
        return true;
    for (size_t i = 0; i < all->count; i++)
        if (all->candidate[i].cause.kind == BC_CAUSE_OTHER_SUBSTRATE && same(all->candidate[i].medium, medium))
            return true;
    c = add(all, BC_CAUSE_OTHER_SUBSTRATE);
    if (c != NULL) {
        c->medium = medium;
        c->cause.material = *medium;
    }
    return c != NULL;
}

static bool add_others(bc_candidates *all, const bc_inspection *inspection)
{
    static const bc_back_kind backs[] = {BC_BACK_NONE, BC_BACK_UNCOATED, BC_BACK_SAME};
    const bc_inspect_setup *setup = inspection->setup;
    const bc_stack *design = setup->design;
    for (size_t i = 0; i < setup->glasses; i++)
        if (!add_substrate(all, design, &setup->glass[i]))
            return false;
    for (size_t i = 0; i < setup->substrate_media; i++)
        if (!add_substrate(all, design, &setup->substrate_medium[i]))
            return false;
    for (size_t b = 0; b < 3; b++) {
        bc_candidate *c;
        if (backs[b] != setup->back.kind && (design->layers > 0 || backs[b] != BC_BACK_SAME)) {
            if ((c = add(all, BC_CAUSE_BACK_SEEN)) == NULL)
                return false;
            c->cause.back = backs[b];
        }
        if (design->layers > 0 && b < 2) {
            if ((c = add(all, BC_CAUSE_BARE)) == NULL)
                return false;
            c->cause.back = backs[b];
        }
    }
    return true;
}

bc_status bc_list_candidates(const bc_inspection *inspection, bc_candidates *all, bc_error *error)
{
    size_t count[BC_CAUSES] = {0};
    *all = (bc_candidates){0};
    if (!add_plain(all, inspection) || !add_materials(all, inspection) || !add_layers(all, inspection) ||
        !add_others(all, inspection)) {
        free(all->candidate);
        return bc_fail_memory(error);
    }
    for (size_t i = 0; i < all->count; i++)
        count[all->candidate[i].cause.kind]++;
    for (size_t i = 0; i < all->count; i++) {
        bc_candidate *c = &all->candidate[i];
        c->prior = c->cause.kind <= BC_CAUSE_RANDOM  ? log(THE_RULE)
                   : c->cause.kind == BC_CAUSE_ANGLE ? -log(SELDOM)
                                                     : 0.0;
        c->prior -= log((double)count[c->cause.kind]);
        c->aoi_rad = inspection->setup->aoi_rad;
        if (c->cause.kind != BC_CAUSE_BACK_SEEN && c->cause.kind != BC_CAUSE_BARE)
            c->cause.back = inspection->setup->back.kind;
    }
    return BC_OK;
}

static void swap(bc_layer *one, bc_layer *other)
{
    const bc_layer kept = *one;
    *one = *other;
    *other = kept;
}

bc_status bc_candidate_stack(const bc_inspection *inspection, const bc_candidate *candidate, bc_stack *stack,
                             bc_error *error)
{
    const bc_status status = bc_stack_copy(inspection->setup->design, stack, error);
    const size_t at = candidate->cause.layer[0];
    if (status != BC_OK)
        return status;
    switch (candidate->cause.kind) {
    case BC_CAUSE_SWAPPED:
        swap(&stack->layer[at], &stack->layer[at + 1]);
        break;
    case BC_CAUSE_REVERSED:
        for (size_t j = 0; j < stack->layers / 2; j++)
            swap(&stack->layer[j], &stack->layer[stack->layers - 1 - j]);
        break;
    case BC_CAUSE_MISSING:
        for (size_t j = at; j + 1 < stack->layers; j++)
            stack->layer[j] = stack->layer[j + 1];
        stack->layers--;
        break;
    case BC_CAUSE_OTHER_MATERIAL:
        stack->layer[at].material = *candidate->medium;
        break;
    case BC_CAUSE_OTHER_SUBSTRATE:
        stack->substrate = *candidate->medium;
        break;
    case BC_CAUSE_BARE:
        stack->layers = 0;
        break;
    default:
        break;
    }
    return BC_OK;
}

bool bc_keeps_layers(bc_cause_kind kind)
{
    return kind <= BC_CAUSE_READING_OFFSET;
}

static bool is_ordinary(const bc_candidate *c)
{
    return !c->failed && c->cause.kind <= BC_CAUSE_RANDOM;
}

static void add_account(bc_inspection *inspection, const bc_candidate *c)
{
    bc_extra *extra = &inspection->account[inspection->accounts++];
    *extra = c->extra;
    extra->scatter = fmax(LEAST_SCATTER, extra->scatter);
}

void bc_keep_accounts(bc_inspection *inspection, const bc_candidates *all)
{
    const bc_candidate *likeliest = &all->candidate[0];
    size_t i = 0;
    inspection->accounts = 0;
    if (!bc_keeps_layers(likeliest->cause.kind))
        return;
    add_account(inspection, likeliest);
    if (is_ordinary(likeliest))
        return;
    while (i < all->count && !is_ordinary(&all->candidate[i]))
        i++;
    /* The probability of the two. */
    if (i < all->count &&
        1.0 / (1.0 + exp(likeliest->score - all->candidate[i].score)) > 1.0 - inspection->setup->confidence)
        add_account(inspection, &all->candidate[i]);
}
