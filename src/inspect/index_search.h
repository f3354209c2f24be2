/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INDEX_SEARCH_H
#define BLOOMCOAT_INDEX_SEARCH_H
/*
 * The search for one model of an index: where to begin, and which fits are kept.
 */
#include "index_fit.h"

#define BC_INDEX_VALLEYS     4
#define BC_INDEX_SAME_VALLEY 0.02 /* of the thickness: nearer to each other, two thicknesses are in one valley */

typedef struct bc_index_finder {
    const bc_layer_index_setup *setup;
    bc_index_data data, thin; /* all points; few of them, to search with */
    double phi;               /* misfit of the best model, >= 1 */
    double least_thin;        /* chi2 of the best fit to the few points */
    double *start;            /* [pieces + BC_INDEX_VARIABLES] */
    bc_index_fit best;        /* chosen */
    bc_index_fit trial;
    double valley[BC_INDEX_VALLEYS][2]; /* a thickness and an index to begin at, the best first; NAN: none */
    double valley_chi2[BC_INDEX_VALLEYS];
} bc_index_finder;

/* A model before anything is fitted: the pieces' thicknesses in the ratio that was stated, the instrument as it should
 * be. */
void bc_index_begin(const bc_index_finder *f, bc_n_model n, bc_k_model k, bc_layer_shape shape, double thickness_nm,
                    double index, bc_index_fit *fit);

/* How many thicknesses are begun at, for a layer of about this one seen from this wavelength on. */
size_t bc_index_starts(double about_nm, double from_um);
/* The thickness of one of them, from half of what was stated to twice that. */
double bc_index_start_nm(double about_nm, size_t i, size_t starts);
/* The index, with a usual dispersion, that fits best at one thickness. */
bc_status bc_index_scan_indices(bc_index_finder *f, double thickness_nm, double *index, bc_error *error);
/* Keep a fit that is the best in its valley, if it is among the best of all. */
void bc_index_note_valley(bc_index_finder *f, double thickness_nm, double index, double chi2);
/* Every thickness with every index. */
bc_status bc_index_find_valleys(bc_index_finder *f, bc_error *error);

/* A model in the best valleys, on few points; then on all points where it can still win. The fit is left in f->trial;
 * its chi2 is INFINITY where it cannot. */
bc_status bc_index_try_model(bc_index_finder *f, bc_n_model n, bc_k_model k, bc_layer_shape shape, bc_error *error);

/* The chosen model in every valley but its own: result->other_thickness_nm and its criterion. */
bc_status bc_index_try_other_orders(bc_index_finder *f, bc_layer_index_result *result, bc_error *error);

/* A gradient or a rough top where it gains enough. */
bc_layer_shape bc_index_believe_shape(const double chi2[BC_LAYER_SHAPES], double phi);

/* QAICc. */
double bc_index_criterion(const bc_index_finder *f, const bc_index_fit *fit);
bool bc_index_is_possible(const bc_index_finder *f, const bc_index_fit *fit);
bc_layer_model bc_index_model_of(const bc_index_finder *f, const bc_index_fit *fit);
/* f->trial, if it is possible: the best so far is kept in f->best, what the best of the others is in `next`. */
void bc_index_offer(bc_index_finder *f, bc_layer_model *next);

/* What the variance of the noise must be multiplied by to cover the residual of the fit that the entries' curves are
 * of: its size, and its correlation where it is more than chance. */
double bc_index_inflation(const bc_index_finder *f, const bc_index_fit *fit);

#endif
