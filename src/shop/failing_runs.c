/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "failing_runs.h"
#include "estimate.h"
#include "response.h"
#include <stdlib.h>

#define RUNS           BC_PREDICTED_RUNS
#define KEPT           12 /* of those not given up, the worst; */
#define KEPT_PER_LAYER 2  /* and so many more for each layer */

typedef struct predicted_run {
    double used;
    size_t run;
} predicted_run;

static int worst_first(const void *one, const void *other)
{
    const predicted_run *a = one, *b = other;
    if (a->used != b->used)
        return a->used > b->used ? -1 : 1;
    return (a->run > b->run) - (a->run < b->run);
}

static bc_status predict(bc_runs *runs, predicted_run *list, bc_error *error)
{
    bc_response response;
    bc_response_scratch scratch = {0};
    bc_status status = bc_response_fit(runs, &response, error);
    if (status != BC_OK)
        return status;
    status = bc_response_scratch_alloc(&response, &scratch, error);
    for (size_t run = 0; status == BC_OK && run < RUNS; run++) {
        bc_run_draw(&runs->worker[0], BC_FOR_YIELD, run, scratch.draw);
        list[run] = (predicted_run){bc_response_predict(&response, &scratch), run};
    }
    bc_response_scratch_free(&scratch);
    bc_response_clear(&response);
    if (status == BC_OK)
        qsort(list, RUNS, sizeof *list, worst_first);
    return status;
}

static bool is_first_of_material(const bc_stack *stack, size_t layer)
{
    for (size_t i = 0; i < layer; i++)
        if (stack->layer[i].material.dispersion == stack->layer[layer].material.dispersion)
            return false;
    return true;
}

static size_t count_materials(const bc_stack *stack)
{
    size_t count = 0;
    for (size_t j = 0; j < stack->layers; j++)
        count += is_first_of_material(stack, j);
    return count;
}

/* The errors of one run, as bc_scenarios has them: materials in order of first appearance. */
static void take_errors(bc_runs *runs, size_t run, const bc_stack *stack, double *error, double *dn)
{
    const bc_run_model *model = &runs->model;
    double *draw = runs->worker[0].draw;
    size_t materials = 0;
    bc_run_draw(&runs->worker[0], BC_FOR_YIELD, run, draw);
    for (size_t j = 0; j < model->layers; j++) {
        error[j] =
            model->layer_bias[j] * draw[BC_DRAW_OF_BIAS] + model->layer_sigma[j] * draw[bc_draw_of_layer(model, j)];
        if (is_first_of_material(stack, j))
            dn[materials++] = model->index_sigma[model->material[j]] * draw[bc_draw_of_material(model->material[j])];
    }
}

static bc_status take_worst(bc_runs *runs, const predicted_run *list, double given_up, const bc_stack *stack,
                            bc_failing_runs *failing, bc_error *error)
{
    const size_t layers = stack->layers, most = KEPT + KEPT_PER_LAYER * layers, first = (size_t)(given_up * RUNS),
                 count = RUNS - first < most ? RUNS - first : most, materials = count_materials(stack);
    failing->error = calloc(count * layers + 1, sizeof *failing->error);
    failing->dn = calloc(count * materials + 1, sizeof *failing->dn);
    if (failing->error == NULL || failing->dn == NULL)
        return bc_fail_memory(error);
    for (size_t k = 0; k < count; k++)
        take_errors(runs, list[first + k].run, stack, failing->error + k * layers, failing->dn + k * materials);
    failing->scenarios = (bc_scenarios){count, failing->error, materials, failing->dn};
    return BC_OK;
}

bc_status bc_failing_runs_find(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                               double given_up, bc_failing_runs *failing, bc_error *error)
{
    const bc_yield_options options = {.runs = RUNS, .seed = BC_LOOK_STREAM, .threads = 1, .quick = true};
    predicted_run *list = calloc(RUNS, sizeof *list);
    bc_runs *runs = NULL;
    bc_status status = list == NULL ? bc_fail_memory(error) : BC_OK;
    *failing = (bc_failing_runs){0};
    if (status == BC_OK)
        status = bc_runs_alloc(problem, stack, process, &options, &runs, error);
    if (status == BC_OK)
        status = predict(runs, list, error);
    if (status == BC_OK)
        status = take_worst(runs, list, given_up, stack, failing, error);
    bc_runs_free(runs);
    free(list);
    return status;
}

void bc_failing_runs_clear(bc_failing_runs *failing)
{
    free(failing->error);
    free(failing->dn);
    *failing = (bc_failing_runs){0};
}
