/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The proof of a lower bound: against exhaustive grids, closed forms and drafts.
 */
#include "problem.h"
#include <bloomcoat/proof.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static bc_proof proved(const problem *p, const bc_proof_options *options)
{
    bc_proof proof;
    bc_error error;
    ck_assert_msg(bc_prove(&p->design, options, &proof, &error) == BC_OK, "%s", error.message);
    return proof;
}

/* Quarter wave: R = ((n0 ns - n1^2) / (n0 ns + n1^2))^2. Born and Wolf, Principles of Optics, ch. 1.6.4. */
START_TEST(one_layer_is_a_quarter_wave)
{
    const bc_proof_options options = {.layers = 1, .most_work = INFINITY, .threads = 1};
    const double ns = 1.75, n1 = 1.38, root = (ns - n1 * n1) / (ns + n1 * n1), R = root * root;
    problem p;
    bc_proof proof;
    problem_open(&p, "1.75", "1.38,1.9");
    problem_add(&p, 0.0005, 550.0, 550.0, 0.0);
    proof = proved(&p, &options);
    ck_assert_uint_eq(proof.steps, 2);
    ck_assert(proof.step[1].within && !proof.stopped && proof.reason[0] == '\0');
    ck_assert_double_eq_tol(proof.step[1].best.limit_used, R / 0.0005, 1e-4 * R / 0.0005);
    ck_assert_double_le(proof.step[1].limit_used_at_least, R / 0.0005);
    ck_assert_double_ge(proof.step[1].limit_used_at_least, 0.98999 * R / 0.0005);
    ck_assert_double_eq_tol(fmod(proof.step[1].best.stack.layer[0].thickness_nm * 4.0 * n1 / 550.0, 2.0), 1.0, 0.01);
    bc_proof_clear(&proof);
    problem_close(&p);
}
END_TEST

/* Two layers, n1 outside, reach zero at one wavelength where both squared tangents of their phases are positive:
 *     tan^2 d1 = n1^2 (ns - n0)(n2^2 - n0 ns) / ((n1^2 ns - n0 n2^2)(n0 ns - n1^2))
 *     tan^2 d2 = n2^2 (ns - n0)(n0 ns - n1^2) / ((n1^2 ns - n0 n2^2)(n2^2 - n0 ns))
 * (the V-coat: Macleod, Thin-Film Optical Filters, ch. on antireflection coatings, from memory). */
static bool has_v_coat(double n1, double n2, double ns)
{
    return (n2 * n2 - ns) * (n1 * n1 * ns - n2 * n2) * (ns - n1 * n1) > 0.0;
}

START_TEST(two_layers_are_a_v_coat_or_none)
{
    static const double n1[] = {1.38, 1.38, 1.38, 1.45, 1.7}, n2[] = {1.62, 1.9, 2.1, 1.5, 2.1};
    const bc_proof_options options = {.layers = 2, .most_work = INFINITY, .threads = 1};
    char names[64];
    problem p;
    bc_proof proof;
    bool possible = has_v_coat(n1[_i], n2[_i], 1.52) || has_v_coat(n2[_i], n1[_i], 1.52);
    snprintf(names, sizeof names, "%g,%g", n1[_i], n2[_i]);
    problem_open(&p, "1.52", names);
    problem_add(&p, 0.002, 550.0, 550.0, 0.0);
    proof = proved(&p, &options);
    ck_assert_int_eq(possible, _i == 1 || _i == 2 || _i == 4);
    if (possible)
        ck_assert_double_lt(proof.step[2].best.limit_used, 1e-3);
    else
        ck_assert_double_gt(proof.step[2].limit_used_at_least, 0.05);
    ck_assert_double_le(proof.step[2].limit_used_at_least, proof.step[2].best.limit_used);
    bc_proof_clear(&proof);
    problem_close(&p);
}
END_TEST

/* Every stack on a grid of 4 nm, both orders of materials. */
START_TEST(no_stack_on_a_grid_is_better)
{
    const bc_proof_options options = {.layers = 2, .total_nm = 240.0, .most_work = INFINITY, .threads = 1};
    problem p;
    bc_proof proof;
    double best = INFINITY;
    problem_open(&p, "517642", "MgF2,HfO2");
    problem_add(&p, 0.006, 440.0, 660.0, 0.0);
    if (_i == 1)
        problem_add(&p, 0.002, 440.0, 660.0, 0.0)->statistic = BC_AVERAGE;
    p.design.minimum_nm = 8.0;
    proof = proved(&p, &options);
    for (unsigned outer = 0; outer < 2; outer++)
        for (double a = 8.0; a <= 232.0; a += 4.0)
            for (double c = 8.0; a + c <= 240.0; c += 4.0) {
                const unsigned material[2] = {1 - outer, outer};
                const double nm[2] = {a, c};
                best = fmin(best, problem_used(&p, 2, material, nm));
            }
    ck_assert(proof.step[2].within);
    ck_assert_double_ge(best, proof.step[2].limit_used_at_least);
    ck_assert_double_ge(best, proof.step[2].best.limit_used);
    ck_assert_double_lt(best, 1.15 * proof.step[2].limit_used_at_least);
    for (size_t j = 0; j < 2; j++)
        ck_assert_double_ge(proof.step[2].best.stack.layer[j].thickness_nm, 8.0);
    ck_assert_double_le(proof.step[2].best.total_nm, 240.0);
    bc_proof_clear(&proof);
    problem_close(&p);
}
END_TEST

/* No search, whatever it finds, is below; and what it finds makes the proof no different, only quicker. */
START_TEST(a_draft_is_never_better)
{
    const bc_draft_options searching = {.aim = BC_AIM_BEST, .seed = 3, .effort = 0.1, .threads = 1};
    bc_proof_options options = {.layers = 3, .most_work = INFINITY, .threads = 1};
    problem p;
    bc_draft_result draft;
    bc_proof alone, helped;
    problem_open(&p, "517642", "MgF2,HfO2,Al2O3");
    problem_add(&p, 0.005, 450.0, 650.0, 0.0);
    p.design.max_layers = 3;
    p.design.minimum_nm = 8.0;
    ck_assert_int_eq(bc_draft(&p.design, &searching, &draft, NULL), BC_OK);
    alone = proved(&p, &options);
    options.known = draft.rungs;
    options.rung = draft.rung;
    helped = proved(&p, &options);
    ck_assert(alone.step[3].within && helped.step[3].within);
    for (size_t r = 0; r < draft.rungs; r++)
        ck_assert_double_ge(draft.rung[r].limit_used, alone.step[draft.rung[r].stack.layers].limit_used_at_least);
    ck_assert_double_eq_tol(helped.step[3].limit_used_at_least, alone.step[3].limit_used_at_least,
                            0.01 * alone.step[3].limit_used_at_least);
    ck_assert_double_lt(helped.step[3].boxes, alone.step[3].boxes);
    bc_proof_clear(&alone);
    bc_proof_clear(&helped);
    bc_draft_result_clear(&draft);
    problem_close(&p);
}
END_TEST

START_TEST(threads_do_not_show)
{
    bc_proof_options options = {.layers = 3, .most_work = 3e6, .threads = 1};
    problem p;
    bc_proof one, three;
    problem_open(&p, "1.52", "1.38,1.62,2.1");
    problem_add(&p, 0.005, 450.0, 650.0, 10.0);
    one = proved(&p, &options);
    options.threads = 3;
    three = proved(&p, &options);
    ck_assert_uint_eq(one.steps, three.steps);
    for (size_t s = 0; s < one.steps; s++) {
        ck_assert(one.step[s].limit_used_at_least == three.step[s].limit_used_at_least);
        ck_assert(one.step[s].boxes == three.step[s].boxes);
        ck_assert(one.step[s].best.limit_used == three.step[s].best.limit_used);
        for (size_t j = 0; j < one.step[s].best.stack.layers; j++)
            ck_assert(one.step[s].best.stack.layer[j].thickness_nm == three.step[s].best.stack.layer[j].thickness_nm);
    }
    bc_proof_clear(&one);
    bc_proof_clear(&three);
    problem_close(&p);
}
END_TEST

static bool stop_soon(void *context, double fraction, double limit_used)
{
    unsigned *calls = context;
    ck_assert(fraction >= 0.0 && fraction <= 1.0 + 1e-9 && limit_used > 0.0);
    return ++*calls < 40;
}

START_TEST(an_end_before_the_end_keeps_what_is_proved)
{
    unsigned calls = 0;
    bc_proof_options options = {.layers = 5, .most_work = 2e7, .threads = 2};
    problem p;
    bc_proof proof;
    problem_open(&p, "1.52", "1.38,1.62,2.1");
    problem_add(&p, 0.005, 420.0, 680.0, 0.0);
    proof = proved(&p, &options);
    ck_assert(proof.stopped && strstr(proof.reason, "boxes") != NULL);
    ck_assert_uint_ge(proof.steps, 4);
    for (size_t s = 0; s < proof.steps; s++)
        ck_assert_double_le(proof.step[s].limit_used_at_least, proof.step[s].best.limit_used);
    ck_assert(proof.step[2].within && !proof.step[proof.steps - 1].within);
    bc_proof_clear(&proof);
    options.progress = stop_soon;
    options.progress_context = &calls;
    proof = proved(&p, &options);
    ck_assert(proof.stopped);
    ck_assert_uint_eq(calls, 40);
    bc_proof_clear(&proof);
    problem_close(&p);
}
END_TEST

/* Rows that nothing is known of are left out, and it says so. */
START_TEST(what_cannot_be_proved_is_named)
{
    const bc_proof_options options = {.layers = 1, .most_work = INFINITY, .threads = 1};
    problem p;
    bc_proof proof;
    problem_open(&p, "1.52", "1.38,2.1-0.02i");
    problem_add(&p, 0.005, 500.0, 600.0, 0.0);
    proof = proved(&p, &options);
    ck_assert(strstr(proof.reason, "2.1-0.02i: it absorbs") != NULL || proof.step[1].within);
    bc_proof_clear(&proof);
    p.callouts.count = 0;
    problem_add(&p, 0.99, 500.0, 600.0, 0.0)->sense = BC_AT_LEAST;
    p.callout[0].quantity = BC_A;
    proof = proved(&p, &options);
    ck_assert_double_eq(proof.step[1].limit_used_at_least, 0.0);
    ck_assert(strstr(proof.reason, "a bound on A is not known") != NULL);
    bc_proof_clear(&proof);
    problem_close(&p);
    problem_open(&p, "1.52", "1.38");
    ck_assert_int_eq(bc_medium_find(p.materials, "1.6", NULL, &p.design.incident, NULL), BC_OK);
    problem_add(&p, 0.05, 500.0, 600.0, 70.0); /* beyond 59.6 degrees */
    proof = proved(&p, &options);
    ck_assert(strstr(proof.reason, "critical angle") != NULL);
    bc_proof_clear(&proof);
    problem_close(&p);
}
END_TEST

START_TEST(wrong_questions_are_refused)
{
    bc_proof_options options = {.layers = BC_PROOF_MOST_LAYERS + 1, .most_work = INFINITY};
    problem p;
    bc_proof proof;
    bc_error error;
    problem_open(&p, "1.52", "1.38");
    ck_assert_int_eq(bc_prove(&p.design, &options, &proof, &error), BC_ERROR_INPUT);
    problem_add(&p, 0.05, 500.0, 600.0, 0.0);
    ck_assert_int_eq(bc_prove(&p.design, &options, &proof, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, "9 layers") != NULL, "%s", error.message);
    problem_close(&p);
}
END_TEST

Suite *proof_suite(void)
{
    Suite *suite = suite_create("proof");
    TCase *whole = tcase_create("proof");
    tcase_set_timeout(whole, 240.0);
    tcase_add_test(whole, one_layer_is_a_quarter_wave);
    tcase_add_loop_test(whole, two_layers_are_a_v_coat_or_none, 0, 5);
    tcase_add_loop_test(whole, no_stack_on_a_grid_is_better, 0, 2);
    tcase_add_test(whole, a_draft_is_never_better);
    tcase_add_test(whole, threads_do_not_show);
    tcase_add_test(whole, an_end_before_the_end_keeps_what_is_proved);
    tcase_add_test(whole, what_cannot_be_proved_is_named);
    tcase_add_test(whole, wrong_questions_are_refused);
    suite_add_tcase(suite, whole);
    return suite;
}
