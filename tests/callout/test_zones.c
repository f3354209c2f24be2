/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A zone of a curved surface is a plane surface with other thicknesses in other light: made by hand here.
 */
#include "bench.h"
#include "suites.h"
#include <bloomcoat/scatter.h>
#include <bloomcoat/zones.h>
#include <check.h>
#include <math.h>
#include <string.h>

static const single_layer coating = {1.0, 1.38, 1.52, 99.0};

static bc_callout range_of(double from_deg, double to_deg)
{
    bc_callout callout = callout_of(450.0, 650.0);
    callout.limit = 0.02;
    callout.aoi_from_rad = from_deg * DEGREES;
    callout.aoi_to_rad = to_deg * DEGREES;
    return callout;
}

static bc_check_result check_at(const bc_stack *stack, const bc_callouts *callouts, size_t zones, const bc_zone *zone)
{
    bc_check_result result;
    bc_error error;
    ck_assert_msg(bc_check_zones(stack, callouts, 0, NULL, NULL, zones, zone, &result, &error) == BC_OK, "%s",
                  error.message);
    return result;
}

/* Light from whichever side: cos(local) = cos s cos a + sin s sin a cos(azimuth), so the local angles run from |s - a|
 * to s + a; over a range of a, from 0 when s lies in it. (spherical law of cosines, elementary) */
START_TEST(angles_against_the_surface)
{
    static const struct {
        double slope, from, to, local_from, local_to;
    } cases[] = {{0, 0, 0, 0, 0},     {30, 0, 0, 30, 30},  {30, 10, 10, 20, 40}, {10, 30, 30, 20, 40},
                 {30, 0, 20, 10, 50}, {20, 10, 30, 0, 50}, {5, 10, 30, 5, 35},   {40, 40, 40, 0, 80}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const bc_zone axial = {1.0, cases[i].slope * DEGREES, 1.0, true},
                      plain = {1.0, cases[i].slope * DEGREES, 1.0, false};
        const bc_callout callout = range_of(cases[i].from, cases[i].to);
        bc_callout local;
        ck_assert_int_eq(bc_zone_callout(&axial, &callout, &local, NULL), BC_OK);
        ck_assert_double_eq_tol(local.aoi_from_rad, cases[i].local_from * DEGREES, 1e-15);
        ck_assert_double_eq_tol(local.aoi_to_rad, cases[i].local_to * DEGREES, 1e-15);
        ck_assert_int_eq(bc_zone_callout(&plain, &callout, &local, NULL), BC_OK);
        ck_assert(local.aoi_from_rad == callout.aoi_from_rad && local.aoi_to_rad == callout.aoi_to_rad);
    }
}
END_TEST

START_TEST(the_verdict_is_that_of_a_stack_made_by_hand)
{
    const bc_zone zone = {5.0, 25.0 * DEGREES, 0.87, true};
    bc_callout row[2] = {range_of(0.0, 10.0), range_of(0.0, 0.0)};
    bc_callout local[2] = {range_of(15.0, 35.0), range_of(25.0, 25.0)};
    const bc_callouts asked = {.count = 2, .callout = row}, by_hand = {.count = 2, .callout = local};
    bench_stack bench, scaled;
    bc_check_result at_zone, expected;
    row[1].statistic = local[1].statistic = BC_AVERAGE;
    row[1].polarization = local[1].polarization = BC_POL_EACH;
    lay_layer(&bench, &coating);
    lay_layer(&scaled, &coating);
    scaled.layer[0].thickness_nm *= 0.87;
    at_zone = check_at(&bench.stack, &asked, 1, &zone);
    ck_assert_int_eq(bc_check(&scaled.stack, &by_hand, 0, NULL, NULL, &expected, NULL), BC_OK);
    ck_assert_uint_eq(at_zone.count, 2);
    for (size_t f = 0; f < 2; f++) {
        ck_assert_double_eq_tol(at_zone.finding[f].value, expected.finding[f].value, 1e-14);
        ck_assert_double_eq_tol(at_zone.finding[f].at_nm, expected.finding[f].at_nm, 1e-6);
        ck_assert_double_eq_tol(at_zone.finding[f].at_aoi_rad, expected.finding[f].at_aoi_rad, 1e-9);
        ck_assert_int_eq(at_zone.finding[f].at_polarization, expected.finding[f].at_polarization);
        ck_assert_ptr_eq(at_zone.finding[f].callout, &row[f]);
        ck_assert_ptr_eq(at_zone.finding[f].substrate, &bench.stack.substrate);
        ck_assert_ptr_eq(at_zone.finding[f].zone, &zone);
        ck_assert_ptr_null(expected.finding[f].zone);
    }
    ck_assert(bench.layer[0].thickness_nm == 99.0);
    bc_check_result_clear(&at_zone);
    bc_check_result_clear(&expected);
}
END_TEST

/* Each finding has its own worst zone: at the edge the layer is too thin for the red end, at the vertex too thick for a
 * narrow band in the blue. */
START_TEST(every_finding_has_its_worst_zone)
{
    const bc_zone zone[3] = {{0.0, 0.0, 1.0, false}, {1.0, 0.3, 0.9, false}, {2.0, 0.6, 0.8, false}};
    bc_callout row[2] = {callout_of(640.0, 660.0), callout_of(420.0, 430.0)};
    const bc_callouts callouts = {.count = 2, .callout = row};
    bench_stack bench;
    bc_check_result all, one;
    double largest = 0.0;
    lay_layer(&bench, &coating);
    all = check_at(&bench.stack, &callouts, 3, zone);
    ck_assert_ptr_eq(all.finding[0].zone, &zone[2]);
    ck_assert_ptr_eq(all.finding[1].zone, &zone[0]);
    for (size_t z = 0; z < 3; z++) {
        one = check_at(&bench.stack, &callouts, 1, &zone[z]);
        largest = fmax(largest, one.limit_used);
        bc_check_result_clear(&one);
    }
    ck_assert(all.limit_used == largest);
    bc_check_result_clear(&all);
    all = check_at(&bench.stack, &callouts, 0, NULL);
    one = check_at(&bench.stack, &callouts, 1, zone);
    ck_assert_double_eq_tol(all.limit_used, one.limit_used, 1e-14);
    ck_assert_ptr_null(all.finding[0].zone);
    bc_check_result_clear(&all);
    bc_check_result_clear(&one);
}
END_TEST

START_TEST(what_cannot_be_at_a_zone_is_refused)
{
    const bc_zone steep = {8.0, 50.0 * DEGREES, 0.6, true};
    bc_callout row = range_of(0.0, 40.0);
    const bc_callouts callouts = {.count = 1, .callout = &row};
    bench_stack bench;
    bc_check_result result;
    bc_error error;
    lay_layer(&bench, &coating);
    ck_assert_int_eq(bc_check_zones(&bench.stack, &callouts, 0, NULL, NULL, 1, &steep, &result, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "at 90 degrees"));
    row.aoi_to_rad = 39.0 * DEGREES;
    ck_assert_int_eq(bc_check_zones(&bench.stack, &callouts, 0, NULL, NULL, 1, &steep, &result, &error), BC_OK);
    bc_check_result_clear(&result);
    row.scope = BC_SCOPE_PART;
    ck_assert_int_eq(bc_check_zones(&bench.stack, &callouts, 0, NULL, NULL, 1, &steep, &result, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "scope part"));
}
END_TEST

/* exp(-x^2) is 1 - x^2 to x^4 / 2; at grazing incidence a rough surface is a mirror; a surface between two media of one
 * index changes no phase. (elementary) */
START_TEST(scatter_of_a_row)
{
    bc_callout callout = callout_of(550.0, 550.0);
    bench_stack bench;
    bc_finding finding;
    bc_scatter scatter;
    double x;
    lay_layer(&bench, &coating);
    callout.limit = 0.02;
    finding = find(&bench.stack, &callout, NULL);
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 2.0, &scatter, NULL), BC_OK);
    x = 4.0 * PI * 2.0 / 550.0;
    ck_assert_double_eq_tol(scatter.reflected, x * x * (1.0 - 0.5 * x * x), pow(x, 6.0));
    ck_assert_double_eq_tol(scatter.change, scatter.reflected * finding.value, 1e-18);
    ck_assert_double_eq_tol(scatter.margin, callout.limit - finding.value, 1e-18);
    ck_assert(!scatter.matters);
    callout.limit = finding.value + 5.0 * scatter.change;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 2.0, &scatter, NULL), BC_OK);
    ck_assert(scatter.matters);
    ck_assert_double_lt(bc_scatter_reflected(2.0, 550.0, 1.0, 89.9 * DEGREES), 1e-7);
    ck_assert(bc_scatter_transmitted(2.0, 550.0, 1.5, 1.5, 0.7) == 0.0);
    ck_assert_double_eq_tol(bc_scatter_transmitted(2.0, 550.0, 1.0, 3.0, 0.0),
                            bc_scatter_reflected(2.0, 550.0, 1.0, 0.0), 1e-15);
}
END_TEST

/* What roughness takes from T, from the sum of both, and from a part, which light meets on two faces; and a mean, which
 * has no worst point. */
START_TEST(scatter_of_other_rows)
{
    bc_callout callout = callout_of(540.0, 560.0);
    bench_stack bench;
    bc_finding finding = {.callout = &callout, .value = 0.97, .at_nm = 550.0};
    bc_scatter surface, part;
    bc_medium gone;
    const double table_nm[] = {600.0, 700.0}, n[] = {1.5, 1.5};
    lay_layer(&bench, &coating);
    finding.substrate = &bench.stack.substrate;
    callout.quantity = BC_T;
    callout.sense = BC_AT_LEAST;
    callout.limit = 0.96;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 3.0, &surface, NULL), BC_OK);
    ck_assert_double_eq_tol(surface.change, surface.transmitted * 0.97, 1e-18);
    ck_assert_double_eq_tol(surface.margin, 0.01, 1e-15);
    callout.scope = BC_SCOPE_PART;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 3.0, &part, NULL), BC_OK);
    ck_assert_double_eq_tol(part.change, 0.97 * (1.0 - pow(1.0 - surface.transmitted, 2.0)), 1e-15);
    callout.quantity = BC_R;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 3.0, &part, NULL), BC_OK);
    ck_assert_double_eq_tol(part.change, 0.97 * (1.0 - (1.0 - surface.reflected) * pow(1.0 - surface.transmitted, 2.0)),
                            1e-15);
    callout.quantity = BC_A;
    callout.scope = BC_SCOPE_SURFACE;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 3.0, &part, NULL), BC_OK);
    ck_assert_double_eq_tol(part.change, 0.03 * fmax(surface.reflected, surface.transmitted), 1e-15);
    callout.statistic = BC_AVERAGE;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 3.0, &part, NULL), BC_OK);
    ck_assert_double_eq(part.at_nm, 540.0);
    gone = table("far", 2, table_nm, n);
    finding.substrate = &gone;
    ck_assert_int_eq(bc_scatter_of(&bench.stack, &finding, 3.0, &part, NULL), BC_ERROR_INPUT);
}
END_TEST

/* A layer next to vacuum's emptiness: n^2 is no number any more that could be divided by. It must not pass. */
START_TEST(no_figure_is_no_pass)
{
    bc_callout callout = callout_of(550.0, 550.0);
    bench_stack bench;
    bc_check_result result;
    bc_error error = {0};
    const bc_callouts callouts = {.count = 1, .callout = &callout};
    lay_layer(&bench, &coating);
    bench.layer[0].material = constant("nothing", 1e-200);
    callout.aoi_from_rad = callout.aoi_to_rad = 0.5;
    callout.polarization = BC_POL_P;
    callout.limit = 1.0;
    ck_assert_int_eq(bc_check(&bench.stack, &callouts, 1, &bench.stack.substrate, NULL, &result, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "which light cannot do"));
}
END_TEST

TCase *zones_case(void)
{
    TCase *tests = tcase_create("zones");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, angles_against_the_surface);
    tcase_add_test(tests, the_verdict_is_that_of_a_stack_made_by_hand);
    tcase_add_test(tests, every_finding_has_its_worst_zone);
    tcase_add_test(tests, what_cannot_be_at_a_zone_is_refused);
    tcase_add_test(tests, scatter_of_a_row);
    tcase_add_test(tests, scatter_of_other_rows);
    tcase_add_test(tests, no_figure_is_no_pass);
    return tests;
}
