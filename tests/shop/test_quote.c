/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inquiry.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A quarter wave of 1.38 on 1.52 leaves 1.26007902146 % (Born and Wolf, ch. 1.6.4), and no layer of it leaves less. */
#define QUARTER_WAVE 0.0126007902146

START_TEST(on_paper_the_limit_decides)
{
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 1.0001 * QUARTER_WAVE, 550.0, 550.0, 0.0);
    ck_assert_int_eq(verdict_of(&q), BC_FEASIBLE);
    q.w.callout[0].limit = 0.9999 * QUARTER_WAVE;
    ck_assert_int_eq(verdict_of(&q), BC_NOT_FEASIBLE);
    workshop_close(&q.w);
}
END_TEST

/* The lowest limit that a quarter wave can keep is its own residue: the offer lies above it by less than 1 %. */
START_TEST(the_lowest_limit_is_the_residue)
{
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.01, 550.0, 550.0, 0.0);
    result = ask(&q);
    ck_assert_uint_eq(result.exceptions, 1); /* neither a band nor an angle to change */
    ck_assert_int_eq(result.exception[0].kind, BC_EXCEPT_LIMIT);
    ck_assert(result.exception[0].found);
    ck_assert_double_ge(result.exception[0].offered.limit, QUARTER_WAVE);
    ck_assert_double_le(result.exception[0].offered.limit, QUARTER_WAVE * 1.01);
    ck_assert_double_eq_tol(result.exception[0].limit_used, QUARTER_WAVE / result.exception[0].offered.limit, 1e-5);
    ck_assert(isnan(result.exception[0].yield));
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

START_TEST(in_runs_the_share_decides)
{
    bc_quote_result result;
    inquiry q;
    double most = 0.0;
    open_runs(&q, 0.009);
    q.request.yield = 0.01;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_FEASIBLE);
    ck_assert_uint_eq(result.exceptions, 0);
    for (size_t o = 0; o < result.options; o++)
        most = fmax(most, result.option[o].yield);
    ck_assert_double_gt(most, 0.05);
    q.request.yield = result.option[result.recommended].yield_low; /* asked for what it has at least */
    bc_quote_result_clear(&result);
    ck_assert_int_eq(verdict_of(&q), BC_FEASIBLE);
    q.request.yield = 1.0;
    ck_assert_int_eq(verdict_of(&q), BC_MARGINAL);
    workshop_close(&q.w);
}
END_TEST

static void expect_same_stack(const bc_stack *a, const bc_stack *b)
{
    ck_assert_uint_eq(a->layers, b->layers);
    for (size_t j = 0; j < a->layers; j++) {
        ck_assert_str_eq(a->layer[j].material.name, b->layer[j].material.name);
        ck_assert_double_eq(a->layer[j].thickness_nm, b->layer[j].thickness_nm);
    }
}

START_TEST(threads_change_nothing)
{
    bc_quote_result one, three;
    inquiry q;
    open_runs(&q, 0.004);
    q.request.threads = 1;
    one = ask(&q);
    q.request.threads = 3;
    three = ask(&q);
    ck_assert_uint_eq(one.options, three.options);
    ck_assert_uint_eq(one.recommended, three.recommended);
    ck_assert_uint_eq(one.exceptions, three.exceptions);
    ck_assert_uint_gt(one.exceptions, 0);
    for (size_t o = 0; o < one.options; o++) {
        expect_same_stack(&one.option[o].stack, &three.option[o].stack);
        ck_assert_double_eq(one.option[o].yield, three.option[o].yield);
    }
    for (size_t e = 0; e < one.exceptions; e++) {
        expect_same_stack(&one.exception[e].stack, &three.exception[e].stack);
        ck_assert_double_eq(one.exception[e].offered.limit, three.exception[e].offered.limit);
        ck_assert_double_eq(one.exception[e].offered.from_nm, three.exception[e].offered.from_nm);
        ck_assert_int_eq(one.exception[e].found, three.exception[e].found);
    }
    bc_quote_result_clear(&one);
    bc_quote_result_clear(&three);
    workshop_close(&q.w);
}
END_TEST

static const bc_remark *remark_of(const bc_quote_result *result, bc_remark_kind kind, const char *material)
{
    for (size_t i = 0; i < result->remarks; i++)
        if (result->remark[i].kind == kind && strcmp(result->remark[i].material->name, material) == 0)
            return &result->remark[i];
    return NULL;
}

START_TEST(materials_that_do_not_fit_are_told)
{
    bc_quote_result result;
    const bc_remark *remark;
    double n, k;
    const double at_nm = 450.0;
    inquiry q;
    open_inquiry(&q, "MgF2,TiO2,ZnS,1.7", 2);
    workshop_ask(&q.w, 0.1, 450.0, 600.0, 0.0);
    workshop_ask(&q.w, 0.1, 450.0, 600.0, 0.0);
    q.request.max_process_c = 200.0;
    result = ask(&q);
    ck_assert_ptr_nonnull(remark = remark_of(&result, BC_REMARK_HEAT, "MgF2"));
    ck_assert(remark->refused && remark->process_c > 200.0);
    ck_assert_ptr_nonnull(remark_of(&result, BC_REMARK_HEAT, "TiO2"));
    ck_assert_ptr_nonnull(remark = remark_of(&result, BC_REMARK_ABSORBS, "ZnS"));
    ck_assert_int_eq(bc_dispersion_index(q.layer[2].dispersion, 1, &at_nm, &n, &k, NULL), BC_OK);
    ck_assert_double_eq(remark->k, k); /* k falls with wavelength: the short end is the worst */
    ck_assert_ptr_nonnull(remark_of(&result, BC_REMARK_CAUTION, "ZnS"));
    ck_assert_ptr_nonnull(remark_of(&result, BC_REMARK_NO_HEAT, "1.7"));
    ck_assert_uint_eq(result.layers, 2);
    bc_quote_result_clear(&result);
    q.w.callout[1].from_nm = 390.0; /* TiO2 and ZnS begin at 400 */
    q.request.max_process_c = INFINITY;
    result = ask(&q);
    ck_assert(remark_of(&result, BC_REMARK_RANGE, "TiO2")->refused);
    ck_assert(remark_of(&result, BC_REMARK_RANGE, "ZnS")->refused);
    ck_assert_ptr_null(remark_of(&result, BC_REMARK_HEAT, "MgF2"));
    ck_assert_ptr_nonnull(remark_of(&result, BC_REMARK_CAUTION, "MgF2"));
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* A part that its own table says cannot be heated: what needs more is refused, unless another limit is asked for. */
START_TEST(heat_that_the_glass_does_not_stand_is_refused)
{
    const bc_remark *remark;
    bc_quote_result result;
    bc_error error = {0};
    double stands_c;
    inquiry q;
    open_inquiry(&q, "MgF2,1.7", 2);
    workshop_ask(&q.w, 1.0, 450.0, 600.0, 0.0);
    ck_assert_int_eq(bc_medium_find(q.w.materials, "polycarbonate", "here", &q.w.glass[0], &error), BC_OK);
    stands_c = strtod(bc_dispersion_note(q.w.glass[0].dispersion, "max_process_c"), NULL);
    ck_assert(stands_c > 20.0 && stands_c < 300.0);
    result = ask(&q);
    ck_assert_ptr_nonnull(remark = remark_of(&result, BC_REMARK_HEAT, "MgF2"));
    ck_assert(remark->refused && remark->limit_c == stands_c && remark->part == &q.w.glass[0]);
    ck_assert_ptr_nonnull(remark_of(&result, BC_REMARK_NO_HEAT, "1.7"));
    ck_assert_uint_eq(result.layers, 1);
    bc_quote_result_clear(&result);
    q.request.max_process_c = 400.0;
    result = ask(&q);
    ck_assert_ptr_null(remark_of(&result, BC_REMARK_HEAT, "MgF2"));
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

static void expect_refused(const inquiry *q, const char *piece)
{
    bc_quote_result result;
    bc_error error = {0};
    ck_assert_int_eq(bc_quote(&q->request, &result, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, piece) != NULL, "'%s' does not say '%s'", error.message, piece);
    ck_assert_ptr_null(result.option);
    ck_assert_ptr_null(result.layer);
}

typedef struct patience {
    size_t calls, most;
} patience;

static bool wait_for(void *context, double fraction, double limit_used)
{
    patience *p = context;
    (void)limit_used;
    ck_assert(fraction >= 0.0 && fraction <= 1.0);
    return ++p->calls <= p->most;
}

/* Wherever it is stopped, what is there is whole, and says that it was stopped. */
START_TEST(a_quote_can_be_stopped_anywhere)
{
    patience all = {0, (size_t)-1};
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 3);
    workshop_ask(&q.w, 0.001, 420.0, 680.0, 0.0);
    workshop_errors(&q.w, "*", 0.01, 0.0, 0.0);
    q.request.process = &q.w.process;
    q.request.progress = wait_for;
    q.request.progress_context = &all;
    bc_quote_result result = ask(&q);
    ck_assert(!result.stopped && result.exceptions > 0);
    ck_assert_uint_gt(all.calls, 3);
    bc_quote_result_clear(&result);
    for (size_t most = 0; most < all.calls; most += 1 + all.calls / 8) {
        patience some = {0, most};
        q.request.progress_context = &some;
        result = ask(&q);
        ck_assert(result.options > 0);
        ck_assert(result.stopped == (some.calls > most)); /* how often it is asked depends on the threads */
        bc_quote_result_clear(&result);
    }
    workshop_close(&q.w);
}
END_TEST

START_TEST(what_cannot_be_asked_is_refused)
{
    inquiry q;
    open_inquiry(&q, "MgF2", 2);
    workshop_ask(&q.w, 0.01, 450.0, 600.0, 0.0);
    q.w.callout[0].to_nm = 9000.0;
    expect_refused(&q, "MgF2 reaches from 200 to 7000 nm");
    q.w.callout[0].to_nm = 600.0;
    q.request.yield = 0.0;
    expect_refused(&q, "a yield of 0 %");
    q.request.yield = 0.9;
    q.request.effort = NAN;
    expect_refused(&q, "effort");
    q.request.effort = 1.0;
    q.request.confidence = 1.0;
    expect_refused(&q, "a confidence of 100 %; expected from 0 (not stated) to below 100");
    q.request.confidence = -0.1;
    expect_refused(&q, "a confidence of -10 %");
    workshop_close(&q.w);
}
END_TEST

/* Of the layers the lowest and the highest index. */
START_TEST(reasons_are_computed)
{
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, _i == 0 ? "2.1,1.38,1.7" : "1.7,2.1,1.38", 2);
    workshop_ask(&q.w, 0.05, 400.0, 800.0, 0.0);
    result = ask(&q);
    ck_assert_str_eq(result.materials.lowest->name, "1.38");
    ck_assert_str_eq(result.materials.highest->name, "2.1");
    ck_assert(result.materials.normal);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* What no chamber of the shop can make is not feasible, however good the design, and the verdict says why. */
START_TEST(what_cannot_be_made_is_not_feasible)
{
    const bc_chamber chamber = {.has_load_diameter = true, .load_diameter_mm = 640.0};
    bc_quote_result result;
    inquiry q;
    open_runs(&q, 0.02);
    q.w.callout[0].from_nm = 540.0;
    q.w.callout[0].to_nm = 560.0;
    q.request.chamber = &chamber;
    q.request.part_diameter_mm = 640.0;
    ck_assert_int_eq(verdict_of(&q), BC_FEASIBLE);
    q.request.part_diameter_mm = 641.0;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_int_eq(result.obstacle, BC_OBSTACLE_SIZE);
    ck_assert_double_eq(result.obstacle_at, 641.0);
    ck_assert_uint_eq(result.exceptions, 0);
    bc_quote_result_clear(&result);
    q.request.part_diameter_mm = 50.0;
    q.w.row[0].has_minimum = true;
    q.w.row[0].minimum_nm = 5000.0;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_int_eq(result.obstacle, BC_OBSTACLE_THIN);
    ck_assert_double_lt(result.obstacle_at, result.obstacle_limit);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* A process of the shop's own decides, where the table only says what is common; its file may also say a hotter one. */
START_TEST(the_shops_own_temperature_decides)
{
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "MgF2", 1);
    workshop_ask(&q.w, 0.05, 450.0, 600.0, 0.0);
    q.request.max_process_c = 120.0;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_int_eq(result.obstacle, BC_OBSTACLE_HEAT);
    ck_assert_str_eq(result.obstacle_material->name, "MgF2");
    ck_assert_double_eq(result.obstacle_limit, 120.0);
    ck_assert_uint_eq(result.option[0].stack.layers, 0);
    bc_quote_result_clear(&result);
    workshop_errors(&q.w, "MgF2", 0.0, 0.0, 0.0);
    q.w.row[0].has_process_c = true;
    q.w.row[0].process_c = 80.0;
    q.request.process = &q.w.process;
    ck_assert_int_eq(verdict_of(&q), BC_FEASIBLE);
    q.w.row[0].process_c = 120.5;
    ck_assert_int_eq(verdict_of(&q), BC_NOT_FEASIBLE);
    workshop_close(&q.w);
}
END_TEST

/* A mean of 4 % at least and 0.5 % at most at every wavelength: arithmetic, no search. Apart they do not exclude each
 * other; neither do a band and a wider one that is only to be high somewhere. */
START_TEST(contradictions_are_named)
{
    bc_quote_result result;
    bc_callout *mirror;
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 1);
    workshop_ask(&q.w, 0.005, 450.0, 650.0, 0.0);
    mirror = workshop_ask(&q.w, 0.04, 500.0, 600.0, 0.0);
    mirror->sense = BC_AT_LEAST;
    mirror->statistic = BC_AVERAGE;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_int_eq(result.obstacle, BC_OBSTACLE_CONTRADICTION);
    ck_assert(result.contradiction[0] == 0 && result.contradiction[1] == 1);
    ck_assert_uint_eq(result.exceptions, 0);
    bc_quote_result_clear(&result);
    for (int way = 0; way < 4; way++) {
        const bc_callout before = *mirror;
        mirror->to_nm = way == 0 ? 651.0 : mirror->to_nm; /* may be high beyond the other band */
        mirror->limit = way == 1 ? 0.005 : mirror->limit;
        mirror->polarization = way == 2 ? BC_POL_S : mirror->polarization;
        mirror->aoi_from_rad = mirror->aoi_to_rad = way == 3 ? 0.5 : 0.0;
        result = ask(&q);
        ck_assert(!result.contradicted);
        bc_quote_result_clear(&result);
        *mirror = before;
    }
    workshop_close(&q.w);
}
END_TEST

/* No run succeeds with any of them, but each comes nearer to the callouts than what is simpler. */
START_TEST(rows_that_come_nearer_are_shown)
{
    bc_quote_result result;
    inquiry q;
    open_runs(&q, 0.0005);
    q.request.effort = 0.1;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_uint_eq(result.options, 3);
    for (size_t o = 0; o < result.options; o++) {
        ck_assert_uint_eq(result.option[o].stack.layers, o + 1);
        ck_assert_double_eq(result.option[o].yield, 0.0);
        ck_assert(o == 0 || result.option[o].limit_used < result.option[o - 1].limit_used);
    }
    ck_assert_uint_eq(result.recommended, 2);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Where the bare surface meets the callouts no coating is recommended, and nothing is loaded. Loop: with runs; on
 * paper, where it uses more of the limit than is left in hand otherwise. */
START_TEST(a_surface_that_needs_no_coating_gets_none)
{
    const bc_quote_option *option;
    bc_quote_result result;
    inquiry q;
    open_runs(&q, 0.0435); /* R of 1.52 in air: 4.26 % */
    if (_i == 1)
        q.request.process = NULL;
    q.request.effort = 0.1;
    result = ask(&q);
    option = &result.option[result.recommended];
    ck_assert_int_eq(result.verdict, BC_FEASIBLE);
    ck_assert_uint_eq(option->stack.layers, 0);
    ck_assert_double_gt(option->limit_used, 0.9);
    ck_assert_double_le(option->limit_used, 1.0);
    ck_assert_uint_eq(option->loads, 0);
    ck_assert(!(option->expected_hours > 0.0));
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

TCase *quote_case(void)
{
    TCase *tests = tcase_create("quote");
    tcase_add_test(tests, rows_that_come_nearer_are_shown);
    tcase_add_loop_test(tests, a_surface_that_needs_no_coating_gets_none, 0, 2);
    tcase_add_test(tests, on_paper_the_limit_decides);
    tcase_add_test(tests, the_lowest_limit_is_the_residue);
    tcase_add_test(tests, in_runs_the_share_decides);
    tcase_add_test(tests, threads_change_nothing);
    tcase_add_test(tests, materials_that_do_not_fit_are_told);
    tcase_add_test(tests, heat_that_the_glass_does_not_stand_is_refused);
    tcase_add_test(tests, a_quote_can_be_stopped_anywhere);
    tcase_add_test(tests, what_cannot_be_asked_is_refused);
    tcase_add_loop_test(tests, reasons_are_computed, 0, 2);
    tcase_add_test(tests, what_cannot_be_made_is_not_feasible);
    tcase_add_test(tests, the_shops_own_temperature_decides);
    tcase_add_test(tests, contradictions_are_named);
    return tests;
}
