/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <math.h>
#include <string.h>

#define WITNESSES 5
#define NOISE     1e-4

static const double factor[WITNESSES] = {0.99, 1.0, 1.005, 1.02, 1.03};

static void make(bench *b, bc_measurement *scan)
{
    for (size_t w = 0; w < WITNESSES; w++) {
        truth t = bench_truth(b);
        for (size_t j = 0; j < t.layers; j++)
            t.layer[j].thickness_nm *= factor[w];
        scan[w] = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
        scan_disturb(b, &scan[w], NOISE, 0.0);
    }
}

/* What a lot says of how far it is. */
typedef struct heard {
    size_t calls, falls, in[WITNESSES]; /* in: while each witness was at work */
    double last;
} heard;

static void hear(void *context, double fraction)
{
    heard *h = context;
    h->calls++;
    h->falls += fraction < h->last;
    h->last = fraction;
    h->in[(size_t)fmin(fraction * WITNESSES * (1.0 - 1e-9), WITNESSES - 1)]++;
}

static void expect_all_the_way(const heard *h)
{
    ck_assert_uint_eq(h->falls, 0);
    ck_assert_double_eq_tol(h->last, 1.0, 1e-12);
    for (size_t w = 0; w < WITNESSES; w++)
        ck_assert_uint_gt(h->in[w], 10); /* each candidate of the cause, at least */
}

/* Mean, standard deviation and the line through five known factors, worked out by hand here. */
START_TEST(mean_spread_and_drift)
{
    const double mean = (0.99 + 1.0 + 1.005 + 1.02 + 1.03) / 5.0;
    double square = 0.0, slope = 0.0, residual = 0.0;
    bench b;
    bc_measurement scan[WITNESSES];
    bc_lot_result lot;
    bc_error error;
    heard h = {0};
    bench_open_six(&b, 0.5, 420.0, 780.0);
    b.setup.progress = hear;
    b.setup.progress_context = &h;
    make(&b, scan);
    for (int w = 0; w < WITNESSES; w++) {
        square += pow(factor[w] - mean, 2.0);
        slope += (w - 2) * factor[w] / 10.0;
    }
    for (int w = 0; w < WITNESSES; w++)
        residual += pow(factor[w] - mean - slope * (w - 2), 2.0);
    ck_assert_msg(bc_inspect_lot(WITNESSES, scan, &b.setup, &lot, &error) == BC_OK, "%s", error.message);
    expect_all_the_way(&h);
    ck_assert_int_eq(lot.verdict, BC_ACCEPT);
    ck_assert_uint_eq(lot.accepted, WITNESSES);
    ck_assert_uint_eq(lot.scale.count, WITNESSES);
    ck_assert_double_eq_tol(lot.scale.mean, mean, 3e-4);
    ck_assert_double_eq_tol(lot.scale.deviation, sqrt(square / 4.0), 3e-4);
    ck_assert_double_eq_tol(lot.scale.drift, 4.0 * slope, 1e-3);
    ck_assert_double_eq_tol(lot.scale.drift_sigma, 4.0 * sqrt(residual / 3.0 / 10.0), 5e-4);
    ck_assert_double_eq_tol(lot.layer[1].mean, six_nm[1] * mean, 0.3);
    ck_assert_uint_eq(lot.value[0].count, WITNESSES);
    for (int w = 0; w < WITNESSES; w++)
        bc_measurement_clear(&scan[w]);
    bc_lot_result_clear(&lot);
    bench_close(&b);
}
END_TEST

/* One that rejects rejects the lot; one that is undecided leaves it undecided. */
START_TEST(verdict_of_the_lot)
{
    bench b;
    bc_measurement scan[WITNESSES];
    bc_lot_result lot;
    bench_open_six(&b, 0.2, 420.0, 780.0);
    make(&b, scan);
    for (size_t i = 40; _i == 0 && i <= 60; i++) /* more than an outlier */
        scan[3].R.value[i] += 0.4;
    if (_i == 1)
        scan[3].count = 90; /* ends at 756 nm */
    ck_assert_int_eq(bc_inspect_lot(WITNESSES, scan, &b.setup, &lot, NULL), BC_OK);
    ck_assert_int_eq(lot.verdict, _i == 0 ? BC_REJECT : BC_UNDECIDED);
    ck_assert_uint_eq(lot.accepted, WITNESSES - 1);
    ck_assert_uint_eq(lot.rejected, _i == 0);
    ck_assert_uint_eq(lot.undecided, _i == 1);
    for (int w = 0; w < WITNESSES; w++)
        bc_measurement_clear(&scan[w]);
    bc_lot_result_clear(&lot);
    bench_close(&b);
}
END_TEST

/* One witness has a mean and nothing else; none is an error; a bad one is named. */
START_TEST(few)
{
    bench b;
    bc_measurement scan[WITNESSES];
    bc_lot_result lot;
    bc_error error;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    make(&b, scan);
    ck_assert_int_eq(bc_inspect_lot(1, scan, &b.setup, &lot, NULL), BC_OK);
    ck_assert_int_eq(lot.verdict, BC_UNDECIDED);
    ck_assert_double_eq_tol(lot.scale.mean, 0.99, 1e-3);
    ck_assert(isnan(lot.scale.deviation) && isnan(lot.scale.drift) && isnan(lot.scale.drift_sigma));
    bc_lot_result_clear(&lot);
    ck_assert_int_eq(bc_inspect_lot(0, scan, &b.setup, &lot, &error), BC_ERROR_INPUT);
    strcpy(scan[1].label, "second.csv");
    scan[1].wavelength_nm[5] = 1.0;
    ck_assert_int_eq(bc_inspect_lot(WITNESSES, scan, &b.setup, &lot, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "second.csv"));
    ck_assert_uint_eq(lot.count, 0);
    for (int w = 0; w < WITNESSES; w++)
        bc_measurement_clear(&scan[w]);
    bench_close(&b);
}
END_TEST

TCase *lot_case(void)
{
    TCase *tests = tcase_create("lot");
    tcase_add_test(tests, mean_spread_and_drift);
    tcase_add_loop_test(tests, verdict_of_the_lot, 0, 2);
    tcase_add_test(tests, few);
    return tests;
}
