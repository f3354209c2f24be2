/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "segments.h"
#include <bloomcoat/cone.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SEARCH_ANGLES_APART      (23.0 * M_PI / 180.0)
#define SEARCH_SAMPLES           28
#define SEARCH_SAMPLES_PER_LAYER 4
#define MOST_SEARCH_SAMPLES      201
#define SEARCH_POINTS            4 /* in a piece of a cone */

/* From zone to zone of a curved surface: in the logarithm of the thickness, and in the slope where it counts. */
#define SEARCH_FACTOR_STEP  0.10
#define VERDICT_FACTOR_STEP 0.04
#define SEARCH_SLOPE_STEP   (12.0 * M_PI / 180.0)
#define VERDICT_SLOPE_STEP  (4.0 * M_PI / 180.0)

static size_t count_samples(const bc_callout *callout, bc_density density, size_t max_layers, bc_fringes fringes)
{
    size_t samples;
    if (density != BC_DENSITY_SEARCH || callout->to_nm <= callout->from_nm)
        return bc_sampling_wavelengths(callout, fringes.optical_nm);
    samples = SEARCH_SAMPLES + SEARCH_SAMPLES_PER_LAYER * max_layers;
    return samples < MOST_SEARCH_SAMPLES ? samples : MOST_SEARCH_SAMPLES;
}

static size_t count_angles(const bc_callout *callout, bc_density density, bc_fringes fringes)
{
    switch (density) {
    case BC_DENSITY_SEARCH:
        return bc_sampling_angles(callout, SEARCH_ANGLES_APART);
    case BC_DENSITY_POLISH:
        return bc_sampling_verdict_angles(callout, 0.0);
    case BC_DENSITY_VERDICT:
        break;
    }
    return bc_sampling_verdict_angles(callout, fringes.tilt_nm);
}

/* The segment for this light, shared with an earlier row where there is one. */
static size_t find_segment(bc_segments *segments, const bc_callout *callout, double aoi_rad, size_t glass,
                           const bc_zone *zone)
{
    const bool is_part = callout->scope == BC_SCOPE_PART;
    size_t s;
    for (s = 0; s < segments->count; s++) {
        const bc_segment *segment = &segments->segment[s];
        if (segment->callout->from_nm == callout->from_nm && segment->callout->to_nm == callout->to_nm &&
            segment->callout->weight == callout->weight && segment->aoi_rad == aoi_rad && segment->glass == glass &&
            segment->is_part == is_part && segment->zone == zone)
            return s;
    }
    segments->count++;
    segments->segment[s] = (bc_segment){.callout = callout,
                                        .aoi_rad = aoi_rad,
                                        .glass = glass,
                                        .is_part = is_part,
                                        .zone = zone,
                                        .thickness_factor = zone == NULL ? 1.0 : zone->thickness_factor};
    return s;
}

static void add_row(bc_segments *segments, const bc_callout *callout, size_t segment, double s_share)
{
    const bool ratio = callout->polarization == BC_POL_RATIO;
    const double ideal = bc_callout_ideal(callout), margin = callout->limit - ideal;
    bc_row *row = &segments->row[segments->rows++];
    *row = (bc_row){.callout = callout,
                    .ratio = ratio,
                    .segment = segment,
                    .aoi_rad = segments->segment[segment].aoi_rad,
                    .share = {s_share, ratio ? 1.0 : 1.0 - s_share},
                    .offset = -ideal / margin,
                    .factor = 1.0 / margin,
                    .first = segments->constraints,
                    .count = callout->statistic == BC_EXTREME ? segments->segment[segment].count : 1};
    segments->constraints += row->count;
}

/* What is laid out: on a plane surface one zone, NULL. */
typedef struct layout {
    const bc_design_problem *problem;
    const bc_sampling_extras *extras;
    size_t zones;
} layout;

double bc_row_share(const bc_row *row, size_t segment)
{
    if (row->members == 0)
        return row->segment == segment ? 1.0 : 0.0;
    for (size_t m = 0; m < row->members; m++)
        if (row->member[m] == segment)
            return row->member_share[m];
    return 0.0;
}

static size_t count_points(const bc_callout *callout, bc_density density, bc_fringes fringes, double aoi_rad)
{
    return density == BC_DENSITY_SEARCH ? SEARCH_POINTS
                                        : bc_cone_points(aoi_rad, callout->cone_rad, callout->from_nm,
                                                         density == BC_DENSITY_VERDICT ? fringes.tilt_nm : 0.0);
}

/* One row of many segments. */
static bc_status add_cone(bc_segments *segments, const bc_callout *callout, double aoi_rad, size_t samples,
                          size_t points, size_t glass, const bc_zone *zone, bc_error *error)
{
    bc_row *row;
    bc_cone cone;
    size_t *member;
    bc_status status = bc_cone_open(aoi_rad, callout->cone_rad, callout->cone_weight, points, &cone, error);
    if (status != BC_OK)
        return status;
    member = calloc(cone.count, sizeof *member + sizeof(double));
    if (member == NULL)
        return bc_fail_memory(error);
    for (size_t m = 0; m < cone.count; m++) {
        member[m] = find_segment(segments, callout, cone.aoi_rad[m], glass, zone);
        segments->segment[member[m]].count = samples;
    }
    add_row(segments, callout, member[0], 0.5);
    row = &segments->row[segments->rows - 1];
    row->members = cone.count;
    row->member = member;
    row->member_share = (double *)(void *)(member + cone.count);
    row->aoi_rad = aoi_rad;
    memcpy(row->member_share, cone.share, cone.count * sizeof(double));
    return BC_OK;
}

/* Rows of one callout on one glass at one zone and angle. */
static bc_status add_angle(const layout *plan, bc_segments *segments, const bc_callout *callout, double aoi_rad,
                           size_t glass, const bc_zone *zone, bc_error *error)
{
    const bc_density density = plan->extras->density;
    const bc_fringes fringes = bc_scale_fringes(plan->extras->fringes, zone == NULL ? 1.0 : zone->thickness_factor);
    const size_t samples = count_samples(callout, density, plan->problem->max_layers, fringes);
    size_t s;
    if (callout->cone_rad > 0.0)
        return add_cone(segments, callout, aoi_rad, samples, count_points(callout, density, fringes, aoi_rad), glass,
                        zone, error);
    s = find_segment(segments, callout, aoi_rad, glass, zone);
    segments->segment[s].count = samples;
    if (callout->polarization == BC_POL_UNPOLARIZED)
        add_row(segments, callout, s, 0.5);
    if (callout->polarization == BC_POL_S || callout->polarization == BC_POL_EACH ||
        callout->polarization == BC_POL_RATIO)
        add_row(segments, callout, s, 1.0);
    if (callout->polarization == BC_POL_P || (callout->polarization == BC_POL_EACH && aoi_rad > 0.0))
        add_row(segments, callout, s, 0.0);
    return BC_OK;
}

/* And at every angle of its range, where it reads as `local`. */
static bc_status add_callout(const layout *plan, bc_segments *segments, const bc_callout *callout,
                             const bc_callout *local, size_t angles, size_t glass, const bc_zone *zone, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t a = 0; status == BC_OK && a < angles; a++)
        status = add_angle(plan, segments, callout, bc_sampling_at(local->aoi_from_rad, local->aoi_to_rad, angles, a),
                           glass, zone, error);
    return status;
}

/* So many of the problem's zones that thickness and, where it counts, slope change little from one to the next. */
static size_t count_zones(const bc_design_problem *problem, bc_density density)
{
    const double factor_step = density == BC_DENSITY_SEARCH ? SEARCH_FACTOR_STEP : VERDICT_FACTOR_STEP;
    const double slope_step = density == BC_DENSITY_SEARCH ? SEARCH_SLOPE_STEP : VERDICT_SLOPE_STEP;
    double factors = 0.0, slopes = 0.0, steps;
    for (size_t z = 1; z < problem->zones; z++) {
        const bc_zone *zone = &problem->zone[z];
        factors += fabs(log(zone->thickness_factor / zone[-1].thickness_factor));
        slopes += zone->axial ? fabs(zone->slope_rad - zone[-1].slope_rad) : 0.0;
    }
    steps = ceil(fmax(factors / factor_step, slopes / slope_step));
    return steps + 1.0 < (double)problem->zones ? (size_t)steps + 1 : problem->zones;
}

/* Evenly among the problem's zones, the first and the last among them. */
static const bc_zone *choose_zone(const layout *plan, size_t which)
{
    const size_t last = plan->problem->zones - 1, steps = plan->zones - 1;
    if (plan->problem->zones == 0)
        return NULL;
    return &plan->problem->zone[steps == 0 ? 0 : (which * last + steps / 2) / steps];
}

static bc_status read_at(const bc_zone *zone, const bc_callout *callout, bc_callout *local, bc_error *error)
{
    *local = *callout;
    return zone == NULL ? BC_OK : bc_zone_callout(zone, callout, local, error);
}

static bc_status add_zone(const layout *plan, size_t glass, const bc_zone *zone, bc_segments *segments, bc_error *error)
{
    const bc_design_problem *problem = plan->problem;
    const bc_fringes fringes = bc_scale_fringes(plan->extras->fringes, zone == NULL ? 1.0 : zone->thickness_factor);
    bc_status status = BC_OK;
    for (size_t c = 0; status == BC_OK && c < problem->callouts->count; c++) {
        const bc_callout *callout = &problem->callouts->callout[c];
        bc_callout local;
        if (!bc_callout_applies(callout, problem->substrate[glass].name))
            continue;
        status = read_at(zone, callout, &local, error);
        if (status == BC_OK)
            status = add_callout(plan, segments, callout, &local, count_angles(&local, plan->extras->density, fringes),
                                 glass, zone, error);
    }
    return status;
}

static bc_status most_rows(const layout *plan, size_t *rows, bc_error *error)
{
    const bc_design_problem *problem = plan->problem;
    bc_status status = BC_OK;
    *rows = 0;
    for (size_t z = 0; z < plan->zones; z++) {
        const bc_zone *zone = choose_zone(plan, z);
        const bc_fringes fringes = bc_scale_fringes(plan->extras->fringes, zone == NULL ? 1.0 : zone->thickness_factor);
        for (size_t c = 0; status == BC_OK && c < problem->callouts->count; c++) {
            bc_callout local;
            status = read_at(zone, &problem->callouts->callout[c], &local, error);
            if (status == BC_OK)
                *rows += 2 * count_angles(&local, plan->extras->density, fringes) * problem->substrates;
        }
    }
    return status;
}

static bc_status add_rows(const layout *plan, bc_segments *segments, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t g = 0; status == BC_OK && g < plan->problem->substrates; g++) {
        const size_t before = segments->rows;
        for (size_t z = 0; status == BC_OK && z < plan->zones; z++)
            status = add_zone(plan, g, choose_zone(plan, z), segments, error);
        if (status == BC_OK && segments->rows == before)
            status =
                bc_fail(error, BC_ERROR_INPUT, "no callout applies to the substrate '%s'; every row names another one",
                        plan->problem->substrate[g].name);
    }
    return status;
}

/* After the rows of the density, which they may repeat. */
static bc_status add_spots(const layout *plan, bc_segments *segments, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < plan->extras->extra_samples; i++) {
        const bc_extra_sample *extra_sample = &plan->extras->extra_sample[i];
        status = add_angle(plan, segments, extra_sample->callout, extra_sample->aoi_rad, extra_sample->glass,
                           extra_sample->zone, error);
    }
    return status;
}

static bool any_cone(const bc_design_problem *problem)
{
    for (size_t c = 0; c < problem->callouts->count; c++)
        if (problem->callouts->callout[c].cone_rad > 0.0)
            return true;
    return false;
}

bc_status bc_segments_plan(const bc_design_problem *problem, const bc_sampling_extras *extras, bc_segments *segments,
                           bc_error *error)
{
    const layout plan = {problem, extras, problem->zones == 0 ? 1 : count_zones(problem, extras->density)};
    size_t most = 0;
    bc_status status;
    memset(segments, 0, sizeof *segments);
    status = most_rows(&plan, &most, error);
    if (status != BC_OK)
        return status;
    most += 2 * extras->extra_samples;
    segments->segment = calloc(most * (any_cone(problem) ? BC_CONE_MOST : 1) + 1, sizeof *segments->segment);
    segments->row = calloc(most + 1, sizeof *segments->row);
    if (segments->segment == NULL || segments->row == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = add_rows(&plan, segments, error);
    if (status == BC_OK)
        status = add_spots(&plan, segments, error);
    for (size_t s = 0; status == BC_OK && s < segments->count; s++)
        if (segments->segment[s].count > segments->longest)
            segments->longest = segments->segment[s].count;
    if (status != BC_OK)
        bc_segments_clear(segments);
    return status;
}

static bc_status open_gradients(bc_segments *segments, bc_error *error)
{
    for (size_t r = 0; r < segments->rows; r++) {
        bc_row *row = &segments->row[r];
        if (row->callout->colour == BC_NO_COLOUR)
            continue;
        row->gradient = calloc(segments->segment[row->segment].count, sizeof(double));
        if (row->gradient == NULL)
            return bc_fail_memory(error);
    }
    return BC_OK;
}

bc_status bc_segments_alloc(const bc_design_problem *problem, size_t max_layers, const bc_sampling_extras *extras,
                            bc_segments *segments, bc_error *error)
{
    bc_status status = bc_segments_plan(problem, extras, segments, error);
    for (size_t s = 0; status == BC_OK && s < segments->count; s++)
        status = bc_segment_open(problem, extras, max_layers, &segments->segment[s], error);
    if (status == BC_OK)
        status = open_gradients(segments, error);
    if (status != BC_OK)
        bc_segments_clear(segments);
    return status;
}

void bc_segments_clear(bc_segments *segments)
{
    for (size_t s = 0; s < segments->count; s++) {
        bc_surface_free(segments->segment[s].surface);
        bc_part_free(segments->segment[s].part);
        free(segments->segment[s].wavelength_nm);
    }
    for (size_t r = 0; r < segments->rows; r++)
        free(segments->row[r].gradient), free(segments->row[r].member);
    free(segments->segment);
    free(segments->row);
    memset(segments, 0, sizeof *segments);
}
