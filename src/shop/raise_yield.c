/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "raise_yield.h"
#include "response.h"
#include <bloomcoat/refine.h>
#include <math.h>
#include <stdlib.h>

#define RUNS           600   /* predicted */
#define KEPT           12    /* of those not discarded, the worst; */
#define KEPT_PER_LAYER 2     /* and so many more for each layer */
#define PART           0.4   /* of a step that leads too far */
#define MUCH           0.002 /* of yield, or of the factor, for which a step like the last is made again */
#define PARTS          4

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

static bc_status refine_for(const bc_design_problem *problem, bc_runs *runs, const predicted_run *list, double discard,
                            bc_stack *stack, bc_error *error)
{
    const size_t layers = stack->layers, most = KEPT + KEPT_PER_LAYER * layers, first = (size_t)(discard * RUNS),
                 count = RUNS - first < most ? RUNS - first : most, materials = count_materials(stack);
    double *errors = calloc(count * layers + 1, sizeof *errors), *dn = calloc(count * materials + 1, sizeof *dn);
    bc_status status = errors == NULL || dn == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t k = 0; status == BC_OK && k < count; k++)
        take_errors(runs, list[first + k].run, stack, errors + k * layers, dn + k * materials);
    if (status == BC_OK) {
        const bc_scenarios scenarios = {count, errors, materials, dn};
        status = bc_refine_scenarios(problem, &scenarios, stack, NULL, error);
    }
    free(errors);
    free(dn);
    return status;
}

static bool is_better(const bc_forecast *a, const bc_forecast *b)
{
    if (a->yield != b->yield)
        return a->yield > b->yield;
    return a->usual_factor < b->usual_factor;
}

static bool is_much_better(const bc_forecast *a, const bc_forecast *b)
{
    return a->yield >= b->yield + MUCH || (a->yield >= b->yield && a->usual_factor < (1.0 - MUCH) * b->usual_factor);
}

static bc_status try_round(const bc_design_problem *problem, const bc_process *process, double asked, double discard,
                           const bc_stack *from, bc_stack *trial, bc_forecast *forecast, bc_error *error)
{
    const bc_yield_options options = {.runs = RUNS, .seed = BC_LOOK_STREAM, .threads = 1, .quick = true};
    predicted_run *list = calloc(RUNS, sizeof *list);
    bc_runs *runs = NULL;
    bc_status status = list == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = bc_runs_alloc(problem, from, process, &options, &runs, error);
    if (status == BC_OK)
        status = predict(runs, list, error);
    if (status == BC_OK)
        status = bc_stack_copy(from, trial, error);
    if (status == BC_OK)
        status = refine_for(problem, runs, list, discard, trial, error);
    if (status == BC_OK)
        status = bc_forecast_limit(problem, trial, process, asked, forecast, NULL, error);
    bc_runs_free(runs);
    free(list);
    return status;
}

/* Part of the way only: the runs that decide are others at its end. */
static bc_status go_part_of_the_way(const bc_design_problem *problem, const bc_process *process, double asked,
                                    const bc_stack *from, bc_stack *trial, bc_forecast *forecast, bc_error *error)
{
    for (size_t j = 0; j < from->layers; j++) {
        const double nm = from->layer[j].thickness_nm;
        trial->layer[j].thickness_nm = round(1e3 * (nm + PART * (trial->layer[j].thickness_nm - nm))) / 1e3;
    }
    return bc_forecast_limit(problem, trial, process, asked, forecast, NULL, error);
}

bc_status bc_raise_yield(const bc_design_problem *problem, const bc_process *process, double asked, size_t rounds,
                         bc_stack *stack, bc_forecast *forecast, bc_error *error)
{
    static const double part[] = {0.5, 0.75, 0.9,
                                  0.25}; /* of the runs that fail are discarded; the next where one fails */
    size_t which = 0;
    bc_status status = BC_OK;
    for (size_t round = 0; status == BC_OK && round < rounds && which < PARTS && forecast->yield < 1.0; round++) {
        bc_stack trial = {0};
        bc_forecast now;
        status = try_round(problem, process, asked, part[which] * (1.0 - forecast->yield), stack, &trial, &now, error);
        if (status == BC_OK && !is_better(&now, forecast))
            status = go_part_of_the_way(problem, process, asked, stack, &trial, &now, error);
        if (status == BC_OK && !is_much_better(&now, forecast))
            which++;
        if (status == BC_OK && is_better(&now, forecast)) {
            bc_stack_clear(stack);
            *stack = trial;
            *forecast = now;
        } else {
            bc_stack_clear(&trial);
        }
    }
    return status;
}
