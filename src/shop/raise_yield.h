/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RAISE_YIELD_H
#define BLOOMCOAT_RAISE_YIELD_H
/*
 * From a good design to one of which more runs succeed.
 *
 * Of the runs that a response surface predicts, those worse than a share are discarded, and the design is refined so
 * that the largest limit_used of the worst ones that remain is smallest: the scenario approach to a chance constraint
 * with discarded scenarios (Calafiore and Campi, IEEE Trans. Autom. Control 51, 742 (2006), from memory). The share
 * lies between the yield and 1, so that the runs that decide are those that nearly succeed; then the yield is predicted
 * anew, and so on while it rises.
 */
#include "estimate.h"

/* `look` is that of the stack on entry, and on return. The stack keeps its layers; it is left as it is where nothing
 * better is found, and where the process has no errors. The yield asked for does not matter but for look->factor. */
bc_status bc_raise_yield(const bc_design_problem *problem, const bc_process *process, double asked, size_t rounds,
                         bc_stack *stack, bc_forecast *forecast, bc_error *error);

/* Whether `now` is better than `before`: the higher yield, then the lower usual factor; and so much better that it is
 * worth another step of the same kind. */
bool bc_raised(const bc_forecast *now, const bc_forecast *before);
bool bc_raised_much(const bc_forecast *now, const bc_forecast *before);

#endif
