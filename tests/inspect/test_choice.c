/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Bounds in the search for an index: how many thicknesses, which shape, and what determines nothing.
 */
#include "index_search.h"
#include "layer_index.h"
#include "witness.h"
#include <math.h>
#include <string.h>

/* Six thicknesses for each order of interference that lies between half and twice the stated one at n = 1.2, but 24 to
 * 240 of them, in equal ratios. */
START_TEST(thicknesses_to_begin_at)
{
    ck_assert_uint_eq(bc_index_starts(1000.0, 0.4), 54);
    ck_assert_uint_eq(bc_index_starts(1001.0, 0.4), 55);
    ck_assert_uint_eq(bc_index_starts(100.0, 0.4), 24);
    ck_assert_uint_eq(bc_index_starts(50000.0, 0.4), 240);
    ck_assert_double_eq_tol(bc_index_start_nm(600.0, 0, 25), 300.0, 1e-9);
    ck_assert_double_eq_tol(bc_index_start_nm(600.0, 12, 25), 600.0, 1e-9);
    ck_assert_double_eq_tol(bc_index_start_nm(600.0, 24, 25), 1200.0, 1e-9);
    ck_assert_double_eq_tol(bc_index_start_nm(600.0, 7, 25) / bc_index_start_nm(600.0, 6, 25), pow(4.0, 1.0 / 24.0),
                            1e-12);
}
END_TEST

/* A gradient or a rough top must gain six times the misfit; then the better of them. */
START_TEST(when_a_shape_is_believed)
{
    static const struct {
        double chi2[3];
        bc_layer_shape shape;
    } cases[] = {{{100.0, 88.0, 89.0}, BC_LAYER_HOMOGENEOUS}, {{100.0, 87.9, 88.1}, BC_LAYER_GRADED},
                 {{100.0, 88.1, 87.9}, BC_LAYER_ROUGH},       {{100.0, 80.0, 79.0}, BC_LAYER_ROUGH},
                 {{100.0, 79.0, 80.0}, BC_LAYER_GRADED},      {{INFINITY, INFINITY, 500.0}, BC_LAYER_ROUGH}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++)
        ck_assert_int_eq(bc_index_believe_shape(cases[c].chi2, 2.0), cases[c].shape);
}
END_TEST

/* What determines nothing: a misfit of more than five and of more than 0.5 % rms, a thousandth of the light that comes
 * through at best, n in the middle known to no better than 0.2. */
START_TEST(what_determines_nothing)
{
    static const struct {
        double misfit, residual, transmitted, n_sigma;
        bool fine;
    } cases[] = {{5.0, 0.006, 1.0, 0.1, true}, {5.1, 0.005, 1.0, 0.1, true},    {5.1, 0.0051, 1.0, 0.1, false},
                 {1.0, 1e-4, 1e-3, 0.1, true}, {1.0, 1e-4, 0.9e-3, 0.1, false}, {1.0, 1e-4, 1.0, 0.199, true},
                 {1.0, 1e-4, 1.0, 0.2, false}, {1.0, 1e-4, 1.0, NAN, false},    {4.9, 0.006, 1.0, 0.1, true}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        double n_sigma[5] = {9.0, 9.0, cases[c].n_sigma, 9.0, 9.0}, nm_sigma = 1.0;
        bc_error error = {0};
        const bc_layer_index_result result = {.count = 5,
                                              .misfit = cases[c].misfit,
                                              .residual = cases[c].residual,
                                              .transmitted = cases[c].transmitted,
                                              .thickness_sigma_nm = &nm_sigma,
                                              .n_sigma = n_sigma};
        ck_assert_msg((bc_layer_index_refuse(&result, &error) == BC_OK) == cases[c].fine, "case %zu", c);
        if (c == 2)
            ck_assert_ptr_nonnull(strstr(error.message, "leaves 0.51 %"));
    }
}
END_TEST

/* One wavelength of a layer on 1.46 under water, before anything is fitted. */
typedef struct under_water {
    bench b;
    double nm, R, about_nm;
    bc_measurement measurement;
    bc_layer_scan scan;
    bc_layer_index_setup setup;
    bc_index_data data;
    bc_index_fit fit;
} under_water;

static void open_under_water(under_water *u, bc_layer_shape shape, double thickness_nm, double of_shape)
{
    memset(u, 0, sizeof *u);
    bench_open(&u->b, "1.46", 1, six_index, six_nm);
    u->nm = 550.0;
    u->R = 0.1;
    u->about_nm = 100.0;
    u->measurement = (bc_measurement){.count = 1, .repeats = 1, .wavelength_nm = &u->nm, .R.value = &u->R};
    u->scan = (bc_layer_scan){
        .measurement = &u->measurement, .incident = bench_medium(&u->b, "1.33"), .substrate = u->b.design.substrate};
    u->setup = (bc_layer_index_setup){
        .scans = 1, .scan = &u->scan, .pieces = 1, .thickness_nm = &u->about_nm, .coverage_factor = 2.0};
    ck_assert_int_eq(bc_index_data_open(&u->setup, 10, &u->data, NULL), BC_OK);
    ck_assert_int_eq(bc_index_fit_alloc(&u->data, &u->fit, NULL), BC_OK);
    u->fit.shape = shape;
    u->fit.variables = bc_index_fit_variables(&u->data, BC_N_CONSTANT, BC_K_NONE, shape);
    u->fit.variable[0] = thickness_nm;
    u->fit.variable[1] = 2.1;
    u->fit.variable[2] = of_shape; /* the instrument's offset, where there is no shape */
    ck_assert_int_eq(bc_index_evaluate(&u->data, &u->fit, NULL), BC_OK);
}

static void close_under_water(under_water *u)
{
    bc_index_fit_free(&u->fit);
    bc_index_data_close(&u->data);
    bench_close(&u->b);
}

static double under_water_R(size_t layers, const reference_layer *layer)
{
    reference *engine = reference_alloc(REFERENCE_BITS, 20);
    const reference_stack stack = {.wavelength_nm = 550.0,
                                   .invariant_n = 1.33,
                                   .incident_n = 1.33,
                                   .substrate_n = 1.46,
                                   .layers = layers,
                                   .layer = layer};
    reference_value value[2];
    ck_assert_ptr_nonnull(engine);
    reference_evaluate(engine, &stack, value);
    reference_free(engine);
    return value[0].R;
}

/* A rough top is half layer, half water (Bruggeman's effective medium at equal parts, 4 e^2 = (a + b) e + 2 a b, from
 * memory), and no sheet of more than 200 nm, whichever its sign; a layer is 1 nm thick at least, and its index changes
 * by half at most. */
START_TEST(what_a_layer_can_be)
{
    static const double rough[][2] = {{30.0, 30.0}, {-30.0, 30.0}, {250.0, 200.0}, {-250.0, 200.0}};
    static const double graded[][2] = {{0.3, 0.3}, {0.7, 0.5}, {-0.7, -0.5}};
    const double a = 2.1 * 2.1, b = 1.33 * 1.33, e = ((a + b) + sqrt((a + b) * (a + b) + 32.0 * a * b)) / 8.0;
    under_water u;
    ck_assert_double_eq_tol((a - e) / (a + 2.0 * e) + (b - e) / (b + 2.0 * e), 0.0, 1e-12);
    for (size_t c = 0; c < 4; c++) {
        const reference_layer layer[2] = {{sqrt(e), 0.0, rough[c][1]}, {2.1, 0.0, 150.0}};
        open_under_water(&u, BC_LAYER_ROUGH, 150.0, rough[c][0]);
        ck_assert_double_eq_tol(u.data.entry[0].curve[0], under_water_R(2, layer), 1e-9);
        close_under_water(&u);
    }
    for (size_t c = 0; c < 3; c++) {
        reference_layer layer[16];
        for (size_t j = 0; j < 16; j++)
            layer[j] =
                (reference_layer){2.1 * (1.0 + graded[c][1] * (0.5 - ((double)j + 0.5) / 16.0)), 0.0, 150.0 / 16.0};
        open_under_water(&u, BC_LAYER_GRADED, 150.0, graded[c][0]);
        ck_assert_double_eq_tol(u.data.entry[0].curve[0], under_water_R(16, layer), 1e-9);
        ck_assert_double_eq(u.fit.variable[2], graded[c][1]);
        close_under_water(&u);
    }
    const reference_layer thin = {2.1, 0.0, 1.0};
    open_under_water(&u, BC_LAYER_HOMOGENEOUS, -20.0, 0.0);
    ck_assert_double_eq_tol(u.data.entry[0].curve[0], under_water_R(1, &thin), 1e-9);
    ck_assert_double_eq(u.fit.variable[0], 1.0);
    close_under_water(&u);
}
END_TEST

TCase *choice_case(void)
{
    TCase *tests = tcase_create("choice");
    tcase_add_test(tests, thicknesses_to_begin_at);
    tcase_add_test(tests, when_a_shape_is_believed);
    tcase_add_test(tests, what_determines_nothing);
    tcase_add_test(tests, what_a_layer_can_be);
    return tests;
}
