/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How a callout is made easier: what each step changes, and that it changes nothing else.
 */
#include "relax.h"
#include "workshop.h"
#include <math.h>

static const bc_callout asked = {.limit = 0.005,
                                 .from_nm = 420.0,
                                 .to_nm = 740.0,
                                 .aoi_from_rad = 10.0 * PI / 180.0,
                                 .aoi_to_rad = 42.0 * PI / 180.0};

/* A band of 320 nm may lose 240, 7.5 a step, in whole nm: at one end all of it, at both ends half at each. */
START_TEST(a_band_gives_way_at_its_ends)
{
    for (size_t step = 0; step <= BC_RELAX_STEPS; step++) {
        const bc_callout from = bc_relax(&asked, BC_EXCEPT_FROM, step), to = bc_relax(&asked, BC_EXCEPT_TO, step);
        const bc_callout both = bc_relax(&asked, BC_EXCEPT_BOTH, step);
        ck_assert_double_eq(from.from_nm, 420.0 + ceil(7.5 * (double)step));
        ck_assert_double_eq(from.to_nm, 740.0);
        ck_assert_double_eq(to.from_nm, 420.0);
        ck_assert_double_eq(to.to_nm, 740.0 - ceil(7.5 * (double)step));
        ck_assert_double_eq(both.from_nm, 420.0 + ceil(3.75 * (double)step));
        ck_assert_double_eq(both.to_nm, 740.0 - ceil(3.75 * (double)step));
        ck_assert_double_eq(both.limit, asked.limit);
        ck_assert_double_eq(both.aoi_to_rad, asked.aoi_to_rad);
    }
}
END_TEST

/* One of 16 nm moves by a thirty-second of itself at a time, so that it ends in a quarter of itself. */
START_TEST(a_narrow_band_moves_in_fractions_of_a_nanometre)
{
    bc_callout narrow = asked;
    narrow.to_nm = 436.0;
    ck_assert_double_eq_tol(bc_relax(&narrow, BC_EXCEPT_FROM, BC_RELAX_STEPS).from_nm, 432.0, 1e-9);
    ck_assert_double_eq_tol(bc_relax(&narrow, BC_EXCEPT_BOTH, BC_RELAX_STEPS).from_nm, 426.0, 1e-9);
    ck_assert_double_eq_tol(bc_relax(&narrow, BC_EXCEPT_BOTH, BC_RELAX_STEPS).to_nm, 430.0, 1e-9);
    ck_assert_double_eq_tol(bc_relax(&narrow, BC_EXCEPT_TO, 1).to_nm, 435.5, 1e-9);
    narrow.to_nm = 440.0; /* 20 nm: the widest of these */
    ck_assert_double_eq_tol(bc_relax(&narrow, BC_EXCEPT_TO, 1).to_nm, 440.0 - 0.625, 1e-9);
}
END_TEST

/* Equal factors up to 6, rounded up to three digits; of "at least" the distance from 100 %, and 0 is the least. */
START_TEST(a_limit_grows_by_equal_factors)
{
    bc_callout least = asked;
    least.sense = BC_AT_LEAST;
    least.limit = 0.995;
    for (size_t step = 0; step <= BC_RELAX_STEPS; step++) {
        const double wanted = 0.005 * pow(6.0, (double)step / BC_RELAX_STEPS);
        const double found = bc_relax(&asked, BC_EXCEPT_LIMIT, step).limit;
        const double unit = pow(10.0, floor(log10(100.0 * wanted)) - 2.0) / 100.0;
        ck_assert_double_ge(found, wanted * (1.0 - 1e-9));
        ck_assert_double_le(found, wanted + unit);
        ck_assert_double_eq_tol(found / unit, round(found / unit), 1e-6);
        ck_assert_double_eq_tol(bc_relax(&least, BC_EXCEPT_LIMIT, step).limit, 1.0 - found, 1e-12);
    }
    ck_assert_double_eq_tol(bc_relax(&asked, BC_EXCEPT_LIMIT, BC_RELAX_STEPS).limit, 0.03, 1e-12);
    least.limit = 0.5;
    ck_assert_double_eq(bc_relax(&least, BC_EXCEPT_LIMIT, BC_RELAX_STEPS).limit, 0.0);
}
END_TEST

/* A range keeps its near end; a single angle moves to the normal, in tenths of a degree. */
START_TEST(angles_come_down)
{
    bc_callout single = asked;
    single.aoi_from_rad = single.aoi_to_rad;
    for (size_t step = 0; step <= BC_RELAX_STEPS; step++) {
        const bc_callout range = bc_relax(&asked, BC_EXCEPT_ANGLE, step);
        const bc_callout one = bc_relax(&single, BC_EXCEPT_ANGLE, step);
        ck_assert_double_eq(range.aoi_from_rad, asked.aoi_from_rad);
        ck_assert_double_eq_tol(range.aoi_to_rad * 180.0 / PI, 42.0 - (double)step, 1e-9);
        ck_assert_double_eq_tol(one.aoi_to_rad * 180.0 / PI, floor(420.0 * (1.0 - (double)step / 32.0) + 1e-9) / 10.0,
                                1e-9);
        ck_assert_double_eq(one.aoi_from_rad, one.aoi_to_rad);
    }
}
END_TEST

START_TEST(what_can_be_changed)
{
    bc_callout line = asked, normal = asked;
    line.to_nm = line.from_nm;
    normal.aoi_from_rad = normal.aoi_to_rad = 0.0;
    ck_assert(bc_relax_applies(&line, BC_EXCEPT_LIMIT) && bc_relax_applies(&asked, BC_EXCEPT_BOTH));
    ck_assert(bc_relax_applies(&asked, BC_EXCEPT_FROM) && bc_relax_applies(&asked, BC_EXCEPT_TO));
    ck_assert(!bc_relax_applies(&line, BC_EXCEPT_FROM) && !bc_relax_applies(&line, BC_EXCEPT_BOTH));
    ck_assert(bc_relax_applies(&line, BC_EXCEPT_ANGLE) && !bc_relax_applies(&normal, BC_EXCEPT_ANGLE));
    ck_assert(!bc_relax_applies(&asked, BC_EXCEPT_DROPPED));
}
END_TEST

/* All zones, then fewer, out to a quarter of the way; two at least. */
START_TEST(zones_come_in)
{
    ck_assert_uint_eq(bc_relax_zones(41, 0), 41);
    ck_assert_uint_eq(bc_relax_zones(41, 16), 26); /* 40 * 0.625 = 25 steps */
    ck_assert_uint_eq(bc_relax_zones(41, BC_RELAX_STEPS), 11);
    ck_assert_uint_eq(bc_relax_zones(2, BC_RELAX_STEPS), 2);
    for (size_t step = 1; step <= BC_RELAX_STEPS; step++)
        ck_assert_uint_le(bc_relax_zones(33, step), bc_relax_zones(33, step - 1));
}
END_TEST

TCase *relax_case(void)
{
    TCase *tests = tcase_create("relax");
    tcase_add_test(tests, a_band_gives_way_at_its_ends);
    tcase_add_test(tests, a_narrow_band_moves_in_fractions_of_a_nanometre);
    tcase_add_test(tests, a_limit_grows_by_equal_factors);
    tcase_add_test(tests, angles_come_down);
    tcase_add_test(tests, what_can_be_changed);
    tcase_add_test(tests, zones_come_in);
    return tests;
}
