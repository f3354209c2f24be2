/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

#define USUAL_SHARE 0.05 /* layers are seldom off by more than this, and */
#define USUAL_NM    1.0
#define LEAST_NM    1e-3

/* Whether the layers read the same from both ends, so that turning them round is nothing new to a fit. */
static bool is_palindrome(const bc_stack *stack)
{
    for (size_t j = 0; j < stack->layers / 2; j++)
        if (stack->layer[j].material.dispersion != stack->layer[stack->layers - 1 - j].material.dispersion)
            return false;
    return true;
}

bc_status bc_strangeness(const bc_stack *stack, const double *thickness_nm, double *strangeness, bc_error *error)
{
    double *ratio = calloc(stack->layers + 1, sizeof *ratio), factor;
    *strangeness = 0.0;
    if (ratio == NULL)
        return bc_fail_memory(error);
    for (size_t j = 0; j < stack->layers; j++)
        ratio[j] = thickness_nm[j] / fmax(stack->layer[j].thickness_nm, LEAST_NM);
    gsl_sort(ratio, 1, stack->layers);
    factor = stack->layers == 0 ? 1.0 : gsl_stats_median_from_sorted_data(ratio, 1, stack->layers);
    for (size_t j = 0; j < stack->layers; j++) {
        const double design_nm = stack->layer[j].thickness_nm;
        *strangeness +=
            fabs(thickness_nm[j] - factor * design_nm) / (USUAL_SHARE * design_nm + USUAL_NM) / (double)stack->layers;
    }
    free(ratio);
    return BC_OK;
}

static bc_status fit_to(bc_inspection *inspection, const bc_fit_setup *setup, bc_hypothesis *hypothesis,
                        bc_error *error)
{
    bc_solution solution = {0};
    bc_fit fit = {0};
    bc_status status = bc_fit_open(setup, &fit, error);
    if (status == BC_OK)
        status = bc_solve(&fit, &solution, error);
    hypothesis->rms = solution.rms;
    hypothesis->residual = solution.residual;
    hypothesis->fits = status == BC_OK && bc_is_good_fit(inspection, &solution);
    if (status == BC_OK)
        status = bc_strangeness(setup->stack, solution.point.thickness_nm, &hypothesis->strangeness, error);
    bc_solution_clear(&solution);
    inspection->result->fits += fit.fits;
    bc_fit_close(&fit);
    return status;
}

static bc_status try_with(bc_inspection *inspection, bc_hypothesis_kind kind, const bc_stack *stack,
                          bc_back_kind back_kind, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_back back = *setup.back;
    back.kind = back_kind;
    setup.back = &back;
    setup.stack = stack;
    setup.process = NULL; /* its errors are those of this design */
    setup.fit_index = false;
    for (size_t r = 0; kind == BC_R_FOR_T && r < setup.readings; r++)
        setup.seen_as[r] = setup.seen_as[r] == BC_R ? BC_T : BC_R;
    result->hypothesis[result->hypotheses] = (bc_hypothesis){.kind = kind, .back = back_kind};
    return fit_to(inspection, &setup, &result->hypothesis[result->hypotheses++], error);
}

static bc_status try_reversed(bc_inspection *inspection, bc_error *error)
{
    const bc_stack *design = inspection->setup->design;
    bc_stack reversed;
    bc_status status;
    if (is_palindrome(design))
        return BC_OK;
    status = bc_stack_copy(design, &reversed, error);
    if (status != BC_OK)
        return status;
    for (size_t j = 0; j < design->layers; j++)
        reversed.layer[j] = design->layer[design->layers - 1 - j];
    status = try_with(inspection, BC_REVERSED, &reversed, inspection->setup->back.kind, error);
    bc_stack_clear(&reversed);
    return status;
}

bc_status bc_try_hypotheses(bc_inspection *inspection, bc_error *error)
{
    static const bc_back_kind backs[] = {BC_BACK_NONE, BC_BACK_UNCOATED, BC_BACK_SAME};
    const bc_stack *design = inspection->setup->design;
    const bc_back_kind said = inspection->setup->back.kind;
    bc_inspect_result *result = inspection->result;
    bc_stack bare = *design;
    bc_status status = BC_OK;
    bare.layers = 0;
    for (size_t b = 0; status == BC_OK && b < 3; b++)
        if (backs[b] != said && (design->layers > 0 || backs[b] != BC_BACK_SAME))
            status = try_with(inspection, BC_OTHER_BACK, design, backs[b], error);
    for (size_t b = 0; status == BC_OK && b < 2 && design->layers > 0; b++)
        status = try_with(inspection, BC_BARE_GLASS, &bare, backs[b], error);
    if (status == BC_OK)
        status = try_reversed(inspection, error);
    if (status == BC_OK)
        status = try_with(inspection, BC_R_FOR_T, design, said, error);
    for (size_t h = 1; status == BC_OK && h < result->hypotheses; h++) {
        const bc_hypothesis *best = &result->hypothesis[result->explained_by], *other = &result->hypothesis[h];
        const double beat = result->explained_by == 0 ? 0.5 * best->strangeness : best->strangeness;
        if (other->fits && (!best->fits || other->strangeness < beat))
            result->explained_by = h;
    }
    return status;
}
