/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_ZONES_H
#define BLOOMCOAT_ZONES_H
/*
 * The verdict over a curved surface, zone by zone from its centre to its edge.
 *
 * At each zone all layers are thicker or thinner by one factor, and light meets the surface at the zone's own angle. A
 * zone is judged as a plane surface with those layers in that light: right where the radius of curvature is many
 * wavelengths.
 */
#include <bloomcoat/check.h>

BC_API_BEGIN

typedef struct bc_zone {
    double radius_mm;        /* distance from the axis */
    double slope_rad;        /* angle between the surface's normal and the axis, in [0, pi/2) */
    double thickness_factor; /* of every layer, > 0; 1 at the vertex */
    /* false: a callout's angles are those at which light meets the surface, at every zone alike. true: they are
     * measured against the axis. Light at an angle a to the axis, from whichever side, meets a slope s at angles from
     * |s - a| to s + a. */
    bool axial;
} bc_zone;

/* `callout` as it reads at `zone`: angles against the surface's own normal. BC_ERROR_INPUT when one reaches 90 degrees,
 * and for scope `part`: the faces of a lens are not parallel. */
bc_status bc_zone_callout(const bc_zone *zone, const bc_callout *callout, bc_callout *local, bc_error *error);

/* bc_check() at one zone. `substrate` NULL: on the stack's own glass. The findings' callouts are the caller's, their
 * angles those against the surface's normal; their `zone` is `zone`. */
bc_status bc_check_zone(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                        const bc_medium *substrate, const bc_zone *zone, bc_check_result *result, bc_error *error);

/* bc_check_zone() at each zone; every finding is that of its worst zone. zones 0: bc_check() itself, with `back`. The
 * result points to `zone`. */
bc_status bc_check_zones(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                         const bc_medium *substrate, const bc_back *back, size_t zones, const bc_zone *zone,
                         bc_check_result *result, bc_error *error);

BC_API_END

#endif
