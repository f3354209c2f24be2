/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CALLOUT_BRUTE_H
#define CALLOUT_BRUTE_H
/*
 * The worst point and the mean of a function by sheer number of points, with nothing of the program in it.
 */

typedef double (*curve)(double x, const void *context);

typedef struct extreme {
    double at, value;
} extreme;

/* The largest value of sign * f between from and to: `points` of an even grid, then golden sections around the best. */
extreme brute_extreme(curve f, const void *context, double from, double to, long points, double sign);

/* The mean of f between from and to by the rule of midpoints on `points` intervals, refined once (Richardson). */
double brute_mean(curve f, const void *context, double from, double to, long points);

#endif
