/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The reference itself, before anything is held against it.
 */
#include "support.h"
#include <complex.h>
#include <math.h>

/* Far above the rounding of 256 bits, far below that of a double. */
#define BEYOND_DOUBLE 1e-60

static void evaluate(const reference_stack *stack, long bits, reference_value value[2])
{
    reference *engine = reference_alloc(bits, stack->layers);
    ck_assert_ptr_nonnull(engine);
    reference_evaluate(engine, stack, value);
    reference_free(engine);
}

static reference_stack random_stack(random_source *random, size_t layers, reference_layer *layer, bool absorbing)
{
    reference_stack stack = coated(uniform(random, 1.0, 4.0), layers, layer, uniform(random, 400.0, 1000.0));
    for (size_t j = 0; j < layers; j++)
        layer[j] = random_layer(random, absorbing ? (layer_kind)below(random, 3) : CLEAR_LAYER);
    stack.incident_n = stack.invariant_n = uniform(random, 1.0, 1.8);
    stack.aoi_rad = uniform(random, 0.0, 1.55);
    stack.substrate_k = absorbing && below(random, 2) == 0 ? uniform(random, 0.0, 5.0) : 0.0;
    return stack;
}

/* Closed forms of a bare surface. (Born and Wolf, Principles of Optics, ch. 1.5; Hecht, Optics, ch. 4.6) */
START_TEST(bare_surfaces)
{
    reference_stack stack = coated(4.0, 0, NULL, 550.0);
    reference_value value[2];
    evaluate(&stack, REFERENCE_BITS, value);
    ck_assert_double_eq_tol(value[0].R, 0.36, 1e-16);
    ck_assert_double_eq_tol(value[1].R, 0.36, 1e-16);
    ck_assert_double_eq_tol(value[0].T, 0.64, 2e-16);
    ck_assert_double_eq_tol(value[0].rho_re, -0.6, 2e-16);
    stack.substrate_n = 1.52;
    stack.aoi_rad = atan(1.52); /* Brewster's angle to the last bit of a double */
    evaluate(&stack, REFERENCE_BITS, value);
    ck_assert_double_lt(value[1].R, 1e-31);
    stack = coated(1.0, 0, NULL, 550.0);
    stack.incident_n = stack.invariant_n = 1.52;
    stack.aoi_rad = 1.0; /* past total reflection */
    evaluate(&stack, REFERENCE_BITS, value);
    for (size_t p = 0; p < 2; p++) {
        ck_assert_double_eq_tol(value[p].R, 1.0, 1e-16);
        ck_assert_double_eq_tol(value[p].T, 0.0, BEYOND_DOUBLE);
    }
}
END_TEST

/* Energy: where nothing absorbs, R + T = 1 to all of its digits, past total reflection too. */
START_TEST(energy_is_kept)
{
    random_source random = {101};
    for (size_t trial = 0; trial < 40; trial++) {
        reference_layer layer[30];
        const reference_stack stack = random_stack(&random, below(&random, 31), layer, false);
        reference_value value[2];
        evaluate(&stack, REFERENCE_BITS, value);
        for (size_t p = 0; p < 2; p++)
            ck_assert_double_eq_tol(value[p].A, 0.0, BEYOND_DOUBLE);
    }
}
END_TEST

/* 256 bits are enough: 1024 bits give the same doubles, with up to 80 layers of any kind. */
START_TEST(bits_suffice)
{
    random_source random = {102};
    for (size_t trial = 0; trial < 20; trial++) {
        reference_layer layer[80];
        const reference_stack stack = random_stack(&random, 1 + below(&random, 80), layer, true);
        reference_value few[2], many[2];
        evaluate(&stack, REFERENCE_BITS, few);
        evaluate(&stack, 1024, many);
        for (size_t p = 0; p < 2; p++) {
            ck_assert_double_eq_tol(few[p].R, many[p].R, 2e-16);
            ck_assert_double_eq_tol(few[p].T, many[p].T, 2e-16 * many[p].T + 1e-300);
            ck_assert_double_eq_tol(few[p].rho_im, many[p].rho_im, 2e-16);
        }
    }
}
END_TEST

/* One absorbing layer as a sum of its reflections, rho = (r01 + r12 x^2)/(1 + r01 r12 x^2) with x = exp(-i delta), at
 * an angle: no matrix in it. (Born and Wolf, ch. 1.6.4 and 14.4; Heavens, Optical Properties of Thin Solid Films, ch.
 * 4)
 */
START_TEST(one_layer_as_a_sum_of_reflections)
{
    const reference_layer layer = {2.3, 0.4, 140.0};
    reference_stack stack = coated(1.52, 1, &layer, 550.0);
    reference_value value[2];
    stack.aoi_rad = 0.75;
    evaluate(&stack, REFERENCE_BITS, value);
    for (int p = 0; p < 2; p++) {
        const long double beta = sinl(0.75L);
        const long double complex N = 2.3L - 0.4L * I, q1 = csqrtl(N * N - beta * beta);
        const long double q0 = cosl(0.75L), q2 = sqrtl(1.52L * 1.52L - beta * beta);
        const long double eta0 = p == 0 ? q0 : 1.0L / q0, eta2 = p == 0 ? q2 : 1.52L * 1.52L / q2;
        const long double complex eta1 = p == 0 ? q1 : N * N / q1;
        const long double complex x = cexpl(-2.0L * I * acosl(-1.0L) * q1 * 140.0L / 550.0L);
        const long double complex r01 = (eta0 - eta1) / (eta0 + eta1), r12 = (eta1 - eta2) / (eta1 + eta2);
        const long double complex rho = (r01 + r12 * x * x) / (1.0L + r01 * r12 * x * x);
        const long double complex tau =
            2.0L * eta0 / (eta0 + eta1) * 2.0L * eta1 / (eta1 + eta2) * x / (1.0L + r01 * r12 * x * x);
        ck_assert_double_eq_tol(value[p].rho_re, (double)creall(rho), 1e-15);
        ck_assert_double_eq_tol(value[p].rho_im, (double)cimagl(rho), 1e-15);
        ck_assert_double_eq_tol(value[p].T, (double)(eta2 / eta0 * cabsl(tau) * cabsl(tau)), 1e-15);
    }
}
END_TEST

/* The gradient exchanges one layer between products that it keeps. Held against differences of whole evaluations, and
 * against another step. A step of 1e-4 nm leaves doubles seven digits of the difference. */
START_TEST(gradient_is_the_slope)
{
    random_source random = {103};
    reference_layer layer[7];
    const reference_stack stack = random_stack(&random, 7, layer, true);
    reference *engine = reference_alloc(REFERENCE_GRADIENT_BITS, 7);
    reference_value slope[7][2], other[7][2];
    ck_assert_ptr_nonnull(engine);
    reference_gradient(engine, &stack, REFERENCE_STEP_NM, slope);
    reference_gradient(engine, &stack, 1e3 * REFERENCE_STEP_NM, other);
    for (size_t j = 0; j < 7; j++) {
        reference_value upper[2], lower[2];
        reference_evaluate_offset(engine, &stack, j, 1e-4, upper);
        reference_evaluate_offset(engine, &stack, j, -1e-4, lower);
        for (size_t p = 0; p < 2; p++) {
            ck_assert_double_eq_tol(slope[j][p].R, (upper[p].R - lower[p].R) / 2e-4, 1e-11);
            ck_assert_double_eq_tol(slope[j][p].T, (upper[p].T - lower[p].T) / 2e-4, 1e-11);
            ck_assert_double_eq_tol(slope[j][p].rho_re, (upper[p].rho_re - lower[p].rho_re) / 2e-4, 1e-11);
            ck_assert_double_eq_tol(slope[j][p].R, other[j][p].R, 1e-16 * fabs(slope[j][p].R) + 1e-30);
        }
    }
    reference_free(engine);
}
END_TEST

TCase *reference_case(void)
{
    TCase *tests = tcase_create("the reference");
    tcase_set_timeout(tests, 120.0);
    tcase_add_test(tests, bare_surfaces);
    tcase_add_test(tests, energy_is_kept);
    tcase_add_test(tests, bits_suffice);
    tcase_add_test(tests, one_layer_as_a_sum_of_reflections);
    tcase_add_test(tests, gradient_is_the_slope);
    return tests;
}
