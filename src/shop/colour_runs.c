/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "runs.h"
#include <bloomcoat/colour_runs.h>
#include <stdlib.h>
#include <string.h>

/* A luminous callout for each angle: its samples are those of a colour. */
static bc_status ask(const bc_colour_view *view, bc_callouts *callouts, bc_error *error)
{
    const bool part = view->back != NULL && view->back->kind != BC_BACK_NONE;
    callouts->callout = calloc(view->angles, sizeof *callouts->callout);
    callouts->count = view->angles;
    if (callouts->callout == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < view->angles; i++)
        callouts->callout[i] = (bc_callout){.name = "colour",
                                            .statistic = BC_AVERAGE,
                                            .limit = 1.0,
                                            .from_nm = BC_CIE_FROM_NM,
                                            .to_nm = BC_CIE_TO_NM,
                                            .aoi_from_rad = view->aoi_rad[i],
                                            .aoi_to_rad = view->aoi_rad[i],
                                            .polarization = view->polarization,
                                            .scope = part ? BC_SCOPE_PART : BC_SCOPE_SURFACE,
                                            .weight = bc_weight_luminous()};
    return BC_OK;
}

typedef struct keeper {
    const bc_colour_view *view;
    const bc_callouts *callouts;
    bc_colour_runs *out;
} keeper;

static void keep(void *context, bc_run_worker *worker, size_t run)
{
    const keeper *k = context;
    const bc_segments *segments = bc_merit_segments(worker->merit);
    bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
    bc_run_judge(worker, worker->draw, 1.0);
    for (size_t r = 0; r < segments->rows; r++) {
        const size_t angle = (size_t)(segments->row[r].callout - k->callouts->callout);
        bc_merit_curve(worker->merit, r, worker->curve);
        bc_colour_of(worker->curve, k->view->illuminant, k->view->observer, &k->out->scatter[angle].run[run]);
    }
}

static bc_status summarize_all(const bc_colour_view *view, bc_colour_runs *out, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && out->runs > 0 && i < view->angles; i++) {
        bc_colour design;
        status = bc_colour_compute(view->stack, view->back, view->aoi_rad[i], view->polarization, view->illuminant,
                                   view->observer, &design, error);
        if (status == BC_OK)
            status = bc_colour_scatter_find(&design, out->runs, &out->scatter[i], error);
    }
    return status;
}

static bc_status make_room(size_t runs, bc_colour_runs *out, bc_error *error)
{
    out->scatter = calloc(out->angles, sizeof *out->scatter);
    for (size_t i = 0; out->scatter != NULL && i < out->angles; i++) {
        out->scatter[i].run = calloc(runs, sizeof *out->scatter[i].run);
        if (out->scatter[i].run == NULL)
            return bc_fail_memory(error);
    }
    return out->scatter == NULL ? bc_fail_memory(error) : BC_OK;
}

static bc_status simulate(const bc_colour_view *view, const bc_callouts *callouts, const bc_process *process,
                          const bc_yield_options *options, bc_colour_runs *out, bc_error *error)
{
    bc_design_problem problem = bc_design_defaults(callouts, view->stack->incident);
    bc_yield_options own = *options;
    bc_runs *runs = NULL;
    keeper k = {view, callouts, out};
    bc_status status;
    problem.substrates = 1;
    problem.substrate = &view->stack->substrate;
    problem.back = view->back == NULL ? (bc_back){.kind = BC_BACK_NONE} : *view->back;
    own.quick = false;
    status = bc_runs_alloc(&problem, view->stack, process, &own, &runs, error);
    if (status != BC_OK)
        return status;
    out->no_errors = bc_draws_that_count(&runs->model, NULL) == 0;
    runs->total = (double)own.runs;
    out->runs = bc_runs_each(runs, out->no_errors ? 1 : own.runs, 1.0, keep, &k);
    bc_runs_free(runs);
    return BC_OK;
}

bc_status bc_colour_simulate(const bc_colour_view *view, const bc_process *process, const bc_yield_options *options,
                             bc_colour_runs *out, bc_error *error)
{
    bc_callouts callouts = {0};
    bc_status status;
    *out = (bc_colour_runs){.angles = view->angles, .seed = options->seed};
    if (options->runs == 0)
        return bc_fail(error, BC_ERROR_INPUT, "found 0 runs; expected 1 or more");
    if (view->angles == 0)
        return bc_fail(error, BC_ERROR_INPUT, "found no angle of incidence; expected 1 or more");
    status = ask(view, &callouts, error);
    if (status == BC_OK)
        status = make_room(options->runs, out, error);
    if (status == BC_OK)
        status = simulate(view, &callouts, process, options, out, error);
    if (status == BC_OK)
        status = summarize_all(view, out, error);
    free(callouts.callout);
    if (status != BC_OK)
        bc_colour_runs_clear(out);
    return status;
}

void bc_colour_runs_clear(bc_colour_runs *runs)
{
    for (size_t i = 0; runs->scatter != NULL && i < runs->angles; i++)
        free(runs->scatter[i].run);
    free(runs->scatter);
    *runs = (bc_colour_runs){0};
}
