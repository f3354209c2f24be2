/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is known beforehand of layers and indices, by what a process says and what is usual.
 */
#include "problem.h"
#include <math.h>
#include <stdint.h>

static const sight straight = {0.0, BC_POL_UNPOLARIZED, BC_BACK_NONE};

/* What a process says counts in place of what is usual; no width is more than the weak prior's, a quarter and 2 nm. */
START_TEST(priors_of_layers_and_indices)
{
    bc_error error = {0};
    bc_fit fit;
    problem s;
    problem_open(&s, &straight, false);
    bc_fit_setup setup = s.fit.setup;
    setup.back = &s.b.setup.back;
    const bc_extra scattered = {.scatter = 0.07, .material = SIZE_MAX, .common = 0.05};
    setup.extra = &scattered;
    setup.usual_scatter = 0.01;
    ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
    ck_assert(fit.setup.back == NULL && fit.setup.extra == NULL); /* they may be gone before the fit is */
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_double_eq_tol(fit.prior_sigma[j], 0.07 * six_nm[j], 1e-12);
        ck_assert_double_eq_tol(fit.prior_bias[1][j], 0.05 * six_nm[j], 1e-12);
        ck_assert_double_eq_tol(fit.prior_bias[0][j], -0.03 * six_nm[j], 1e-12);
    }
    bc_fit_close(&fit);
    setup.extra = NULL;
    for (int way = 0; way < 4; way++) { /* nothing known: usual; weak; known by a process that is far too wide */
        s.row.thickness_sigma = way == 2 ? 3.0 : 0.0;
        setup.weak = way == 1;
        setup.usual_scatter = way == 3 ? 0.0 : 0.01;
        ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
        for (size_t j = 0; j < LAYERS; j++) {
            ck_assert_double_eq_tol(fit.prior_sigma[j], way == 0 ? 0.01 * six_nm[j] : 0.25 * six_nm[j] + 2.0, 1e-12);
            ck_assert_double_eq(fit.prior_bias[0][j], way == 1 ? 0.0 : s.row.run_thickness_sigma * six_nm[j]);
        }
        ck_assert(fit.has_index && fit.has[BC_SHARED_FIRST] && fit.has[BC_SHARED_SECOND] && fit.has[BC_SHARED_SCALE]);
        ck_assert(fit.has[BC_SHARED_RUN] == (way != 1) && !fit.has[BC_SHARED_COMMON] && !fit.has[BC_SHARED_CONSTANT]);
        bc_fit_close(&fit);
    }
    for (int way = 0; way < 5; way++) {
        static const double index_sigma[] = {0.2, 0.0, 0.0, 0.0, 0.0};
        static const double expected[] = {0.05, 0.05, 0.013, 1e-9, 1e-9};
        s.row.index_sigma = index_sigma[way];
        s.row.has_index_sigma = way == 0 || way == 3;
        setup.fit_index = way < 2;
        setup.usual_index = way == 4 ? 0.0 : 0.013;
        ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
        ck_assert_double_eq(fit.index_sigma[1], expected[way]);
        ck_assert_int_eq(fit.has_index, way < 3);
        bc_fit_close(&fit);
    }
    problem_close(&s);
}
END_TEST

/* A design may lie in a longer array: what a process says of a material behind its last layer is not fitted. */
START_TEST(no_prior_of_what_lies_behind)
{
    bc_process_row row = {.material = "1.70", .has_run_thickness_sigma = true, .run_thickness_sigma = 0.02};
    const bc_process process = {.rows = 1, .row = &row};
    bc_layer longer[LAYERS + 1];
    bc_error error = {0};
    bc_fit fit;
    problem s;
    problem_open(&s, &straight, false);
    bc_stack design = s.b.design;
    for (size_t j = 0; j < LAYERS; j++)
        longer[j] = design.layer[j];
    longer[LAYERS] = (bc_layer){bench_medium(&s.b, "1.70"), 50.0, false};
    design.layer = longer;
    bc_fit_setup setup = s.fit.setup;
    setup.back = &s.b.setup.back;
    setup.stack = &design;
    setup.process = &process;
    ck_assert_int_eq(bc_fit_open(&setup, &fit, &error), BC_OK);
    ck_assert(!fit.has[BC_SHARED_RUN]);
    ck_assert_uint_eq(fit.materials, 2);
    bc_fit_close(&fit);
    problem_close(&s);
}
END_TEST

TCase *priors_case(void)
{
    TCase *tests = tcase_create("priors");
    tcase_add_test(tests, priors_of_layers_and_indices);
    tcase_add_test(tests, no_prior_of_what_lies_behind);
    return tests;
}
