/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LEARN_H
#define BLOOMCOAT_LEARN_H
/*
 * What the chamber really does, by the measured witnesses of its runs: of one design or of several.
 *
 * MODEL. Layer j of run r, of material m, comes out as d_j times
 *
 *     1 + a_m + u_j + s_m b_r + e_rj
 *
 * a_m: what the tooling factor is off; u_j ~ N(0, between layers): what this layer of this design is off in every run
 * alike; b_r ~ N(0, between runs): one number for the run; e_rj ~ N(0, within a run, of material m). Runs made with
 * other tooling factors count for what they would have been with the reference's. As in <bloomcoat/runs.h> a scan gives
 * no thicknesses but a likelihood of them, so that the fit's own uncertainty counts neither as scatter nor as
 * knowledge.
 *
 * ESTIMATE. The three kinds of sigma by restricted maximum likelihood (Patterson and Thompson, Biometrika 58, 545
 * (1971); from memory), each with a weak lognormal prior about what the process says (a factor of 3 either way is one
 * standard deviation). Between layers is estimated where a material has two layers in some design, else it is 0.
 * Intervals of a sigma are 95 %, of chi-square form with the degrees of freedom nu that its curvature is worth, nu =
 * 1 / (2 var(log sigma)) (after Satterthwaite, Biometrics Bulletin 2, 110 (1946); from memory). a_m and a straight line
 * over the order of the runs by generalized least squares, intervals by Student's t with runs - 1 (with the line: runs
 * - 2) degrees of freedom, fewer where the layers' own scatter is most of the
 * variance; the instrument's wavelength uncertainty is added to those of a_m.
 *
 * Coverage over simulated histories: tests/inspect/learn_coverage.c.
 */
#include <bloomcoat/runs.h>

BC_API_BEGIN

typedef struct bc_learn_layer {
    char material[BC_NAME_SIZE];
    double design_nm;
    double tooling; /* that the run was made with; 0: not known, taken for the reference's */
    bool against;   /* run_thickness_sigma of its material is negative */
} bc_learn_layer;

/* The index of a material in one run, where it was fitted. */
typedef struct bc_learn_index {
    char material[BC_NAME_SIZE];
    double dn, dn_sigma;
} bc_learn_index;

typedef struct bc_learn_run {
    size_t layers;
    bc_learn_layer *layer;      /* [layers] outer layer first */
    double *information, *pull; /* [layers * layers] per nm^2, [layers] per nm: of bc_inspect_result */
    double of_instrument;       /* standard uncertainty of a factor that all runs share, a share */
    size_t indices;
    bc_learn_index *index; /* [indices] */
} bc_learn_run;

/* What an inspection says of its run. *counts false: it says nothing (no good fit with the design's layers, or another
 * angle); then there is nothing to release, else bc_learn_run_clear(). */
bc_status bc_learn_run_from(const bc_inspect_result *witness, const bc_inspect_setup *setup, bc_learn_run *run,
                            bool *counts, bc_error *error);
void bc_learn_run_clear(bc_learn_run *run);

/* A standard deviation, as a share of the thickness. */
typedef struct bc_learn_sigma {
    bc_interval sigma;
    double freedom;     /* degrees of freedom it is known with */
    size_t runs_needed; /* to know it to 20 %, 95 times in 100, by this kind of runs; 0: more runs do not help */
    double before;      /* what the process says; NAN: nothing */
} bc_learn_sigma;

/* A straight line over the order of the runs: the change from first to last, a share. */
typedef struct bc_learn_drift {
    bc_interval change;
    double chance; /* of a line as steep or steeper where there is none */
    bool drifts;   /* chance times the materials is below 0.05 */
} bc_learn_drift;

typedef struct bc_learn_material {
    char name[BC_NAME_SIZE];
    size_t layers, runs; /* seen in all: layers of runs, runs */
    bool tooling_known;
    double tooling;                               /* the reference's; 1 where it gives none */
    bc_interval factor;                           /* 1 + a_m */
    double factor_variance;                       /* of the instrument's wavelengths, too */
    double probability, correction, next_tooling; /* as in bc_runs_material */
    bc_learn_sigma within;
    bc_learn_drift drift;
    size_t index_runs;       /* runs with a fitted index; below 3 nothing is estimated */
    bc_interval index_sigma; /* standard deviation of n from run to run, */
    double index_freedom;    /* known with so many degrees of freedom */
    double index_before;     /* NAN: the process says nothing */
} bc_learn_material;

typedef struct bc_learn_result {
    size_t runs, designs;
    bc_learn_sigma between_runs, between_layers;
    bool layers_known; /* false: between_layers is 0, for no design has two layers of one material */
    bool drift_known;  /* at least BC_LEARN_DRIFT_LEAST runs */
    bool about_lines;  /* some material drifts: all scatter is about the lines, factors are those of the middle */
    size_t materials;
    bc_learn_material *material; /* [materials] by first appearance */
    /* The reference with the new figures, and the runs that each is worth. A layer's scatter has both kinds in it. A
     * tooling factor is worth fewer runs where it was left although it is off, or drifts. */
    bc_process process;
} bc_learn_result;

#define BC_LEARN_LEAST       3
#define BC_LEARN_DRIFT_LEAST 5

/* From runs in the order they were made. `reference`: the process file to replace; NULL: nothing is known.
 * BC_ERROR_INPUT for fewer than BC_LEARN_LEAST. Release *out with bc_learn_result_clear(). */
bc_status bc_learn(size_t count, const bc_learn_run *run, const bc_process *reference, bc_learn_result *out,
                   bc_error *error);
void bc_learn_result_clear(bc_learn_result *result);

BC_API_END

#endif
