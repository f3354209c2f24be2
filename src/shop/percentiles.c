/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "percentiles.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <stdlib.h>
#include <string.h>

#define MOST_RUNS    ((size_t)2000)
#define FEWEST_RUNS  ((size_t)200)
#define MOST_NUMBERS ((size_t)16000000) /* 128 MB of samples, unless the fewest runs take more */
#define PERCENTILES  5
static const double quantile[PERCENTILES] = {0.025, 0.16, 0.5, 0.84, 0.975};

static double most_used(const bc_run_worker *worker, const bc_row *row)
{
    const double *u = bc_merit_u(worker->merit) + row->first;
    double most = u[0];
    for (size_t i = 1; i < row->count; i++)
        most = u[i] > most ? u[i] : most;
    return most;
}

size_t bc_worst_row(const bc_run_worker *worker, const bc_callout *callout, size_t glass)
{
    const bc_segments *segments = bc_merit_segments(worker->merit);
    size_t found = segments->rows;
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        if (row->callout == callout && segments->segment[row->segment].glass == glass &&
            (found == segments->rows || most_used(worker, row) > most_used(worker, &segments->row[found])))
            found = r;
    }
    return found;
}

static bool is_listed(const bc_segments *segments, const bc_curves *curves, size_t r)
{
    const bc_row *row = &segments->row[r];
    for (size_t c = 0; c < curves->count; c++) {
        const bc_row *other = &segments->row[curves->row[c]];
        if (other->segment == row->segment && other->share[0] == row->share[0] &&
            other->callout->quantity == row->callout->quantity)
            return true;
    }
    return false;
}

static bc_status list_rows(const bc_run_worker *worker, bc_curves *curves, bc_error *error)
{
    const bc_design_problem *problem = &worker->runs->model.problem;
    const bc_segments *segments = bc_merit_segments(worker->merit);
    curves->row = calloc(problem->substrates * problem->callouts->count, sizeof *curves->row);
    if (curves->row == NULL)
        return bc_fail_memory(error);
    for (size_t g = 0; g < problem->substrates; g++) {
        for (size_t c = 0; c < problem->callouts->count; c++) {
            const size_t row = bc_worst_row(worker, &problem->callouts->callout[c], g);
            if (row < segments->rows && !is_listed(segments, curves, row))
                curves->row[curves->count++] = row;
        }
    }
    return BC_OK;
}

bc_polarization bc_row_polarization(const bc_row *row)
{
    return row->callout->polarization != BC_POL_EACH ? row->callout->polarization
           : row->share[0] > 0.5                     ? BC_POL_S
                                                     : BC_POL_P;
}

static bc_status describe(const bc_run_worker *worker, const bc_row *row, bc_percentile_curve *curve, bc_error *error)
{
    const bc_segment *segment = &bc_merit_segments(worker->merit)->segment[row->segment];
    *curve = (bc_percentile_curve){.callout = row->callout,
                                   .substrate = &worker->runs->model.problem.substrate[segment->glass],
                                   .aoi_rad = row->aoi_rad,
                                   .zone = segment->zone,
                                   .polarization = bc_row_polarization(row),
                                   .count = segment->count};
    curve->wavelength_nm = calloc((PERCENTILES + 1) * segment->count, sizeof(double));
    if (curve->wavelength_nm == NULL)
        return bc_fail_memory(error);
    memcpy(curve->wavelength_nm, segment->wavelength_nm, segment->count * sizeof(double));
    for (size_t p = 0; p < PERCENTILES; p++)
        curve->value[p] = curve->wavelength_nm + (p + 1) * segment->count;
    return BC_OK;
}

static size_t count_runs(size_t runs, size_t numbers)
{
    /* NOLINTNEXTLINE(clang-analyzer-core.DivideZero): every row has a wavelength */
    const size_t fit = MOST_NUMBERS / numbers < FEWEST_RUNS ? FEWEST_RUNS : MOST_NUMBERS / numbers;
    const size_t wanted = runs < MOST_RUNS ? runs : MOST_RUNS;
    return wanted < fit ? wanted : fit;
}

bc_status bc_curves_open(const bc_run_worker *worker, size_t runs, bc_curves *curves, bc_yield_result *result,
                         bc_error *error)
{
    const bc_segments *segments = bc_merit_segments(worker->merit);
    size_t numbers = 0;
    bc_status status = list_rows(worker, curves, error);
    if (status != BC_OK)
        return status;
    for (size_t c = 0; c < curves->count; c++)
        numbers += segments->segment[segments->row[curves->row[c]].segment].count;
    curves->runs = count_runs(runs, numbers);
    curves->sample = calloc(curves->count, sizeof *curves->sample);
    result->curve = calloc(curves->count, sizeof *result->curve);
    if (curves->sample == NULL || result->curve == NULL)
        return bc_fail_memory(error);
    result->curves = curves->count;
    for (size_t c = 0; status == BC_OK && c < curves->count; c++) {
        status = describe(worker, &segments->row[curves->row[c]], &result->curve[c], error);
        curves->sample[c] = status == BC_OK ? calloc(result->curve[c].count * curves->runs, sizeof(double)) : NULL;
        if (status == BC_OK && curves->sample[c] == NULL)
            status = bc_fail_memory(error);
    }
    return status;
}

void bc_curves_close(bc_curves *curves)
{
    for (size_t c = 0; curves->sample != NULL && c < curves->count; c++)
        free(curves->sample[c]);
    free(curves->sample);
    free(curves->row);
}

void bc_curves_keep(const bc_curves *curves, bc_run_worker *worker, size_t run)
{
    const bc_segments *segments = bc_merit_segments(worker->merit);
    if (run >= curves->runs)
        return;
    for (size_t c = 0; c < curves->count; c++) {
        const size_t count = segments->segment[segments->row[curves->row[c]].segment].count;
        bc_merit_curve(worker->merit, curves->row[c], worker->curve);
        for (size_t i = 0; i < count; i++)
            curves->sample[c][i * curves->runs + run] = worker->curve[i];
    }
}

void bc_curves_finish(const bc_curves *curves, size_t done, bc_yield_result *result)
{
    const size_t runs = done < curves->runs ? done : curves->runs;
    result->curve_runs = runs;
    for (size_t c = 0; c < curves->count; c++) {
        for (size_t i = 0; i < result->curve[c].count; i++) {
            double *sample = curves->sample[c] + i * curves->runs;
            gsl_sort(sample, 1, runs);
            for (size_t p = 0; p < PERCENTILES; p++)
                result->curve[c].value[p][i] = gsl_stats_quantile_from_sorted_data(sample, 1, runs, quantile[p]);
        }
    }
}
