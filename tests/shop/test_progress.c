/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is said of the progress of runs: a share of all the work there will be, told every 128 runs.
 */
#include "influence.h"
#include "scale.h"
#include "workshop.h"
#include <bloomcoat/colour_runs.h>
#include <math.h>

#define MOST_TOLD 64

typedef struct told {
    size_t count;
    double fraction[MOST_TOLD], share[MOST_TOLD];
    size_t stop_after; /* 0: never */
} told;

static bool tell(void *context, double fraction, double share)
{
    told *all = context;
    if (all->count < MOST_TOLD) {
        all->fraction[all->count] = fraction;
        all->share[all->count] = share;
    }
    all->count++;
    return all->count != all->stop_after;
}

static void open_told(workshop *w, told *all, size_t runs)
{
    *all = (told){0};
    workshop_open(w, "air", "1.38", "1.52");
    workshop_ask(w, 0.0135, 550.0, 550.0, 0.0);
    workshop_errors(w, "*", 0.06, 0.0, 0.0);
    w->options = (bc_yield_options){.runs = runs, .seed = 3, .threads = 1, .progress = tell, .progress_context = all};
}

START_TEST(runs_are_told_as_they_are_done)
{
    static const double expected[] = {0.4, 0.8, 1.0};
    told all;
    workshop w;
    open_told(&w, &all, 320);
    bc_yield_result result = workshop_run(&w);
    ck_assert_uint_eq(all.count, 3);
    for (size_t i = 0; i < 3; i++)
        ck_assert_double_eq_tol(all.fraction[i], expected[i], 1e-12);
    ck_assert_double_eq(all.share[2], result.yield);
    ck_assert(result.yield > 0.5 && result.yield < 1.0);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* The influences and the scale are work that counts from the beginning. */
START_TEST(what_comes_after_the_runs_counts)
{
    const bool influence = _i != 1, scale = _i != 0;
    const double later = (influence ? 4096.0 * 2.0 : 0.0) + (scale ? bc_scale_work() : 0.0), work = 320.0 + later;
    told all;
    workshop w;
    open_told(&w, &all, 320);
    w.options.influence = influence;
    w.options.sigma_for_yield = scale;
    all.stop_after = 5;
    bc_yield_result result = workshop_run(&w);
    ck_assert_double_eq_tol(all.fraction[0], 128.0 / work, 1e-12);
    ck_assert_double_eq_tol(all.fraction[2], 320.0 / work, 1e-12);
    if (influence) { /* two runs each */
        ck_assert_double_eq_tol(all.fraction[3], (320.0 + 2.0 * 128.0) / work, 1e-12);
        ck_assert_double_eq_tol(all.fraction[4], (320.0 + 2.0 * 256.0) / work, 1e-12);
    } else {
        ck_assert_double_eq_tol(all.fraction[3], (320.0 + 1024.0) / work, 1e-12);
    }
    ck_assert_uint_eq(all.count, 5);
    ck_assert(isnan(result.scale_for_95) && result.influences == 0);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* A stop leaves the colours of the runs that were done. */
START_TEST(colours_are_told_as_they_are_done)
{
    static const double aoi_rad = 0.3;
    bc_colour_runs runs;
    told all;
    workshop w;
    open_told(&w, &all, 320);
    const bc_colour_view view = {.stack = &w.stack, .angles = 1, .aoi_rad = &aoi_rad};
    all.stop_after = _i == 0 ? 0 : 2;
    ck_assert_int_eq(bc_colour_simulate(&view, &w.process, &w.options, &runs, NULL), BC_OK);
    ck_assert_uint_eq(all.count, _i == 0 ? 3 : 2);
    ck_assert_uint_eq(runs.runs, _i == 0 ? 320 : 256);
    ck_assert_double_eq_tol(all.fraction[0], 0.4, 1e-12);
    ck_assert_double_eq_tol(all.fraction[1], 0.8, 1e-12);
    ck_assert(runs.seed == 3 && runs.scatter[0].a_sigma > 0.0);
    bc_colour_runs_clear(&runs);
    workshop_close(&w);
}
END_TEST

TCase *progress_case(void)
{
    TCase *tests = tcase_create("progress");
    tcase_add_test(tests, runs_are_told_as_they_are_done);
    tcase_add_loop_test(tests, what_comes_after_the_runs_counts, 0, 3);
    tcase_add_loop_test(tests, colours_are_told_as_they_are_done, 0, 2);
    return tests;
}
