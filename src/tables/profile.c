/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "escaped.h"
#include <bloomcoat/profile.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RADIUS, SLOPE, THICKNESS, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {{"radius_mm", false}, {"slope_deg", false}, {"thickness_percent", true}};
static const bc_csv_schema schema = {"radius_mm,thickness_percent", COLUMNS, columns};

#define LEAST_STEP 1e-8 /* mm, or radians: between rows nearer than that the curve's slopes would overflow */
#define DEGREE     (M_PI / 180.0)

static const bc_csv_range ranges[COLUMNS] = {
    [RADIUS] = {0, false, 1e4, 0, "a distance from the axis in mm, from 0 to 10000"},
    [SLOPE] = {0, false, 90, 0, "a slope in degrees, from 0 to 90"},
    [THICKNESS] = {1e-3, false, 1000, 0, "a thickness in percent of that at the vertex, from 0.001 to 1000"},
};

static bc_status read_row(const bc_csv *csv, size_t row, bc_profile *profile, bc_error *error)
{
    const size_t column = profile->by_slope ? SLOPE : RADIUS;
    double *at = &profile->at[row];
    bc_status status = bc_csv_number(csv, row, column, &ranges[column], at, error);
    *at *= profile->by_slope ? DEGREE : 1.0;
    if (status == BC_OK && row == 0 && *at != 0.0)
        status = bc_csv_fail(csv, row, column, error, "0 in the first row: the profile begins at the vertex");
    if (status == BC_OK && row > 0 && !(*at >= profile->at[row - 1] + LEAST_STEP))
        status = bc_csv_fail(csv, row, column, error, "more than in the row before, by 0.000001 at least");
    return status == BC_OK ? bc_csv_number(csv, row, THICKNESS, &ranges[THICKNESS], &profile->percent[row], error)
                           : status;
}

static bc_status read_rows(const bc_csv *csv, bc_profile *profile, bc_error *error)
{
    bc_status status = BC_OK;
    profile->by_slope = bc_csv_has(csv, SLOPE);
    if (profile->by_slope == bc_csv_has(csv, RADIUS))
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: found a header with %s radius_mm and slope_deg; expected one of them, such as '%s'",
                       csv->path, csv->header_line, profile->by_slope ? "both" : "neither", schema.example);
    if (csv->rows < 2)
        return bc_fail(error, BC_ERROR_INPUT, "%s: found 1 row; expected two at least, from the vertex to the edge",
                       csv->path);
    profile->path = strdup(csv->path);
    profile->at = calloc(csv->rows, sizeof *profile->at);
    profile->percent = calloc(csv->rows, sizeof *profile->percent);
    if (profile->path == NULL || profile->at == NULL || profile->percent == NULL)
        return bc_fail_memory(error);
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++)
        status = read_row(csv, row, profile, error);
    profile->rows = csv->rows;
    return status;
}

bc_status bc_profile_read(const char *path, bc_profile *profile, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status;
    *profile = (bc_profile){0};
    status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    status = read_rows(csv, profile, error);
    memcpy(profile->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        bc_profile_clear(profile);
    return status;
}

void bc_profile_clear(bc_profile *profile)
{
    free(profile->path);
    free(profile->at);
    free(profile->percent);
    *profile = (bc_profile){0};
}

static bc_status fail_range(const bc_profile *profile, double at, bc_error *error)
{
    const double unit = profile->by_slope ? DEGREE : 1.0;
    const char *what = profile->by_slope ? "a slope of" : "the distance", *unit_word = profile->by_slope ? "deg" : "mm";
    return bc_fail(error, BC_ERROR_INPUT, "%s: found rows up to %s %.6g %s; expected them to reach %.6g %s",
                   profile->path == NULL ? "thickness profile" : profile->path, what,
                   profile->at[profile->rows - 1] / unit, unit_word, at / unit, unit_word);
}

bc_status bc_profile_factor(const bc_profile *profile, double at, double *factor, bc_error *error)
{
    const double last = profile->at[profile->rows - 1];
    gsl_interp *curve;
    int failed;
    /* An edge that is the last row's but for rounding is reached. */
    if (!(at >= 0.0 && at <= last * (1.0 + 1e-12)))
        return fail_range(profile, at, error);
    gsl_set_error_handler_off();
    curve = gsl_interp_alloc(profile->rows < 3 ? gsl_interp_linear : gsl_interp_steffen, profile->rows);
    if (curve == NULL)
        return bc_fail_memory(error);
    failed = gsl_interp_init(curve, profile->at, profile->percent, profile->rows) ||
             gsl_interp_eval_e(curve, profile->at, profile->percent, fmin(at, last), NULL, factor);
    gsl_interp_free(curve);
    *factor /= profile->percent[0];
    return failed ? bc_fail_memory(error) : BC_OK;
}
