/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_WEIGHT_H
#define BLOOMCOAT_WEIGHT_H
/*
 * What an average over wavelength is weighted by: a lamp, the eye, a detector, or a product of them.
 *
 * A name is one of those that come with the program, `photopic` (V(lambda)), `scotopic` (V'(lambda)), `D65`, `A` or
 * `D50` (cie.h), or NAME for the first NAME.csv with the columns wavelength_nm (or wavelength_um) and weight in the
 * folders of the materials; angle_deg in place of the wavelength makes it one for a cone of light. A product is written
 * `D65*photopic`. Only the shape of a weight counts, not its height. Between rows a weight is a straight line (CIE
 * 015:2018, section 7.2.1 allows it for the illuminants, from memory).
 */
#include <bloomcoat/cie.h>
#include <bloomcoat/materials.h>

BC_API_BEGIN

#define BC_WEIGHT_NAME_SIZE 96 /* of a product, with its terminating zero */
#define BC_WEIGHT_FACTORS   4  /* in a product at most */

typedef struct bc_weight bc_weight;

/* Relative weight per nm (of a table over angle: per steradian, at so many degrees), >= 0; 0 outside the range. */
double bc_weight_at(const bc_weight *weight, double wavelength_nm);

/* The wavelengths that every factor covers. */
void bc_weight_range(const bc_weight *weight, double *from_nm, double *to_nm);

/* The shortest step from row to row of any factor between two wavelengths, in nm; INFINITY: no row lies there. */
double bc_weight_finest_nm(const bc_weight *weight, double from_nm, double to_nm);

const char *bc_weight_name(const bc_weight *weight);

/* D65 times V(lambda), summed from 380 to 780 nm every 5 nm: luminous reflectance and transmittance as ISO 8980-4 and
 * ISO 13666 define them for spectacle lenses (from memory). */
const bc_weight *bc_weight_luminous(void);

/* An illuminant times one of an observer's three functions (0: x, 1: y, 2: z), summed likewise (CIE 015:2018, 7.1). */
const bc_weight *bc_weight_tristimulus(bc_illuminant illuminant, bc_observer observer, int function);

/* Whether its table is one over the angle from the axis of a cone of light (cone.h). */
bool bc_weight_is_of_angle(const bc_weight *weight);

/* The rows of such a table: their number, and where row `number` is, in degrees. Between them it is a straight line. */
size_t bc_weight_breaks(const bc_weight *weight, size_t number, double *at);

/* Whether the weight is a sum over the CIE's wavelengths, which are then all of its band, and not an integral. */
bool bc_weight_is_sum(const bc_weight *weight);

/* The single weights that come with the program, number 0 first; NULL behind the last. */
const bc_weight *bc_weight_listed(size_t number);

/* The weight of this name among those that come with the program and their products of a lamp and an eye, in either
 * order; NULL: there is none. */
const bc_weight *bc_weight_shipped(const char *name);

/* The weight of this name, owned by `materials` unless it is one of the above. BC_ERROR_INPUT with `where` (may be
 * NULL) before the message when there is none, a table is wrong, or the factors of a product have no wavelength in
 * common. */
bc_status bc_materials_weight(bc_materials *materials, const char *name, const char *where, const bc_weight **out,
                              bc_error *error);

BC_API_END

#endif
