/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/zones.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GRAZING         (M_PI_2 - 1e-9) /* as good as 90 degrees */
#define TO_DEGREES(rad) ((rad) * (180.0 / M_PI))

bc_status bc_zone_callout(const bc_zone *zone, const bc_callout *callout, bc_callout *local, bc_error *error)
{
    const double slope = zone->slope_rad, from = callout->aoi_from_rad, to = callout->aoi_to_rad;
    *local = *callout;
    if (callout->scope == BC_SCOPE_PART)
        return bc_fail(error, BC_ERROR_INPUT,
                       "callout '%s' has scope part, which counts both faces of a plane-parallel part; the faces of a "
                       "lens are not parallel: a curved surface is judged alone, with scope surface",
                       callout->name);
    if (!zone->axial)
        return BC_OK;
    local->aoi_from_rad = slope < from ? from - slope : fmax(slope - to, 0.0);
    local->aoi_to_rad = slope + to;
    if (local->aoi_to_rad + callout->cone_rad < GRAZING)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "callout '%s': light at %.4g degrees to the axis meets the surface %.6g mm from the axis, where it "
                   "slopes by %.4g degrees, at %.4g degrees; expected less than 90: a smaller aperture, or a smaller "
                   "angle",
                   callout->name, TO_DEGREES(to), zone->radius_mm, TO_DEGREES(slope), TO_DEGREES(local->aoi_to_rad));
}

/* The layers as they are at the zone; the media are shared. */
static bc_status scale(const bc_stack *stack, const bc_zone *zone, bc_stack *scaled, bc_error *error)
{
    const bc_status status = bc_stack_copy(stack, scaled, error);
    for (size_t j = 0; status == BC_OK && j < scaled->layers; j++)
        scaled->layer[j].thickness_nm *= zone->thickness_factor;
    return status;
}

static bc_status read_callouts(const bc_zone *zone, const bc_callouts *callouts, bc_callouts *local, bc_error *error)
{
    bc_status status = BC_OK;
    local->count = callouts->count;
    local->callout = calloc(callouts->count + 1, sizeof *local->callout);
    if (local->callout == NULL)
        return bc_fail_memory(error);
    for (size_t c = 0; status == BC_OK && c < callouts->count; c++)
        status = bc_zone_callout(zone, &callouts->callout[c], &local->callout[c], error);
    return status;
}

bc_status bc_check_zone(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                        const bc_medium *substrate, const bc_zone *zone, bc_check_result *result, bc_error *error)
{
    bc_stack scaled = {0};
    bc_callouts local = {0};
    bc_status status = scale(stack, zone, &scaled, error);
    memset(result, 0, sizeof *result);
    if (status == BC_OK)
        status = read_callouts(zone, callouts, &local, error);
    if (status == BC_OK)
        status = bc_check(&scaled, &local, substrates == 0 ? 1 : substrates,
                          substrates == 0 ? &stack->substrate : substrate, NULL, result, error);
    for (size_t f = 0; status == BC_OK && f < result->count; f++) {
        bc_finding *finding = &result->finding[f];
        finding->callout = &callouts->callout[finding->callout - local.callout];
        finding->zone = zone;
    }
    free(local.callout);
    bc_stack_clear(&scaled);
    return status;
}

bc_status bc_check_zones(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                         const bc_medium *substrate, const bc_back *back, size_t zones, const bc_zone *zone,
                         bc_check_result *result, bc_error *error)
{
    bc_status status;
    if (zones == 0)
        return bc_check(stack, callouts, substrates, substrate, back, result, error);
    status = bc_check_zone(stack, callouts, substrates, substrate, &zone[0], result, error);
    for (size_t z = 1; status == BC_OK && z < zones; z++) {
        bc_check_result here;
        status = bc_check_zone(stack, callouts, substrates, substrate, &zone[z], &here, error);
        for (size_t f = 0; status == BC_OK && f < here.count; f++)
            if (here.finding[f].limit_used > result->finding[f].limit_used)
                result->finding[f] = here.finding[f];
        if (status == BC_OK)
            bc_check_result_clear(&here);
    }
    if (status == BC_OK)
        bc_check_result_conclude(result);
    else
        bc_check_result_clear(result);
    return status;
}
