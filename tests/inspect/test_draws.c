/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a prediction draws, drawn again: layers and indices from their block of the covariance, the value of each, and
 * what a straight line through the slope would have given in the same draws.
 */
#include "inspection.h"
#include "witness.h"
#include <bloomcoat/callouts.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#define LAYERS 3
#define SIZE   (LAYERS + 2)
#define DRAWS  300

typedef struct scene {
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    double dn[2];
    bc_inspection inspection;
    bc_beliefs beliefs;
    bc_callout *row;
} scene;

static void open_scene(scene *s)
{
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", LAYERS, six_index, six_nm);
    s->b.setup.fit_index = s->b.setup.from_fit = true;
    s->row = bench_ask(&s->b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0);
    s->row->aoi_from_rad = s->row->aoi_to_rad = 30.0 * DEGREE;
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, BC_MEASURED_R, 400.0, 8.0, 51);
    scan_disturb(&s->b, &s->scan, 1e-3, 0.0);
    scan_know_noise(&s->scan, 1e-3);
    s->result = (bc_inspect_result){.good_fit = true};
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result, .dn = s->dn, .accounts = 1};
    s->inspection.account[0] = (bc_extra){.scatter = 0.03, .material = SIZE_MAX};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, NULL), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_again(&s->inspection, &setup, NULL), BC_OK);
    ck_assert_int_eq(bc_believe(&s->inspection, &s->beliefs, NULL), BC_OK);
}

static void close_scene(scene *s)
{
    bc_beliefs_clear(&s->beliefs);
    bc_solution_clear(&s->inspection.solution);
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

/* Layers, then indices. */
static double value_at(bc_prospect *prospect, const double x[SIZE])
{
    double nm[LAYERS], at_nm;
    for (size_t j = 0; j < LAYERS; j++)
        nm[j] = fmax(0.0, x[j]);
    return bc_prospect_value(prospect, nm, x + LAYERS, &at_nm);
}

static bool meets(const scene *s, double value)
{
    return s->row->sense == BC_AT_MOST ? value <= s->row->limit : value >= s->row->limit;
}

/* Sigma and share by draws alone (`line` NULL), or with the line in them. */
static void draw_again(const scene *s, const bc_solution *solution, const double *line, double *sigma, double *share)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_matrix *root = gsl_matrix_alloc(SIZE, SIZE);
    double x[SIZE], square = 0.0, of_line = 0.0, along = 0.0;
    long met = 0, line_met = 0;
    bc_prospect *prospect = NULL;
    ck_assert_int_eq(bc_prospect_open(&s->b.setup, s->row, &prospect, NULL), BC_OK);
    for (size_t i = 0; i < SIZE; i++)
        for (size_t k = 0; k < SIZE; k++)
            gsl_matrix_set(root, i, k, solution->covariance[i * solution->size + k]);
    gsl_linalg_cholesky_decomp1(root);
    for (size_t i = 0; i < SIZE; i++)
        x[i] = i < LAYERS ? solution->point.thickness_nm[i] : solution->point.dn[i - LAYERS];
    const double value = value_at(prospect, x);
    gsl_rng_set(random, 271828);
    for (int draw = 0; draw < DRAWS; draw++) {
        double z[SIZE], drawn[SIZE], linear = 0.0;
        for (size_t i = 0; i < SIZE; i++)
            z[i] = gsl_ran_gaussian_ziggurat(random, 1.0);
        for (size_t i = 0; i < SIZE; i++) {
            double away = 0.0;
            for (size_t k = 0; k <= i; k++)
                away += gsl_matrix_get(root, i, k) * z[k];
            drawn[i] = x[i] + away;
            linear += line == NULL ? 0.0 : line[i] * away;
        }
        const double here = value_at(prospect, drawn);
        square += (here - value) * (here - value);
        of_line += linear * linear;
        met += meets(s, here);
        line_met += meets(s, value + linear);
    }
    for (size_t i = 0; line != NULL && i < SIZE; i++)
        for (size_t k = 0; k < SIZE; k++)
            along += line[i] * line[k] * solution->covariance[i * solution->size + k];
    const double slack = s->row->sense == BC_AT_MOST ? s->row->limit - value : value - s->row->limit;
    *sigma = line == NULL ? sqrt(square / DRAWS) : sqrt(along * square / of_line);
    *share = line == NULL ? (double)met / DRAWS
                          : gsl_cdf_ugaussian_P(slack / sqrt(along)) + (double)(met - line_met) / DRAWS;
    *share = fmin(1.0, fmax(0.0, *share));
    bc_prospect_close(prospect);
    gsl_matrix_free(root);
    gsl_rng_free(random);
}

/* The slope of the value, by differences. */
static void find_line(const scene *s, const bc_solution *solution, double line[SIZE])
{
    bc_prospect *prospect = NULL;
    double x[SIZE], side[2];
    ck_assert_int_eq(bc_prospect_open(&s->b.setup, s->row, &prospect, NULL), BC_OK);
    for (size_t i = 0; i < SIZE; i++)
        x[i] = i < LAYERS ? solution->point.thickness_nm[i] : solution->point.dn[i - LAYERS];
    for (size_t i = 0; i < SIZE; i++) {
        const double kept = x[i], step = i < LAYERS ? 0.05 : 1e-4;
        for (int up = 0; up < 2; up++) {
            x[i] = kept + (up == 1 ? step : -step);
            side[up] = value_at(prospect, x);
        }
        x[i] = kept;
        line[i] = (side[1] - side[0]) / (2.0 * step);
    }
    bc_prospect_close(prospect);
}

/* Loop: at most and at least, a little below the value, above it, and far off. */
START_TEST(predictions_drawn_again)
{
    static const double beside[] = {-0.7, 0.4, 5.0};
    double line[SIZE], sigma, share;
    bc_prediction prediction, most;
    scene s;
    open_scene(&s);
    s.row->sense = _i % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST;
    ck_assert_int_eq(bc_predict(&s.inspection, s.row, DRAWS, &prediction, NULL), BC_OK);
    s.row->limit = prediction.value + beside[_i / 2] * prediction.sigma;
    ck_assert_int_eq(bc_predict(&s.inspection, s.row, DRAWS, &prediction, NULL), BC_OK);
    draw_again(&s, &s.inspection.solution, NULL, &sigma, &share);
    ck_assert_double_eq_tol(prediction.sigma / sigma, 1.0, 1e-9);
    /* without a line what counts is the side that the value itself is on, and the draws that are on the other */
    ck_assert_double_eq_tol(prediction.share, share, 1e-9);
    const bc_belief *belief = &s.beliefs.belief[0];
    ck_assert_int_eq(bc_predict_believing(&s.inspection, &s.beliefs, s.row, DRAWS, &prediction, &most, NULL), BC_OK);
    find_line(&s, &belief->solution, line);
    draw_again(&s, &belief->solution, line, &sigma, &share);
    ck_assert_double_eq_tol(prediction.sigma / sigma, 1.0, 1e-6);
    ck_assert_double_eq_tol(prediction.share, share, 1e-6);
    ck_assert(most.share == prediction.share && most.value == prediction.value);
    close_scene(&s);
}
END_TEST

TCase *draws_case(void)
{
    TCase *tests = tcase_create("draws");
    tcase_add_loop_test(tests, predictions_drawn_again, 0, 6);
    return tests;
}
