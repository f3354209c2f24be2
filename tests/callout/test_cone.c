/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The mean over a cone of light against closed forms and against rays traced one by one.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/cone.h>
#include <gsl/gsl_sf_legendre.h>
#include <math.h>

static const double cones[][2] = {{0.0, 10.0},  {0.0, 60.0}, {20.0, 10.0}, {20.0, 20.0},
                                  {20.0, 35.0}, {1.0, 30.0}, {45.0, 5.0},  {0.2, 0.1}};
#define CONES ((int)(sizeof cones / sizeof *cones))

/* Of a uniform cone the mean of the direction is its axis times (1 + cos(h)) / 2, so the mean cosine is cos(t0) times
 * that; and the mean of (3 cos^2 - 1) / 2 is that of the axis times cos(h) (1 + cos(h)) / 2 (addition theorem of the
 * spherical harmonics). */
START_TEST(moments)
{
    const double t0 = cones[_i][0] * DEGREES, h = cones[_i][1] * DEGREES;
    double first = 0.0, second = 0.0, sum = 0.0;
    bc_cone cone;
    ck_assert_int_eq(bc_cone_open(t0, h, NULL, 16, &cone, NULL), BC_OK);
    for (size_t k = 0; k < cone.count; k++) {
        const double cosine = cos(cone.aoi_rad[k]);
        ck_assert(cone.aoi_rad[k] >= 0.0 && cone.aoi_rad[k] <= t0 + h && cone.aoi_rad[k] >= t0 - h &&
                  cone.share[k] > 0.0);
        sum += cone.share[k];
        first += cone.share[k] * cosine;
        second += cone.share[k] * 0.5 * (3.0 * cosine * cosine - 1.0);
    }
    expect_near(sum, 1.0, 1e-14);
    expect_near(first, cos(t0) * 0.5 * (1.0 + cos(h)), 1e-12);
    expect_near(second, 0.5 * (3.0 * cos(t0) * cos(t0) - 1.0) * 0.5 * cos(h) * (1.0 + cos(h)), 1e-12);
}
END_TEST

START_TEST(no_cone_is_one_angle)
{
    bc_cone cone;
    ck_assert_int_eq(bc_cone_open(0.3, 0.0, NULL, 16, &cone, NULL), BC_OK);
    ck_assert_uint_eq(cone.count, 1);
    ck_assert(cone.aoi_rad[0] == 0.3 && cone.share[0] == 1.0);
}
END_TEST

/* Rays on a fine grid of polar angle and azimuth about the axis, each with its own angle of incidence; 4 um of layers,
 * whose fringes in angle are narrow. */
START_TEST(ray_by_ray)
{
    const single_layer layer = {1.0, 2.1, 1.52, _i % 2 == 0 ? 120.0 : 4000.0};
    const double t0 = cones[_i / 2][0] * DEGREES, h = cones[_i / 2][1] * DEGREES;
    enum { RINGS = 600, SPOKES = 600 };
    double sum = 0.0, weights = 0.0;
    bc_callout callout = callout_of(550.0, 550.0);
    bench_stack bench;
    lay_layer(&bench, &layer);
    for (int r = 0; r < RINGS; r++)
        for (int s = 0; s < SPOKES; s++) {
            const double polar = h * (r + 0.5) / RINGS, azimuth = PI * (s + 0.5) / SPOKES;
            const double cosine = cos(t0) * cos(polar) + sin(t0) * sin(polar) * cos(azimuth);
            sum += sin(polar) * airy_mean(&layer, 550.0, acos(fmin(cosine, 1.0))).R;
            weights += sin(polar);
        }
    callout.aoi_from_rad = callout.aoi_to_rad = t0;
    callout.cone_rad = h;
    expect_near(find(&bench.stack, &callout, NULL).value, sum / weights, 3e-6);
}
END_TEST

/* A pupil that is bright at the rim, one with a dark centre, and one that falls to 0 before the rim. */
static const struct {
    const char *table;
    double at[4], weight[4];
} pupils[] = {
    {"angle_deg,weight\n0,1\n5,2\n70,4\n", {0.0, 5.0, 70.0, 90.0}, {1.0, 2.0, 4.0, 4.0}},
    {"angle_deg,weight\n0,0\n4,0\n4.5,1\n70,1\n", {0.0, 4.0, 4.5, 70.0}, {0.0, 0.0, 1.0, 1.0}},
    {"angle_deg,weight\n0,3\n0.08,1\n9,0\n70,0\n", {0.0, 0.08, 9.0, 70.0}, {3.0, 1.0, 0.0, 0.0}},
};
#define PUPILS ((int)(sizeof pupils / sizeof *pupils))

static double pupil_at(int pupil, double degrees)
{
    const double *at = pupils[pupil].at, *weight = pupils[pupil].weight;
    int k = 0;
    while (k < 2 && degrees > at[k + 1])
        k++;
    return weight[k] + (weight[k + 1] - weight[k]) * (degrees - at[k]) / (at[k + 1] - at[k]);
}

/* The mean Legendre polynomial of the angle from the axis, by the midpoint rule between the rows. */
static double mean_legendre(int pupil, double h, int order)
{
    enum { STEPS = 20000 };
    double sum = 0.0, all = 0.0;
    for (int k = 0; k < 3; k++) {
        const double from = fmin(pupils[pupil].at[k] * DEGREES, h), to = fmin(pupils[pupil].at[k + 1] * DEGREES, h);
        for (int i = 0; i < STEPS && to > from; i++) {
            const double g = from + (to - from) * (i + 0.5) / STEPS;
            const double share = pupil_at(pupil, g / DEGREES) * sin(g) * (to - from);
            sum += share * gsl_sf_legendre_Pl(order, cos(g));
            all += share;
        }
    }
    return sum / all;
}

/* The mean of P_l(cos(t)) over directions about an axis is P_l(cos(t0)) times that of P_l(cos(g)), whatever their
 * weight (addition theorem of the spherical harmonics); a Gauss rule of n points has it up to the order 2 n - 1. */
START_TEST(weighted_moments)
{
    const double t0 = cones[_i / PUPILS][0] * DEGREES, h = cones[_i / PUPILS][1] * DEGREES;
    enum { POINTS = 8 };
    if (_i % PUPILS == 1 && h < 5.0 * DEGREES) /* all dark */
        return;
    bc_materials *materials;
    bc_cone cone;
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    const bc_weight *weight = weight_from_file(materials, pupils[_i % PUPILS].table);
    ck_assert(bc_weight_is_of_angle(weight));
    ck_assert_int_eq(bc_cone_open(t0, h, weight, POINTS, &cone, NULL), BC_OK);
    ck_assert_uint_eq(cone.count, POINTS);
    for (int order = 0; order < 2 * POINTS; order++) {
        double mean = 0.0;
        for (size_t k = 0; k < cone.count; k++) {
            ck_assert(cone.share[k] > 0.0 && cone.aoi_rad[k] >= t0 - h - 1e-12 && cone.aoi_rad[k] <= t0 + h + 1e-12);
            mean += cone.share[k] * gsl_sf_legendre_Pl(order, cos(cone.aoi_rad[k]));
        }
        expect_near(mean, gsl_sf_legendre_Pl(order, cos(t0)) * mean_legendre(_i % PUPILS, h, order), 1e-8);
    }
    bc_materials_free(materials);
}
END_TEST

/* A table of ones is no weight. */
START_TEST(uniform_by_table)
{
    const single_layer layer = {1.0, 2.1, 1.52, 4000.0};
    bc_callout callout = callout_of(500.0, 600.0);
    bc_materials *materials;
    bench_stack bench;
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    lay_layer(&bench, &layer);
    callout.aoi_from_rad = callout.aoi_to_rad = cones[_i][0] * DEGREES;
    callout.cone_rad = cones[_i][1] * DEGREES;
    const double plain = find(&bench.stack, &callout, NULL).value;
    callout.cone_weight = weight_from_file(materials, "angle_deg,weight\n0,2\n90,2\n");
    expect_near(find(&bench.stack, &callout, NULL).value, plain, 3e-6);
    bc_materials_free(materials);
}
END_TEST

TCase *cone_case(void)
{
    TCase *tests = tcase_create("cone");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_loop_test(tests, moments, 0, CONES);
    tcase_add_test(tests, no_cone_is_one_angle);
    tcase_add_loop_test(tests, ray_by_ray, 0, 2 * CONES);
    tcase_add_loop_test(tests, weighted_moments, 0, PUPILS * CONES);
    tcase_add_loop_test(tests, uniform_by_table, 0, CONES);
    return tests;
}
