/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_QUOTE_OPTIONS_H
#define BLOOMCOAT_QUOTE_OPTIONS_H
/*
 * The options of a quote: designs by their number of layers, each with its yield and hours, and which is recommended.
 */
#include "judge.h"

/* Fill option, parts_per_load, runs, yield_known. */
bc_status bc_options_find(const bc_quote_request *request, const bc_design_problem *problem, bc_quote_result *result,
                          bc_error *error);

/* Set recommended and verdict. */
void bc_options_choose(const bc_quote_request *request, bc_quote_result *result);

#endif
