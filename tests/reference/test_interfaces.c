/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Single interfaces and single layers. Every stated figure is held against its formula first, then the engine against
 * both. Figures are in percent and asserted to half a unit of their last digit.
 */
#include "support.h"
#include <complex.h>
#include <math.h>

/* A few units in the last place of a fraction. */
#define ROUNDING 2e-15

static double square(double x)
{
    return x * x;
}

/* The engine, the formula's value (a fraction) and the figure (percent) all agree. */
static void agree(double engine, double formula, double figure_percent, double half_unit_percent)
{
    ck_assert_double_eq_tol(100.0 * formula, figure_percent, half_unit_percent);
    ck_assert_double_eq_tol(100.0 * engine, figure_percent, half_unit_percent);
    ck_assert_double_eq_tol(engine, formula, ROUNDING);
}

/* Fresnel, normal incidence: R = ((n0 - ns)/(n0 + ns))^2.
 * Born and Wolf, Principles of Optics, ch. 1.5; Hecht, Optics, ch. 4.6. */
START_TEST(fresnel_normal)
{
    static const struct {
        double ns, percent, half_unit;
    } known[] = {{1.52, 4.25799949609, 0.51e-11}, {4.0, 36.0, 1e-13}};
    for (size_t c = 0; c < sizeof known / sizeof *known; c++) {
        const reference_stack stack = coated(known[c].ns, 0, NULL, 550.0);
        const double R = square((1.0 - known[c].ns) / (1.0 + known[c].ns));
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const observation seen = observe(&stack, (bc_plane)plane);
            agree(seen.R, R, known[c].percent, known[c].half_unit);
            ck_assert_double_eq_tol(seen.T, 4.0 * known[c].ns / square(1.0 + known[c].ns), ROUNDING);
        }
    }
}
END_TEST

/* Fresnel at an angle, in the form with the angle of refraction: Rs = (sin(i - t)/sin(i + t))^2,
 * Rp = (tan(i - t)/tan(i + t))^2. Born and Wolf, Principles of Optics, ch. 1.5; Hecht, Optics, ch. 4.6. */
START_TEST(fresnel_at_an_angle)
{
    static const struct {
        double degrees, s_percent, s_half_unit, p_percent, p_half_unit;
    } known[] = {{30.0, 5.77961054, 0.51e-8, 2.524914655, 0.51e-9},
                 {45.0, 9.201336305, 0.51e-9, 0.8466458979, 0.51e-10},
                 {60.0, 17.65714881, 0.51e-8, 0.1801937522, 0.51e-10}};
    for (size_t c = 0; c < sizeof known / sizeof *known; c++) {
        const double i = known[c].degrees * PI / 180.0, t = asin(sin(i) / 1.5);
        reference_stack stack = coated(1.5, 0, NULL, 550.0);
        stack.aoi_rad = i;
        agree(observe(&stack, BC_S).R, square(sin(i - t) / sin(i + t)), known[c].s_percent, known[c].s_half_unit);
        agree(observe(&stack, BC_P).R, square(tan(i - t) / tan(i + t)), known[c].p_percent, known[c].p_half_unit);
    }
}
END_TEST

/* Brewster's angle, tan i = ns/n0: Rp = 0 and Rs = ((ns^2 - n0^2)/(ns^2 + n0^2))^2.
 * Born and Wolf, Principles of Optics, ch. 1.5; Hecht, Optics, ch. 4.6. */
START_TEST(brewster)
{
    reference_stack stack = coated(1.52, 0, NULL, 550.0);
    stack.aoi_rad = atan(1.52);
    ck_assert_double_eq_tol(stack.aoi_rad * 180.0 / PI, 56.65929265, 0.51e-8);
    ck_assert_double_lt(observe(&stack, BC_P).R, 1e-28);
    agree(observe(&stack, BC_S).R, square((1.52 * 1.52 - 1.0) / (1.52 * 1.52 + 1.0)), 15.669199939, 0.51e-9);
}
END_TEST

/* Past total reflection R = 1, T = 0, and the phase of the reflected light is
 * tan(phi_s/2) = -sqrt(sin^2 i - n^2)/cos i, tan(phi_p/2) = -sqrt(sin^2 i - n^2)/(n^2 cos i), n = ns/n0.
 * Born and Wolf, Principles of Optics, ch. 1.5.4, where time runs as exp(-i omega t): with N = n - ik it runs as
 * exp(i omega t), and the phase changes its sign. Their r_p is that of the magnetic field; rho is that of the
 * tangential electric field and has the other sign. */
START_TEST(total_reflection)
{
    reference_stack stack = coated(1.0, 0, NULL, 550.0);
    const double n = 1.0 / 1.52;
    stack.incident_n = stack.invariant_n = 1.52;
    for (double i = 0.75; i < 1.56; i += 0.1) {
        const double root = sqrt((sin(i) - n) * (sin(i) + n));
        const double phi[2] = {2.0 * atan2(root, cos(i)), PI + 2.0 * atan2(root, n * n * cos(i))};
        stack.aoi_rad = i;
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const observation seen = observe(&stack, (bc_plane)plane);
            ck_assert_double_eq_tol(seen.R, 1.0, ROUNDING);
            ck_assert_double_eq_tol(seen.T, 0.0, 1e-300);
            ck_assert_double_eq_tol(seen.rho_re, cos(phi[plane]), 1e-14);
            ck_assert_double_eq_tol(seen.rho_im, sin(phi[plane]), 1e-14);
        }
    }
}
END_TEST

/* A bare metal at normal incidence: R = ((n - 1)^2 + k^2)/((n + 1)^2 + k^2).
 * Born and Wolf, Principles of Optics, ch. 14.2. */
START_TEST(bare_metal)
{
    reference_stack stack = coated(0.9, 0, NULL, 550.0);
    stack.substrate_k = 6.1;
    ck_assert_double_eq_tol(observe(&stack, BC_S).R, (0.01 + 6.1 * 6.1) / (1.9 * 1.9 + 6.1 * 6.1), ROUNDING);
}
END_TEST

/* Quarter wave: R = ((n0 ns - n1^2)/(n0 ns + n1^2))^2.
 * Born and Wolf, Principles of Optics, ch. 1.6.4; Hecht, Optics, ch. 9.7. */
START_TEST(single_quarter_wave)
{
    static const struct {
        double n1, ns, percent, half_unit;
    } known[] = {{1.38, 1.52, 1.26007902146, 0.51e-11},
                 {1.38, 1.80, 0.0794264672411, 0.51e-13},
                 {2.2, 4.0, 0.90292991544, 0.51e-11}};
    for (size_t c = 0; c < sizeof known / sizeof *known; c++) {
        const reference_layer layer = quarter_wave(known[c].n1, 550.0);
        const reference_stack stack = coated(known[c].ns, 1, &layer, 550.0);
        const double n1_squared = square(known[c].n1);
        agree(observe(&stack, BC_S).R, square((known[c].ns - n1_squared) / (known[c].ns + n1_squared)),
              known[c].percent, known[c].half_unit);
    }
}
END_TEST

/* Half wave: R is that of the bare substrate, for any n1, clear substrate or not; at an angle too when the layer is
 * half a wave thick there. Born and Wolf, Principles of Optics, ch. 1.6.4. */
START_TEST(half_wave_is_absent)
{
    for (double angle = 0.0; angle < 1.5; angle += 0.3) {
        for (double n1 = 1.3; n1 < 4.1; n1 += 0.4) {
            const reference_layer layer = {n1, 0.0, 550.0 / (2.0 * sqrt(n1 * n1 - square(sin(angle))))};
            reference_stack with = coated(1.52, 1, &layer, 550.0), bare = coated(1.52, 0, NULL, 550.0);
            with.aoi_rad = bare.aoi_rad = angle;
            for (int metal = 0; metal <= 1; metal++) {
                with.substrate_k = bare.substrate_k = 3.3 * metal;
                for (int plane = BC_S; plane <= BC_P; plane++)
                    ck_assert_double_eq_tol(observe(&with, (bc_plane)plane).R, observe(&bare, (bc_plane)plane).R,
                                            1e-14);
            }
        }
    }
}
END_TEST

/* Thin absorbing layer, N = 3.1 - 3.3i, 20 nm on 1.52, 550 nm. The formula: one layer as the sum of its reflections,
 * from Heavens, Optical Properties of Thin Solid Films, 1955, ch. 4; the figures were computed from it to 30 digits. */
START_TEST(thin_absorbing_layer)
{
    const reference_layer layer = {3.1, 3.3, 20.0};
    const reference_stack stack = coated(1.52, 1, &layer, 550.0);
    const double complex N = 3.1 - 3.3 * I, x = cexp(-2.0 * PI * I * N * 20.0 / 550.0);
    const double complex r01 = (1.0 - N) / (1.0 + N), r12 = (N - 1.52) / (N + 1.52);
    const double complex below_line = 1.0 + r01 * r12 * x * x;
    const double complex rho = (r01 + r12 * x * x) / below_line;
    const double complex tau = 2.0 / (1.0 + N) * 2.0 * N / (N + 1.52) * x / below_line;
    const observation seen = observe(&stack, BC_S);
    agree(seen.R, creal(rho * conj(rho)), 50.4981325564, 0.51e-10);
    agree(seen.T, 1.52 * creal(tau * conj(tau)), 10.8048345609, 0.51e-10);
}
END_TEST

TCase *interfaces_case(void)
{
    TCase *tests = tcase_create("interfaces and single layers");
    tcase_add_test(tests, fresnel_normal);
    tcase_add_test(tests, fresnel_at_an_angle);
    tcase_add_test(tests, brewster);
    tcase_add_test(tests, total_reflection);
    tcase_add_test(tests, bare_metal);
    tcase_add_test(tests, single_quarter_wave);
    tcase_add_test(tests, half_wave_is_absent);
    tcase_add_test(tests, thin_absorbing_layer);
    return tests;
}
