/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What one change is tried with, and what is said of the materials: from pools whose layers mostly stay as they are.
 */
#include "exceptions.h"
#include "raise_yield.h"
#include "reasons.h"
#include "scene.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static double judged(const scene *s, const bc_stack *stack)
{
    double factor = NAN;
    ck_assert_int_eq(
        bc_judge_factor(&s->q.w.problem, stack, &s->q.w.process, 0.903, BC_NO_CALLOUT, NULL, &factor, NULL), BC_OK);
    return factor;
}

/* A layer that stays as it is holds the limit in a part of the band, so the halving by itself ends in the middle; what
 * a search finds there holds in all of it but a step. */
START_TEST(where_the_halving_ends_designs_are_searched_for)
{
    scene s;
    open_scene_of(&s, "1.38,2.1", 8);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_BOTH, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.callout[0].from_nm = 480.0;
    s.q.w.callout[0].to_nm = 620.0;
    s.q.w.callout[0].limit = 0.0130;
    s.q.w.stack.layers = 1;
    s.q.w.stack.layer[0].fixed = true;
    add(&s, 99.6, 0.0, 1.5);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found);
    ck_assert_uint_ge(exception.stack.layers, 2);
    ck_assert_double_le(exception.offered.from_nm, 481.0);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* Of the six layers whose looks need the lowest limits, and which stay as they are, the one that needs the lowest in
 * runs, in whatever order their looks put them; not one that needs less still, but whose look does not say so. */
START_TEST(the_lowest_limit_of_six)
{
    static const double nm[] = {70.0, 76.0, 82.0, 130.0, 88.0, 124.0};
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_LIMIT, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.callout[0].limit = 0.0126;
    s.q.w.stack.layer[0].fixed = true;
    for (size_t i = 0; i < 6; i++)
        add_with_limit(&s, i == (size_t)_i ? 97.0 : nm[i], 1.2 + 0.1 * (double)i);
    add_with_limit(&s, 100.0, 1.9);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found);
    ck_assert_double_eq(exception.stack.layer[0].thickness_nm, 97.0);
    ck_assert_double_ge(exception.factor, judged(&s, &exception.stack) * (1.0 - 1e-9));
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* A yield that is raised at a lower limit is kept only where runs need no more of the limit than before. */
START_TEST(no_limit_is_raised_with_the_yield)
{
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_LIMIT, .callout = 0, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    s.q.w.row[0].thickness_sigma = 0.04;
    s.q.w.callout[0].limit = 0.0126;
    add_with_limit(&s, 98.0 + 0.5 * _i, 1.2);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    const double before = judged(&s, &s.pool.design[0].stack), after = judged(&s, &exception.stack);
    ck_assert(exception.found);
    ck_assert_double_le(after, before);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* Where no run is good, before or after, what most of them need decides. */
START_TEST(a_yield_of_none_is_raised_by_what_is_needed)
{
    bc_forecast look;
    scene s;
    open_scene(&s);
    s.q.w.row[0].thickness_sigma = 0.03;
    s.q.w.callout[0].limit = 0.0110;
    s.q.w.stack.layer[0].thickness_nm = 85.0;
    ck_assert_int_eq(bc_forecast_limit(&s.q.w.problem, &s.q.w.stack, &s.q.w.process, 0.9, &look, NULL, NULL), BC_OK);
    ck_assert_double_eq(look.yield, 0.0);
    ck_assert_int_eq(bc_raise_yield(&s.q.w.problem, &s.q.w.process, 0.9, 6, &s.q.w.stack, &look, NULL), BC_OK);
    ck_assert_double_eq(look.yield, 0.0);
    ck_assert_double_eq_tol(s.q.w.stack.layer[0].thickness_nm, 99.6, 2.0);
    close_scene(&s);
}
END_TEST

/* A low index makes the layer better, so runs fail whose index is high, and want a thinner one: five quarter waves,
 * where that counts, become thinner than what is best on paper. */
START_TEST(a_yield_is_raised_against_errors_of_index)
{
    bc_forecast look, before;
    scene s;
    open_scene(&s);
    s.q.w.row[0].thickness_sigma = s.q.w.row[0].run_thickness_sigma = 0.0;
    s.q.w.row[0].index_sigma = 0.02;
    s.q.w.callout[0].limit = 0.0155;
    s.q.w.stack.layer[0].thickness_nm = 498.2;
    ck_assert_int_eq(bc_forecast_limit(&s.q.w.problem, &s.q.w.stack, &s.q.w.process, 0.9, &before, NULL, NULL), BC_OK);
    look = before;
    ck_assert(look.yield > 0.3 && look.yield < 0.95);
    ck_assert_int_eq(bc_raise_yield(&s.q.w.problem, &s.q.w.process, 0.9, 6, &s.q.w.stack, &look, NULL), BC_OK);
    ck_assert_double_gt(look.yield, before.yield);
    ck_assert_double_lt(s.q.w.stack.layer[0].thickness_nm, 497.0);
    ck_assert_double_gt(s.q.w.stack.layer[0].thickness_nm, 485.0);
    close_scene(&s);
}
END_TEST

/* Another glass is tried with several designs of the pool: with the one that comes first here, by its look on the glass
 * asked for, nothing is found. A half wave of 2.1 does nothing at 550 nm. */
START_TEST(another_glass_with_several_designs)
{
    scene s;
    bc_medium other;
    open_scene_of(&s, "1.38,2.1", 2);
    bc_thread_watch watch = {&s.watch, true};
    ck_assert_int_eq(bc_medium_find(s.q.w.materials, "1.62", NULL, &other, NULL), BC_OK);
    bc_exception exception = {.kind = BC_EXCEPT_GLASS, .callout = BC_NO_CALLOUT, .other = &other, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    if (_i == 1)
        s.q.request.process = NULL;
    s.q.w.callout[0].limit = 0.01;
    strcpy(s.q.w.callout[0].substrate, s.q.w.glass[0].name);
    s.q.w.stack.layer[0].fixed = s.q.w.stack.layer[1].fixed = true;
    s.q.w.stack.layers = 1;
    add(&s, 70.0, 0.0, 1.1);
    s.q.w.stack.layers = 2;
    s.q.w.stack.layer[1].thickness_nm = 550.0 / 2.0 / 2.1;
    add(&s, 99.6, 0.0, 1.3);
    ck_assert_int_eq(bc_try_material(&attempt, NULL), BC_OK);
    ck_assert(exception.found);
    ck_assert_uint_eq(exception.stack.layers, 2);
    ck_assert_str_eq(exception.stack.substrate.name, "1.62");
    ck_assert_double_eq_tol(exception.limit_used, one_layer(1.38, 1.62, 99.6, 550.0) / 0.01, 1e-3);
    ck_assert_str_eq(s.q.w.callout[0].substrate, s.q.w.glass[0].name);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* The last of zones, each 3 % thinner than the one before, that some thickness holds together with the vertex. */
static size_t last_zone(double limit)
{
    for (size_t last = 8; last > 0; last--)
        for (double nm = 90.0; nm < 130.0; nm += 0.01)
            if (one_layer(1.38, 1.52, nm, 550.0) <= limit &&
                one_layer(1.38, 1.52, nm * (1.0 - 0.03 * (double)last), 550.0) <= limit)
                return last;
    return 0;
}

/* The outer zones are left out until one layer holds the rest: the aperture ends at the last that it holds, in whole
 * hundredths of a mm. Where it does not hold the inner quarter of nine either, nothing is found, and it is the quarter
 * of which that is said. */
START_TEST(an_aperture_ends_at_a_zone)
{
    static const double limit[] = {0.0130, 0.0133, 0.0136, 0.01262};
    bc_zone zone[9] = {{0}};
    scene s;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {.kind = BC_EXCEPT_APERTURE, .callout = BC_NO_CALLOUT, .factor = 1.0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    const size_t last = last_zone(limit[_i]);
    for (size_t z = 0; z < 9; z++)
        zone[z] = (bc_zone){.radius_mm = 1.2344 * (double)z, .thickness_factor = 1.0 - 0.03 * (double)z};
    s.q.w.problem.zones = 9;
    s.q.w.problem.zone = zone;
    s.q.w.callout[0].limit = limit[_i];
    s.q.request.process = NULL;
    add(&s, 99.6, NAN, 1.5);
    ck_assert_int_eq(bc_try_relaxed(&attempt, NULL), BC_OK);
    ck_assert(exception.found == (last >= 2) && exception.found == (_i < 3));
    ck_assert_uint_eq(exception.stack.layers, last >= 2 ? 1 : 0);
    ck_assert_double_eq_tol(exception.aperture_mm, floor(200.0 * zone[last < 2 ? 2 : last].radius_mm) / 100.0, 1e-12);
    ck_assert(exception.offered.name[0] == '\0' && exception.all == NULL);
    bc_stack_clear(&exception.stack);
    close_scene(&s);
}
END_TEST

/* What is said of an offer is of 4000 runs with a seed of their own; without errors there are none, and paper decides.
 * A design that fails on paper is not good, however many runs do. */
START_TEST(an_offer_is_judged_anew)
{
    scene s;
    bool good = _i == 0;
    open_scene(&s);
    bc_thread_watch watch = {&s.watch, true};
    bc_exception exception = {0};
    const bc_try attempt = {&s.pool, &exception, &watch};
    const bc_yield_options options = {.runs = 4000, .seed = 12, .threads = 1, .quick = true};
    bc_yield_result runs;
    s.q.request.seed = 11;
    s.q.w.row[0].thickness_sigma = 0.06;
    s.q.w.callout[0].limit = 0.0140;
    s.q.w.stack.layer[0].thickness_nm = 99.6;
    ck_assert_int_eq(bc_yield(&s.q.w.problem, &s.q.w.stack, &s.q.w.process, &options, &runs, NULL), BC_OK);
    ck_assert(runs.yield > 0.5 && runs.yield < 0.999);
    s.q.request.yield = _i == 0 ? runs.yield + 1e-6 : runs.yield;
    if (_i == 2)
        s.q.request.process = NULL;
    if (_i == 3)
        s.q.w.callout[0].limit = 0.0126;
    ck_assert_int_eq(bc_try_verify(&attempt, &s.q.w.problem, &s.q.w.stack, &good, NULL), BC_OK);
    ck_assert(good == (_i == 1 || _i == 2));
    ck_assert_uint_eq(exception.seed, 12);
    ck_assert_uint_eq(exception.runs, _i == 2 ? 0 : 4000);
    ck_assert_double_eq_tol(exception.limit_used, one_layer(1.38, 1.52, 99.6, 550.0) / s.q.w.callout[0].limit, 1e-9);
    if (_i < 2)
        ck_assert(exception.yield == runs.yield && exception.yield_low == runs.yield_low &&
                  exception.yield_high == runs.yield_high);
    if (_i == 2)
        ck_assert(isnan(exception.yield) && isnan(exception.yield_low) && isnan(exception.yield_high));
    bc_yield_result_clear(&runs);
    close_scene(&s);
}
END_TEST

/* In the middle of the band in wavenumber, where the theorem holds and where it does not; of what else there is only
 * what goes clearly beyond. */
START_TEST(what_is_said_of_materials)
{
    static const double others[] = {1.375, 1.34, 1.34, 2.9, 3.1, 3.1};
    bc_medium layers[2], other[6];
    bc_callout row = {.from_nm = 400.0, .to_nm = 800.0, .aoi_to_rad = _i == 1 ? 0.01 : 0.0};
    bc_finding finding[2] = {{0}, {.callout = &row}};
    bc_quote_result result = {.layers = 2, .layer = layers, .check = {.finding = finding}, .decisive_finding = 1};
    double at_nm = 1600.0 / 3.0, n = NAN;
    scene s;
    open_scene_of(&s, "1.38,TiO2", 2);
    ck_assert_double_eq_tol(bc_middle_nm(&row), at_nm, 1e-9);
    layers[0] = s.q.layer[1];
    layers[1] = s.q.layer[0];
    s.q.w.callout[0].from_nm = 500.0;
    s.q.w.callout[0].to_nm = 600.0;
    ck_assert_int_eq(bc_dispersion_index(layers[0].dispersion, 1, &at_nm, &n, NULL, NULL), BC_OK);
    for (size_t i = 0; i < 6; i++) {
        char name[BC_NAME_SIZE];
        snprintf(name, sizeof name, "%.3f", _i == 2 && i == 1 ? n + 0.005 : others[i]);
        ck_assert_int_eq(bc_medium_find(s.q.w.materials, name, NULL, &other[i], NULL), BC_OK);
    }
    s.q.request.other_layer = other;
    s.q.request.other_layers = _i == 2 ? 2 : 6;
    s.q.w.problem.zones = _i == 2 ? 1 : 0;
    bc_quote_reasons(&s.q.request, &result);
    ck_assert(result.materials.lowest == &layers[1] && result.materials.highest == &layers[0]);
    ck_assert_double_eq(result.materials.lowest_n, 1.38);
    ck_assert_double_eq_tol(result.materials.highest_n, n, 1e-9);
    ck_assert_ptr_eq(result.materials.lower, _i == 2 ? NULL : &other[1]);
    ck_assert_ptr_eq(result.materials.higher, _i == 2 ? NULL : &other[4]);
    ck_assert(result.materials.normal == (_i == 0));
    s.q.w.problem.zones = 0;
    close_scene(&s);
}
END_TEST

TCase *change_case(void)
{
    TCase *tests = tcase_create("change");
    tcase_add_test(tests, where_the_halving_ends_designs_are_searched_for);
    tcase_add_loop_test(tests, the_lowest_limit_of_six, 0, 6);
    tcase_add_loop_test(tests, no_limit_is_raised_with_the_yield, 0, 6);
    tcase_add_test(tests, a_yield_of_none_is_raised_by_what_is_needed);
    tcase_add_test(tests, a_yield_is_raised_against_errors_of_index);
    tcase_add_loop_test(tests, another_glass_with_several_designs, 0, 2);
    tcase_add_loop_test(tests, an_aperture_ends_at_a_zone, 0, 4);
    tcase_add_loop_test(tests, an_offer_is_judged_anew, 0, 4);
    tcase_add_loop_test(tests, what_is_said_of_materials, 0, 3);
    return tests;
}
