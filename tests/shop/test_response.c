/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The response surface against the engine: which samples it keeps, and what it predicts where it was fitted.
 */
#include "response.h"
#include "workshop.h"
#include <math.h>
#include <string.h>

#define DRAWS   3 /* two layers, and what the run shares */
#define SIGMAS  4.0
#define SAMPLES 400

typedef struct bench {
    workshop w;
    bc_runs *runs;
    bc_run_worker *worker;
    bc_response response;
    bc_response_scratch scratch;
} bench;

static void open_with(bench *b, double sigma)
{
    workshop_open(&b->w, "air", "1.38,2.1", "1.52");
    workshop_ask(&b->w, 0.02, 450.0, 650.0, 0.0);
    workshop_errors(&b->w, "*", sigma, sigma / 2.0, 0.0);
    ck_assert_int_eq(bc_runs_alloc(&b->w.problem, &b->w.stack, &b->w.process, &b->w.options, &b->runs, NULL), BC_OK);
    b->worker = &b->runs->worker[0];
    ck_assert_int_eq(bc_response_fit(b->runs, &b->response, NULL), BC_OK);
    ck_assert_uint_eq(b->response.active, DRAWS);
    ck_assert_int_eq(bc_response_scratch_alloc(&b->response, &b->scratch, NULL), BC_OK);
}

static void open(bench *b)
{
    open_with(b, 0.002);
}

static void close(bench *b)
{
    bc_response_scratch_free(&b->scratch);
    bc_response_clear(&b->response);
    bc_runs_free(b->runs);
    workshop_close(&b->w);
}

static size_t judge(bench *b, size_t which, double by, double *u)
{
    const size_t count = bc_merit_constraints(b->worker->merit);
    ck_assert_uint_le(count, SAMPLES);
    memset(b->worker->draw, 0, b->runs->model.draws * sizeof(double));
    b->worker->draw[b->response.draw[which]] = by;
    bc_run_judge(b->worker, b->worker->draw, 1.0);
    memcpy(u, bc_merit_u(b->worker->merit), count * sizeof *u);
    return count;
}

/* Mean and score (mean and four standard deviations) of each sample, both to second order in normal numbers: x_i has
 * half the difference of up and down for its slope, and x_i^2 the average 1. Returns how many samples. */
static size_t score(bench *b, double *centre, double *mean, double *score)
{
    static double up[SAMPLES], down[SAMPLES], square[SAMPLES];
    const size_t count = judge(b, 0, 0.0, centre);
    for (size_t c = 0; c < count; c++) {
        mean[c] = centre[c];
        square[c] = 0.0;
    }
    for (size_t i = 0; i < DRAWS; i++) {
        judge(b, i, 1.0, up);
        judge(b, i, -1.0, down);
        for (size_t c = 0; c < count; c++) {
            mean[c] += (up[c] + down[c]) / 2.0 - centre[c];
            square[c] += pow((up[c] - down[c]) / 2.0, 2.0);
        }
    }
    for (size_t c = 0; c < count; c++)
        score[c] = mean[c] + SIGMAS * sqrt(square[c]);
    return count;
}

/* A sample is kept when its score reaches the highest mean. */
START_TEST(samples_that_may_decide_are_kept)
{
    static double centre[SAMPLES], mean[SAMPLES], scored[SAMPLES];
    double worst = -INFINITY;
    size_t count, kept = 0;
    bench b;
    open(&b);
    count = score(&b, centre, mean, scored);
    for (size_t c = 0; c < count; c++)
        worst = fmax(worst, mean[c]);
    for (size_t c = 0; c < count; c++)
        kept += scored[c] >= worst;
    ck_assert_uint_gt(kept, 5);
    ck_assert_uint_lt(kept, 64); /* of one callout more are not kept */
    ck_assert_uint_eq(b.response.kept, kept);
    close(&b);
}
END_TEST

/* Of more than 64 those with the highest scores, in their order. */
START_TEST(of_too_many_samples_the_highest_are_kept)
{
    static double centre[SAMPLES], mean[SAMPLES], scored[SAMPLES];
    size_t count;
    bench b;
    open_with(&b, 0.05);
    count = score(&b, centre, mean, scored);
    ck_assert_uint_gt(count, 100);
    ck_assert_uint_eq(b.response.kept, 64);
    for (size_t k = 0; k < 64; k++) {
        size_t highest = 0;
        for (size_t c = 1; c < count; c++)
            if (scored[c] > scored[highest])
                highest = c;
        ck_assert_double_eq(b.response.coefficient[k], centre[highest]);
        scored[highest] = -INFINITY;
    }
    close(&b);
}
END_TEST

/* A quadratic through its own points. */
START_TEST(it_is_exact_where_it_was_fitted)
{
    static double u[SAMPLES];
    bench b;
    open(&b);
    for (size_t i = 0; i < DRAWS; i++)
        for (int by = -1; by <= 1; by++) {
            const size_t count = judge(&b, i, by, u);
            double largest = -INFINITY;
            for (size_t c = 0; c < count; c++)
                largest = fmax(largest, u[c]);
            memset(b.scratch.draw, 0, b.runs->model.draws * sizeof(double));
            b.scratch.draw[b.response.draw[i]] = by;
            ck_assert_double_eq_tol(bc_response_predict(&b.response, &b.scratch), largest, 1e-12);
            ck_assert_double_eq_tol(b.scratch.callout_used[0], largest, 1e-12);
            if (by == 0)
                ck_assert_double_eq(b.response.limit_used, largest);
        }
    memset(b.scratch.draw, 0, b.runs->model.draws * sizeof(double));
    memset(b.worker->draw, 0, b.runs->model.draws * sizeof(double));
    b.scratch.draw[b.response.draw[0]] = b.scratch.draw[b.response.draw[1]] = 1.0;
    b.worker->draw[b.response.draw[0]] = b.worker->draw[b.response.draw[1]] = 1.0;
    ck_assert_double_eq_tol(bc_response_predict(&b.response, &b.scratch), bc_run_judge(b.worker, b.worker->draw, 1.0),
                            1e-12);
    close(&b);
}
END_TEST

/* A prediction writes the share of each callout, and nothing behind them. */
START_TEST(a_prediction_has_a_share_for_each_callout)
{
    double used[2] = {0.0, 777.0}, *kept;
    bench b;
    open(&b);
    kept = b.scratch.callout_used;
    b.scratch.callout_used = used;
    memset(b.scratch.draw, 0, b.runs->model.draws * sizeof(double));
    ck_assert_double_eq_tol(bc_response_predict(&b.response, &b.scratch), b.response.limit_used, 1e-12);
    ck_assert_double_eq_tol(used[0], b.response.limit_used, 1e-12);
    ck_assert_double_eq(used[1], 777.0);
    b.scratch.callout_used = kept;
    close(&b);
}
END_TEST

TCase *response_case(void)
{
    TCase *tcase = tcase_create("response");
    tcase_add_test(tcase, samples_that_may_decide_are_kept);
    tcase_add_test(tcase, of_too_many_samples_the_highest_are_kept);
    tcase_add_test(tcase, it_is_exact_where_it_was_fitted);
    tcase_add_test(tcase, a_prediction_has_a_share_for_each_callout);
    return tcase;
}
