/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What lies behind the layers: a back that is taken out of the scan, and rows that ask about the part.
 */
#include "witness.h"
#include <math.h>

/* An uncoated back taken out, exactly: what the reference has for the front alone. Clear layers on a clear plate need
 * no fit for it, so that layers that are nowhere near the design change nothing. R and T; at normal incidence and, with
 * the true layers, unpolarized at 20 degrees. */
START_TEST(back_removed)
{
    const bool oblique = _i >= 2;
    const bc_quantity quantity = _i % 2 == 0 ? BC_R : BC_T;
    const double nm = 520.0;
    bench b;
    truth t, front;
    bc_callout *callout;
    double R, T, ahead, R_part, T_part;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    b.setup.back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 2.0};
    b.setup.aoi_rad = oblique ? 20.0 * DEGREE : 0.0;
    b.setup.uncertainty = 0.002;
    callout = bench_ask(&b, BC_EXTREME, quantity == BC_R ? BC_AT_MOST : BC_AT_LEAST, 0.5, nm, nm);
    callout->quantity = quantity;
    callout->aoi_from_rad = callout->aoi_to_rad = b.setup.aoi_rad;
    t = bench_truth(&b);
    t.layer[0].n = oblique ? t.layer[0].n : 1.7; /* a wrong material at normal incidence */
    front = t;
    front.back = BC_BACK_NONE;
    truth_spectrum(&front, 1, &nm, &R, &T);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R | BC_MEASURED_T);
    ck_assert(result.finding[0].back_removed);
    ck_assert_int_eq(result.finding[0].verdict, BC_ACCEPT);
    ck_assert_double_eq_tol(result.finding[0].value, quantity == BC_R ? R : T, oblique ? 1e-8 : 1e-13);
    /* The uncertainty goes through d front / d part: of R of a clear plate in closed form, R2 the bare back's. */
    truth_spectrum(&t, 1, &nm, &R_part, &T_part);
    ahead = pow(0.52 / 2.52, 2.0);
    if (!oblique && quantity == BC_R)
        ck_assert_double_eq_tol(result.finding[0].systematic,
                                0.001 * pow(1.0 - ahead, 2.0) / pow(1.0 - 2.0 * ahead + R_part * ahead, 2.0), 1e-9);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* Absorbing layers: what they take comes from the fitted stack, and the front's value is the reference's again. */
START_TEST(back_removed_from_absorbing_layers)
{
    static const char *const index[] = {"1.38", "2.10-0.02i", "1.38", "2.10-0.02i"};
    static const double nm[] = {92.0, 118.0, 21.0, 31.0};
    const double at = 480.0;
    bench b;
    truth t, front;
    double R, T;
    bc_inspect_result result;
    bench_open(&b, "1.52", 4, index, nm);
    b.setup.back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 2.0};
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, at, at);
    bench_ask(&b, BC_EXTREME, BC_AT_LEAST, 0.1, at, at)->quantity = BC_T;
    t = bench_truth(&b);
    for (int j = 1; j < 4; j += 2)
        t.layer[j].k = 0.02;
    for (int j = 0; j < 4; j++)
        t.layer[j].thickness_nm *= 1.02;
    front = t;
    front.back = BC_BACK_NONE;
    truth_spectrum(&front, 1, &at, &R, &T);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R | BC_MEASURED_T);
    ck_assert(result.finding[0].back_removed && result.finding[1].back_removed);
    ck_assert_double_eq_tol(result.finding[0].value, R, 1e-9);
    ck_assert_double_eq_tol(result.finding[1].value, T, 1e-9);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_COMMON_FACTOR);
    ck_assert_double_eq_tol(result.scale, 1.02, 1e-6);
    bc_inspect_result_clear(&result);
    bench_close(&b);
}
END_TEST

/* A part measured as the part rows mean it: direct. With another back: not. */
START_TEST(part_rows)
{
    for (int same = 0; same < 2; same++) {
        bench b;
        truth t;
        bc_inspect_result result;
        bench_open(&b, "1.52", 6, six_index, six_nm);
        b.setup.back = (bc_back){.kind = BC_BACK_SAME, .substrate_mm = 2.0};
        b.setup.part_back = (bc_back){.kind = same ? BC_BACK_SAME : BC_BACK_UNCOATED, .substrate_mm = 2.0};
        bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0)->scope = BC_SCOPE_PART;
        bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0);
        t = bench_truth(&b);
        result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
        ck_assert_int_eq(result.finding[0].verdict, same ? BC_ACCEPT : BC_UNDECIDED);
        ck_assert_int_eq(result.finding[0].reason, same ? BC_DECIDED : BC_UNDECIDED_SCOPE);
        ck_assert_int_eq(result.finding[1].reason, BC_UNDECIDED_SCOPE);
        ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_AS_DESIGNED);
        bc_inspect_result_clear(&result);
        bench_close(&b);
    }
}
END_TEST

/* A back with a stack of its own: the fit knows it, and the part row is direct. Another stack there is another part. */
START_TEST(own_back)
{
    static const char *const index[] = {"1.38", "1.70"};
    static const double nm[] = {100.0, 80.0};
    const double at = 500.0;
    bench b, other;
    truth t;
    double R, T;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    bench_open(&other, "1.52", 2, index, nm);
    b.setup.back = b.setup.part_back = (bc_back){BC_BACK_OWN, &other.design, 2.0};
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, at, at)->scope = BC_SCOPE_PART;
    t = bench_truth(&b);
    t.back_layers = 2;
    for (size_t j = 0; j < 2; j++)
        t.back_layer[j] = (reference_layer){j == 0 ? 1.38 : 1.70, 0.0, nm[j]};
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j].thickness_nm *= 1.02;
    truth_spectrum(&t, 1, &at, &R, &T);
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert_int_eq(result.verdict, BC_ACCEPT);
    ck_assert_double_eq_tol(result.finding[0].value, R, 1e-14);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_COMMON_FACTOR);
    ck_assert_double_eq_tol(result.scale, 1.02, 1e-6);
    bc_inspect_result_clear(&result);
    b.setup.part_back.stack = &b.design;
    result = bench_scan_and_inspect(&b, &t, BC_MEASURED_R);
    ck_assert_int_eq(result.finding[0].reason, BC_UNDECIDED_SCOPE);
    bc_inspect_result_clear(&result);
    bench_close(&b);
    bench_close(&other);
}
END_TEST

TCase *back_case(void)
{
    TCase *tests = tcase_create("back");
    tcase_add_loop_test(tests, back_removed, 0, 4);
    tcase_add_test(tests, back_removed_from_absorbing_layers);
    tcase_add_test(tests, part_rows);
    tcase_add_test(tests, own_back);
    return tests;
}
