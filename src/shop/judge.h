/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_JUDGE_H
#define BLOOMCOAT_JUDGE_H
/*
 * One design on paper and in runs.
 */
#include "watch.h"
#include <bloomcoat/quote.h>

#define BC_LOOKS_ARE_BELOW                                                                                             \
    1000 /* so few runs only look where to go on: they are judged quickly, and verified later                          \
          */

typedef struct bc_judgment {
    double limit_used;
    double yield, yield_low, yield_high; /* NAN: the process gives no error, or is not known */
} bc_judgment;

/* Without a process, or when the paper already fails and `runs` is 0, no runs are made. `fails` may be NULL, or
 * [callouts]. Where `watch` says stop the yield is that of fewer runs. */
bc_status bc_quote_judge(const bc_quote_request *request, const bc_design_problem *problem, const bc_stack *stack,
                         size_t runs, unsigned long seed, size_t threads, bc_thread_watch *watch, bc_judgment *judgment,
                         double *fails, bc_error *error);

/* Whether a judgment is what was asked for: met on paper, and by the share of runs where that is known. `margin` is
 * added to the share. */
bool bc_judged_good(const bc_quote_request *request, const bc_judgment *judgment, double margin);

#endif
