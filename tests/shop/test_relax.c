/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How callouts are made easier: what each step changes, and that it changes nothing else.
 */
#include "relax.h"
#include "workshop.h"
#include <math.h>

#define DEGREES (PI / 180.0)

/* Two rows that belong together, the second one narrower and at an angle of its own. */
static bc_callout rows[2] = {
    {.limit = 0.005, .from_nm = 420.0, .to_nm = 740.0, .aoi_from_rad = 10.0 * DEGREES, .aoi_to_rad = 42.0 * DEGREES},
    {.limit = 0.01, .from_nm = 450.0, .to_nm = 700.0, .aoi_from_rad = 30.0 * DEGREES, .aoi_to_rad = 30.0 * DEGREES}};
static const bc_callouts asked = {.count = 2, .callout = rows};

/* A band of 320 nm may lose 240, in whole nm; the other row only where it reaches farther. */
START_TEST(a_band_gives_way_at_its_ends)
{
    ck_assert_uint_eq(bc_relax_steps(&asked, BC_NO_CALLOUT, BC_EXCEPT_FROM), 240);
    ck_assert_uint_eq(bc_relax_steps(&asked, BC_NO_CALLOUT, BC_EXCEPT_TO), 240);
    ck_assert_uint_eq(bc_relax_steps(&asked, 0, BC_EXCEPT_BOTH), 120);
    for (size_t step = 0; step <= 120; step += 20) {
        const double moved = (double)step;
        bc_callout from[2], to[2], both[2], alone[2];
        bc_relax_to(&asked, BC_NO_CALLOUT, BC_EXCEPT_FROM, step, from);
        bc_relax_to(&asked, BC_NO_CALLOUT, BC_EXCEPT_TO, step, to);
        bc_relax_to(&asked, BC_NO_CALLOUT, BC_EXCEPT_BOTH, step, both);
        bc_relax_to(&asked, 0, BC_EXCEPT_FROM, step, alone);
        ck_assert_double_eq(from[0].from_nm, 420.0 + moved);
        ck_assert_double_eq(from[0].to_nm, 740.0);
        ck_assert_double_eq(from[1].from_nm, fmax(450.0, 420.0 + moved));
        ck_assert_double_eq(to[0].to_nm, 740.0 - moved);
        ck_assert_double_eq(to[1].to_nm, fmin(700.0, 740.0 - moved));
        ck_assert_double_eq(to[1].from_nm, 450.0);
        ck_assert(both[0].from_nm == 420.0 + moved && both[0].to_nm == 740.0 - moved);
        ck_assert_double_eq(both[0].limit, rows[0].limit);
        ck_assert_double_eq(both[0].aoi_to_rad, rows[0].aoi_to_rad);
        ck_assert(alone[0].from_nm == 420.0 + moved && alone[1].from_nm == 450.0);
    }
}
END_TEST

/* No row loses more than three quarters: what reaches farthest gives way alone. */
START_TEST(a_row_keeps_a_quarter_of_its_band)
{
    bc_callout two[2] = {rows[0], rows[1]}, changed[2];
    const bc_callouts apart = {.count = 2, .callout = two};
    two[0].from_nm = 529.0;
    two[0].to_nm = 537.0;
    two[1].from_nm = 1059.0;
    two[1].to_nm = 1069.0;
    bc_relax_to(&apart, BC_NO_CALLOUT, BC_EXCEPT_FROM, bc_relax_steps(&apart, BC_NO_CALLOUT, BC_EXCEPT_FROM), changed);
    ck_assert_double_eq_tol(changed[0].from_nm, 535.0, 0.011);
    ck_assert_double_eq(changed[1].from_nm, 1059.0);
}
END_TEST

/* By one factor, rounded up to three digits; of "at least" the distance from 100 %, and 0 is the least. */
START_TEST(limits_grow_by_one_factor)
{
    bc_callout least[2] = {rows[0], rows[1]}, changed[2];
    const bc_callouts both = {.count = 2, .callout = least};
    least[1].sense = BC_AT_LEAST;
    least[1].limit = 0.995;
    bc_relax_limits(&both, BC_NO_CALLOUT, 1.2345, changed);
    ck_assert_double_eq_tol(changed[0].limit, 0.00618, 1e-12);
    ck_assert_double_eq_tol(changed[1].limit, 1.0 - 0.00618, 1e-12);
    ck_assert_double_eq(changed[0].from_nm, rows[0].from_nm);
    bc_relax_limits(&both, 0, 1.2345, changed);
    ck_assert_double_eq(changed[1].limit, 0.995);
    bc_relax_limits(&both, 1, 1000.0, changed);
    ck_assert_double_eq(changed[0].limit, 0.005);
    ck_assert_double_eq(changed[1].limit, 0.0);
    bc_relax_limits(&both, BC_NO_CALLOUT, 1.0, changed); /* what is round is left alone */
    ck_assert_double_eq_tol(changed[0].limit, 0.005, 1e-15);
}
END_TEST

/* Of a ratio s / p the distance from 1, on either side; ten times, or a tenth, is as far as limits go. */
START_TEST(limits_of_a_ratio_grow_from_1)
{
    bc_callout ratio[3] = {rows[0], rows[0], rows[0]}, changed[3];
    const bc_callouts all = {.count = 3, .callout = ratio};
    for (int c = 0; c < 3; c++)
        ratio[c].polarization = BC_POL_RATIO;
    ratio[0].limit = 1.02;
    ratio[1].limit = 0.98;
    ratio[1].sense = BC_AT_LEAST;
    ratio[2].limit = 0.5;
    bc_relax_limits(&all, BC_NO_CALLOUT, 1.5, changed);
    ck_assert_double_eq_tol(changed[0].limit, 1.03, 1e-12);
    ck_assert_double_eq_tol(changed[1].limit, 0.97, 1e-12);
    ck_assert_double_eq_tol(changed[2].limit, 0.75, 1e-12);
    bc_relax_limits(&all, BC_NO_CALLOUT, 1000.0, changed);
    ck_assert_double_eq(changed[0].limit, 10.0);
    ck_assert_double_eq(changed[1].limit, 0.1);
}
END_TEST

/* A range keeps its near end; a single angle moves to the normal, in tenths of a degree. */
START_TEST(angles_come_down)
{
    ck_assert_uint_eq(bc_relax_steps(&asked, BC_NO_CALLOUT, BC_EXCEPT_ANGLE), 420);
    for (size_t step = 0; step <= 420; step += 60) {
        const double most = 42.0 - 0.1 * (double)step;
        bc_callout changed[2];
        bc_relax_to(&asked, BC_NO_CALLOUT, BC_EXCEPT_ANGLE, step, changed);
        ck_assert_double_eq(changed[0].aoi_from_rad, rows[0].aoi_from_rad);
        ck_assert_double_eq_tol(changed[0].aoi_to_rad / DEGREES, fmax(10.0, most), 1e-9);
        ck_assert_double_eq_tol(changed[1].aoi_to_rad / DEGREES, fmin(30.0, most), 1e-9);
        ck_assert_double_eq(changed[1].aoi_from_rad, changed[1].aoi_to_rad);
    }
}
END_TEST

START_TEST(what_can_be_changed)
{
    bc_callout line = rows[0];
    const bc_callouts one = {.count = 1, .callout = &line};
    line.to_nm = line.from_nm;
    ck_assert_uint_eq(bc_relax_steps(&one, 0, BC_EXCEPT_FROM), 0);
    ck_assert_uint_eq(bc_relax_steps(&one, 0, BC_EXCEPT_BOTH), 0);
    ck_assert_uint_eq(bc_relax_steps(&one, 0, BC_EXCEPT_ANGLE), 420);
    line.aoi_from_rad = line.aoi_to_rad = 0.0;
    ck_assert_uint_eq(bc_relax_steps(&one, 0, BC_EXCEPT_ANGLE), 0);
    ck_assert_uint_eq(bc_relax_steps(&one, 0, BC_EXCEPT_DROPPED), 0);
}
END_TEST

/* All zones, then fewer, out to a quarter of the way. */
START_TEST(zones_come_in)
{
    ck_assert_uint_eq(bc_relax_zones(41, 0), 41);
    ck_assert_uint_eq(bc_relax_zone_steps(41), 30);
    ck_assert_uint_eq(bc_relax_zones(41, 30), 11);
}
END_TEST

TCase *relax_case(void)
{
    TCase *tests = tcase_create("relax");
    tcase_add_test(tests, a_band_gives_way_at_its_ends);
    tcase_add_test(tests, a_row_keeps_a_quarter_of_its_band);
    tcase_add_test(tests, limits_grow_by_one_factor);
    tcase_add_test(tests, limits_of_a_ratio_grow_from_1);
    tcase_add_test(tests, angles_come_down);
    tcase_add_test(tests, what_can_be_changed);
    tcase_add_test(tests, zones_come_in);
    return tests;
}
