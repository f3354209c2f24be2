/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the runs of one lot say of the chamber, against one normal distribution of all their layers (dense.h).
 */
#include "dense.h"
#include "tooling.h"
#include <bloomcoat/runs.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#define LAYERS 4
#define RUNS   5 /* of which the second explains nothing, and the fourth was seen at another angle */

static const char *const index_of[LAYERS] = {"1.38", "2.10", "1.38", "2.10"};
static const double nm[LAYERS] = {92.0, 118.0, 21.0, 31.0};

typedef struct lot {
    bench b;
    bc_process_row row[2];
    bc_process process;
    double information[RUNS][LAYERS * LAYERS], pull[RUNS][LAYERS], at_nm[3];
    bc_inspect_result witness[RUNS];
    dense d;
} lot;

static bool counts(size_t r)
{
    return r % 2 == 0;
}

static void make(lot *l, double off)
{
    static const double none[LAYERS] = {0.0};
    memset(l, 0, sizeof *l);
    bench_open(&l->b, "1.52", LAYERS, index_of, nm);
    l->row[0] = (bc_process_row){.material = "2.10",
                                 .tooling = 1.2,
                                 .has_tooling = true,
                                 .has_run_thickness_sigma = true,
                                 .run_thickness_sigma = -0.015};
    l->row[1] = (bc_process_row){.material = "1.38", .has_thickness_sigma = true, .thickness_sigma = 0.012};
    l->process = (bc_process){.rows = 2, .row = l->row, .has_tooling = true};
    l->b.setup.process = &l->process;
    l->b.setup.wavelength_uncertainty_nm = 1.0;
    l->d = (dense){.materials = 2, .sigmas = 3, .prior_log = 0.69, .fixed = 2, .unknowns = 2};
    l->d.centre[0] = log(0.012);
    l->d.centre[1] = log(0.01); /* of which no process says it */
    l->d.centre[2] = log(0.015);
    for (size_t i = 0; i < 3; i++)
        l->at_nm[i] = 420.0 + 80.0 * (double)i;
    for (size_t r = 0; r < RUNS; r++) {
        double made_nm[LAYERS];
        const size_t at = l->d.count;
        for (size_t j = 0; j < LAYERS; j++)
            made_nm[j] = nm[j] * (1.0 + 0.015 * sin((double)(5 * r + 2 * j * j)) + (j % 2 == 1 ? off : 0.0));
        for (size_t j = 0; j < LAYERS; j++)
            for (size_t k = 0; k < LAYERS; k++) {
                const double value = j == k ? 6.0 + (double)j : 1.0 - 0.4 * (double)(j + k);
                l->information[r][j * LAYERS + k] = value;
                l->pull[r][j] += value * made_nm[k];
            }
        l->witness[r] = (bc_inspect_result){.good_fit = r != 1,
                                            .causes = 1,
                                            .cause = {{.kind = r == 3 ? BC_CAUSE_ANGLE : BC_CAUSE_RANDOM}},
                                            .information = l->information[r],
                                            .pull = l->pull[r],
                                            .R = {.count = 3, .wavelength_nm = l->at_nm}};
        if (!counts(r))
            continue;
        for (size_t j = 0; j < LAYERS; j++) {
            l->d.material[at + j] = j % 2;
            l->d.sign[at + j] = j % 2 == 1 ? -1.0 : 1.0;
            l->d.X[at + j][j % 2] = 1.0;
        }
        dense_add(&l->d, r, LAYERS, nm, l->information[r], l->pull[r], none);
    }
}

/* 95 % by the curvature along the logarithm itself, no wider than the prior. */
static void expect_interval(const dense *d, const double *best, size_t which, const bc_interval *interval)
{
    double side[2], near[3];
    for (int s = 0; s < 2; s++) {
        memcpy(near, best, sizeof near);
        near[which] += s == 0 ? -0.05 : 0.05;
        side[s] = dense_objective(d, near, NULL, NULL);
    }
    const double curvature = (side[0] + side[1] - 2.0 * dense_objective(d, best, NULL, NULL)) / (0.05 * 0.05);
    const double wide = 1.959964 / sqrt(fmax(curvature, 1.0 / (0.69 * 0.69)));
    ck_assert_double_eq_tol(log(interval->high / interval->value), wide, 1e-4);
    ck_assert_double_eq_tol(log(interval->value / interval->low), wide, 1e-4);
}

/* Loop: toolings that are right, and one that is off by 8 %. */
START_TEST(sigmas_and_factors)
{
    const double of_instrument = 0.5 / 500.0;
    double best[3], mean[DENSE_UNKNOWNS], covariance[DENSE_UNKNOWNS][DENSE_UNKNOWNS];
    static lot l;
    bc_runs runs;
    bc_error error = {0};
    make(&l, _i == 0 ? 0.0 : 0.08);
    ck_assert_msg(bc_runs_estimate(RUNS, l.witness, &l.b.setup, &runs, &error) == BC_OK, "%s", error.message);
    ck_assert(runs.runs == 3 && runs.left_out == 2 && runs.materials == 2);
    best[0] = log(runs.material[0].sigma.value);
    best[1] = log(runs.material[1].sigma.value);
    best[2] = log(runs.run_sigma.value);
    const double least = dense_objective(&l.d, best, mean, covariance);
    for (size_t i = 0; i < 6; i++) {
        double near[3];
        memcpy(near, best, sizeof near);
        near[i / 2] += i % 2 == 0 ? 0.02 : -0.02;
        ck_assert_double_gt(dense_objective(&l.d, near, NULL, NULL), least);
    }
    expect_interval(&l.d, best, 2, &runs.run_sigma);
    for (size_t m = 0; m < 2; m++) {
        const bc_runs_material *material = &runs.material[m];
        const double t = gsl_cdf_tdist_Pinv(0.975, 3.0), variance = covariance[m][m] + of_instrument * of_instrument;
        double probability;
        expect_interval(&l.d, best, m, &material->sigma);
        ck_assert_uint_eq(material->layers, 2);
        ck_assert_double_eq_tol(material->factor.value, 1.0 + mean[m], 1e-7);
        ck_assert_double_eq_tol(material->factor.high, 1.0 + mean[m] + t * sqrt(variance), 1e-7);
        ck_assert_double_eq_tol(material->factor.low, 1.0 + mean[m] - t * sqrt(variance), 1e-7);
        ck_assert_double_eq_tol(material->correction,
                                bc_tooling_correction(mean[m], variance * pow(t / 1.959964, 2.0), &probability), 1e-6);
        ck_assert_double_eq_tol(material->probability, probability, 1e-6);
        ck_assert(material->tooling_known == (m == 1) && material->tooling == (m == 1 ? 1.2 : 1.0));
        ck_assert_double_eq(material->next_tooling, material->tooling * material->correction);
        const bc_process_row row = bc_process_for(&runs.process, material->material.name);
        ck_assert_double_eq(row.tooling, material->next_tooling);
        ck_assert_double_eq(row.thickness_sigma, material->sigma.value);
        ck_assert_double_eq(row.run_thickness_sigma, m == 1 ? -runs.run_sigma.value : runs.run_sigma.value);
        ck_assert(row.runs.counted == 3.0 && row.runs.tooling == 3.0 && row.runs.thickness_sigma == 3.0 &&
                  row.runs.run_thickness_sigma == 3.0);
    }
    ck_assert_int_eq(runs.material[1].correction > 1.0, _i == 1);
    ck_assert_double_eq(runs.material[0].sigma_before, 0.012);
    ck_assert(isnan(runs.material[1].sigma_before));
    bc_runs_clear(&runs);
    bench_close(&l.b);
}
END_TEST

/* An error of the wavelengths looks like a factor: its standard uncertainty over the middle of the scan, R's or else
 * T's. */
START_TEST(wavelengths_look_like_a_factor)
{
    double R_nm[] = {400.0, 450.0, 800.0}, T_nm[] = {500.0, 900.0};
    const bc_inspect_setup setup = {.wavelength_uncertainty_nm = 1.2, .coverage_factor = 2.0};
    bc_inspect_result witness = {.R = {.count = 3, .wavelength_nm = R_nm}, .T = {.count = 2, .wavelength_nm = T_nm}};
    ck_assert_double_eq_tol(bc_wavelength_factor(&setup, &witness), 0.6 / 600.0, 1e-15);
    witness.R.count = 0;
    ck_assert_double_eq_tol(bc_wavelength_factor(&setup, &witness), 0.6 / 700.0, 1e-15);
    witness.T.count = 0;
    ck_assert_double_eq(bc_wavelength_factor(&setup, &witness), 0.0);
}
END_TEST

/* A run is taken from an inspection that explained the layers of the design, whatever the cause but another angle: what
 * the scan says of them, and of the indices where these were fitted. */
START_TEST(a_run_out_of_an_inspection)
{
    static lot l;
    make(&l, 0.0);
    bc_material_found found[2] = {{.dn = 0.01, .dn_sigma = 1e-3}, {.dn = -0.02, .dn_sigma = 2e-3}};
    for (size_t m = 0; m < 2; m++)
        found[m].material = l.b.design.layer[m].material;
    for (int way = 0; way < 6; way++) {
        bc_inspect_result witness = l.witness[0];
        bc_inspect_setup setup = l.b.setup;
        bc_stack none = l.b.design;
        bc_learn_run run;
        bool does_count = way >= 2;
        witness.materials = 2;
        witness.material = found;
        witness.good_fit = way != 2;
        witness.causes = way == 3 ? 0 : 1;
        witness.cause[0].kind = way == 4 ? BC_CAUSE_ANGLE : BC_CAUSE_COMMON_FACTOR;
        none.layers = 0;
        setup.design = way == 5 ? &none : &l.b.design;
        setup.fit_index = way == 1;
        ck_assert_int_eq(bc_learn_run_from(&witness, &setup, &run, &does_count, NULL), BC_OK);
        ck_assert_int_eq(does_count, way < 2);
        for (size_t j = 0; way < 2 && j < LAYERS; j++) {
            ck_assert_str_eq(run.layer[j].material, index_of[j]);
            ck_assert(run.layer[j].design_nm == nm[j] && run.pull[j] == l.pull[0][j]);
            ck_assert(run.layer[j].tooling == (j % 2 == 1 ? 1.2 : 0.0) && run.layer[j].against == (j % 2 == 1));
            for (size_t k = 0; k < LAYERS; k++)
                ck_assert_double_eq(run.information[LAYERS * j + k], l.information[0][LAYERS * j + k]);
        }
        if (way < 2)
            ck_assert_double_eq_tol(run.of_instrument, 0.5 / 500.0, 1e-12);
        ck_assert_uint_eq(run.indices, way == 1 ? 2 : 0);
        for (size_t m = 0; m < run.indices; m++) {
            ck_assert_str_eq(run.index[m].material, index_of[m]);
            ck_assert(run.index[m].dn == found[m].dn && run.index[m].dn_sigma == found[m].dn_sigma);
        }
        bc_learn_run_clear(&run);
        ck_assert(run.layers == 0 && run.layer == NULL);
    }
    bench_close(&l.b);
}
END_TEST

TCase *chamber_case(void)
{
    TCase *tests = tcase_create("chamber");
    tcase_add_loop_test(tests, sigmas_and_factors, 0, 2);
    tcase_add_test(tests, wavelengths_look_like_a_factor);
    tcase_add_test(tests, a_run_out_of_an_inspection);
    return tests;
}
