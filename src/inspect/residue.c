/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "residue.h"
#include <math.h>

#define FEWEST     10
#define MOST_ALIKE 0.9
#define MOST_RMS   1.5 /* times the noise, whose estimate has an error too */
#define LAGS       3
#define MOST_LAGS  3.0 /* standard deviations of a sum of autocorrelations */
#define MOST_SUM   4.5 /* and of a sum over a stretch, of which there are many */

static double mean_square(size_t count, const double *rest)
{
    double square = 0.0;
    for (size_t i = 0; i < count; i++)
        square += rest[i] * rest[i] / (double)count;
    return square;
}

/* Autocorrelations of independent values have a standard deviation of 1 / sqrt(count) each (Bartlett; Box and Jenkins,
 * Time Series Analysis, 2.1.6; from memory). */
static double alike(size_t count, const double *rest, double square)
{
    double sum = 0.0;
    for (size_t lag = 1; lag <= LAGS; lag++)
        for (size_t i = lag; i < count; i++)
            sum += rest[i] * rest[i - lag];
    return sum / (square * sqrt((double)count * LAGS));
}

/* The largest sum over stretches of up to a quarter of all, in standard deviations. */
static double largest_sum(size_t count, const double *rest, double square)
{
    double largest = 0.0;
    for (size_t length = 1; length <= count / 4; length += 1 + length / 4) {
        double sum = 0.0;
        for (size_t i = 0; i < count; i++) {
            sum += rest[i] - (i >= length ? rest[i - length] : 0.0);
            if (i + 1 >= length)
                largest = fmax(largest, fabs(sum) / sqrt((double)length * square));
        }
    }
    return largest;
}

bool bc_residue_is_noise(size_t count, const double *rest)
{
    const double square = mean_square(count, rest);
    if (count < FEWEST || !(square > 0.0) || square > MOST_RMS * MOST_RMS)
        return false;
    return alike(count, rest, square) < MOST_LAGS && largest_sum(count, rest, square) < MOST_SUM;
}

double bc_residue_points_in_one(size_t count, const double *rest)
{
    double square = 0.0, product = 0.0;
    for (size_t i = 0; i < count; i++) {
        square += rest[i] * rest[i];
        product += i > 0 ? rest[i] * rest[i - 1] : 0.0;
    }
    if (count < FEWEST || !(square > 0.0) || !(product > 0.0))
        return 1.0;
    const double alike = fmin(MOST_ALIKE, product / square);
    return (1.0 + alike) / (1.0 - alike);
}

double bc_residue_points_alike(size_t count, const double *rest, size_t lags)
{
    double square = 0.0, sum = 1.0;
    for (size_t i = 0; i < count; i++)
        square += rest[i] * rest[i];
    for (size_t lag = 1; lag < lags; lag++) {
        double product = 0.0;
        for (size_t i = lag; i < count; i++)
            product += rest[i] * rest[i - lag];
        if (!(product > 0.0))
            break;
        sum += 2.0 * product / square;
    }
    return sum;
}
