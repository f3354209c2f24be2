/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "noise.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>

#define POINTS           5 /* of a difference of the fourth order */
#define FEWEST_CONTRASTS 8
/* A normal number's absolute value is below 0.6745 half of the time. */
#define PER_MEDIAN 1.4826022185056018
/* Neighbouring contrasts share points, and a median uses less of them than their squares would: simulated, the estimate
 * of n of them scatters as one with n / 6.5 degrees of freedom. */
#define CONTRASTS_PER_FREEDOM 6.5
#define NEIGHBOURS            15 /* on either side */

/* The combination of five neighbours that no cubic passes, with squared weights that add up to 1. On even steps it is
 * (1, -4, 6, -4, 1) / sqrt(70). */
static double contrast(const double *x, const double *y)
{
    double sum = 0.0, squares = 0.0;
    for (int k = 0; k < POINTS; k++) {
        double weight = 1.0;
        for (int m = 0; m < POINTS; m++)
            if (m != k)
                weight *= (x[4] - x[0]) / (x[k] - x[m]);
        sum += weight * y[k];
        squares += weight * weight;
    }
    return sum / sqrt(squares);
}

bc_noise bc_noise_of_scan(size_t count, const double *wavelength_nm, const double *value, double *scratch)
{
    bc_noise noise = {BC_NOISE_UNKNOWN, 0.0, INFINITY};
    const size_t contrasts = count < POINTS ? 0 : count - POINTS + 1;
    if (contrasts < FEWEST_CONTRASTS)
        return noise;
    for (size_t i = 0; i < contrasts; i++)
        scratch[i] = fabs(contrast(wavelength_nm + i, value + i));
    gsl_sort(scratch, 1, contrasts);
    noise.source = BC_NOISE_SCAN;
    noise.rms = PER_MEDIAN * gsl_stats_median_from_sorted_data(scratch, 1, contrasts);
    noise.freedom = (double)contrasts / CONTRASTS_PER_FREEDOM;
    return noise;
}

double bc_rounding_step(size_t count, const double *value, double *scratch)
{
    const double same = 1e-10;
    double step = INFINITY;
    size_t steps = 0;
    for (size_t i = 0; i < count; i++)
        scratch[i] = value[i];
    gsl_sort(scratch, 1, count);
    for (size_t i = 1; i < count; i++)
        if (scratch[i] - scratch[i - 1] > same)
            step = fmin(step, scratch[i] - scratch[i - 1]);
    for (size_t i = 1; i < count; i++) {
        const double steps_apart = (scratch[i] - scratch[i - 1]) / step;
        if (fabs(steps_apart - round(steps_apart)) > 0.01)
            return 0.0;
        steps += steps_apart > 0.5;
    }
    return steps >= FEWEST_CONTRASTS ? step : 0.0;
}

/* Mean square of the known deviations from `from` to before `to`, and how many there are. */
static double mean_square(const double *deviation, size_t from, size_t to, size_t *known)
{
    double sum = 0.0;
    *known = 0;
    for (size_t i = from; i < to; i++)
        if (isfinite(deviation[i])) {
            sum += deviation[i] * deviation[i];
            ++*known;
        }
    return *known == 0 ? 0.0 : sum / (double)*known;
}

bc_noise bc_noise_of_repeats(size_t count, const double *deviation, size_t repeats, double *noise)
{
    bc_noise summary = {BC_NOISE_UNKNOWN, 0.0, INFINITY};
    size_t known, pooled = 2 * NEIGHBOURS + 1;
    const double all = mean_square(deviation, 0, count, &known);
    if (known == 0)
        return summary;
    for (size_t i = 0; i < count; i++) {
        const size_t from = i < NEIGHBOURS ? 0 : i - NEIGHBOURS;
        const size_t to = i + NEIGHBOURS + 1 > count ? count : i + NEIGHBOURS + 1;
        size_t here;
        const double square = mean_square(deviation, from, to, &here);
        noise[i] = sqrt(here == 0 ? all : square);
        summary.rms += noise[i] * noise[i] / (double)count;
    }
    if (known < pooled)
        pooled = known;
    summary.source = BC_NOISE_REPEATS;
    summary.rms = sqrt(summary.rms);
    summary.freedom = (double)pooled * (repeats > 2 ? (double)(repeats - 1) : 1.0);
    return summary;
}

bc_noise bc_noise_not_below_rounding(bc_noise noise, double rounding, size_t count, double *each)
{
    if (noise.source == BC_NOISE_REPEATS) {
        for (size_t i = 0; i < count; i++)
            each[i] = fmax(each[i], rounding);
        noise.rms = fmax(noise.rms, rounding);
        return noise;
    }
    if (noise.rms < rounding)
        noise = (bc_noise){BC_NOISE_ROUNDING, rounding, INFINITY};
    for (size_t i = 0; i < count; i++)
        each[i] = noise.rms;
    return noise;
}

bc_noise bc_noise_of_measured(size_t count, const double *wavelength_nm, const bc_measured *measured, size_t repeats,
                              double *each, double *scratch)
{
    const double rounding = bc_rounding_step(count, measured->value, scratch) / sqrt(12.0);
    bc_noise noise = {BC_NOISE_UNKNOWN, 0.0, INFINITY};
    if (measured->deviation != NULL)
        noise = bc_noise_of_repeats(count, measured->deviation, repeats, each);
    if (noise.source == BC_NOISE_UNKNOWN)
        noise = bc_noise_of_scan(count, wavelength_nm, measured->value, scratch);
    return bc_noise_not_below_rounding(noise, rounding, count, each);
}
