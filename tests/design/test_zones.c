/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Designs for a curved surface: the merit at a zone is that of a plane surface with other thicknesses, and what a draft
 * claims holds at every zone.
 */
#include "merit.h"
#include "problem.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LAYERS 4
#define ZONES  41
#define FACTOR 0.83
static const unsigned material[LAYERS] = {0, 1, 0, 1};
static const double thickness_nm[LAYERS] = {90.0, 55.0, 30.0, 12.0};

static bc_merit *open_merit(const problem *p)
{
    bc_merit *merit;
    bc_error error;
    ck_assert_msg(bc_merit_alloc(&p->design, BC_DENSITY_SEARCH, LAYERS, BC_NO_FRINGES, &merit, &error) == BC_OK, "%s",
                  error.message);
    return merit;
}

static void open_rows(problem *p, double aoi_deg)
{
    bc_callout *row;
    problem_open(p, "1.52", "1.38,2.1");
    problem_add(p, 0.01, 450.0, 650.0, aoi_deg);
    row = problem_add(p, 0.99, 500.0, 600.0, aoi_deg);
    row->quantity = BC_T;
    row->sense = BC_AT_LEAST;
    row = problem_add(p, 0.02, 450.0, 650.0, aoi_deg);
    row->statistic = BC_AVERAGE;
}

/* Chain rule: with layers FACTOR times as thick, slopes are FACTOR and the Hessian FACTOR^2 times those of the plane
 * surface that has the thin layers; light along the axis meets the zone at its slope. */
START_TEST(a_zone_is_a_plane_surface_with_thinner_layers)
{
    const bc_zone zone = {3.0, 25.0 * acos(-1.0) / 180.0, FACTOR, true};
    problem curved, plane;
    bc_merit *at_zone, *by_hand;
    double thinner[LAYERS], hessian[2][LAYERS * LAYERS] = {{0}}, *z;
    open_rows(&curved, 0.0);
    open_rows(&plane, 25.0);
    curved.design.zones = 1;
    curved.design.zone = &zone;
    at_zone = open_merit(&curved);
    by_hand = open_merit(&plane);
    for (size_t j = 0; j < LAYERS; j++)
        thinner[j] = FACTOR * thickness_nm[j];
    bc_merit_evaluate(at_zone, LAYERS, material, thickness_nm, true);
    bc_merit_evaluate(by_hand, LAYERS, material, thinner, true);
    ck_assert_uint_eq(bc_merit_constraints(at_zone), bc_merit_constraints(by_hand));
    z = malloc(bc_merit_constraints(at_zone) * sizeof *z);
    for (size_t c = 0; c < bc_merit_constraints(at_zone); c++) {
        z[c] = 0.1 + 0.01 * (double)c;
        ck_assert_double_eq_tol(bc_merit_u(at_zone)[c], bc_merit_u(by_hand)[c], 1e-12);
        for (size_t j = 0; j < LAYERS; j++)
            ck_assert_double_eq_tol(bc_merit_slope(at_zone, j)[c], FACTOR * bc_merit_slope(by_hand, j)[c], 1e-12);
    }
    bc_merit_add_hessian(at_zone, z, hessian[0]);
    bc_merit_add_hessian(by_hand, z, hessian[1]);
    for (size_t k = 0; k < (size_t)LAYERS * LAYERS; k++)
        ck_assert_double_eq_tol(hessian[0][k], FACTOR * FACTOR * hessian[1][k], 1e-12 * fabs(hessian[1][0]));
    ck_assert_double_eq_tol(bc_merit_insertion(at_zone, z, 2, 1), FACTOR * bc_merit_insertion(by_hand, z, 2, 1), 1e-10);
    free(z);
    bc_merit_free(at_zone);
    bc_merit_free(by_hand);
    problem_close(&curved);
    problem_close(&plane);
}
END_TEST

/* Zones of a part that slopes up to 40 degrees, its thickness as the cosine. */
static void fill_zones(size_t count, bc_zone *zone, bool axial)
{
    for (size_t z = 0; z < count; z++) {
        const double slope = 40.0 * acos(-1.0) / 180.0 * (double)z / (double)(count - 1);
        zone[z] = (bc_zone){sin(slope), slope, cos(slope), axial};
    }
}

static double over_zones(const problem *p, const bc_stack *stack, size_t zones, const bc_zone *zone)
{
    bc_check_result result;
    double limit_used;
    bc_error error;
    ck_assert_msg(bc_check_zones(stack, &p->callouts, 0, NULL, NULL, zones, zone, &result, &error) == BC_OK, "%s",
                  error.message);
    limit_used = result.limit_used;
    bc_check_result_clear(&result);
    return limit_used;
}

START_TEST(a_draft_holds_at_every_zone)
{
    const bc_draft_options options = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.3, .threads = 2};
    bc_zone zone[ZONES], dense[401];
    bc_draft_result drafted;
    bc_refine_result refined;
    bc_stack plane = {0};
    double before;
    problem p;
    bc_error error;
    fill_zones(ZONES, zone, _i == 1);
    fill_zones(401, dense, _i == 1);
    problem_open(&p, "1.8", "1.38,1.63,2.1");
    problem_add(&p, 0.012, 450.0, 650.0, 0.0);
    problem_add(&p, 0.006, 450.0, 650.0, 0.0)->statistic = BC_AVERAGE;
    ck_assert_msg(bc_draft(&p.design, &options, &drafted, &error) == BC_OK, "%s", error.message);
    ck_assert_int_eq(bc_stack_copy(&drafted.rung[drafted.chosen].stack, &plane, NULL), BC_OK);
    bc_draft_result_clear(&drafted);
    p.design.zones = ZONES;
    p.design.zone = zone;
    ck_assert_msg(bc_draft(&p.design, &options, &drafted, &error) == BC_OK, "%s", error.message);
    for (size_t r = 0; r < drafted.rungs; r++) {
        const bc_rung *rung = &drafted.rung[r];
        ck_assert(rung->limit_used == over_zones(&p, &rung->stack, ZONES, zone));
        ck_assert_double_eq_tol(rung->limit_used, over_zones(&p, &rung->stack, 401, dense), 1e-3 * rung->limit_used);
    }
    before = over_zones(&p, &plane, ZONES, zone);
    ck_assert_double_lt(drafted.rung[drafted.chosen].limit_used, 0.5 * before);
    ck_assert_msg(bc_refine(&p.design, &plane, &refined, &error) == BC_OK, "%s", error.message);
    ck_assert(refined.limit_used_before == before);
    ck_assert(refined.limit_used == over_zones(&p, &plane, ZONES, zone));
    ck_assert_double_lt(refined.limit_used, before);
    ck_assert_double_ge(refined.limit_used, drafted.rung[drafted.rungs - 1].limit_used * (1.0 - 1e-3));
    bc_draft_result_clear(&drafted);
    bc_stack_clear(&plane);
    problem_close(&p);
}
END_TEST

START_TEST(what_no_zone_can_hold_is_refused)
{
    bc_zone zone[ZONES];
    bc_merit *merit;
    problem p;
    bc_error error;
    fill_zones(ZONES, zone, true);
    open_rows(&p, 50.0);
    p.design.zones = ZONES;
    p.design.zone = zone;
    ck_assert_int_eq(bc_merit_alloc(&p.design, BC_DENSITY_SEARCH, LAYERS, BC_NO_FRINGES, &merit, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "at 90 degrees"));
    p.callout[0].aoi_to_rad = p.callout[1].aoi_to_rad = p.callout[2].aoi_to_rad = 0.0;
    p.callout[0].aoi_from_rad = p.callout[1].aoi_from_rad = p.callout[2].aoi_from_rad = 0.0;
    p.callout[1].scope = BC_SCOPE_PART;
    ck_assert_int_eq(bc_merit_alloc(&p.design, BC_DENSITY_SEARCH, LAYERS, BC_NO_FRINGES, &merit, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "scope part"));
    problem_close(&p);
}
END_TEST

Suite *zones_suite(void)
{
    Suite *suite = suite_create("zones");
    TCase *tests = tcase_create("all");
    tcase_set_timeout(tests, 120);
    tcase_add_test(tests, a_zone_is_a_plane_surface_with_thinner_layers);
    tcase_add_loop_test(tests, a_draft_holds_at_every_zone, 0, 2);
    tcase_add_test(tests, what_no_zone_can_hold_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}
