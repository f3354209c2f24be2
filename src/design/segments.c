/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "segments.h"
#include "arena.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SEARCH_ANGLES_APART      (23.0 * M_PI / 180.0)
#define SEARCH_SAMPLES           28
#define SEARCH_SAMPLES_PER_LAYER 4
#define MOST_SEARCH_SAMPLES      201

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

/* Fringes are evenly spaced in wave number, so few samples are best spent so; their weights are the trapezoid rule's.
 */
static void set_samples(bc_segment *segment, bc_density density)
{
    const size_t last = segment->count - 1;
    const double from_nm = segment->callout->from_nm, to_nm = segment->callout->to_nm;
    if (density != BC_DENSITY_SEARCH || last == 0) {
        bc_sampling_set(segment->callout, segment->count, segment->wavelength_nm, segment->weight);
        if (segment->colour != NULL)
            bc_sampling_colour(segment->callout, segment->count, segment->wavelength_nm, NULL, segment->colour);
        return;
    }
    for (size_t i = 0; i <= last; i++)
        segment->wavelength_nm[i] = 1.0 / bc_sampling_at(1.0 / from_nm, 1.0 / to_nm, segment->count, i);
    segment->wavelength_nm[0] = from_nm; /* 1 / (1 / x) may leave the table by a rounding */
    segment->wavelength_nm[last] = to_nm;
    for (size_t i = 0; i <= last; i++) {
        const double before = segment->wavelength_nm[i == 0 ? 0 : i - 1];
        const double after = segment->wavelength_nm[i == last ? last : i + 1];
        segment->weight[i] = 0.5 * (after - before) / (to_nm - from_nm);
    }
    if (segment->colour != NULL)
        bc_sampling_colour(segment->callout, segment->count, segment->wavelength_nm, segment->weight, segment->colour);
    bc_sampling_weigh(segment->callout, segment->count, segment->wavelength_nm, segment->weight);
}

/* The indices of every medium on the grid, for as long as an engine is being set up. */
typedef struct indices {
    bc_arena arena;
    bc_index incident, substrate, *material;
} indices;

static bc_status sample(const bc_medium *medium, const bc_segment *segment, bc_arena *arena, bc_index *index,
                        bc_error *error)
{
    double *n = bc_arena_take(arena, segment->count, sizeof(double));
    double *k = bc_arena_take(arena, segment->count, sizeof(double));
    *index = (bc_index){n, k};
    if (arena->memory == NULL)
        return BC_OK;
    return bc_dispersion_index(medium->dispersion, segment->count, segment->wavelength_nm, n, k, error);
}

static bc_status sample_all(const bc_design_problem *problem, const bc_segment *segment, bc_index *material,
                            indices *all, bc_error *error)
{
    bc_status status = sample(&problem->incident, segment, &all->arena, &all->incident, error);
    if (status == BC_OK)
        status = sample(&problem->substrate[segment->glass], segment, &all->arena, &all->substrate, error);
    for (size_t m = 0; status == BC_OK && m < problem->materials; m++)
        status = sample(&problem->material[m], segment, &all->arena, &material[m], error);
    all->material = material;
    return status;
}

static bc_status open_part(const bc_design_problem *problem, const bc_surface_setup *front, bc_segment *segment,
                           bc_error *error)
{
    const bc_stack *behind = problem->back.kind == BC_BACK_OWN ? problem->back.stack : NULL;
    const size_t layers = behind == NULL ? 0 : behind->layers;
    bc_part_setup setup = {.front = *front, .back = problem->back.kind, .substrate_mm = problem->back.substrate_mm};
    bc_index *index = calloc(layers + 1, sizeof *index);
    unsigned *material = calloc(layers + 1, sizeof *material);
    double *thickness_nm = calloc(layers + 1, sizeof *thickness_nm);
    bc_arena arena = {0};
    bc_status status = index == NULL || material == NULL || thickness_nm == NULL ? bc_fail_memory(error) : BC_OK;
    for (int pass = 0; status == BC_OK && behind != NULL && pass < 2; pass++) {
        status = sample(&behind->incident, segment, &arena, &setup.back_medium, error);
        for (size_t j = 0; status == BC_OK && j < layers; j++) {
            status = sample(&behind->layer[j].material, segment, &arena, &index[j], error);
            material[j] = (unsigned)j;
            thickness_nm[j] = behind->layer[j].thickness_nm;
        }
        if (status == BC_OK && pass == 0)
            status = bc_arena_open(&arena, error);
    }
    setup.back_materials = setup.back_layers = layers;
    setup.back_index = index;
    setup.back_material = material;
    setup.back_thickness_nm = thickness_nm;
    if (status == BC_OK)
        status = bc_part_alloc(&setup, &segment->part, error);
    free(arena.memory);
    free(index);
    free(material);
    free(thickness_nm);
    return status;
}

static bc_status open_engine(const bc_design_problem *problem, size_t max_layers, bool values_only, bc_segment *segment,
                             bc_error *error)
{
    indices all = {0};
    bc_index *material = calloc(problem->materials + 1, sizeof *material);
    bc_status status = material == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = sample_all(problem, segment, material, &all, error);
    if (status == BC_OK)
        status = bc_arena_open(&all.arena, error);
    if (status == BC_OK)
        status = sample_all(problem, segment, material, &all, error);
    if (status == BC_OK) {
        const bc_surface_setup setup = {.wavelengths = segment->count,
                                        .wavelength_nm = segment->wavelength_nm,
                                        .aoi_rad = segment->aoi_rad,
                                        .incident = all.incident,
                                        .substrate = all.substrate,
                                        .materials = problem->materials,
                                        .material = material,
                                        .max_layers = max_layers,
                                        .values_only = values_only};
        status = bc_surface_alloc(&setup, &segment->surface, error);
        if (status == BC_OK && segment->is_part)
            status = open_part(problem, &setup, segment, error);
    }
    free(all.arena.memory);
    free(material);
    return status;
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
    const double room = callout->sense == BC_AT_MOST ? callout->limit : callout->limit - 1.0;
    bc_row *row = &segments->row[segments->rows++];
    *row = (bc_row){.callout = callout,
                    .segment = segment,
                    .share = {s_share, 1.0 - s_share},
                    .offset = callout->sense == BC_AT_MOST ? 0.0 : -1.0 / room,
                    .factor = 1.0 / room,
                    .first = segments->constraints,
                    .count = callout->statistic == BC_EXTREME ? segments->segment[segment].count : 1};
    segments->constraints += row->count;
}

/* Rows of one callout on one glass at one zone and angle. */
static void add_angle(bc_segments *segments, const bc_callout *callout, double aoi_rad, size_t samples, size_t glass,
                      const bc_zone *zone)
{
    const size_t s = find_segment(segments, callout, aoi_rad, glass, zone);
    segments->segment[s].count = samples;
    if (callout->polarization == BC_POL_UNPOLARIZED)
        add_row(segments, callout, s, 0.5);
    if (callout->polarization == BC_POL_S || callout->polarization == BC_POL_EACH)
        add_row(segments, callout, s, 1.0);
    if (callout->polarization == BC_POL_P || (callout->polarization == BC_POL_EACH && aoi_rad > 0.0))
        add_row(segments, callout, s, 0.0);
}

/* And at every angle of its range, where it reads as `local`. */
static void add_callout(bc_segments *segments, const bc_callout *callout, const bc_callout *local, size_t angles,
                        size_t samples, size_t glass, const bc_zone *zone)
{
    for (size_t a = 0; a < angles; a++)
        add_angle(segments, callout, bc_sampling_at(local->aoi_from_rad, local->aoi_to_rad, angles, a), samples, glass,
                  zone);
}

static bc_status open_segment(const bc_design_problem *problem, const bc_sampling_extras *extras, size_t max_layers,
                              bc_segment *segment, bc_error *error)
{
    const bool is_colour = segment->callout->colour != BC_NO_COLOUR;
    /* NOLINTNEXTLINE(clang-analyzer-optin.portability.UnixAPI): a segment has a sample */
    segment->wavelength_nm = calloc((is_colour ? 5 : 2) * segment->count, sizeof(double));
    if (segment->wavelength_nm == NULL)
        return bc_fail_memory(error);
    segment->weight = segment->wavelength_nm + segment->count;
    segment->colour = is_colour ? segment->weight + segment->count : NULL;
    set_samples(segment, extras->density);
    if (segment->is_part && problem->back.kind == BC_BACK_NONE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "a callout has scope part; say what the back surface is: uncoated, same, or a stack file");
    return open_engine(problem, max_layers, extras->values_only, segment, error);
}

/* What is laid out: on a plane surface one zone, NULL. */
typedef struct layout {
    const bc_design_problem *problem;
    const bc_sampling_extras *extras;
    size_t zones;
} layout;

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
            add_callout(segments, callout, &local, count_angles(&local, plan->extras->density, fringes),
                        count_samples(callout, plan->extras->density, problem->max_layers, fringes), glass, zone);
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
static void add_spots(const layout *plan, bc_segments *segments)
{
    for (size_t i = 0; i < plan->extras->extra_samples; i++) {
        const bc_extra_sample *extra_sample = &plan->extras->extra_sample[i];
        const bc_fringes fringes = bc_scale_fringes(
            plan->extras->fringes, extra_sample->zone == NULL ? 1.0 : extra_sample->zone->thickness_factor);
        add_angle(segments, extra_sample->callout, extra_sample->aoi_rad,
                  count_samples(extra_sample->callout, plan->extras->density, plan->problem->max_layers, fringes),
                  extra_sample->glass, extra_sample->zone);
    }
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
    segments->segment = calloc(most + 1, sizeof *segments->segment);
    segments->row = calloc(most + 1, sizeof *segments->row);
    if (segments->segment == NULL || segments->row == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = add_rows(&plan, segments, error);
    if (status == BC_OK)
        add_spots(&plan, segments);
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
        status = open_segment(problem, extras, max_layers, &segments->segment[s], error);
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
        free(segments->row[r].gradient);
    free(segments->segment);
    free(segments->row);
    memset(segments, 0, sizeof *segments);
}
