/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef INSPECT_WITNESS_H
#define INSPECT_WITNESS_H
/*
 * Witnesses whose errors are known: spectra of runs that went wrong on purpose, made by the 256-bit reference of
 * tests/reference (not by the program itself), with noise from a seeded generator added afterwards.
 */
#include "many_or_few.h"
#include "reference.h"
#include <bloomcoat/inspect.h>
#include <check.h>
#include <gsl/gsl_rng.h>

#define PI          3.14159265358979323846
#define DEGREE      (PI / 180.0)
#define MOST_LAYERS 16

/* What was really made, and how it was really looked at. */
typedef struct truth {
    double glass_n;
    size_t layers;
    reference_layer layer[MOST_LAYERS];
    bc_back_kind back;
    size_t back_layers; /* BC_BACK_OWN: from the outside to the glass */
    reference_layer back_layer[MOST_LAYERS];
    double aoi_rad;
    bc_polarization polarization;
} truth;

/* The noiseless spectrum at `count` wavelengths; R and T may be NULL. */
void truth_spectrum(const truth *t, size_t count, const double *wavelength_nm, double *R, double *T);

/* A design with a bench of everything an inspection needs. Materials are constants called by their index. */
typedef struct bench {
    bc_materials *materials;
    bc_stack design;
    bc_callouts callouts;
    bc_inspect_setup setup;
    gsl_rng *random;
} bench;

/* `layers` of alternating or any indices, from the outer one. */
void bench_open(bench *b, const char *glass, size_t layers, const char *const *index, const double *thickness_nm);
void bench_close(bench *b);
bc_medium bench_medium(bench *b, const char *name);
bc_callout *bench_ask(bench *b, bc_statistic statistic, bc_sense sense, double limit, double from_nm, double to_nm);

/* The design most tests use: six layers of 1.38 and 2.10 on 1.52. */
extern const char *const six_index[6];
extern const double six_nm[6];
/* That design, and a callout of its largest R. */
void bench_open_six(bench *b, double limit, double from_nm, double to_nm);

/* The truth that is the design itself, looked at as the setup says. */
truth bench_truth(const bench *b);

/* A scan from `from_nm` in even steps: R, T or both (BC_MEASURED_R | BC_MEASURED_T), noiseless. */
bc_measurement bench_scan(const truth *t, unsigned what, double from_nm, double step_nm, size_t count);
bc_measurement scan_copy(const bc_measurement *scan);
/* Noise of this standard deviation, and one offset for each of R and T. */
void scan_disturb(bench *b, bc_measurement *scan, double noise, double offset);
/* Say what the noise is, as if from many repeats. */
void scan_know_noise(bc_measurement *scan, double noise);

bc_inspect_result bench_inspect(const bench *b, const bc_measurement *scan);
/* Of a noiseless scan of `t`, 400 to 800 nm. */
bc_inspect_result bench_scan_and_inspect(const bench *b, const truth *t, unsigned what);

/* A share of `trials` that should be `share`: within four standard deviations of the binomial distribution. */
void expect_share(size_t hits, size_t trials, double share);
/* At most `share`, within three. */
void expect_at_most(size_t hits, size_t trials, double share);

TCase *conformity_case(void);
TCase *noise_case(void);
TCase *rule_case(void);
TCase *coverage_case(void);
TCase *match_case(void);
TCase *back_case(void);
TCase *fit_case(void);
TCase *run_case(void);
TCase *wrong_case(void);
TCase *groups_case(void);
TCase *next_case(void);
TCase *lot_case(void);
TCase *refusal_case(void);
TCase *memory_case(void);
TCase *layer_index_case(void);
TCase *prediction_case(void);
TCase *curve_case(void);
TCase *outlier_case(void);
TCase *correction_case(void);
TCase *runs_case(void);
TCase *learn_case(void);
TCase *acceptance_case(void);
TCase *parts_case(void);
TCase *control_case(void);
TCase *overlay_colour_case(void);
TCase *factors_case(void);
TCase *stencil_case(void);
TCase *behind_case(void);
TCase *told_case(void);
TCase *smooth_case(void);
TCase *problem_case(void);
TCase *band_tests(void);
TCase *likelihood_case(void);
TCase *chamber_case(void);
TCase *causes_case(void);
TCase *worst_case(void);
TCase *index_fit_case(void);
TCase *evidence_case(void);
TCase *forecast_case(void);
TCase *rows_case(void);
TCase *found_case(void);
TCase *priors_case(void);
TCase *prospect_case(void);
TCase *bounds_case(void);
TCase *details_case(void);
TCase *loss_case(void);
TCase *search_case(void);
TCase *odds_case(void);
TCase *starts_case(void);
TCase *far_case(void);
TCase *choice_case(void);
TCase *draws_case(void);

#endif
