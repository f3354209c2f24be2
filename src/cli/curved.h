/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_CURVED_H
#define BLOOMCOAT_CLI_CURVED_H
/*
 * The options of a curved surface.
 */
#include "session.h"

/* Read the surface and its zones into the session, after the callouts; session->zones stays 0 without --radius-mm. With
 * --axial-angle the callouts' angles are replaced. */
bc_status cli_read_curved(cli_session *session, bc_error *error);

/* The surface, or NULL where none was given. */
const bc_curved *cli_curved(const cli_session *session);

#define CLI_OPTIONS_CURVED                                                                                             \
    {"radius-mm", "R", false,                                                                                          \
     "radius of curvature: the callouts must hold over a curved surface, and thicknesses are those at its vertex "     \
     "(negative: concave)"},                                                                                           \
        {"shape", "convex|concave", false, "(default: convex, or concave where the radius is negative)"},              \
        {"clear-aperture-mm", "D", false, "diameter out to which they must hold; below 2 R"},                          \
        {"source-distance-mm", "H", false,                                                                             \
         "the part at rest, a source on the axis so far from the vertex (default: thickness falls as cos(slope))"},    \
        {"source", "small-area|point", false, "of --source-distance-mm (default small-area)"},                         \
        {"slope-exponent", "E", false,                                                                                 \
         "thickness falls as cos(slope)^E (default 1: far source, or rotating fixture)"},                              \
        {"thickness-profile", "FILE", false,                                                                           \
         "thickness as measured (CSV: radius_mm or slope_deg, and thickness_percent)"},                                \
        {"angle-reference", "normal|axis", false,                                                                      \
         "the callouts' angles are measured from the normal of the surface, at every zone, or from the axis "          \
         "(default normal)"},                                                                                          \
        {"axial-angle", "DEG", false,                                                                                  \
         "with --angle-reference axis: light at this angle to the axis, whatever the callouts say"},                   \
    {                                                                                                                  \
        "zones", "N", false, "zones from the vertex to the edge that are judged, 5 to 1001 (default 41)"               \
    }

#endif
