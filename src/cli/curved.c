/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "curved.h"
#include <math.h>
#include <stdlib.h>

#define DEGREE   (M_PI / 180.0)
#define MOST_MM  1e5
#define LEAST_MM 1e-3

/* Options that say something of a curved surface only. */
static bc_status need_radius(const cli_arguments *arguments, bc_error *error)
{
    static const char *const others[] = {
        "shape", "clear-aperture-mm", "source-distance-mm", "source",     "slope-exponent",
        "zones", "thickness-profile", "angle-reference",    "axial-angle"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (cli_has(arguments, others[i]))
            return bc_fail(error, BC_ERROR_INPUT,
                           "found --%s without --radius-mm; expected the radius of the curved surface, too", others[i]);
    return BC_OK;
}

static bc_status read_radius(const cli_arguments *arguments, bc_curved *curved, bc_error *error)
{
    static const char *const expected = "a radius in mm from 0.001 to 100000 (or its negative: concave)";
    static const char *const shapes[] = {"convex", "concave"};
    const char *text = cli_value(arguments, "radius-mm");
    size_t shape;
    bc_status status = cli_parse_number("radius-mm", text, -MOST_MM, MOST_MM, expected, &curved->radius_mm, error);
    if (status == BC_OK && fabs(curved->radius_mm) < LEAST_MM)
        return cli_fail_value(error, "radius-mm", text, "", expected);
    if (status != BC_OK)
        return status;
    shape = curved->radius_mm < 0.0;
    status = cli_choice(arguments, "shape", 2, shapes, &shape, error);
    if (status == BC_OK && shape == 0 && curved->radius_mm < 0.0)
        return cli_fail_value(error, "shape", "convex", " with a negative --radius-mm",
                              "concave, or a positive radius");
    curved->concave = shape == 1;
    curved->radius_mm = fabs(curved->radius_mm);
    return status;
}

/* At most one way to say how layers grow. */
static bc_status read_growth(cli_session *session, bc_curved *curved, bc_error *error)
{
    static const char *const ways[] = {"slope-exponent", "source-distance-mm", "thickness-profile"};
    static const char *const sources[] = {"small-area", "point"};
    const cli_arguments *arguments = session->arguments;
    const char *first = NULL;
    size_t source = 0;
    bc_status status = BC_OK;
    for (size_t i = 0; i < 3; i++) {
        if (!cli_has(arguments, ways[i]))
            continue;
        if (first != NULL)
            return bc_fail(error, BC_ERROR_INPUT,
                           "found --%s and --%s; expected one way to say how thickness falls off", first, ways[i]);
        first = ways[i];
        curved->distribution = (bc_thickness_distribution)i;
    }
    if (cli_has(arguments, "source") && curved->distribution != BC_DISTRIBUTION_SOURCE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "found --source without --source-distance-mm; expected the distance of the source, too");
    if (curved->distribution == BC_DISTRIBUTION_PROFILE)
        status = cli_read_profile(session, error);
    curved->profile = &session->profile;
    curved->slope_exponent = 1.0;
    if (status == BC_OK)
        status = cli_number(arguments, "slope-exponent", 0.0, 20.0, "an exponent from 0 to 20", &curved->slope_exponent,
                            error);
    if (status == BC_OK)
        status = cli_number(arguments, "source-distance-mm", LEAST_MM, MOST_MM, "a distance in mm from 0.001 to 100000",
                            &curved->source_distance_mm, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "source", 2, sources, &source, error);
    curved->point_source = source == 1;
    return status;
}

static bc_status read_angle_reference(cli_session *session, bc_curved *curved, bc_error *error)
{
    static const char *const references[] = {"normal", "axis"};
    double angle_deg = 0.0;
    size_t reference = 0;
    bc_status status = cli_choice(session->arguments, "angle-reference", 2, references, &reference, error);
    if (status == BC_OK)
        status = cli_number(session->arguments, "axial-angle", 0.0, 89.999, "an angle in degrees from 0 to below 90",
                            &angle_deg, error);
    curved->axial = reference == 1;
    if (status != BC_OK || !cli_has(session->arguments, "axial-angle"))
        return status;
    if (!curved->axial)
        return bc_fail(error, BC_ERROR_INPUT, "found --axial-angle without --angle-reference axis; expected both");
    for (size_t c = 0; c < session->callouts.count; c++)
        session->callouts.callout[c].aoi_from_rad = session->callouts.callout[c].aoi_to_rad = angle_deg * DEGREE;
    curved->one_angle = true;
    curved->axial_angle_rad = angle_deg * DEGREE;
    return BC_OK;
}

const bc_curved *cli_curved(const cli_session *session)
{
    return session->zones > 0 ? &session->curved : NULL;
}

bc_status cli_read_curved(cli_session *session, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_curved *curved = &session->curved;
    unsigned long zones = BC_LENS_ZONES;
    const char *aperture;
    bc_status status;
    if (!cli_has(arguments, "radius-mm"))
        return need_radius(arguments, error);
    status = cli_required(arguments, "clear-aperture-mm", &aperture, error);
    if (status == BC_OK)
        status = read_radius(arguments, curved, error);
    if (status == BC_OK)
        status = cli_number(arguments, "clear-aperture-mm", LEAST_MM, 2.0 * MOST_MM, "a diameter in mm above 0",
                            &curved->clear_aperture_mm, error);
    if (status == BC_OK)
        status = read_growth(session, curved, error);
    if (status == BC_OK)
        status = read_angle_reference(session, curved, error);
    if (status == BC_OK)
        status = cli_count(arguments, "zones", 5, 1001, &zones, error);
    if (status == BC_OK)
        status = bc_curved_validate(curved, error);
    session->zone = status == BC_OK ? calloc(zones, sizeof *session->zone) : NULL;
    if (status == BC_OK && session->zone == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = bc_curved_zones(curved, zones, session->zone, error);
    session->zones = status == BC_OK ? zones : 0;
    return status;
}
