/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "relax.h"
#include <math.h>
#include <string.h>

#define MOST_OF_BAND  0.75  /* of its width may go; and of an aperture's zones */
#define STEPS_OF_BAND 100.0 /* at least */
#define ROOM          1e-9  /* so that rounding up leaves alone what is round */
#define TENTH_DEGREE  (M_PI / 1800.0)

static bool counts(size_t which, size_t row)
{
    return which == BC_NO_CALLOUT || which == row;
}

/* The band's reach: its ends and the widths of the rows that make them. */
typedef struct reach {
    double from_nm, to_nm, from_width_nm, to_width_nm, most_rad;
} reach;

static reach reach_of(const bc_callouts *asked, size_t which)
{
    reach r = {INFINITY, -INFINITY, 0.0, 0.0, 0.0};
    for (size_t c = 0; c < asked->count; c++) {
        const bc_callout *row = &asked->callout[c];
        if (!counts(which, c))
            continue;
        r.most_rad = fmax(r.most_rad, row->aoi_to_rad);
        if (bc_callout_has_own_band(row)) /* its band is its definition */
            continue;
        if (row->from_nm < r.from_nm) {
            r.from_nm = row->from_nm;
            r.from_width_nm = row->to_nm - row->from_nm;
        }
        if (row->to_nm > r.to_nm) {
            r.to_nm = row->to_nm;
            r.to_width_nm = row->to_nm - row->from_nm;
        }
    }
    return r;
}

static double width_of(const reach *r, bc_exception_kind kind)
{
    return kind == BC_EXCEPT_FROM ? r->from_width_nm
           : kind == BC_EXCEPT_TO ? r->to_width_nm
                                  : 0.5 * fmin(r->from_width_nm, r->to_width_nm);
}

static double grid_of(double width_nm)
{
    return pow(10.0, floor(log10(width_nm / STEPS_OF_BAND) + ROOM));
}

size_t bc_relax_steps(const bc_callouts *asked, size_t which, bc_exception_kind kind)
{
    const reach r = reach_of(asked, which);
    if (kind == BC_EXCEPT_ANGLE)
        return (size_t)ceil(r.most_rad / TENTH_DEGREE - ROOM);
    if (kind == BC_EXCEPT_FROM || kind == BC_EXCEPT_TO || kind == BC_EXCEPT_BOTH) {
        const double width = width_of(&r, kind);
        return width > 0.0 ? (size_t)floor(MOST_OF_BAND * width / grid_of(width) + ROOM) : 0;
    }
    return 0;
}

/* Cut off what lies beyond, but leave a quarter of every row. */
static void cut_band(bc_callout *row, double from_nm, double to_nm)
{
    const double least = (1.0 - MOST_OF_BAND) * (row->to_nm - row->from_nm);
    const double from = fmax(row->from_nm, fmin(from_nm, row->to_nm - least));
    row->to_nm = fmin(row->to_nm, fmax(to_nm, from + least));
    row->from_nm = from;
}

/* A range keeps its near end; a single angle moves. */
static void cut_angle(bc_callout *row, double most_rad)
{
    if (row->aoi_from_rad == row->aoi_to_rad)
        row->aoi_from_rad = row->aoi_to_rad = fmin(row->aoi_to_rad, most_rad);
    else
        row->aoi_to_rad = fmax(row->aoi_from_rad, fmin(row->aoi_to_rad, most_rad));
}

void bc_relax_to(const bc_callouts *asked, size_t which, bc_exception_kind kind, size_t step, bc_callout *changed)
{
    const reach r = reach_of(asked, which);
    const double moved = kind == BC_EXCEPT_ANGLE ? 0.0 : (double)step * grid_of(width_of(&r, kind));
    /* whole tenths of a degree from the first step on */
    const double most = fmax(0.0, (ceil(r.most_rad / TENTH_DEGREE - ROOM) - (double)step) * TENTH_DEGREE);
    memcpy(changed, asked->callout, asked->count * sizeof *changed);
    for (size_t c = 0; c < asked->count && step > 0; c++) {
        if (!counts(which, c))
            continue;
        if (kind == BC_EXCEPT_ANGLE)
            cut_angle(&changed[c], most);
        else if (!bc_callout_has_own_band(&changed[c]))
            cut_band(&changed[c], kind == BC_EXCEPT_TO ? -INFINITY : r.from_nm + moved,
                     kind == BC_EXCEPT_FROM ? INFINITY : r.to_nm - moved);
    }
}

/* The next value of three digits. */
static double round_up(double value)
{
    const double unit = pow(10.0, floor(log10(value)) - 2.0);
    return ceil(value / unit - ROOM) * unit;
}

void bc_relax_limits(const bc_callouts *asked, size_t which, double factor, bc_callout *changed)
{
    memcpy(changed, asked->callout, asked->count * sizeof *changed);
    for (size_t c = 0; c < asked->count; c++) {
        bc_callout *row = &changed[c];
        const bool ratio = row->polarization == BC_POL_RATIO;
        const double least = ratio ? BC_RATIO_LIMIT_LEAST : 0.0, most = ratio ? BC_RATIO_LIMIT_MOST : 1.0;
        const double ideal = bc_callout_ideal(row);
        const double easier = round_up(100.0 * fabs(row->limit - ideal) * factor) / 100.0;
        if (counts(which, c))
            row->limit = row->sense == BC_AT_MOST ? fmin(ideal + easier, most) : fmax(least, ideal - easier);
    }
}

size_t bc_relax_zone_steps(size_t zones)
{
    return (size_t)floor(MOST_OF_BAND * (double)(zones - 1) + ROOM);
}

size_t bc_relax_zones(size_t zones, size_t step)
{
    return zones - step;
}
