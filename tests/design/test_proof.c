/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The proof of a lower bound: against verdicts of stacks in random boxes, exhaustive grids and closed forms.
 */
#include "problem.h"
#include "proof_game.h"
#include "proof_search.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DEGREES (acos(-1.0) / 180.0)

/* Numbers between two bounds, the same in every run: a linear congruential generator (Knuth, The Art of Computer
 * Programming, vol. 2, 3.3.4, from memory). */
static double between(unsigned long *state, double low, double high)
{
    *state = (6364136223846793005UL * *state + 1442695040888963407UL) & 0xffffffffffffffffUL;
    return low + (high - low) * (double)(*state >> 11) / 9007199254740992.0;
}

static bc_proof proved(const problem *p, const bc_proof_options *options)
{
    bc_proof proof;
    bc_error error;
    ck_assert_msg(bc_prove(&p->design, options, &proof, &error) == BC_OK, "%s", error.message);
    return proof;
}

/* The verdict on a stack, layer 0 on the substrate. */
static double verdict(const problem *p, size_t layers, const unsigned *material, const double *nm)
{
    bc_stack stack;
    bc_check_result check;
    bc_error error;
    double used;
    ck_assert_int_eq(bc_stack_alloc(layers, &stack, NULL), BC_OK);
    stack.incident = p->design.incident;
    stack.substrate = p->substrate[0];
    for (size_t j = 0; j < layers; j++)
        stack.layer[layers - 1 - j] = (bc_layer){.material = p->material[material[j]], .thickness_nm = nm[j]};
    ck_assert_msg(bc_problem_check(&p->design, &stack, &check, &error) == BC_OK, "%s", error.message);
    used = check.limit_used;
    bc_check_result_clear(&check);
    bc_stack_clear(&stack);
    return used;
}

/* ---- Boxes ---- */

typedef struct boxes {
    problem p;
    bc_light light;
    bc_sequences sequences;
    bc_excluder excluder;
} boxes;

static void open_boxes(boxes *b, size_t layers)
{
    bc_error error;
    ck_assert_msg(bc_light_open(&b->p.design, layers, 3000.0, 0, NULL, &b->light, &error) == BC_OK, "%s",
                  error.message);
    ck_assert_int_eq(bc_sequences_list(&b->p.design, layers, &b->sequences, NULL), BC_OK);
    ck_assert_int_eq(bc_excluder_open(&b->light, layers, &b->excluder, NULL), BC_OK);
}

static void close_boxes(boxes *b)
{
    bc_excluder_close(&b->excluder);
    bc_light_close(&b->light);
    free(b->sequences.material);
    problem_close(&b->p);
}

static bc_open_box random_box(const boxes *b, unsigned long *state)
{
    const double size = pow(10.0, between(state, -2.5, 1.7));
    bc_open_box box = {.sequence = (size_t)between(state, 0.0, (double)b->sequences.count - 1e-9), .group = 99999};
    for (size_t j = 0; j < b->sequences.layers; j++) {
        const double half = size * between(state, 0.2, 1.0), centre = between(state, half, half + 200.0);
        box.low_nm[j] = centre - half;
        box.high_nm[j] = centre + half;
    }
    return box;
}

/* No stack in a box is better than its bound, corners among them; returns the nearest that one came to it. */
static double hold(boxes *b, size_t layers, size_t count, unsigned long seed)
{
    unsigned long state = seed;
    double nearest = INFINITY;
    open_boxes(b, layers);
    for (size_t i = 0; i < count; i++) {
        const bc_exclusion asked = {&b->light, &b->sequences, 0.0, 3000.0, INFINITY};
        bc_open_box box = random_box(b, &state);
        const unsigned *material = b->sequences.material + box.sequence * layers;
        double centre, bound = bc_box_bound(&asked, &b->excluder, &box, &box.group, &centre);
        for (int stack = 0; stack < 6; stack++) {
            double nm[BC_PROOF_MOST_LAYERS], used;
            for (size_t j = 0; j < layers; j++) {
                nm[j] = between(&state, box.low_nm[j], box.high_nm[j]);
                if (stack < 3)
                    nm[j] = between(&state, 0.0, 1.0) < 0.5 ? box.low_nm[j] : box.high_nm[j];
            }
            used = verdict(&b->p, layers, material, nm);
            ck_assert_msg(used >= bound - 1e-9 * fabs(bound) - 1e-12, "box %zu: %.15g below its bound %.15g", i, used,
                          bound);
            if (bound > 0.0)
                nearest = fmin(nearest, used / bound);
        }
    }
    close_boxes(b);
    return nearest;
}

/* One wavelength, so that a verdict is nothing but that sample. Corners of small boxes come near: the bound is no worse
 * than it need be. */
START_TEST(a_bound_holds_at_one_wavelength)
{
    static const bc_polarization planes[] = {BC_POL_UNPOLARIZED, BC_POL_S, BC_POL_P, BC_POL_EACH};
    boxes b;
    problem_open(&b.p, "1.52", "1.38,1.62,2.35");
    problem_add(&b.p, 0.005, 550.0, 550.0, 15.0 * (double)_i)->polarization = planes[_i % 4];
    ck_assert_double_lt(hold(&b, 1 + (size_t)_i % 4, 500, 7 + (unsigned long)_i), 1.0001);
}
END_TEST

START_TEST(a_bound_holds_for_reflectors)
{
    boxes b;
    bc_callout *row;
    problem_open(&b.p, "1.52", "1.45,2.35");
    row = problem_add(&b.p, 0.5, 550.0, 550.0, 25.0);
    row->sense = BC_AT_LEAST;
    ck_assert_double_lt(hold(&b, 3, 500, 11), 1.0001);
    problem_open(&b.p, "1.52", "1.45,2.35");
    row = problem_add(&b.p, 0.6, 550.0, 550.0, 25.0);
    row->quantity = BC_T;
    ck_assert_double_lt(hold(&b, 4, 500, 12), 1.0001);
}
END_TEST

START_TEST(a_bound_holds_for_transmittance_on_an_absorbing_substrate)
{
    boxes b;
    bc_callout *row;
    problem_open(&b.p, "3.4-0.6i", "1.45,2.35");
    row = problem_add(&b.p, 0.9, 550.0, 550.0, 40.0);
    row->quantity = BC_T;
    row->sense = BC_AT_LEAST;
    ck_assert_double_lt(hold(&b, 2, 500, 13), 1.0001);
}
END_TEST

static void part(problem *p, bc_back_kind kind, const bc_stack *stack)
{
    p->design.back = (bc_back){.kind = kind, .stack = stack, .substrate_mm = 2.0};
}

START_TEST(a_bound_holds_for_a_part)
{
    boxes b;
    bc_callout *row;
    bc_stack back;
    for (int kind = BC_BACK_UNCOATED; kind <= BC_BACK_OWN; kind++) {
        problem_open(&b.p, "1.6", "1.38,2.1");
        row = problem_add(&b.p, 0.95, 550.0, 550.0, 30.0);
        row->quantity = BC_T;
        row->sense = BC_AT_LEAST;
        row->scope = BC_SCOPE_PART;
        ck_assert_int_eq(bc_stack_alloc(1, &back, NULL), BC_OK);
        back.incident = b.p.design.incident;
        back.substrate = b.p.substrate[0];
        back.layer[0] = (bc_layer){.material = b.p.material[0], .thickness_nm = 95.0};
        part(&b.p, (bc_back_kind)kind, kind == BC_BACK_OWN ? &back : NULL);
        ck_assert_double_lt(hold(&b, 2, 300, 17), 1.0001);
        bc_stack_clear(&back);
    }
}
END_TEST

/* Bands, averages, angles, two glasses, zones: the samples are fewer than a verdict's, so the bound is lower, never
 * higher. */
START_TEST(a_bound_holds_for_many_rows)
{
    static const bc_zone zones[] = {{0.0, 0.0, 1.0, true}, {5.0, 0.3, 0.95, true}, {9.0, 0.6, 0.85, true}};
    boxes b;
    bc_callout *row;
    problem_open(&b.p, "1.52,517642", "MgF2,Al2O3,HfO2");
    problem_add(&b.p, 0.008, 425.0, 675.0, 0.0);
    row = problem_add(&b.p, 0.004, 425.0, 675.0, 0.0);
    row->statistic = BC_AVERAGE;
    row->aoi_to_rad = 30.0 * DEGREES;
    if (_i == 1) {
        b.p.design.zones = 3;
        b.p.design.zone = zones;
    }
    hold(&b, 3, 25, 19);
}
END_TEST

/* An average alone is bounded by its own samples. */
START_TEST(a_bound_on_an_average_is_attained)
{
    boxes b;
    problem_open(&b.p, "1.52", "1.38,2.1");
    problem_add(&b.p, 0.004, 500.0, 600.0, 30.0)->statistic = BC_AVERAGE;
    ck_assert_double_lt(hold(&b, 2, 200, 23), 1.0001);
}
END_TEST

START_TEST(a_bound_allows_for_absorption)
{
    static const size_t layers[] = {3, 3, 1, 1};
    boxes b;
    double nearest;
    problem_open(&b.p, "1.52", "1.38-0.001i,2.3-0.004i");
    problem_add(&b.p, 0.005, 550.0, 550.0, 50.0)->polarization = _i % 2 == 0 ? BC_POL_S : BC_POL_P;
    nearest = hold(&b, layers[_i], 500, 29 + (unsigned long)_i);
    ck_assert_double_lt(nearest, 1.05);
    ck_assert_double_gt(nearest, 1.0);
}
END_TEST

/* ---- Whole proofs ---- */

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
                best = fmin(best, verdict(&p, 2, material, nm));
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

/* ---- Planes ---- */

/* Two planes that cross at level 1 over the middle; each alone falls to 0 at an end. */
START_TEST(planes_together_are_higher_than_each)
{
    double level[] = {1.0, 1.0}, slope[] = {1.0, -1.0}, *slopes[] = {slope};
    const double scale[] = {1.0};
    const bc_planes planes = {2, 1, level, slopes, scale}, alone = {1, 1, level, slopes, scale};
    ck_assert_double_eq_tol(bc_planes_least(&alone, INFINITY), 0.0, 1e-12);
    ck_assert_double_eq_tol(bc_planes_least(&planes, INFINITY), 1.0, 1e-12);
}
END_TEST

/* Never above the true least of the largest, which points all over the cube bound from above; and near it. */
START_TEST(planes_are_bounded_from_below)
{
    unsigned long state = 5;
    for (int trial = 0; trial < 200; trial++) {
        double level[30], slope[3][30], *slopes[3] = {slope[0], slope[1], slope[2]}, scale[3], least = INFINITY;
        bc_planes planes = {30, 3, level, slopes, scale};
        double bound;
        for (size_t i = 0; i < 30; i++) {
            level[i] = between(&state, 0.0, 1.0);
            for (size_t j = 0; j < 3; j++)
                slope[j][i] = between(&state, -1.0, 1.0);
        }
        for (size_t j = 0; j < 3; j++)
            scale[j] = between(&state, 0.1, 3.0);
        bound = bc_planes_least(&planes, INFINITY);
        for (int at = 0; at < 21 * 21 * 21; at++) {
            const double y[] = {(double)(at % 21) / 10.0 - 1.0, (double)(at / 21 % 21) / 10.0 - 1.0,
                                (double)(at / 441) / 10.0 - 1.0};
            double top = -INFINITY;
            for (size_t i = 0; i < 30; i++)
                top = fmax(top, level[i] + slope[0][i] * scale[0] * y[0] + slope[1][i] * scale[1] * y[1] +
                                    slope[2][i] * scale[2] * y[2]);
            least = fmin(least, top);
        }
        ck_assert_double_le(bound, least + 1e-12);
        ck_assert_double_ge(bound, least - 0.45); /* the grid's step times the slopes */
        if (bound > 0.0)
            ck_assert_double_ge(bc_planes_least(&planes, 0.5 * bound), 0.5 * bound);
    }
}
END_TEST

Suite *proof_suite(void)
{
    Suite *suite = suite_create("proof");
    TCase *box = tcase_create("box"), *whole = tcase_create("proof"), *game = tcase_create("planes");
    tcase_set_timeout(box, 120.0);
    tcase_set_timeout(whole, 240.0);
    tcase_add_loop_test(box, a_bound_holds_at_one_wavelength, 0, 6);
    tcase_add_test(box, a_bound_holds_for_reflectors);
    tcase_add_test(box, a_bound_holds_for_transmittance_on_an_absorbing_substrate);
    tcase_add_test(box, a_bound_holds_for_a_part);
    tcase_add_loop_test(box, a_bound_holds_for_many_rows, 0, 2);
    tcase_add_test(box, a_bound_on_an_average_is_attained);
    tcase_add_loop_test(box, a_bound_allows_for_absorption, 0, 4);
    suite_add_tcase(suite, box);
    tcase_add_test(whole, one_layer_is_a_quarter_wave);
    tcase_add_loop_test(whole, two_layers_are_a_v_coat_or_none, 0, 5);
    tcase_add_loop_test(whole, no_stack_on_a_grid_is_better, 0, 2);
    tcase_add_test(whole, a_draft_is_never_better);
    tcase_add_test(whole, threads_do_not_show);
    tcase_add_test(whole, an_end_before_the_end_keeps_what_is_proved);
    tcase_add_test(whole, what_cannot_be_proved_is_named);
    tcase_add_test(whole, wrong_questions_are_refused);
    suite_add_tcase(suite, whole);
    tcase_add_test(game, planes_together_are_higher_than_each);
    tcase_add_test(game, planes_are_bounded_from_below);
    suite_add_tcase(suite, game);
    return suite;
}
