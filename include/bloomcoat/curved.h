/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CURVED_H
#define BLOOMCOAT_CURVED_H
/*
 * A curved surface in the chamber: how thick its layers grow, and how it slopes, from the vertex to the edge.
 *
 * On a sphere of radius R the surface r from its axis slopes by s = arcsin(r / R) and lies R (1 - cos s) behind the
 * vertex (convex) or in front of it (concave). Layer thickness, always relative to the vertex, is one of:
 *
 * - BC_DISTRIBUTION_SLOPE: cos(s)^exponent. Exponent 1 is a part that faces a source whose distance is large against
 * the part, or that turns while it faces it on the whole (a flat rotating fixture): vapour from one direction spreads
 *   over 1 / cos(s) of the area. An exponent of its own stands for a shop that knows its fixture.
 * - BC_DISTRIBUTION_SOURCE: a source on the axis at the distance h in front of the vertex, the part at rest: t ~ cos(a)
 * / d^2 for a point source and t ~ cos(a) cos(e) / d^2 for a small-area source that faces the vertex, with d from
 * source to zone, a the angle of the vapour to the surface's normal and e to the source's (Holland and Steckelmacher,
 * Vacuum 2, 346 (1952)). The edge of a concave surface is nearer to the source than its vertex, that of a convex one
 * farther.
 * - BC_DISTRIBUTION_PROFILE: what the shop measured.
 *
 * The layer's index is taken to be the same everywhere: vapour that arrives aslant grows less dense layers, which is
 * not in the model.
 */
#include <bloomcoat/profile.h>
#include <bloomcoat/zones.h>

BC_API_BEGIN

typedef enum bc_thickness_distribution {
    BC_DISTRIBUTION_SLOPE,
    BC_DISTRIBUTION_SOURCE,
    BC_DISTRIBUTION_PROFILE
} bc_thickness_distribution;

typedef struct bc_curved {
    double radius_mm; /* > 0 */
    bool concave;
    double clear_aperture_mm; /* diameter, above 0 and below 2 radius_mm */
    bc_thickness_distribution distribution;
    double slope_exponent;     /* of BC_DISTRIBUTION_SLOPE, >= 0 */
    double source_distance_mm; /* of BC_DISTRIBUTION_SOURCE */
    bool point_source;
    const bc_profile *profile; /* of BC_DISTRIBUTION_PROFILE */
    bool axial;                /* light: see bc_zone */
    bool one_angle;            /* for reports: the callouts' own angles were replaced by this one against the axis */
    double axial_angle_rad;
} bc_curved;

#define BC_CURVED_STEEP_DEG 60.0 /* beyond this slope the report warns: no model of thickness is safe there */

/* BC_ERROR_INPUT when there is no such surface, when its edge lies behind the source or in its shadow, or when the
 * profile does not reach it. */
bc_status bc_curved_validate(const bc_curved *curved, bc_error *error);

double bc_curved_slope_rad(const bc_curved *curved, double at_mm);
double bc_curved_sag_mm(const bc_curved *curved, double at_mm); /* depth of the cap out to there, >= 0 */

/* The zone at a distance from the axis, up to half the clear aperture, of a surface that validates. */
bc_status bc_curved_zone(const bc_curved *curved, double at_mm, bc_zone *zone, bc_error *error);

/* `count` >= 2 zones from the vertex to the edge by equal steps of slope. */
bc_status bc_curved_zones(const bc_curved *curved, size_t count, bc_zone *zone, bc_error *error);

BC_API_END

#endif
