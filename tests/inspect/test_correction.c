/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <bloomcoat/correction.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>

#define POINTS 201
#define DRAWS  4000

typedef struct scans {
    double nm[POINTS], S[POINTS], F[POINTS], D[POINTS], s[POINTS], f[POINTS], d[POINTS], known[POINTS];
    long line[POINTS];
    bc_raw_scan sample;
    bc_correction correction;
} scans;

/* A lamp that is bright in the middle, a sample of 0.3 to 2 %, a reference of 85 to 90 %. */
static void lay_out(scans *all)
{
    *all = (scans){.correction = {.quantity = BC_R, .name = "mirror"}};
    for (int i = 0; i < POINTS; i++) {
        const double lamp = 2000.0 + 40000.0 * exp(-pow((i - 90.0) / 50.0, 2.0));
        all->nm[i] = 400.0 + 1.5 * i;
        all->known[i] = 0.85 + 0.05 * i / POINTS;
        all->D[i] = 120.0 + 0.1 * i;
        all->S[i] = all->D[i] + lamp * (0.003 + 0.017 * i / POINTS);
        all->F[i] = all->D[i] + lamp * all->known[i];
        all->s[i] = 4.0;
        all->f[i] = 25.0;
        all->d[i] = 3.0;
        all->line[i] = i + 2;
    }
    all->sample = (bc_raw_scan){"sample.csv", POINTS, all->nm, all->S, all->s, all->line};
    all->correction.reference = (bc_raw_scan){"mirror.csv", POINTS, all->nm, all->F, all->f, all->line};
    all->correction.dark = (bc_raw_scan){"dark.csv", POINTS, all->nm, all->D, all->d, all->line};
}

START_TEST(the_ratio)
{
    static scans all;
    double value[POINTS];
    bc_error error;
    lay_out(&all);
    ck_assert_msg(bc_correct(&all.correction, &all.sample, all.known, NULL, value, NULL, NULL, &error) == BC_OK, "%s",
                  error.message);
    for (int i = 0; i < POINTS; i++)
        ck_assert_double_eq_tol(value[i], 0.003 + 0.017 * i / POINTS, 1e-14);
    ck_assert_double_eq_tol(all.correction.known_from, 0.85, 1e-15);
    ck_assert_double_eq_tol(all.correction.known_to, all.known[POINTS - 1], 1e-15);
    ck_assert(isnan(all.correction.sample_noise));
}
END_TEST

/* The propagated noise against the scatter of the ratio over simulated scans (JCGM 101:2008: propagate distributions).
 */
START_TEST(noise_is_that_of_simulated_scans)
{
    static scans all;
    double value[POINTS], deviation[POINTS], uncertainty[POINTS], stated[POINTS];
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bc_error error;
    lay_out(&all);
    for (int i = 0; i < POINTS; i++) {
        deviation[i] = all.s[i];
        uncertainty[i] = 10.0;
        stated[i] = i == 7 ? 0.004 : 0.002;
    }
    ck_assert_int_eq(bc_correct(&all.correction, &all.sample, all.known, stated, value, deviation, uncertainty, &error),
                     BC_OK);
    ck_assert_double_eq_tol(all.correction.share_stated, 0.004 / all.known[7], 1e-12);
    for (int i = 0; i < POINTS; i += 40) {
        double sum = 0.0, square = 0.0;
        for (int draw = 0; draw < DRAWS; draw++) {
            const double S = all.S[i] + gsl_ran_gaussian(random, all.s[i]),
                         F = all.F[i] + gsl_ran_gaussian(random, all.f[i]),
                         D = all.D[i] + gsl_ran_gaussian(random, all.d[i]);
            const double R = (S - D) / (F - D) * all.known[i];
            sum += R / DRAWS;
            square += R * R / DRAWS;
        }
        ck_assert_double_eq_tol(deviation[i] / sqrt(square - sum * sum), 1.0, 0.05);
        ck_assert_double_eq_tol(uncertainty[i], 10.0 * all.known[i] / (all.F[i] - all.D[i]), 1e-15);
    }
    gsl_rng_free(random);
    ck_assert_double_gt(all.correction.dark_noise, all.correction.reference_noise);
    ck_assert_double_gt(all.correction.sample_noise, all.correction.dark_noise);
}
END_TEST

/* Without repeats, or with values that have none, the noise of a reference is that of its own scan. */
START_TEST(a_reference_without_repeats)
{
    static scans all;
    double value[POINTS], deviation[POINTS], uncertainty[POINTS], noise[3];
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bc_error error;
    for (int way = 0; way < 3; way++) {
        lay_out(&all);
        gsl_rng_set(random, 3);
        for (int i = 0; i < POINTS; i++) {
            all.F[i] += gsl_ran_gaussian(random, all.f[i]);
            deviation[i] = all.s[i];
            uncertainty[i] = 10.0;
            all.f[i] = way == 2 ? NAN : all.f[i];
        }
        if (way == 1)
            all.correction.reference.deviation = NULL;
        ck_assert_int_eq(
            bc_correct(&all.correction, &all.sample, all.known, NULL, value, deviation, uncertainty, &error), BC_OK);
        noise[way] = all.correction.reference_noise;
    }
    gsl_rng_free(random);
    ck_assert_double_eq_tol(noise[1] / noise[0], 1.0, 0.2);
    ck_assert_double_eq(noise[2], noise[1]);
}
END_TEST

static void expect_wrong(scans *all, const char *piece)
{
    double value[POINTS];
    bc_error error;
    ck_assert_int_eq(bc_correct(&all->correction, &all->sample, all->known, NULL, value, NULL, NULL, &error),
                     BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, piece) != NULL, "%s", error.message);
}

START_TEST(what_is_refused)
{
    static scans all;
    lay_out(&all);
    all.correction.reference.count = 100;
    expect_wrong(&all, "sample.csv:102: found 550 nm, which the reference scan mirror.csv (400 to 548.5 nm)");
    lay_out(&all);
    all.correction.dark.count = 100;
    expect_wrong(&all, "which the dark scan dark.csv");
    lay_out(&all);
    all.F[50] = all.D[50];
    expect_wrong(&all,
                 "mirror.csv:52: found a reference signal of 125 at 475 nm, and 125 of the dark scan (dark.csv:52)");
    lay_out(&all);
    all.f[60] = 0.2 * all.F[60];
    expect_wrong(&all, "drowns in noise");
    lay_out(&all);
    all.known[3] = 0.0;
    expect_wrong(&all, "'mirror' reflects 0 %");
    lay_out(&all);
    for (int i = 0; i < 101; i++)
        all.S[i] = all.D[i] - 1.0;
    expect_wrong(&all, "less signal than the dark scan dark.csv has, at 101 of 201");
    lay_out(&all);
    all.S[9] = 1.3 * all.F[9];
    expect_wrong(&all, "sample.csv:11: found R of 11");
    lay_out(&all);
    all.correction.dark.count = 0;
    all.F[9] = 0.0;
    expect_wrong(&all, "mirror.csv:11: found a reference signal of 0; expected one above 0");
}
END_TEST

/* Fresnel (Born and Wolf, Principles of Optics, 1.5.2 and 14.2): R = ((n - 1)^2 + k^2) / ((n + 1)^2 + k^2); of a plate
 * 2 R / (1 + R), and T = 1 - R where nothing absorbs. */
START_TEST(bare_values)
{
    const double nm[2] = {500.0, 600.0}, front = pow(0.52 / 2.52, 2.0), plate = 2.0 * front / (1.0 + front);
    bc_dispersion *table[3];
    double value[2];
    bc_error error;
    ck_assert_int_eq(bc_dispersion_constant("air", 1.0, 0.0, &table[0], &error), BC_OK);
    ck_assert_int_eq(bc_dispersion_constant("glass", 1.52, 0.0, &table[1], &error), BC_OK);
    ck_assert_int_eq(bc_dispersion_constant("metal", 0.88, 6.3, &table[2], &error), BC_OK);
    const bc_medium air = {"air", table[0]}, glass = {"glass", table[1]}, metal = {"metal", table[2]};
    const bc_polarization light = BC_POL_UNPOLARIZED;
    ck_assert_int_eq(bc_bare_value(&air, &glass, false, 0.0, BC_R, 0.0, light, 2, nm, value, &error), BC_OK);
    ck_assert_double_eq_tol(value[1], front, 1e-14);
    ck_assert_int_eq(bc_bare_value(&air, &glass, true, 0.0, BC_R, 0.0, light, 2, nm, value, &error), BC_OK);
    ck_assert_double_eq_tol(value[0], plate, 1e-14);
    ck_assert_int_eq(bc_bare_value(&air, &glass, true, 0.0, BC_T, 0.0, light, 2, nm, value, &error), BC_OK);
    ck_assert_double_eq_tol(value[0], 1.0 - plate, 1e-14);
    ck_assert_int_eq(bc_bare_value(&air, &metal, false, 0.0, BC_R, 0.0, light, 2, nm, value, &error), BC_OK);
    ck_assert_double_eq_tol(value[0], (0.12 * 0.12 + 6.3 * 6.3) / (1.88 * 1.88 + 6.3 * 6.3), 1e-12);
    for (size_t i = 0; i < 3; i++)
        bc_dispersion_free(table[i]);
}
END_TEST

static bc_bare_check check_bare(double factor, double bump, double noise)
{
    static double nm[POINTS], measured[POINTS], expected[POINTS];
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    bc_bare_check check;
    bc_error error;
    for (int i = 0; i < POINTS; i++) {
        nm[i] = 400.0 + 1.5 * i;
        expected[i] = 0.0426;
        measured[i] = factor * 0.0426 + bump * exp(-pow((i - 60.0) / 15.0, 2.0)) + gsl_ran_gaussian(random, noise);
    }
    gsl_rng_free(random);
    ck_assert_int_eq(bc_check_bare(BC_R, POINTS, nm, measured, expected, 1.52, 2e-4, 0.005, &check, &error), BC_OK);
    return check;
}

/* Allowed: 0.02 % of 4.26 % is 0.47 %, the scale 0.5 %, the index 4 * 0.001 / (1.52^2 - 1) = 0.31 %. */
START_TEST(a_bare_substrate_checks_the_instrument)
{
    bc_bare_check check = check_bare(1.0, 0.0, 1e-5);
    const double allowed = sqrt(pow(0.02 / 4.26, 2.0) + pow(0.005, 2.0) + pow(0.004 / (1.52 * 1.52 - 1.0), 2.0));
    ck_assert(check.within);
    ck_assert_double_eq_tol(check.allowed, allowed, 1e-4);
    check = check_bare(1.02, 0.0, 1e-5);
    ck_assert(!check.within);
    ck_assert_double_eq_tol(check.off, 0.02, 1e-3);
    check = check_bare(1.006, 0.0, 1e-5);
    ck_assert(check.within);
    /* Right on the average, off in one place. */
    check = check_bare(1.0, 0.0015, 1e-5);
    ck_assert(!check.within && fabs(check.off) < check.allowed);
    ck_assert_double_eq_tol(check.worst_nm, 490.0, 4.0);
    check = check_bare(1.0, 0.0, 1e-3); /* noise alone */
    ck_assert(check.within);
}
END_TEST

TCase *correction_case(void)
{
    TCase *tests = tcase_create("correction");
    tcase_add_test(tests, the_ratio);
    tcase_add_test(tests, noise_is_that_of_simulated_scans);
    tcase_add_test(tests, a_reference_without_repeats);
    tcase_add_test(tests, what_is_refused);
    tcase_add_test(tests, bare_values);
    tcase_add_test(tests, a_bare_substrate_checks_the_instrument);
    return tests;
}
