/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Simulated runs in each of their circumstances.
 */
#include "offered.h"
#include <math.h>
#include <string.h>

static bc_text words_of(const offered *all)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_yield_text(&all->yield, &text, NULL), BC_OK);
    expect_tidy(text.data);
    for (char *end = text.data; (end = strchr(end, '\n')) != NULL;)
        *end = ' ';
    return text;
}

static void expect_words(const offered *all, const char *piece, bool there)
{
    bc_text text = words_of(all);
    ck_assert_msg((strstr(text.data, piece) != NULL) == there, "'%s' %s: %.2000s", piece,
                  there ? "is missing" : "is there", text.data);
    bc_text_clear(&text);
}

/* The largest influence decides, whatever it belongs to. */
START_TEST(the_error_that_decides)
{
    static const char *const decides[OFFERED_INFLUENCES] = {
        "Layer 3 (soft) decides: its error has a part in 90 % of what makes runs fail.",
        "Layer 2 (hard) decides:",
        "Layer 1 (soft) decides:",
        "The index of soft decides:",
        "The index of hard decides:",
        "The drift of the whole run decides:"};
    offered all;
    open_offered(&all);
    all.influence[_i].influence = 0.9;
    for (int i = 0; i < OFFERED_INFLUENCES; i++)
        expect_words(&all, decides[i], i == _i);
    all.runs.influence_of_failure = false;
    expect_words(&all, "how the share of the limit varies (under 1 % of the runs fail,", true);
    all.runs.yield = 0.001;
    expect_words(&all, "how the share of the limit varies (under 1 % of the runs are good,", true);
    for (int i = 0; i < OFFERED_INFLUENCES; i++)
        all.influence[i].influence = 0.0;
    expect_words(&all, "decides", false);
    expect_words(&all, "whole run", false);
    fixture_close(&all.base);
}
END_TEST

/* As many digits as the runs are worth, and 100 only where it is meant. */
START_TEST(shares_have_the_digits_of_their_interval)
{
    static const struct {
        double yield, low, high;
        size_t good;
        const char *told;
    } run[] = {{0.75, 0.684, 0.808, 150, "about 75 will meet the callouts (95 % interval 68.4 to 80.8)"},
               {0.9996, 0.9990, 0.9999, 199, "about 99.96 will meet"},
               {0.99991, 0.99980, 0.99997, 199, "about 99.991 will meet"},
               {0.002, 0.0001, 0.01, 1, "about 0.2 will meet"},
               {1.0, 0.98, 1.0, 200, "about 100 will meet"},
               {0.0, 0.0, 0.02, 0, "about 0 will meet"}};
    offered all;
    open_offered(&all);
    all.runs.yield = run[_i].yield;
    all.runs.yield_low = run[_i].low;
    all.runs.yield_high = run[_i].high;
    all.runs.good = run[_i].good;
    if (_i == 2)
        all.runs.yield_high = all.runs.yield_low + 0.0004;
    expect_words(&all, run[_i].told, true);
    expect_words(&all, "of 200 simulated runs did (seed 3)", true);
    fixture_close(&all.base);
}
END_TEST

/* What the runs behind the process leave open; nothing where it says none. */
START_TEST(what_is_known_of_the_process)
{
    offered all;
    bc_text text = {0};
    cJSON *root;
    open_offered(&all);
    expect_words(&all, "The process is known by", false);
    all.runs.known = (bc_known_yield){6.0, 0.884, 0.991, 0.945};
    expect_words(&all,
                 "The process is known by 6 runs: that leaves a yield of 88 to 99 of 100 runs (95 % interval), "
                 "94.5 on the average.",
                 true);
    all.runs.known.low = 0.9884;
    expect_words(&all, "that leaves a yield of 98.84 to 99.10 of", true);
    ck_assert_int_eq(bc_report_yield_json(&all.yield, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert_double_eq(number_of(root, "process_runs"), 6.0);
    ck_assert_double_eq_tol(number_of(root, "yield_known_low_percent"), 98.84, 1e-9);
    ck_assert_double_eq_tol(number_of(root, "yield_known_average_percent"), 94.5, 1e-9);
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(no_errors_and_a_process_that_would_do)
{
    static const struct {
        double scale;
        const char *told;
    } scale[] = {{0.51, "with all errors at 0.51 times what they are."},
                 {0.0, "No process, however good, brings the yield"},
                 {INFINITY, "still be 95 % with all errors at 20 times"},
                 {NAN, "95 % with all errors"}};
    offered all;
    open_offered(&all);
    for (int i = 0; i < 4; i++) {
        all.runs.scale_for_95 = scale[i].scale;
        expect_words(&all, scale[i].told, i < 3);
    }
    expect_words(&all, "The design itself does NOT meet its callouts", true);
    expect_words(&all, "\"through the whole of the window at every angle\" fails most often:", true);
    all.base.result.pass = true;
    expect_words(&all, "The design itself meets its callouts", true);
    all.fails[1] = 0.0;
    expect_words(&all, "fails most often", false);
    all.runs.no_errors = true;
    all.runs.scale_for_95 = 0.5;
    expect_words(&all, "and meets the callouts.", true);
    expect_words(&all, "all errors at", false);
    all.runs.good = 0;
    expect_words(&all, "and does not meet the callouts.", true);
    fixture_close(&all.base);
}
END_TEST

/* The drift in one figure where all materials agree. */
START_TEST(what_the_process_says_stands_beside_its_error)
{
    offered all;
    open_offered(&all);
    expect_words(&all, "0..0.4 %", true);
    expect_words(&all, "not given", true);
    expect_words(&all, "gives no run_thickness_sigma_percent for hard: taken", true);
    expect_words(&all, "gives no index_sigma for soft, hard: taken", true);
    expect_words(&all, "gives no thickness_sigma_percent", false);
    all.row[1].has_run_thickness_sigma = true;
    all.row[1].run_thickness_sigma = 0.004;
    all.row[0].has_index_sigma = true;
    all.row[0].index_sigma = 0.0035;
    expect_words(&all, "0.4 %", true);
    expect_words(&all, "0..0.4 %", false);
    expect_words(&all, "0.0035", true);
    all.row[0].has_run_thickness_sigma = all.row[1].has_run_thickness_sigma = false;
    expect_words(&all, "0.4 %", false);
    expect_words(&all, "gives no run_thickness_sigma_percent for soft, hard: taken", true);
    fixture_close(&all.base);
}
END_TEST

/* What was left out for being too much work, and nothing else. */
START_TEST(what_was_left_out_is_named)
{
    offered all;
    open_offered(&all);
    expect_words(&all, "as more work than a yield may take", false);
    all.runs.left_out = true;
    all.runs.scale_for_95 = NAN;
    expect_words(&all, "The errors at which 95 % of the runs would be good were left out as more work", true);
    expect_words(&all, "The influences", false);
    all.runs.influences = 0;
    expect_words(&all, "The influences, and the errors at which 95 % of the runs would be good, were left out", true);
    all.runs.scale_for_95 = 0.51;
    expect_words(&all, "The influences were left out as more work than a yield may take", true);
    fixture_close(&all.base);
}
END_TEST

START_TEST(json_has_it_all)
{
    const bc_zone zone = {.radius_mm = 7.5, .thickness_factor = 1.0};
    bc_text text = {0};
    offered all;
    cJSON *root;
    const cJSON *curve;
    open_offered(&all);
    all.curve.zone = &zone;
    all.yield.process_path = NULL;
    ck_assert_int_eq(bc_report_yield_json(&all.yield, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert_double_eq(number_of(root, "run_thickness_influence"), 0.3);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "layers")), FIXTURE_LAYERS);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "index_influence")), 2);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "process")), 2); /* a material once */
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(root, "process_file")));
    ck_assert_str_eq(string_of(root, "influence_of"), "failure");
    curve = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "curves"), 0);
    ck_assert_double_eq(number_of(curve, "radius_mm"), 7.5);
    ck_assert_double_eq_tol(cJSON_GetArrayItem(cJSON_GetObjectItem(curve, "percent_97_5"), 2)->valuedouble, 0.62,
                            1e-12);
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

Suite *yield_suite(void)
{
    Suite *suite = suite_create("yield");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, the_error_that_decides, 0, OFFERED_INFLUENCES);
    tcase_add_loop_test(tcase, shares_have_the_digits_of_their_interval, 0, 6);
    tcase_add_test(tcase, what_is_known_of_the_process);
    tcase_add_test(tcase, no_errors_and_a_process_that_would_do);
    tcase_add_test(tcase, what_the_process_says_stands_beside_its_error);
    tcase_add_test(tcase, what_was_left_out_is_named);
    tcase_add_test(tcase, json_has_it_all);
    suite_add_tcase(suite, tcase);
    return suite;
}
