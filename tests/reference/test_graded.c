/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Graded layers. With a linear index E'' + (2 pi n(z) / wavelength)^2 E = 0 at normal incidence is solved by
 * sqrt(n) J_1/4(x) and sqrt(n) Y_1/4(x), x = 2 pi n^2 / (2 |dn/dz| wavelength) (NIST Digital Library of Mathematical
 * Functions, 10.13.3 with p = 4, from memory; the functions are GSL's). At any angle, and where layers absorb, GSL's
 * Runge-Kutta integrates Maxwell's equations of a stratified medium (Born and Wolf, Principles of Optics, ch. 1.6).
 */
#include "support.h"
#include <bloomcoat/part.h>
#include <complex.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <gsl/gsl_sf_bessel.h>
#include <math.h>

#define WITHIN 1e-6
#define LAYERS 3

typedef struct graded_stack {
    double wavelength_nm, aoi_rad, substrate_n, substrate_k;
    size_t layers;
    double n[LAYERS], k[LAYERS], gradient[LAYERS], thickness_nm[LAYERS]; /* from the incident medium */
} graded_stack;

typedef struct answer {
    double R, T;
} answer;

static void ask_engine(const graded_stack *stack, answer of[2])
{
    const double air = 1.0;
    unsigned material[LAYERS];
    bc_index index[LAYERS];
    bc_surface *surface;
    bc_error error;
    bc_surface_setup setup = {.wavelengths = 1,
                              .wavelength_nm = &stack->wavelength_nm,
                              .aoi_rad = stack->aoi_rad,
                              .incident = {&air, NULL},
                              .substrate = {&stack->substrate_n, &stack->substrate_k},
                              .materials = stack->layers,
                              .material = index,
                              .max_layers = stack->layers,
                              .values_only = true,
                              .gradient = stack->gradient};
    for (size_t j = 0; j < stack->layers; j++) {
        index[j] = (bc_index){&stack->n[j], &stack->k[j]};
        material[j] = (unsigned)j;
        setup.graded_optical_nm = fmax(setup.graded_optical_nm, stack->n[j] * stack->thickness_nm[j]);
    }
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    bc_surface_evaluate(surface, stack->layers, material, stack->thickness_nm, BC_WANT_VALUES);
    for (int p = BC_S; p <= BC_P; p++)
        of[p] = (answer){bc_surface_R(surface, (bc_plane)p)[0], bc_surface_T(surface, (bc_plane)p)[0]};
    bc_surface_free(surface);
}

/* sqrt(n) J_1/4(x) or Y_1/4(x), and its derivative by n. */
static void solution(double (*bessel)(double, double), double n, double kappa, double *value, double *slope)
{
    const double x = 0.5 * kappa * n * n, at = bessel(0.25, x);
    *value = sqrt(n) * at;
    *slope = 0.5 * at / sqrt(n) + sqrt(n) * kappa * n * (0.25 / x * at - bessel(1.25, x));
}

/* R of one clear graded layer at normal incidence. */
static double by_bessel(const graded_stack *stack)
{
    const double wave_number = 2.0 * PI / stack->wavelength_nm, g = stack->gradient[0], n = stack->n[0];
    const double lower = n * (1.0 - 0.5 * g), upper = n * (1.0 + 0.5 * g);
    const double rate = (upper - lower) / stack->thickness_nm[0], kappa = wave_number / fabs(rate);
    const double complex slope = I * wave_number * stack->substrate_n / rate; /* of E = 1 at the substrate, by n */
    double j[2], y[2], dj[2], dy[2];
    double complex a, b, B, C;
    solution(gsl_sf_bessel_Jnu, lower, kappa, &j[0], &dj[0]);
    solution(gsl_sf_bessel_Ynu, lower, kappa, &y[0], &dy[0]);
    solution(gsl_sf_bessel_Jnu, upper, kappa, &j[1], &dj[1]);
    solution(gsl_sf_bessel_Ynu, upper, kappa, &y[1], &dy[1]);
    a = (dy[0] - slope * y[0]) / (j[0] * dy[0] - y[0] * dj[0]);
    b = (slope * j[0] - dj[0]) / (j[0] * dy[0] - y[0] * dj[0]);
    B = a * j[1] + b * y[1];
    C = (a * dj[1] + b * dy[1]) * rate / (I * wave_number);
    return pow(cabs((B - C) / (B + C)), 2.0);
}

START_TEST(bessel_functions)
{
    random_source random = {7};
    double most = 0.0;
    for (int trial = 0; trial < 300; trial++) {
        const double steep = trial % 3 == 0 ? 0.5 : trial % 3 == 1 ? 0.1 : 0.02;
        const graded_stack stack = {.wavelength_nm = uniform(&random, 350.0, 1100.0),
                                    .substrate_n = uniform(&random, 1.4, 3.5),
                                    .layers = 1,
                                    .n = {uniform(&random, 1.3, 2.5)},
                                    .gradient = {uniform(&random, 0.2, 1.0) * (trial % 2 ? steep : -steep)},
                                    .thickness_nm = {uniform(&random, 10.0, trial % 5 ? 400.0 : 4000.0)}};
        const double expected = by_bessel(&stack);
        answer seen[2];
        ask_engine(&stack, seen);
        most = fmax(most, fabs(seen[BC_S].R - expected));
        ck_assert_double_eq_tol(seen[BC_S].R, expected, WITHIN);
        ck_assert_double_eq_tol(seen[BC_S].R + seen[BC_S].T, 1.0, 1e-12);
    }
    ck_assert_double_gt(most, 1e-12); /* a stair is no line: what agrees better than this was not graded */
}
END_TEST

/* What one layer's equations need: y is Re B, Im B, Re C, Im C. */
typedef struct layer_equations {
    double wave_number, beta, n, k, gradient, thickness_nm;
    bc_plane plane;
} layer_equations;

static int equations(double z, const double y[], double dydz[], void *context)
{
    const layer_equations *e = context;
    const double complex N = e->n * (1.0 + e->gradient * (z / e->thickness_nm - 0.5)) - I * e->k;
    const double complex X = e->plane == BC_S ? 1.0 : 1.0 - e->beta * e->beta / (N * N);
    const double complex Y = e->plane == BC_S ? N * N - e->beta * e->beta : N * N;
    const double complex dB = I * e->wave_number * X * (y[2] + I * y[3]);
    const double complex dC = I * e->wave_number * Y * (y[0] + I * y[1]);
    dydz[0] = creal(dB), dydz[1] = cimag(dB), dydz[2] = creal(dC), dydz[3] = cimag(dC);
    return GSL_SUCCESS;
}

static answer by_integration(const graded_stack *stack, bc_plane plane)
{
    const double beta = sin(stack->aoi_rad), cosine = cos(stack->aoi_rad);
    const double eta0 = plane == BC_S ? cosine : 1.0 / cosine;
    const double complex N = stack->substrate_n - I * stack->substrate_k, q = csqrt(N * N - beta * beta);
    const double complex eta = plane == BC_S ? q : N * N / q;
    double y[4] = {1.0, 0.0, creal(eta), cimag(eta)};
    double complex B, C;
    for (size_t j = stack->layers; j-- > 0;) {
        layer_equations e = {2.0 * PI / stack->wavelength_nm, beta, stack->n[j], stack->k[j], stack->gradient[j],
                             stack->thickness_nm[j],          plane};
        gsl_odeiv2_system system = {equations, NULL, 4, &e};
        gsl_odeiv2_driver *driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1.0, 1e-12, 1e-12);
        double z = 0.0;
        ck_assert_ptr_nonnull(driver);
        ck_assert_int_eq(gsl_odeiv2_driver_apply(driver, &z, e.thickness_nm, y), GSL_SUCCESS);
        gsl_odeiv2_driver_free(driver);
    }
    B = y[0] + I * y[1], C = y[2] + I * y[3];
    return (answer){pow(cabs((eta0 * B - C) / (eta0 * B + C)), 2.0),
                    4.0 * eta0 * creal(eta) / pow(cabs(eta0 * B + C), 2.0)};
}

static graded_stack random_graded(random_source *random, double steep, double thick_nm)
{
    static const double losses[] = {0.0, 0.0, 1e-3, 0.05};
    graded_stack stack = {.wavelength_nm = uniform(random, 350.0, 1100.0),
                          .aoi_rad = uniform(random, 0.0, 1.3),
                          .substrate_n = uniform(random, 1.4, 3.5),
                          .substrate_k = below(random, 3) == 0 ? 0.5 : 0.0,
                          .layers = 1 + below(random, LAYERS)};
    for (size_t j = 0; j < stack.layers; j++) {
        stack.n[j] = uniform(random, 1.3, 2.5);
        stack.k[j] = losses[below(random, 4)];
        stack.gradient[j] = below(random, 4) == 0 ? 0.0 : uniform(random, -steep, steep);
        stack.thickness_nm[j] = uniform(random, 5.0, thick_nm);
    }
    return stack;
}

START_TEST(integrated_equations)
{
    static const double steep[] = {0.02, 0.1, 0.5}, thick_nm[] = {200.0, 600.0, 2500.0};
    random_source random = {8};
    for (int trial = 0; trial < 180; trial++) {
        const graded_stack stack = random_graded(&random, steep[trial % 3], thick_nm[trial / 3 % 3]);
        answer seen[2];
        ask_engine(&stack, seen);
        for (int p = BC_S; p <= BC_P; p++) {
            const answer expected = by_integration(&stack, (bc_plane)p);
            ck_assert_double_eq_tol(seen[p].R, expected.R, WITHIN);
            ck_assert_double_eq_tol(seen[p].T, expected.T, WITHIN);
        }
    }
}
END_TEST

/* A half-wave layer is absent at its wavelength, unless it is graded: with the field's amplitude going as 1/sqrt(n) the
 * substrate appears with its index times n(outer)/n(inner) (Jacobsson, Progress in Optics 5, 247 (1966), and Knittl,
 * Optics of Thin Films, 1976, from memory), but for reflections inside, which are of the order of g over the phase. */
START_TEST(half_wave_not_absent)
{
    for (int step = -2; step <= 2; step++) {
        const double g = 0.01 * step, ratio = (1.0 + 0.5 * g) / (1.0 - 0.5 * g), seen_n = 1.52 * ratio;
        const graded_stack stack = {.wavelength_nm = 550.0,
                                    .substrate_n = 1.52,
                                    .layers = 1,
                                    .n = {2.0},
                                    .gradient = {g},
                                    .thickness_nm = {550.0 / 4.0}};
        answer seen[2];
        ask_engine(&stack, seen);
        ck_assert_double_eq_tol(seen[BC_S].R, pow((1.0 - seen_n) / (1.0 + seen_n), 2.0), 0.5 * g * g + 1e-12);
    }
}
END_TEST

TCase *graded_case(void)
{
    TCase *tests = tcase_create("graded");
    tcase_add_test(tests, bessel_functions);
    tcase_add_test(tests, integrated_equations);
    tcase_add_test(tests, half_wave_not_absent);
    return tests;
}
