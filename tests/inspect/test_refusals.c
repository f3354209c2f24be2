/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>
#include <string.h>

typedef enum wrong {
    FALLING,
    NOT_A_NUMBER,
    NO_QUANTITY,
    NO_POINTS,
    NEGATIVE_WAVELENGTH,
    PERCENT_FOR_FRACTION,
    NEGATIVE_UNCERTAINTY,
    EACH,
    GRAZING,
    UNCERTAINTY,
    COVERAGE_FACTOR,
    CONFIDENCE,
    NO_BACK_STACK,
    WRONGS
} wrong;

static void spoil(bench *b, bc_measurement *scan, wrong what)
{
    static double uncertainty[101];
    switch (what) {
    case FALLING:
        scan->wavelength_nm[7] = scan->wavelength_nm[6];
        break;
    case NOT_A_NUMBER:
        scan->R.value[7] = NAN;
        break;
    case NO_QUANTITY:
        scan->R.value = NULL;
        break;
    case NO_POINTS:
        scan->count = 0;
        break;
    case NEGATIVE_WAVELENGTH:
        scan->wavelength_nm[0] = -1.0;
        break;
    case PERCENT_FOR_FRACTION:
        scan->R.value[3] = 4.2;
        break;
    case NEGATIVE_UNCERTAINTY:
        scan->R.uncertainty = uncertainty;
        uncertainty[3] = -1e-3;
        break;
    case EACH:
        b->setup.polarization = BC_POL_EACH;
        break;
    case GRAZING:
        b->setup.aoi_rad = 0.5 * PI;
        break;
    case UNCERTAINTY:
        b->setup.uncertainty = -1e-3;
        break;
    case COVERAGE_FACTOR:
        b->setup.coverage_factor = 0.0;
        break;
    case CONFIDENCE:
        b->setup.confidence = 1.0;
        break;
    case NO_BACK_STACK:
        b->setup.back.kind = BC_BACK_OWN;
        break;
    case WRONGS:
        break;
    }
}

START_TEST(refused)
{
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bc_error error = {0};
    bench_open(&b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    spoil(&b, &scan, (wrong)_i);
    ck_assert_int_eq(bc_inspect(&scan, &b.setup, &result, &error), BC_ERROR_INPUT);
    ck_assert_uint_gt(strlen(error.message), 20);
    ck_assert_ptr_null(result.memory);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Tables that reach over part of the scan: the rest is left out and counted, and rows that need no table are judged. */
START_TEST(tables_that_do_not_reach)
{
    static const double nm[] = {500.0, 700.0}, n[] = {1.38, 1.38};
    bench b;
    truth t;
    bc_dispersion *layer = NULL;
    bc_measurement scan;
    bc_inspect_result result;
    bc_error error;
    bench_open_six(&b, 0.5, 420.0, 780.0);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    ck_assert_int_eq(bc_dispersion_table("short", 2, nm, n, NULL, &layer, NULL), BC_OK);
    b.design.layer[0].material.dispersion = layer;
    result = bench_inspect(&b, &scan);
    ck_assert_uint_eq(result.outside, 50);
    ck_assert_uint_eq(result.R.count, 51);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_AS_DESIGNED);
    ck_assert_int_eq(result.verdict, BC_ACCEPT);
    ck_assert(isnan(result.finding[0].predicted));
    bc_inspect_result_clear(&result);
    scan.count = 20; /* 400 to 476 nm */
    ck_assert_int_eq(bc_inspect(&scan, &b.setup, &result, &error), BC_ERROR_INPUT);
    bc_dispersion_free(layer);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Beyond the tables the slope of the last point that they reach is what an error of the wavelengths goes by. */
START_TEST(wavelengths_beyond_the_tables)
{
    static const double reach[] = {500.0, 700.0}, n[] = {1.38, 1.38}, asked[] = {452.0, 748.0};
    bc_dispersion *layer = NULL;
    bench b;
    bench_open_six(&b, 0.5, asked[0], asked[0]);
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, asked[1], asked[1]);
    b.setup.wavelength_uncertainty_nm = 1.0;
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    ck_assert_int_eq(bc_dispersion_table("short", 2, reach, n, NULL, &layer, NULL), BC_OK);
    b.design.layer[0].material.dispersion = layer;
    bc_inspect_result result = bench_inspect(&b, &scan);
    for (size_t end = 0; end < 2; end++) {
        const double around[2] = {reach[end] - 0.1, reach[end] + 0.1};
        double R[2];
        truth_spectrum(&t, 2, around, R, NULL);
        ck_assert_double_eq_tol(result.finding[end].systematic / fabs(0.5 * (R[1] - R[0]) / 0.2), 1.0, 0.05);
    }
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bc_dispersion_free(layer);
    bench_close(&b);
}
END_TEST

/* Few points, one point, a bare design, a layer of no effect: an answer all the same. */
START_TEST(little_to_go_by)
{
    static const size_t counts[] = {1, 2, 5, 9};
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open_six(&b, 0.5, 550.0, 550.0);
    b.setup.uncertainty = 0.002;
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 550.0, 10.0, counts[_i]);
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.verdict, BC_ACCEPT);
    ck_assert_int_eq(result.noise_R.source, counts[_i] < 12 ? BC_NOISE_UNKNOWN : BC_NOISE_SCAN);
    for (size_t j = 0; j < 6; j++)
        ck_assert(result.layer[j].sigma_nm > 0.0 && isfinite(result.layer[j].fitted_nm));
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Memory for a measurement holds what was asked for, and nothing else. */
START_TEST(room_for_a_measurement)
{
    bc_measurement scan;
    ck_assert_int_eq(bc_measurement_alloc(7, BC_MEASURED_T | BC_MEASURED_T_UNCERTAINTY, &scan, NULL), BC_OK);
    ck_assert_uint_eq(scan.count, 7);
    ck_assert(scan.R.value == NULL && scan.R.deviation == NULL && scan.R.uncertainty == NULL);
    ck_assert(scan.T.value != NULL && scan.T.deviation == NULL && scan.T.uncertainty != NULL);
    ck_assert_double_eq(scan.T.value[6], 0.0);
    bc_measurement_clear(&scan);
    ck_assert_ptr_null(scan.wavelength_nm);
    ck_assert_int_eq(bc_measurement_alloc((size_t)-1 / 16, BC_MEASURED_R, &scan, NULL), BC_ERROR_MEMORY);
}
END_TEST

TCase *refusal_case(void)
{
    TCase *tests = tcase_create("refusals");
    tcase_add_loop_test(tests, refused, 0, (int)WRONGS);
    tcase_add_test(tests, tables_that_do_not_reach);
    tcase_add_test(tests, wavelengths_beyond_the_tables);
    tcase_add_loop_test(tests, little_to_go_by, 0, 4);
    tcase_add_test(tests, room_for_a_measurement);
    return tests;
}
