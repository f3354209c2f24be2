/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_INDEX_FIT_H
#define BLOOMCOAT_INDEX_FIT_H
/*
 * The least squares of <bloomcoat/layer_index.h>: one model against all scans.
 */
#include "arena.h"
#include "index_model.h"

#define BC_INSTRUMENT      4 /* offsets of R and T, scale of R, shift of the wavelengths */
#define BC_INDEX_VARIABLES (8 + 3 + BC_INSTRUMENT)

/* One quantity of one scan. */
typedef struct bc_index_entry {
    const bc_layer_scan *scan;
    size_t which; /* of the scans */
    bc_quantity quantity;
    size_t count;
    double *wavelength_nm, *value, *noise;         /* [count]; noise > 0 */
    double *curve, *fitted;                        /* [count] by a right instrument; as this one shows it */
    double *by_n, *by_k, *by_thickness, *by_shape; /* [count] slopes of `curve` */
    double *n0, *k0, *ns, *ks;                     /* [count] incident medium and substrate */
    bc_surface *surface;                           /* a workspace for: */
    bc_part *part;                                 /* (one of the two) */
    size_t slices;
    double shift_nm;
    bc_back_kind back;
} bc_index_entry;

typedef struct bc_index_data {
    bc_arena arena;
    size_t entries, points, most_points; /* all of them; of the longest entry */
    bc_index_entry *entry;
    size_t pieces;
    bc_index_range range;
    double prior[BC_INSTRUMENT]; /* standard uncertainties; 0: held at 0 */
    double *layer_n, *layer_k;   /* room for the slices of a layer, [BC_INDEX_SLICES * most_points] */
    double *shifted_um, *n, *k;  /* [most_points] of the entry that was last looked at */
} bc_index_data;

#define BC_INDEX_SLICES 17 /* of a graded layer; and a rough top */

/* BC_ERROR_INPUT for what no index can be found from: too few points, pieces that do not exist or have no thickness. */
bc_status bc_index_refuse_setup(const bc_layer_index_setup *setup, bc_error *error);

/* At most `most` points of each scan, evenly taken. */
bc_status bc_index_data_open(const bc_layer_index_setup *setup, size_t most, bc_index_data *data, bc_error *error);
void bc_index_data_close(bc_index_data *data);
void bc_index_drop_workspace(bc_index_entry *entry);

/* A model and its variables: thicknesses of the pieces in nm, n, k, shape, instrument, in this order. */
typedef struct bc_index_fit {
    bc_n_model n;
    bc_k_model k;
    bc_layer_shape shape;
    size_t variables, pieces;
    double *variable;   /* [variables] */
    double *covariance; /* [variables * variables]; NULL: not wanted */
    bool rough;         /* a first approach: the instrument is taken as right */
    double chi2;        /* with the priors; INFINITY: no fit */
} bc_index_fit;

/* Room for any model. Release with bc_index_fit_free(). */
bc_status bc_index_fit_alloc(const bc_index_data *data, bc_index_fit *fit, bc_error *error);
void bc_index_fit_free(bc_index_fit *fit);
void bc_index_fit_copy(const bc_index_data *data, const bc_index_fit *from, bc_index_fit *to);

size_t bc_index_fit_variables(const bc_index_data *data, bc_n_model n, bc_k_model k, bc_layer_shape shape);
size_t bc_index_n_from(const bc_index_fit *fit); /* place of the first variable of n; those of k follow */
size_t bc_index_shape_from(const bc_index_fit *fit);
size_t bc_index_instrument_from(const bc_index_fit *fit);

/* Curves of all entries at the variables as they are, kept within what a layer can be. */
bc_status bc_index_compute(const bc_index_data *data, bc_index_fit *fit, bc_error *error);

/* Slopes of the entry's curve, which bc_index_compute() has left in it; data->shifted_um is the entry's. */
bc_status bc_index_look_around(const bc_index_data *data, const bc_index_fit *fit, bc_index_entry *entry,
                               bc_error *error);

/* Sum of squares at the variables as they are; fitted curves are left in the entries. */
bc_status bc_index_evaluate(const bc_index_data *data, bc_index_fit *fit, bc_error *error);

/* Descend from the variables as they are, by at most `steps`. */
bc_status bc_index_descend(const bc_index_data *data, bc_index_fit *fit, size_t steps, bc_error *error);

#endif
