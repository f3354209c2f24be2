/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_YIELD_H
#define BLOOMCOAT_YIELD_H
/*
 * The share of runs that will meet the callouts, by simulated runs.
 *
 * Run r deposits layer j with thickness d_j (1 + bias + sigma_j e_j), bias being one normal error that all layers of
 * the run share and e_j a normal error of the layer's own, and with every material's n shifted by index_sigma times one
 * normal error. Each run is judged by the engine on the verdict's own samples, on every glass: it is good when every
 * limit_used is at most 1 (on a curved surface at some of the problem's zones, the vertex and the edge among them).
 * Values the process does not give count as no error of that kind.
 *
 * The errors of run r depend on the seed and r alone (bias first, then materials by name, then layers in order of
 * deposition), so any number of threads gives the same result, and two designs under one seed see the same errors.
 * No layer comes out thinner than 0, no index below 0.01. With BC_BACK_SAME both faces of a part are of the same run; a
 * back with a stack of its own is as designed.
 *
 * Interval: Clopper and Pearson, Biometrika 26, 404 (1934). Influence: total-effect index of Sobol' by Jansen's
 * estimator (Jansen, Comput. Phys. Commun. 117, 35 (1999)).
 *
 * Where the process says by how many runs its figures are known (bc_process_runs), known_yield says between which
 * bounds that leaves the yield: the yields of 1023 processes drawn from what so many runs leave open, a standard
 * deviation by chi-square, a tooling factor by its own scatter over the square root of the runs (Box and Tiao, Bayesian
 * Inference in Statistical Analysis, 1973, ch. 2; from memory). How often the interval holds the true yield is measured
 * in tests/histories.
 */
#include <bloomcoat/colour_scatter.h>
#include <bloomcoat/design.h>
#include <bloomcoat/process.h>

BC_API_BEGIN

/* A bound on the work of a yield, in evaluations of one layer at one sample (wavelength, angle, polarization) of one
 * run; the last substrate counts as a layer. Some ten minutes of two processors. It is no clock: the same question has
 * the same answer on a busy machine. */
#define BC_MOST_YIELD_WORK 5e11
#define BC_FEWEST_RUNS     1000 /* where the bound is lower than their work, no yield is begun */

typedef struct bc_yield_options {
    size_t runs; /* >= 1, below 2^32 */
    unsigned long seed;
    size_t threads;       /* 0: as many as the machine has */
    bool quick;           /* a first look: judged on the search's fewer samples, which is a little lenient */
    bool influence;       /* compute the influences too */
    bool sigma_for_yield; /* and the process at which the yield would be 95 % */
    bool percentiles;     /* and the percentile curves */
    bool colours;         /* and the colours of the runs; without effect on a quick look */
    bool known_yield;     /* and what the runs the process is known by leave open */
    double most_work;     /* 0: no bound; see BC_MOST_YIELD_WORK */
    bc_progress progress; /* may be NULL; limit_used is then the share of good runs so far, a fraction */
    void *progress_context;
} bc_yield_options;

/* What a process that is known by some runs leaves open of a yield. */
typedef struct bc_known_yield {
    double runs;      /* the fewest that a material's figures are known by; 0: the process says none, all are exact */
    double low, high; /* 95 % of the processes lie between; NAN where runs is 0 */
    double average;   /* of the yields of all of them */
} bc_known_yield;

/* What an influence belongs to. */
typedef struct bc_influence {
    char material[BC_NAME_SIZE]; /* empty for the bias of the run */
    size_t layer;                /* 0 = outer layer; (size_t)-1 for the index of a material, and for the bias */
    double influence; /* share of the variance that vanishes only when this error does; they may add to > 1 */
} bc_influence;

/* The callout's quantity against wavelength over the runs, in its band on one glass; of its angles and planes the one
 * where the design uses most of the limit. Callouts that ask about the same light share a curve, under the first. */
typedef struct bc_percentile_curve {
    const bc_callout *callout;
    const bc_medium *substrate;
    double aoi_rad;
    const bc_zone *zone; /* of a curved surface, the zone where the design uses most of the limit; NULL: a plane one */
    bc_polarization polarization; /* BC_POL_S or _P when the callout asks for each */
    size_t count;
    double *wavelength_nm; /* [count] */
    double *value[5];      /* [count] fractions: 2.5, 16, 50, 84 and 97.5 % of the runs lie below */
} bc_percentile_curve;

/* The colour of each run, of what a callout on a colour or a luminous value sees on one glass; of its angles and planes
 * the one where the design uses most of the limit. */
typedef struct bc_colour_cloud {
    const bc_callout *callout;
    const bc_medium *substrate;
    double aoi_rad;
    const bc_zone *zone;
    bc_polarization polarization;
    bc_colour design; /* on the yield's samples */
    bc_colour_scatter scatter;
} bc_colour_cloud;

typedef struct bc_yield_result {
    size_t runs, good;
    unsigned long seed;
    size_t asked;                        /* runs; more than were made where most_work was not enough for all, */
    bool left_out;                       /* or for the influences or scale_for_95 that were asked for */
    double yield, yield_low, yield_high; /* fractions; 95 % interval, of no width when there are no errors */
    bc_known_yield known;                /* runs 0: not asked for, or stopped */
    double limit_used;                   /* of the design itself, on the same samples */
    bool no_errors;                      /* the process gives no error of any kind: every run is the design */
    size_t influences;
    bc_influence *influence;   /* layers from the outer one, then indices by name, then the bias */
    bool influence_of_failure; /* of the failure itself; false: of limit_used (over 99 % of the runs pass, or under 1 %)
                                */
    double scale_for_95; /* all sigmas and the bias times this: the yield is 95 %; 0 when even a perfect process fails,
                            INFINITY when 20 times the errors still pass, NAN when not asked for */
    size_t decisive;     /* index of the callout that fails most often; of equals, where the design uses most */
    double *fails;       /* [problem->callouts->count] share of runs in which it fails, on whichever glass */
    size_t curves;
    size_t curve_runs; /* the percentiles are those of so many runs: 2000 at most */
    bc_percentile_curve *curve;
    size_t clouds;
    size_t cloud_runs; /* 2000 at most */
    bc_colour_cloud *cloud;
} bc_yield_result;

/* Simulate the runs of `stack` under `process` (NULL: nothing is known of it) against problem->callouts on every
 * problem->substrate. The stack's own incident medium and materials count; problem->incident, material, max_layers and
 * the thickness limits are not used. Influences take 4096 runs for each error and once more, whatever the runs;
 * scale_for_95 takes up to 5000 for each scale it tries. What most_work does not suffice for is left out, scale_for_95
 * first, then the influences, then runs, down to BC_FEWEST_RUNS (or those asked for); less is refused.
 *
 * BC_ERROR_INPUT for 0 runs, an incident medium that absorbs, a table that does not reach, a glass of which no
 * callout speaks, rows with scope part and no back. When `progress` returns false the runs stop: runs are those done,
 * and what came after is left out (influences 0, scale_for_95 NAN). */
bc_status bc_yield(const bc_design_problem *problem, const bc_stack *stack, const bc_process *process,
                   const bc_yield_options *options, bc_yield_result *result, bc_error *error);
void bc_yield_result_clear(bc_yield_result *result);

/* The Clopper-Pearson interval of a proportion, `confidence` in (0, 1). */
void bc_proportion_interval(size_t good, size_t runs, double confidence, double *low, double *high);

BC_API_END

#endif
