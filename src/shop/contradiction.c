/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "contradiction.h"
#include <math.h>
#include <string.h>

#define CLEARLY 1e-9

static bool same_light(const bc_callout *a, const bc_callout *b)
{
    const bool same_glass =
        a->substrate[0] == '\0' || b->substrate[0] == '\0' || strcmp(a->substrate, b->substrate) == 0;
    return same_glass && a->scope == b->scope && a->polarization == b->polarization && a->cone_rad == b->cone_rad &&
           a->cone_weight == b->cone_weight && a->aoi_from_rad <= b->aoi_to_rad && b->aoi_from_rad <= a->aoi_to_rad;
}

static bool within(const bc_callout *inner, const bc_callout *outer)
{
    return inner->from_nm >= outer->from_nm && inner->to_nm <= outer->to_nm;
}

/* Whether `least` (at least) and `most` (at most) meet somewhere: a mean that is at least so high has a wavelength that
 * is, one that is at most so high has one that is no higher. */
static bool bands_meet(const bc_callout *least, const bc_callout *most)
{
    if (least->statistic == BC_EXTREME && most->statistic == BC_EXTREME)
        return least->from_nm <= most->to_nm && most->from_nm <= least->to_nm;
    if (most->statistic == BC_EXTREME)
        return within(least, most);
    if (least->statistic == BC_EXTREME)
        return within(most, least);
    return within(least, most) && within(most, least) && least->weight == most->weight;
}

/* Energy: with R at least a, T and A are at most 1 - a each. */
static bool contradict(const bc_callout *least, const bc_callout *other)
{
    if (least->sense != BC_AT_LEAST || other->colour != BC_NO_COLOUR || !same_light(least, other))
        return false;
    if (other->sense == BC_AT_MOST)
        return other->quantity == least->quantity && least->limit > other->limit + CLEARLY && bands_meet(least, other);
    return other->quantity != least->quantity && least->polarization != BC_POL_RATIO &&
           least->limit + other->limit > 1.0 + CLEARLY && bands_meet(least, other);
}

bool bc_callouts_contradict(const bc_callouts *callouts, size_t *one, size_t *other)
{
    for (size_t a = 0; a < callouts->count; a++)
        for (size_t b = 0; b < callouts->count; b++)
            if (a != b && contradict(&callouts->callout[a], &callouts->callout[b])) {
                *one = a < b ? a : b;
                *other = a < b ? b : a;
                return true;
            }
    return false;
}
