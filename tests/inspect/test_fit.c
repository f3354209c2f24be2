/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DRAWS MANY_OR_FEW(24, 4)
#define NOISE 2e-4

/* How a witness is looked at. */
typedef struct look_at {
    unsigned what;
    double aoi_deg;
    bc_polarization polarization;
    bc_back_kind back;
    double offset; /* standard uncertainty */
    bool known;    /* the noise from repeats */
} look_at;

static const look_at looks[] = {
    {BC_MEASURED_R, 0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE, 0.0, true},
    {BC_MEASURED_R, 0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE, 1e-3, true},
    {BC_MEASURED_R, 0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE, 1e-3, false},
    {BC_MEASURED_T, 0.0, BC_POL_UNPOLARIZED, BC_BACK_UNCOATED, 1e-3, true},
    {BC_MEASURED_R | BC_MEASURED_T, 0.0, BC_POL_UNPOLARIZED, BC_BACK_UNCOATED, 1e-3, true},
    {BC_MEASURED_R, 45.0, BC_POL_S, BC_BACK_NONE, 5e-4, true},
    {BC_MEASURED_R, 45.0, BC_POL_P, BC_BACK_NONE, 5e-4, true},
    {BC_MEASURED_R, 45.0, BC_POL_UNPOLARIZED, BC_BACK_SAME, 5e-4, false},
};
#define LOOKS (sizeof looks / sizeof *looks)

static const double went_wrong[6] = {1.02, 0.97, 1.05, 1.03, 0.95, 1.06};

/* How often the truth lies within one and within two standard errors of what was fitted. */
static void count_hits(const bc_inspect_result *result, const truth *t, size_t hits[2], size_t *trials)
{
    for (size_t j = 0; j < result->layers; j++) {
        const double away = fabs(result->layer[j].fitted_nm - t->layer[j].thickness_nm) / result->layer[j].sigma_nm;
        hits[0] += away <= 1.0;
        hits[1] += away <= 2.0;
        ++*trials;
    }
}

/* 68.27 % within one standard error, 95.45 % within two. The layers of one draw hang together, so that draws count, not
 * layers: each draw's share of layers is one figure, whose scatter over the draws gives the interval. */
START_TEST(standard_errors)
{
    const look_at *look = &looks[_i];
    size_t hits[2] = {0, 0}, trials = 0;
    double squares = 0.0, mean, sigma;
    bench b;
    truth t;
    bc_measurement exact;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.aoi_rad = look->aoi_deg * DEGREE;
    b.setup.polarization = look->polarization;
    b.setup.back = (bc_back){.kind = look->back, .substrate_mm = 1.0};
    b.setup.uncertainty = 2.0 * look->offset;
    t = bench_truth(&b);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= went_wrong[j];
    exact = bench_scan(&t, look->what, 400.0, 4.0, 101);
    for (size_t d = 0; d < DRAWS; d++) {
        bc_measurement scan = scan_copy(&exact);
        const size_t before = hits[0];
        bc_inspect_result result;
        scan_disturb(&b, &scan, NOISE, look->offset);
        if (look->known)
            scan_know_noise(&scan, NOISE);
        result = bench_inspect(&b, &scan);
        ck_assert(result.good_fit);
        count_hits(&result, &t, hits, &trials);
        squares += pow((double)(hits[0] - before) / 6.0, 2.0) / DRAWS;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    mean = (double)hits[0] / (double)trials;
    sigma = sqrt((squares - mean * mean) / DRAWS);
    /* An estimated noise widens or narrows all errors of a draw; 0.03 covers its share. Errors may be too wide, where
     * the priors of the instrument and of the cause are in them, but not too narrow. */
    ck_assert_double_ge(mean, 0.6827 - 4.0 * sigma - (look->known ? 0.0 : 0.03));
    ck_assert_double_le(mean, 0.6827 + 4.0 * sigma + 0.1);
    ck_assert_double_ge((double)hits[1] / (double)trials, 0.9545 - 4.0 * sigma);
    bc_measurement_clear(&exact);
    bench_close(&b);
}
END_TEST

/* Without noise the layers come out as they are. */
START_TEST(without_noise)
{
    const look_at *look = &looks[_i];
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.aoi_rad = look->aoi_deg * DEGREE;
    b.setup.polarization = look->polarization;
    b.setup.back = (bc_back){.kind = look->back, .substrate_mm = 1.0};
    t = bench_truth(&b);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= went_wrong[j];
    scan = bench_scan(&t, look->what, 400.0, 2.0, 201);
    result = bench_inspect(&b, &scan);
    for (size_t j = 0; j < t.layers; j++)
        ck_assert_double_eq_tol(result.layer[j].fitted_nm, t.layer[j].thickness_nm, 1e-3);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_RANDOM);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* A far common factor: the right valley is found, be it 0.7 or 1.4 times the design. */
START_TEST(far_valleys)
{
    static const double factors[] = {0.7, 0.82, 1.15, 1.4};
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&b);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= factors[_i];
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 2.0, 201);
    scan_disturb(&b, &scan, NOISE, 0.0);
    result = bench_inspect(&b, &scan);
    /* A factor so far from 1 is beyond its prior of 5 %: it may be called random. */
    ck_assert(result.cause[0].kind == BC_CAUSE_COMMON_FACTOR ||
              (fabs(factors[_i] - 1.0) > 0.25 && result.cause[0].kind == BC_CAUSE_RANDOM));
    ck_assert_double_eq_tol(result.scale, factors[_i], 5.0 * result.scale_sigma);
    ck_assert_double_le(result.scale_sigma, 1e-3);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* dn of both materials fitted with the layers: within its errors, and those are not idle. */
START_TEST(index_offsets)
{
    static const char *const index[] = {"1.46", "2.10"};
    static const double nm[] = {180.0, 260.0};
    bench b;
    truth t;
    bc_measurement exact;
    size_t hits = 0, trials = 0;
    bench_open(&b, "1.52", 2, index, nm);
    b.setup.fit_index = true;
    t = bench_truth(&b);
    t.layer[0].n += 0.01;
    t.layer[1].n -= 0.02;
    exact = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    for (size_t d = 0; d < DRAWS; d++) {
        bc_measurement scan = scan_copy(&exact);
        bc_inspect_result result;
        scan_disturb(&b, &scan, 5e-4, 0.0);
        scan_know_noise(&scan, 5e-4);
        result = bench_inspect(&b, &scan);
        ck_assert_double_le(result.material[0].dn_sigma, 0.01);
        hits += fabs(result.material[0].dn - 0.01) <= result.material[0].dn_sigma;
        hits += fabs(result.material[1].dn + 0.02) <= result.material[1].dn_sigma;
        trials += 2;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    /* The two of one draw hang together: count draws. */
    expect_share(hits / 2, trials / 2, 0.6827);
    bc_measurement_clear(&exact);
    bench_close(&b);
}
END_TEST

/* A prior from the process is used: errors drawn from it, layers that the data hardly see, and the fit's standard
 * errors stay true and become smaller than without. The bias is one number for all layers. */
START_TEST(process_prior)
{
    bc_process_row row = {.material = "*",
                          .tooling = 1.0,
                          .has_thickness_sigma = true,
                          .thickness_sigma = 0.01,
                          .has_run_thickness_sigma = true,
                          .run_thickness_sigma = 0.03};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true, .has_run_thickness_sigma = true};
    size_t hits[2] = {0, 0}, trials = 0;
    double with = 0.0, without = 0.0;
    bench b;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    for (size_t d = 0; d < 60; d++) {
        truth t = bench_truth(&b);
        const double bias = gsl_ran_gaussian(b.random, row.run_thickness_sigma);
        bc_measurement scan;
        bc_inspect_result result;
        for (size_t j = 0; j < t.layers; j++)
            t.layer[j].thickness_nm *= 1.0 + bias + gsl_ran_gaussian(b.random, row.thickness_sigma);
        scan = bench_scan(&t, BC_MEASURED_R, 400.0, 16.0, 26);
        scan_disturb(&b, &scan, 3e-3, 0.0);
        scan_know_noise(&scan, 3e-3);
        b.setup.process = NULL;
        result = bench_inspect(&b, &scan);
        without += result.layer[1].sigma_nm;
        bc_inspect_result_clear(&result);
        b.setup.process = &process;
        result = bench_inspect(&b, &scan);
        with += result.layer[1].sigma_nm;
        count_hits(&result, &t, hits, &trials);
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    ck_assert_double_lt(with, 0.7 * without);
    ck_assert_double_eq_tol((double)hits[0] / (double)trials, 0.6827, 0.12);
    bench_close(&b);
}
END_TEST

/* A residual that is more than the noise widens the errors. */
START_TEST(residual_beyond_noise)
{
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result honest, misled;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    scan_disturb(&b, &scan, NOISE, 0.0);
    scan_know_noise(&scan, NOISE);
    honest = bench_inspect(&b, &scan);
    for (size_t i = 0; i < scan.count; i++)
        scan.R.value[i] += 4.0 * NOISE * sin(0.9 * (double)i);
    misled = bench_inspect(&b, &scan);
    ck_assert_double_ge(misled.residual, 2.0);
    for (size_t j = 0; j < t.layers; j++)
        ck_assert_double_ge(misled.layer[j].sigma_nm, 2.0 * honest.layer[j].sigma_nm);
    bc_inspect_result_clear(&honest);
    bc_inspect_result_clear(&misled);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* The overlay's arithmetic, from the reference: rms and worst difference from the design. */
START_TEST(against_the_design)
{
    bench b;
    truth t;
    bc_measurement scan, designed;
    bc_inspect_result result;
    double square = 0.0, worst = 0.0, worst_nm = 0.0;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&b);
    designed = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= 1.03;
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    for (size_t i = 0; i < scan.count; i++) {
        const double away = scan.R.value[i] - designed.R.value[i];
        square += away * away / (double)scan.count;
        if (fabs(away) > fabs(worst)) {
            worst = away;
            worst_nm = scan.wavelength_nm[i];
        }
    }
    result = bench_inspect(&b, &scan);
    ck_assert_uint_eq(result.R.count, 101);
    ck_assert_uint_eq(result.T.count, 0);
    ck_assert_double_eq_tol(result.R.rms, sqrt(square), 1e-12);
    ck_assert_double_eq_tol(result.R.worst, worst, 1e-12);
    ck_assert_double_eq(result.R.worst_nm, worst_nm);
    ck_assert_double_eq_tol(result.R.design[50], designed.R.value[50], 1e-12);
    ck_assert_double_eq_tol(result.R.fitted[50], scan.R.value[50], 1e-6);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bc_measurement_clear(&designed);
    bench_close(&b);
}
END_TEST

TCase *fit_case(void)
{
    TCase *tests = tcase_create("fit");
    tcase_add_loop_test(tests, standard_errors, 0, (int)LOOKS);
    tcase_add_loop_test(tests, without_noise, 0, (int)LOOKS);
    tcase_add_loop_test(tests, far_valleys, 0, 4);
    tcase_add_test(tests, index_offsets);
    tcase_add_test(tests, process_prior);
    tcase_add_test(tests, residual_beyond_noise);
    tcase_add_test(tests, against_the_design);
    return tests;
}
