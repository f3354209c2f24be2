/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a process that is known by some runs leaves open of a yield: of one layer, whose yield is elementary.
 */
#include "known_yield.h"
#include "many_or_few.h"
#include "process_draw.h"
#include "runs.h"
#include "workshop.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>

#define LAYER_N 1.38
#define GLASS_N 1.52
#define NM      550.0
#define LIMIT   0.0135
#define DRAWS   40000
#define TAIL    0.025
#define CHANCE  0.01  /* of a share of 1023 processes behind a bound */
#define HARDLY  0.004 /* of a yield */

typedef struct figures {
    double sigma, bias, runs, bias_runs, tooling_runs; /* runs 0: exact */
} figures;

/* The yield of a layer that is off by `off` and scatters by `spread`: R <= LIMIT between two thicknesses
 * (test_yield.c).
 */
static double yield_of(double off, double spread)
{
    const double upper = (1.0 - LAYER_N) / (1.0 + LAYER_N), lower = (LAYER_N - GLASS_N) / (LAYER_N + GLASS_N);
    const double both = upper * upper * lower * lower;
    const double cosine =
        (LIMIT * (1.0 + both) - upper * upper - lower * lower) / (2.0 * upper * lower * (1.0 - LIMIT));
    const double least = acos(cosine) / PI, most = 2.0 - least; /* of the quarter wave */
    return normal_below((most - 1.0 - off) / spread) - normal_below((least - 1.0 - off) / spread);
}

static double factor(gsl_rng *random, double runs)
{
    return runs > 0.0 ? sqrt((runs - 1.0) / gsl_ran_chisq(random, runs - 1.0)) : 1.0;
}

/* Share of processes, drawn here by GSL's own numbers, whose yield is below `bound`. */
static double share_below(const figures *f, double bound)
{
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    size_t below = 0;
    for (int i = 0; i < DRAWS; i++) {
        const double sigma = f->sigma * factor(random, f->runs), bias = f->bias * factor(random, f->bias_runs);
        const double spread = hypot(sigma, bias);
        const double off = f->tooling_runs > 0.0 ? spread / sqrt(f->tooling_runs) * gsl_ran_gaussian(random, 1.0) : 0.0;
        below += yield_of(off, spread) < bound;
    }
    gsl_rng_free(random);
    return (double)below / DRAWS;
}

/* Within what 1023 processes say of a share, and what 1023 runs of each tell of a yield. */
static void expect_quantile(const figures *f, double bound, double share)
{
    const double below = share_below(f, bound - HARDLY), above = share_below(f, bound + HARDLY);
    ck_assert_msg(below < share + CHANCE && above > share - CHANCE,
                  "%g to %g of the processes have a yield below %g, not %g", below, above, bound, share);
}

static bc_yield_result result_of(const figures *f, size_t threads)
{
    workshop w;
    bc_yield_result result;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, LIMIT, NM, NM, 0.0);
    w.stack.layer[0].thickness_nm = NM / (4.0 * LAYER_N);
    workshop_errors(&w, "*", f->sigma, f->bias, 0.0);
    w.row[0].runs = (bc_process_runs){0.0, f->tooling_runs, f->runs, f->bias_runs, 0.0};
    w.options.known_yield = true;
    w.options.threads = threads;
    result = workshop_run(&w);
    workshop_close(&w);
    return result;
}

START_TEST(bounds_of_one_layer)
{
    static const figures cases[] = {
        {0.06, 0.0, 6.0, 0.0, 0.0},   /* the layer's scatter alone is known by 6 runs */
        {0.0, 0.06, 0.0, 6.0, 0.0},   /* the run's */
        {0.05, 0.0, 0.0, 0.0, 4.0},   /* only the tooling is open */
        {0.05, 0.03, 20.0, 8.0, 8.0}, /* all of it */
        {0.02, 0.01, 5.0, 5.0, 5.0},  /* the file's own figures fail hardly any */
    };
    const figures *f = &cases[_i];
    bc_yield_result result = result_of(f, 2), again = result_of(f, 1);
    double fewest = INFINITY;
    expect_quantile(f, result.known.low, TAIL);
    expect_quantile(f, result.known.high, 1.0 - TAIL);
    ck_assert(result.known.low < result.yield && result.known.low < result.known.average);
    ck_assert(result.known.average <= result.known.high && result.known.high <= 1.0);
    fewest = f->runs > 0.0 ? fmin(fewest, f->runs) : fewest;
    fewest = f->bias_runs > 0.0 ? fmin(fewest, f->bias_runs) : fewest;
    fewest = f->tooling_runs > 0.0 ? fmin(fewest, f->tooling_runs) : fewest;
    ck_assert_double_eq(result.known.runs, fewest);
    ck_assert(again.known.low == result.known.low && again.known.high == result.known.high);
    bc_yield_result_clear(&result);
    bc_yield_result_clear(&again);
}
END_TEST

START_TEST(exact_figures_leave_nothing_open)
{
    const figures exact = {0.05, 0.03, 0.0, 0.0, 0.0}, of_nothing = {0.05, 0.0, 0.0, 9.0, 0.0};
    bc_yield_result result = result_of(&exact, 1);
    ck_assert(result.known.runs == 0.0 && isnan(result.known.low) && isnan(result.known.high));
    bc_yield_result_clear(&result);
    result = result_of(&of_nothing, 1); /* 9 runs behind a sigma of 0 */
    ck_assert(result.known.runs == 0.0);
    bc_yield_result_clear(&result);
}
END_TEST

/* Three materials with rows of their own: each figure goes by a number of its own, of those that are drawn for it. */
START_TEST(every_figure_has_a_number_of_its_own)
{
    enum { MATERIALS = 3, FIGURES = 3 };
    bc_process_doubt doubt;
    bool taken[64] = {false};
    bc_runs *runs;
    workshop w;
    workshop_open(&w, "air", "1.38,2.1,1.7", "1.52");
    workshop_ask(&w, 0.02, 450.0, 650.0, 0.0);
    for (size_t m = 0; m < MATERIALS; m++) {
        workshop_errors(&w, w.stack.layer[m].material.name, 0.01, 0.005, 0.003);
        w.row[m].has_tooling = true;
        w.row[m].runs = (bc_process_runs){.tooling = 9.0, .thickness_sigma = 9.0, .index_sigma = 9.0};
    }
    w.process.has_tooling = true;
    w.options.runs = 10;
    ck_assert_int_eq(bc_runs_alloc(&w.problem, &w.stack, &w.process, &w.options, &runs, NULL), BC_OK);
    ck_assert_int_eq(bc_process_doubt_open(&runs->model, &w.process, &doubt, NULL), BC_OK);
    ck_assert_uint_le(doubt.numbers, 64);
    ck_assert_uint_lt(doubt.run.number, doubt.numbers);
    taken[doubt.run.number] = true;
    for (size_t m = 0; m < MATERIALS; m++) {
        const size_t number[FIGURES] = {doubt.layer[m].number, doubt.index[m].number, doubt.factor[m].number};
        for (size_t f = 0; f < FIGURES; f++) {
            ck_assert_uint_lt(number[f], doubt.numbers);
            ck_assert(!taken[number[f]]);
            taken[number[f]] = true;
        }
    }
    bc_process_doubt_close(&doubt);
    bc_runs_free(runs);
    workshop_close(&w);
}
END_TEST

/* A sigma that two runs tell: chi^2 of one degree of freedom is a normal number squared, so that where P(z) of the
 * draws lie below, the sigma is larger by 1 over the normal number that half of the rest lies above; a tenth to ten
 * times. */
START_TEST(a_sigma_of_two_runs)
{
    static const double z[] = {-8.0, -1.0, 0.0, 1.0, 4.0, 6.0, 12.0};
    bc_process_doubt doubt;
    bc_process_draw draw;
    bc_runs *runs;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, 0.02, 450.0, 650.0, 0.0);
    workshop_errors(&w, "*", 0.01, 0.005, 0.003);
    w.row[0].runs = (bc_process_runs){.run_thickness_sigma = 2.0};
    w.options.runs = 10;
    ck_assert_int_eq(bc_runs_alloc(&w.problem, &w.stack, &w.process, &w.options, &runs, NULL), BC_OK);
    ck_assert_int_eq(bc_process_doubt_open(&runs->model, &w.process, &doubt, NULL), BC_OK);
    ck_assert_int_eq(bc_process_draw_alloc(&doubt, &draw, NULL), BC_OK);
    ck_assert_double_eq(doubt.run.freedom, 1.0);
    ck_assert_uint_le(doubt.numbers, 8);
    for (size_t i = 0; i < sizeof z / sizeof *z; i++) {
        double number[8] = {0.0};
        const double factor = 1.0 / gsl_cdf_ugaussian_Qinv(0.5 * gsl_cdf_ugaussian_Q(z[i]));
        number[doubt.run.number] = z[i];
        bc_process_draw_set(&doubt, number, &draw);
        ck_assert_double_eq_tol(draw.run, fmin(fmax(factor, 0.1), 10.0), 1e-5);
        ck_assert_double_eq(draw.layer[0], 1.0);
    }
    free(draw.layer);
    bc_process_doubt_close(&doubt);
    bc_runs_free(runs);
    workshop_close(&w);
}
END_TEST

/* The sigma of the run is one for the chamber: known by the fewest runs that any of its materials was learned from. A
 * material that a run does not move, and one that is said exactly, know nothing of it. */
START_TEST(the_fewest_runs_know_the_sigma_of_the_run)
{
    static const struct {
        double sigma[3], runs[3];
    } known[] = {{{0.005, 0.005, 0.005}, {9.0, 5.0, 7.0}},
                 {{0.005, 0.0, 0.005}, {9.0, 2.0, 5.0}},
                 {{0.005, 0.005, 0.005}, {9.0, 5.0, 0.0}},
                 {{0.005, 0.005, 0.005}, {0.0, 9.0, 5.0}}};
    bc_process_doubt doubt;
    bc_runs *runs;
    workshop w;
    workshop_open(&w, "air", "1.38,2.1,1.7", "1.52");
    workshop_ask(&w, 0.02, 450.0, 650.0, 0.0);
    for (size_t m = 0; m < 3; m++) {
        workshop_errors(&w, w.stack.layer[m].material.name, 0.01, known[_i].sigma[m], 0.003);
        w.row[m].runs.run_thickness_sigma = known[_i].runs[m];
    }
    w.options.runs = 10;
    ck_assert_int_eq(bc_runs_alloc(&w.problem, &w.stack, &w.process, &w.options, &runs, NULL), BC_OK);
    ck_assert_int_eq(bc_process_doubt_open(&runs->model, &w.process, &doubt, NULL), BC_OK);
    ck_assert_double_eq(doubt.run.freedom, 4.0);
    ck_assert_double_eq(doubt.runs, 5.0);
    ck_assert(doubt.any);
    bc_process_doubt_close(&doubt);
    bc_runs_free(runs);
    workshop_close(&w);
}
END_TEST

/* The root mean square of a sigma that nu degrees of freedom tell is sqrt(nu / (nu - 2)) times it, the mean of nu over
 * chi^2 (elementary); at most 1.5 is made of it. */
START_TEST(how_much_larger_a_sigma_is)
{
    ck_assert_double_eq(bc_doubted_spread((bc_doubted){0.0, 0}), 1.0);
    ck_assert_double_eq_tol(bc_doubted_spread((bc_doubted){4.0, 0}), sqrt(2.0), 1e-12);
    ck_assert_double_eq_tol(bc_doubted_spread((bc_doubted){20.0, 0}), sqrt(20.0 / 18.0), 1e-12);
    ck_assert_double_eq_tol(bc_doubted_spread((bc_doubted){3.7, 0}), sqrt(3.7 / 1.7), 1e-12);
    for (double freedom = 0.5; freedom <= 3.5; freedom += 0.5)
        ck_assert_double_eq(bc_doubted_spread((bc_doubted){freedom, 0}), 1.5);
}
END_TEST

static bc_yield_result by_index(double sigma, double runs)
{
    bc_yield_result result;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, LIMIT, NM, NM, 0.0);
    w.stack.layer[0].thickness_nm = NM / (4.0 * LAYER_N);
    workshop_errors(&w, "*", 0.0, 0.0, sigma);
    w.row[0].runs = (bc_process_runs){.index_sigma = runs};
    w.options.known_yield = runs > 0.0;
    result = workshop_run(&w);
    workshop_close(&w);
    return result;
}

/* A yield falls as the one sigma there is grows, so that its quantiles are those of the sigma: by simulated runs with
 * the sigma that 2.5 % and 97.5 % of the processes stay below, sqrt(nu / chi^2). */
START_TEST(bounds_of_an_index)
{
    const double sigma = 0.01, runs = _i == 0 ? 20.0 : 6.0, share[] = {TAIL, 1.0 - TAIL};
    bc_yield_result result = by_index(sigma, runs);
    const double bound[] = {result.known.low, result.known.high};
    ck_assert(result.yield > 0.2 && result.yield < 0.9);
    for (size_t i = 0; i < 2; i++) {
        bc_yield_result at = by_index(sigma * sqrt((runs - 1.0) / gsl_cdf_chisq_Pinv(share[i], runs - 1.0)), 0.0);
        ck_assert_double_eq_tol(bound[i], at.yield, MANY_OR_FEW(0.006, 0.016)); /* three standard errors */
        bc_yield_result_clear(&at);
    }
    bc_yield_result_clear(&result);
}
END_TEST

/* 3e9 multiplications, 1023 processes: 2.93e6 for the runs of each. */
START_TEST(large_surfaces_get_fewer_runs)
{
    static const struct {
        size_t monomials, kept, runs;
    } known[] = {{3, 10, 1023},  {28, 100, 1023}, {28, 102, 1023}, {28, 103, 511},  {28, 204, 511},
                 {28, 206, 255}, {28, 420, 255},  {500, 500, 255}, {2866, 1, 1023}, {2868, 1, 511}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        ck_assert_uint_eq(bc_known_yield_runs(known[i].monomials, known[i].kept), known[i].runs);
}
END_TEST

TCase *known_case(void)
{
    TCase *tcase = tcase_create("known");
    tcase_add_loop_test(tcase, bounds_of_one_layer, 0, 5);
    tcase_add_test(tcase, every_figure_has_a_number_of_its_own);
    tcase_add_test(tcase, exact_figures_leave_nothing_open);
    tcase_add_test(tcase, large_surfaces_get_fewer_runs);
    tcase_add_test(tcase, a_sigma_of_two_runs);
    tcase_add_loop_test(tcase, the_fewest_runs_know_the_sigma_of_the_run, 0, 4);
    tcase_add_test(tcase, how_much_larger_a_sigma_is);
    tcase_add_loop_test(tcase, bounds_of_an_index, 0, 2);
    return tcase;
}
