/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_QUOTE_OPTIONS_H
#define BLOOMCOAT_QUOTE_OPTIONS_H
/*
 * The options of a quote: for each number of layers the best design of the pool, with its yield and hours, and which is
 * recommended.
 */
#include "pool.h"

/* (Once the watch says stop, the best design alone, with a first estimate of its yield.) Fill option, parts_per_load,
 * runs, yield_known from the pool; what stood there is replaced. Then recommended, verdict, at_the_limit and obstacle.
 */
bc_status bc_options_choose(bc_pool *pool, bc_quote_result *result, bc_error *error);

/* A design on paper and in runs, with its loads and hours: fill `option`. Without `always_run` the runs of one that
 * fails on paper are not made, and its yield is NAN. */
bc_status bc_option_judge(bc_pool *pool, const bc_stack *stack, bool always_run, bc_thread_watch *watch,
                          bc_quote_option *option, bc_error *error);

/* Met on paper, by the share of runs asked for where that is known, and with no layer too thin to control. */
bool bc_option_as_asked(const bc_quote_request *request, const bc_quote_option *option);

/* Negative when `a` is to be recommended rather than `b`. */
int bc_option_prefer(const bc_quote_request *request, const bc_quote_option *a, const bc_quote_option *b);

/* Recommend this one: verdict, at_the_limit, obstacle and what else follows from it. */
void bc_options_settle(const bc_quote_request *request, size_t recommended, bc_quote_result *result);

bool bc_yield_is_known(const bc_quote_request *request);

#endif
