/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_COLOUR_RUNS_H
#define BLOOMCOAT_COLOUR_RUNS_H
/*
 * The colour of many simulated runs of one stack: how far it scatters over a lot.
 *
 * The runs are those of bc_yield() with the same seed: the same errors of layers, indices and the whole run.
 */
#include <bloomcoat/yield.h>

BC_API_BEGIN

/* Whose colour, seen how. */
typedef struct bc_colour_view {
    const bc_stack *stack;
    const bc_back *back;          /* BC_BACK_NONE: the coated surface alone */
    bc_polarization polarization; /* not BC_POL_EACH */
    bc_illuminant illuminant;
    bc_observer observer;
    size_t angles;
    const double *aoi_rad; /* [angles], all different */
} bc_colour_view;

typedef struct bc_colour_runs {
    size_t runs, angles;
    unsigned long seed;
    bool no_errors;             /* the process gives no error of any kind: every run is the design */
    bc_colour_scatter *scatter; /* [angles], each at one of them */
} bc_colour_runs;

/* Simulate options->runs runs (seed, threads and progress as for bc_yield(); what it says of callouts does not count).
 * A stop by the progress is BC_OK with the runs done. On success *out must be released with bc_colour_runs_clear(). The
 * errors are those of bc_yield() and bc_colour_compute(). */
bc_status bc_colour_simulate(const bc_colour_view *view, const bc_process *process, const bc_yield_options *options,
                             bc_colour_runs *out, bc_error *error);
void bc_colour_runs_clear(bc_colour_runs *runs);

BC_API_END

#endif
