/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "values.h"
#include <bloomcoat/cone.h>
#include <bloomcoat/curves.h>
#include <bloomcoat/sampling.h>
#include <bloomcoat/zones.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BEYOND         0.06 /* of all bands' width, shown at either side */
#define BEYOND_POINT   0.10 /* of the wavelength, where all rows are at one */
#define MOST_POINTS    ((size_t)4001)
#define MOST_IN_LIGHT  6 /* curves; where the ends of an angle range make more of them, the worst angle has to do */
#define ANGLES         3
#define POINTS_IN_CONE 12
#define SAME_ANGLE_RAD 0.002 /* a tenth of a degree: two curves closer than this look like one */

bool bc_same_light(const bc_callout *one, const bc_callout *other)
{
    return one->quantity == other->quantity && one->scope == other->scope && one->polarization == other->polarization &&
           one->aoi_from_rad == other->aoi_from_rad && one->aoi_to_rad == other->aoi_to_rad &&
           one->cone_rad == other->cone_rad && one->cone_weight == other->cone_weight &&
           strcmp(one->substrate, other->substrate) == 0;
}

typedef struct reach {
    double from_nm, to_nm;
} reach;

static void narrow(const bc_medium *medium, reach *range)
{
    double from_nm, to_nm;
    bc_dispersion_range(medium->dispersion, &from_nm, &to_nm);
    range->from_nm = fmax(range->from_nm, from_nm);
    range->to_nm = fmin(range->to_nm, to_nm);
}

static void narrow_to_stack(const bc_stack *stack, reach *range)
{
    narrow(&stack->incident, range);
    for (size_t layer = 0; layer < stack->layers; layer++)
        narrow(&stack->layer[layer].material, range);
}

/* All bands and a little beyond; within what every table covers, which bc_check() found to cover the bands. */
static reach find_reach(const bc_stack *stack, const bc_back *back, const bc_check_result *result)
{
    reach bands = {INFINITY, 0.0}, range;
    double margin;
    for (size_t f = 0; f < result->count; f++) {
        bands.from_nm = fmin(bands.from_nm, result->finding[f].callout->from_nm);
        bands.to_nm = fmax(bands.to_nm, result->finding[f].callout->to_nm);
    }
    margin = bands.to_nm > bands.from_nm ? BEYOND * (bands.to_nm - bands.from_nm) : BEYOND_POINT * bands.from_nm;
    range = (reach){fmax(bands.from_nm - margin, 0.5 * bands.from_nm), bands.to_nm + margin};
    narrow_to_stack(stack, &range);
    for (size_t f = 0; f < result->count; f++)
        narrow(result->finding[f].substrate, &range);
    if (back != NULL && back->kind == BC_BACK_OWN)
        narrow_to_stack(back->stack, &range);
    return (reach){fmin(range.from_nm, bands.from_nm), fmax(range.to_nm, bands.to_nm)};
}

static bc_status fill_grid(const bc_stack *stack, const reach *range, bc_check_curves *curves, bc_error *error)
{
    const bc_callout whole = {.from_nm = range->from_nm, .to_nm = range->to_nm};
    double optical_nm;
    bc_status status = bc_optical_thickness(stack, range->from_nm, &optical_nm, error);
    if (status != BC_OK)
        return status;
    curves->count = bc_sampling_wavelengths(&whole, optical_nm);
    curves->count = curves->count > MOST_POINTS ? MOST_POINTS : curves->count;
    curves->wavelength_nm = calloc(curves->count, sizeof(double));
    if (curves->wavelength_nm == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < curves->count; i++)
        curves->wavelength_nm[i] = bc_sampling_at(range->from_nm, range->to_nm, curves->count, i);
    return BC_OK;
}

static const bc_finding *worst_of(const bc_check_result *result, const bc_callout *callout, const bc_medium *glass)
{
    const bc_finding *worst = NULL;
    for (size_t f = 0; f < result->count; f++) {
        const bc_finding *finding = &result->finding[f];
        if (finding->substrate == glass && bc_same_light(finding->callout, callout) &&
            (worst == NULL || finding->limit_used > worst->limit_used))
            worst = finding;
    }
    return worst;
}

static bool lies_off_axis(const bc_finding *worst)
{
    return worst->zone != NULL && worst->zone->radius_mm > 0.0;
}

/* On a curved surface those of the vertex, where light meets it as the callout says. */
static size_t pick_angles(const bc_finding *worst, bool ends, double angle[ANGLES])
{
    const bc_callout *callout = worst->callout;
    const double at = lies_off_axis(worst) ? callout->aoi_from_rad : worst->at_aoi_rad;
    size_t count = 0;
    if (!ends || callout->aoi_from_rad == callout->aoi_to_rad) {
        angle[0] = at;
        return 1;
    }
    angle[count++] = callout->aoi_from_rad;
    if (at > callout->aoi_from_rad + SAME_ANGLE_RAD && at < callout->aoi_to_rad - SAME_ANGLE_RAD)
        angle[count++] = at;
    angle[count++] = callout->aoi_to_rad;
    return count;
}

/* The curves of one glass at one angle: one, or s and p. */
static bc_status add_curves(const bc_stack *stack, const bc_back *back, double aoi_rad, bc_check_curves *curves,
                            bc_light *light, bc_error *error)
{
    const bc_callout *callout = light->callout;
    const bool each = callout->polarization == BC_POL_EACH && aoi_rad > 0.0;
    bc_spectrum spectrum;
    bc_cone cone;
    bc_status status = bc_cone_open(aoi_rad, callout->cone_rad, callout->cone_weight, POINTS_IN_CONE, &cone, error);
    if (status == BC_OK)
        status = bc_cone_spectrum(stack, callout->scope == BC_SCOPE_PART ? back : NULL, curves->count,
                                  curves->wavelength_nm, &cone, &spectrum, error);
    if (status != BC_OK)
        return status;
    for (int second = 0; status == BC_OK && second <= (int)each; second++) {
        bc_light_curve *curve = &light->curve[light->curves];
        curve->aoi_rad = aoi_rad;
        curve->plane = callout->polarization == BC_POL_RATIO ? BC_POL_RATIO
                       : second                              ? BC_POL_P
                       : aoi_rad == 0.0                      ? BC_POL_UNPOLARIZED /* s and p are the same */
                       : each                                ? BC_POL_S
                                                             : callout->polarization;
        curve->value = malloc(curves->count * sizeof(double));
        if (curve->value == NULL) {
            status = bc_fail_memory(error);
            break;
        }
        bc_callout_values(&spectrum, callout->quantity, curve->plane, curve->value);
        light->curves++;
    }
    bc_spectrum_clear(&spectrum);
    return status;
}

static const bc_medium *next_glass(const bc_check_result *result, const bc_medium *before)
{
    const bc_medium *last = NULL;
    for (size_t f = 0; f < result->count; f++) {
        const bc_medium *glass = result->finding[f].substrate;
        if (glass != last && last == before)
            return glass;
        last = glass;
    }
    return NULL;
}

/* The curves where a callout is worst on a curved surface, beside those of its vertex. */
static bc_status add_zone_curves(const bc_stack *stack, const bc_finding *worst, bc_check_curves *curves,
                                 bc_light *light, bc_error *error)
{
    const size_t before = light->curves;
    bc_stack there = {0};
    bc_status status = bc_stack_copy(stack, &there, error);
    for (size_t j = 0; j < there.layers; j++)
        there.layer[j].thickness_nm *= worst->zone->thickness_factor;
    if (status == BC_OK)
        status = add_curves(&there, NULL, worst->at_aoi_rad, curves, light, error);
    for (size_t c = before; c < light->curves; c++)
        light->curve[c].zone = worst->zone;
    bc_stack_clear(&there);
    return status;
}

/* The curves of one kind of light on every glass it is asked for; `ends`: at the ends of an angle range, too. */
static bc_status fill_light(const bc_stack *stack, const bc_back *back, const bc_check_result *result, bool ends,
                            bc_check_curves *curves, bc_light *light, bc_error *error)
{
    bc_stack on_glass = *stack;
    bc_status status = BC_OK;
    for (const bc_medium *glass = next_glass(result, NULL); status == BC_OK && glass != NULL;
         glass = next_glass(result, glass)) {
        const bc_finding *worst = worst_of(result, light->callout, glass);
        double angle[ANGLES];
        const size_t angles = worst == NULL ? 0 : pick_angles(worst, ends, angle);
        const size_t before = light->curves;
        on_glass.substrate = *glass;
        for (size_t a = 0; status == BC_OK && a < angles; a++)
            status = add_curves(&on_glass, back, angle[a], curves, light, error);
        if (status == BC_OK && angles > 0 && lies_off_axis(worst))
            status = add_zone_curves(&on_glass, worst, curves, light, error);
        for (size_t c = before; c < light->curves; c++)
            light->curve[c].substrate = glass;
    }
    return status;
}

static size_t count_curves(const bc_check_result *result, const bc_callout *callout, bool ends)
{
    size_t count = 0;
    for (const bc_medium *glass = next_glass(result, NULL); glass != NULL; glass = next_glass(result, glass)) {
        const bc_finding *worst = worst_of(result, callout, glass);
        double angle[ANGLES];
        if (worst != NULL)
            count += (pick_angles(worst, ends, angle) + lies_off_axis(worst)) *
                     (callout->polarization == BC_POL_EACH ? 2 : 1);
    }
    return count;
}

/* Whether a finding before this one has the same band, angle and polarization. */
static bool is_listed(const bc_check_result *result, size_t finding)
{
    for (size_t f = 0; f < finding; f++)
        if (bc_same_light(result->finding[f].callout, result->finding[finding].callout))
            return true;
    return false;
}

static bc_status add_lights(const bc_stack *stack, const bc_back *back, const bc_check_result *result,
                            bc_check_curves *curves, bc_error *error)
{
    bc_status status = BC_OK;
    curves->light = calloc(result->count, sizeof *curves->light);
    if (curves->light == NULL)
        return bc_fail_memory(error);
    for (size_t f = 0; status == BC_OK && f < result->count; f++) {
        const bc_callout *callout = result->finding[f].callout;
        bc_light *light = &curves->light[curves->lights];
        bool ends;
        if (is_listed(result, f))
            continue;
        ends = count_curves(result, callout, true) <= MOST_IN_LIGHT;
        light->callout = callout;
        /* NOLINTNEXTLINE(clang-analyzer-optin.portability.UnixAPI): not zero, for every finding counts itself */
        light->curve = calloc(count_curves(result, callout, ends), sizeof *light->curve);
        curves->lights++;
        status =
            light->curve == NULL ? bc_fail_memory(error) : fill_light(stack, back, result, ends, curves, light, error);
    }
    return status;
}

bc_status bc_check_curves_compute(const bc_stack *stack, const bc_back *back, const bc_check_result *result,
                                  bc_check_curves *curves, bc_error *error)
{
    reach range;
    bc_status status;
    *curves = (bc_check_curves){0};
    range = find_reach(stack, back, result);
    status = fill_grid(stack, &range, curves, error);
    if (status == BC_OK)
        status = add_lights(stack, back, result, curves, error);
    if (status == BC_OK)
        status = bc_colour_paths_compute(stack, back, result, &curves->colours, error);
    if (status != BC_OK)
        bc_check_curves_clear(curves);
    return status;
}

void bc_check_curves_clear(bc_check_curves *curves)
{
    for (size_t l = 0; l < curves->lights; l++) {
        for (size_t c = 0; c < curves->light[l].curves; c++)
            free(curves->light[l].curve[c].value);
        free(curves->light[l].curve);
    }
    free(curves->light);
    free(curves->wavelength_nm);
    bc_colour_paths_clear(&curves->colours);
    *curves = (bc_check_curves){0};
}
