/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DISPERSION_H
#define BLOOMCOAT_DISPERSION_H
/*
 * A dispersion table: the complex index N = n - ik of one material against vacuum wavelength.
 *
 * Between rows n and k are interpolated by the monotone piecewise cubic of Steffen, Astron. Astrophys. 239, 443 (1990)
 * (GSL's gsl_interp_steffen): smooth, and never outside the values of the two neighbouring rows, so no k < 0 and no
 * invented absorption. Outside its range a table answers with an error, never with an extrapolation.
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

#define BC_NAME_SIZE 64 /* a material's name with its terminating zero */

typedef struct bc_dispersion bc_dispersion;

/* Read `path` (columns wavelength_nm or wavelength_um, n, optional k). The material is called `name` in messages.
 * Comment lines of the form `# key: value` ahead of the header are kept, see bc_dispersion_note(). */
bc_status bc_dispersion_read(const char *path, const char *name, bc_dispersion **out, bc_error *error);

/* A constant index, valid at every wavelength. n > 0, k >= 0. */
bc_status bc_dispersion_constant(const char *name, double n, double k, bc_dispersion **out, bc_error *error);

/* A table from arrays of `rows` >= 2 strictly increasing wavelengths; k may be NULL for zero. Copies the arrays. */
bc_status bc_dispersion_table(const char *name, size_t rows, const double *wavelength_nm, const double *n,
                              const double *k, bc_dispersion **out, bc_error *error);

/* The same material as it grows with an index gradient: n at the outer side of a layer less n at its substrate side,
 * divided by their average, which is the n of the table; a fraction within -0.5 and 0.5. The n of the layer runs
 * linearly from one to the other, its k is the table's throughout. It shares the tables of `of`, which must outlive it.
 * BC_ERROR_INPUT for another gradient. */
bc_status bc_dispersion_graded(const bc_dispersion *of, double gradient, bc_dispersion **out, bc_error *error);

void bc_dispersion_free(bc_dispersion *dispersion);

/* 0: homogeneous, or nothing was said. */
double bc_dispersion_gradient(const bc_dispersion *dispersion);
bool bc_dispersion_states_gradient(const bc_dispersion *dispersion); /* by bc_dispersion_graded(), be it 0 */
/* For a table made by hand, such as one that stands for another with its n moved. */
void bc_dispersion_keep_gradient(bc_dispersion *dispersion, const bc_dispersion *of);
/* The material without what bc_dispersion_graded() said. */
const bc_dispersion *bc_dispersion_base(const bc_dispersion *dispersion);

/* n and k at `count` wavelengths (nm, any order). k_out may be NULL. BC_ERROR_INPUT, naming the table, its range and
 * the wavelength asked for, when one lies outside (the ends belong to the range). Safe to call from several threads. */
bc_status bc_dispersion_index(const bc_dispersion *dispersion, size_t count, const double *wavelength_nm, double *n_out,
                              double *k_out, bc_error *error);

const char *bc_dispersion_name(const bc_dispersion *dispersion);
const char *bc_dispersion_path(const bc_dispersion *dispersion);   /* NULL for a constant or an array table */
const char *bc_dispersion_sha256(const bc_dispersion *dispersion); /* of the file it was read from; NULL: none */
bool bc_dispersion_is_constant(const bc_dispersion *dispersion);
bool bc_dispersion_absorbs(const bc_dispersion *dispersion); /* k > 0 in any row */
/* First and last wavelength; 0 and infinity for a constant. */
void bc_dispersion_range(const bc_dispersion *dispersion, double *from_nm, double *to_nm);
size_t bc_dispersion_rows(const bc_dispersion *dispersion); /* 0 for a constant */
void bc_dispersion_row(const bc_dispersion *dispersion, size_t row, double *wavelength_nm, double *n, double *k);
/* The text after `# key:` in the table's comments (keys: kind, source, doi, note, formula, caution, ...), or NULL. */
const char *bc_dispersion_note(const bc_dispersion *dispersion, const char *key);
/* The number that such a text begins with; NAN: there is none. */
double bc_dispersion_note_number(const bc_dispersion *dispersion, const char *key);

BC_API_END

#endif
