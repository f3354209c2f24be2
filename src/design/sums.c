/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sums.h"
#include "processors.h"
#include <math.h>

#define NEGLIGIBLE 1e-9
#define LANES      8

#define INLINED static inline __attribute__((always_inline))

typedef double lanes __attribute__((vector_size(LANES * sizeof(double)), aligned(8), may_alias));

/* Copy the columns that count, times the root of their weight; pad with zeros to whole lanes. Returns how many. */
INLINED size_t compact(size_t layers, size_t columns, const double *rows, size_t stride, const double *weight,
                       double *scratch)
{
    const size_t room = columns + LANES;
    double largest = 0.0;
    size_t kept = 0, padded;
    for (size_t i = 0; i < columns; i++)
        largest = weight[i] > largest ? weight[i] : largest;
    for (size_t i = 0; i < columns; i++) {
        if (weight[i] > NEGLIGIBLE * largest) {
            const double root = sqrt(weight[i]);
            for (size_t j = 0; j < layers; j++)
                scratch[j * room + kept] = root * rows[j * stride + i];
            kept++;
        }
    }
    padded = (kept + LANES - 1) / LANES * LANES;
    for (size_t j = 0; j < layers; j++)
        for (size_t i = kept; i < padded; i++)
            scratch[j * room + i] = 0.0;
    return padded;
}

INLINED double dot(const double *a, const double *b, size_t count)
{
    lanes sum = {0};
    double total = 0.0;
    for (size_t i = 0; i < count; i += LANES)
        sum += *(const lanes *)(a + i) * *(const lanes *)(b + i);
    for (int lane = 0; lane < LANES; lane++)
        total += sum[lane];
    return total;
}

FOR_EVERY_PROCESSOR void bc_add_gram(size_t layers, size_t columns, const double *rows, size_t stride,
                                     const double *weight, double *scratch, double *target)
{
    const size_t room = columns + LANES;
    const size_t kept = compact(layers, columns, rows, stride, weight, scratch);
    for (size_t j = 0; j < layers; j++) {
        for (size_t k = 0; k <= j; k++) {
            const double sum = dot(scratch + j * room, scratch + k * room, kept);
            target[j * layers + k] += sum;
            if (k != j)
                target[k * layers + j] += sum;
        }
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
