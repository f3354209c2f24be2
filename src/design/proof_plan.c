/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "proof_plan.h"
#include <math.h>
#include <stdlib.h>

#define SAMPLES           28 /* of a band, evenly spaced in wave number, */
#define SAMPLES_PER_LAYER 4
#define MOST_SAMPLES      201
#define COARSE            8 /* of them are looked at first */
#define ANGLES_APART      (15.5 * M_PI / 180.0)
#define FACTOR_STEP       0.05 /* from zone to zone, in the logarithm of the thickness */
#define SLOPE_STEP        (8.0 * M_PI / 180.0)

static size_t band_samples(const bc_light_builder *b)
{
    const size_t samples = SAMPLES + SAMPLES_PER_LAYER * b->layers;
    return samples < MOST_SAMPLES ? samples : MOST_SAMPLES;
}

static size_t coarse_at(size_t samples, size_t i)
{
    return (i * (samples - 1) + (COARSE - 1) / 2) / (COARSE - 1);
}

/* The most optical thickness that a stack of these layers can have, for the sampling of an average. */
static bc_status thickest(const bc_light_builder *b, double wavelength_nm, double *optical_nm, bc_error *error)
{
    *optical_nm = 0.0;
    for (size_t m = 0; m < b->problem->materials; m++) {
        double n;
        const bc_status status =
            bc_dispersion_index(b->problem->material[m].dispersion, 1, &wavelength_nm, &n, NULL, error);
        if (status != BC_OK)
            return status;
        *optical_nm = fmax(*optical_nm, n * b->total_nm);
    }
    return BC_OK;
}

static bc_status add_plan(bc_light_builder *b, bc_light_plan plan, bc_error *error)
{
    const bc_callout *callout = plan.callout;
    const bool line = callout->to_nm <= callout->from_nm;
    double optical_nm;
    bc_status status;
    if (plan.band == BC_LIGHT_SPOT || line)
        plan.wavelengths = 1;
    else if (plan.band == BC_LIGHT_COARSE)
        plan.wavelengths = COARSE;
    else if (plan.band == BC_LIGHT_FINE)
        plan.wavelengths = band_samples(b) - COARSE;
    else {
        status = thickest(b, callout->from_nm, &optical_nm, error);
        if (status != BC_OK)
            return status;
        plan.wavelengths = bc_sampling_wavelengths(callout, optical_nm * plan.thickness_factor);
    }
    if (b->count == b->capacity) {
        const size_t capacity = 2 * b->capacity + 16;
        bc_light_plan *more = realloc(b->plan, capacity * sizeof *more);
        if (more == NULL)
            return bc_fail_memory(error);
        b->plan = more;
        b->capacity = capacity;
    }
    plan.padded = (plan.wavelengths + BC_LIGHT_LANES - 1) / BC_LIGHT_LANES * BC_LIGHT_LANES;
    plan.need[0] = plan.aoi_rad <= 0.0 || callout->polarization != BC_POL_P;
    plan.need[1] = plan.aoi_rad > 0.0 && callout->polarization != BC_POL_S;
    plan.planes = (size_t)plan.need[0] + (size_t)plan.need[1];
    b->plan[b->count++] = plan;
    return BC_OK;
}

static bc_status add_angle(bc_light_builder *b, const bc_callout *callout, size_t glass, const bc_zone *zone,
                           double aoi_rad, bc_light_band band, bc_error *error)
{
    return add_plan(b,
                    (bc_light_plan){.callout = callout,
                                    .glass = glass,
                                    .thickness_factor = zone == NULL ? 1.0 : zone->thickness_factor,
                                    .aoi_rad = aoi_rad,
                                    .band = band},
                    error);
}

/* The same callout at every angle looked at, the outer ones first. */
static bc_status add_callout(bc_light_builder *b, const bc_callout *callout, size_t glass, const bc_zone *zone,
                             bc_light_band band, bc_error *error)
{
    bc_callout local = *callout;
    bc_status status = zone == NULL ? BC_OK : bc_zone_callout(zone, callout, &local, error);
    const size_t angles = status == BC_OK ? bc_sampling_angles(&local, ANGLES_APART) : 0;
    for (size_t a = 0; status == BC_OK && a < angles; a++)
        status = add_angle(b, callout, glass, zone,
                           bc_sampling_at(local.aoi_from_rad, local.aoi_to_rad, angles, angles - 1 - a), band, error);
    return status;
}

/* Some of the problem's zones, the first and the last among them; on a plane surface one, NULL. */
static size_t count_zones(const bc_design_problem *problem)
{
    double factors = 0.0, slopes = 0.0, steps;
    for (size_t z = 1; z < problem->zones; z++) {
        const bc_zone *zone = &problem->zone[z];
        factors += fabs(log(zone->thickness_factor / zone[-1].thickness_factor));
        slopes += zone->axial ? fabs(zone->slope_rad - zone[-1].slope_rad) : 0.0;
    }
    steps = ceil(fmax(factors / FACTOR_STEP, slopes / SLOPE_STEP));
    return problem->zones == 0 ? 1 : steps + 1.0 < (double)problem->zones ? (size_t)steps + 1 : problem->zones;
}

static const bc_zone *choose_zone(const bc_design_problem *problem, size_t zones, size_t which)
{
    if (problem->zones == 0)
        return NULL;
    return &problem->zone[zones == 1 ? 0 : (which * (problem->zones - 1) + (zones - 1) / 2) / (zones - 1)];
}

/* What excludes most at the least price comes first: few wavelengths of every row, then the others, then averages. */
static bc_status add_all(bc_light_builder *b, bc_error *error)
{
    const bc_design_problem *problem = b->problem;
    const size_t zones = count_zones(problem);
    for (bc_light_band band = BC_LIGHT_COARSE; band <= BC_LIGHT_AVERAGE; band++)
        for (size_t g = 0; g < problem->substrates; g++)
            for (size_t c = 0; c < problem->callouts->count; c++)
                for (size_t z = 0; z < zones; z++) {
                    const bc_callout *callout = &problem->callouts->callout[c];
                    bc_status status;
                    if (!bc_callout_applies(callout, problem->substrate[g].name) ||
                        (callout->statistic == BC_AVERAGE) != (band == BC_LIGHT_AVERAGE) ||
                        (band == BC_LIGHT_FINE && callout->to_nm <= callout->from_nm))
                        continue;
                    status = add_callout(b, callout, g, choose_zone(problem, zones, z), band, error);
                    if (status != BC_OK)
                        return status;
                }
    return BC_OK;
}

static bc_status add_spots(bc_light_builder *b, size_t extra_samples, const bc_light_spot *extra_sample,
                           bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < extra_samples; i++) {
        const bool average = extra_sample[i].callout->statistic == BC_AVERAGE;
        bc_light_plan plan = {.callout = extra_sample[i].callout,
                              .glass = extra_sample[i].glass,
                              .thickness_factor =
                                  extra_sample[i].zone == NULL ? 1.0 : extra_sample[i].zone->thickness_factor,
                              .aoi_rad = extra_sample[i].aoi_rad,
                              .at_nm = extra_sample[i].at_nm,
                              .band = average ? BC_LIGHT_AVERAGE : BC_LIGHT_SPOT};
        status = add_plan(b, plan, error);
    }
    return status;
}

void bc_light_wavelengths(const bc_light_builder *b, const bc_light_plan *plan, double *nm)
{
    const bc_callout *callout = plan->callout;
    const size_t all = band_samples(b);
    size_t coarse = 0, done = 0;
    if (plan->band == BC_LIGHT_SPOT)
        nm[done++] = plan->at_nm;
    if (plan->band == BC_LIGHT_AVERAGE) {
        bc_sampling_set(callout, plan->wavelengths, nm, NULL);
        done = plan->wavelengths;
    }
    for (size_t i = 0; plan->band < BC_LIGHT_AVERAGE && i < all && done < plan->wavelengths; i++) {
        const bool is_coarse = coarse < COARSE && coarse_at(all, coarse) == i;
        coarse += is_coarse;
        if (is_coarse != (plan->band == BC_LIGHT_COARSE))
            continue;
        nm[done++] = i == 0         ? callout->from_nm
                     : i == all - 1 ? callout->to_nm
                                    : 1.0 / bc_sampling_at(1.0 / callout->from_nm, 1.0 / callout->to_nm, all, i);
    }
    for (; done < plan->padded; done++)
        nm[done] = nm[plan->wavelengths - 1];
}

bc_status bc_light_list_plans(bc_light_builder *b, size_t extra_samples, const bc_light_spot *extra_sample,
                              bc_error *error)
{
    const bc_status status = add_all(b, error);
    return status == BC_OK ? add_spots(b, extra_samples, extra_sample, error) : status;
}
