/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a person says of a measured file, and what the callouts say of it.
 */
#include "answer.h"
#include "scan.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define BARE            "inspect scan.csv --stack stack.csv "
#define CALLOUT_COLUMNS "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"

/* A column of its own behind those of scan.csv: of its rows from 1 on, what `cell` writes. */
static void append_column(const char *header, const char *(*cell)(size_t row))
{
    static char text[100000];
    const char *from = content("scan.csv");
    size_t used = (size_t)snprintf(text, sizeof text, "nm,%%R,%s\n", header), row = 0;
    for (from = strchr(from, '\n') + 1; *from != '\0'; from = strchr(from, '\n') + 1)
        used +=
            (size_t)snprintf(text + used, sizeof text - used, "%.*s,%s\n", (int)strcspn(from, "\n"), from, cell(row++));
    scratch_write("scan.csv", text);
}

static double measured(const char *line, size_t point)
{
    cJSON *root = parse(run(line).out);
    const cJSON *overlay = cJSON_GetObjectItem(root, "overlay");
    const double value = cJSON_GetArrayItem(array_of(overlay, "measured_percent"), (int)point)->valuedouble;
    cJSON_Delete(root);
    return value;
}

/* Two scans in a file: the first, the second, or the mean of both. */
START_TEST(a_scan_of_several)
{
    write_stacks();
    scratch_write("scan.csv", "nm,%R\n450,0.2\n500,0.1\n550,0.2\n600,0.3\n450,0.4\n500,0.3\n550,0.4\n600,0.5\n");
    ck_assert_double_eq_tol(measured(INSPECT " --json --scan 1", 1), 0.1, 1e-9);
    ck_assert_double_eq_tol(measured(INSPECT " --json --scan 2", 1), 0.3, 1e-9);
    ck_assert_double_eq_tol(measured(INSPECT " --json --scan all", 1), 0.2, 1e-9);
    expect(2, "--scan", INSPECT " --scan every");
}
END_TEST

START_TEST(what_the_file_says_may_be_said_too)
{
    write_stacks();
    const double value = measured(INSPECT " --json", 7);
    ck_assert_double_eq(measured(INSPECT " --json --decimal point --separator comma --wavelength-unit nm", 7), value);
    ck_assert_double_eq(measured(INSPECT " --json --unit percent --quantity R --column %R", 7), value);
    expect(2, NULL, INSPECT " --decimal comma");
}
END_TEST

/* Callouts that all ask about one quantity tell what a file without words is. */
START_TEST(the_callouts_tell_what_was_measured)
{
    write_stacks();
    scratch_write("scan.csv", "nm;%\n440;0.2\n500;0.1\n560;0.2\n620;0.3\n");
    outcome result = run(INSPECT);
    ck_assert_int_lt(result.code, 2);
    expect_piece(&result, "R (by the callouts)");
    result = run(INSPECT " --quantity R");
    expect_piece(&result, "R (by the option)");
    scratch_write("t.csv", CALLOUT_COLUMNS "one,T,min,>= 90,450,600,0,unpolarized\n");
    result = run(BARE "--callouts t.csv");
    expect_piece(&result, "T (by the callouts)");
    scratch_write("a.csv", CALLOUT_COLUMNS "one,A,max,<= 1,450,600,0,unpolarized\n");
    expect(2, "no header that says reflectance or transmittance", BARE "--callouts a.csv");
    expect(2, "no header that says reflectance or transmittance", BARE);
    scratch_write("scan.csv", "nm,absorptance %\n440,0.2\n500,0.1\n560,0.2\n620,0.3\n");
    expect(2, NULL, BARE "--callouts a.csv");
}
END_TEST

static const char *t_from_the_sixth_on(size_t row)
{
    return row < 5 ? "" : "95.0";
}

static const char *four_tenths(size_t row)
{
    (void)row;
    return "0.4";
}

START_TEST(t_stands_in_the_rows_of_r)
{
    write_stacks();
    append_column("%T", t_from_the_sixth_on);
    expect(2, "scan.csv: found T at other wavelengths than R (146 and 151 of them)",
           INSPECT " --column 2 --t-column 3");
}
END_TEST

/* Columns that end sooner than others: each value is the mean of those that reach it, however few agree on a number. */
START_TEST(repeats_of_different_length)
{
    static const char line[] = INSPECT " --column 2 --column 3 --column 4 --json";
    static char text[4000];
    static const size_t rows[] = {6, 60};
    write_stacks();
    for (size_t i = 0; i < 2; i++) {
        size_t used = (size_t)snprintf(text, sizeof text, "nm,%%R,%%R,%%R\n");
        for (size_t row = 0; row < rows[i]; row++)
            used += (size_t)snprintf(text + used, sizeof text - used, "%zu,0.1,%s,%s\n", 420 + 4 * row,
                                     3 * row < 2 * rows[i] ? "0.2" : "", 3 * row < rows[i] ? "0.6" : "");
        scratch_write("scan.csv", text);
        ck_assert_double_eq_tol(measured(line, 0), 0.3, 1e-9);
        ck_assert_double_eq_tol(measured(line, rows[i] / 2), 0.15, 1e-9);
        ck_assert_double_eq_tol(measured(line, rows[i] - 1), 0.1, 1e-9);
    }
}
END_TEST

static double of_first_callout(const char *line, const char *field)
{
    cJSON *root = parse(run(line).out);
    const double value = number_of(array_of(root, "callouts")->child, field);
    cJSON_Delete(root);
    return value;
}

/* An expanded uncertainty of each value is divided by --coverage, and told multiplied by it. */
START_TEST(an_uncertainty_of_each_value)
{
    static const char by_two[] = INSPECT " --column 2 --uncertainty-column u --json",
                      by_four[] = INSPECT " --column 2 --uncertainty-column u --coverage 4 --json";
    write_stacks();
    append_column("u", four_tenths);
    ck_assert_double_lt(of_first_callout(INSPECT " --column 2 --json", "uncertainty_percent"), 0.1);
    ck_assert_double_eq_tol(of_first_callout(by_two, "uncertainty_percent"), 0.4, 0.01);
    ck_assert_double_eq_tol(of_first_callout(by_four, "uncertainty_percent"), 0.4, 0.01);
    ck_assert_double_gt(of_first_callout(by_four, "probability"), of_first_callout(by_two, "probability") + 0.01);
}
END_TEST

/* The witness' own glass, and the glasses that rows are for. */
START_TEST(a_witness_on_another_glass)
{
    write_stacks();
    const char *design = "\"design_percent\":";
    char plain[60] = "", other[60] = "";
    snprintf(plain, sizeof plain, "%.50s", strstr(run(INSPECT " --json --back ground").out, design));
    snprintf(other, sizeof other, "%.50s", strstr(run(INSPECT " --json --substrate 1.7").out, design));
    ck_assert_str_ne(plain, other);
    snprintf(other, sizeof other, "%.50s", strstr(run(INSPECT " --json --substrate 1.52").out, design));
    ck_assert_str_eq(plain, other);
    scratch_write("glasses.csv",
                  "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,substrate\n"
                  "own,R,max,<= 0.5,420,680,0,unpolarized,1.52\nhigh,R,max,<= 9,420,680,0,unpolarized,1.7\n"
                  "again,R,average,<= 9,420,680,0,unpolarized,1.7\n");
    const outcome result = expect(0, NULL, BARE "--callouts glasses.csv --from-fit --uncertainty-percent 0.02");
    expect_piece(&result, "high");
    expect_piece(&result, "judged on the fitted stack");
    expect(1, NULL, BARE "--callouts glasses.csv --uncertainty-percent 0.02 --quiet");
    scratch_write("glasses.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,substrate\n"
                                 "high,R,max,<= 9,420,680,0,unpolarized,nosuchglass\n");
    expect(2, "nosuchglass", BARE "--callouts glasses.csv");
}
END_TEST

Suite *scan_options_suite(void)
{
    Suite *suite = suite_create("inspect, what is said of a file");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, a_scan_of_several);
    tcase_add_test(tcase, what_the_file_says_may_be_said_too);
    tcase_add_test(tcase, the_callouts_tell_what_was_measured);
    tcase_add_test(tcase, t_stands_in_the_rows_of_r);
    tcase_add_test(tcase, repeats_of_different_length);
    tcase_add_test(tcase, an_uncertainty_of_each_value);
    tcase_add_test(tcase, a_witness_on_another_glass);
    suite_add_tcase(suite, tcase);
    return suite;
}
