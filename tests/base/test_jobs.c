/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "jobs.h"
#include "suites.h"
#include <pthread.h>
#include <stdatomic.h>

enum { JOBS = 1000, THREADS = 7 };

typedef struct board {
    atomic_int times[JOBS];    /* each job was done */
    atomic_bool busy[THREADS]; /* a worker is at work */
    atomic_bool shared;        /* two jobs had one worker at once */
    pthread_t caller;
    size_t stop_after, told;
} board;

static void mark(void *context, size_t worker, size_t i)
{
    board *b = context;
    if (atomic_exchange(&b->busy[worker], true))
        atomic_store(&b->shared, true);
    atomic_fetch_add(&b->times[i], 1);
    atomic_store(&b->busy[worker], false);
}

static bool go_on(void *context, size_t done)
{
    board *b = context;
    ck_assert(pthread_equal(b->caller, pthread_self()));
    ck_assert_uint_ge(done, ++b->told);
    return done < b->stop_after;
}

static bool run(board *b, size_t threads, size_t stop_after)
{
    *b = (board){.caller = pthread_self(), .stop_after = stop_after};
    return bc_jobs_run(&(bc_jobs){JOBS, threads, mark, go_on, b});
}

START_TEST(every_job_is_done_once)
{
    board b;
    for (size_t threads = 1; threads <= THREADS; threads += 2) {
        ck_assert(run(&b, threads, (size_t)-1));
        ck_assert(!b.shared);
        for (size_t i = 0; i < JOBS; i++)
            ck_assert_int_eq(b.times[i], 1);
    }
}
END_TEST

START_TEST(a_stop_begins_no_further_job)
{
    board b;
    int done = 0;
    ck_assert(!run(&b, 1, 10));
    for (size_t i = 0; i < JOBS; i++)
        done += b.times[i];
    ck_assert_int_eq(done, 10);
}
END_TEST

START_TEST(no_jobs_are_soon_done)
{
    ck_assert(bc_jobs_run(&(bc_jobs){.count = 0, .threads = 4, .job = mark}));
    ck_assert_uint_eq(bc_threads(3), 3);
    ck_assert_uint_ge(bc_threads(0), 1);
    ck_assert_uint_le(bc_threads((size_t)-1), 64);
}
END_TEST

TCase *jobs_case(void)
{
    TCase *tests = tcase_create("jobs");
    tcase_add_test(tests, every_job_is_done_once);
    tcase_add_test(tests, a_stop_begins_no_further_job);
    tcase_add_test(tests, no_jobs_are_soon_done);
    return tests;
}
