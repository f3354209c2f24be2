/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The search for an index: where it begins, which valleys and models it keeps, and what is told of them.
 */
#include "index_search.h"
#include "residue.h"
#include "witness.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COUNT 41
#define THIN  15

/* R of two pieces of one material, as a Cauchy index of three terms has it. */
typedef struct scene {
    bench b;
    double nm[COUNT], R[2][COUNT], noise[COUNT], about_nm[2], start[2 + BC_INDEX_VARIABLES];
    bc_measurement measurement[2];
    bc_layer_scan scan[2];
    bc_layer_index_setup setup;
    bc_index_finder f;
} scene;

static const double true_nm[2] = {310.0, 155.0}, cauchy[3] = {2.05, 0.03, 0.004};

static void open_scene(scene *s)
{
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.46", 1, six_index, six_nm);
    for (size_t k = 0; k < COUNT; k++) {
        s->nm[k] = 420.0 + 10.0 * (double)k;
        s->noise[k] = 3e-4;
    }
    for (size_t i = 0; i < 2; i++) {
        s->measurement[i] = (bc_measurement){
            .count = COUNT, .repeats = 100000, .wavelength_nm = s->nm, .R = {.value = s->R[i], .deviation = s->noise}};
        s->scan[i] = (bc_layer_scan){.measurement = &s->measurement[i],
                                     .incident = s->b.design.incident,
                                     .substrate = s->b.design.substrate,
                                     .piece = i};
    }
    s->about_nm[0] = 300.0;
    s->about_nm[1] = 150.0;
    s->setup = (bc_layer_index_setup){.scans = 2,
                                      .scan = s->scan,
                                      .pieces = 2,
                                      .thickness_nm = s->about_nm,
                                      .uncertainty = 2e-3,
                                      .scale_uncertainty = 0.01,
                                      .coverage_factor = 2.0};
    s->f = (bc_index_finder){.setup = &s->setup, .phi = 1.0, .least_thin = INFINITY, .start = s->start};
    ck_assert_int_eq(bc_index_data_open(&s->setup, COUNT, &s->f.data, NULL), BC_OK);
    ck_assert_int_eq(bc_index_data_open(&s->setup, THIN, &s->f.thin, NULL), BC_OK);
    ck_assert_int_eq(bc_index_fit_alloc(&s->f.data, &s->f.best, NULL), BC_OK);
    ck_assert_int_eq(bc_index_fit_alloc(&s->f.data, &s->f.trial, NULL), BC_OK);
    for (int thin = 0; thin < 2; thin++) {
        bc_index_data *data = thin == 1 ? &s->f.thin : &s->f.data;
        bc_index_begin(&s->f, BC_N_CAUCHY_3, BC_K_NONE, BC_LAYER_HOMOGENEOUS, true_nm[0], cauchy[0], &s->f.trial);
        memcpy(s->f.trial.variable + 2, cauchy, sizeof cauchy);
        ck_assert_int_eq(bc_index_evaluate(data, &s->f.trial, NULL), BC_OK);
        for (size_t e = 0; e < 2; e++)
            for (size_t i = 0; i < data->entry[e].count; i++)
                data->entry[e].value[i] = data->entry[e].fitted[i] + 1e-4 * sin((double)(7 * i + e));
    }
    for (size_t v = 0; v < BC_INDEX_VALLEYS; v++) {
        s->f.valley[v][0] = s->f.valley[v][1] = NAN;
        s->f.valley_chi2[v] = INFINITY;
    }
}

static void close_scene(scene *s)
{
    bc_index_fit_free(&s->f.best);
    bc_index_fit_free(&s->f.trial);
    bc_index_data_close(&s->f.data);
    bc_index_data_close(&s->f.thin);
    bench_close(&s->b);
}

static void set_valley(scene *s, size_t v, double thickness_nm, double index, double chi2)
{
    s->f.valley[v][0] = thickness_nm;
    s->f.valley[v][1] = index;
    s->f.valley_chi2[v] = chi2;
}

/* The pieces in their ratio, n in the middle, steeper the higher it is, hardly any k, a rough top of 3 nm; the
 * instrument is right. */
START_TEST(where_a_model_begins)
{
    static const struct {
        bc_n_model n;
        bc_k_model k;
        bc_layer_shape shape;
        size_t variables;
        double expected[14];
    } cases[] = {
        {BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, 7, {320.0, 160.0, 2.5}},
        {BC_N_CAUCHY_2, BC_K_EXPONENTIAL, BC_LAYER_ROUGH, 11, {320.0, 160.0, 2.5, 0.092125, -9.2103, 1.0, 3.0}},
        {BC_N_CAUCHY_3, BC_K_POWER, BC_LAYER_GRADED, 12, {320.0, 160.0, 2.5, 0.092125, 0.0, -9.2103, 1.0, 0.0}},
        {BC_N_SELLMEIER_1, BC_K_BENT, BC_LAYER_HOMOGENEOUS, 11, {320.0, 160.0, 2.5, -2.0, -9.2103, 1.0, 0.0}},
        {BC_N_SELLMEIER_2, BC_K_NONE, BC_LAYER_ROUGH, 11, {320.0, 160.0, 2.5, -2.0, 0.01, -2.0, 3.0}}};
    scene s;
    open_scene(&s);
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        for (size_t v = 0; v < 2 + BC_INDEX_VARIABLES; v++)
            s.f.trial.variable[v] = 99.0;
        s.f.trial.rough = true;
        bc_index_begin(&s.f, cases[c].n, cases[c].k, cases[c].shape, 320.0, 2.5, &s.f.trial);
        ck_assert_uint_eq(s.f.trial.variables, cases[c].variables);
        ck_assert(s.f.trial.n == cases[c].n && s.f.trial.k == cases[c].k && s.f.trial.shape == cases[c].shape);
        ck_assert(!s.f.trial.rough);
        for (size_t v = 0; v < s.f.trial.variables; v++)
            ck_assert_double_eq_tol(s.f.trial.variable[v], cases[c].expected[v], 1e-4);
    }
    double variable[4];
    bc_n_start(BC_N_CAUCHY_2, 0.9, variable); /* no steeper below 1, and no steeper than 0.5 */
    ck_assert_double_eq_tol(variable[1], 0.001, 1e-12);
    bc_n_start(BC_N_CAUCHY_2, 4.0, variable);
    ck_assert_double_eq(variable[1], 0.5);
    bc_k_start(BC_K_POWER, 0.0, variable);
    ck_assert_double_eq_tol(variable[0], log(1e-12), 1e-9);
    close_scene(&s);
}
END_TEST

/* The best four, the best first, each within 2 % once. */
START_TEST(valleys_in_order)
{
    static const double noted[][3] = {{100.0, 1.5, 50.0}, {200.0, 1.6, 40.0}, {300.0, 1.7, 60.0}, {400.0, 1.8, 30.0},
                                      {500.0, 1.9, 45.0}, {501.0, 2.0, 35.0}, {502.0, 2.1, 44.0}, {600.0, 2.2, 50.0},
                                      {400.0, 2.3, 30.0}, {612.5, 2.4, 49.0}, {203.0, 2.5, 20.0}, {800.0, 2.6, 35.0}};
    static const double expected[][3] = {
        {203.0, 2.5, 20.0}, {400.0, 1.8, 30.0}, {501.0, 2.0, 35.0}, {800.0, 2.6, 35.0}};
    scene s;
    open_scene(&s);
    for (size_t i = 0; i < sizeof noted / sizeof *noted; i++)
        bc_index_note_valley(&s.f, noted[i][0], noted[i][1], noted[i][2]);
    for (size_t v = 0; v < BC_INDEX_VALLEYS; v++) {
        ck_assert_double_eq(s.f.valley[v][0], expected[v][0]);
        ck_assert_double_eq(s.f.valley[v][1], expected[v][1]);
        ck_assert_double_eq(s.f.valley_chi2[v], expected[v][2]);
    }
    bc_index_note_valley(&s.f, 806.0, 1.4, 10.0); /* 800 lies within 2 % of it: the last becomes the first */
    ck_assert_double_eq(s.f.valley[0][0], 806.0);
    ck_assert_double_eq(s.f.valley[1][0], 203.0);
    ck_assert_double_eq(s.f.valley[3][0], 501.0);
    set_valley(&s, 0, 490.0, 1.5, 5.0); /* 500 lies 2 % off, which is another valley */
    bc_index_note_valley(&s.f, 500.0, 1.4, 4.0);
    ck_assert_double_eq(s.f.valley[0][0], 500.0);
    ck_assert_double_eq(s.f.valley[1][0], 490.0);
    close_scene(&s);
}
END_TEST

/* 1.2, and on by 4 % to 4.5, each with its usual dispersion, on the few points. */
START_TEST(the_index_that_suits_a_thickness)
{
    scene s;
    open_scene(&s);
    for (double thickness_nm = 150.0; thickness_nm < 700.0; thickness_nm *= 1.3) {
        double least = INFINITY, best = NAN, index = NAN;
        for (int step = 0; step <= 33; step++) { /* 1.2 * 1.04^33 = 4.378 */
            const double n = 1.2 * pow(1.04, step);
            bc_index_begin(&s.f, BC_N_CAUCHY_2, BC_K_NONE, BC_LAYER_HOMOGENEOUS, thickness_nm, n, &s.f.trial);
            ck_assert_int_eq(bc_index_evaluate(&s.f.thin, &s.f.trial, NULL), BC_OK);
            best = s.f.trial.chi2 < least ? n : best;
            least = fmin(least, s.f.trial.chi2);
        }
        ck_assert_int_eq(bc_index_scan_indices(&s.f, thickness_nm, &index, NULL), BC_OK);
        ck_assert_double_eq_tol(index, best, 1e-9);
    }
    ck_assert_int_eq(bc_index_find_valleys(&s.f, NULL), BC_OK);
    ck_assert_double_eq_tol(s.f.valley[0][0], true_nm[0], 6.0);
    ck_assert_double_eq_tol(s.f.valley[0][1], cauchy[0], 0.04);
    for (size_t v = 1; v < BC_INDEX_VALLEYS && isfinite(s.f.valley_chi2[v]); v++)
        ck_assert_double_ge(s.f.valley_chi2[v], s.f.valley_chi2[v - 1]);
    close_scene(&s);
}
END_TEST

/* QAICc (Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed., 2.5; from memory); the instrument's
 * four variables are no parameters. A fit counts that has a covariance and an index that falls with wavelength. */
START_TEST(what_a_fit_is_worth)
{
    scene s;
    open_scene(&s);
    bc_index_fit *fit = &s.f.trial;
    const double points = 2.0 * COUNT;
    bc_index_begin(&s.f, BC_N_CAUCHY_3, BC_K_POWER, BC_LAYER_GRADED, 300.0, 2.0, fit);
    fit->chi2 = 130.0;
    s.f.phi = 1.3;
    ck_assert_double_eq_tol(bc_index_criterion(&s.f, fit), 100.0 + 16.0 + 2.0 * 8.0 * 9.0 / (points - 9.0), 1e-9);
    const bc_layer_model model = bc_index_model_of(&s.f, fit);
    ck_assert(model.n == BC_N_CAUCHY_3 && model.k == BC_K_POWER && model.shape == BC_LAYER_GRADED);
    ck_assert(model.parameters == 8 && model.thickness_nm == 300.0);
    ck_assert_double_eq(model.criterion, bc_index_criterion(&s.f, fit));
    s.f.data.points = 9; /* no more than parameters */
    ck_assert_double_eq_tol(bc_index_criterion(&s.f, fit), 100.0 + 16.0 + 2.0 * 8.0 * 9.0, 1e-9);
    fit->covariance[0] = 1.0;
    ck_assert(bc_index_is_possible(&s.f, fit));
    fit->covariance[0] = NAN;
    ck_assert(!bc_index_is_possible(&s.f, fit));
    fit->covariance[0] = 1.0;
    fit->chi2 = INFINITY;
    ck_assert(!bc_index_is_possible(&s.f, fit));
    fit->chi2 = 130.0;
    fit->variable[3] = -0.05;
    ck_assert(!bc_index_is_possible(&s.f, fit));
    close_scene(&s);
}
END_TEST

static double lagged(const double *rest, size_t lags)
{
    double square = 0.0, sum = 1.0;
    for (size_t i = 0; i < COUNT; i++)
        square += rest[i] * rest[i];
    for (size_t lag = 1; lag < lags; lag++) {
        double product = 0.0;
        for (size_t i = lag; i < COUNT; i++)
            product += rest[i] * rest[i - lag] / square;
        if (product <= 0.0)
            return sum;
        sum += 2.0 * product;
    }
    return sum;
}

/* Points that are alike count as fewer, up to the first lag where they are not; the scans by their points. */
START_TEST(residuals_that_are_alike)
{
    double rest[2][COUNT];
    scene s;
    open_scene(&s);
    for (size_t i = 0; i < COUNT; i++) {
        rest[0][i] = 1.5 + sin((double)i / 3.0);       /* alike at all lags */
        rest[1][i] = 2.0 * sin(2.0 * (double)i / 3.0); /* at the first two */
        for (size_t e = 0; e < 2; e++) {
            bc_index_entry *entry = &s.f.data.entry[e];
            entry->noise[i] = 1e-4 * (double)(1 + i % 3);
            entry->fitted[i] = entry->value[i] - rest[e][i] * entry->noise[i];
        }
    }
    ck_assert_double_eq_tol(bc_residue_points_alike(COUNT, rest[0], COUNT / 4), lagged(rest[0], COUNT / 4), 1e-9);
    ck_assert_double_eq_tol(bc_residue_points_alike(COUNT, rest[0], COUNT / 2), lagged(rest[0], COUNT / 2), 1e-9);
    ck_assert_double_gt(lagged(rest[0], COUNT / 2), lagged(rest[0], COUNT / 4) + 0.5);
    ck_assert_double_eq_tol(bc_residue_points_alike(COUNT, rest[1], COUNT / 2), lagged(rest[1], 3), 1e-9);
    bc_index_begin(&s.f, BC_N_CAUCHY_2, BC_K_NONE, BC_LAYER_HOMOGENEOUS, 300.0, 2.0, &s.f.trial);
    s.f.data.entry[1].count = COUNT - 10; /* another scan of fewer points */
    s.f.data.points = 2 * COUNT - 10;
    double shorter[COUNT] = {0.0};
    memcpy(shorter, rest[1], (COUNT - 10) * sizeof *shorter);
    const double length =
        (lagged(rest[0], COUNT / 4) * COUNT + lagged(shorter, (COUNT - 10) / 4) * (COUNT - 10)) / (2.0 * COUNT - 10.0);
    s.f.trial.chi2 = 3.0 * (2.0 * COUNT - 10.0 - 4.0);
    ck_assert_double_eq_tol(bc_index_inflation(&s.f, &s.f.trial), 3.0 * length, 1e-9);
    s.f.trial.chi2 = 10.0; /* less than the noise allows is no reason to be surer */
    ck_assert_double_eq_tol(bc_index_inflation(&s.f, &s.f.trial), length, 1e-9);
    for (size_t e = 0; e < 2; e++)
        for (size_t i = 0; i < COUNT; i++)
            s.f.data.entry[e].fitted[i] = s.f.data.entry[e].value[i] + (i % 2 == 0 ? 1e-4 : -1e-4);
    ck_assert_double_eq(bc_index_inflation(&s.f, &s.f.trial), 1.0);
    s.f.data.points = 3;
    s.f.trial.chi2 = 7.0; /* no freedom: one, as many parameters as there may be */
    s.f.data.entry[0].count = s.f.data.entry[1].count = 0;
    ck_assert_double_eq(bc_index_inflation(&s.f, &s.f.trial), 7.0);
    close_scene(&s);
}
END_TEST

/* A valley no worse than six times the best is followed too, and the better end goes on to all points. */
START_TEST(a_model_in_the_best_valleys)
{
    for (int way = 0; way < 3; way++) {
        scene s;
        open_scene(&s);
        const size_t right = way == 2 ? 0 : 1; /* the truth lies in the second, in the first */
        set_valley(&s, right, 311.0, 2.04, way == 0 ? 59.0 : way == 1 ? 60.0 : 10.0);
        set_valley(&s, 1 - right, 190.0, 1.7, way == 2 ? 59.0 : 10.0);
        ck_assert_int_eq(bc_index_try_model(&s.f, BC_N_CAUCHY_3, BC_K_NONE, BC_LAYER_HOMOGENEOUS, NULL), BC_OK);
        const bool found = fabs(s.f.trial.variable[0] - true_nm[0]) < 1.0;
        ck_assert_int_eq(found, way != 1);
        const double chi2 = s.f.trial.chi2;
        ck_assert(found ? s.f.least_thin < THIN : s.f.least_thin > 100.0);
        ck_assert_int_eq(bc_index_evaluate(&s.f.data, &s.f.trial, NULL), BC_OK);
        ck_assert_double_eq_tol(chi2 / s.f.trial.chi2, 1.0, 1e-9);
        close_scene(&s);
    }
}
END_TEST

/* One that leaves more than half as much again as the best on the few points, and 60, is not followed. */
START_TEST(a_model_without_hope)
{
    scene s;
    open_scene(&s);
    set_valley(&s, 0, 311.0, 2.04, 10.0);
    ck_assert_int_eq(bc_index_try_model(&s.f, BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, NULL), BC_OK);
    const double least = s.f.least_thin, bound = (least - 60.0) / 1.5;
    ck_assert(isfinite(s.f.trial.chi2) && least > 61.0);
    s.f.least_thin = bound * (1.0 + 1e-6);
    ck_assert_int_eq(bc_index_try_model(&s.f, BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, NULL), BC_OK);
    ck_assert(isfinite(s.f.trial.chi2));
    ck_assert_double_eq(s.f.least_thin, bound * (1.0 + 1e-6));
    s.f.least_thin = bound * (1.0 - 1e-6);
    ck_assert_int_eq(bc_index_try_model(&s.f, BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, NULL), BC_OK);
    ck_assert(isinf(s.f.trial.chi2));
    ck_assert_double_eq(s.f.least_thin, bound * (1.0 - 1e-6));
    close_scene(&s);
}
END_TEST

static void offer(scene *s, bc_n_model n, double chi2, bc_layer_model *next)
{
    bc_index_begin(&s->f, n, BC_K_NONE, BC_LAYER_HOMOGENEOUS, 300.0 + chi2, 2.0, &s->f.trial);
    s->f.trial.covariance[0] = 1.0;
    s->f.trial.chi2 = chi2;
    bc_index_offer(&s->f, next);
}

/* The best and the next are kept, whatever the order. */
START_TEST(the_best_and_the_next)
{
    static const double orders[6][3] = {{10, 20, 30}, {10, 30, 20}, {20, 10, 30},
                                        {20, 30, 10}, {30, 10, 20}, {30, 20, 10}};
    for (size_t o = 0; o < 6; o++) {
        bc_layer_model next = {.criterion = INFINITY};
        scene s;
        open_scene(&s);
        for (size_t i = 0; i < 3; i++) {
            offer(&s, BC_N_CAUCHY_2, orders[o][i], &next);
            offer(&s, BC_N_CAUCHY_2, INFINITY, &next); /* of no account */
            if (i == 0)
                ck_assert(isinf(next.criterion));
        }
        ck_assert_double_eq(s.f.best.chi2, 10.0);
        ck_assert_double_eq(s.f.best.variable[0], 310.0);
        ck_assert_double_eq(next.thickness_nm, 320.0);
        ck_assert_double_eq_tol(next.criterion - bc_index_criterion(&s.f, &s.f.best), 10.0, 1e-9);
        close_scene(&s);
    }
}
END_TEST

/* Of the chosen model in the other valleys the best counts; its own counts as none. */
START_TEST(the_best_of_the_other_orders)
{
    bc_layer_index_result result;
    double chi2[3], nm[3];
    scene s;
    open_scene(&s);
    set_valley(&s, 0, 311.0, 2.04, 1.0);
    set_valley(&s, 1, 620.0, 1.9, 2.0);
    set_valley(&s, 2, 480.0, 1.75, 3.0);
    for (size_t v = 0; v < 3; v++) {
        bc_index_begin(&s.f, BC_N_CAUCHY_2, BC_K_NONE, BC_LAYER_HOMOGENEOUS, s.f.valley[v][0], s.f.valley[v][1],
                       &s.f.trial);
        ck_assert_int_eq(bc_index_descend(&s.f.data, &s.f.trial, 80, NULL), BC_OK);
        chi2[v] = s.f.trial.chi2;
        nm[v] = s.f.trial.variable[0];
        if (v == 0)
            bc_index_fit_copy(&s.f.data, &s.f.trial, &s.f.best);
    }
    ck_assert(chi2[0] < chi2[1] && chi2[0] < chi2[2] && fabs(nm[1] - nm[2]) > 5.0);
    const size_t other = chi2[1] < chi2[2] ? 1 : 2;
    s.f.phi = 2.0;
    ck_assert_int_eq(bc_index_try_other_orders(&s.f, &result, NULL), BC_OK);
    ck_assert_double_eq_tol(result.other_thickness_nm, nm[other], 1e-6);
    ck_assert_double_eq_tol(result.other_criterion - bc_index_criterion(&s.f, &s.f.best), 0.5 * (chi2[other] - chi2[0]),
                            1e-6 * chi2[other]);
    s.f.valley_chi2[1] = INFINITY; /* there is no second, and none behind it */
    ck_assert_int_eq(bc_index_try_other_orders(&s.f, &result, NULL), BC_OK);
    ck_assert(isnan(result.other_thickness_nm) && isinf(result.other_criterion));
    close_scene(&s);
}
END_TEST

TCase *search_case(void)
{
    TCase *tests = tcase_create("search");
    tcase_add_test(tests, where_a_model_begins);
    tcase_add_test(tests, valleys_in_order);
    tcase_add_test(tests, the_index_that_suits_a_thickness);
    tcase_add_test(tests, what_a_fit_is_worth);
    tcase_add_test(tests, residuals_that_are_alike);
    tcase_add_test(tests, a_model_in_the_best_valleys);
    tcase_add_test(tests, a_model_without_hope);
    tcase_add_test(tests, the_best_and_the_next);
    tcase_add_test(tests, the_best_of_the_other_orders);
    return tests;
}
