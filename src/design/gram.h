/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_GRAM_H
#define BLOOMCOAT_GRAM_H
#include <stddef.h>

/* target[j * films + k] += sum_i weight[i] a_j[i] a_k[i] for j, k < films, with a_j = rows + j * stride and weight >= 0.
 * Columns whose weight is below 1e-9 of the largest are left out: near a minimax solution only the few worst wavelengths
 * carry weight. `scratch` holds (films + 1) * (columns + 8) doubles. */
void bc_add_gram(size_t films, size_t columns, const double *rows, size_t stride, const double *weight, double *scratch,
                 double *target);

#endif
