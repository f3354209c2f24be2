/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <string.h>

static void expect_refused(const workshop *w, const char *piece)
{
    bc_yield_result result;
    bc_error error = {0};
    ck_assert_int_eq(bc_yield(&w->problem, &w->stack, &w->process, &w->options, &result, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, piece) != NULL, "'%s' does not say '%s'", error.message, piece);
    ck_assert_ptr_null(result.fails);
    ck_assert_ptr_null(result.influence);
    ck_assert_int_eq(bc_yield(&w->problem, &w->stack, &w->process, &w->options, &result, NULL), BC_ERROR_INPUT);
}

static void open_sound(workshop *w, const char *incident, const char *layer)
{
    workshop_open(w, incident, layer, "1.52");
    workshop_ask(w, 0.02, 450.0, 650.0, 0.0);
    workshop_errors(w, "*", 0.01, 0.01, 0.01);
    w->options.runs = 10;
    w->options.influence = w->options.percentiles = true;
}

START_TEST(no_run)
{
    workshop w;
    open_sound(&w, "air", "1.38");
    w.options.runs = 0;
    expect_refused(&w, "0 runs; expected from 1");
    workshop_close(&w);
}
END_TEST

START_TEST(a_glass_no_callout_speaks_of)
{
    workshop w;
    open_sound(&w, "air", "1.38");
    strcpy(w.callout[0].substrate, "1.9");
    expect_refused(&w, "no callout applies to the substrate '1.52'");
    workshop_close(&w);
}
END_TEST

START_TEST(a_material_with_two_gradients)
{
    workshop w;
    bc_medium *third;
    open_sound(&w, "air", "1.38,2.1,1.38");
    third = &w.stack.layer[2].material;
    ck_assert_int_eq(bc_materials_graded(w.materials, third->dispersion, 0.02, &third->dispersion, NULL), BC_OK);
    expect_refused(&w, "layers 1 and 3 are of 1.38 with two index gradients, 2 and 0 %");
    workshop_close(&w);
}
END_TEST

START_TEST(an_absorbing_incident_medium)
{
    workshop w;
    open_sound(&w, "1.3-0.1i", "1.38");
    expect_refused(&w, "the incident medium absorbs");
    workshop_close(&w);
}
END_TEST

START_TEST(a_band_outside_a_table)
{
    workshop w;
    open_sound(&w, "air", "TiO2");
    w.callout[0].from_nm = 300.0;
    expect_refused(&w, "TiO2");
    workshop_close(&w);
}
END_TEST

START_TEST(a_part_without_a_back)
{
    workshop w;
    open_sound(&w, "air", "1.38");
    w.callout[0].scope = BC_SCOPE_PART;
    expect_refused(&w, "scope part");
    workshop_close(&w);
}
END_TEST

/* No process, no layer: nothing to go wrong, and no error. */
START_TEST(what_is_nothing_is_no_error)
{
    bc_yield_result result;
    workshop w;
    open_sound(&w, "air", "1.38");
    ck_assert_int_eq(bc_yield(&w.problem, &w.stack, NULL, &w.options, &result, NULL), BC_OK);
    ck_assert(result.no_errors);
    bc_yield_result_clear(&result);
    workshop_close(&w);
    open_sound(&w, "air", "");
    result = workshop_run(&w);
    ck_assert(result.no_errors);
    ck_assert_uint_eq(result.influences, 1);
    ck_assert_uint_eq(result.good, 0);
    bc_yield_result_clear(&result);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

TCase *refusals_case(void)
{
    TCase *tests = tcase_create("refusals");
    tcase_add_test(tests, no_run);
    tcase_add_test(tests, a_glass_no_callout_speaks_of);
    tcase_add_test(tests, a_material_with_two_gradients);
    tcase_add_test(tests, an_absorbing_incident_medium);
    tcase_add_test(tests, a_band_outside_a_table);
    tcase_add_test(tests, a_part_without_a_back);
    tcase_add_test(tests, what_is_nothing_is_no_error);
    return tests;
}
