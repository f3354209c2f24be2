/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>
#include <string.h>

static void open_six(bench *b)
{
    bench_open(b, "1.52", 6, six_index, six_nm);
}

/* Each row asks about something else than what was measured: undecided, with its reason in words, and a prediction that
 * the reference confirms; from_fit decides it, and marks it. */
typedef struct other_row {
    bc_undecided reason;
    bc_quantity quantity;
    double aoi_deg;
    bc_polarization polarization;
    bc_scope scope;
    const char *glass;
} other_row;

static const other_row others[] = {
    {BC_UNDECIDED_QUANTITY, BC_T, 0.0, BC_POL_UNPOLARIZED, BC_SCOPE_SURFACE, ""},
    {BC_UNDECIDED_ANGLE, BC_R, 45.0, BC_POL_UNPOLARIZED, BC_SCOPE_SURFACE, ""},
    {BC_UNDECIDED_ANGLE, BC_R, 30.0, BC_POL_P, BC_SCOPE_SURFACE, ""},
    {BC_UNDECIDED_QUANTITY, BC_T, 45.0, BC_POL_RATIO, BC_SCOPE_SURFACE, ""},
    {BC_UNDECIDED_SCOPE, BC_R, 0.0, BC_POL_UNPOLARIZED, BC_SCOPE_PART, ""},
    {BC_UNDECIDED_GLASS, BC_R, 0.0, BC_POL_UNPOLARIZED, BC_SCOPE_SURFACE, "1.80"},
};
#define OTHERS (sizeof others / sizeof *others)

/* What the row's value is in truth at one wavelength. */
static double true_value(const bench *b, const other_row *row, double nm)
{
    truth t = bench_truth(b);
    double R, T;
    t.aoi_rad = row->aoi_deg * DEGREE;
    t.polarization = row->polarization;
    t.back = row->scope == BC_SCOPE_PART ? BC_BACK_UNCOATED : BC_BACK_NONE;
    if (row->glass[0] != '\0')
        t.glass_n = strtod(row->glass, NULL);
    if (row->polarization == BC_POL_RATIO) {
        double R_p, T_p;
        t.polarization = BC_POL_P;
        truth_spectrum(&t, 1, &nm, &R_p, &T_p);
        t.polarization = BC_POL_S;
        truth_spectrum(&t, 1, &nm, &R, &T);
        return row->quantity == BC_T ? T / T_p : R / R_p;
    }
    truth_spectrum(&t, 1, &nm, &R, &T);
    return row->quantity == BC_T ? T : R;
}

START_TEST(of_something_else)
{
    const other_row *row = &others[_i];
    bench b;
    bc_medium glass;
    bc_callout *callout;
    truth t;
    open_six(&b);
    glass = bench_medium(&b, "1.80");
    b.setup.glasses = 1;
    b.setup.glass = &glass;
    b.setup.part_back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 1.0};
    callout = bench_ask(&b, BC_EXTREME, row->quantity == BC_T ? BC_AT_LEAST : BC_AT_MOST,
                        row->quantity == BC_T ? 0.5 : 0.3, 550.0, 550.0);
    callout->quantity = row->quantity;
    callout->aoi_from_rad = callout->aoi_to_rad = row->aoi_deg * DEGREE;
    callout->polarization = row->polarization;
    callout->scope = row->scope;
    strcpy(callout->substrate, row->glass);
    t = bench_truth(&b);
    for (int from_fit = 0; from_fit < 2; from_fit++) {
        bc_inspect_result result;
        b.setup.from_fit = from_fit == 1;
        result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
        ck_assert_int_eq(result.finding[0].from_fit, from_fit);
        ck_assert_int_eq(result.finding[0].verdict, from_fit ? BC_ACCEPT : BC_UNDECIDED);
        ck_assert_int_eq(result.finding[0].reason, from_fit ? BC_DECIDED : row->reason);
        ck_assert((strlen(result.finding[0].text) > 0) == (from_fit == 0));
        ck_assert_double_eq_tol(result.finding[0].predicted, true_value(&b, row, 550.0), 2e-6);
        bc_inspect_result_clear(&result);
    }
    bench_close(&b);
}
END_TEST

/* A prediction outside the scan is none: never accepted, from_fit or not. */
START_TEST(from_fit_needs_the_band)
{
    bench b;
    truth t;
    bc_inspect_result result;
    open_six(&b);
    b.setup.from_fit = true;
    bench_ask(&b, BC_EXTREME, BC_AT_LEAST, 0.1, 700.0, 900.0)->quantity = BC_T;
    t = bench_truth(&b);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert_int_eq(result.verdict, BC_UNDECIDED);
    ck_assert_int_eq(result.finding[0].reason, BC_UNDECIDED_NOT_COVERED);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* By the fit near a limit: the predicted value's error is what draws of noise make it. */
START_TEST(predicted_uncertainty)
{
    const size_t draws = MANY_OR_FEW(80, 10);
    const double nm = 550.0;
    bench b;
    truth t;
    bc_measurement exact;
    double square = 0.0, claimed = 0.0, true_T;
    open_six(&b);
    bench_ask(&b, BC_EXTREME, BC_AT_LEAST, 0.5, nm, nm)->quantity = BC_T;
    b.callouts.callout[0].aoi_from_rad = b.callouts.callout[0].aoi_to_rad = 45.0 * DEGREE;
    t = bench_truth(&b);
    exact = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    t.aoi_rad = 45.0 * DEGREE;
    truth_spectrum(&t, 1, &nm, NULL, &true_T);
    for (size_t d = 0; d < draws; d++) {
        bc_measurement scan = scan_copy(&exact);
        bc_inspect_result result;
        scan_disturb(&b, &scan, 1e-3, 0.0);
        scan_know_noise(&scan, 1e-3);
        result = bench_inspect(&b, &scan);
        square += pow(result.finding[0].predicted - true_T, 2.0) / (double)draws;
        claimed += pow(result.finding[0].predicted_uncertainty, 2.0) / (double)draws;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    ck_assert_double_eq_tol(sqrt(square / claimed), 1.0, MANY_OR_FEW(0.25, 0.6));
    bc_measurement_clear(&exact);
    bench_close(&b);
}
END_TEST

/* At 8 degrees for a row at 0: corrected to what the reference has at 0, marked, and with the doubt of the correction.
 */
START_TEST(near_normal)
{
    const double nm = 600.0;
    bench b;
    truth t;
    double at_zero, at_eight;
    bc_inspect_result result;
    open_six(&b);
    t = bench_truth(&b);
    truth_spectrum(&t, 1, &nm, &at_zero, NULL);
    b.setup.aoi_rad = t.aoi_rad = 8.0 * DEGREE;
    b.setup.polarization = t.polarization = _i == 0 ? BC_POL_UNPOLARIZED : BC_POL_S;
    truth_spectrum(&t, 1, &nm, &at_eight, NULL);
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.2, nm, nm);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert(result.finding[0].angle_corrected);
    ck_assert_int_eq(result.finding[0].verdict, BC_ACCEPT);
    ck_assert_double_eq_tol(result.finding[0].value, at_zero, 1e-8);
    ck_assert_double_eq_tol(result.finding[0].systematic, fabs(at_zero - at_eight) / sqrt(3.0), 1e-8);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* A range of angles or both polarizations, measured at one: what was measured may reject, never accept. */
START_TEST(part_of_what_was_asked)
{
    const double limits[] = {0.9, 1e-3};
    for (int l = 0; l < 2; l++) {
        bench b;
        bc_callout *callout;
        truth t;
        bc_inspect_result result;
        open_six(&b);
        callout = bench_ask(&b, BC_EXTREME, BC_AT_MOST, limits[l], 450.0, 650.0);
        if (_i == 0) {
            callout->aoi_to_rad = 30.0 * DEGREE;
        } else {
            b.setup.aoi_rad = callout->aoi_from_rad = callout->aoi_to_rad = 45.0 * DEGREE;
            callout->polarization = BC_POL_EACH;
            b.setup.polarization = _i == 1 ? BC_POL_S : BC_POL_UNPOLARIZED;
        }
        t = bench_truth(&b);
        result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
        ck_assert_int_eq(result.verdict, l == 0 ? BC_UNDECIDED : BC_REJECT);
        ck_assert_int_eq(result.finding[0].reason, l == 1    ? BC_DECIDED
                                                   : _i == 0 ? BC_UNDECIDED_ANGLE
                                                             : BC_UNDECIDED_POLARIZATION);
        bc_inspect_result_clear(&result);
        bench_close(&b);
    }
}
END_TEST

/* s measured, p or the ratio of both asked: not even a reject; and at normal incidence, where any polarization is that
 * of s and p, a ratio is not what was measured, either. */
START_TEST(wrong_polarization)
{
    bench b;
    truth t;
    bc_callout *callout;
    bc_inspect_result result;
    open_six(&b);
    b.setup.aoi_rad = _i < 2 ? 45.0 * DEGREE : 0.0;
    b.setup.polarization = BC_POL_S;
    callout = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 1e-4, 450.0, 650.0);
    callout->aoi_from_rad = b.setup.aoi_rad;
    callout->aoi_to_rad = 45.0 * DEGREE;
    callout->polarization = _i == 0 ? BC_POL_P : BC_POL_RATIO;
    t = bench_truth(&b);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert_int_eq(result.verdict, BC_UNDECIDED);
    ck_assert_int_eq(result.finding[0].reason, BC_UNDECIDED_POLARIZATION);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* s or p at 45 degrees, measured and asked: direct, and the value is the reference's. */
START_TEST(at_45_degrees)
{
    const double nm = 560.0;
    bench b;
    truth t;
    bc_callout *callout;
    double R, T;
    bc_inspect_result result;
    open_six(&b);
    b.setup.aoi_rad = 45.0 * DEGREE;
    b.setup.polarization = _i == 0 ? BC_POL_S : _i == 1 ? BC_POL_P : BC_POL_UNPOLARIZED;
    callout = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, nm, nm);
    callout->aoi_from_rad = callout->aoi_to_rad = 45.0 * DEGREE;
    callout->polarization = b.setup.polarization;
    t = bench_truth(&b);
    truth_spectrum(&t, 1, &nm, &R, &T);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R | BC_MEASURED_T);
    ck_assert_int_eq(result.verdict, BC_ACCEPT);
    ck_assert_double_eq_tol(result.finding[0].value, R, 1e-14);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_AS_DESIGNED);
    ck_assert_double_eq_tol(result.finding[0].predicted, R, 1e-7);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* A from R and T, both limits' senses. */
START_TEST(absorbed)
{
    bench b;
    truth t;
    bc_inspect_result result;
    open_six(&b);
    bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.01, 450.0, 650.0)->quantity = BC_A;
    bench_ask(&b, BC_AVERAGE, BC_AT_LEAST, 0.01, 450.0, 650.0)->quantity = BC_A;
    t = bench_truth(&b);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R | BC_MEASURED_T);
    ck_assert_int_eq(result.finding[0].verdict, BC_ACCEPT);
    ck_assert_int_eq(result.finding[1].verdict, BC_REJECT);
    ck_assert_double_eq_tol(result.finding[0].value, 0.0, 1e-12);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

TCase *match_case(void)
{
    TCase *tests = tcase_create("match");
    tcase_add_loop_test(tests, of_something_else, 0, (int)OTHERS);
    tcase_add_test(tests, from_fit_needs_the_band);
    tcase_add_test(tests, predicted_uncertainty);
    tcase_add_loop_test(tests, near_normal, 0, 2);
    tcase_add_loop_test(tests, part_of_what_was_asked, 0, 3);
    tcase_add_loop_test(tests, wrong_polarization, 0, 3);
    tcase_add_loop_test(tests, at_45_degrees, 0, 3);
    tcase_add_test(tests, absorbed);
    return tests;
}
