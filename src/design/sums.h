/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SUMS_H
#define BLOOMCOAT_SUMS_H
/*
 * The sums over all samples that every step of the optimizers is made of. `rows` holds one row of `columns` values per
 * layer, `stride` apart.
 */
#include <stddef.h>

/* target[j * layers + k] += sum_i weight[i] a_j[i] a_k[i] for j, k < layers, with a_j = rows + j * stride and weight >=
 * 0. Columns whose weight is below 1e-9 of the largest are left out: near a minimax solution only the few worst
 * wavelengths carry weight. `scratch` holds (layers + 1) * (columns + 8) doubles. */
void bc_add_gram(size_t layers, size_t columns, const double *rows, size_t stride, const double *weight,
                 double *scratch, double *target);

/* target[j] = sum_i weight[i] a_j[i]. */
void bc_weighted_sums(size_t layers, size_t columns, const double *rows, size_t stride, const double *weight,
                      double *target);

/* target[i] = sum_j factor[j] a_j[i]. */
void bc_combine_rows(size_t layers, size_t columns, const double *rows, size_t stride, const double *factor,
                     double *target);

/* The largest of `count` >= 1 values. */
double bc_largest(size_t count, const double *value);

#endif
