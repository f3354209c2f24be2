/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REASONS_H
#define BLOOMCOAT_REASONS_H
/*
 * What can be said to a customer of why it is so.
 */
#include <bloomcoat/quote.h>

/* Fill materials from the deciding callout of `result`. */
void bc_quote_reasons(const bc_quote_request *request, bc_quote_result *result);

/* Of its band, in wavenumber. */
double bc_middle_nm(const bc_callout *callout);

/* n at one wavelength; NAN where the table does not reach. */
double bc_index_at(const bc_medium *medium, double wavelength_nm);

#endif
