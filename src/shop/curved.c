/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/curved.h>
#include <bloomcoat/sampling.h>
#include <math.h>

double bc_curved_slope_rad(const bc_curved *curved, double at_mm)
{
    return asin(fmin(at_mm / curved->radius_mm, 1.0));
}

/* R (1 - cos s) without its cancellation where the cap is flat. */
double bc_curved_sag_mm(const bc_curved *curved, double at_mm)
{
    const double sine = sin(0.5 * bc_curved_slope_rad(curved, at_mm));
    return 2.0 * curved->radius_mm * sine * sine;
}

/* Cosines of the vapour's angle to the surface and to the source's normal, and the square of its way. */
typedef struct flight {
    double at_surface, at_source, square_mm2;
} flight;

static flight fly(const bc_curved *curved, double at_mm)
{
    const double slope = bc_curved_slope_rad(curved, at_mm), sag = bc_curved_sag_mm(curved, at_mm);
    const double towards_axis = curved->concave ? 1.0 : -1.0; /* which way the normal leans */
    const double height = curved->source_distance_mm - towards_axis * sag;
    const double square = at_mm * at_mm + height * height;
    return (flight){.at_surface = (towards_axis * at_mm * sin(slope) + height * cos(slope)) / sqrt(square),
                    .at_source = height / sqrt(square),
                    .square_mm2 = square};
}

static double source_factor(const bc_curved *curved, double at_mm)
{
    const double h = curved->source_distance_mm;
    const flight there = fly(curved, at_mm);
    return there.at_surface * (curved->point_source ? 1.0 : there.at_source) * h * h / there.square_mm2;
}

static bc_status validate_sphere(const bc_curved *curved, bc_error *error)
{
    const double diameter = 2.0 * curved->radius_mm;
    if (!(curved->radius_mm > 0.0 && isfinite(curved->radius_mm)))
        return bc_fail(error, BC_ERROR_INPUT, "radius of curvature: found %g mm; expected more than 0",
                       curved->radius_mm);
    if (!(curved->clear_aperture_mm > 0.0 && isfinite(curved->clear_aperture_mm)))
        return bc_fail(error, BC_ERROR_INPUT, "clear aperture: found %g mm; expected more than 0",
                       curved->clear_aperture_mm);
    if (curved->clear_aperture_mm > diameter)
        return bc_fail(error, BC_ERROR_INPUT,
                       "clear aperture: found %.6g mm; expected less than the %.6g mm of a whole sphere of radius "
                       "%.6g mm",
                       curved->clear_aperture_mm, diameter, curved->radius_mm);
    if (curved->clear_aperture_mm == diameter)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "clear aperture: found %.6g mm, a hemisphere, whose edge slopes by 90 degrees and takes no layer "
            "from the front; expected less",
            diameter);
    return BC_OK;
}

static bc_status validate_source(const bc_curved *curved, bc_error *error)
{
    const double edge_mm = 0.5 * curved->clear_aperture_mm, sag = bc_curved_sag_mm(curved, edge_mm);
    if (!(curved->source_distance_mm > 0.0 && isfinite(curved->source_distance_mm)))
        return bc_fail(error, BC_ERROR_INPUT, "source distance: found %g mm; expected more than 0",
                       curved->source_distance_mm);
    if (curved->concave && curved->source_distance_mm <= sag)
        return bc_fail(error, BC_ERROR_INPUT,
                       "source distance: found %.6g mm from the vertex; expected the source in front of the edge, "
                       "which is %.6g mm nearer than the vertex",
                       curved->source_distance_mm, sag);
    if (fly(curved, edge_mm).at_surface <= 0.0)
        return bc_fail(error, BC_ERROR_INPUT,
                       "source distance: found %.6g mm, from where the edge lies in the shadow of the surface; "
                       "expected more than %.6g mm, or a smaller aperture",
                       curved->source_distance_mm, sag / cos(bc_curved_slope_rad(curved, edge_mm)));
    return BC_OK;
}

bc_status bc_curved_validate(const bc_curved *curved, bc_error *error)
{
    const double edge_mm = 0.5 * curved->clear_aperture_mm;
    bc_zone edge;
    bc_status status = validate_sphere(curved, error);
    if (status == BC_OK && curved->distribution == BC_DISTRIBUTION_SOURCE)
        status = validate_source(curved, error);
    if (status == BC_OK && curved->distribution == BC_DISTRIBUTION_SLOPE &&
        !(curved->slope_exponent >= 0.0 && isfinite(curved->slope_exponent)))
        status = bc_fail(error, BC_ERROR_INPUT, "slope exponent: found %g; expected 0 or more", curved->slope_exponent);
    return status == BC_OK ? bc_curved_zone(curved, edge_mm, &edge, error) : status;
}

bc_status bc_curved_zone(const bc_curved *curved, double at_mm, bc_zone *zone, bc_error *error)
{
    bc_status status = BC_OK;
    *zone = (bc_zone){.radius_mm = at_mm,
                      .slope_rad = bc_curved_slope_rad(curved, at_mm),
                      .thickness_factor = 1.0,
                      .axial = curved->axial};
    if (curved->distribution == BC_DISTRIBUTION_PROFILE)
        status = bc_profile_factor(curved->profile, curved->profile->by_slope ? zone->slope_rad : at_mm,
                                   &zone->thickness_factor, error);
    else if (curved->distribution == BC_DISTRIBUTION_SOURCE)
        zone->thickness_factor = source_factor(curved, at_mm);
    else
        zone->thickness_factor = pow(cos(zone->slope_rad), curved->slope_exponent);
    return status;
}

bc_status bc_curved_zones(const bc_curved *curved, size_t count, bc_zone *zone, bc_error *error)
{
    const double edge_mm = 0.5 * curved->clear_aperture_mm, edge_rad = bc_curved_slope_rad(curved, edge_mm);
    bc_status status = BC_OK;
    for (size_t z = 0; status == BC_OK && z < count; z++) {
        const double slope = bc_sampling_at(0.0, edge_rad, count, z);
        status = bc_curved_zone(curved, z + 1 == count ? edge_mm : curved->radius_mm * sin(slope), &zone[z], error);
    }
    return status;
}
