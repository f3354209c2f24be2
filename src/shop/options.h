/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_QUOTE_OPTIONS_H
#define BLOOMCOAT_QUOTE_OPTIONS_H
/*
 * The options of a quote: for each number of layers the best design of the pool, with its yield and hours, and which is
 * recommended.
 */
#include "pool.h"

/* Search, and refine what is found for this process: fill the pool. Sets result->stopped. */
bc_status bc_options_search(bc_pool *pool, bc_quote_result *result, bc_error *error);

/* For each number of layers, designs of the pool made better for the process: refined under errors, grown by a layer or
 * two, their yield raised. None of it depends on the yield asked for. */
bc_status bc_options_robust(bc_pool *pool, bc_error *error);

/* Fill option, parts_per_load, runs, yield_known from the pool; what stood there is replaced. Then recommended,
 * verdict, at_the_limit and obstacle. */
bc_status bc_options_choose(const bc_pool *pool, bc_quote_result *result, bc_error *error);

/* Hours that the quantity is expected to take with such a yield; without a quantity those of one good load, without a
 * chamber those of its layers. NAN: a rate is not known. */
double bc_option_hours(const bc_quote_request *request, const bc_stack *stack, double yield);

bool bc_yield_is_known(const bc_quote_request *request);

#endif
