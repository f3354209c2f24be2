/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LENS_H
#define BLOOMCOAT_LENS_H
/*
 * A coating on a curved surface, from its centre to its edge: where each callout holds, how far all of them do, and the
 * one factor of all thicknesses that balances centre and edge.
 */
#include <bloomcoat/curved.h>
#include <bloomcoat/design.h>

BC_API_BEGIN

#define BC_LENS_ZONES 41 /* unless asked otherwise */

/* One coating over all zones. A finding is one callout on one glass, in the order of `check`. */
typedef struct bc_lens_curve {
    bc_check_result check;       /* of every finding, its worst zone */
    double *limit_used;          /* [check.count * zones], as the next ones: a row per finding */
    double *value;               /* fraction: the worst in the band, or the band mean, as bc_check() finds it */
    double *at_nm, *at_aoi_rad;  /* where the zone is at its worst; the angle against the surface's normal */
    double *area_mean;           /* [check.count] fraction: `value` averaged over the projected aperture, weight 2
                                    pi r dr, straight between the zones */
    double *finding_aperture_mm; /* [check.count] diameter out to which it holds; 0: not at the vertex */
    double aperture_mm;          /* out to which all do */
    size_t ends;                 /* the finding that ends it there */
} bc_lens_curve;

typedef struct bc_lens_result {
    size_t zones; /* may be more than asked for: between two that differ much others are put */
    bc_zone *zone;
    bc_lens_curve designed; /* the stack as it is, at the vertex */
    /* All thicknesses times `factor`: the largest limit_used over all zones is then smallest. 1: no factor betters it,
     * and `scaled` is empty. */
    double factor;
    bc_lens_curve scaled;
    /* Where neither holds over the whole aperture: with this factor all callouts hold out to the largest diameter. 1:
     * no factor reaches farther than those two, and `reaching` is empty. */
    double reach_factor;
    bc_lens_curve reaching;
} bc_lens_result;

/* Judge `stack` over `curved` at `zones` >= 2 zones by equal steps of slope, on each of `substrates` glasses (0: its
 * own). A diameter is found to 0.002 mm, and lies on the side that holds; the first place that fails ends it, so a
 * callout may hold again farther out. Factors are looked for between the one that brings the thickest zone a tenth
 * below the design and the one that brings the thinnest a tenth above it, and are rounded to 0.0001.
 *
 * BC_ERROR_INPUT as bc_curved_validate(), bc_zone_callout() and bc_check(). */
bc_status bc_lens(const bc_stack *stack, const bc_callouts *callouts, size_t substrates, const bc_medium *substrate,
                  const bc_curved *curved, size_t zones, bc_lens_result *result, bc_error *error);
void bc_lens_result_clear(bc_lens_result *result);

BC_API_END

#endif
