/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_NUMBERS_H
#define BLOOMCOAT_REPORT_NUMBERS_H
/*
 * Numbers for people, and the words for the enumerations.
 */
#include "number.h"
#include <bloomcoat/report.h>

#define BC_PRINTED_SIZE 352 /* the longest double without an exponent, and its decimals */

double bc_degrees(double radians);

/* A finding's value in percent and its share of the limit, with as many digits as it takes for the printed number to
 * lie on the same side of the limit as the verdict. */
void bc_print_value(char to[BC_PRINTED_SIZE], const bc_finding *finding);
void bc_print_used(char to[BC_PRINTED_SIZE], double limit_used);
void bc_print_used_percent(char to[BC_PRINTED_SIZE], double limit_used); /* for sentences: uses 62.2 % of its limit */

/* The fewest digits that give the value back, with the decimal point moved in the text: 0.015 is 1.5 percent, exactly,
 * where `shift` is 2. */
void bc_print_shifted(char to[BC_NUMBER_SIZE], double value, int shift);

/* Three decimals, or as many as it takes to read back as the same double. */
void bc_print_thickness(char to[BC_PRINTED_SIZE], double thickness_nm);

const char *bc_quantity_word(bc_quantity quantity);       /* R, T, A */
const char *bc_statistic_word(const bc_callout *callout); /* max, min, average, luminous, chroma ... */
/* " %", or nothing behind a value of a colour. */
const char *bc_unit_behind(const bc_callout *callout);
/* Whether its value is a distance from a target. */
bool bc_has_target(const bc_callout *callout);
/* "2 -3 +- 4 1.5 turned 30": the ellipse that is a callout's limit, as a callouts file has it. */
void bc_print_ellipse(char to[BC_PRINTED_SIZE], const bc_callout *callout);
/* " from 21.5 1.2 -3.4": what a colour difference is from; of another callout nothing. */
void bc_print_reference(char to[BC_PRINTED_SIZE], const bc_callout *callout);
/* "<= 0.5 %", "<= 8" (a chroma), "2 +- 4" (a* and the like). */
void bc_print_limit(char to[BC_PRINTED_SIZE], const bc_callout *callout);
/* For a table: "R average D65*photopic part", "R a* from 2". */
void bc_print_quantity(char to[BC_PRINTED_SIZE], const bc_callout *callout);
/* The weight of an average as a callout states it; NULL: none, or that of the statistic itself. */
const char *bc_weight_word(const bc_callout *callout);
/* That of its cone of light; NULL: none, uniform. */
const char *bc_cone_weight_word(const bc_callout *callout);
const char *bc_sense_word(bc_sense sense);                      /* <=, >= */
const char *bc_polarization_word(bc_polarization polarization); /* unpolarized, s, p, each, s/p */
const char *bc_illuminant_word(bc_illuminant illuminant);       /* D65, A, D50 */
const char *bc_scope_word(bc_scope scope);                      /* surface, part */

#endif
