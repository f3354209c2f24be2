/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "relax.h"
#include <math.h>

#define MOST_LIMIT    6.0  /* times as large */
#define MOST_OF_BAND  0.75 /* of its width may go; and of an aperture's zones */
#define ROUGH_BAND_NM 20.0 /* a wider one moves in whole nm */
#define ROOM          1e-9 /* so that rounding up leaves alone what is round */

bool bc_relax_applies(const bc_callout *asked, bc_exception_kind kind)
{
    switch (kind) {
    case BC_EXCEPT_LIMIT:
        return true;
    case BC_EXCEPT_FROM:
    case BC_EXCEPT_TO:
    case BC_EXCEPT_BOTH:
        return asked->to_nm > asked->from_nm;
    case BC_EXCEPT_ANGLE:
        return asked->aoi_to_rad > 0.0;
    default:
        return false;
    }
}

/* The next value of three digits. */
static double round_up(double value)
{
    const double unit = pow(10.0, floor(log10(value)) - 2.0);
    return ceil(value / unit - ROOM) * unit;
}

static void relax_limit(bc_callout *callout, double fraction)
{
    const bool at_most = callout->sense == BC_AT_MOST;
    const double percent = 100.0 * (at_most ? callout->limit : 1.0 - callout->limit);
    const double easier = fmin(round_up(percent * pow(MOST_LIMIT, fraction)), 100.0);
    callout->limit = at_most ? easier / 100.0 : fmax(0.0, 1.0 - easier / 100.0);
}

static void relax_band(bc_callout *callout, bc_exception_kind kind, double fraction)
{
    const double width = callout->to_nm - callout->from_nm;
    const double sides = kind == BC_EXCEPT_BOTH ? 2.0 : 1.0;
    const double grid = width > ROUGH_BAND_NM ? 1.0 : width / BC_RELAX_STEPS;
    const double moved = ceil(fraction * MOST_OF_BAND * width / sides / grid - ROOM) * grid;
    if (kind != BC_EXCEPT_TO)
        callout->from_nm += moved;
    if (kind != BC_EXCEPT_FROM)
        callout->to_nm -= moved;
}

/* A range keeps its near end; a single angle moves. */
static void relax_angle(bc_callout *callout, double fraction)
{
    const bool single = callout->aoi_from_rad == callout->aoi_to_rad;
    const double least = single ? 0.0 : callout->aoi_from_rad;
    const double wanted = callout->aoi_to_rad - fraction * (callout->aoi_to_rad - least);
    const double tenth = M_PI / 1800.0;
    callout->aoi_to_rad = fmax(least, floor(wanted / tenth + ROOM) * tenth);
    if (single)
        callout->aoi_from_rad = callout->aoi_to_rad;
}

bc_callout bc_relax(const bc_callout *asked, bc_exception_kind kind, size_t step)
{
    const double fraction = (double)step / BC_RELAX_STEPS;
    bc_callout callout = *asked;
    if (step == 0)
        return callout;
    if (kind == BC_EXCEPT_LIMIT)
        relax_limit(&callout, fraction);
    else if (kind == BC_EXCEPT_ANGLE)
        relax_angle(&callout, fraction);
    else
        relax_band(&callout, kind, fraction);
    return callout;
}

size_t bc_relax_zones(size_t zones, size_t step)
{
    const double steps = (double)(zones - 1);
    const double left = steps * (1.0 - MOST_OF_BAND * (double)step / BC_RELAX_STEPS);
    return (size_t)fmax(1.0, floor(left + ROOM)) + 1;
}
