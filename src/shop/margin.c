/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "margin.h"
#include "merit.h"
#include "model.h"
#include <math.h>
#include <stdlib.h>

/* Add the variance of every constraint from the thicknesses: each layer's own, and the bias they share. */
static void add_thickness(const bc_run_model *model, const bc_merit *merit, double *variance)
{
    for (size_t c = 0; c < bc_merit_constraints(merit); c++) {
        double shared = 0.0;
        for (size_t j = 0; j < model->layers; j++) {
            const double slope = bc_merit_slope(merit, j)[c] * model->nominal_nm[j];
            variance[c] += slope * slope * model->layer_sigma[j] * model->layer_sigma[j];
            shared += slope * model->layer_bias[j];
        }
        variance[c] += shared * shared;
    }
}

/* And from each material's index, by the difference one standard deviation makes. */
static void add_index(const bc_run_model *model, bc_merit *merit, const double *u, double *variance)
{
    for (size_t m = 0; m < model->materials; m++) {
        if (model->index_sigma[m] == 0.0)
            continue;
        bc_merit_shift_index(merit, (unsigned)m, model->index_sigma[m]);
        bc_merit_evaluate(merit, model->layers, model->material, model->nominal_nm, false);
        bc_merit_shift_index(merit, (unsigned)m, 0.0);
        for (size_t c = 0; c < bc_merit_constraints(merit); c++) {
            const double change = bc_merit_u(merit)[c] - u[c];
            variance[c] += change * change;
        }
    }
}

static double smallest_margin(size_t constraints, const double *u, const double *variance)
{
    double smallest = INFINITY;
    for (size_t c = 0; c < constraints; c++) {
        const double room = 1.0 - u[c], sigma = sqrt(variance[c]);
        smallest = fmin(smallest, sigma > 0.0 ? room / sigma : room >= 0.0 ? INFINITY : -INFINITY);
    }
    return smallest;
}

bc_status bc_linear_margin(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                           double *margin, bc_error *error)
{
    bc_run_model model;
    bc_merit *merit = NULL;
    double *u = NULL, *variance = NULL;
    size_t constraints;
    bc_status status = bc_run_model_open(problem, stack, process, &model, error);
    if (status != BC_OK)
        return status;
    status = bc_merit_alloc(&model.problem, BC_DENSITY_SEARCH, model.layers, BC_NO_FRINGES, &merit, error);
    if (status == BC_OK) {
        constraints = bc_merit_constraints(merit);
        u = calloc(constraints, sizeof *u);
        variance = calloc(constraints, sizeof *variance);
        if (u == NULL || variance == NULL)
            status = bc_fail_memory(error);
    }
    if (status == BC_OK) {
        bc_merit_evaluate(merit, model.layers, model.material, model.nominal_nm, true);
        for (size_t c = 0; c < constraints; c++)
            u[c] = bc_merit_u(merit)[c];
        add_thickness(&model, merit, variance);
        add_index(&model, merit, u, variance);
        *margin = smallest_margin(constraints, u, variance);
    }
    free(u);
    free(variance);
    bc_merit_free(merit);
    bc_run_model_close(&model);
    return status;
}
