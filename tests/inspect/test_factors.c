/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the layers of one material say of its factor, against closed forms of random effects (Paule and Mandel, J. Res.
 * NBS 87, 377 (1982)).
 */
#include "inspection.h"
#include "witness.h"
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

TCase *factors_case(void)
{
    TCase *tests = tcase_create("factors");
    tcase_add_test(tests, layers_known_exactly_count_alike);
    tcase_add_test(tests, layers_that_agree_are_weighed_by_what_is_known);
    return tests;
}
