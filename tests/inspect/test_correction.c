/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <bloomcoat/correction.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <string.h>

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

/* Each bound from both sides: noise of a tenth of the reference's signal; a reference of a hundredth of a per cent; R
 * of -5 and 110 %; half of the values below the dark scan; one part in a million of a wavelength. */
START_TEST(bounds_of_a_correction)
{
    enum { DROWNS, NOTHING, BELOW, ABOVE, DARKER, EVEN_DARKER, SHORTER, LONGER, BOUNDS };
    for (int what = 0; what < BOUNDS; what++)
        for (int good = 0; good < 2; good++) {
            static scans all;
            double value[POINTS], other_nm[POINTS];
            lay_out(&all);
            const double light = all.F[60] - all.D[60], a_little = good == 1 ? -1e-6 : 1e-6;
            const size_t darker = good == 1 ? 100 : 101;
            memcpy(other_nm, all.nm, sizeof other_nm);
            switch (what) {
            case DROWNS:
                all.f[60] = 0.1 * light * (1.0 + a_little);
                break;
            case NOTHING:
                all.known[60] = 1e-4 * (1.0 - a_little);
                break;
            case BELOW:
                all.S[60] = all.D[60] + light / all.known[60] * (-0.05 - a_little);
                break;
            case ABOVE:
                all.S[60] = all.D[60] + light / all.known[60] * (1.10 + a_little);
                break;
            case DARKER:
            case EVEN_DARKER:
                all.sample.count = what == EVEN_DARKER ? 200 : 201;
                for (size_t i = 0; i < darker; i++)
                    all.S[i] = all.D[i] - 1.0;
                break;
            default:
                other_nm[60] *= 1.0 + (what == SHORTER ? -1.0 : 1.0) * (good == 1 ? 0.99e-6 : 1.01e-6);
                all.correction.reference.wavelength_nm = other_nm;
            }
            ck_assert_msg(
                (bc_correct(&all.correction, &all.sample, all.known, NULL, value, NULL, NULL, NULL) == BC_OK) == good,
                "bound %d, %d", what, good);
        }
}
END_TEST

/* Of several scans the largest noise counts, and all of what the reference was: sums worked out here. */
START_TEST(two_scans_of_one_reference)
{
    static scans all;
    double value[POINTS], deviation[POINTS], noise[3] = {0.0, 0.0, 0.0};
    lay_out(&all);
    for (int scan = 0; scan < 3; scan++) {
        double square[3] = {0.0, 0.0, 0.0};
        all.sample.count = scan == 1 ? 60 : POINTS;
        for (int i = 0; i < POINTS; i++) {
            all.known[i] = scan == 1 ? 0.8 : 0.85 + 0.05 * i / POINTS;
            deviation[i] = scan == 2 ? 2.0 : 4.0 + scan;
            const double q = all.known[i] / (all.F[i] - all.D[i]),
                         ratio = (all.S[i] - all.D[i]) / (all.F[i] - all.D[i]);
            const double of[3] = {q * deviation[i], q * ratio * all.f[i], q * (1.0 - ratio) * all.d[i]};
            for (int k = 0; k < 3 && i < (int)all.sample.count; k++)
                square[k] += of[k] * of[k] / (double)all.sample.count;
        }
        ck_assert_int_eq(bc_correct(&all.correction, &all.sample, all.known, NULL, value, deviation, NULL, NULL),
                         BC_OK);
        for (int k = 0; k < 3; k++)
            noise[k] = fmax(noise[k], sqrt(square[k]));
        ck_assert_double_eq_tol(all.correction.sample_noise / noise[0], 1.0, 1e-9);
        ck_assert_double_eq_tol(all.correction.reference_noise / noise[1], 1.0, 1e-9);
        ck_assert_double_eq_tol(all.correction.dark_noise / noise[2], 1.0, 1e-9);
        ck_assert_double_eq_tol(all.correction.known_from, scan == 0 ? 0.85 : 0.8, 1e-12);
        ck_assert_double_eq_tol(all.correction.known_to, 0.85 + 0.05 * 200.0 / POINTS, 1e-12);
        ck_assert_uint_eq(all.correction.scans, (size_t)scan + 1);
    }
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

/* What is allowed at each wavelength and on the average, of R and of T, with noise and where none can be seen. The
 * index alone bears on T, whose loss is R. Loop: both, few values, many. */
START_TEST(what_a_bare_substrate_is_allowed)
{
    const bool of_T = _i % 2 == 1;
    const size_t count = _i < 2 ? 5 : 60, worst = count / 2;
    const double index = 1.8, of_index = 4e-3 / (index * index - 1.0);
    double nm[60], measured[60], expected[60], found = 0.0, known = 0.0;
    bc_bare_check check;
    for (size_t i = 0; i < count; i++) {
        nm[i] = 400.0 + 5.0 * (double)i;
        expected[i] = of_T ? 0.9 - 1e-4 * (double)i : 0.08 + 1e-4 * (double)i;
        measured[i] = expected[i] + 2e-5 * sin((double)(i * i)) + (i == worst ? -3e-3 : 0.0);
        found += measured[i] / (double)count;
        known += expected[i] / (double)count;
    }
    ck_assert_int_eq(bc_check_bare(of_T ? BC_T : BC_R, count, nm, measured, expected, index, 2e-4, 0.004, &check, NULL),
                     BC_OK);
    ck_assert(_i < 2 ? isnan(check.noise) : check.noise > 0.0);
    const double noise = _i < 2 ? 0.0 : check.noise, share = of_T ? of_index : hypot(0.004, of_index);
    const double here = of_T ? 1.0 - expected[worst] : expected[worst], all = of_T ? 1.0 - known : known;
    ck_assert(check.quantity == (of_T ? BC_T : BC_R) && check.count == count && check.worst_nm == nm[worst]);
    ck_assert_double_eq_tol(check.worst, measured[worst] - expected[worst], 1e-15);
    ck_assert_double_eq_tol(check.worst_allowed, hypot(hypot(2e-4, share * here), 4.0 * noise), 1e-12);
    ck_assert_double_eq_tol(check.measured, found, 1e-12);
    ck_assert_double_eq_tol(check.expected, known, 1e-12);
    ck_assert_double_eq_tol(check.off, found / known - 1.0, 1e-12);
    ck_assert_double_eq_tol(check.allowed, hypot(hypot(2e-4, share * all), 2.0 * noise / sqrt((double)count)) / known,
                            1e-12);
    ck_assert(!check.within);
}
END_TEST

TCase *correction_case(void)
{
    TCase *tests = tcase_create("correction");
    tcase_add_test(tests, the_ratio);
    tcase_add_test(tests, noise_is_that_of_simulated_scans);
    tcase_add_test(tests, a_reference_without_repeats);
    tcase_add_test(tests, what_is_refused);
    tcase_add_test(tests, bounds_of_a_correction);
    tcase_add_test(tests, two_scans_of_one_reference);
    tcase_add_loop_test(tests, what_a_bare_substrate_is_allowed, 0, 4);
    tcase_add_test(tests, bare_values);
    tcase_add_test(tests, a_bare_substrate_checks_the_instrument);
    return tests;
}
