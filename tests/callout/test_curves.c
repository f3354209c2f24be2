/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The curves a verdict is about: which there are, how far they reach, and that they are the spectrum's.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/curves.h>
#include <bloomcoat/zones.h>
#include <string.h>

#define MOST_ROWS 8

typedef struct scene {
    bc_layer layer[2];
    bc_stack stack;
    bc_callout row[MOST_ROWS];
    bc_callouts callouts;
    bc_check_result result;
    bc_check_curves curves;
} scene;

static const double table_nm[] = {410.0, 690.0}, table_n[] = {2.2, 2.0};

static void open_scene(scene *all, size_t rows)
{
    memset(all, 0, sizeof *all);
    all->layer[0] = (bc_layer){constant("low", 1.38), 100.0, false};
    all->layer[1] = (bc_layer){table("high", 2, table_nm, table_n), 60.0, false};
    all->stack = (bc_stack){
        .incident = constant("air", 1.0), .substrate = constant("glass", 1.52), .layers = 2, .layer = all->layer};
    all->callouts = (bc_callouts){.count = rows, .callout = all->row};
    for (size_t i = 0; i < rows; i++)
        all->row[i] = callout_of(450.0, 650.0);
}

static void compute(scene *all, size_t glasses, const bc_medium *glass, const bc_back *back)
{
    bc_error error;
    ck_assert_msg(bc_check(&all->stack, &all->callouts, glasses, glass, back, &all->result, &error) == BC_OK, "%s",
                  error.message);
    ck_assert_msg(bc_check_curves_compute(&all->stack, back, &all->result, &all->curves, &error) == BC_OK, "%s",
                  error.message);
}

static void close_scene(scene *all)
{
    bc_check_curves_clear(&all->curves);
    ck_assert_ptr_null(all->curves.light);
    bc_check_result_clear(&all->result);
}

START_TEST(rows_about_the_same_light_share_it)
{
    scene all;
    open_scene(&all, 7);
    all.row[1].statistic = BC_AVERAGE; /* the same light: limit, band and statistic do not matter */
    all.row[1].from_nm = 500.0;
    all.row[2].quantity = BC_T;
    all.row[3].aoi_to_rad = 0.4;
    all.row[4].polarization = BC_POL_S;
    strcpy(all.row[5].substrate, "glass");
    all.row[6] = all.row[3];
    compute(&all, 0, NULL, NULL);
    ck_assert_uint_eq(all.curves.lights, 5);
    ck_assert_ptr_eq(all.curves.light[0].callout, &all.row[0]);
    ck_assert_ptr_eq(all.curves.light[2].callout, &all.row[3]);
    ck_assert(bc_same_light(&all.row[0], &all.row[1]) && !bc_same_light(&all.row[0], &all.row[5]));
    close_scene(&all);
}
END_TEST

START_TEST(curves_reach_beyond_the_bands_as_far_as_the_tables)
{
    scene all;
    open_scene(&all, 2);
    all.row[1].to_nm = 680.0;
    compute(&all, 0, NULL, NULL);
    /* 6 % of 450..680 nm is 13.8 nm; the table of `high` ends at 690 */
    expect_near(all.curves.wavelength_nm[0], 436.2, 1e-9);
    ck_assert(all.curves.wavelength_nm[all.curves.count - 1] == 690.0);
    ck_assert_uint_ge(all.curves.count, 201);
    close_scene(&all);
}
END_TEST

START_TEST(one_wavelength_has_a_neighbourhood)
{
    scene all;
    open_scene(&all, 1);
    all.row[0] = callout_of(550.0, 550.0);
    compute(&all, 0, NULL, NULL);
    expect_near(all.curves.wavelength_nm[0], 495.0, 1e-9);
    expect_near(all.curves.wavelength_nm[all.curves.count - 1], 605.0, 1e-9);
    close_scene(&all);
}
END_TEST

/* Every value is that of the spectrum on the same glass at the same angle. */
static void expect_spectrum(const scene *all, const bc_light *light, const bc_light_curve *curve, const bc_back *back)
{
    bc_stack on_glass = all->stack;
    bc_spectrum spectrum;
    on_glass.substrate = *curve->substrate;
    ck_assert_int_eq(bc_spectrum_compute(&on_glass, light->callout->scope == BC_SCOPE_PART ? back : NULL,
                                         all->curves.count, all->curves.wavelength_nm, curve->aoi_rad, BC_PATH_AUTO,
                                         &spectrum, NULL),
                     BC_OK);
    for (size_t i = 0; i < all->curves.count; i++)
        ck_assert(curve->value[i] == (light->callout->quantity == BC_R ? spectrum.R : spectrum.T)[curve->plane][i]);
    bc_spectrum_clear(&spectrum);
}

START_TEST(an_angle_range_shows_its_ends_and_planes)
{
    const bc_back back = {.kind = BC_BACK_UNCOATED};
    scene all;
    open_scene(&all, 2);
    all.row[0].aoi_to_rad = 40.0 * DEGREES;
    all.row[0].polarization = BC_POL_EACH;
    all.row[1].quantity = BC_T;
    all.row[1].sense = BC_AT_LEAST;
    all.row[1].scope = BC_SCOPE_PART;
    compute(&all, 0, NULL, &back);
    const bc_light *oblique = &all.curves.light[0], *part = &all.curves.light[1];
    ck_assert_uint_ge(oblique->curves, 3); /* 0; 40 s; 40 p; the worst angle where it lies between */
    ck_assert(oblique->curve[0].aoi_rad == 0.0 && oblique->curve[0].plane == BC_POL_UNPOLARIZED);
    ck_assert(oblique->curve[oblique->curves - 2].aoi_rad == all.row[0].aoi_to_rad);
    ck_assert_int_eq(oblique->curve[oblique->curves - 2].plane, BC_POL_S);
    ck_assert_int_eq(oblique->curve[oblique->curves - 1].plane, BC_POL_P);
    for (size_t c = 0; c < oblique->curves; c++)
        expect_spectrum(&all, oblique, &oblique->curve[c], &back);
    ck_assert_uint_eq(part->curves, 1);
    expect_spectrum(&all, part, &part->curve[0], &back);
    close_scene(&all);
}
END_TEST

/* The worst angle is among the curves, wherever it lies: the curve passes through the worst point. */
START_TEST(the_worst_point_lies_on_a_curve)
{
    scene all;
    open_scene(&all, 1);
    all.row[0].aoi_from_rad = 20.0 * DEGREES;
    all.row[0].aoi_to_rad = 75.0 * DEGREES;
    all.row[0].polarization = BC_POL_P; /* p passes through a minimum, so "at least" is worst inside the range */
    all.row[0].sense = BC_AT_LEAST;
    all.row[0].limit = 0.001;
    compute(&all, 0, NULL, NULL);
    const bc_finding *worst = &all.result.finding[0];
    const bc_light *light = &all.curves.light[0];
    bool found = false;
    ck_assert(worst->at_aoi_rad > 21.0 * DEGREES && worst->at_aoi_rad < 74.0 * DEGREES);
    for (size_t c = 0; c < light->curves; c++)
        found = found || light->curve[c].aoi_rad == worst->at_aoi_rad;
    ck_assert(found);
    ck_assert_uint_eq(light->curves, 3);
    close_scene(&all);
}
END_TEST

/* A curved surface shows its vertex, and the zone that decides: thinner layers in the light as it meets them there. */
START_TEST(a_curved_surface_shows_its_worst_zone)
{
    const bc_zone zone[] = {{0.0, 0.0, 1.0, true}, {5.0, 0.3, 0.95, true}, {10.0, 0.7, 0.75, true}};
    bc_layer thin[2];
    bc_stack there;
    bc_spectrum spectrum;
    scene all;
    open_scene(&all, 1);
    all.row[0].polarization = BC_POL_EACH;
    all.row[0].limit = 0.01;
    ck_assert_int_eq(
        bc_check_zones(&all.stack, &all.callouts, 1, &all.stack.substrate, NULL, 3, zone, &all.result, NULL), BC_OK);
    ck_assert(all.result.finding[0].zone == &zone[2]);
    ck_assert_int_eq(bc_check_curves_compute(&all.stack, NULL, &all.result, &all.curves, NULL), BC_OK);
    const bc_light *light = &all.curves.light[0];
    ck_assert_uint_eq(light->curves, 3); /* normal incidence at the vertex, s and p at the edge */
    ck_assert_ptr_null(light->curve[0].zone);
    ck_assert_double_eq(light->curve[0].aoi_rad, 0.0);
    there = all.stack;
    there.layer = thin;
    for (size_t j = 0; j < 2; j++) {
        thin[j] = all.layer[j];
        thin[j].thickness_nm *= 0.75;
    }
    ck_assert_int_eq(bc_spectrum_compute(&there, NULL, all.curves.count, all.curves.wavelength_nm, 0.7, BC_PATH_AUTO,
                                         &spectrum, NULL),
                     BC_OK);
    for (size_t c = 1; c < 3; c++) {
        ck_assert(light->curve[c].zone == &zone[2]);
        ck_assert(light->curve[c].substrate == all.result.finding[0].substrate);
        expect_near(light->curve[c].aoi_rad, 0.7, 1e-12);
        for (size_t i = 0; i < all.curves.count; i++)
            expect_near(light->curve[c].value[i], spectrum.R[c == 1 ? BC_POL_S : BC_POL_P][i], 1e-12);
    }
    bc_spectrum_clear(&spectrum);
    close_scene(&all);
}
END_TEST

START_TEST(many_glasses_show_their_worst_angle_alone)
{
    const bc_medium glass[] = {constant("a", 1.5), constant("b", 1.6), constant("c", 1.7), constant("d", 1.8)};
    scene all;
    open_scene(&all, 2);
    all.row[0].aoi_to_rad = 30.0 * DEGREES;
    strcpy(all.row[1].substrate, "c");
    compute(&all, 4, glass, NULL);
    ck_assert_uint_eq(all.curves.lights, 2);
    ck_assert_uint_eq(all.curves.light[0].curves, 4);
    for (size_t g = 0; g < 4; g++) {
        ck_assert_ptr_eq(all.curves.light[0].curve[g].substrate, &glass[g]);
        expect_spectrum(&all, &all.curves.light[0], &all.curves.light[0].curve[g], NULL);
    }
    ck_assert_uint_eq(all.curves.light[1].curves, 1);
    ck_assert_ptr_eq(all.curves.light[1].curve[0].substrate, &glass[2]);
    close_scene(&all);
}
END_TEST

/* However thick the layers, a picture has no use for more points than its columns. */
START_TEST(thick_layers_do_not_flood_a_picture)
{
    scene all;
    open_scene(&all, 1);
    all.layer[0].thickness_nm = 1e5;
    compute(&all, 0, NULL, NULL);
    ck_assert_uint_eq(all.curves.count, 4001);
    close_scene(&all);
}
END_TEST

TCase *curves_case(void)
{
    TCase *tests = tcase_create("curves");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, rows_about_the_same_light_share_it);
    tcase_add_test(tests, curves_reach_beyond_the_bands_as_far_as_the_tables);
    tcase_add_test(tests, one_wavelength_has_a_neighbourhood);
    tcase_add_test(tests, an_angle_range_shows_its_ends_and_planes);
    tcase_add_test(tests, the_worst_point_lies_on_a_curve);
    tcase_add_test(tests, a_curved_surface_shows_its_worst_zone);
    tcase_add_test(tests, many_glasses_show_their_worst_angle_alone);
    tcase_add_test(tests, thick_layers_do_not_flood_a_picture);
    return tests;
}
