/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The mean over a cone of light against closed forms and against rays traced one by one.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/cone.h>
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
    ck_assert_int_eq(bc_cone_open(t0, h, 16, &cone, NULL), BC_OK);
    for (size_t k = 0; k < cone.count; k++) {
        const double cosine = cos(cone.aoi_rad[k]);
        ck_assert(cone.aoi_rad[k] >= 0.0 && cone.aoi_rad[k] <= t0 + h && cone.aoi_rad[k] >= t0 - h);
        sum += cone.share[k];
        first += cone.share[k] * cosine;
        second += cone.share[k] * 0.5 * (3.0 * cosine * cosine - 1.0);
    }
    expect_near(sum, 1.0, 1e-14);
    expect_near(first, cos(t0) * 0.5 * (1.0 + cos(h)), 2e-8);
    expect_near(second, 0.5 * (3.0 * cos(t0) * cos(t0) - 1.0) * 0.5 * cos(h) * (1.0 + cos(h)), 6e-8);
}
END_TEST

START_TEST(no_cone_is_one_angle)
{
    bc_cone cone;
    ck_assert_int_eq(bc_cone_open(0.3, 0.0, 16, &cone, NULL), BC_OK);
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

TCase *cone_case(void)
{
    TCase *tests = tcase_create("cone");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_loop_test(tests, moments, 0, CONES);
    tcase_add_test(tests, no_cone_is_one_angle);
    tcase_add_loop_test(tests, ray_by_ray, 0, 2 * CONES);
    return tests;
}
