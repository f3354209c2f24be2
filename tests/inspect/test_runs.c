/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What several runs say of the chamber.
 */
#include "out_of_memory.h"
#include "witness.h"
#include <bloomcoat/runs.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <string.h>

#define RUNS 5

typedef struct lot {
    bench b;
    bc_process_row row[2];
    bc_process process;
    bc_inspect_result witness[RUNS];
} lot;

/* Runs of a chamber whose material 2.10 comes out thicker by `off`; each run by itself off by `of_run`, each layer by
 * `of_layer`, standard deviations. */
static void open_lot(lot *l, double off, double of_run, double of_layer)
{
    memset(l, 0, sizeof *l);
    bench_open(&l->b, "1.52", 6, six_index, six_nm);
    l->row[0] = (bc_process_row){.material = "2.10", .tooling = 1.2, .has_tooling = true};
    l->row[1] = (bc_process_row){.material = "*",
                                 .has_thickness_sigma = true,
                                 .thickness_sigma = 0.01,
                                 .has_run_thickness_sigma = true,
                                 .run_thickness_sigma = -0.01};
    l->process = (bc_process){
        .rows = 2, .row = l->row, .has_tooling = true, .has_thickness_sigma = true, .has_run_thickness_sigma = true};
    l->b.setup.process = &l->process;
    for (size_t r = 0; r < RUNS; r++) {
        truth t = bench_truth(&l->b);
        const double run = gsl_ran_gaussian(l->b.random, of_run);
        for (size_t j = 0; j < t.layers; j++)
            t.layer[j].thickness_nm *=
                1.0 + run + gsl_ran_gaussian(l->b.random, of_layer) + (strcmp(six_index[j], "2.10") == 0 ? off : 0.0);
        bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
        scan_disturb(&l->b, &scan, 1e-4, 0.0);
        l->witness[r] = bench_inspect(&l->b, &scan);
        bc_measurement_clear(&scan);
    }
}

static void close_lot(lot *l)
{
    for (size_t r = 0; r < RUNS; r++)
        bc_inspect_result_clear(&l->witness[r]);
    bench_close(&l->b);
}

static const bc_runs_material *material_of(const bc_runs *runs, const char *name)
{
    for (size_t m = 0; m < runs->materials; m++)
        if (strcmp(runs->material[m].material.name, name) == 0)
            return &runs->material[m];
    ck_abort_msg("no %s", name);
    return NULL;
}

static void expect_within(const bc_interval *interval, double value)
{
    ck_assert_msg(interval->low <= value && value <= interval->high && interval->low < interval->value &&
                      interval->value < interval->high,
                  "%g to %g, not %g", interval->low, interval->high, value);
}

START_TEST(a_tooling_that_is_off)
{
    static lot l;
    bc_runs runs;
    bc_error error;
    open_lot(&l, 0.04, 0.008, 0.006);
    ck_assert_int_eq(bc_runs_estimate(RUNS, l.witness, &l.b.setup, &runs, &error), BC_OK);
    ck_assert_uint_eq(runs.runs, RUNS);
    const bc_runs_material *high = material_of(&runs, "2.10");
    expect_within(&high->factor, 1.04);
    expect_within(&high->sigma, 0.006);
    expect_within(&runs.run_sigma, 0.008);
    ck_assert_double_gt(high->probability, 0.95);
    ck_assert(high->correction > 1.02 && high->correction < high->factor.value); /* shrunk */
    ck_assert_double_eq_tol(high->next_tooling, 1.2 * high->correction, 1e-12);
    const bc_process_row row = bc_process_for(&runs.process, "2.10");
    ck_assert_double_eq(row.tooling, high->next_tooling);
    ck_assert_double_eq(row.thickness_sigma, high->sigma.value);
    ck_assert_double_eq(row.run_thickness_sigma, runs.run_sigma.value);
    ck_assert(row.runs.counted == RUNS && row.runs.tooling == RUNS && row.runs.run_thickness_sigma == RUNS);
    ck_assert_double_eq(bc_process_for(&runs.process, "other").runs.counted, 0.0);
    ck_assert_double_eq(bc_process_for(&runs.process, "other").thickness_sigma, 0.01);
    bc_runs_clear(&runs);
    /* One of them explains nothing: left out. One alone is no scatter. */
    for (size_t r = 1; r < RUNS; r++)
        l.witness[r].good_fit = false;
    ck_assert_int_eq(bc_runs_estimate(RUNS, l.witness, &l.b.setup, &runs, &error), BC_OK);
    ck_assert(runs.runs == 1 && runs.left_out == RUNS - 1 && runs.materials == 0 && runs.process.row == NULL);
    bc_runs_clear(&runs);
    close_lot(&l);
}
END_TEST

/* Random errors correct nothing. */
START_TEST(a_tooling_that_is_right)
{
    static lot l;
    bc_runs runs;
    bc_error error;
    open_lot(&l, 0.0, 0.01, 0.01);
    ck_assert_int_eq(bc_runs_estimate(RUNS, l.witness, &l.b.setup, &runs, &error), BC_OK);
    for (size_t m = 0; m < runs.materials; m++) {
        expect_within(&runs.material[m].factor, 1.0);
        ck_assert_double_eq(runs.material[m].correction, 1.0);
        ck_assert_double_eq(runs.material[m].next_tooling, runs.material[m].tooling);
    }
    bc_runs_clear(&runs);
    l.b.setup.process = NULL; /* what no process said is known now */
    ck_assert_int_eq(bc_runs_estimate(RUNS, l.witness, &l.b.setup, &runs, &error), BC_OK);
    ck_assert(runs.process.has_tooling && runs.process.has_thickness_sigma && runs.process.has_run_thickness_sigma);
    bc_runs_clear(&runs);
    close_lot(&l);
}
END_TEST

static bc_status estimate(void *context, bc_error *error)
{
    lot *l = context;
    bc_runs runs;
    const bc_status status = bc_runs_estimate(RUNS, l->witness, &l->b.setup, &runs, error);
    expect_memory_error(status == BC_OK || (runs.material == NULL && runs.process.row == NULL));
    bc_runs_clear(&runs);
    return status;
}

START_TEST(without_memory)
{
    static lot l;
    open_lot(&l, 0.0, 0.01, 0.01);
    ck_assert_uint_gt(fail_each_allocation(estimate, &l), 10);
    close_lot(&l);
}
END_TEST

TCase *runs_case(void)
{
    TCase *tests = tcase_create("runs");
    tcase_add_test(tests, a_tooling_that_is_off);
    tcase_add_test(tests, a_tooling_that_is_right);
    tcase_add_test(tests, without_memory);
    return tests;
}
