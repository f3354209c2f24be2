/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REASONS_H
#define BLOOMCOAT_REASONS_H
/*
 * What can be said to a customer of why it is so.
 */
#include <bloomcoat/quote.h>

/* Fill residue and materials from the recommended option, its check and the deciding callout of `result`. */
bc_status bc_quote_reasons(const bc_quote_request *request, bc_quote_result *result, bc_error *error);

/* n at one wavelength; NAN where the table does not reach. */
double bc_index_at(const bc_medium *medium, double wavelength_nm);

#endif
