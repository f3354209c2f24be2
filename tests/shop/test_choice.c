/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which design of a draft is chosen for its runs, and what is said of the others: layers of one material that stay as
 * they are, one alone or cut in two, so that nothing else comes of them and only the thickness in all counts.
 */
#include "failing_runs.h"
#include "inquiry.h"
#include "raise_yield.h"
#include "runs.h"
#include <bloomcoat/robust.h>
#include <math.h>
#include <stdlib.h>

#define QUARTER (550.0 / (4.0 * 1.38))
#define RUNS    3000

typedef struct choice {
    inquiry q;
    bc_rung rung[2], candidate[1];
    bc_draft_result draft;
    bc_robust_options options;
} choice;

static void make(choice *c, bc_rung *rung, size_t layers, double quarters)
{
    bc_check_result check;
    ck_assert_int_eq(bc_stack_alloc(layers, &rung->stack, NULL), BC_OK);
    rung->stack.incident = c->q.w.problem.incident;
    rung->stack.substrate = c->q.w.glass[0];
    for (size_t j = 0; j < layers; j++)
        rung->stack.layer[j] = (bc_layer){c->q.layer[0], round(1e3 * quarters * QUARTER / (double)layers) / 1e3, true};
    ck_assert_int_eq(bc_problem_check(&c->q.w.problem, &rung->stack, &check, NULL), BC_OK);
    rung->limit_used = check.limit_used;
    bc_check_result_clear(&check);
}

/* R <= 1.35 % holds within 0.109 of the quarter wave either way. One layer so far off that, and two halves. */
static void open_choice(choice *c, double one, double both)
{
    *c = (choice){.options = {.seed = 5, .runs = RUNS, .threads = 1}};
    open_inquiry(&c->q, "1.38", 2);
    workshop_ask(&c->q.w, 0.0135, 550.0, 550.0, 0.0);
    workshop_errors(&c->q.w, "*", 0.04, 0.0, 0.0);
    make(c, &c->rung[0], 1, 1.0 + one);
    make(c, &c->rung[1], 2, 1.0 + both);
    c->draft = (bc_draft_result){.rungs = 2, .rung = c->rung, .candidate = c->candidate};
}

static bc_robust_result choose(const choice *c)
{
    bc_robust_result result;
    bc_error error;
    ck_assert_msg(bc_robust(&c->q.w.problem, &c->q.w.process, &c->draft, &c->options, &result, &error) == BC_OK, "%s",
                  error.message);
    return result;
}

static void close_choice(choice *c)
{
    for (size_t r = 0; r < 2; r++)
        bc_stack_clear(&c->rung[r].stack);
    bc_stack_clear(&c->candidate[0].stack);
    workshop_close(&c->q.w);
}

static double yield_of(const choice *c, const bc_stack *stack, size_t runs)
{
    const bc_yield_options options = {.runs = runs, .seed = 5, .threads = 1};
    bc_yield_result result;
    ck_assert_int_eq(bc_yield(&c->q.w.problem, stack, &c->q.w.process, &options, &result, NULL), BC_OK);
    const double yield = result.yield;
    bc_yield_result_clear(&result);
    return yield;
}

/* The fewest layers with nearly the highest yield: two points off, or as many as are said. All runs are made of what
 * comes within five points of the best, the first thousand of the others. */
START_TEST(the_fewest_layers_that_are_nearly_as_good)
{
    static const struct {
        double one, points;
        size_t chosen, runs_of_one;
    } known[] = {{0.02, 0.0, 0, RUNS},
                 {0.032, 0.0, 1, RUNS},
                 {0.032, 0.04, 0, RUNS},
                 {0.06, 0.0, 1, 1000},
                 {0.06, 0.2, 0, 1000}};
    choice c;
    open_choice(&c, known[_i].one, 0.0);
    c.options.points = known[_i].points;
    bc_robust_result result = choose(&c);
    ck_assert_uint_eq(result.rungs, 2);
    ck_assert_uint_eq(result.designs, 2);
    ck_assert_uint_eq(result.chosen, known[_i].chosen);
    ck_assert_uint_eq(result.stack.layers, known[_i].chosen + 1);
    ck_assert(result.runs == RUNS && !result.interrupted);
    ck_assert_double_eq(result.rung[0].yield, yield_of(&c, &c.rung[0].stack, known[_i].runs_of_one));
    ck_assert_double_eq(result.rung[1].yield, yield_of(&c, &c.rung[1].stack, RUNS));
    ck_assert_double_eq(result.sharpest_yield, yield_of(&c, &c.rung[0].stack, RUNS));
    ck_assert_double_eq(result.sharpest_limit_used, c.rung[0].limit_used);
    ck_assert(result.sharpest_low < result.sharpest_yield && result.sharpest_high > result.sharpest_yield);
    for (size_t r = 0; r < 2; r++) {
        ck_assert_uint_eq(result.rung[r].layers, r + 1);
        ck_assert_double_eq(result.rung[r].total_nm, bc_stack_total_nm(&c.rung[r].stack));
        ck_assert_double_eq_tol(result.rung[r].limit_used, c.rung[r].limit_used, 1e-9);
        ck_assert(result.rung[r].yield_low < result.rung[r].yield && result.rung[r].yield_high >= result.rung[r].yield);
    }
    const bc_yield_rung *rung = &result.rung[result.chosen];
    ck_assert(result.yield == rung->yield && result.yield_low == rung->yield_low);
    ck_assert(result.yield_high == rung->yield_high && result.limit_used == rung->limit_used);
    bc_robust_result_clear(&result);
    close_choice(&c);
}
END_TEST

/* Of as many layers the one with the higher yield, be it only one of the draft's other good designs; one that fails on
 * paper is not chosen, however many layers it saves. */
START_TEST(the_best_of_as_many_layers)
{
    choice c;
    open_choice(&c, 0.06, _i == 0 ? 0.0 : 0.15);
    make(&c, &c.candidate[0], 1, _i == 0 ? 1.0 : 0.92);
    c.draft.candidates = 1;
    bc_robust_result result = choose(&c);
    ck_assert_uint_eq(result.designs, 3);
    ck_assert_uint_eq(result.rungs, _i == 0 ? 2 : 1);
    const bc_rung *better = _i == 0 ? &c.candidate[0] : &c.rung[0];
    ck_assert_double_eq(result.rung[0].total_nm, better->stack.layer[0].thickness_nm);
    ck_assert_uint_eq(result.chosen, 0);
    bc_robust_result_clear(&result);
    close_choice(&c);
}
END_TEST

static bool never(void *context, double fraction, double limit_used)
{
    (void)context;
    (void)fraction;
    (void)limit_used;
    return false;
}

/* Stopped, the draft's choice stands, by 200 runs. */
START_TEST(a_stop_leaves_the_choice_of_the_draft)
{
    choice c;
    open_choice(&c, 0.06, 0.0);
    c.draft.chosen = (size_t)_i;
    c.options.progress = never;
    bc_robust_result result = choose(&c);
    ck_assert(result.interrupted && result.runs == 200);
    ck_assert_uint_eq(result.stack.layers, (size_t)_i + 1);
    ck_assert_double_eq(result.yield, yield_of(&c, &c.rung[_i].stack, 200));
    ck_assert_double_eq(result.sharpest_yield, result.yield);
    bc_robust_result_clear(&result);
    close_choice(&c);
}
END_TEST

static bc_forecast look_at(const choice *c, const bc_stack *stack)
{
    bc_forecast look;
    ck_assert_int_eq(bc_forecast_limit(&c->q.w.problem, stack, &c->q.w.process, 0.9, &look, NULL, NULL), BC_OK);
    return look;
}

/* A layer that is off is brought to where as many runs succeed as anywhere, here by every tenth of a nanometre; what is
 * said of it is a look at it. */
START_TEST(a_yield_is_raised_to_the_highest)
{
    double highest = 0.0;
    bc_stack stack;
    choice c;
    open_choice(&c, _i == 0 ? 0.08 : -0.08, 0.0);
    ck_assert_int_eq(bc_stack_copy(&c.rung[0].stack, &stack, NULL), BC_OK);
    for (double nm = 92.0; nm < 108.0; nm += 0.1) {
        stack.layer[0].thickness_nm = nm;
        highest = fmax(highest, look_at(&c, &stack).yield);
    }
    stack.layer[0] = c.rung[0].stack.layer[0];
    stack.layer[0].fixed = false;
    bc_forecast look = look_at(&c, &stack);
    ck_assert_double_lt(look.yield, highest - 0.1);
    ck_assert_int_eq(bc_raise_yield(&c.q.w.problem, &c.q.w.process, 0.9, 12, &stack, &look, NULL), BC_OK);
    const bc_forecast now = look_at(&c, &stack);
    ck_assert_double_ge(look.yield, highest - 0.004);
    ck_assert(look.yield == now.yield && look.factor == now.factor && look.limit_used == now.limit_used);
    bc_stack_clear(&stack);
    close_choice(&c);
}
END_TEST

/* The yield, and where it is the same the usual factor; much is a fifth of a percent of either, if no yield is lost. */
START_TEST(what_is_raised)
{
    static const struct {
        double yield[2], usual[2];
        bool better, much;
    } known[] = {{{0.9000, 0.8981}, {1.0, 1.0}, true, false},  {{0.9000, 0.8979}, {1.5, 1.0}, true, true},
                 {{0.9, 0.9}, {0.999, 1.0}, true, false},      {{0.9, 0.9}, {1.4969, 1.5}, true, true},
                 {{0.9, 0.9}, {1.0, 1.0}, false, false},       {{0.9, 0.9}, {1.1, 1.0}, false, false},
                 {{0.8981, 0.9000}, {0.5, 1.0}, false, false}, {{0.9001, 0.9000}, {0.5, 1.0}, true, true},
                 {{0.9001, 0.9000}, {0.5, 0.5}, true, false}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        const bc_forecast now = {0.9, known[i].yield[0], 1.2, known[i].usual[0]};
        const bc_forecast before = {0.9, known[i].yield[1], 1.2, known[i].usual[1]};
        ck_assert_msg(bc_raised(&now, &before) == known[i].better, "pair %zu", i);
        ck_assert_msg(bc_raised_much(&now, &before) == known[i].much, "pair %zu", i);
    }
}
END_TEST

/* Whether these are the errors of a run: of layers low-high-low-high, with their materials in this order. */
static bool has_errors(const bc_run_model *model, const double *draw, const double *error, const double *dn)
{
    bool same = true;
    for (size_t j = 0; j < model->layers; j++)
        same = same && fabs(error[j] - 0.007 * draw[BC_DRAW_OF_BIAS] -
                            (j % 2 == 0 ? 0.03 : 0.02) * draw[bc_draw_of_layer(model, j)]) < 1e-12;
    for (size_t m = 0; m < 2; m++)
        same = same && fabs(dn[m] - (m == 0 ? 0.006 : 0.009) * draw[bc_draw_of_material(model->material[m])]) < 1e-12;
    return same;
}

/* Runs are given up from the worst on, and of the next the 12 worst, and 2 more for each layer, are taken, in order, as
 * every run simulated says. What is predicted of them may take them to another place, by few. */
START_TEST(the_runs_that_decide)
{
    static const double given_up[] = {0.0, 0.1, 0.25, 0.985, 1.0};
    enum { FEW = 12, ALL = BC_PREDICTED_RUNS };
    const bc_yield_options options = {.runs = ALL, .seed = BC_LOOK_STREAM, .threads = 1, .quick = true};
    static double used[ALL];
    const size_t first = (size_t)(given_up[_i] * ALL), expected = ALL - first < 20 ? ALL - first : 20;
    bc_failing_runs failing;
    bc_runs *runs;
    inquiry q;
    open_inquiry(&q, "1.38,2.1,1.38,2.1", 4);
    q.w.stack.layer[2].material = q.w.stack.layer[0].material;
    q.w.stack.layer[3].material = q.w.stack.layer[1].material;
    q.w.problem.materials = 2;
    workshop_ask(&q.w, 0.02, 550.0, 550.0, 0.0);
    workshop_errors(&q.w, "1.38", 0.03, 0.007, 0.006);
    workshop_errors(&q.w, "2.1", 0.02, 0.007, 0.009);
    ck_assert_int_eq(bc_failing_runs_find(&q.w.problem, &q.w.stack, &q.w.process, given_up[_i], &failing, NULL), BC_OK);
    ck_assert_uint_eq(failing.scenarios.count, expected);
    ck_assert_uint_eq(failing.scenarios.materials, 2);
    ck_assert_int_eq(bc_runs_alloc(&q.w.problem, &q.w.stack, &q.w.process, &options, &runs, NULL), BC_OK);
    bc_run_worker *worker = &runs->worker[0];
    for (size_t run = 0; run < ALL; run++) {
        bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
        used[run] = bc_run_judge(worker, worker->draw, 1.0);
    }
    for (size_t k = 0; k < failing.scenarios.count; k++) {
        size_t run = 0, worse = 0;
        for (; run < ALL; run++) {
            bc_run_draw(worker, BC_FOR_YIELD, run, worker->draw);
            if (has_errors(&runs->model, worker->draw, failing.scenarios.error + 4 * k, failing.scenarios.dn + 2 * k))
                break;
        }
        ck_assert_uint_lt(run, ALL);
        for (size_t other = 0; other < ALL; other++)
            worse += used[other] > used[run];
        ck_assert_double_eq_tol((double)worse, (double)(first + k), FEW);
    }
    bc_failing_runs_clear(&failing);
    bc_runs_free(runs);
    workshop_close(&q.w);
}
END_TEST

/* No rounds, or no run that fails: nothing is done. */
START_TEST(nothing_to_raise)
{
    bc_forecast look = {0.9, _i == 0 ? 0.5 : 1.0, 1.1, 1.2};
    choice c;
    open_choice(&c, 0.08, 0.0);
    bc_layer *layer = &c.rung[0].stack.layer[0];
    layer->fixed = false;
    ck_assert_int_eq(
        bc_raise_yield(&c.q.w.problem, &c.q.w.process, 0.9, _i == 0 ? 0 : 5, &c.rung[0].stack, &look, NULL), BC_OK);
    ck_assert_double_eq_tol(layer->thickness_nm, 1.08 * QUARTER, 0.0006);
    ck_assert(look.limit_used == 0.9 && look.factor == 1.1 && look.usual_factor == 1.2);
    close_choice(&c);
}
END_TEST

TCase *choice_case(void)
{
    TCase *tests = tcase_create("choice");
    tcase_add_loop_test(tests, the_fewest_layers_that_are_nearly_as_good, 0, 5);
    tcase_add_loop_test(tests, the_best_of_as_many_layers, 0, 2);
    tcase_add_loop_test(tests, a_stop_leaves_the_choice_of_the_draft, 0, 2);
    tcase_add_loop_test(tests, a_yield_is_raised_to_the_highest, 0, 2);
    tcase_add_test(tests, what_is_raised);
    tcase_add_loop_test(tests, the_runs_that_decide, 0, 5);
    tcase_add_loop_test(tests, nothing_to_raise, 0, 2);
    return tests;
}
