/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/callouts.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define HEADER       "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization"

static void read_good(const char *text, bc_callouts *callouts)
{
    bc_materials *materials = scratch_materials();
    bc_error error = {0};
    bc_status status = bc_callouts_read(scratch_write("callouts.csv", text), materials, callouts, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    bc_materials_free(materials);
}

START_TEST(good_file)
{
    bc_callouts callouts;
    read_good("# the objective\n" HEADER "\n"
              "band,R,max,<= 0.6,420,680,0,unpolarized\n"
              "average,T,average,>= 99,420,680.5,15,s\n"
              "\n"
              "oblique,A,max,<=1.2,532,532,0..30,each\n",
              &callouts);
    const bc_callout *row = callouts.callout;
    ck_assert_uint_eq(callouts.count, 3);
    ck_assert_str_eq(row[0].name, "band");
    ck_assert(row[0].quantity == BC_R && row[0].statistic == BC_EXTREME && row[0].sense == BC_AT_MOST);
    ck_assert_double_eq_tol(row[0].limit, 0.006, 1e-18);
    ck_assert(row[0].from_nm == 420 && row[0].to_nm == 680);
    ck_assert(row[0].aoi_from_rad == 0 && row[0].aoi_to_rad == 0);
    ck_assert(row[0].polarization == BC_POL_UNPOLARIZED && row[0].scope == BC_SCOPE_SURFACE);
    ck_assert_str_eq(row[0].substrate, "");
    ck_assert_int_eq(row[0].line, 3);
    ck_assert(row[1].quantity == BC_T && row[1].statistic == BC_AVERAGE && row[1].sense == BC_AT_LEAST);
    ck_assert_double_eq_tol(row[1].limit, 0.99, 1e-15);
    ck_assert(row[1].to_nm == 680.5);
    ck_assert_double_eq_tol(row[1].aoi_from_rad, 0.26179938779914944, 1e-16); /* pi / 12 */
    ck_assert(row[1].aoi_to_rad == row[1].aoi_from_rad);
    ck_assert(row[1].polarization == BC_POL_S);
    ck_assert(row[2].quantity == BC_A && row[2].polarization == BC_POL_EACH);
    ck_assert_double_eq_tol(row[2].limit, 0.012, 1e-17);
    ck_assert(row[2].from_nm == 532 && row[2].to_nm == 532);
    ck_assert(row[2].aoi_from_rad == 0);
    ck_assert_double_eq_tol(row[2].aoi_to_rad, 0.5235987755982988, 1e-15); /* pi / 6 */
    ck_assert_int_eq(row[2].line, 6);
    bc_callouts_clear(&callouts);
    ck_assert_uint_eq(callouts.count, 0);
    ck_assert_ptr_null(callouts.callout);
}
END_TEST

/* 10.6 um is 10600 nm, not one more or less in the last digit. */
START_TEST(micrometres)
{
    bc_callouts callouts;
    read_good("name,quantity,statistic,limit_percent,from_um,to_um,aoi_deg,polarization\n"
              "line,R,max,<= 0.6,10.6,10.6,0,unpolarized\nband,T,min,>= 90,7.7,12.001,0,unpolarized\n",
              &callouts);
    ck_assert(callouts.callout[0].from_nm == 10600.0 && callouts.callout[0].to_nm == 10600.0);
    ck_assert(callouts.callout[1].from_nm == 7700.0 && callouts.callout[1].to_nm == 12001.0);
    bc_callouts_clear(&callouts);
}
END_TEST

START_TEST(optional_columns)
{
    bc_callouts callouts;
    scratch_write("517642.csv", "wavelength_nm,n\n400,1.53\n1200,1.51\n");
    read_good("\xEF\xBB\xBFsubstrate,scope," HEADER "\r\n"
              "517642,part,\"a, b\",R,min,  >=   0 ,1,2,0 .. 30,p\r\n"
              ",,c,R,max,<=\t100,1,2,.5,mean\r\n"
              "1.52,surface,\xCE\xBC,R,max,<= 1e-3,1,2,89.5..89.99999999999999,mean\r\n",
              &callouts);
    const bc_callout *row = callouts.callout;
    ck_assert_uint_eq(callouts.count, 3);
    ck_assert_str_eq(row[0].name, "a, b");
    ck_assert_str_eq(row[0].substrate, "517642");
    ck_assert(row[0].scope == BC_SCOPE_PART && row[0].limit == 0 && row[0].sense == BC_AT_LEAST);
    ck_assert(row[0].polarization == BC_POL_P);
    ck_assert_str_eq(row[1].substrate, "");
    ck_assert(row[1].scope == BC_SCOPE_SURFACE && row[1].limit == 1 && row[1].sense == BC_AT_MOST);
    ck_assert_str_eq(row[2].substrate, "1.52");
    ck_assert_double_eq_tol(row[2].limit, 1e-5, 1e-20);
    ck_assert(row[2].aoi_to_rad < M_PI_2 && row[2].aoi_from_rad < row[2].aoi_to_rad);
    bc_callouts_clear(&callouts);
}
END_TEST

#define ROW(row) HEADER "\n" row "\n"
#define TEN(row) HEADER ",scope,substrate\n" row "\n"
#define NAME_127                                                                                                       \
    "n234567890123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012" \
    "345"                                                                                                              \
    "678901234567"

static const refusal refusals[] = {
    {"a missing column",
     "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg\nx,R,max,<= 1,1,2,0\n",
     0,
     {"callouts.csv:1: found a header without polarization; expected a header such as name,quantity"}},
    {"an unknown column",
     HEADER ",scop\nx,R,max,<= 1,1,2,0,unpolarized,part\n",
     0,
     {"callouts.csv:1: column 9: found 'scop', an unknown column; expected 'scope'"}},
    {"a band in two units",
     "name,quantity,statistic,limit_percent,from_nm,to_um,aoi_deg,polarization\nband,R,max,<= 1,400,0.7,0,s\n",
     0,
     {"callouts.csv:1: found from_nm to_um for the band; expected the columns from_nm and to_nm, or from_um and "
      "to_um"}},
    {"a cone without its half-angle",
     ROW("x,R,max,<= 1,1,2,20 cone,unpolarized"),
     0,
     {"found '20 cone'; expected a cone's"}},
    {"a cone of s", ROW("x,R,max,<= 1,1,2,20 cone 10,s"), 0, {"over a cone the planes of s and p differ"}},
    {"a cone beyond 90 degrees", ROW("x,R,max,<= 1,1,2,70..80 cone 10,unpolarized"), 0, {"stay below 90 degrees"}},
    {"a cone alone", ROW("x,R,max,<= 1,1,2,cone 10,unpolarized"), 0, {"found 'cone 10'; expected an angle in degrees"}},
    {"no rows", HEADER "\n", 0, {"callouts.csv:1: found a header and no rows; expected rows"}},
    {"no name",
     ROW(",R,max,<= 1,1,2,0,unpolarized"),
     0,
     {"callouts.csv:2: column 1 (name): found ''; expected a name"}},
    {"a long name",
     ROW(NAME_127 "8,R,max,<= 1,1,2,0,unpolarized"),
     0,
     {"column 1 (name): found 'n23456", "...'; expected a name of 1 to 127 bytes"}},
    {"a name with a control",
     ROW("a\x07,R,max,<= 1,1,2,0,unpolarized"),
     0,
     {"column 1 (name): found 'a\\x07'; expected a name without control"}},
    {"a name twice",
     HEADER "\nb,R,max,<= 1,1,2,0,unpolarized\na,R,max,<= 1,1,2,0,unpolarized\n\nb,T,average,>= 1,1,2,0,unpolarized\n",
     0,
     {"callouts.csv:5: column 1 (name): found 'b'; expected another name than that of line 2"}},
    {"quantity",
     ROW("x,Q,max,<= 1,1,2,0,unpolarized"),
     0,
     {"callouts.csv:2: column 2 (quantity): found 'Q'; expected 'R', 'T' or 'A'"}},
    {"no quantity",
     ROW("x,,max,<= 1,1,2,0,unpolarized"),
     0,
     {"column 2 (quantity): found ''; expected 'R', 'T' or 'A'"}},
    {"statistic",
     ROW("x,R,evry,<= 1,1,2,0,unpolarized"),
     0,
     {"column 3 (statistic): found 'evry'; expected 'max' (with <=), 'min' (with >=), 'average', 'luminous', or of the "
      "colour"}},
    {"a bare limit",
     ROW("x,R,every,0.5,1,2,0,unpolarized"),
     0,
     {"callouts.csv:2: column 4 (limit_percent): found '0.5'; expected a limit in percent written as '<= 0.5' or '>= "
      "99'"}},
    {"no limit",
     ROW("x,R,every,,1,2,0,unpolarized"),
     0,
     {"column 4 (limit_percent): found ''; expected a limit in percent"}},
    {"no number", ROW("x,R,max,<=,1,2,0,unpolarized"), 0, {"found '<='; expected a number of percent after '<='"}},
    {"nan", ROW("x,T,min,>= nan,1,2,0,unpolarized"), 0, {"found '>= nan'; expected a number"}},
    {"over 100",
     ROW("x,R,max,<= 100.1,1,2,0,unpolarized"),
     0,
     {"found '<= 100.1'; expected a limit from 0 to 100 percent"}},
    {"negative", ROW("x,R,max,<= -1,1,2,0,unpolarized"), 0, {"found '<= -1'; expected a limit from 0 to 100 percent"}},
    {"zero at most",
     ROW("x,R,max,<= 0,1,2,0,unpolarized"),
     0,
     {"found '<= 0'; expected '<= 0.000001' or more: no real coating meets 0 percent"}},
    {"nearly zero", ROW("x,R,max,<= 1e-7,1,2,0,unpolarized"), 0, {"found '<= 1e-7'; expected '<= 0.000001' or more"}},
    {"all at least",
     ROW("x,T,min,>= 100,1,2,0,unpolarized"),
     0,
     {"found '>= 100'; expected '>= 99.999999' or less: no real coating meets 100 percent"}},
    {"from not a number",
     ROW("x,R,max,<= 1,UV,2,0,unpolarized"),
     0,
     {"column 5 (from_nm): found 'UV' (not a number); expected a wavelength in nm"}},
    {"from zero",
     ROW("x,R,max,<= 1,0,2,0,unpolarized"),
     0,
     {"column 5 (from_nm): found '0'; expected a wavelength in nm"}},
    {"to infinite",
     ROW("x,R,max,<= 1,1,inf,0,unpolarized"),
     0,
     {"column 6 (to_nm): found 'inf' (not a number); expected"}},
    {"falling band",
     ROW("x,R,max,<= 1,680,420,0,unpolarized"),
     0,
     {"callouts.csv:2: column 6 (to_nm): found '420'; expected a wavelength not below from_nm, which is '680'"}},
    {"no angle",
     ROW("x,R,max,<= 1,1,2,,unpolarized"),
     0,
     {"column 7 (aoi_deg): found ''; expected an angle in degrees from 0 to below 90"}},
    {"90 degrees",
     ROW("x,R,max,<= 1,1,2,90,unpolarized"),
     0,
     {"column 7 (aoi_deg): found '90'; expected an angle in degrees from 0 to below 90"}},
    {"a negative angle",
     ROW("x,R,max,<= 1,1,2,-1,unpolarized"),
     0,
     {"column 7 (aoi_deg): found '-1'; expected an angle"}},
    {"a falling range",
     ROW("x,R,max,<= 1,1,2,30..0,unpolarized"),
     0,
     {"column 7 (aoi_deg): found '30..0'; expected a range of angles that rises"}},
    {"a falling range with a dash",
     ROW("x,R,max,<= 1,1,2,30-0,unpolarized"),
     0,
     {"column 7 (aoi_deg): found '30-0'; expected a range of angles that rises"}},
    {"two dashes",
     ROW("x,R,max,<= 1,1,2,0-15-30,unpolarized"),
     0,
     {"callouts.csv:2: column 7 (aoi_deg): found '0-15-30'"}},
    {"a limit of thousands",
     ROW("x,R,max,\"<= 1,500\",1,2,0,unpolarized"),
     0,
     {"callouts.csv:2: column 4 (limit_percent): found '<= 1,500'; expected a number of percent"}},
    {"a unit that is none",
     ROW("x,R,max,<= 1 permille,1,2,0,unpolarized"),
     0,
     {"column 4 (limit_percent): found '<= 1 permille'; expected a number of percent"}},
    {"both decimal signs",
     "name;quantity;statistic;limit_percent;from_nm;to_nm;aoi_deg;polarization\nx;R;max;<= 0,5 %;1.064;2;0;s\n",
     0,
     {"callouts.csv:2: column 5 (from_nm): found '1.064', and '<= 0,5 %' in line 2; expected one decimal sign"}},
    {"half a range", ROW("x,R,max,<= 1,1,2,0..,unpolarized"), 0, {"column 7 (aoi_deg): found '0..'; expected"}},
    {"a range to 90", ROW("x,R,max,<= 1,1,2,0..90,unpolarized"), 0, {"column 7 (aoi_deg): found '0..90'; expected"}},
    {"three dots", ROW("x,R,max,<= 1,1,2,0...30,unpolarized"), 0, {"column 7 (aoi_deg): found '0...30'; expected"}},
    {"polarization",
     ROW("x,R,max,<= 1,1,2,0,both"),
     0,
     {"column 8 (polarization): found 'both'; expected 'unpolarized', 's', 'p', 'each' or 's/p'"}},
    {"a ratio of A", ROW("x,A,max,<= 102,1,2,45,s/p"), 0, {"column 2 (quantity): found 'A'; expected R or T"}},
    {"a luminous ratio",
     ROW("x,T,luminous,<= 102,,,45,s/p"),
     0,
     {"column 3 (statistic): found 'luminous'; expected max, min or average"}},
    {"a ratio as a number",
     ROW("x,T,max,<= 1.02,1,2,45,s/p"),
     0,
     {"column 4 (limit_percent): found '<= 1.02'; expected for a ratio s/p '<= 10' to '<= 1000' percent: 102 for"}},
    {"a ratio too high", ROW("x,T,max,<= 1001,1,2,45,s/p"), 0, {"column 4 (limit_percent): found '<= 1001'"}},
    {"a least ratio as a number", ROW("x,T,min,>= 0.98,1,2,45,s/p"), 0, {"expected for a ratio s/p '>= 10' to"}},
    {"a least ratio of 1", ROW("x,T,min,>= 100,1,2,45,s/p"), 0, {"column 4 (limit_percent): found '>= 100'"}},
    {"a ratio next to 1", ROW("x,T,max,<= 100.0000001,1,2,45,s/p"), 0, {"expected a limit of 100 percent, or one"}},
    {"a ratio at normal incidence",
     ROW("x,T,min,>= 98,1,2,0,s/p"),
     0,
     {"column 7 (aoi_deg): found '0'; expected an angle above 0"}},
    {"a ratio over a cone", ROW("x,T,min,>= 98,1,2,20 cone 10,s/p"), 0, {"column 7 (aoi_deg): found '20 cone 10'"}},
    {"a ratio the other way",
     ROW("x,T,max,<= 102,1,2,45,p/s"),
     0,
     {"column 8 (polarization): found 'p/s'; expected 'unpolarized', 's', 'p', 'each' or 's/p': p/s of at most L is"}},
    {"no polarization", ROW("x,R,max,<= 1,1,2,0,"), 0, {"column 8 (polarization): found ''; expected 'unpolarized'"}},
    {"scope",
     TEN("x,R,max,<= 1,1,2,0,unpolarized,prt,"),
     0,
     {"column 9 (scope): found 'prt'; expected 'surface' or 'part' (perhaps 'part')"}},
    {"a misspelt glass",
     TEN("x,R,max,<= 1,1,2,0,unpolarized,,517624"),
     0,
     {"callouts.csv:2: column 10 (substrate): found '517624'; expected a glass with a table"}},
    {"a glass outside",
     TEN("x,R,max,<= 1,1,2,0,unpolarized,,../517642"),
     0,
     {"column 10 (substrate): found '../517642'; expected"}},
    {"too few cells", ROW("x,R,max,<= 1,1,2,0"), 0, {"callouts.csv:2: found 7 cells; expected 8"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_callouts callouts;
    bc_error error = {0};
    scratch_write("517642.csv", "wavelength_nm,n\n400,1.53\n1200,1.51\n");
    bc_materials *materials = scratch_materials();
    bc_status status = bc_callouts_read(scratch_write("callouts.csv", bad->bytes), materials, &callouts, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert_uint_eq(callouts.count, 0);
    ck_assert_ptr_null(callouts.callout);
    bc_materials_free(materials);
}
END_TEST

/* As a spreadsheet exports it and a person types it: one meaning, and marked so that it is shown. */
START_TEST(an_export)
{
    static const char *const files[] = {
        "NAME;QUANTITY;STATISTIC;LIMIT_PERCENT;FROM_NM;TO_NM;AOI_DEG;POLARIZATION\n"
        "band;R;MAX;\xE2\x89\xA4 0,5 %;420,5;680;0-30;Unpolarized\n",
        "Name\tQuantity\tStatistic\tLimit_percent\tFrom_nm\tTo_nm\tAoi_deg\tPolarization\n"
        "band\tr\tMax\t< 0.5 percent\t420.5\t680\t0\xC2\xB0 \xE2\x80\x93 30\xC2\xB0\tMEAN\n",
        HEADER "\nband,R,max,=< .5%,420.5,680,0 to 30 deg,unpolarized\n",
        HEADER "\nband,R,ABS,\"<=0,5\",\"420,5\",680,0..30,unpolarized\n",
    };
    for (size_t i = 0; i < COUNT(files); i++) {
        bc_callouts callouts;
        read_good(files[i], &callouts);
        const bc_callout *row = callouts.callout;
        ck_assert_msg(callouts.exported && callouts.count == 1, "%s", files[i]);
        ck_assert(row->quantity == BC_R && row->statistic == BC_EXTREME && row->sense == BC_AT_MOST);
        ck_assert_double_eq_tol(row->limit, 0.005, 1e-17);
        ck_assert(row->from_nm == 420.5 && row->to_nm == 680.0 && row->aoi_from_rad == 0.0);
        ck_assert_double_eq_tol(row->aoi_to_rad, 0.5235987755982988, 1e-15);
        ck_assert(row->polarization == BC_POL_UNPOLARIZED);
        bc_callouts_clear(&callouts);
    }
    bc_callouts plain;
    read_good(ROW("band,R,max,<= 0.5,420.5,680,0..30,unpolarized"), &plain);
    ck_assert(!plain.exported);
    bc_callouts_clear(&plain);
}
END_TEST

START_TEST(longest_name)
{
    bc_callouts callouts;
    ck_assert_uint_eq(strlen(NAME_127), BC_CALLOUT_NAME_SIZE - 1);
    read_good(ROW(NAME_127 ",R,max,<= 1,1,2,0,unpolarized"), &callouts);
    ck_assert_str_eq(callouts.callout[0].name, NAME_127);
    bc_callouts_clear(&callouts);
}
END_TEST

Suite *callouts_suite(void)
{
    Suite *suite = suite_create("callouts");
    TCase *tcase = scratch_case("callouts");
    tcase_add_test(tcase, good_file);
    tcase_add_test(tcase, micrometres);
    tcase_add_test(tcase, optional_columns);
    tcase_add_loop_test(tcase, refused, 0, COUNT(refusals));
    tcase_add_test(tcase, an_export);
    tcase_add_test(tcase, longest_name);
    suite_add_tcase(suite, tcase);
    return suite;
}
