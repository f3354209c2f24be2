/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Limits on the ratio s / p, in a file and in a drawing's words. What a file must not say is in test_callouts.c.
 */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/callout_words.h>
#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

typedef struct wanted {
    bc_quantity quantity;
    bc_statistic statistic;
    bc_sense sense;
    double limit;
} wanted;

static void expect_row(const bc_callout *row, const wanted *expected)
{
    ck_assert_int_eq(row->polarization, BC_POL_RATIO);
    ck_assert_int_eq(row->quantity, expected->quantity);
    ck_assert_int_eq(row->statistic, expected->statistic);
    ck_assert_int_eq(row->sense, expected->sense);
    ck_assert_double_eq_tol(row->limit, expected->limit, 1e-14);
}

/* To both ends of what a limit may be. */
START_TEST(rows_of_a_file)
{
    static const wanted rows[] = {
        {BC_T, BC_EXTREME, BC_AT_LEAST, 0.98}, {BC_R, BC_EXTREME, BC_AT_MOST, 1.02},
        {BC_R, BC_AVERAGE, BC_AT_MOST, 10.0},  {BC_T, BC_EXTREME, BC_AT_MOST, 0.1},
        {BC_T, BC_EXTREME, BC_AT_LEAST, 0.1},  {BC_T, BC_EXTREME, BC_AT_LEAST, 0.99999999},
        {BC_T, BC_EXTREME, BC_AT_MOST, 1.0},   {BC_T, BC_EXTREME, BC_AT_MOST, 1.00000002},
    };
    bc_materials *materials = scratch_materials();
    bc_callouts callouts;
    bc_error error = {0};
    const bc_status status =
        bc_callouts_read(scratch_write("callouts.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,"
                                                       "aoi_deg,polarization\n"
                                                       "a,T,min,>= 98,420,680,45,s/p\n"
                                                       "b,R,max,<= 102,420,680,0..45,S/P\n"
                                                       "c,R,average,<= 1000,420,680,45,s/p\n"
                                                       "d,T,max,<= 10,420,680,45,s/p\n"
                                                       "e,T,min,>= 10,420,680,45,s/p\n"
                                                       "f,T,min,>= 99.999999,420,680,45,s/p\n"
                                                       "g,T,max,<= 100,420,680,45,s/p\n"
                                                       "h,T,max,<= 100.000002,420,680,45,s/p\n"),
                         materials, &callouts, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    ck_assert_uint_eq(callouts.count, COUNT(rows));
    for (size_t i = 0; i < COUNT(rows); i++)
        expect_row(&callouts.callout[i], &rows[i]);
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
}
END_TEST

/* With a percent sign or as a plain ratio, written onto the quantity, behind it, or as a condition. */
static const struct {
    const char *text;
    wanted row[2];
    const char *name;
} understood[] = {
    {"Ts/Tp >= 0.98, 400-700 nm, 45 deg", {{BC_T, BC_EXTREME, BC_AT_LEAST, 0.98}}, "Tmin 400-700 nm s/p"},
    {"T_s / T_p >= 98 %, 400-700 nm, 45 deg", {{BC_T, BC_EXTREME, BC_AT_LEAST, 0.98}}, "Tmin 400-700 nm s/p"},
    {"Rs/Rp <= 1.5, 0-45 deg, 633 nm", {{BC_R, BC_EXTREME, BC_AT_MOST, 1.5}}, "Rmax 633 nm s/p"},
    {"T s/p <= 1.02, 633 nm, 45 deg", {{BC_T, BC_EXTREME, BC_AT_MOST, 1.02}}, "Tmax 633 nm s/p"},
    {"T ratio s/p avg <= 102 %, 500-600 nm, 45 deg", {{BC_T, BC_AVERAGE, BC_AT_MOST, 1.02}}, "Tavg 500-600 nm s/p"},
    {"T avg <= 102 %, 500-600 nm, 45 deg, s/p", {{BC_T, BC_AVERAGE, BC_AT_MOST, 1.02}}, "Tavg 500-600 nm s/p"},
    {"Ts/Tp >= 0.98 and Ts/Tp <= 1.02, 500-600 nm, 45 deg",
     {{BC_T, BC_EXTREME, BC_AT_LEAST, 0.98}, {BC_T, BC_EXTREME, BC_AT_MOST, 1.02}},
     "Tmin 500-600 nm s/p"},
};

START_TEST(words_of_drawings)
{
    bc_callouts callouts = {0};
    bc_error error = {0};
    const bc_status status = bc_callouts_parse(understood[_i].text, &callouts, NULL, &error);
    ck_assert_msg(status == BC_OK, "%s: %s", understood[_i].text, error.message);
    ck_assert_uint_eq(callouts.count, understood[_i].row[1].limit > 0.0 ? 2 : 1);
    ck_assert_str_eq(callouts.callout[0].name, understood[_i].name);
    for (size_t i = 0; i < callouts.count; i++) {
        expect_row(&callouts.callout[i], &understood[_i].row[i]);
        ck_assert_double_eq_tol(callouts.callout[i].aoi_to_rad, M_PI / 4.0, 1e-15);
    }
    bc_callouts_clear(&callouts);
}
END_TEST

static const struct {
    const char *text, *sentence;
} asked[] = {
    {"Ts/Tp >= 0.98, 400-700 nm", "an angle above 0 for a ratio s/p"},
    {"Ts/Tp <= 1.02 %, 633 nm, 45 deg", "'<= 10' to '<= 1000' percent: 102 for a ratio of 1.02"},
    {"Ts/Tp >= 0.05, 633 nm, 45 deg", "'>= 10' to '>= 99.999999' percent"},
    {"Ts/Tp <= 11, 633 nm, 45 deg", "'<= 10' to '<= 1000' percent"},
    {"Ts/Tp <= 1.02 nm, 633 nm, 45 deg", "expected a ratio, such as 1.02, or the same in percent"},
    {"A s/p <= 1.02, 633 nm, 45 deg", "R or T for a ratio s/p"},
    {"Tv s/p <= 1.02, 45 deg", "max, min or average for a ratio s/p"},
    {"Ts/Tp <= 1.02, 633 nm, 45 deg, cone 10 deg", "over a cone"},
    {"T <= 102 %, 633 nm, 45 deg, s/p, s", "a ratio s/p and a polarization for one limit"},
    {"T <= 90 %, 633 nm, 45 deg, unpolarized, s/p", "a ratio s/p and a polarization for one limit"},
    {"Ts/Rp <= 1.02, 633 nm, 45 deg", "expected a ratio of s to p, as in Ts/Tp"},
    {"Tp/Ts <= 1.02, 633 nm, 45 deg", "Tp/Ts of at most L is Ts/Tp of at least 1/L"},
    {"T <= 1.02, 633 nm, 45 deg, s/p", "a limit without '%'"},
};

START_TEST(what_is_left_open)
{
    bc_callouts callouts = {0};
    bc_error error = {0};
    ck_assert_msg(bc_callouts_parse(asked[_i].text, &callouts, NULL, &error) == BC_ERROR_INPUT, "%s", asked[_i].text);
    ck_assert_msg(strstr(error.message, asked[_i].sentence) != NULL, "%s: %s", asked[_i].text, error.message);
    ck_assert_uint_eq(callouts.count, 0);
    bc_callouts_clear(&callouts);
}
END_TEST

Suite *callout_ratio_suite(void)
{
    Suite *suite = suite_create("callout ratio");
    TCase *tcase = scratch_case("callout ratio");
    tcase_add_test(tcase, rows_of_a_file);
    tcase_add_loop_test(tcase, words_of_drawings, 0, COUNT(understood));
    tcase_add_loop_test(tcase, what_is_left_open, 0, COUNT(asked));
    suite_add_tcase(suite, tcase);
    return suite;
}
