/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspected.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Wherever the lines are broken. */
static void expect_pieces(const bc_text *text, const char *const *piece)
{
    char *end = text->data;
    expect_tidy(text->data);
    while ((end = strchr(end, '\n')) != NULL)
        *end = ' ';
    for (; *piece != NULL; piece++)
        ck_assert_msg(strstr(text->data, *piece) != NULL, "no '%s' in %s", *piece, text->data);
}

START_TEST(text_of_one_witness)
{
    static const char *const pieces[] = {
        "Stack stack.csv: 3 layers",
        "Measured w1.txt",
        "R: 3 wavelengths, 400 to 600 nm, lines 8 to 10, column 2 'R %'; R (by the header), percent (by the header), "
        "nm (by the values); the mean of 3 scans; 1 row at the ends without a value left out.",
        "at 8 degrees, unpolarized; back: none (ground or blackened",
        "0.1 % (absolute, expanded, k = 2)",
        "Verdict: UNDECIDED",
        "0.4000  0.1000", /* value, and 2 sqrt(0.03^2 + 0.04^2) */
        "The row is about 30 degrees, and 8 were measured.",
        "With --from-fit such rows are judged on the stack fitted to the scan.",
        "corrected to the callout's angle, by 0.02 % at most",
        "Likeliest cause: all layers off by one factor, by +2.00 % (+- 0.1). 150 times likelier than the next",
        "expected to use 0.6 of the limit that it comes nearest to, instead of 0.9, and to be the better one in "
        "about 90 % of runs",
        "not known",
        "\"band\": in its +- are 0.06 % from noise, 0.08 % from the uncertainty of the measurement (root of the sum of "
        "their "
        "squares).",
        "What adds most to the +-: the indices (layer 3).",
        "layer 1 (soft) and 2 (hard); it determines only their optical thickness together: 102.0 nm at 500 nm "
        "(designed "
        "100.0",
        "R differs from the design by 0.1200 % rms (most: -0.2000 % at 450.0 nm), from the fitted stack by 0.0100 %",
        "(by the repeated scans)",
        "tooling 1.0000 (assumed) becomes 1.0200",
        "Index data:",
        "Cautions:",
        NULL};
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, NULL), BC_OK);
    expect_pieces(&text, pieces);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

/* What does not fit is no finding. */
START_TEST(text_of_no_fit)
{
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    all.result[0].good_fit = _i == 0;
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, NULL), BC_OK);
    ck_assert((strstr(text.data, "fitted nm") != NULL) == (_i == 0));
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(text_of_another_measurement)
{
    static const char *const pieces[] = {
        "Or the columns R and T are taken for each other: that leaves 0.010 % rms, as said it is 3.000 %",
        "No uncertainty of the measurement was given",
        "below 430 nm: 1.20 % more at 410 nm",
        "Nothing was written for the next run",
        "nothing is accepted and nothing rejected",
        NULL};
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    all.result[0].cause[0].kind = BC_CAUSE_UNEXPLAINED;
    all.hypothesis[1].kind = BC_R_FOR_T;
    all.result[0].good_fit = false;
    all.result[0].hypotheses = 2;
    all.result[0].explained_by = 1;
    all.result[0].count = 0;
    all.result[0].absorption = (bc_absorption){true, BC_ABSORPTION_BELOW, 0.012, 0.001, 410, 430};
    all.setup.callouts = NULL;
    all.setup.uncertainty = 0;
    all.report.next_refused = true;
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, NULL), BC_OK);
    ck_assert_ptr_null(strstr(text.data, "tooling"));
    expect_pieces(&text, pieces);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(json_of_one_witness)
{
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    all.layer[1].sigma_nm = INFINITY;
    ck_assert_int_eq(bc_report_inspect_json(&all.report, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    ck_assert_str_eq(string_of(root, "verdict"), "undecided");
    ck_assert(fabs(number_of(root, "rms_percent") - 0.12) < 1e-12);
    ck_assert(fabs(number_of(root, "scale_percent") - 2.0) < 1e-9);
    const cJSON *layers = cJSON_GetObjectItem(root, "layers");
    ck_assert_int_eq(cJSON_GetArraySize(layers), FIXTURE_LAYERS);
    ck_assert_str_eq(string_of(layers->child, "material"), "soft");
    ck_assert(number_of(layers->child, "fitted_nm") > number_of(layers->child, "design_nm"));
    ck_assert(number_of(layers->child->next->next, "uncertainty_nm") == 0.5);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(layers->child->next, "uncertainty_nm")));
    const cJSON *callouts = cJSON_GetObjectItem(root, "callouts");
    ck_assert_int_eq(cJSON_GetArraySize(callouts), FIXTURE_CALLOUTS);
    ck_assert_str_eq(string_of(callouts->child, "verdict"), "accept");
    ck_assert(fabs(number_of(callouts->child, "uncertainty_percent") - 0.1) < 1e-12);
    ck_assert_str_eq(string_of(callouts->child->next, "reason"), "angle");
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(callouts->child->next, "value_percent")));
    const cJSON *overlay = cJSON_GetObjectItem(root, "overlay");
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(overlay, "wavelength_nm")), INSPECTED_POINTS);
    ck_assert(cJSON_GetObjectItem(overlay, "measured_percent")->child->valuedouble == 0.4);
    ck_assert(cJSON_GetObjectItem(overlay, "design_percent")->child->valuedouble == 0.3);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(overlay, "fitted_percent")), INSPECTED_POINTS);
    ck_assert_ptr_null(cJSON_GetObjectItem(root, "overlay_T"));
    ck_assert_str_eq(string_of(cJSON_GetObjectItem(cJSON_GetObjectItem(root, "measured"), "R"), "unit_stated"),
                     "by the header");
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

/* Of a scan of T the residual is that of T. */
START_TEST(json_of_a_scan_of_transmittance)
{
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    all.result[0].T = all.result[0].R;
    all.result[0].R = (bc_overlay){.rms_fitted = 0.5};
    ck_assert_int_eq(bc_report_inspect_json(&all.report, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    ck_assert_str_eq(string_of(root, "quantity"), "T");
    ck_assert_double_eq_tol(number_of(root, "rms_fitted_percent"), 0.01, 1e-12);
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

/* k standard uncertainties, of the value and of the prediction, whatever k is; a standard error stays one. */
START_TEST(json_uncertainties_are_expanded_by_k)
{
    const double k = 2.0 + (double)_i;
    inspected all;
    bc_text text = {0};
    cJSON *root;
    const cJSON *callout;
    open_inspected(&all);
    all.setup.coverage_factor = k;
    all.finding[0].predicted = 0.0041;
    all.finding[0].predicted_uncertainty = 0.0002;
    ck_assert_int_eq(bc_report_inspect_json(&all.report, &text, NULL), BC_OK);
    root = parse(&text);
    callout = cJSON_GetObjectItem(root, "callouts")->child;
    ck_assert_double_eq_tol(number_of(callout, "uncertainty_percent"), k * 0.05, 1e-12);
    ck_assert_double_eq_tol(number_of(callout, "predicted_percent"), 0.41, 1e-12);
    ck_assert_double_eq_tol(number_of(callout, "predicted_uncertainty_percent"), k * 0.02, 1e-12);
    ck_assert_double_eq_tol(number_of(cJSON_GetObjectItem(root, "measured"), "coverage_factor"), k, 1e-12);
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_lot)
{
    static const char *const pieces[] = {"Verdict on the lot: UNDECIDED",
                                         "Of 2 witnesses 0 accepted, 0 rejected, 2",
                                         "w1.txt",
                                         "w2.txt",
                                         "+2.00",
                                         "over the lot",
                                         "layer 1 (soft) nm",
                                         "w2.txt, \"",
                                         NULL};
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    all.report.witnesses = 2;
    all.report.lot = &all.lot;
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, NULL), BC_OK);
    expect_pieces(&text, pieces);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_inspect_json(&all.report, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    ck_assert_str_eq(string_of(root, "verdict"), "undecided");
    ck_assert(fabs(number_of(root, "scale_percent") - 2.0) < 1e-9);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "witnesses")), 2);
    const cJSON *scale = cJSON_GetObjectItem(cJSON_GetObjectItem(root, "lot"), "scale");
    ck_assert(fabs(number_of(scale, "drift_percent") - 0.2) < 1e-12);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(scale, "drift_uncertainty_percent")));
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_failed_text_stays_failed)
{
    inspected all;
    bc_text text = {.failed = true};
    bc_error error = {0};
    open_inspected(&all);
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, &error), BC_ERROR_MEMORY);
    ck_assert_ptr_null(text.data);
    fixture_close(&all.base);
}
END_TEST

static long allowed; /* allocations of cJSON that still succeed */

static void *scarce(size_t size)
{
    return allowed-- > 0 ? malloc(size) : NULL;
}

/* Loop: one witness, a lot. */
START_TEST(json_survives_failed_allocations)
{
    cJSON_Hooks hooks = {scarce, free};
    inspected all;
    bc_text text = {0};
    bc_status status = BC_ERROR_MEMORY;
    open_inspected(&all);
    all.report.witnesses = _i == 0 ? 1 : 2;
    all.report.lot = _i == 0 ? NULL : &all.lot;
    cJSON_InitHooks(&hooks);
    for (long tried = 0; status != BC_OK && tried < 100000; tried++) {
        allowed = tried;
        status = bc_report_inspect_json(&all.report, &text, NULL);
        ck_assert(status == BC_OK || (status == BC_ERROR_MEMORY && text.data == NULL));
    }
    cJSON_InitHooks(NULL);
    ck_assert_int_eq(status, BC_OK);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

Suite *inspect_suite(void)
{
    Suite *suite = suite_create("inspect");
    TCase *tcase = scratch_case("inspect");
    tcase_add_test(tcase, text_of_one_witness);
    tcase_add_loop_test(tcase, text_of_no_fit, 0, 2);
    tcase_add_test(tcase, text_of_another_measurement);
    tcase_add_test(tcase, json_of_one_witness);
    tcase_add_test(tcase, json_of_a_scan_of_transmittance);
    tcase_add_loop_test(tcase, json_uncertainties_are_expanded_by_k, 0, 2);
    tcase_add_test(tcase, a_lot);
    tcase_add_test(tcase, a_failed_text_stays_failed);
    tcase_add_loop_test(tcase, json_survives_failed_allocations, 0, 2);
    suite_add_tcase(suite, tcase);
    return suite;
}
