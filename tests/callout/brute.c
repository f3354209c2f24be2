/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "brute.h"
#include <math.h>

static extreme golden(curve f, const void *context, double low, double high, double sign)
{
    const double share = 0.5 * (sqrt(5.0) - 1.0);
    double a = high - share * (high - low), b = low + share * (high - low);
    double fa = sign * f(a, context), fb = sign * f(b, context);
    for (int step = 0; step < 60; step++) {
        if (fa > fb) {
            high = b;
            b = a;
            fb = fa;
            a = high - share * (high - low);
            fa = sign * f(a, context);
        } else {
            low = a;
            a = b;
            fa = fb;
            b = low + share * (high - low);
            fb = sign * f(b, context);
        }
    }
    return (extreme){0.5 * (low + high), f(0.5 * (low + high), context)};
}

extreme brute_extreme(curve f, const void *context, double from, double to, long points, double sign)
{
    const double step = (to - from) / (double)points;
    extreme best = {from, f(from, context)}, between;
    for (long i = 1; i <= points; i++) {
        const double x = i == points ? to : from + step * (double)i, value = f(x, context);
        if (sign * value > sign * best.value)
            best = (extreme){x, value};
    }
    between = golden(f, context, fmax(from, best.at - step), fmin(to, best.at + step), sign);
    return sign * between.value > sign * best.value ? between : best;
}

static double midpoints(curve f, const void *context, double from, double to, long points)
{
    double sum = 0.0;
    for (long i = 0; i < points; i++)
        sum += f(from + (to - from) * ((double)i + 0.5) / (double)points, context);
    return sum / (double)points;
}

double brute_mean(curve f, const void *context, double from, double to, long points)
{
    const double coarse = midpoints(f, context, from, to, points), fine = midpoints(f, context, from, to, 3 * points);
    return fine + (fine - coarse) / 8.0;
}
