/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROFILE_H
#define BLOOMCOAT_PROFILE_H
/*
 * A thickness profile: what a shop measured, or has on record, of how its layers grow from the vertex of a curved
 * surface to its edge. Plain data, filled in by a reader or by hand.
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

typedef struct bc_profile {
    char *path;                  /* of the file, fit to be shown; NULL: made by hand */
    char sha256[BC_SHA256_SIZE]; /* of the file it was read from; empty: made by hand */
    bool by_slope;               /* thickness against the surface's slope; false: against the distance from the axis */
    size_t rows;                 /* >= 2 */
    double *at;                  /* [rows] mm, or radians; strictly increasing from 0 */
    double *percent;             /* [rows] thickness, > 0, of any thickness: only its ratio to the first row's counts */
} bc_profile;

/* Read a profile: `thickness_percent` and one of `radius_mm` and `slope_deg`. The first row is the vertex, at 0. On
 * success *profile must be released with bc_profile_clear(). */
bc_status bc_profile_read(const char *path, bc_profile *profile, bc_error *error);
void bc_profile_clear(bc_profile *profile);

/* Thickness at `at` (mm, or radians) divided by that at the vertex, between the rows by the monotone cubic of Steffen,
 * Astron. Astrophys. 239, 443 (1990). BC_ERROR_INPUT when the profile does not reach so far. */
bc_status bc_profile_factor(const bc_profile *profile, double at, double *factor, bc_error *error);

BC_API_END

#endif
