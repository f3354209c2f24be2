/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The bounds that a proof is made of: of a box of stacks, against verdicts of stacks in it, and of planes over a cube.
 */
#include "problem.h"
#include "proof_game.h"
#include "proof_search.h"
#include <math.h>
#include <stdlib.h>

#define DEGREES (acos(-1.0) / 180.0)

/* Numbers between two bounds, the same in every run: a linear congruential generator (Knuth, The Art of Computer
 * Programming, vol. 2, 3.3.4, from memory). */
static double between(unsigned long *state, double low, double high)
{
    *state = (6364136223846793005UL * *state + 1442695040888963407UL) & 0xffffffffffffffffUL;
    return low + (high - low) * (double)(*state >> 11) / 9007199254740992.0;
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
            used = problem_used(&b->p, layers, material, nm);
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

Suite *proof_bounds_suite(void)
{
    Suite *suite = suite_create("proof, bounds");
    TCase *box = tcase_create("box"), *game = tcase_create("planes");
    tcase_set_timeout(box, 120.0);
    tcase_add_loop_test(box, a_bound_holds_at_one_wavelength, 0, 6);
    tcase_add_test(box, a_bound_holds_for_reflectors);
    tcase_add_test(box, a_bound_holds_for_transmittance_on_an_absorbing_substrate);
    tcase_add_test(box, a_bound_holds_for_a_part);
    tcase_add_loop_test(box, a_bound_holds_for_many_rows, 0, 2);
    tcase_add_test(box, a_bound_on_an_average_is_attained);
    tcase_add_loop_test(box, a_bound_allows_for_absorption, 0, 4);
    suite_add_tcase(suite, box);
    tcase_add_test(game, planes_together_are_higher_than_each);
    tcase_add_test(game, planes_are_bounded_from_below);
    suite_add_tcase(suite, game);
    return suite;
}
