/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RUNS_H
#define BLOOMCOAT_RUNS_H
/*
 * What several runs of one design say of the chamber: tooling factors and scatter, for the next process file.
 *
 * MODEL. Layer j of run r, of material m, comes out as d_j (1 + a_m + s_m b_r + e_rj): a_m is what the tooling is off,
 * b_r ~ N(0, run sigma) one number for the run (s_m the sign of the material's run_thickness_sigma), e_rj ~ N(0,
 * sigma_m) one for each layer. A scan does not give thicknesses but a likelihood of them, normal near the fit: its
 * information matrix has the noise and the instrument in it, and the fit's own priors taken out. Thicknesses are
 * integrated over, so the fit's uncertainty counts neither as scatter nor as knowledge.
 *
 * ESTIMATE. The sigmas by restricted maximum likelihood (Patterson and Thompson, Biometrika 58, 545 (1971); from
 * memory), each with a weak prior: lognormal about what the process says (1 % of a layer, 2 % of a run where it says
 * nothing; common practice, no source), a factor of 2 either way being one standard deviation. a_m by generalized least
 * squares. Intervals are 95 %: of a_m by Student's t with as many degrees of freedom as runs, the wavelength
 * uncertainty of the instrument added, of a sigma by the curvature of the likelihood in its logarithm.
 *
 * SHRUNK. A tooling is as likely as not to be right beforehand, and else off by a normal number of 5 %. Unless that
 * has a probability of 0.9 it is left alone, so that random errors correct nothing; else the correction is its expected
 * value. A run counts whatever its cause, as long as it fits with the layers of the design.
 */
#include <bloomcoat/inspect.h>

BC_API_BEGIN

typedef struct bc_interval {
    double value, low, high;
} bc_interval;

typedef struct bc_runs_material {
    bc_medium material;
    size_t layers; /* of the design */
    bool tooling_known;
    double tooling;      /* as it was; 1 where the process gives none */
    bc_interval factor;  /* 1 + a_m: thickness on the part / what was asked */
    double probability;  /* that the tooling is off */
    double correction;   /* shrunk; 1: none */
    double next_tooling; /* tooling * correction */
    bc_interval sigma;   /* of a layer, a share */
    double sigma_before; /* what the process says; NAN: nothing */
} bc_runs_material;

typedef struct bc_runs {
    size_t runs, left_out; /* left out: no good fit with the design's layers, or another angle */
    bc_interval run_sigma; /* a share */
    size_t materials;
    bc_runs_material *material; /* [materials] as they first appear from the outer layer */
    bc_process process;         /* the setup's, with the new figures */
} bc_runs;

#define BC_RUNS_LEAST 2

/* From the witnesses of a lot, one a run, made under setup->process. With fewer than BC_RUNS_LEAST to go by only
 * `runs` and `left_out` are set. On success *out must be released with bc_runs_clear(). */
bc_status bc_runs_estimate(size_t count, const bc_inspect_result *witness, const bc_inspect_setup *setup, bc_runs *out,
                           bc_error *error);
void bc_runs_clear(bc_runs *runs);

BC_API_END

#endif
