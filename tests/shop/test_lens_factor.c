/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where zones lie on a curved surface, and the factors of all thicknesses that make the best of them: against the
 * closed form of a single layer.
 */
#include "bowl.h"
#include <math.h>
#include <string.h>

/* Where limit_used changes by more than 5 % of itself, or of 1 where it is less, from one zone to the next, a third
 * lies halfway between; three times over. Zones by the same rule from the closed form. */
START_TEST(zones_lie_closer_where_the_curve_is_steep)
{
    enum { FEW = 5, MOST = 8 * (FEW - 1) + 1 };
    const double limit = 0.003 * pow(1.2, _i);
    double at_mm[MOST], finer_mm[MOST];
    size_t count = FEW;
    workshop w;
    bc_lens_result lens;
    open_single(&w, limit);
    for (size_t z = 0; z < FEW; z++)
        at_mm[z] = 20.0 * sin(asin(0.7) * (double)z / (FEW - 1));
    for (int pass = 0; pass < 3; pass++) {
        size_t finer = 0;
        for (size_t z = 0; z < count; z++) {
            const double here = R_at_slope(asin(at_mm[z] / 20.0), QUARTER) / limit;
            const double before = R_at_slope(asin(at_mm[z > 0 ? z - 1 : z] / 20.0), QUARTER) / limit;
            if (fabs(here - before) > 0.05 * fmax(1.0, fmin(here, before)))
                finer_mm[finer++] = (at_mm[z - 1] + at_mm[z]) / 2.0;
            finer_mm[finer++] = at_mm[z];
        }
        count = finer;
        memcpy(at_mm, finer_mm, sizeof at_mm);
    }
    lens = look(&w, &bowl, FEW);
    ck_assert_uint_eq(lens.zones, count);
    for (size_t z = 0; z < count; z++)
        ck_assert_double_eq_tol(lens.zone[z].radius_mm, at_mm[z], 1e-12);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* R of one layer depends on the cosine of its phase: as much past the quarter wave at the vertex as short of it at the
 * edge balances the two, so the factor is 2 / (1 + cos s). (Born and Wolf, Principles of Optics, ch. 1.6.4) */
START_TEST(the_factor_that_balances)
{
    const double edge_rad = asin(14.0 / 20.0), expected = 2.0 / (1.0 + cos(edge_rad));
    workshop w;
    bc_lens_result lens;
    open_single(&w, 0.012);
    lens = look(&w, &bowl, BC_LENS_ZONES);
    ck_assert_double_eq_tol(lens.factor, expected, 1.01e-4);
    ck_assert_double_eq_tol(lens.scaled.check.limit_used, R_at_slope(0.0, expected * QUARTER) / 0.012, 1e-3);
    ck_assert_double_lt(lens.scaled.check.limit_used, lens.designed.check.limit_used);
    ck_assert(lens.scaled.check.pass && lens.scaled.aperture_mm == 28.0);
    ck_assert_ptr_eq(lens.scaled.check.finding[0].substrate, lens.designed.check.finding[0].substrate);
    bc_lens_result_clear(&lens);
    w.stack.layer[0].thickness_nm = expected * QUARTER; /* balanced as it is: nothing is to be gained */
    lens = look(&w, &bowl, BC_LENS_ZONES);
    ck_assert_double_eq_tol(lens.factor, 1.0, 1.01e-4);
    if (lens.factor == 1.0)
        ck_assert_uint_eq(lens.scaled.check.count, 0);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* Where no factor is enough, the farthest that one reaches: a layer thick as far past the quarter wave at the vertex as
 * the limit allows, and as far short of it where it ends. With R at the limit at 1 - w and 1 + w quarter waves, found
 * here by bisection of the closed form, that is where the cosine is (1 - w) / (1 + w). */
START_TEST(the_factor_that_reaches_farthest)
{
    static const double limits[] = {0.0075, 0.0066, 0.00652};
    const double limit = limits[_i];
    double low = 0.5, high = 1.0;
    workshop w;
    bc_lens_result lens;
    open_single(&w, limit);
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (R_at_slope(0.0, middle * QUARTER) > limit)
            low = middle;
        else
            high = middle;
    }
    lens = look(&w, &bowl, BC_LENS_ZONES);
    ck_assert(!lens.scaled.check.pass);
    ck_assert_double_eq_tol(lens.reach_factor, 2.0 - high, 2e-3);
    ck_assert_double_eq_tol(lens.reaching.aperture_mm, 40.0 * sqrt(1.0 - pow(high / (2.0 - high), 2.0)), 0.1);
    ck_assert_double_gt(lens.reaching.aperture_mm, lens.designed.aperture_mm);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* It does not take more zones than two: where a constraint ends between zones that hold it, R being lower in between
 * than at the vertex, the factor is that of many zones. */
START_TEST(few_zones_reach_as_far)
{
    workshop w;
    bc_lens_result few, many;
    open_single(&w, _i < 7 ? 0.00652 : 0.0066);
    few = look(&w, &bowl, (size_t)(2 + _i % 7));
    many = look(&w, &bowl, 201);
    ck_assert_double_gt(few.reach_factor, 1.0);
    ck_assert_double_eq_tol(few.reach_factor, many.reach_factor, 1.01e-4);
    ck_assert_double_eq_tol(few.reaching.aperture_mm, many.reaching.aperture_mm, 0.05);
    bc_lens_result_clear(&few);
    bc_lens_result_clear(&many);
    workshop_close(&w);
}
END_TEST

/* Whatever the stack, a factor that is offered is better, and between zones no more is hidden than the step shows. */
START_TEST(the_factor_is_never_worse)
{
    static const double thickness_nm[6][4] = {{90, 55, 30, 12},  {120, 15, 40, 90}, {60, 130, 20, 30},
                                              {100, 30, 80, 20}, {75, 75, 75, 75},  {10, 200, 15, 33}};
    workshop w;
    bc_lens_result coarse, fine;
    workshop_open(&w, "air", "1.38,2.1,1.38,2.1", "1.52");
    workshop_ask(&w, 0.01, 450.0, 650.0, 0.0);
    for (size_t j = 0; j < 4; j++)
        w.stack.layer[j].thickness_nm = thickness_nm[_i][j];
    coarse = look(&w, &bowl, BC_LENS_ZONES);
    fine = look(&w, &bowl, 401);
    ck_assert(coarse.factor == 1.0 || coarse.scaled.check.limit_used < coarse.designed.check.limit_used);
    ck_assert_double_eq_tol(coarse.designed.check.limit_used, fine.designed.check.limit_used,
                            2e-3 * fine.designed.check.limit_used);
    bc_lens_result_clear(&coarse);
    bc_lens_result_clear(&fine);
    workshop_close(&w);
}
END_TEST

/* Of a layer of 45 quarter waves, asked about at two wavelengths, limit_used has many valleys against the factor: the
 * deepest of all factors in steps of 0.0001, by the closed form. */
START_TEST(the_factor_of_the_deepest_valley)
{
    const bc_curved shallow = {.radius_mm = 20.0, .clear_aperture_mm = 8.0, .slope_exponent = 1.0};
    const double thick_nm = 45.0 * QUARTER, other_nm = 605.0;
    double deepest = INFINITY, found = 0.0;
    workshop w;
    bc_lens_result lens;
    open_single(&w, 0.02);
    workshop_ask(&w, 0.02, other_nm, other_nm, 0.0);
    w.stack.layer[0].thickness_nm = thick_nm;
    lens = look(&w, &shallow, 9);
    for (int step = 9000; step <= 11000.0 / cos(asin(0.2)); step++) {
        double worst = 0.0;
        for (size_t z = 0; z < lens.zones; z++) {
            const double nm = 1e-4 * step * thick_nm * lens.zone[z].thickness_factor;
            worst = fmax(worst, fmax(one_layer(INDEX, GLASS, nm, WAVE_NM), one_layer(INDEX, GLASS, nm, other_nm)));
        }
        deepest = fmin(deepest, worst);
        if (step == (int)round(1e4 * lens.factor))
            found = worst;
    }
    ck_assert_double_eq_tol(found, deepest, 0.01 * deepest);
    ck_assert_double_eq_tol(lens.scaled.check.limit_used, found / 0.02, 1e-9);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* Half a quarter wave is too thin and twice one too thick whatever the factor: the ends of what is looked at are the
 * best, a tenth above the design at the edge and a tenth below it at the vertex. */
START_TEST(the_factor_at_the_end_of_its_range)
{
    workshop w;
    bc_lens_result lens;
    open_single(&w, 0.012);
    w.stack.layer[0].thickness_nm = _i == 0 ? 0.5 * QUARTER : 1.7 * QUARTER;
    lens = look(&w, &bowl, 9);
    ck_assert_double_eq_tol(lens.factor, _i == 0 ? 1.1 / cos(asin(0.7)) : 0.9, 1e-4);
    ck_assert_ptr_eq(lens.designed.check.finding[0].zone, _i == 0 ? &lens.zone[lens.zones - 1] : &lens.zone[0]);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* Of zones that are all alike the first is named. */
START_TEST(the_same_everywhere)
{
    bc_curved even = bowl;
    workshop w;
    bc_lens_result lens;
    even.slope_exponent = 0.0;
    open_single(&w, 0.005);
    lens = look(&w, &even, 9);
    ck_assert_uint_eq(lens.zones, 9);
    ck_assert_ptr_eq(lens.designed.check.finding[0].zone, &lens.zone[0]);
    ck_assert_double_eq(lens.designed.aperture_mm, 0.0);
    ck_assert_double_eq_tol(lens.designed.area_mean[0], lens.designed.value[0], 1e-15);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* Each finding of two glasses is that of its glass alone. */
START_TEST(each_glass_has_an_aperture_of_its_own)
{
    bc_lens_result both;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.62,1.58");
    w.stack.layer[0].thickness_nm = QUARTER;
    workshop_ask(&w, 0.012, WAVE_NM, WAVE_NM, 0.0);
    ck_assert_int_eq(bc_lens(&w.stack, &w.callouts, 2, w.glass, &bowl, 9, &both, NULL), BC_OK);
    ck_assert_uint_eq(both.designed.check.count, 2);
    for (size_t f = 0; f < 2; f++) {
        const bc_medium *glass = both.designed.check.finding[f].substrate;
        bc_lens_result alone;
        ck_assert_int_eq(bc_lens(&w.stack, &w.callouts, 1, glass, &bowl, 9, &alone, NULL), BC_OK);
        ck_assert_double_eq_tol(both.designed.finding_aperture_mm[f], alone.designed.aperture_mm, 0.003);
        ck_assert_double_eq_tol(both.designed.area_mean[f], alone.designed.area_mean[0], 1e-4);
        ck_assert(both.designed.finding_aperture_mm[f] > 1.0 && both.designed.finding_aperture_mm[f] < 27.0);
        bc_lens_result_clear(&alone);
    }
    ck_assert_double_gt(fabs(both.designed.area_mean[0] - both.designed.area_mean[1]), 5e-4);
    ck_assert_double_gt(fabs(both.designed.finding_aperture_mm[0] - both.designed.finding_aperture_mm[1]), 0.1);
    bc_lens_result_clear(&both);
    workshop_close(&w);
}
END_TEST

TCase *lens_factor_case(void)
{
    TCase *tests = tcase_create("lens_factor");
    tcase_add_test(tests, the_factor_that_balances);
    tcase_add_loop_test(tests, the_factor_that_reaches_farthest, 0, 3);
    tcase_add_loop_test(tests, few_zones_reach_as_far, 0, 14);
    tcase_add_loop_test(tests, the_factor_is_never_worse, 0, 6);
    tcase_add_loop_test(tests, zones_lie_closer_where_the_curve_is_steep, 0, 12);
    tcase_add_test(tests, the_factor_of_the_deepest_valley);
    tcase_add_loop_test(tests, the_factor_at_the_end_of_its_range, 0, 2);
    tcase_add_test(tests, the_same_everywhere);
    tcase_add_test(tests, each_glass_has_an_aperture_of_its_own);
    return tests;
}
