/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <bloomcoat/colour_runs.h>
#include <math.h>

#define ANGLES 2
static const double aoi_rad[ANGLES] = {0.0, 0.6};

static bc_colour_view view_of(const workshop *w)
{
    return (bc_colour_view){.stack = &w->stack, .angles = ANGLES, .aoi_rad = aoi_rad};
}

static bc_colour_runs simulate(const workshop *w, size_t runs, size_t threads)
{
    const bc_colour_view view = view_of(w);
    const bc_yield_options options = {.runs = runs, .seed = 7, .threads = threads};
    bc_colour_runs out;
    bc_error error = {0};
    ck_assert_msg(bc_colour_simulate(&view, &w->process, &options, &out, &error) == BC_OK, "%s", error.message);
    return out;
}

static bc_colour colour_at(workshop *w, double thickness_nm, int angle)
{
    bc_colour colour;
    w->stack.layer[0].thickness_nm = thickness_nm;
    ck_assert_int_eq(bc_colour_compute(&w->stack, NULL, aoi_rad[angle], BC_POL_UNPOLARIZED, BC_ILLUMINANT_D65,
                                       BC_OBSERVER_2, &colour, NULL),
                     BC_OK);
    w->stack.layer[0].thickness_nm = 95.0;
    return colour;
}

/* Small errors of one layer move its colour along a straight line: the scatter is the slope times theirs, within what
 * 4000 runs leave open (1 / sqrt(2 runs), four times). The difference from the design has half a normal distribution:
 * 95 % lie below 1.96 sigma; of two runs the difference has sqrt(2) sigma. */
START_TEST(small_errors_of_one_layer)
{
    const double sigma = 0.0005, room = 4.0 / sqrt(2.0 * 4000.0);
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    w.stack.layer[0].thickness_nm = 95.0;
    workshop_errors(&w, "*", sigma, 0.0, 0.0);
    bc_colour_runs runs = simulate(&w, 4000, 2);
    ck_assert(runs.runs == 4000 && runs.angles == ANGLES && !runs.no_errors);
    for (int i = 0; i < ANGLES; i++) {
        const bc_colour_scatter *scatter = &runs.scatter[i];
        const bc_colour more = colour_at(&w, 95.0 * (1.0 + sigma), i), less = colour_at(&w, 95.0 * (1.0 - sigma), i);
        const double a = 0.5 * fabs(more.a - less.a), b = 0.5 * fabs(more.b - less.b);
        const double one_sigma = 0.5 * bc_colour_difference(&more, &less);
        ck_assert_double_eq_tol(scatter->a_sigma, a, room * a + 1e-4);
        ck_assert_double_eq_tol(scatter->b_sigma, b, room * b + 1e-4);
        ck_assert_double_eq_tol(scatter->luminous_sigma, 0.5 * fabs(more.luminous - less.luminous), 1e-6);
        ck_assert_double_eq_tol(scatter->from_design, 1.96 * one_sigma, 0.06 * one_sigma + 0.12 * one_sigma);
        ck_assert_double_eq_tol(scatter->between, 1.96 * sqrt(2.0) * one_sigma, 0.25 * one_sigma);
    }
    bc_colour_runs_clear(&runs);
    workshop_close(&w);
}
END_TEST

START_TEST(no_errors_and_any_threads)
{
    workshop w;
    workshop_open(&w, "air", "1.38,2.1", "1.52");
    bc_colour_runs runs = simulate(&w, 100, 1);
    ck_assert(runs.no_errors && runs.runs == 1);
    ck_assert_double_lt(runs.scatter[0].from_design, 1e-9);
    ck_assert(isnan(runs.scatter[0].between));
    bc_colour_runs_clear(&runs);
    workshop_errors(&w, "*", 0.01, 0.005, 0.01);
    bc_colour_runs one = simulate(&w, 100, 1), three = simulate(&w, 100, 3);
    for (int i = 0; i < ANGLES; i++) {
        ck_assert(one.scatter[i].a_sigma == three.scatter[i].a_sigma);
        ck_assert(one.scatter[i].between == three.scatter[i].between);
    }
    bc_colour_runs_clear(&one);
    bc_colour_runs_clear(&three);
    workshop_close(&w);
}
END_TEST

/* The runs of a yield are the same runs: so are their colours, at the angle where the callout is worst. */
START_TEST(those_of_a_yield_are_the_same)
{
    workshop w;
    bc_callout *asked;
    workshop_open(&w, "air", "1.38,2.1", "1.52");
    workshop_errors(&w, "*", 0.01, 0.005, 0.01);
    for (int row = 0; row < 3; row++) {
        asked = workshop_ask(&w, 0.3, BC_CIE_FROM_NM, BC_CIE_TO_NM, 0.0);
        asked->statistic = BC_AVERAGE;
        asked->aoi_from_rad = asked->aoi_to_rad = aoi_rad[row == 2];
        asked->colour = row == 1 ? BC_CHROMA : BC_NO_COLOUR;
        asked->weight = row == 1 ? bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1) : bc_weight_luminous();
    }
    w.problem.callouts = &w.callouts;
    w.options = (bc_yield_options){.runs = 100, .seed = 7, .threads = 2, .colours = true};
    bc_yield_result result = workshop_run(&w);
    bc_colour_runs runs = simulate(&w, 100, 1);
    ck_assert_uint_eq(result.clouds, 2); /* of the first two callouts one: they see the same */
    ck_assert_uint_eq(result.cloud_runs, 100);
    for (int i = 0; i < ANGLES; i++) {
        ck_assert_double_eq_tol(result.cloud[i].scatter.a_sigma, runs.scatter[i].a_sigma, 1e-10);
        ck_assert_double_eq_tol(result.cloud[i].scatter.between, runs.scatter[i].between, 1e-9);
        ck_assert_double_eq_tol(result.cloud[i].scatter.run[57].b, runs.scatter[i].run[57].b, 1e-10);
        ck_assert_double_eq(result.cloud[i].aoi_rad, aoi_rad[i]);
    }
    bc_yield_result_clear(&result);
    w.options.colours = false;
    result = workshop_run(&w);
    ck_assert(result.clouds == 0 && result.cloud == NULL);
    bc_yield_result_clear(&result);
    bc_colour_runs_clear(&runs);
    workshop_close(&w);
}
END_TEST

/* Rows that see the same have one cloud; of another glass, angle, polarization, light or observer one of their own. */
START_TEST(each_view_has_a_cloud)
{
    workshop w;
    bc_callout *row[2];
    workshop_open(&w, "air", "1.38", _i == 1 ? "1.52,1.8" : "1.52");
    workshop_errors(&w, "*", 0.01, 0.005, 0.01);
    for (int r = 0; r < 2; r++) {
        row[r] = workshop_ask(&w, 0.3, BC_CIE_FROM_NM, BC_CIE_TO_NM, 30.0);
        row[r]->statistic = BC_AVERAGE;
        row[r]->illuminant = _i == 4 && r == 1 ? BC_ILLUMINANT_A : BC_ILLUMINANT_D65;
        row[r]->observer = _i == 5 && r == 1 ? BC_OBSERVER_10 : BC_OBSERVER_2;
        row[r]->weight = bc_weight_tristimulus(row[r]->illuminant, row[r]->observer, 1);
        row[r]->colour = BC_CHROMA;
    }
    if (_i == 2)
        row[1]->aoi_from_rad = row[1]->aoi_to_rad = 0.6;
    if (_i == 3)
        row[1]->polarization = BC_POL_S;
    w.options = (bc_yield_options){.runs = 10, .seed = 7, .threads = 1, .colours = true};
    bc_yield_result result = workshop_run(&w);
    ck_assert_uint_eq(result.clouds, _i == 0 ? 1 : 2);
    ck_assert_ptr_eq(result.cloud[0].callout, row[0]);
    if (_i > 1)
        ck_assert_ptr_eq(result.cloud[1].callout, row[1]);
    if (_i == 1)
        ck_assert(result.cloud[0].substrate == &w.glass[0] && result.cloud[1].substrate == &w.glass[1]);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Colours of the first 2000 runs, whatever the yield takes. */
START_TEST(as_many_colours_as_are_kept)
{
    static const size_t asked[] = {1999, 2000, 2001, 2500};
    workshop w;
    bc_callout *row;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_errors(&w, "*", 0.01, 0.005, 0.01);
    row = workshop_ask(&w, 0.3, BC_CIE_FROM_NM, BC_CIE_TO_NM, 0.0);
    row->statistic = BC_AVERAGE;
    row->weight = bc_weight_luminous();
    w.options = (bc_yield_options){.runs = asked[_i], .seed = 7, .threads = 2, .colours = true};
    bc_yield_result result = workshop_run(&w);
    ck_assert_uint_eq(result.runs, asked[_i]);
    ck_assert_uint_eq(result.cloud_runs, asked[_i] < 2000 ? asked[_i] : 2000);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

START_TEST(colours_that_cannot_be_asked_for)
{
    bc_colour_runs runs;
    bc_error error = {0};
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    bc_colour_view view = view_of(&w);
    bc_yield_options options = {.runs = _i == 0 ? 0 : 10, .seed = 7, .threads = 1};
    view.angles = _i == 0 ? ANGLES : 0;
    ck_assert_int_eq(bc_colour_simulate(&view, &w.process, &options, &runs, &error), BC_ERROR_INPUT);
    ck_assert_str_eq(error.message,
                     _i == 0 ? "found 0 runs; expected 1 or more" : "found no angle of incidence; expected 1 or more");
    ck_assert_ptr_null(runs.scatter);
    workshop_close(&w);
}
END_TEST

/* A colour has one set of samples: a quick look sees the same colours. */
START_TEST(a_quick_look_sees_the_same_colours)
{
    bc_yield_options options = {.runs = 50, .seed = 7, .threads = 1};
    bc_colour_runs full, quick;
    workshop w;
    workshop_open(&w, "air", "1.38,2.1", "1.52");
    workshop_errors(&w, "*", 0.01, 0.005, 0.01);
    const bc_colour_view view = view_of(&w);
    ck_assert_int_eq(bc_colour_simulate(&view, &w.process, &options, &full, NULL), BC_OK);
    options.quick = true;
    ck_assert_int_eq(bc_colour_simulate(&view, &w.process, &options, &quick, NULL), BC_OK);
    for (int i = 0; i < ANGLES; i++) {
        ck_assert_double_eq(full.scatter[i].a_sigma, quick.scatter[i].a_sigma);
        ck_assert_double_eq(full.scatter[i].between, quick.scatter[i].between);
        ck_assert_double_eq(full.scatter[i].run[49].b, quick.scatter[i].run[49].b);
    }
    bc_colour_runs_clear(&full);
    bc_colour_runs_clear(&quick);
    workshop_close(&w);
}
END_TEST

TCase *colour_runs_case(void)
{
    TCase *tests = tcase_create("colour_runs");
    tcase_add_test(tests, small_errors_of_one_layer);
    tcase_add_test(tests, no_errors_and_any_threads);
    tcase_add_test(tests, a_quick_look_sees_the_same_colours);
    tcase_add_test(tests, those_of_a_yield_are_the_same);
    tcase_add_loop_test(tests, each_view_has_a_cloud, 0, 6);
    tcase_add_loop_test(tests, colours_that_cannot_be_asked_for, 0, 2);
    tcase_add_loop_test(tests, as_many_colours_as_are_kept, 0, 4);
    return tests;
}
