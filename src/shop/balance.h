/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_BALANCE_H
#define BLOOMCOAT_BALANCE_H
/*
 * From the lowest limit_used towards the most good runs.
 *
 * Runs drift, and a drift of the whole scale moves the spectrum in wavelength: so the design is refined for bands a
 * little wider than asked. Then the callout that fails most often is made harder for the refinement, and so a few
 * times. What is judged is always the callouts as asked; the best design met is kept.
 */
#include "judge.h"

/* Improve `stack`, whose judgment in `runs` runs is `judgment` (its yield known). Stops as soon as the yield is asked
 * for and `margin` more. */
bc_status bc_balance(const bc_quote_request *request, const bc_design_problem *problem, size_t runs, size_t threads,
                     double margin, bc_stack *stack, bc_judgment *judgment, bc_error *error);

#endif
