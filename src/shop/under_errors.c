/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "under_errors.h"
#include "model.h"
#include <math.h>
#include <stdlib.h>

/* Materials of the stack in order of first appearance, as bc_scenarios counts them. */
static size_t list_materials(const bc_stack *stack, const bc_medium **material)
{
    size_t count = 0;
    for (size_t j = 0; j < stack->layers; j++) {
        size_t m = 0;
        while (m < count && material[m]->dispersion != stack->layer[j].material.dispersion)
            m++;
        if (m == count)
            material[count++] = &stack->layer[j].material;
    }
    return count;
}

/* Those that change anything. */
static void fill(const bc_stack *stack, const bc_process *process, double spread, const bc_medium *const *material,
                 double *error, double *dn, bc_scenarios *scenarios)
{
    const size_t layers = stack->layers;
    for (int way = -1; way <= 1; way += 2) {
        bool drifts = false;
        for (size_t j = 0; j < layers; j++) {
            const double sigma = bc_process_for(process, stack->layer[j].material.name).thickness_sigma;
            if (sigma > 0.0)
                error[scenarios->count++ * layers + j] = way * spread * sigma;
        }
        for (size_t j = 0; j < layers; j++) {
            const double sigma = bc_process_for(process, stack->layer[j].material.name).run_thickness_sigma;
            error[scenarios->count * layers + j] = way * spread * sigma;
            drifts = drifts || sigma != 0.0;
        }
        scenarios->count += drifts;
        for (size_t m = 0; m < scenarios->materials; m++) {
            const double sigma = bc_process_for(process, material[m]->name).index_sigma;
            if (sigma > 0.0)
                dn[scenarios->count++ * scenarios->materials + m] = way * spread * sigma;
        }
    }
}

bc_status bc_refine_under_errors(const bc_design_problem *problem, const bc_process *process, double spread,
                                 bc_thread_watch *watch, bc_stack *stack, bc_error *error)
{
    const size_t most = 2 * (2 * stack->layers + 2);
    const bc_medium **material = calloc(stack->layers + 1, sizeof *material);
    double *errors = calloc(most * stack->layers + 1, sizeof *errors);
    double *dn = calloc(most * stack->layers + 1, sizeof *dn);
    bc_status status = BC_OK;
    if (material == NULL || errors == NULL || dn == NULL) {
        status = bc_fail_memory(error);
    } else {
        bc_scenarios scenarios = {.materials = list_materials(stack, material), .error = errors, .dn = dn};
        fill(stack, process, spread, material, errors, dn, &scenarios);
        status = bc_refine_scenarios_with_progress(problem, &scenarios, watch == NULL ? NULL : bc_thread_goes_on, watch,
                                                   stack, NULL, error);
    }
    free(material);
    free(errors);
    free(dn);
    return status;
}
