/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The colour of what a callout sees, against the callout's own value, which is found by sums of another kind, and
 * against the colour at one angle, which test_colour.c holds against what the CIE publishes.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/curves.h>
#include <bloomcoat/zones.h>
#include <math.h>

static const single_layer layer = {1.0, 1.38, 1.52, 112.0};

static bc_callout asked(bc_colour_value colour, double from_deg, double to_deg)
{
    bc_callout callout = callout_of(BC_CIE_FROM_NM, BC_CIE_TO_NM);
    callout.statistic = BC_AVERAGE;
    callout.colour = colour;
    callout.weight =
        colour == BC_NO_COLOUR ? bc_weight_luminous() : bc_weight_tristimulus(BC_ILLUMINANT_A, BC_OBSERVER_10, 1);
    callout.illuminant = colour == BC_NO_COLOUR ? BC_ILLUMINANT_D65 : BC_ILLUMINANT_A;
    callout.observer = colour == BC_NO_COLOUR ? BC_OBSERVER_2 : BC_OBSERVER_10;
    callout.aoi_from_rad = from_deg * DEGREES;
    callout.aoi_to_rad = to_deg * DEGREES;
    return callout;
}

static double value_of(const bc_colour *colour, bc_colour_value value)
{
    return value == BC_NO_COLOUR  ? colour->luminous
           : value == BC_CHROMA   ? colour->chroma / 100.0
           : value == BC_COLOUR_A ? fabs(colour->a) / 100.0
                                  : fabs(colour->x) / 100.0;
}

static const bc_colour_value values[] = {BC_NO_COLOUR, BC_CHROMA, BC_COLOUR_A, BC_COLOUR_X};

/* In s, p, each and unpolarized light, over cones, of R and T, of a surface and a part; A has no colour. */
START_TEST(is_what_the_callout_limits)
{
    const bc_back back = {.kind = BC_BACK_UNCOATED};
    bench_stack bench;
    lay_layer(&bench, &layer);
    for (int i = 0; i < 4 * 4 * 2 * 2; i++) {
        bc_callout callout = asked(values[i % 4], 10.0, 45.0);
        bc_finding finding;
        bc_colour colour;
        callout.polarization = (bc_polarization)(i / 4 % 4);
        callout.quantity = i / 16 % 2 ? BC_T : BC_R;
        callout.scope = i / 32 % 2 ? BC_SCOPE_PART : BC_SCOPE_SURFACE;
        callout.cone_rad = callout.polarization == BC_POL_UNPOLARIZED ? 12.0 * DEGREES : 0.0;
        finding = find(&bench.stack, &callout, &back);
        ck_assert(bc_callout_is_seen(&callout));
        ck_assert_int_eq(bc_finding_colour(&bench.stack, &back, &finding, &colour, NULL), BC_OK);
        expect_near(value_of(&colour, callout.colour), finding.value, 1e-12);
    }
    bc_callout absorbed = asked(BC_NO_COLOUR, 0.0, 0.0);
    absorbed.quantity = BC_A;
    ck_assert(!bc_callout_is_seen(&absorbed));
}
END_TEST

START_TEST(is_that_of_the_zone_and_the_glass)
{
    const bc_zone zone[] = {{0.0, 0.0, 1.0, true}, {9.0, 30.0 * DEGREES, 1.15, true}};
    const bc_medium glass[] = {constant("1.6", 1.6), constant("1.9", 1.9)};
    bc_callout callout = asked(BC_CHROMA, 0.0, 5.0);
    const bc_callouts callouts = {.count = 1, .callout = &callout};
    bench_stack bench;
    bc_check_result result;
    lay_layer(&bench, &layer);
    ck_assert_int_eq(bc_check_zones(&bench.stack, &callouts, 2, glass, NULL, 2, zone, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.count, 2);
    for (size_t f = 0; f < 2; f++) {
        bc_colour colour;
        ck_assert_int_eq(bc_finding_colour(&bench.stack, NULL, &result.finding[f], &colour, NULL), BC_OK);
        expect_near(colour.chroma / 100.0, result.finding[f].value, 1e-12);
    }
    ck_assert_ptr_eq(result.finding[0].zone, &zone[1]);
    bc_check_result_clear(&result);
}
END_TEST

/* A group in one light by one eye; others apart. From end to end in steps of at most 5 degrees, s before p. */
START_TEST(paths_lead_along_the_angles)
{
    bc_callout row[5] = {asked(BC_CHROMA, 10.0, 22.0), asked(BC_COLOUR_X, 10.0, 22.0), asked(BC_NO_COLOUR, 10.0, 22.0),
                         asked(BC_CHROMA, 20.0, 20.0), callout_of(400.0, 700.0)};
    const bc_callouts callouts = {.count = 5, .callout = row};
    bench_stack bench;
    bc_check_result result;
    bc_check_curves curves;
    lay_layer(&bench, &layer);
    row[3].polarization = BC_POL_EACH;
    ck_assert_int_eq(bc_check(&bench.stack, &callouts, 0, NULL, NULL, &result, NULL), BC_OK);
    ck_assert_int_eq(bc_check_curves_compute(&bench.stack, NULL, &result, &curves, NULL), BC_OK);
    ck_assert_uint_eq(curves.colours.count, 4);
    ck_assert(curves.colours.path[0].callout == &row[0] && curves.colours.path[1].callout == &row[2]);
    ck_assert(curves.colours.path[2].plane == BC_POL_S && curves.colours.path[3].plane == BC_POL_P);
    ck_assert(curves.colours.path[0].count == 4 && curves.colours.path[3].count == 1);
    for (size_t p = 0; p < 4; p++) {
        const bc_colour_path *path = &curves.colours.path[p];
        for (size_t i = 0; i < path->count; i++) {
            bc_colour colour;
            bc_illuminant illuminant;
            bc_observer observer;
            bc_callout_view(path->callout, &illuminant, &observer);
            ck_assert_int_eq(bc_colour_compute(&bench.stack, NULL,
                                               p < 2 ? (10.0 + 4.0 * (double)i) * DEGREES : 0.0 + 20.0 * DEGREES,
                                               path->plane, illuminant, observer, &colour, NULL),
                             BC_OK);
            expect_near(path->colour[i].a, colour.a, 1e-9);
            expect_near(path->colour[i].y, colour.y, 1e-9);
        }
    }
    bc_check_curves_clear(&curves);
    bc_check_result_clear(&result);
}
END_TEST

/* Of five glasses the path of the one that decides. */
START_TEST(of_many_glasses_one)
{
    bc_medium glass[5];
    bc_callout callout = asked(BC_CHROMA, 0.0, 0.0);
    const bc_callouts callouts = {.count = 1, .callout = &callout};
    bench_stack bench;
    bc_check_result result;
    bc_colour_paths paths;
    lay_layer(&bench, &layer);
    for (int i = 0; i < 5; i++)
        glass[i] = constant((const char *const[]){"1.4", "1.5", "1.6", "1.7", "1.8"}[i], 1.4 + 0.1 * i);
    ck_assert_int_eq(bc_check(&bench.stack, &callouts, 5, glass, NULL, &result, NULL), BC_OK);
    ck_assert_int_eq(bc_colour_paths_compute(&bench.stack, NULL, &result, &paths, NULL), BC_OK);
    ck_assert_uint_eq(paths.count, 1);
    ck_assert_ptr_eq(paths.path[0].substrate, result.finding[result.decisive].substrate);
    bc_colour_paths_clear(&paths);
    bc_check_result_clear(&result);
}
END_TEST

TCase *colour_path_case(void)
{
    TCase *tests = tcase_create("colour_path");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, is_what_the_callout_limits);
    tcase_add_test(tests, is_that_of_the_zone_and_the_glass);
    tcase_add_test(tests, paths_lead_along_the_angles);
    tcase_add_test(tests, of_many_glasses_one);
    return tests;
}
