/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sums.h"
#include "processors.h"
#include <math.h>
#include <stdbool.h>

#define NEGLIGIBLE 1e-9
#define LANES      8

#define INLINED static inline __attribute__((always_inline))

/* No wider than a register of the processors at hand: gcc keeps a sum of wider ones in memory. */
#define QUAD 4
typedef double quad __attribute__((vector_size(QUAD * sizeof(double)), aligned(8), may_alias));

/* The root of each weight that counts, 0 for the others; returns how many count. */
INLINED size_t take_roots(size_t columns, const double *weight, double *root)
{
    double largest = 0.0;
    size_t kept = 0;
    for (size_t i = 0; i < columns; i++)
        largest = weight[i] > largest ? weight[i] : largest;
    for (size_t i = 0; i < columns; i++) {
        const bool counts = weight[i] > NEGLIGIBLE * largest;
        root[i] = counts ? sqrt(weight[i]) : 0.0;
        kept += counts;
    }
    return kept;
}

/* Copy the columns that count, times the root of their weight; pad with zeros to whole lanes. Returns how many. */
INLINED size_t compact(size_t layers, size_t columns, const double *rows, size_t stride, const double *weight,
                       double *scratch)
{
    const size_t room = columns + LANES;
    double *root = scratch + layers * room;
    const size_t kept = take_roots(columns, weight, root), padded = (kept + LANES - 1) / LANES * LANES;
    for (size_t j = 0; j < layers; j++) {
        const double *row = rows + j * stride;
        double *copy = scratch + j * room;
        if (kept == columns) {
            for (size_t i = 0; i < columns; i++)
                copy[i] = root[i] * row[i];
        } else {
            size_t to = 0;
            for (size_t i = 0; i < columns; i++) { /* without a branch: which columns count cannot be foretold */
                copy[to] = root[i] * row[i];
                to += root[i] > 0.0;
            }
        }
        for (size_t i = kept; i < padded; i++)
            copy[i] = 0.0;
    }
    return padded;
}

INLINED double add_lanes(quad low, quad high)
{
    double total = 0.0;
    for (int lane = 0; lane < QUAD; lane++)
        total += low[lane];
    for (int lane = 0; lane < QUAD; lane++)
        total += high[lane];
    return total;
}

INLINED double dot(const double *a, const double *b, size_t count)
{
    quad low = {0}, high = {0};
    for (size_t i = 0; i < count; i += LANES) {
        low += *(const quad *)(a + i) * *(const quad *)(b + i);
        high += *(const quad *)(a + i + QUAD) * *(const quad *)(b + i + QUAD);
    }
    return add_lanes(low, high);
}

/* With four rows at once: as many sums as hide how long each addition takes. */
INLINED void dot_four(const double *a, const double *b, size_t stride, size_t count, double *target)
{
    const double *b1 = b + stride, *b2 = b1 + stride, *b3 = b2 + stride;
    quad low[4] = {{0}}, high[4] = {{0}};
    for (size_t i = 0; i < count; i += LANES) {
        const quad one = *(const quad *)(a + i), other = *(const quad *)(a + i + QUAD);
        low[0] += one * *(const quad *)(b + i);
        low[1] += one * *(const quad *)(b1 + i);
        low[2] += one * *(const quad *)(b2 + i);
        low[3] += one * *(const quad *)(b3 + i);
        high[0] += other * *(const quad *)(b + i + QUAD);
        high[1] += other * *(const quad *)(b1 + i + QUAD);
        high[2] += other * *(const quad *)(b2 + i + QUAD);
        high[3] += other * *(const quad *)(b3 + i + QUAD);
    }
    for (int k = 0; k < 4; k++)
        target[k] = add_lanes(low[k], high[k]);
}

INLINED void add_both(size_t layers, size_t j, size_t k, double sum, double *target)
{
    target[j * layers + k] += sum;
    if (k != j)
        target[k * layers + j] += sum;
}

FOR_EVERY_PROCESSOR void bc_add_gram(size_t layers, size_t columns, const double *rows, size_t stride,
                                     const double *weight, double *scratch, double *target)
{
    const size_t room = columns + LANES;
    const size_t kept = compact(layers, columns, rows, stride, weight, scratch);
    for (size_t j = 0; j < layers; j++) {
        size_t k = 0;
        for (; k + 4 <= j + 1; k += 4) {
            double sum[4];
            dot_four(scratch + j * room, scratch + k * room, room, kept, sum);
            for (size_t i = 0; i < 4; i++)
                add_both(layers, j, k + i, sum[i], target);
        }
        for (; k <= j; k++)
            add_both(layers, j, k, dot(scratch + j * room, scratch + k * room, kept), target);
    }
}

FOR_EVERY_PROCESSOR void bc_weighted_sums(size_t layers, size_t columns, const double *rows, size_t stride,
                                          const double *weight, double *target)
{
    const size_t whole = columns / LANES * LANES;
    for (size_t j = 0; j < layers; j++) {
        const double *row = rows + j * stride;
        double sum = dot(row, weight, whole);
        for (size_t i = whole; i < columns; i++)
            sum += row[i] * weight[i];
        target[j] = sum;
    }
}

FOR_EVERY_PROCESSOR void bc_combine_rows(size_t layers, size_t columns, const double *rows, size_t stride,
                                         const double *factor, double *target)
{
    for (size_t i = 0; i < columns; i++)
        target[i] = 0.0;
    for (size_t j = 0; j < layers; j++)
        for (size_t i = 0; i < columns; i++)
            target[i] += factor[j] * rows[j * stride + i];
}

double bc_largest(size_t count, const double *value)
{
    double largest = value[0];
    for (size_t i = 1; i < count; i++)
        largest = value[i] > largest ? value[i] : largest;
    return largest;
}
