/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STANDARD_OFFER_H
#define BLOOMCOAT_STANDARD_OFFER_H
/*
 * The shop's standard coatings, held against a request before any search.
 */
#include "options.h"

/* Fill result->standard: every standard coating as it is, and, where none does as it is, with its thicknesses refined
 * for the request; those that do first, as they are before refined. result->layer is filled before. */
bc_status bc_standards_hold(bc_pool *pool, bc_quote_result *result, bc_error *error);

/* Whether one of them does, without becoming a new design. */
bool bc_standard_does(const bc_quote_result *result);

/* Put those that became new designs into the pool, for the search to compare with what it finds. */
bc_status bc_standards_start(bc_pool *pool, const bc_quote_result *result, bc_error *error);

/* Put those that do before the other options, the first of them recommended. */
bc_status bc_standards_put_first(const bc_quote_request *request, bc_quote_result *result, bc_error *error);

#endif
