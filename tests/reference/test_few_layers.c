/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Two and three layers. Figures are in percent and asserted to half a unit of their last digit.
 */
#include "support.h"
#include <complex.h>
#include <math.h>

#define ROUNDING 2e-15

static double square(double x)
{
    return x * x;
}

/* R of two layers at normal incidence by adding reflections from the substrate outwards, rho' = (r + rho x^2)/
 * (1 + r rho x^2): no matrix in it. (Born and Wolf, Principles of Optics, ch. 1.6.4, applied twice) */
static double two_layers(double n1, double delta1, double n2, double delta2, double ns)
{
    const double outer = (1.0 - n1) / (1.0 + n1), middle = (n1 - n2) / (n1 + n2);
    double complex rho = (n2 - ns) / (n2 + ns) * cexp(-2.0 * I * delta2);
    rho = (middle + rho) / (1.0 + middle * rho) * cexp(-2.0 * I * delta1);
    rho = (outer + rho) / (1.0 + outer * rho);
    return creal(rho * conj(rho));
}

/* Quarter-quarter: R = ((n0 n2^2 - ns n1^2)/(n0 n2^2 + ns n1^2))^2, zero when n2/n1 = sqrt(ns/n0). Hecht, Optics,
 * ch. 9.7. */
START_TEST(quarter_quarter)
{
    const double n1 = 1.38, ns = 1.52, left = square((square(1.70) - ns * n1 * n1) / (square(1.70) + ns * n1 * n1));
    reference_layer layers[] = {quarter_wave(n1, 550.0), quarter_wave(1.70, 550.0)};
    const reference_stack stack = coated(ns, 2, layers, 550.0);
    const double R = observe(&stack, BC_S).R;
    ck_assert_double_eq_tol(100.0 * left, 6.5677305348e-5, 0.51e-15);
    ck_assert_double_eq_tol(100.0 * R, 6.5677305348e-5, 0.51e-15);
    ck_assert_double_eq_tol(R, left, 1e-17);
    layers[1] = quarter_wave(n1 * sqrt(ns), 550.0);
    ck_assert_double_lt(observe(&stack, BC_S).R, 1e-28);
}
END_TEST

/* Two layers, zero at one wavelength: tan^2 d1 = (ns - n0)(n2^2 - n0 ns) n1^2 / ((n1^2 ns - n0 n2^2)(n0 ns - n1^2)),
 * tan^2 d2 = (ns - n0)(n0 ns - n1^2) n2^2 / ((n1^2 ns - n0 n2^2)(n2^2 - n0 ns)).
 * Schuster, Ann. Phys. 4, 352 (1949), pages from memory; Catalan, J. Opt. Soc. Am. 52, 437 (1962). */
START_TEST(two_layer_zero)
{
    const double n1 = 1.46, n2 = 2.10, ns = 1.52, wavelength_nm = 1064.0;
    const double common = n1 * n1 * ns - n2 * n2, lower = ns - n1 * n1, upper = n2 * n2 - ns;
    const double tan2_1 = (ns - 1.0) * upper * n1 * n1 / (common * lower);
    const double tan2_2 = (ns - 1.0) * lower * n2 * n2 / (common * upper);
    const double delta[2][2] = {{atan(sqrt(tan2_1)), PI - atan(sqrt(tan2_1))},
                                {atan(sqrt(tan2_2)), PI - atan(sqrt(tan2_2))}};
    static const double figure_nm[2][2] = {{130.9824911, 233.4010705}, {46.1397584, 207.1935749}};
    ck_assert_double_eq_tol(tan2_1, 4.47677675467, 0.51e-11);
    ck_assert_double_eq_tol(tan2_2, 0.414798888179, 0.51e-12);
    for (size_t a = 0; a < 2; a++) {
        for (size_t b = 0; b < 2; b++) {
            const double formula = two_layers(n1, delta[0][a], n2, delta[1][b], ns);
            const double exact_nm[2] = {delta[0][a] * wavelength_nm / (2.0 * PI * n1),
                                        delta[1][b] * wavelength_nm / (2.0 * PI * n2)};
            const reference_layer exact[] = {{n1, 0.0, exact_nm[0]}, {n2, 0.0, exact_nm[1]}};
            const reference_layer rounded[] = {{n1, 0.0, figure_nm[0][a]}, {n2, 0.0, figure_nm[1][b]}};
            const reference_stack at_exact = coated(ns, 2, exact, wavelength_nm);
            const reference_stack at_rounded = coated(ns, 2, rounded, wavelength_nm);
            ck_assert_double_eq_tol(exact_nm[0], figure_nm[0][a], 0.51e-7);
            ck_assert_double_eq_tol(exact_nm[1], figure_nm[1][b], 0.51e-7);
            ck_assert_double_eq_tol(observe(&at_exact, BC_S).R, formula, ROUNDING);
            if (a != b) {
                ck_assert_double_lt(observe(&at_exact, BC_S).R, 1e-28);
                ck_assert_double_lt(observe(&at_rounded, BC_S).R, 1e-12);
            } else {
                ck_assert_double_eq_tol(100.0 * formula, 8.2282, 0.51e-4);
                ck_assert_double_eq_tol(100.0 * observe(&at_rounded, BC_S).R, 8.2282, 0.51e-4);
            }
        }
    }
}
END_TEST

/* Quarter-half-quarter at the centre, where the half wave is absent and the two quarter waves remain. The form: Cox,
 * Hass and Thelen, J. Opt. Soc. Am. 52, 965 (1962). */
START_TEST(quarter_half_quarter)
{
    const double n1 = 1.38, n3 = 1.62, ns = 1.52;
    const double centre = square((n3 * n3 - ns * n1 * n1) / (n3 * n3 + ns * n1 * n1));
    reference_layer layers[] = {quarter_wave(n1, 550.0), quarter_wave(2.15, 550.0), quarter_wave(n3, 550.0)};
    const reference_stack stack = coated(ns, 3, layers, 550.0);
    double R;
    layers[1].thickness_nm *= 2.0;
    R = observe(&stack, BC_S).R;
    ck_assert_double_eq_tol(100.0 * centre, 0.239838495852, 0.51e-12);
    ck_assert_double_eq_tol(100.0 * R, 0.239838495852, 0.51e-12);
    ck_assert_double_eq_tol(R, centre, ROUNDING);
}
END_TEST

/* The one layer that a symmetrical period stands for at one wavelength and angle. */
typedef struct equivalent {
    double admittance, phase; /* tilted admittance of that layer, and its phase in [0, 2 pi) */
    bool real;                /* else the period is in a stop band, where the index is imaginary */
} equivalent;

/* Epstein, J. Opt. Soc. Am. 42, 806 (1952), for the period p q p with phases a, b, a and admittances P and Q:
 *     cos G = cos 2a cos b - (Q/P + P/Q)/2 sin 2a sin b
 *     E^2 = P^2 [sin 2a cos b + (Q/P + P/Q)/2 cos 2a sin b - (P/Q - Q/P)/2 sin b] / [the same with + before the last]
 * and sin G = E/P times the denominator. (In his notation from memory; multiplied out here from the three matrices.) */
static equivalent period(double P, double a, double Q, double b)
{
    const double mean = 0.5 * (Q / P + P / Q), half_difference = 0.5 * (P / Q - Q / P);
    const double cosine = cos(2.0 * a) * cos(b) - mean * sin(2.0 * a) * sin(b);
    const double common = sin(2.0 * a) * cos(b) + mean * cos(2.0 * a) * sin(b);
    const double numerator = common - half_difference * sin(b), denominator = common + half_difference * sin(b);
    equivalent layer = {0.0, 0.0, numerator / denominator > 0.0};
    if (layer.real) {
        layer.admittance = P * sqrt(numerator / denominator);
        layer.phase = atan2(layer.admittance / P * denominator, cosine);
        if (layer.phase < 0.0)
            layer.phase += 2.0 * PI;
    }
    return layer;
}

/* One symmetrical period repeated, against its equivalent layer, across a spectrum, for s at an angle too: there the
 * tilted admittance is n cos(t), so the layer's index is sqrt(E^2 + sin^2 aoi). Returns how many wavelengths had one.
 */
static size_t compare_period(size_t periods, double aoi_rad, double n_outer, double outer_nm, double n_inner,
                             double inner_nm)
{
    const double beta = sin(aoi_rad), P = sqrt(n_outer * n_outer - beta * beta),
                 Q = sqrt(n_inner * n_inner - beta * beta);
    size_t compared = 0;
    for (double wavelength_nm = 380.0; wavelength_nm <= 1400.0; wavelength_nm += 7.0) {
        const double k = 2.0 * PI / wavelength_nm;
        const equivalent one = period(P, k * P * outer_nm, Q, k * Q * inner_nm);
        reference_layer layers[24], single;
        reference_stack many, alone;
        if (!one.real)
            continue;
        for (size_t m = 0; m < periods; m++) {
            layers[3 * m] = layers[3 * m + 2] = (reference_layer){n_outer, 0.0, outer_nm};
            layers[3 * m + 1] = (reference_layer){n_inner, 0.0, inner_nm};
        }
        single = (reference_layer){sqrt(one.admittance * one.admittance + beta * beta), 0.0,
                                   (double)periods * one.phase / (k * one.admittance)};
        many = coated(1.52, 3 * periods, layers, wavelength_nm);
        alone = coated(1.52, 1, &single, wavelength_nm);
        many.aoi_rad = alone.aoi_rad = aoi_rad;
        ck_assert_double_eq_tol(observe(&many, BC_S).R, observe(&alone, BC_S).R, 1e-12);
        ck_assert_double_eq_tol(observe(&many, BC_S).T, observe(&alone, BC_S).T, 1e-12);
        compared++;
    }
    return compared;
}

/* Symmetrical three-layer period = one layer of equivalent index and phase. Epstein, J. Opt. Soc. Am. 42, 806 (1952).
 */
START_TEST(epstein)
{
    ck_assert_uint_gt(compare_period(1, 0.0, 1.46, 45.0, 2.35, 52.0), 100);
    ck_assert_uint_gt(compare_period(4, 0.0, 1.46, 45.0, 2.35, 52.0), 100);
    ck_assert_uint_gt(compare_period(8, 0.0, 2.1, 30.0, 1.38, 95.0), 100);
    ck_assert_uint_gt(compare_period(5, 0.7, 1.46, 45.0, 2.35, 52.0), 100);
}
END_TEST

TCase *few_layers_case(void)
{
    TCase *tests = tcase_create("two and three layers");
    tcase_add_test(tests, quarter_quarter);
    tcase_add_test(tests, two_layer_zero);
    tcase_add_test(tests, quarter_half_quarter);
    tcase_add_test(tests, epstein);
    return tests;
}
