/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How far a vertical axis reaches. An antireflection coating has 0.1 % in its band and 20 % beside it: where there are
 * callouts they decide, and what rises out of the picture elsewhere is cut at its edge.
 */
#include "internal/chart_scale.h"
#include "internal/plot_words.h"
#include <math.h>

#define STEPS          6
#define FAR_FROM_ZERO  0.6  /* least value over most, above which the axis does not begin at 0 */
#define ROOM           0.06 /* of the values' span, above and below them */
#define LIMIT_IN_RANGE 1.5  /* the axis reaches so many times the limit */
#define VALUE_IN_RANGE 1.12
#define MOST_LIMITS    3.0 /* times the limit that a ratio is shown, which may rise to any height */
#define BESIDE_WINDOW  0.8 /* of the distance between an upper and a lower limit, shown beyond both */

void bc_plot_stretch(bc_plot_extent *extent, size_t count, const double *x, const double *value, double from, double to)
{
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(value[i]) || x[i] < from || x[i] > to)
            continue;
        extent->least = fmin(extent->least, value[i]);
        extent->most = fmax(extent->most, value[i]);
    }
}

static bc_chart_range in_percent(double least, double most)
{
    const bc_chart_range range = {100.0 * least, 100.0 * most};
    return bc_chart_whole_steps(range, STEPS);
}

bc_chart_range bc_plot_range(bc_plot_extent extent)
{
    const double least = fmax(extent.least, 0.0), most = extent.most;
    double room = ROOM * (most - least);
    if (!(most > 0.0))
        return (bc_chart_range){0.0, 1.0};
    if (least < FAR_FROM_ZERO * most)
        return in_percent(0.0, most > 1.0 ? most + room : fmin(most + room, 1.0));
    room = fmax(room, 1e-6 * most);
    if (most <= 1.0)
        return in_percent(fmax(least - room, 0.0), 1.0 - most < most - least ? 1.0 : fmin(most + room, 1.0));
    return in_percent(least - room, most + room);
}

void bc_plot_add_limit(bc_plot_limits *limits, const bc_callout *callout)
{
    if (callout->colour != BC_NO_COLOUR) /* not on this axis */
        return;
    limits->ratio = limits->ratio || callout->polarization == BC_POL_RATIO;
    if (callout->sense == BC_AT_MOST)
        limits->most = fmax(callout->limit, isnan(limits->most) ? callout->limit : limits->most);
    else
        limits->least = fmin(callout->limit, isnan(limits->least) ? callout->limit : limits->least);
}

/* About 1, where s and p are the same. */
static bc_chart_range ratio_range(const bc_plot_limits *limits)
{
    const double most = isnan(limits->most) ? 1.0 : limits->most, least = isnan(limits->least) ? 1.0 : limits->least;
    const double beside = BESIDE_WINDOW * fmax(fabs(most - 1.0), fabs(1.0 - least));
    return in_percent(fmax(fmin(fmin(least, 1.0) - beside, limits->values.least), 0.0),
                      fmin(fmax(fmax(most, 1.0), limits->values.most), MOST_LIMITS * fmax(most, 1.0)) + beside);
}

bc_chart_range bc_plot_range_with_limits(const bc_plot_limits *limits)
{
    const double most = limits->most, least = limits->least;
    const double above = limits->values.most, below = limits->values.least;
    double from = 0.0, to = 1.0;
    if (isnan(most) && isnan(least)) /* colours alone */
        return bc_plot_range(limits->values);
    if (limits->ratio)
        return ratio_range(limits);
    if (!isnan(most) && !isnan(least) && most > least) {
        from = fmin(least - BESIDE_WINDOW * (most - least), below);
        to = fmax(most + BESIDE_WINDOW * (most - least), above);
    } else if (!isnan(most) && isnan(least)) {
        to = fmax(LIMIT_IN_RANGE * most, VALUE_IN_RANGE * above);
    } else if (!isnan(least) && isnan(most)) {
        from = 1.0 - fmax(LIMIT_IN_RANGE * (1.0 - least), VALUE_IN_RANGE * (1.0 - below));
    }
    return in_percent(fmax(from, 0.0), fmin(to, 1.0));
}
