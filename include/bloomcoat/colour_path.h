/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_COLOUR_PATH_H
#define BLOOMCOAT_COLOUR_PATH_H
/*
 * The colour of the light that a callout on a colour, or on a luminous value, is about.
 */
#include <bloomcoat/check.h>
#include <bloomcoat/colour.h>

BC_API_BEGIN

/* Whether a callout is about light that is seen: R or T, luminous or by its colour. */
bool bc_callout_is_seen(const bc_callout *callout);

/* The illuminant and the observer of such a callout; of a luminous value D65 and the 2 degree observer, as it is
 * defined. */
void bc_callout_view(const bc_callout *callout, bc_illuminant *illuminant, bc_observer *observer);

/* Whether two such callouts see the same: bc_same_light(), under the same illuminant by the same observer. */
bool bc_same_colour(const bc_callout *one, const bc_callout *other);

/* The colour where the finding is worst (its angle, plane, glass and zone; over the callout's cone), of the callout's
 * quantity. `back` as for bc_check(), which made the finding of the same stack; its errors. */
bc_status bc_finding_colour(const bc_stack *stack, const bc_back *back, const bc_finding *finding, bc_colour *colour,
                            bc_error *error);

/* From the first to the last of a callout's angles, on one glass; on a curved surface at its vertex. */
typedef struct bc_colour_path {
    const bc_callout *callout; /* the first of those that see the same */
    const bc_medium *substrate;
    bc_polarization plane;
    size_t count;
    double *aoi_rad;   /* [count] at most 5 degrees apart */
    bc_colour *colour; /* [count] */
} bc_colour_path;

typedef struct bc_colour_paths {
    size_t count;
    bc_colour_path *path; /* in the order of the callouts, then of the glasses, s before p */
} bc_colour_paths;

/* Of every group of callouts that see the same. With more than three substrates, of the one alone where the
 * group uses most of a limit. No path (and BC_OK) where no callout is seen. */
bc_status bc_colour_paths_compute(const bc_stack *stack, const bc_back *back, const bc_check_result *result,
                                  bc_colour_paths *paths, bc_error *error);
void bc_colour_paths_clear(bc_colour_paths *paths);

BC_API_END

#endif
