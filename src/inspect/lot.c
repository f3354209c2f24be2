/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/inspect.h>
#include <gsl/gsl_fit.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Figures of some witnesses, with their places in the lot. */
typedef struct figures {
    size_t count, places;
    double *place, *value;
} figures;

static void add(figures *f, size_t place, double value)
{
    if (!isfinite(value))
        return;
    f->place[f->count] = (double)place;
    f->value[f->count++] = value;
}

/* Mean, standard deviation, and the straight line over the order; an unknown is NAN. */
static bc_spread summarize(figures *f)
{
    bc_spread spread = {f->count, NAN, NAN, NAN, NAN};
    if (f->count > 0)
        spread.mean = gsl_stats_mean(f->value, 1, f->count);
    if (f->count > 1) {
        double start, slope, of_start, of_both, of_slope, residual;
        const double whole = (double)(f->places - 1);
        spread.deviation = gsl_stats_sd_m(f->value, 1, f->count, spread.mean);
        gsl_fit_linear(f->place, 1, f->value, 1, f->count, &start, &slope, &of_start, &of_both, &of_slope, &residual);
        spread.drift = slope * whole;
        if (f->count > 2)
            spread.drift_sigma = sqrt(of_slope) * whole;
    }
    f->count = 0;
    return spread;
}

static void summarize_all(bc_lot_result *result, figures *f)
{
    for (size_t w = 0; w < result->count; w++)
        if (result->witness[w].good_fit)
            add(f, w, result->witness[w].scale);
    result->scale = summarize(f);
    for (size_t j = 0; j < result->layers; j++) {
        for (size_t w = 0; w < result->count; w++)
            if (result->witness[w].good_fit && result->witness[w].layer[j].known)
                add(f, w, result->witness[w].layer[j].fitted_nm);
        result->layer[j] = summarize(f);
    }
    for (size_t c = 0; c < result->callouts; c++) {
        for (size_t w = 0; w < result->count; w++)
            add(f, w, result->witness[w].finding[c].value);
        result->value[c] = summarize(f);
    }
}

static void judge(bc_lot_result *result)
{
    for (size_t w = 0; w < result->count; w++) {
        result->accepted += result->witness[w].verdict == BC_ACCEPT;
        result->rejected += result->witness[w].verdict == BC_REJECT;
        result->undecided += result->witness[w].verdict == BC_UNDECIDED;
    }
    result->verdict = result->rejected > 0 ? BC_REJECT : result->accepted == result->count ? BC_ACCEPT : BC_UNDECIDED;
}

/* One witness's share of a lot's progress. */
typedef struct share_of_lot {
    const bc_inspect_setup *setup;
    size_t place, count;
} share_of_lot;

static void say_share(void *context, double fraction)
{
    const share_of_lot *share = context;
    share->setup->progress(share->setup->progress_context, ((double)share->place + fraction) / (double)share->count);
}

static bc_status inspect_one(const bc_measurement *measurement, size_t place, const bc_inspect_setup *setup,
                             bc_inspect_result *witness, bc_error *error)
{
    const bc_status status = bc_inspect(measurement, setup, witness, error);
    if (error != NULL && status == BC_ERROR_INPUT) {
        const bc_error inner = *error;
        if (measurement->label[0] != '\0')
            return bc_fail(error, status, "%s: %s", measurement->label, inner.message);
        return bc_fail(error, status, "witness %zu: %s", place + 1, inner.message);
    }
    return status;
}

static bc_status open_result(size_t count, const bc_inspect_setup *setup, bc_lot_result *result, bc_error *error)
{
    result->layers = setup->design->layers;
    result->callouts = setup->callouts == NULL ? 0 : setup->callouts->count;
    result->witness = calloc(count, sizeof *result->witness);
    result->layer = calloc(result->layers + 1, sizeof *result->layer);
    result->value = calloc(result->callouts + 1, sizeof *result->value);
    return result->witness == NULL || result->layer == NULL || result->value == NULL ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_inspect_lot(size_t count, const bc_measurement *measurement, const bc_inspect_setup *setup,
                         bc_lot_result *result, bc_error *error)
{
    figures f = {.places = count};
    bc_status status;
    memset(result, 0, sizeof *result);
    if (count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "a lot of no witnesses; expected one at least");
    status = open_result(count, setup, result, error);
    f.place = calloc(count, sizeof *f.place);
    f.value = calloc(count, sizeof *f.value);
    if (status == BC_OK && (f.place == NULL || f.value == NULL))
        status = bc_fail_memory(error);
    for (size_t w = 0; status == BC_OK && w < count; w++) {
        share_of_lot share = {setup, w, count};
        bc_inspect_setup of_witness = *setup;
        of_witness.progress = setup->progress == NULL ? NULL : say_share;
        of_witness.progress_context = &share;
        status = inspect_one(&measurement[w], w, &of_witness, &result->witness[w], error);
        result->count += status == BC_OK;
    }
    if (status == BC_OK) {
        judge(result);
        summarize_all(result, &f);
    } else {
        bc_lot_result_clear(result);
    }
    free(f.place);
    free(f.value);
    return status;
}

void bc_lot_result_clear(bc_lot_result *result)
{
    for (size_t w = 0; w < result->count; w++)
        bc_inspect_result_clear(&result->witness[w]);
    free(result->witness);
    free(result->layer);
    free(result->value);
    memset(result, 0, sizeof *result);
}
