/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FOUND_H
#define BLOOMCOAT_FOUND_H
/*
 * Showing what a quote finds while it goes on, to whoever asked for that (request->found). The calling thread alone
 * shows things; nothing of the search depends on it.
 */
#include "pool.h"

void bc_show_option(const bc_pool *pool, const bc_quote_option *option);
void bc_show_exception(const bc_pool *pool, const bc_exception *exception);

/* The designs of the pool that are the best so far, by their forecasts, of those with as many layers; each once. */
bc_status bc_show_designs(bc_pool *pool, bc_error *error);

#endif
