/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "clouds.h"
#include "percentiles.h"
#include <bloomcoat/colour_path.h>
#include <stdlib.h>

#define MOST_RUNS ((size_t)2000)

/* Whether the row of a callout shows what one before it shows. */
static bool is_listed(const bc_run_worker *worker, const bc_clouds *clouds, size_t row, const bc_callout *callout)
{
    const bc_segments *segments = bc_merit_segments(worker->merit);
    const bc_segment *segment = &segments->segment[segments->row[row].segment];
    for (size_t c = 0; c < clouds->count; c++) {
        const bc_colour_cloud *cloud = &clouds->result->cloud[c];
        if (bc_same_colour(cloud->callout, callout) && cloud->zone == segment->zone &&
            cloud->substrate == &worker->runs->model.problem.substrate[segment->glass] &&
            cloud->aoi_rad == segments->row[row].aoi_rad &&
            cloud->polarization == bc_row_polarization(&segments->row[row]))
            return true;
    }
    return false;
}

static void colour_of(const bc_run_worker *worker, size_t row, const bc_callout *callout, double *curve,
                      bc_colour *colour)
{
    bc_illuminant illuminant;
    bc_observer observer;
    bc_callout_view(callout, &illuminant, &observer);
    bc_merit_curve(worker->merit, row, curve);
    bc_colour_of(curve, illuminant, observer, colour);
}

static bc_status add(const bc_run_worker *worker, size_t row, const bc_callout *callout, bc_clouds *clouds,
                     bc_error *error)
{
    const bc_segments *segments = bc_merit_segments(worker->merit);
    const bc_segment *segment = &segments->segment[segments->row[row].segment];
    bc_colour_cloud *cloud = &clouds->result->cloud[clouds->count];
    *cloud = (bc_colour_cloud){.callout = callout,
                               .substrate = &worker->runs->model.problem.substrate[segment->glass],
                               .aoi_rad = segments->row[row].aoi_rad,
                               .zone = segment->zone,
                               .polarization = bc_row_polarization(&segments->row[row])};
    colour_of(worker, row, callout, worker->curve, &cloud->design);
    cloud->scatter.run = calloc(clouds->runs, sizeof *cloud->scatter.run);
    if (cloud->scatter.run == NULL)
        return bc_fail_memory(error);
    clouds->row[clouds->count++] = row;
    clouds->result->clouds = clouds->count;
    return BC_OK;
}

bc_status bc_clouds_open(const bc_run_worker *worker, size_t runs, bc_clouds *clouds, bc_yield_result *result,
                         bc_error *error)
{
    const bc_design_problem *problem = &worker->runs->model.problem;
    const bc_segments *segments = bc_merit_segments(worker->merit);
    const size_t most = problem->substrates * problem->callouts->count;
    bc_status status = BC_OK;
    clouds->runs = runs < MOST_RUNS ? runs : MOST_RUNS;
    clouds->result = result;
    clouds->row = calloc(most, sizeof *clouds->row);
    result->cloud = calloc(most, sizeof *result->cloud);
    if (clouds->row == NULL || result->cloud == NULL)
        return bc_fail_memory(error);
    for (size_t g = 0; g < problem->substrates; g++)
        for (size_t c = 0; status == BC_OK && c < problem->callouts->count; c++) {
            const bc_callout *callout = &problem->callouts->callout[c];
            const size_t row = bc_worst_row(worker, callout, g);
            if (bc_callout_is_seen(callout) && row < segments->rows && !is_listed(worker, clouds, row, callout))
                status = add(worker, row, callout, clouds, error);
        }
    return status;
}

void bc_clouds_close(bc_clouds *clouds)
{
    free(clouds->row);
}

void bc_clouds_keep(const bc_clouds *clouds, bc_run_worker *worker, size_t run)
{
    if (run >= clouds->runs)
        return;
    for (size_t c = 0; c < clouds->count; c++) {
        const bc_colour_cloud *cloud = &clouds->result->cloud[c];
        colour_of(worker, clouds->row[c], cloud->callout, worker->curve, &cloud->scatter.run[run]);
    }
}

bc_status bc_clouds_finish(const bc_clouds *clouds, size_t done, bc_error *error)
{
    bc_status status = BC_OK;
    if (clouds->count == 0)
        return BC_OK;
    clouds->result->cloud_runs = done < clouds->runs ? done : clouds->runs;
    for (size_t c = 0; status == BC_OK && clouds->result->cloud_runs > 0 && c < clouds->count; c++) {
        bc_colour_cloud *cloud = &clouds->result->cloud[c];
        status = bc_colour_scatter_find(&cloud->design, clouds->result->cloud_runs, &cloud->scatter, error);
    }
    return status;
}
