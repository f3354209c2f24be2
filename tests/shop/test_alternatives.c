/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which of several alternatives a quote offers first, and what it cannot be asked.
 */
#include "inquiry.h"
#include <bloomcoat/robust.h>
#include <math.h>
#include <string.h>

/* A quarter wave of 1.38 on 1.52 leaves 1.26007902146 % (Born and Wolf, Principles of Optics, ch. 1.6.4). */
#define QUARTER_WAVE 0.0126007902146

static const bc_exception *first_of(const bc_quote_result *result, bc_exception_kind kind)
{
    for (size_t e = 0; e < result->exceptions; e++)
        if (result->exception[e].kind == kind)
            return &result->exception[e];
    return NULL;
}

/* No two layers do for glasses as far apart as 1.52 and 1.80, whose amplitudes differ by more than the limit leaves
 * room for; for each alone two layers do. */
START_TEST(each_glass_has_a_recipe_of_its_own)
{
    size_t alone = 0;
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 2);
    q.w.glass[1] = workshop_medium(&q.w, "1.80");
    q.w.problem.substrates = 2;
    workshop_ask(&q.w, 0.001, 550.0, 550.0, 0.0);
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    for (size_t e = 0; e < result.exceptions; e++) {
        const bc_exception *offer = &result.exception[e];
        bc_check_result check;
        if (offer->kind != BC_EXCEPT_ALONE)
            continue;
        ck_assert_ptr_eq(offer->other, &q.w.glass[alone++]);
        ck_assert(offer->found);
        ck_assert_int_eq(bc_check(&offer->stack, &q.w.callouts, 1, offer->other, NULL, &check, NULL), BC_OK);
        ck_assert(check.pass);
        ck_assert_double_eq_tol(check.limit_used, offer->limit_used, 1e-12);
        bc_check_result_clear(&check);
    }
    ck_assert_uint_eq(alone, 2);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* The layer that widens the range of indices most; never one that needs more heat than the part stands. */
START_TEST(the_most_extreme_layer_comes_first)
{
    const char *const names[3] = {"1.6", "2.1", "MgF2"};
    bc_medium other[3];
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.45", 1);
    for (size_t m = 0; m < 3; m++)
        other[m] = workshop_medium(&q.w, names[_i == 0 ? m : 2 - m]);
    q.request.other_layers = 3;
    q.request.other_layer = other;
    q.request.max_process_c = 40.0;
    q.request.effort = 1.0;
    workshop_ask(&q.w, 0.001, 550.0, 550.0, 0.0);
    result = ask(&q);
    ck_assert_ptr_nonnull(first_of(&result, BC_EXCEPT_LAYER));
    ck_assert_str_eq(first_of(&result, BC_EXCEPT_LAYER)->other->name, "2.1");
    for (size_t e = 0; e < result.exceptions; e++)
        ck_assert(result.exception[e].other == NULL || strcmp(result.exception[e].other->name, "MgF2") != 0);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Below the lowest index as well as above the highest: 1.33 lies 0.05 outside, 2.12 by 0.02. */
START_TEST(a_lower_layer_comes_first)
{
    bc_medium other[2];
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38,2.1", 1);
    other[_i] = workshop_medium(&q.w, "1.33");
    other[1 - _i] = workshop_medium(&q.w, "2.12");
    q.request.other_layers = 2;
    q.request.other_layer = other;
    q.request.effort = 0.1;
    workshop_ask(&q.w, 0.001, 550.0, 550.0, 0.0);
    result = ask(&q);
    ck_assert_ptr_nonnull(first_of(&result, BC_EXCEPT_LAYER));
    ck_assert_str_eq(first_of(&result, BC_EXCEPT_LAYER)->other->name, "1.33");
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

START_TEST(the_nearest_glass_comes_first)
{
    const char *const names[3] = {"1.80", "1.60", "1.95"};
    bc_medium other[3];
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    for (size_t m = 0; m < 3; m++)
        other[m] = workshop_medium(&q.w, names[_i == 0 ? m : 2 - m]);
    q.request.other_glasses = 3;
    q.request.other_glass = other;
    workshop_ask(&q.w, 0.001, 550.0, 550.0, 0.0);
    result = ask(&q);
    ck_assert_ptr_nonnull(first_of(&result, BC_EXCEPT_GLASS));
    ck_assert_str_eq(first_of(&result, BC_EXCEPT_GLASS)->other->name, "1.60");
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Of two rows the one on T cannot be met: 1 - R of a quarter wave is the most. It decides, and its limit is what is
 * offered: lower, by less than 1 % of what is left. */
START_TEST(a_row_that_asks_for_at_least_is_lowered)
{
    const bc_exception *offer;
    bc_quote_result result;
    bc_callout *row;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.02, 550.0, 550.0, 0.0);
    row = workshop_ask(&q.w, 0.995, 550.0, 550.0, 0.0);
    row->quantity = BC_T;
    row->sense = BC_AT_LEAST;
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert_uint_eq(result.decisive, 1);
    ck_assert(result.decides_alone);
    offer = &result.exception[0];
    while (offer < result.exception + result.exceptions && (offer->kind != BC_EXCEPT_LIMIT || offer->callout != 1))
        offer++;
    ck_assert(offer < result.exception + result.exceptions && offer->found);
    ck_assert_double_le(offer->offered.limit, 1.0 - QUARTER_WAVE);
    ck_assert_double_ge(offer->offered.limit, 1.0 - 1.01 * QUARTER_WAVE);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Two rows that no one layer meets: without either of them the other still is not, and the quote says so of the harder
 * one. */
START_TEST(a_row_that_does_not_help_is_told)
{
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.001, 550.0, 550.0, 0.0);
    workshop_ask(&q.w, 0.002, 600.0, 600.0, 0.0);
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    ck_assert(!result.decides_alone);
    ck_assert_ptr_nonnull(first_of(&result, BC_EXCEPT_DROPPED));
    ck_assert(!first_of(&result, BC_EXCEPT_DROPPED)->found);
    ck_assert_uint_eq(result.decisive, 0);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* One angle is lowered as a whole: at 0 degrees a quarter wave meets what it cannot at 60. */
START_TEST(a_single_angle_is_lowered)
{
    const bc_exception *offer;
    bc_quote_result result;
    bc_check_result check;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.015, 550.0, 550.0, 60.0);
    result = ask(&q);
    ck_assert_int_eq(result.verdict, BC_NOT_FEASIBLE);
    offer = first_of(&result, BC_EXCEPT_ANGLE);
    ck_assert_ptr_nonnull(offer);
    ck_assert(offer->found);
    ck_assert_double_eq(offer->offered.aoi_from_rad, offer->offered.aoi_to_rad);
    ck_assert(offer->offered.aoi_to_rad > 0.0 && offer->offered.aoi_to_rad < PI / 3.0);
    ck_assert_int_eq(bc_check(&offer->stack, &(bc_callouts){.count = 1, .callout = (bc_callout *)&offer->offered}, 0,
                              NULL, NULL, &check, NULL),
                     BC_OK);
    ck_assert(check.pass);
    bc_check_result_clear(&check);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* Loads, hours and what is run again, worked out by hand from what a load holds. */
START_TEST(loads_for_a_quantity)
{
    const bc_chamber chamber = {.has_load_diameter = true, .load_diameter_mm = 300.0};
    const bc_quote_option *option;
    bc_quote_result result;
    double loads;
    inquiry q;
    open_runs(&q, 0.02);
    q.w.callout[0].from_nm = 540.0;
    q.w.callout[0].to_nm = 560.0;
    q.w.row[0].has_rate = q.w.process.has_rate = true;
    q.w.row[0].rate_nm_per_s = 0.5;
    q.request.chamber = &chamber;
    q.request.quantity = 100;
    q.request.part_diameter_mm = 50.0;
    q.request.both_sides = _i == 1;
    result = ask(&q);
    option = &result.option[result.recommended];
    ck_assert_uint_eq(result.parts_per_load, bc_parts_per_load(300.0, 50.0, 0.0));
    loads = ceil(100.0 / (double)result.parts_per_load) * (_i == 1 ? 2.0 : 1.0);
    ck_assert_double_eq((double)option->loads, loads);
    ck_assert(option->yield > 0.0);
    ck_assert_double_eq_tol(option->loads_expected, loads / option->yield, 1e-9);
    ck_assert_double_eq_tol(option->hours, loads * bc_hours_per_load(&option->stack, &q.w.process, &chamber), 1e-9);
    ck_assert_double_gt(option->hours, 0.0);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
}
END_TEST

/* The largest k lies in a row within the band; a row about a glass that is not at hand does not widen the band. */
START_TEST(what_a_layer_absorbs_in_the_band_asked_for)
{
    static const double nm[] = {420.0, 540.0, 680.0}, n[] = {1.39, 1.38, 1.37}, k[] = {0.0, 1e-4, 0.0};
    bc_dispersion *layer = NULL;
    bool told = false;
    bc_quote_result result;
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    ck_assert_int_eq(bc_dispersion_table("dull", 3, nm, n, k, &layer, NULL), BC_OK);
    q.layer[0].dispersion = layer;
    workshop_ask(&q.w, 0.02, 450.0, 650.0, 0.0);
    strcpy(workshop_ask(&q.w, 0.02, 300.0, 900.0, 0.0)->substrate, "1.9");
    result = ask(&q);
    for (size_t i = 0; i < result.remarks; i++)
        if (result.remark[i].kind == BC_REMARK_ABSORBS) {
            told = true;
            ck_assert_double_eq(result.remark[i].k, 1e-4);
            ck_assert_double_eq(result.remark[i].at_nm, 540.0);
        }
    ck_assert(told);
    bc_quote_result_clear(&result);
    workshop_close(&q.w);
    bc_dispersion_free(layer);
}
END_TEST

START_TEST(what_no_quote_answers)
{
    static const char *const said[] = {"a part of -1 mm", "at least one layer material", "at least one layer material",
                                       "at least one layer material"};
    bc_quote_result result;
    bc_error error = {0};
    inquiry q;
    open_inquiry(&q, "1.38", 1);
    workshop_ask(&q.w, 0.02, 550.0, 550.0, 0.0);
    if (_i == 0)
        q.request.part_diameter_mm = -1.0;
    if (_i == 1)
        q.w.problem.materials = 0;
    if (_i == 2)
        q.w.problem.substrates = 0;
    if (_i == 3)
        q.w.callouts.count = 0;
    ck_assert_int_eq(bc_quote(&q.request, &result, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, said[_i]) != NULL, "%s", error.message);
    ck_assert_ptr_null(result.option);
    workshop_close(&q.w);
}
END_TEST

START_TEST(no_choice_without_runs)
{
    const bc_robust_options options = {.seed = 1, .runs = 0};
    const bc_draft_result draft = {0};
    bc_robust_result result;
    bc_error error = {0};
    inquiry q;
    open_runs(&q, 0.01);
    ck_assert_int_eq(bc_robust(&q.w.problem, &q.w.process, &draft, &options, &result, &error), BC_ERROR_INPUT);
    ck_assert_str_eq(error.message, "0 runs; expected 1 or more");
    workshop_close(&q.w);
}
END_TEST

TCase *alternatives_case(void)
{
    TCase *tests = tcase_create("alternatives");
    tcase_add_test(tests, each_glass_has_a_recipe_of_its_own);
    tcase_add_loop_test(tests, the_most_extreme_layer_comes_first, 0, 2);
    tcase_add_loop_test(tests, a_lower_layer_comes_first, 0, 2);
    tcase_add_loop_test(tests, the_nearest_glass_comes_first, 0, 2);
    tcase_add_test(tests, a_row_that_asks_for_at_least_is_lowered);
    tcase_add_test(tests, a_row_that_does_not_help_is_told);
    tcase_add_test(tests, a_single_angle_is_lowered);
    tcase_add_test(tests, what_a_layer_absorbs_in_the_band_asked_for);
    tcase_add_loop_test(tests, loads_for_a_quantity, 0, 2);
    tcase_add_loop_test(tests, what_no_quote_answers, 0, 4);
    tcase_add_test(tests, no_choice_without_runs);
    return tests;
}
