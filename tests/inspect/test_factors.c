/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the layers of one material say of its factor, against closed forms of random effects (Paule and Mandel, J. Res.
 * NBS 87, 377 (1982)).
 */
#include "inspection.h"
#include "witness.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <math.h>
#include <string.h>

#define LAYERS 5

/* Layers of two materials, each known to `known` of its thickness, apart from each other. */
typedef struct layers_known {
    bc_layer_estimate layer[LAYERS];
    bc_material_found found[2];
    double covariance[LAYERS * LAYERS];
    unsigned material[LAYERS];
    bc_medium low, high;
    const bc_medium *medium[2];
    bc_inspect_setup setup;
    bc_inspect_result result;
    bc_inspection inspection;
} layers_known;

static const double design_nm[LAYERS] = {30.0, 80.0, 95.0, 160.0, 55.0};

static void open_layers(layers_known *b, const double ratio[LAYERS], double known)
{
    static const unsigned material[LAYERS] = {0, 1, 0, 0, 1};
    memset(b, 0, sizeof *b);
    memcpy(b->material, material, sizeof material);
    strcpy(b->low.name, "low");
    strcpy(b->high.name, "high");
    b->medium[0] = &b->low;
    b->medium[1] = &b->high;
    for (size_t j = 0; j < LAYERS; j++) {
        const double sigma_nm = known * design_nm[j];
        b->layer[j] =
            (bc_layer_estimate){.design_nm = design_nm[j], .fitted_nm = ratio[j] * design_nm[j], .sigma_nm = sigma_nm};
        b->covariance[j * LAYERS + j] = sigma_nm * sigma_nm;
    }
    b->result = (bc_inspect_result){
        .layers = LAYERS, .layer = b->layer, .materials = 2, .material = b->found, .covariance = b->covariance};
    b->inspection = (bc_inspection){.setup = &b->setup, .result = &b->result};
    b->inspection.fit.simulated.material = b->material;
    b->inspection.fit.simulated.medium = b->medium;
    ck_assert_int_eq(bc_tell_materials(&b->inspection, NULL), BC_OK);
}

/* Layers known exactly differ by their scatter alone: each counts alike, thick or thin; the factor is the mean of their
 * ratios and its standard error that of a mean. */
START_TEST(layers_known_exactly_count_alike)
{
    static const double ratio[LAYERS] = {1.03, 1.004, 0.995, 1.013, 0.998};
    layers_known b;
    open_layers(&b, ratio, 1e-7);
    const double mean = (1.03 + 0.995 + 1.013) / 3.0;
    const double square = pow(1.03 - mean, 2.0) + pow(0.995 - mean, 2.0) + pow(1.013 - mean, 2.0);
    ck_assert_double_eq_tol(b.found[0].factor, mean, 1e-8);
    ck_assert_double_eq_tol(b.found[0].factor_sigma, sqrt(square / 2.0 / 3.0), 1e-6);
    ck_assert_double_eq_tol(b.found[1].factor, 1.001, 1e-8);
    ck_assert_double_eq_tol(b.found[1].factor_sigma, 0.003, 1e-6);
    ck_assert(!b.found[0].off && !b.found[1].off);
    ck_assert_str_eq(b.found[1].material.name, "high");
}
END_TEST

/* Layers that agree better than they are known have no scatter: least squares by what is known of each, which is a
 * share of its thickness here. A factor far off is found. */
START_TEST(layers_that_agree_are_weighed_by_what_is_known)
{
    static const double ratio[LAYERS] = {1.0510, 1.001, 1.0500, 1.0502, 0.999};
    layers_known b;
    open_layers(&b, ratio, 0.003);
    ck_assert_double_eq_tol(b.found[0].factor, (1.0510 + 1.0500 + 1.0502) / 3.0, 1e-9);
    ck_assert_double_eq_tol(b.found[0].factor_sigma, 0.003 / sqrt(3.0), 1e-9);
    ck_assert_double_eq_tol(b.found[1].factor_sigma, 0.003 / sqrt(2.0), 1e-9);
    ck_assert(b.found[0].off && !b.found[1].off);
}
END_TEST

/* A factor is off beyond 99 % of chance: of Student's t where the layers' own scatter is all that is known of it, and
 * by more than any chamber is set. */
START_TEST(when_a_factor_is_off)
{
    const double d = 0.002, error = d / sqrt(3.0), t = gsl_cdf_tdist_Pinv(0.995, 2.0),
                 z = gsl_cdf_ugaussian_Pinv(0.995);
    for (int off = 0; off < 2; off++) {
        const double x = t * error * (off == 1 ? -1.01 : 0.99), y = off == 1 ? 5.1e-4 : 4.9e-4;
        const double ratio[LAYERS] = {1.0 + x - d, 1.0 + y, 1.0 + x, 1.0 + x + d, 1.0 + y};
        layers_known b;
        open_layers(&b, ratio, 1e-7);
        ck_assert_double_eq_tol(b.found[0].factor_sigma, error, 1e-6);
        ck_assert(b.found[0].off == off && b.found[1].off == off);
    }
    for (int off = 0; off < 2; off++) { /* known to 0.3 %, without scatter */
        const double x = z * 0.003 / sqrt(3.0) * (off == 1 ? 1.01 : 0.99);
        const double ratio[LAYERS] = {1.0 + x, 1.0, 1.0 + x, 1.0 + x, 1.0};
        layers_known b;
        open_layers(&b, ratio, 0.003);
        ck_assert(b.found[0].off == off && !b.found[1].off);
    }
}
END_TEST

/* Of a single layer its own scatter in the process cannot be told from a factor. What is known of the tooling is handed
 * on. And where the layers' covariance is none, nothing is known. */
START_TEST(a_material_of_one_layer)
{
    bc_process_row row = {
        .material = "high", .tooling = 1.3, .has_tooling = true, .thickness_sigma = 0.01, .has_thickness_sigma = true};
    const bc_process process = {.rows = 1, .row = &row, .has_tooling = true};
    const double sigma = hypot(0.003, 0.01), z = gsl_cdf_ugaussian_Pinv(0.995);
    for (int off = 0; off < 2; off++) {
        const double ratio[LAYERS] = {1.0, 1.0 + z * sigma * (off == 1 ? 1.01 : 0.99), 1.0, 1.0, 1.0};
        layers_known b;
        open_layers(&b, ratio, 0.003);
        b.material[4] = 0;
        b.setup.process = &process;
        ck_assert_int_eq(bc_tell_materials(&b.inspection, NULL), BC_OK);
        ck_assert_double_eq_tol(b.found[1].factor, ratio[1], 1e-9);
        ck_assert_double_eq_tol(b.found[1].factor_sigma, sigma, 1e-9);
        ck_assert_double_eq_tol(b.found[0].factor_sigma, 0.003 / sqrt(4.0), 1e-9);
        ck_assert(b.found[1].off == off && !b.found[0].off);
        ck_assert(b.found[1].tooling_known && b.found[1].tooling == 1.3 && b.found[1].next_tooling == 1.3);
        ck_assert(!b.found[0].tooling_known);
        b.covariance[0] = -1.0;
        gsl_set_error_handler_off(); /* as an inspection has done before */
        ck_assert_int_eq(bc_tell_materials(&b.inspection, NULL), BC_OK);
        ck_assert(b.found[0].factor == 1.0 && b.found[0].factor_sigma == 1.0 && !b.found[0].off && !b.found[1].off);
    }
}
END_TEST

TCase *factors_case(void)
{
    TCase *tests = tcase_create("factors");
    tcase_add_test(tests, layers_known_exactly_count_alike);
    tcase_add_test(tests, layers_that_agree_are_weighed_by_what_is_known);
    tcase_add_test(tests, when_a_factor_is_off);
    tcase_add_test(tests, a_material_of_one_layer);
    return tests;
}
