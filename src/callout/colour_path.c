/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/colour_path.h>
#include <bloomcoat/cone.h>
#include <bloomcoat/curves.h>
#include <bloomcoat/sampling.h>
#include <bloomcoat/zones.h>
#include <math.h>
#include <stdlib.h>

#define ANGLES_APART (5.0 * M_PI / 180.0)
#define MOST_GLASSES 3 /* with a path of their own */

bool bc_callout_is_seen(const bc_callout *callout)
{
    return callout->quantity != BC_A && bc_callout_has_own_band(callout);
}

void bc_callout_view(const bc_callout *callout, bc_illuminant *illuminant, bc_observer *observer)
{
    const bool colour = callout->colour != BC_NO_COLOUR;
    *illuminant = colour ? callout->illuminant : BC_ILLUMINANT_D65;
    *observer = colour ? callout->observer : BC_OBSERVER_2;
}

bool bc_same_colour(const bc_callout *one, const bc_callout *other)
{
    bc_illuminant illuminant[2];
    bc_observer observer[2];
    bc_callout_view(one, &illuminant[0], &observer[0]);
    bc_callout_view(other, &illuminant[1], &observer[1]);
    return bc_callout_is_seen(one) && bc_callout_is_seen(other) && bc_same_light(one, other) &&
           illuminant[0] == illuminant[1] && observer[0] == observer[1];
}

static bc_status colour_at(const bc_stack *stack, const bc_back *back, const bc_callout *callout, double aoi_rad,
                           bc_polarization plane, bc_colour *colour, bc_error *error)
{
    double wavelength_nm[BC_COLOUR_ROWS];
    bc_illuminant illuminant;
    bc_observer observer;
    bc_fringes fringes;
    bc_spectrum spectrum;
    bc_cone cone;
    bc_status status = bc_fringes_of(stack, back, callout->from_nm, &fringes, error);
    bc_colour_wavelengths(wavelength_nm);
    if (status == BC_OK)
        status = bc_cone_open(aoi_rad, callout->cone_rad, callout->cone_weight,
                              bc_cone_points(callout->aoi_to_rad, callout->cone_rad, callout->from_nm, fringes.tilt_nm),
                              &cone, error);
    if (status == BC_OK)
        status = bc_cone_spectrum(stack, back, BC_COLOUR_ROWS, wavelength_nm, &cone, &spectrum, error);
    if (status != BC_OK)
        return status;
    bc_callout_view(callout, &illuminant, &observer);
    bc_colour_of(callout->quantity == BC_R ? spectrum.R[plane] : spectrum.T[plane], illuminant, observer, colour);
    bc_spectrum_clear(&spectrum);
    return BC_OK;
}

static const bc_back *back_for(const bc_callout *callout, const bc_back *back)
{
    return callout->scope == BC_SCOPE_PART ? back : NULL;
}

bc_status bc_finding_colour(const bc_stack *stack, const bc_back *back, const bc_finding *finding, bc_colour *colour,
                            bc_error *error)
{
    const bc_callout *callout = finding->callout;
    bc_stack there = {0};
    bc_medium own;
    bc_status status = bc_stack_copy(stack, &there, error);
    for (size_t j = 0; finding->zone != NULL && j < there.layers; j++)
        there.layer[j].thickness_nm *= finding->zone->thickness_factor;
    own = there.substrate;
    there.substrate = *finding->substrate;
    if (status == BC_OK)
        status = colour_at(&there, back_for(callout, back), callout, finding->at_aoi_rad, finding->at_polarization,
                           colour, error);
    there.substrate = own;
    bc_stack_clear(&there);
    return status;
}

/* The finding of the group on this glass (NULL: on any) that uses most of its limit; NULL: there is none. */
static const bc_finding *worst_of(const bc_check_result *result, const bc_callout *group, const bc_medium *glass)
{
    const bc_finding *worst = NULL;
    for (size_t f = 0; f < result->count; f++) {
        const bc_finding *finding = &result->finding[f];
        if ((glass == NULL || finding->substrate == glass) && bc_same_colour(finding->callout, group) &&
            (worst == NULL || finding->limit_used > worst->limit_used))
            worst = finding;
    }
    return worst;
}

static bool is_first(const bc_check_result *result, size_t f, bool on_its_glass)
{
    for (size_t before = 0; before < f; before++)
        if (bc_same_colour(result->finding[before].callout, result->finding[f].callout) &&
            (!on_its_glass || result->finding[before].substrate == result->finding[f].substrate))
            return false;
    return bc_callout_is_seen(result->finding[f].callout);
}

static bc_status add_path(const bc_stack *stack, const bc_back *back, const bc_callout *callout,
                          const bc_medium *substrate, bc_polarization plane, bc_colour_paths *paths, bc_error *error)
{
    bc_colour_path *path = &paths->path[paths->count++];
    bc_stack on_glass = *stack; /* the layers are shared, only the glass is another */
    bc_status status = BC_OK;
    on_glass.substrate = *substrate;
    *path = (bc_colour_path){
        .callout = callout, .substrate = substrate, .plane = plane, .count = bc_sampling_angles(callout, ANGLES_APART)};
    path->aoi_rad = calloc(path->count, sizeof *path->aoi_rad);
    path->colour = calloc(path->count, sizeof *path->colour);
    if (path->aoi_rad == NULL || path->colour == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < path->count; i++) {
        path->aoi_rad[i] = bc_sampling_at(callout->aoi_from_rad, callout->aoi_to_rad, path->count, i);
        status =
            colour_at(&on_glass, back_for(callout, back), callout, path->aoi_rad[i], plane, &path->colour[i], error);
    }
    return status;
}

/* Of one group: on each glass, or where there are too many on the one that decides. */
static bc_status add_group(const bc_stack *stack, const bc_back *back, const bc_check_result *result,
                           const bc_callout *group, bc_colour_paths *paths, bc_error *error)
{
    const bool each = group->polarization == BC_POL_EACH && group->aoi_to_rad > 0.0;
    const bc_medium *decides = worst_of(result, group, NULL)->substrate;
    size_t glasses = 0;
    bc_status status = BC_OK;
    for (size_t f = 0; f < result->count; f++)
        glasses += bc_same_colour(result->finding[f].callout, group) && is_first(result, f, true);
    for (size_t f = 0; status == BC_OK && f < result->count; f++) {
        const bc_medium *glass = result->finding[f].substrate;
        if (!bc_same_colour(result->finding[f].callout, group) || !is_first(result, f, true) ||
            (glasses > MOST_GLASSES && glass != decides))
            continue;
        status = add_path(stack, back, group, glass,
                          each                                 ? BC_POL_S
                          : group->polarization == BC_POL_EACH ? BC_POL_UNPOLARIZED /* s and p are the same */
                                                               : group->polarization,
                          paths, error);
        if (status == BC_OK && each)
            status = add_path(stack, back, group, glass, BC_POL_P, paths, error);
    }
    return status;
}

bc_status bc_colour_paths_compute(const bc_stack *stack, const bc_back *back, const bc_check_result *result,
                                  bc_colour_paths *paths, bc_error *error)
{
    bc_status status = BC_OK;
    *paths = (bc_colour_paths){.path = calloc(2 * result->count + 1, sizeof *paths->path)};
    if (paths->path == NULL)
        return bc_fail_memory(error);
    for (size_t f = 0; status == BC_OK && f < result->count; f++)
        if (is_first(result, f, false))
            status = add_group(stack, back, result, result->finding[f].callout, paths, error);
    if (status != BC_OK)
        bc_colour_paths_clear(paths);
    return status;
}

void bc_colour_paths_clear(bc_colour_paths *paths)
{
    for (size_t p = 0; paths->path != NULL && p < paths->count; p++) {
        free(paths->path[p].aoi_rad);
        free(paths->path[p].colour);
    }
    free(paths->path);
    *paths = (bc_colour_paths){0};
}
