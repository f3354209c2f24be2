/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where an engine overflows, underflows or divides by zero.
 */
#include "airy.h"
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>
#include <stdlib.h>

#define WAVE_NM 550.0

static bc_surface *open_stack(const bc_surface_setup *setup, const unsigned *material, const double *thickness_nm)
{
    bc_surface *surface;
    bc_error error;
    ck_assert_msg(bc_surface_alloc(setup, &surface, &error) == BC_OK, "%s", error.message);
    bc_surface_evaluate(surface, setup->max_layers, material, thickness_nm, BC_WANT_GRADIENT);
    return surface;
}

static bool finite_at(const bc_surface *surface, bc_plane p, size_t layers, size_t i)
{
    bool finite = isfinite(bc_surface_rho_re(surface, p)[i]) && isfinite(bc_surface_rho_im(surface, p)[i]);
    for (size_t j = 0; j < layers; j++)
        finite = finite && isfinite(bc_surface_dR(surface, p, j)[i]) && isfinite(bc_surface_dT(surface, p, j)[i]) &&
                 isfinite(bc_surface_drho_re(surface, p, j)[i]) && isfinite(bc_surface_drho_im(surface, p, j)[i]);
    return finite;
}

static void expect_finite(const bc_surface *surface, size_t layers)
{
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < bc_surface_wavelengths(surface); i++) {
            const double R = bc_surface_R(surface, (bc_plane)p)[i], T = bc_surface_T(surface, (bc_plane)p)[i];
            ck_assert_msg(R >= 0.0 && R <= 1.0 + 1e-12 && T >= 0.0 && T <= 1.0 + 1e-12, "R %g, T %g", R, T);
            expect_true(finite_at(surface, (bc_plane)p, layers, i));
        }
    }
}

/* A millimetre of metal is its own substrate: R of the bare metal, no T, and no derivative left. The thin layer in
 * front has one, and it is that of the layer on bare metal. */
START_TEST(thick_metal)
{
    static const double n[] = {0.055, 0.9, 2.9, 4.0, 0.05}, k[] = {3.3, 6.7, 3.1, 0.05, 25.0};
    static const double angles_deg[] = {0.0, 45.0, 75.0, 89.0, 89.9};
    for (size_t c = 0; c < sizeof n / sizeof *n * sizeof angles_deg / sizeof *angles_deg; c++) {
        const size_t m = c / (sizeof angles_deg / sizeof *angles_deg);
        const double air = 1.0, glass = 1.52, thickness_nm = 1e6, wave = WAVE_NM;
        const double aoi_rad = angles_deg[c % (sizeof angles_deg / sizeof *angles_deg)] * PI / 180.0;
        const bc_index metal = {&n[m], &k[m]};
        const unsigned layer = 0;
        const bc_surface_setup setup = {.wavelengths = 1,
                                        .wavelength_nm = &wave,
                                        .aoi_rad = aoi_rad,
                                        .incident = {&air, NULL},
                                        .substrate = {&glass, NULL},
                                        .materials = 1,
                                        .material = &metal,
                                        .max_layers = 1};
        const single_layer bare = {air, 1.0, CMPLX(n[m], -k[m]), 0.0};
        bc_surface *surface = open_stack(&setup, &layer, &thickness_nm);
        expect_finite(surface, 1);
        for (int p = BC_S; p <= BC_P; p++) {
            expect_near(bc_surface_R(surface, (bc_plane)p)[0], airy(&bare, (bc_plane)p, wave, aoi_rad).R, 1e-12);
            expect_near(bc_surface_T(surface, (bc_plane)p)[0], 0.0, 1e-100);
            expect_near(bc_surface_dR(surface, (bc_plane)p, 0)[0], 0.0, 1e-15);
            expect_near(bc_surface_dT(surface, (bc_plane)p, 0)[0], 0.0, 1e-100);
        }
        bc_surface_free(surface);
    }
}
END_TEST

/* Metal between layers: those behind it cannot be seen, those in front are on bare metal. */
START_TEST(layers_around_thick_metal)
{
    random_source random = {61};
    for (int trial = 0; trial < 200; trial++) {
        specimen stack = random_specimen(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, 12), bare;
        const size_t layers = stack.layers, metal_at = below(&random, layers + 1);
        const double n = uniform(&random, 0.05, 4.0), k = uniform(&random, 1.0, 8.0);
        bc_surface *surface, *on_metal;
        for (size_t j = 0; j < layers; j++)
            stack.material[j] = stack.material[j] == 0 ? 1 : stack.material[j];
        set_material(&stack, 0, n, k);
        stack.aoi_rad = trial % 4 == 0 ? 89.0 * PI / 180.0 : stack.aoi_rad;
        bare = stack;
        bare.layers = metal_at;
        for (size_t i = 0; i < bare.wavelengths; i++) {
            bare.substrate_n[i] = n;
            bare.substrate_k[i] = k;
        }
        insert_layer(&stack, metal_at, 0, 1e6);
        surface = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
        on_metal = open_surface(&bare, BC_PATH_AUTO, BC_WANT_GRADIENT);
        expect_finite(surface, stack.layers);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < stack.wavelengths; i++) {
                expect_near(bc_surface_R(surface, (bc_plane)p)[i], bc_surface_R(on_metal, (bc_plane)p)[i], 1e-12);
                for (size_t j = 0; j < stack.layers; j++)
                    expect_near(bc_surface_dR(surface, (bc_plane)p, j)[i],
                                j < metal_at ? bc_surface_dR(on_metal, (bc_plane)p, j)[i] : 0.0, 1e-12);
            }
        }
        bc_surface_free(surface);
        bc_surface_free(on_metal);
    }
}
END_TEST

/* A metal so thick that T is near the smallest double: T = |t1 t2|^2 ... exp(-4 pi k d/wavelength), one beam and no
 * echo. */
START_TEST(faint_transmission)
{
    static const double thicknesses_nm[] = {100.0, 500.0, 2000.0, 8000.0};
    const double air = 1.0, glass = 1.52, wave = WAVE_NM, n = 0.9, k = 3.5, aoi_rad = 0.6;
    const bc_index metal = {&n, &k};
    const unsigned layer = 0;
    const bc_surface_setup setup = {.wavelengths = 1,
                                    .wavelength_nm = &wave,
                                    .aoi_rad = aoi_rad,
                                    .incident = {&air, NULL},
                                    .substrate = {&glass, NULL},
                                    .materials = 1,
                                    .material = &metal,
                                    .max_layers = 1};
    for (size_t c = 0; c < sizeof thicknesses_nm / sizeof *thicknesses_nm; c++) {
        const single_layer coating = {air, CMPLX(n, -k), glass, thicknesses_nm[c]};
        bc_surface *surface = open_stack(&setup, &layer, &thicknesses_nm[c]);
        for (int p = BC_S; p <= BC_P; p++) {
            const double T = airy(&coating, (bc_plane)p, wave, aoi_rad).T;
            const double decay = 4.0 * PI / wave * fabs(cimag(airy_normal_index(CMPLX(n, -k), air * sin(aoi_rad))));
            expect_true(T > 0.0);
            expect_near(bc_surface_T(surface, (bc_plane)p)[0] / T, 1.0, 1e-11);
            if (thicknesses_nm[c] > 400.0) /* without echoes T falls by the decay alone */
                expect_near(bc_surface_dT(surface, (bc_plane)p, 0)[0] / (-decay * T), 1.0, 1e-10);
        }
        bc_surface_free(surface);
    }
}
END_TEST

#define HIGH  2.3
#define LOW   1.35
#define GLASS 1.52

/* A mirror of `pairs` pairs (high first) of quarter waves of WAVE_NM at normal incidence, seen at one wavelength. */
static bc_surface *open_mirror(size_t pairs, double high_k, double low_k, double wavelength_nm, double aoi_rad)
{
    static const double high = HIGH, low = LOW, air = 1.0, glass = GLASS;
    const bc_index index[2] = {{&high, &high_k}, {&low, &low_k}};
    const size_t layers = 2 * pairs;
    unsigned *material = calloc(layers, sizeof *material);
    double *thickness_nm = calloc(layers, sizeof *thickness_nm);
    const bc_surface_setup setup = {.wavelengths = 1,
                                    .wavelength_nm = &wavelength_nm,
                                    .aoi_rad = aoi_rad,
                                    .incident = {&air, NULL},
                                    .substrate = {&glass, NULL},
                                    .materials = 2,
                                    .material = index,
                                    .max_layers = layers};
    bc_surface *surface;
    expect_true(material != NULL && thickness_nm != NULL);
    for (size_t j = 0; j < layers; j++) {
        material[j] = j % 2;
        thickness_nm[j] = WAVE_NM / 4.0 / (j % 2 ? LOW : HIGH);
    }
    surface = open_stack(&setup, material, thickness_nm);
    free(material);
    free(thickness_nm);
    return surface;
}

/* T of the same mirror from the power of one period's matrix: M^N = M S_(N-1) - S_(N-2), S_m = sin((m+1) phi)/sin phi
 * and cos phi half the trace, hyperbolic where the period reflects. (Abeles, Ann. Phys. 5, 596 (1950); Born and Wolf,
 * ch. 1.6.5) The result is ln T, which a double holds for any number of periods. */
static double mirror_log_T(size_t pairs, double wavelength_nm)
{
    const double N = (double)pairs, delta = 0.5 * PI * WAVE_NM / wavelength_nm, c = cos(delta), s = sin(delta);
    const double m11 = c * c - s * s * LOW / HIGH, m22 = c * c - s * s * HIGH / LOW;
    const double m12 = s * c * (1.0 / HIGH + 1.0 / LOW), m21 = s * c * (HIGH + LOW); /* both times i */
    const double half_trace = 0.5 * (m11 + m22);
    double one, two, scale = 0.0; /* S_(N-1) and S_(N-2), times exp(-scale) */
    if (fabs(half_trace) < 1.0) {
        const double phi = acos(half_trace);
        one = sin(N * phi) / sin(phi);
        two = sin((N - 1.0) * phi) / sin(phi);
    } else {
        const double phi = acosh(fabs(half_trace)), sign = half_trace < 0.0 ? -1.0 : 1.0;
        scale = N * phi;
        one = (1.0 - exp(-2.0 * N * phi)) / (2.0 * sinh(phi));
        two = sign * (exp(-phi) - exp(-(2.0 * N - 1.0) * phi)) / (2.0 * sinh(phi));
    }
    const double re = (m11 * one - two) + GLASS * (m22 * one - two), im = GLASS * m12 * one + m21 * one;
    return log(4.0 * GLASS) - log(re * re + im * im) - 2.0 * scale;
}

/* In the middle of the stop band, through its edge and where light passes; T to the digits that thousands of roundings
 * leave, which at the edge of the band move its fringes. */
START_TEST(long_mirrors)
{
    static const size_t pairs[] = {500, 5000};
    static const double waves_nm[] = {550.0, 520.0, 470.0, 420.0, 700.0, 900.0, 1100.0};
    for (size_t c = 0; c < sizeof waves_nm / sizeof *waves_nm; c++) {
        const size_t layers = 2 * pairs[_i];
        bc_surface *surface = open_mirror(pairs[_i], 0.0, 0.0, waves_nm[c], 0.0);
        const double T = bc_surface_T(surface, BC_S)[0], expected = exp(mirror_log_T(pairs[_i], waves_nm[c]));
        expect_finite(surface, layers);
        expect_near(bc_surface_R(surface, BC_S)[0] + T, 1.0, 1e-11);
        expect_near(T, expected, 1e-9 * expected + 1e-300);
        bc_surface_free(surface);
    }
}
END_TEST

START_TEST(long_mirrors_at_an_angle)
{
    for (int deg = 10; deg < 90; deg += 13) {
        const size_t layers = 2 * (_i == 0 ? 500 : 5000);
        bc_surface *surface = open_mirror(layers / 2, 0.0, 0.0, 530.0, deg * PI / 180.0);
        expect_finite(surface, layers);
        for (int p = BC_S; p <= BC_P; p++)
            expect_near(bc_surface_R(surface, (bc_plane)p)[0] + bc_surface_T(surface, (bc_plane)p)[0], 1.0, 1e-10);
        bc_surface_free(surface);
    }
}
END_TEST

/* A trace of absorption gives T a derivative of its own, by another pass over the layers. What it takes from T is of
 * the order of what one passage through the absorbing layers would. Every other layer absorbs, then all. */
START_TEST(long_absorbing_mirrors)
{
    static const double waves_nm[] = {550.0, 470.0, 900.0};
    for (size_t c = 0; c < 18; c++) {
        const size_t layers = 2 * (_i == 0 ? 500 : 5000);
        const double k = 1e-9, low_k = c < 9 ? 0.0 : k, wave_nm = waves_nm[c % 3], aoi_rad = 0.5 * (double)(c / 3 % 3);
        bc_surface *clear = open_mirror(layers / 2, 0.0, 0.0, wave_nm, aoi_rad);
        bc_surface *surface = open_mirror(layers / 2, k, low_k, wave_nm, aoi_rad);
        const double loss = PI * (k / HIGH + low_k / LOW) * (double)layers / 2.0 * WAVE_NM / wave_nm;
        expect_finite(surface, layers);
        for (int p = BC_S; p <= BC_P; p++) {
            expect_near(bc_surface_T(surface, (bc_plane)p)[0], bc_surface_T(clear, (bc_plane)p)[0], 100.0 * loss);
            expect_true(bc_surface_R(surface, (bc_plane)p)[0] + bc_surface_T(surface, (bc_plane)p)[0] <= 1.0 + 1e-12);
        }
        bc_surface_free(clear);
        bc_surface_free(surface);
    }
}
END_TEST

static bc_surface *open_one_layer(const specimen *stack)
{
    return open_surface(stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
}

/* One layer between clear ends at one wavelength. */
static specimen one_layer(double incident_n, double layer_n, double substrate_n, double thickness_nm, double aoi_rad)
{
    specimen stack = {.wavelengths = 1, .wavelength_nm = {WAVE_NM}, .aoi_rad = aoi_rad, .materials = 1, .layers = 1};
    stack.incident_n[0] = incident_n;
    stack.substrate_n[0] = substrate_n;
    stack.n[0][0] = layer_n;
    stack.thickness_nm[0] = thickness_nm;
    return stack;
}

/* A layer exactly at its critical angle: q = 0, its matrix has the limit [1, i kd; 0, 1] for s and [1, 0; i N^2 kd, 1]
 * for p, kd = 2 pi d/wavelength (sin(x)/x -> 1 in the matrix of Born and Wolf, ch. 1.6.2). */
START_TEST(layer_at_its_critical_angle)
{
    static const double thicknesses_nm[] = {1.0, 80.0, 500.0, 1e5};
    static const double angles_deg[] = {30.0, 41.3, 60.0, 85.0};
    for (int c = 0; c < 16; c++) {
        const double n0 = 1.9, aoi_rad = angles_deg[c / 4] * PI / 180.0, layer_n = n0 * sin(aoi_rad), substrate_n = 2.3;
        const specimen stack = one_layer(n0, layer_n, substrate_n, thicknesses_nm[c % 4], aoi_rad);
        const double kd = 2.0 * PI * thicknesses_nm[c % 4] / WAVE_NM, q0 = n0 * cos(aoi_rad);
        const double qs = sqrt((substrate_n - layer_n) * (substrate_n + layer_n));
        bc_surface *surface = open_one_layer(&stack);
        expect_finite(surface, 1);
        for (int p = BC_S; p <= BC_P; p++) {
            const double eta0 = p == BC_S ? q0 : n0 * n0 / q0, eta = p == BC_S ? qs : substrate_n * substrate_n / qs;
            const double complex B = p == BC_S ? 1.0 + I * kd * eta : 1.0;
            const double complex C = p == BC_S ? eta : eta + I * layer_n * layer_n * kd;
            const double complex rho = (eta0 * B - C) / (eta0 * B + C);
            expect_near(bc_surface_rho_re(surface, (bc_plane)p)[0], creal(rho), 1e-10);
            expect_near(bc_surface_rho_im(surface, (bc_plane)p)[0], cimag(rho), 1e-10);
            expect_near(bc_surface_T(surface, (bc_plane)p)[0], 1.0 - pow(cabs(rho), 2.0), 1e-10);
        }
        bc_surface_free(surface);
    }
}
END_TEST

/* A substrate exactly at its critical angle takes no light: R = 1 to the 1e-9 that q is kept off zero (media.h), with
 * or without a layer. */
START_TEST(substrate_at_its_critical_angle)
{
    static const double angles_deg[] = {35.0, 41.3, 60.0, 85.0};
    for (int c = 0; c < 8; c++) {
        const double n0 = 1.9, aoi_rad = angles_deg[c / 2] * PI / 180.0;
        specimen stack = one_layer(n0, 2.2, n0 * sin(aoi_rad), 120.0, aoi_rad);
        bc_surface *surface;
        stack.layers = (size_t)c % 2;
        surface = open_one_layer(&stack);
        expect_finite(surface, stack.layers);
        for (int p = BC_S; p <= BC_P; p++) {
            const double R = bc_surface_R(surface, (bc_plane)p)[0], T = bc_surface_T(surface, (bc_plane)p)[0];
            expect_near(R, 1.0, 2e-7);
            expect_near(T, 0.0, 2e-7);
            expect_near(R + T, 1.0, 1e-12);
        }
        bc_surface_free(surface);
    }
}
END_TEST

/* Dozens of layers at their critical angle between dozens that are not. */
START_TEST(mirror_at_a_critical_angle)
{
    const double n0 = 1.9, aoi_rad = 0.8;
    specimen stack = one_layer(n0, n0 * sin(aoi_rad), 2.3, 0.0, aoi_rad);
    bc_surface *surface;
    stack.materials = 2;
    stack.n[1][0] = 2.4;
    for (stack.layers = 0; stack.layers < MOST_LAYERS; stack.layers++) {
        stack.material[stack.layers] = stack.layers % 2;
        stack.thickness_nm[stack.layers] = 60.0 + 5.0 * (double)stack.layers;
    }
    surface = open_one_layer(&stack);
    expect_finite(surface, stack.layers);
    for (int p = BC_S; p <= BC_P; p++)
        expect_near(bc_surface_R(surface, (bc_plane)p)[0] + bc_surface_T(surface, (bc_plane)p)[0], 1.0, 1e-11);
    bc_surface_free(surface);
}
END_TEST

/* Light that no substrate lets in comes back: R = 1 and T = 0 whatever clear layers lie between. */
START_TEST(beyond_total_reflection)
{
    random_source random = {62};
    for (int trial = 0; trial < 300; trial++) {
        specimen stack = random_specimen(&random, PAST_TOTAL_REFLECTION, MOST_LAYERS);
        response seen;
        for (size_t i = 0; i < stack.wavelengths; i++)
            stack.substrate_n[i] = uniform(&random, 0.5, 0.999) * stack.incident_n[i] * sin(stack.aoi_rad);
        seen = response_of(&stack);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < stack.wavelengths; i++) {
                expect_near(seen.R[p][i], 1.0, 1e-12);
                expect_true(seen.T[p][i] == 0.0);
            }
        }
    }
}
END_TEST

/* Evanescent gap between two prisms, so wide that nothing tunnels, and so narrow that everything does. */
START_TEST(tunnelling_gap)
{
    static const double gaps_nm[] = {0.0, 20.0, 200.0, 2000.0, 1e6};
    for (int c = 0; c < 5; c++) {
        const specimen stack = one_layer(1.52, 1.0, 1.52, gaps_nm[c], 0.9);
        const single_layer gap = {1.52, 1.0, 1.52, gaps_nm[c]};
        bc_surface *surface = open_one_layer(&stack);
        expect_finite(surface, 1);
        for (int p = BC_S; p <= BC_P; p++) {
            const airy_value expected = airy(&gap, (bc_plane)p, WAVE_NM, 0.9);
            expect_near(bc_surface_R(surface, (bc_plane)p)[0], expected.R, 1e-12);
            expect_near(bc_surface_T(surface, (bc_plane)p)[0], expected.T, 1e-12 * expected.T + 1e-300);
        }
        bc_surface_free(surface);
    }
}
END_TEST

TCase *extremes_case(void)
{
    TCase *tests = tcase_create("extremes");
    tcase_add_test(tests, thick_metal);
    tcase_add_test(tests, layers_around_thick_metal);
    tcase_add_test(tests, faint_transmission);
    tcase_add_loop_test(tests, long_mirrors, 0, 2);
    tcase_add_loop_test(tests, long_mirrors_at_an_angle, 0, 2);
    tcase_add_loop_test(tests, long_absorbing_mirrors, 0, 2);
    tcase_add_test(tests, layer_at_its_critical_angle);
    tcase_add_test(tests, substrate_at_its_critical_angle);
    tcase_add_test(tests, mirror_at_a_critical_angle);
    tcase_add_test(tests, beyond_total_reflection);
    tcase_add_test(tests, tunnelling_gap);
    return tests;
}
