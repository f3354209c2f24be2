/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Quantiles from runs of which the engine judges only some, against the same from all of them.
 */
#include "doubtful.h"
#include "workshop.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RUNS     2000
#define CALLOUTS 2
#define EACH     (CALLOUTS + 1)

typedef struct bench {
    workshop w;
    bc_runs *runs;
    double used[RUNS * EACH], all[RUNS * EACH];
} bench;

/* Two callouts of two bands, so that now the one and now the other decides; `errors` in percent of a thickness. */
static bench *open(double errors)
{
    bench *b = calloc(1, sizeof *b);
    ck_assert_ptr_nonnull(b);
    workshop_open(&b->w, "air", "1.38,2.1,1.65", "1.52");
    b->w.stack.layer[0].thickness_nm = 98.0;
    b->w.stack.layer[1].thickness_nm = 125.0;
    b->w.stack.layer[2].thickness_nm = 80.0;
    workshop_ask(&b->w, 0.0021, 450.0, 550.0, 0.0);
    workshop_ask(&b->w, 0.0007, 500.0, 650.0, 0.0)->statistic = BC_AVERAGE;
    workshop_errors(&b->w, "*", errors / 100.0, 0.007, 0.005);
    ck_assert_int_eq(bc_runs_alloc(&b->w.problem, &b->w.stack, &b->w.process, &b->w.options, &b->runs, NULL), BC_OK);
    for (size_t run = 0; run < RUNS; run++) {
        bc_run_worker *worker = &b->runs->worker[0];
        bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
        b->all[run * EACH + CALLOUTS] = bc_run_judge(worker, worker->draw, 1.0);
        memcpy(&b->all[run * EACH], worker->callout_used, CALLOUTS * sizeof(double));
    }
    return b;
}

static void close(bench *b)
{
    bc_runs_free(b->runs);
    workshop_close(&b->w);
    free(b);
}

static double quantile(const double *used, size_t c, double asked)
{
    static double value[RUNS];
    for (size_t run = 0; run < RUNS; run++)
        value[run] = c == CALLOUTS ? used[run * EACH + CALLOUTS] : bc_used_alone(CALLOUTS, &used[run * EACH], c);
    return bc_used_quantile(RUNS, value, asked);
}

/* For a part of the work where the errors are those of a process; with errors so large that a quadratic no longer
 * follows them more runs are judged, and the quantiles are still right to a few runs. */
START_TEST(quantiles_are_as_if_all_runs_were_judged)
{
    static const double errors[] = {0.5, 1.5, 3.0}, asked[] = {0.8, 0.903, 0.95}, off[] = {1e-4, 5e-4, 1e-2};
    for (size_t a = 0; a < 3; a++) {
        bench *b = open(errors[_i]);
        for (size_t c = 0; c <= CALLOUTS; c++) {
            const bc_wanted wanted = {asked[a], c < CALLOUTS ? c : BC_NO_CALLOUT};
            size_t judged = 0;
            ck_assert_int_eq(bc_judge_doubtful(b->runs, RUNS, &wanted, b->used, &judged, NULL), BC_OK);
            const double is = quantile(b->used, c, asked[a]), as = quantile(b->all, c, asked[a]);
            ck_assert(is == as || fabs(is / as - 1.0) < off[_i]);
            ck_assert_uint_gt(judged, 50);
            if (_i < 2) /* where the surface follows */
                ck_assert_uint_lt(judged, RUNS / 2);
        }
        close(b);
    }
}
END_TEST

/* The least value that at least the share asked for does not exceed. */
START_TEST(a_quantile_is_one_of_the_values)
{
    static const struct {
        double asked, expected;
    } row[] = {{0.0, 1.0}, {0.1, 1.0}, {0.2, 1.0}, {0.21, 2.0}, {0.6, 3.0}, {0.99, 5.0}, {1.0, 5.0}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        double value[] = {5.0, 1.0, 3.0, 2.0, 4.0};
        ck_assert_double_eq(bc_used_quantile(5, value, row[i].asked), row[i].expected);
    }
}
END_TEST

TCase *doubtful_case(void)
{
    TCase *tests = tcase_create("doubtful");
    tcase_add_loop_test(tests, quantiles_are_as_if_all_runs_were_judged, 0, 3);
    tcase_add_test(tests, a_quantile_is_one_of_the_values);
    return tests;
}
