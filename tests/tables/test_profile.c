/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/profile.h>
#include <math.h>

#define HEAD "radius_mm,thickness_percent\n"

static bc_profile read_good(const char *text)
{
    bc_profile profile;
    bc_error error;
    ck_assert_msg(bc_profile_read(scratch_write("profile.csv", text), &profile, &error) == BC_OK, "%s", error.message);
    return profile;
}

static double factor_at(const bc_profile *profile, double at)
{
    double factor = 0.0;
    bc_error error;
    ck_assert_msg(bc_profile_factor(profile, at, &factor, &error) == BC_OK, "%s", error.message);
    return factor;
}

START_TEST(rows_are_met_and_nothing_overshoots)
{
    bc_profile profile = read_good("# measured\n" HEAD "0,100\n5,98\n10,98\n12,80\n");
    ck_assert(!profile.by_slope && profile.rows == 4);
    ck_assert_double_eq_tol(factor_at(&profile, 0.0), 1.0, 1e-15);
    ck_assert_double_eq_tol(factor_at(&profile, 5.0), 0.98, 1e-15);
    ck_assert_double_eq_tol(factor_at(&profile, 7.3), 0.98, 1e-15);
    ck_assert_double_eq_tol(factor_at(&profile, 12.0), 0.80, 1e-15);
    for (double at = 0.0; at <= 12.0; at += 0.01)
        ck_assert(factor_at(&profile, at) <= 1.0 && factor_at(&profile, at) >= 0.8);
    bc_profile_clear(&profile);
}
END_TEST

/* The ratio to the vertex counts, in whatever the percents are of; slopes are read as radians. */
START_TEST(relative_to_the_vertex_by_slope)
{
    bc_profile profile = read_good("thickness_percent,slope_deg\n120,0\n60,60\n");
    ck_assert(profile.by_slope);
    ck_assert_double_eq_tol(factor_at(&profile, acos(-1.0) / 6.0), 0.75, 1e-14);
    ck_assert_double_eq_tol(factor_at(&profile, acos(-1.0) / 3.0), 0.5, 1e-14);
    bc_profile_clear(&profile);
}
END_TEST

START_TEST(it_must_reach)
{
    bc_profile profile = read_good(HEAD "0,100\n10,90\n");
    double factor;
    bc_error error;
    ck_assert_int_eq(bc_profile_factor(&profile, 10.001, &factor, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "profile.csv: found rows up to the distance 10 mm"));
    ck_assert_int_eq(bc_profile_factor(&profile, NAN, &factor, &error), BC_ERROR_INPUT);
    bc_profile_clear(&profile);
}
END_TEST

static const refusal refusals[] = {
    {"no column to go by", "thickness_percent\n100\n90\n", 0, {"profile.csv:1:", "neither radius_mm and slope_deg"}},
    {"two columns to go by", "radius_mm,slope_deg,thickness_percent\n0,0,100\n1,1,99\n", 0, {"profile.csv:1:", "both"}},
    {"no thickness", "radius_mm\n0\n1\n", 0, {"profile.csv:1: found a header without thickness_percent"}},
    {"an unknown column", "radius_mm,thickness\n0,100\n", 0, {"found 'thickness'"}},
    {"one row", HEAD "0,100\n", 0, {"profile.csv: found 1 row; expected two at least"}},
    {"no vertex", HEAD "1,100\n2,99\n", 0, {"profile.csv:2: column 1 (radius_mm): found '1'; expected 0"}},
    {"not rising", HEAD "0,100\n2,99\n2,98\n", 0, {"profile.csv:4: column 1 (radius_mm): found '2'; expected more"}},
    {"a negative radius", HEAD "-1,100\n0,99\n", 0, {"profile.csv:2: column 1 (radius_mm): found '-1'"}},
    {"no thickness at all", HEAD "0,100\n2,0\n", 0, {"profile.csv:3: column 2 (thickness_percent): found '0'"}},
    {"not a number", HEAD "0,100\n2,nan\n", 0, {"profile.csv:3: column 2 (thickness_percent): found 'nan'"}},
    {"an empty cell", HEAD "0,100\n2,\n", 0, {"profile.csv:3: column 2 (thickness_percent): found ''"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_profile profile;
    bc_error error = {0};
    const bc_status status = bc_profile_read(scratch_write("profile.csv", bad->bytes), &profile, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert(profile.rows == 0 && profile.at == NULL);
}
END_TEST

Suite *profile_suite(void)
{
    Suite *suite = suite_create("profile");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, rows_are_met_and_nothing_overshoots);
    tcase_add_test(tcase, relative_to_the_vertex_by_slope);
    tcase_add_test(tcase, it_must_reach);
    tcase_add_loop_test(tcase, refused, 0, (int)(sizeof refusals / sizeof *refusals));
    suite_add_tcase(suite, tcase);
    return suite;
}
