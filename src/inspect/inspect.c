/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "differ.h"
#include "inspection.h"
#include "outliers.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_HYPOTHESES 2

static bc_status check_setup(const bc_inspect_setup *setup, bc_error *error)
{
    if (setup->polarization == BC_POL_EACH)
        return bc_fail(error, BC_ERROR_INPUT, "a measurement is in one polarization: mean, s or p; found each");
    if (!(setup->aoi_rad >= 0.0 && setup->aoi_rad < 1.5707963267948966))
        return bc_fail(error, BC_ERROR_INPUT, "measured at %g degrees; expected 0 or more and less than 90",
                       setup->aoi_rad * 57.295779513082321);
    if (!(setup->uncertainty >= 0.0 && setup->uncertainty < 1.0))
        return bc_fail(error, BC_ERROR_INPUT, "an uncertainty of %g %%; expected 0 or more and less than 100",
                       100.0 * setup->uncertainty);
    if (!(setup->wavelength_uncertainty_nm >= 0.0 && setup->wavelength_uncertainty_nm <= 100.0))
        return bc_fail(error, BC_ERROR_INPUT, "a wavelength uncertainty of %g nm; expected 0 to 100",
                       setup->wavelength_uncertainty_nm);
    if (!(setup->scale_uncertainty >= 0.0 && setup->scale_uncertainty < 1.0))
        return bc_fail(error, BC_ERROR_INPUT, "a scale uncertainty of %g %%; expected 0 or more and less than 100",
                       100.0 * setup->scale_uncertainty);
    if (!(setup->coverage_factor > 0.0 && isfinite(setup->coverage_factor)))
        return bc_fail(error, BC_ERROR_INPUT, "a coverage factor of %g; expected more than 0", setup->coverage_factor);
    if (!(setup->confidence >= 0.5 && setup->confidence < 1.0))
        return bc_fail(error, BC_ERROR_INPUT, "a confidence of %g; expected 0.5 or more and less than 1",
                       setup->confidence);
    if (setup->back.kind == BC_BACK_OWN && setup->back.stack == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "the back is to have a stack of its own, and none was given");
    return BC_OK;
}

static void lay_out_overlay(bc_overlay *overlay, size_t count, bool measured, bc_arena *arena)
{
    double **const array[] = {&overlay->wavelength_nm, &overlay->measured,    &overlay->design, &overlay->fitted,
                              &overlay->from_design,   &overlay->from_fitted, &overlay->noise,  &overlay->systematic};
    overlay->count = measured ? count : 0;
    for (size_t a = 0; a < sizeof array / sizeof *array; a++)
        *array[a] = bc_arena_take(arena, overlay->count, sizeof(double));
}

static void lay_out(bc_inspection *inspection, bc_arena *arena)
{
    bc_inspect_result *result = inspection->result;
    const bc_readings *readings = &inspection->readings;
    const size_t layers = inspection->setup->design->layers;
    size_t *group_layer;
    double *group_weight;
    lay_out_overlay(&result->R, readings->inside, readings->R.measured, arena);
    lay_out_overlay(&result->T, readings->inside, readings->T.measured, arena);
    result->finding = bc_arena_take(arena, result->count, sizeof *result->finding);
    result->layer = bc_arena_take(arena, layers, sizeof *result->layer);
    result->group = bc_arena_take(arena, layers + 1, sizeof *result->group);
    group_layer = bc_arena_take(arena, layers, sizeof *group_layer);
    group_weight = bc_arena_take(arena, layers, sizeof *group_weight);
    result->material = bc_arena_take(arena, layers, sizeof *result->material);
    result->covariance = bc_arena_take(arena, layers * layers, sizeof(double));
    result->information = bc_arena_take(arena, layers * layers, sizeof(double));
    result->pull = bc_arena_take(arena, layers, sizeof(double));
    result->hypothesis = bc_arena_take(arena, MOST_HYPOTHESES, sizeof *result->hypothesis);
    inspection->model_nm = bc_arena_take(arena, layers, sizeof(double));
    inspection->dn = bc_arena_take(arena, layers, sizeof(double));
    inspection->without_loss.value = bc_arena_take(arena, readings->count, sizeof(double));
    inspection->without_loss.systematic = bc_arena_take(arena, readings->count, sizeof(double));
    if (arena->memory != NULL) {
        result->group[0].layer = group_layer;
        result->group[0].weight = group_weight;
    }
}

static bc_status open_result(bc_inspection *inspection, const bc_measurement *measurement, bc_error *error)
{
    const bc_inspect_setup *setup = inspection->setup;
    bc_inspect_result *result = inspection->result;
    bc_status status;
    memcpy(result->label, measurement->label, sizeof result->label);
    result->count = setup->callouts == NULL ? 0 : setup->callouts->count;
    result->layers = setup->design->layers;
    lay_out(inspection, &inspection->arena);
    status = bc_arena_open(&inspection->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(inspection, &inspection->arena);
    result->memory = inspection->arena.memory;
    result->outside = inspection->readings.count - inspection->readings.inside;
    result->standard_uncertainty = setup->uncertainty / setup->coverage_factor;
    return BC_OK;
}

/* As it was said to be; what does not fit is looked into. */
static bc_status explain(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    const bc_fit_setup setup = bc_fit_setup_of(inspection);
    bc_solution *solution = &inspection->solution;
    bool outliers = false;
    bc_status status = bc_fit_again(inspection, &setup, error);
    if (status == BC_OK)
        bc_find_most_left(inspection);
    if (status == BC_OK)
        status = bc_find_outliers(inspection, &outliers, error);
    if (status == BC_OK && outliers)
        status = bc_fit_again(inspection, &setup, error);
    if (status == BC_OK)
        status = bc_find_absorption(inspection, error);
    if (status != BC_OK)
        return status;
    result->materials = inspection->fit.materials;
    result->noise_R = inspection->readings.R.summary;
    result->noise_T = inspection->readings.T.summary;
    result->residual = solution->residual;
    result->good_fit = bc_is_good_fit(inspection, solution);
    result->hypotheses = 1;
    result->hypothesis[0] = (bc_hypothesis){
        .kind = BC_AS_SAID, .rms = solution->rms, .residual = solution->residual, .fits = result->good_fit};
    if (!result->good_fit)
        status = bc_try_hypotheses(inspection, error);
    result->good_fit = result->good_fit && result->explained_by == 0;
    return status;
}

void bc_say_progress(const bc_inspection *inspection, bc_inspect_stage stage, double share)
{
    /* Where each ends, as measured with 20 and 60 layers. The third is left out where nothing is to be corrected. */
    static const double end[BC_STAGES] = {0.04, 0.5, 0.8, 1.0};
    const bc_inspect_setup *setup = inspection->setup;
    const double from = stage == 0 ? 0.0 : end[stage - 1];
    if (setup->progress != NULL)
        setup->progress(setup->progress_context, from + share * (end[stage] - from));
}

static bc_status inspect(bc_inspection *inspection, bc_error *error)
{
    bc_inspect_result *result = inspection->result;
    bc_status status = explain(inspection, error);
    if (status == BC_OK)
        status = bc_find_scale(inspection, error);
    bc_say_progress(inspection, BC_STAGE_FIT, 1.0);
    if (status == BC_OK)
        status = bc_find_cause(inspection, error);
    bc_say_progress(inspection, BC_STAGE_CAUSE, 1.0);
    if (status == BC_OK)
        status = bc_tell_layers(inspection, error);
    if (status == BC_OK)
        status = bc_tell_groups(inspection, error);
    if (status == BC_OK)
        status = bc_tell_materials(inspection, error);
    if (status == BC_OK)
        status = bc_keep_information(inspection, error);
    if (status == BC_OK)
        status = bc_set_overlays(inspection, error);
    if (status == BC_OK)
        bc_tell_outliers(inspection);
    if (status == BC_OK)
        status = bc_set_next_run(inspection, error);
    bc_say_progress(inspection, BC_STAGE_NEXT_RUN, 1.0);
    if (status == BC_OK)
        status = bc_judge_callouts(inspection, error);
    if (status == BC_OK)
        status = bc_weigh_evidence(inspection, error);
    bc_say_progress(inspection, BC_STAGE_VERDICT, 1.0);
    result->fits += inspection->fit.fits;
    return status;
}

bc_status bc_inspect(const bc_measurement *measurement, const bc_inspect_setup *setup, bc_inspect_result *result,
                     bc_error *error)
{
    bc_inspection inspection = {.setup = setup, .result = result};
    bc_status status = check_setup(setup, error);
    memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = bc_readings_open(measurement, setup, &inspection.readings, error);
    if (status == BC_OK)
        status = open_result(&inspection, measurement, error);
    if (status == BC_OK)
        status = inspect(&inspection, error);
    bc_differ_clear(&inspection);
    bc_solution_clear(&inspection.solution);
    bc_fit_close(&inspection.fit);
    bc_readings_close(&inspection.readings);
    if (status != BC_OK)
        bc_inspect_result_clear(result);
    return status;
}

void bc_inspect_result_clear(bc_inspect_result *result)
{
    bc_stack_clear(&result->fitted);
    bc_stack_clear(&result->next_stack);
    bc_process_clear(&result->next_process);
    free(result->memory);
    memset(result, 0, sizeof *result);
}
