/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INDEX_MODEL_H
#define BLOOMCOAT_INDEX_MODEL_H
/*
 * The dispersion models of <bloomcoat/layer_index.h>, in variables that a descent can move freely: n in the middle of
 * the range first, poles kept outside the range, k positive.
 */
#include <bloomcoat/layer_index.h>

typedef struct bc_index_range {
    double from_um, middle_um, to_um;
} bc_index_range;

size_t bc_n_variables(bc_n_model model);
size_t bc_k_variables(bc_k_model model);

/* Where a fit begins: n in the middle of the range, k there. */
void bc_n_start(bc_n_model model, double n, double *variable);
void bc_k_start(bc_k_model model, double k, double *variable);

/* At `count` wavelengths, and at one. */
void bc_n_curve(bc_n_model model, const double *variable, const bc_index_range *range, size_t count, const double *x_um,
                double *n);
void bc_k_curve(bc_k_model model, const double *variable, const bc_index_range *range, size_t count, const double *x_um,
                double *k);
double bc_n_at(bc_n_model model, const double *variable, const bc_index_range *range, double x_um);
double bc_k_at(bc_k_model model, const double *variable, const bc_index_range *range, double x_um);

/* The coefficients of the formula as it is published; returns how many. */
size_t bc_n_coefficients(bc_n_model model, const double *variable, const bc_index_range *range, double *coefficient);
size_t bc_k_coefficients(bc_k_model model, const double *variable, const bc_index_range *range, double *coefficient);

/* n falls with wavelength, but for a rise of `most`, wherever the layer hardly absorbs. */
bool bc_n_is_normal(bc_n_model n, bc_k_model k, const double *n_variable, const double *k_variable,
                    const bc_index_range *range);

#endif
