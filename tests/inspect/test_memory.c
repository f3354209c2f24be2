/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of an inspection.
 */
#include "out_of_memory.h"
#include "witness.h"
#include <math.h>

typedef struct look {
    bench b;
    bc_measurement scan;
} look;

static bc_status inspect(void *context, bc_error *error)
{
    look *l = context;
    bc_inspect_result result;
    const bc_status status = bc_inspect(&l->scan, &l->b.setup, &result, error);
    expect_memory_error(status == BC_OK || (result.memory == NULL && result.finding == NULL && result.layer == NULL));
    bc_inspect_result_clear(&result);
    return status;
}

static bc_status inspect_lot(void *context, bc_error *error)
{
    look *l = context;
    const bc_measurement two[2] = {l->scan, l->scan};
    bc_lot_result lot;
    const bc_status status = bc_inspect_lot(2, two, &l->b.setup, &lot, error);
    expect_memory_error(status == BC_OK || (lot.witness == NULL && lot.layer == NULL && lot.value == NULL));
    bc_lot_result_clear(&lot);
    return status;
}

static void open_look(look *l, size_t layers, unsigned what)
{
    truth t;
    bench_open(&l->b, "1.52", layers, six_index, six_nm);
    bench_ask(&l->b, BC_EXTREME, BC_AT_MOST, 0.5, 420.0, 680.0);
    bench_ask(&l->b, BC_AVERAGE, BC_AT_MOST, 0.5, 420.0, 680.0)->aoi_to_rad = 0.1;
    l->b.setup.uncertainty = 0.001;
    t = bench_truth(&l->b);
    for (size_t j = 0; j < layers; j++)
        t.layer[j].thickness_nm *= j == 1 ? 1.1 : 1.02;
    l->scan = bench_scan(&t, what, 400.0, 10.0, 31);
    scan_disturb(&l->b, &l->scan, 2e-4, 0.0);
}

static void close_look(look *l)
{
    bc_measurement_clear(&l->scan);
    bench_close(&l->b);
}

/* A run with one layer off: fitted, told layer by layer, judged and corrected. */
START_TEST(one_layer_off)
{
    static const bc_process_row row = {.material = "*",
                                       .has_tooling = true,
                                       .has_thickness_sigma = true,
                                       .has_index_sigma = true,
                                       .tooling = 1.0,
                                       .thickness_sigma = 0.02,
                                       .index_sigma = 0.01};
    bc_process process = {.rows = 1, .row = (bc_process_row *)&row};
    look l;
    open_look(&l, 2, _i == 0 ? BC_MEASURED_R : BC_MEASURED_R | BC_MEASURED_T);
    l.b.setup.from_fit = l.b.setup.fit_index = _i == 1;
    l.b.setup.process = &process;
    ck_assert_uint_gt(fail_each_allocation(inspect, &l), 40);
    close_look(&l);
}
END_TEST

/* Another witness than the one asked for, so that every other story is tried. */
START_TEST(none_of_the_stories_fits)
{
    look l;
    open_look(&l, 2, BC_MEASURED_R | BC_MEASURED_T);
    for (size_t i = 0; i < l.scan.count; i++) {
        l.scan.R.value[i] = 0.3 + 0.2 * sin((double)i);
        l.scan.T.value[i] = 0.5 - 0.2 * sin((double)i);
    }
    ck_assert_uint_gt(fail_each_allocation(inspect, &l), 40);
    close_look(&l);
}
END_TEST

/* A bare back, measured through it and taken out of the readings. */
START_TEST(with_a_back)
{
    look l;
    open_look(&l, 1, BC_MEASURED_R);
    l.b.setup.back.kind = BC_BACK_UNCOATED;
    l.b.setup.back.substrate_mm = 1.0;
    ck_assert_uint_gt(fail_each_allocation(inspect, &l), 40);
    close_look(&l);
}
END_TEST

START_TEST(two_witnesses)
{
    look l;
    open_look(&l, 1, BC_MEASURED_R);
    ck_assert_uint_gt(fail_each_allocation(inspect_lot, &l), 40);
    close_look(&l);
}
END_TEST

TCase *memory_case(void)
{
    TCase *tcase = tcase_create("memory");
    tcase_add_loop_test(tcase, one_layer_off, MANY_OR_FEW(0, 1), 2);
    tcase_add_test(tcase, none_of_the_stories_fits);
    tcase_add_test(tcase, with_a_back);
    tcase_add_test(tcase, two_witnesses);
    return tcase;
}
