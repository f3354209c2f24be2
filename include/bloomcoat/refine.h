/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REFINE_H
#define BLOOMCOAT_REFINE_H
/*
 * The local optimizer: same layers, better thicknesses.
 *
 * First least squares on the limit-scaled amplitude reflectances with the analytic derivative (GSL's multilarge
 * Levenberg-Marquardt); then weighted least squares whose weights move to the worst rows and wavelengths until the
 * largest limit_used cannot fall further: a primal-dual interior-point method for the minimax problem (Nocedal and
 * Wright, Numerical Optimization, 2nd ed., ch. 19) with the Gauss-Newton Hessian of |rho|^2.
 *
 * The slopes at a thickness describe R there and a fraction of a wave around, and few callouts leave layers that no
 * slope holds. No layer therefore moves farther in one step than an eighth of the shortest wavelength asked about
 * divided by the highest index |N| among the layers (chosen by trial, no source): what comes out is what lies near the
 * start, not the best there is anywhere.
 */
#include <bloomcoat/design.h>

BC_API_BEGIN

typedef struct bc_refine_result {
    double limit_used_before; /* as bc_check() finds them */
    double limit_used;
    size_t evaluations; /* of all spectra of the merit with their derivatives */
    bc_stop stop;
} bc_refine_result;

/* Move the thicknesses of the layers of `stack` that are not fixed so that the largest limit_used becomes smallest.
 * Never returns a worse stack than it was given, unless that one broke minimum_nm or max_total_nm. Thicknesses are
 * rounded to 0.001 nm, and the figures are those of the rounded stack. */
bc_status bc_refine(const bc_design_problem *problem, bc_stack *stack, bc_refine_result *result, bc_error *error);

/* As bc_refine(), but the last and slow part of it, on the verdict's own samples, is left out when the verdict is at
 * most `good_enough` without it (BC_STOP_GOOD): to look whether something can be done, rather than how well. */
bc_status bc_refine_until(const bc_design_problem *problem, double good_enough, bc_stack *stack,
                          bc_refine_result *result, bc_error *error);

/* As bc_refine(), with a progress (its fraction is NAN: nobody can say how many steps there will be). When it says stop
 * the best so far comes out, with BC_STOP_INTERRUPTED. */
bc_status bc_refine_with_progress(const bc_design_problem *problem, bc_progress progress, void *context,
                                  bc_stack *stack, bc_refine_result *result, bc_error *error);

/* Both together. */
bc_status bc_refine_until_with_progress(const bc_design_problem *problem, double good_enough, bc_progress progress,
                                        void *context, bc_stack *stack, bc_refine_result *result, bc_error *error);

/* Errors of a run under which a design is to hold as well. */
typedef struct bc_scenarios {
    size_t count;
    const double *error; /* [count * layers] relative thickness error of every layer, outer layer first */
    size_t materials;    /* of the stack, in the order in which they first appear from the outer layer */
    const double *dn;    /* [count * materials] error of n */
} bc_scenarios;

/* As bc_refine(), but what becomes smallest is the largest limit_used of the design and of all scenarios together. The
 * figures in `result` are those of the design without error, which may come out higher than before; NULL where nobody
 * reads them, which spares two verdicts. */
bc_status bc_refine_scenarios(const bc_design_problem *problem, const bc_scenarios *scenarios, bc_stack *stack,
                              bc_refine_result *result, bc_error *error);

/* As bc_refine_scenarios(), with a progress, as bc_refine_with_progress() has it. */
bc_status bc_refine_scenarios_with_progress(const bc_design_problem *problem, const bc_scenarios *scenarios,
                                            bc_progress progress, void *context, bc_stack *stack,
                                            bc_refine_result *result, bc_error *error);

BC_API_END

#endif
