/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CHECK_H
#define BLOOMCOAT_CHECK_H
/*
 * The verdict: a stack held against its callouts.
 *
 * A band is sampled at 201 points at least, its ends among them, in steps of at most from_nm / 400 and of at most a
 * sixteenth of the narrowest fringe the stack, or the back's own, can have; an angle range at both ends, at most 5
 * degrees and at most an eighth of a fringe apart. The worst point is then located between the samples by Brent's
 * method (GSL), in wavelength and in angle. A mean is the integral over the band (Simpson's rule on the same samples)
 * divided by its width.
 *
 * limit_used: value / limit for "at most"; (1 - value) / (1 - limit) for "at least". 1 is exactly at the limit.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

BC_API_BEGIN

/* One callout's verdict on one glass. */
typedef struct bc_finding {
    const bc_callout *callout;
    const bc_medium *substrate;
    double value; /* fraction: the worst value in the band, or the worst mean */
    double limit_used;
    double at_nm; /* where it is worst; for a mean, where the band is at its worst */
    double at_aoi_rad;
    bc_polarization at_polarization; /* BC_POL_S or _P when the row asks for each, else the row's own */
    bool pass;
    const struct bc_zone *zone; /* where on a curved surface it is worst (zones.h); NULL on a plane one */
} bc_finding;

typedef struct bc_check_result {
    bool pass;
    double limit_used; /* the largest of the findings */
    size_t decisive;   /* the finding that has it */
    size_t count;
    bc_finding *finding; /* ordered by substrate, then by callout */
} bc_check_result;

/* Check `stack` on each of `substrates` glasses in place of its own (substrates 0: on its own). `back` serves the rows
 * with scope `part`; BC_BACK_NONE there is an error. Callouts meant for another glass are left out; when none remains
 * for a glass that is BC_ERROR_INPUT. The result points into `callouts` and `substrate` (or `stack`). */
bc_status bc_check(const bc_stack *stack, const bc_callouts *callouts, size_t substrates, const bc_medium *substrate,
                   const bc_back *back, bc_check_result *result, bc_error *error);
void bc_check_result_clear(bc_check_result *result);

/* Called now and then with how far a check is: 0 to 1 of its samples. */
typedef void (*bc_check_progress)(void *context, double fraction);

/* bc_check(), which says how far it is; for stacks of so many layers that it takes long. The same result. */
bc_status bc_check_with_progress(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                                 const bc_medium *substrate, const bc_back *back, bc_check_progress progress,
                                 void *context, bc_check_result *result, bc_error *error);

/* Set pass, limit_used and decisive from the findings. */
void bc_check_result_conclude(bc_check_result *result);

/* limit_used of one value (fraction): (value - ideal) / (limit - ideal), see bc_callout_ideal(). Of a ratio s / p at
 * least 0: one beyond the ideal uses nothing of the limit. */
double bc_limit_used(const bc_callout *callout, double value);

BC_API_END

#endif
