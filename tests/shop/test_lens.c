/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Curved surfaces: geometry against coordinates and closed forms, and a single layer, whose R is known in closed form
 * at every thickness, from the centre to the edge.
 */
#include "bowl.h"
#include <math.h>
#include <string.h>

static double factor_at(const bc_curved *curved, double at_mm)
{
    bc_zone zone;
    bc_error error;
    ck_assert_msg(bc_curved_zone(curved, at_mm, &zone, &error) == BC_OK, "%s", error.message);
    return zone.thickness_factor;
}

/* A 3-4-5 triangle: radius 10 mm, 6 mm from the axis: sine 0.6, cosine 0.8, sag 2 mm. (elementary) */
START_TEST(slope_and_sag)
{
    const bc_curved curved = {.radius_mm = 10.0, .clear_aperture_mm = 12.0, .slope_exponent = 1.0};
    bc_curved power = curved;
    power.slope_exponent = 2.5;
    ck_assert_double_eq_tol(sin(bc_curved_slope_rad(&curved, 6.0)), 0.6, 1e-15);
    ck_assert_double_eq_tol(bc_curved_sag_mm(&curved, 6.0), 2.0, 1e-14);
    ck_assert_double_eq_tol(factor_at(&curved, 6.0), 0.8, 1e-15);
    ck_assert_double_eq_tol(factor_at(&power, 6.0), pow(0.8, 2.5), 1e-15);
    ck_assert(factor_at(&curved, 0.0) == 1.0);
}
END_TEST

/* The same zone with the source 10 mm in front of the vertex. Concave: zone (6, 2), normal (-0.6, 0.8), source (0, 10):
 * the vapour flies (-6, 8) over 10 mm, straight along the normal: 10^2 / 10^2 = 1 from a point, times 0.8 from a small
 * area. Convex: zone (6, -2), normal (0.6, 0.8), flight (-6, 12): d^2 = 180, cosines 6 / d and 12 / d: 6 / d 100 / 180
 * and 6 12 / 180 100 / 180. (elementary) */
START_TEST(the_rim_of_a_concave_surface_is_nearer_to_the_source)
{
    bc_curved curved = {.radius_mm = 10.0,
                        .clear_aperture_mm = 12.0,
                        .concave = true,
                        .distribution = BC_DISTRIBUTION_SOURCE,
                        .source_distance_mm = 10.0,
                        .point_source = true};
    ck_assert_double_eq_tol(factor_at(&curved, 6.0), 1.0, 1e-14);
    curved.point_source = false;
    ck_assert_double_eq_tol(factor_at(&curved, 6.0), 0.8, 1e-14);
    curved.concave = false;
    ck_assert_double_eq_tol(factor_at(&curved, 6.0), 0.4 / 1.8, 1e-14);
    curved.point_source = true;
    ck_assert_double_eq_tol(factor_at(&curved, 6.0), 6.0 / sqrt(180.0) / 1.8, 1e-14);
}
END_TEST

/* Every zone of a concave sphere is as thick as its vertex when a point source stands in its centre, by symmetry, and
 * when a small-area source lies on the sphere itself, opposite the vertex: both cosines are then d / 2R. (Holland and
 * Steckelmacher, Vacuum 2, 346 (1952)) */
START_TEST(two_places_from_where_a_sphere_is_coated_evenly)
{
    bc_curved curved = {.radius_mm = 25.0,
                        .clear_aperture_mm = 49.0,
                        .concave = true,
                        .distribution = BC_DISTRIBUTION_SOURCE,
                        .source_distance_mm = 25.0,
                        .point_source = true};
    for (double at = 0.0; at <= 24.5; at += 0.5)
        ck_assert_double_eq_tol(factor_at(&curved, at), 1.0, 1e-13);
    curved.point_source = false;
    curved.source_distance_mm = 50.0;
    for (double at = 0.0; at <= 24.5; at += 0.5)
        ck_assert_double_eq_tol(factor_at(&curved, at), 1.0, 1e-13);
}
END_TEST

static void refuse(const bc_curved *curved, const char *piece)
{
    bc_error error = {0};
    ck_assert_msg(bc_curved_validate(curved, &error) == BC_ERROR_INPUT, "%s", piece);
    ck_assert_msg(strstr(error.message, piece) != NULL, "'%s' says no '%s'", error.message, piece);
}

START_TEST(surfaces_that_cannot_be)
{
    const bc_curved good = {.radius_mm = 10.0, .clear_aperture_mm = 12.0, .slope_exponent = 1.0};
    const double bad_radius[] = {0.0, -1.0, NAN, INFINITY}, bad_aperture[] = {0.0, -3.0, NAN, INFINITY};
    double at[2] = {0.0, 5.9}, percent[2] = {100.0, 90.0};
    const bc_profile profile = {.rows = 2, .at = at, .percent = percent};
    bc_curved bad;
    ck_assert_int_eq(bc_curved_validate(&good, NULL), BC_OK);
    for (size_t i = 0; i < 4; i++) {
        bad = good;
        bad.radius_mm = bad_radius[i];
        refuse(&bad, "radius of curvature");
        bad = good;
        bad.clear_aperture_mm = bad_aperture[i];
        refuse(&bad, "clear aperture");
    }
    bad = good;
    bad.clear_aperture_mm = 20.0;
    refuse(&bad, "a hemisphere");
    bad.clear_aperture_mm = 20.001;
    refuse(&bad, "whole sphere");
    bad = good;
    bad.slope_exponent = -1.0;
    refuse(&bad, "slope exponent");
    bad = (bc_curved){10.0, false, 12.0, .distribution = BC_DISTRIBUTION_SOURCE, .source_distance_mm = 2.49};
    refuse(&bad, "shadow"); /* the tangent at the edge meets the axis 10 / 0.8 - 10 = 2.5 mm above the vertex */
    bad.source_distance_mm = 2.6;
    ck_assert_int_eq(bc_curved_validate(&bad, NULL), BC_OK);
    bad.concave = true; /* sag 2 mm */
    ck_assert_int_eq(bc_curved_validate(&bad, NULL), BC_OK);
    bad.source_distance_mm = 2.0;
    refuse(&bad, "in front of the edge");
    bad.source_distance_mm = NAN;
    refuse(&bad, "source distance");
    bad = (bc_curved){10.0, false, 12.0, .distribution = BC_DISTRIBUTION_PROFILE, .profile = &profile};
    refuse(&bad, "expected them to reach 6 mm");
    at[1] = 6.0;
    ck_assert_int_eq(bc_curved_validate(&bad, NULL), BC_OK);
}
END_TEST

START_TEST(zones_by_equal_steps_of_slope)
{
    const bc_curved curved = {.radius_mm = 10.0, .clear_aperture_mm = 12.0, .slope_exponent = 1.0, .axial = true};
    bc_zone zone[5];
    ck_assert_int_eq(bc_curved_zones(&curved, 5, zone, NULL), BC_OK);
    for (size_t z = 0; z < 5; z++) {
        ck_assert_double_eq_tol(zone[z].slope_rad, 0.25 * (double)z * asin(0.6), 1e-15);
        ck_assert_double_eq_tol(zone[z].radius_mm, 10.0 * sin(zone[z].slope_rad), 1e-14);
        ck_assert(zone[z].axial);
    }
    ck_assert(zone[4].radius_mm == 6.0);
}
END_TEST

/* R grows from the vertex outward and reaches the limit at a slope found here by bisection of the closed form. */
START_TEST(the_aperture_that_holds)
{
    const double limit = 0.012, edge_rad = asin(14.0 / 20.0);
    double low = 0.0, high = edge_rad;
    workshop w;
    bc_lens_result lens;
    open_single(&w, limit);
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (R_at_slope(middle, QUARTER) <= limit)
            low = middle;
        else
            high = middle;
    }
    lens = look(&w, &bowl, BC_LENS_ZONES);
    ck_assert(!lens.designed.check.pass);
    ck_assert_double_eq_tol(lens.designed.aperture_mm, 40.0 * sin(low), 0.0021);
    ck_assert_double_le(lens.designed.aperture_mm, 40.0 * sin(low) + 1e-9);
    ck_assert_double_eq_tol(lens.designed.check.limit_used, R_at_slope(edge_rad, QUARTER) / limit, 1e-12);
    ck_assert(lens.designed.check.finding[0].zone == &lens.zone[lens.zones - 1]);
    for (size_t z = 0; z < lens.zones; z++) {
        ck_assert_double_eq_tol(lens.designed.value[z], R_at_slope(lens.zone[z].slope_rad, QUARTER), 1e-13);
        ck_assert_double_eq_tol(lens.designed.limit_used[z], lens.designed.value[z] / limit, 1e-12);
        ck_assert_double_eq(lens.designed.at_nm[z], WAVE_NM);
        ck_assert_double_eq(lens.designed.at_aoi_rad[z], 0.0);
    }
    bc_lens_result_clear(&lens);
    lens = look(&w, &bowl, 2); /* few zones, far from one another */
    ck_assert_uint_lt(lens.zones, 10);
    ck_assert_double_eq_tol(lens.designed.aperture_mm, 40.0 * sin(low), 0.0021);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* The mean of R(r) over the disc, 2 / a^2 times the integral of R r dr, here by 20000 midpoints of the closed form; a
 * straight line between 41 zones stays within 5e-6 of it. */
START_TEST(the_mean_over_the_area)
{
    const double edge_mm = 14.0;
    double sum = 0.0;
    workshop w;
    bc_lens_result lens;
    open_single(&w, 0.02);
    for (int i = 0; i < 20000; i++) {
        const double r = edge_mm * (i + 0.5) / 20000.0;
        sum += R_at_slope(asin(r / 20.0), QUARTER) * r * edge_mm / 20000.0;
    }
    lens = look(&w, &bowl, BC_LENS_ZONES);
    ck_assert_double_eq_tol(lens.designed.area_mean[0], 2.0 * sum / (edge_mm * edge_mm), 5e-6);
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* A profile that repeats the cosine gives what the cosine gives. */
START_TEST(a_profile_in_place_of_the_cosine)
{
    double at[41], percent[41];
    const bc_profile profile = {.by_slope = true, .rows = 41, .at = at, .percent = percent};
    bc_curved measured = bowl;
    workshop w;
    bc_lens_result by_profile, by_slope;
    for (int i = 0; i < 41; i++) {
        at[i] = i * DEGREES * 45.0 / 40.0;
        percent[i] = 100.0 * cos(at[i]);
    }
    measured.distribution = BC_DISTRIBUTION_PROFILE;
    measured.profile = &profile;
    open_single(&w, 0.012);
    by_profile = look(&w, &measured, BC_LENS_ZONES);
    by_slope = look(&w, &bowl, BC_LENS_ZONES);
    ck_assert_double_eq_tol(by_profile.designed.check.limit_used, by_slope.designed.check.limit_used, 1e-3);
    ck_assert_double_eq_tol(by_profile.designed.aperture_mm, by_slope.designed.aperture_mm, 0.01);
    bc_lens_result_clear(&by_profile);
    bc_lens_result_clear(&by_slope);
    workshop_close(&w);
}
END_TEST

/* A bare surface in light along the axis: Fresnel at the zone's own slope. (Born and Wolf, ch. 1.5) */
START_TEST(a_bare_surface_in_axial_light)
{
    bc_curved axial = bowl;
    workshop w;
    bc_lens_result lens;
    axial.axial = true;
    workshop_open(&w, "air", "", "1.62");
    workshop_ask(&w, 0.1, WAVE_NM, WAVE_NM, 0.0)->polarization = BC_POL_S;
    lens = look(&w, &axial, 9);
    ck_assert(lens.factor == 1.0);
    for (size_t z = 1; z < lens.zones; z++) {
        const double i = lens.zone[z].slope_rad, t = asin(sin(i) / GLASS);
        ck_assert_double_eq_tol(lens.designed.value[z], pow(sin(i - t) / sin(i + t), 2.0), 1e-13);
        ck_assert_double_eq_tol(lens.designed.at_aoi_rad[z], i, 1e-15);
    }
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* A cone along the axis meets each zone about that zone's slope: what a plane surface shows with the zone's thickness,
 * tilted by its slope in the same cone. */
START_TEST(a_curved_surface_in_a_cone)
{
    const double half_rad = 10.0 * DEGREES;
    bc_curved axial = bowl;
    workshop w;
    bc_lens_result lens;
    bc_check_result plane;
    bc_error error;
    axial.axial = true;
    open_single(&w, 0.03);
    w.callout[0].cone_rad = half_rad;
    lens = look(&w, &axial, 9);
    for (size_t z = 0; z < lens.zones; z++) {
        w.stack.layer[0].thickness_nm = QUARTER * lens.zone[z].thickness_factor;
        w.callout[0].aoi_from_rad = w.callout[0].aoi_to_rad = lens.zone[z].slope_rad;
        ck_assert_msg(bc_check(&w.stack, &w.callouts, 0, NULL, NULL, &plane, &error) == BC_OK, "%s", error.message);
        ck_assert_double_eq_tol(lens.designed.value[z], plane.finding[0].value, 1e-13);
        ck_assert_double_gt(fabs(plane.finding[0].value - R_at_slope(lens.zone[z].slope_rad, QUARTER)), 1e-6);
        bc_check_result_clear(&plane);
    }
    bc_lens_result_clear(&lens);
    workshop_close(&w);
}
END_TEST

/* A run is good when the layer is thin enough at the vertex and thick enough at the edge: with one normal error of the
 * layer's thickness the share is the difference of two normal probabilities. */
START_TEST(the_yield_is_that_of_all_zones)
{
    const double edge = cos(asin(14.0 / 20.0)), sigma = 0.06, limit = R_at_slope(0.0, 0.80 * QUARTER);
    const double vertex_nm = 1.12 * QUARTER; /* R reaches the limit at 0.8 and, by its symmetry, at 1.2 quarter waves */
    const double least = 0.80 / (1.12 * edge) - 1.0, most = 1.20 / 1.12 - 1.0;
    bc_zone zone[BC_LENS_ZONES];
    workshop w;
    bc_yield_result result;
    open_single(&w, limit);
    w.stack.layer[0].thickness_nm = vertex_nm;
    workshop_errors(&w, "1.38", sigma, 0.0, 0.0);
    ck_assert_int_eq(bc_curved_zones(&bowl, BC_LENS_ZONES, zone, NULL), BC_OK);
    w.problem.zones = BC_LENS_ZONES;
    w.problem.zone = zone;
    result = workshop_run(&w);
    expect_share(&result, normal_below(most / sigma) - normal_below(least / sigma));
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Of two rows the stricter one, named last, ends the aperture of both. */
START_TEST(the_row_that_fails_first_ends_the_aperture)
{
    const bc_curved curved = {.radius_mm = 10.0, .clear_aperture_mm = 17.0, .slope_exponent = 1.0};
    bc_lens_result result;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, 0.02, 550.0, 550.0, 0.0);
    workshop_ask(&w, 0.015, 550.0, 550.0, 0.0);
    ck_assert_int_eq(bc_lens(&w.stack, &w.callouts, 1, w.glass, &curved, 9, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.designed.ends, 1);
    ck_assert_double_lt(result.designed.finding_aperture_mm[1], result.designed.finding_aperture_mm[0]);
    ck_assert_double_eq(result.designed.aperture_mm, result.designed.finding_aperture_mm[1]);
    bc_lens_result_clear(&result);
    workshop_close(&w);
}
END_TEST

TCase *lens_case(void)
{
    TCase *tests = tcase_create("lens");
    tcase_add_test(tests, slope_and_sag);
    tcase_add_test(tests, the_rim_of_a_concave_surface_is_nearer_to_the_source);
    tcase_add_test(tests, two_places_from_where_a_sphere_is_coated_evenly);
    tcase_add_test(tests, surfaces_that_cannot_be);
    tcase_add_test(tests, zones_by_equal_steps_of_slope);
    tcase_add_test(tests, the_aperture_that_holds);
    tcase_add_test(tests, the_mean_over_the_area);
    tcase_add_test(tests, a_profile_in_place_of_the_cosine);
    tcase_add_test(tests, a_bare_surface_in_axial_light);
    tcase_add_test(tests, a_curved_surface_in_a_cone);
    tcase_add_test(tests, the_yield_is_that_of_all_zones);
    tcase_add_test(tests, the_row_that_fails_first_ends_the_aperture);
    return tests;
}
