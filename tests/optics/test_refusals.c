/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the engine will not compute, and what it says then.
 */
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <bloomcoat/part.h>
#include <check.h>
#include <math.h>
#include <string.h>

/* A setup in order, which each test spoils in one place. */
typedef struct sound_setup {
    double wavelength_nm[3], incident_n[3], incident_k[3], glass_n[3], layer_n[3];
    bc_index layer;
    bc_surface_setup front;
} sound_setup;

static void set_up(sound_setup *s)
{
    const sound_setup plain = {.wavelength_nm = {450.0, 550.0, 650.0},
                               .incident_n = {1.0, 1.0, 1.0},
                               .glass_n = {1.52, 1.52, 1.52},
                               .layer_n = {1.38, 1.38, 1.38}};
    *s = plain;
    s->layer = (bc_index){s->layer_n, NULL};
    s->front = (bc_surface_setup){.wavelengths = 3,
                                  .wavelength_nm = s->wavelength_nm,
                                  .incident = {s->incident_n, s->incident_k},
                                  .substrate = {s->glass_n, NULL},
                                  .materials = 1,
                                  .material = &s->layer,
                                  .max_layers = 1};
}

static void expect_error(bc_status status, const bc_error *error, const char *const expected[], size_t count)
{
    ck_assert_int_eq(status, BC_ERROR_INPUT);
    ck_assert_int_eq(error->status, BC_ERROR_INPUT);
    for (size_t i = 0; i < count; i++)
        ck_assert_msg(strstr(error->message, expected[i]) != NULL, "'%s' does not say '%s'", error->message,
                      expected[i]);
}

/* Neither a surface nor a part can be had of it, and both say why. */
static void expect_refused(const sound_setup *s, const char *const expected[], size_t count)
{
    const bc_part_setup part_setup = {.front = s->front, .back = BC_BACK_UNCOATED, .substrate_mm = 2.0};
    bc_surface *surface = (bc_surface *)(uintptr_t)1;
    bc_part *part = (bc_part *)(uintptr_t)1;
    bc_error error = {0};
    expect_error(bc_surface_alloc(&s->front, &surface, &error), &error, expected, count);
    ck_assert_ptr_null(surface);
    memset(&error, 0, sizeof error);
    expect_error(bc_part_alloc(&part_setup, &part, &error), &error, expected, count);
    ck_assert_ptr_null(part);
    ck_assert_int_eq(bc_surface_alloc(&s->front, &surface, NULL), BC_ERROR_INPUT);
    ck_assert_int_eq(bc_part_alloc(&part_setup, &part, NULL), BC_ERROR_INPUT);
}
#define REFUSED(setup, ...)                                                                                            \
    do {                                                                                                               \
        static const char *const expected_words[] = {__VA_ARGS__};                                                     \
        expect_refused(setup, expected_words, sizeof expected_words / sizeof *expected_words);                         \
    } while (0)

START_TEST(sound_one_is_accepted)
{
    sound_setup s;
    bc_surface *surface;
    set_up(&s);
    ck_assert_int_eq(bc_surface_alloc(&s.front, &surface, NULL), BC_OK);
    bc_surface_free(surface);
    bc_surface_free(NULL);
    bc_part_free(NULL);
}
END_TEST

START_TEST(absorbing_incident_medium)
{
    sound_setup s;
    set_up(&s);
    s.incident_k[2] = 1e-9;
    REFUSED(&s, "incident medium absorbs", "k = 1e-09", "650 nm", "clear medium");
}
END_TEST

START_TEST(angles)
{
    static const double wrong_deg[] = {90.0, 90.5, 180.0, -1.0, -1e-6};
    sound_setup s;
    set_up(&s);
    for (size_t i = 0; i < sizeof wrong_deg / sizeof *wrong_deg; i++) {
        s.front.aoi_rad = wrong_deg[i] * PI / 180.0;
        REFUSED(&s, "angle of incidence", "deg", "expected 0 or more and less than 90");
    }
    s.front.aoi_rad = PI / 2.0;
    REFUSED(&s, "angle of incidence 90 deg");
    s.front.aoi_rad = NAN;
    REFUSED(&s, "angle of incidence");
    s.front.aoi_rad = INFINITY;
    REFUSED(&s, "angle of incidence");
}
END_TEST

START_TEST(wavelengths)
{
    static const double wrong_nm[] = {0.0, -550.0, NAN, INFINITY};
    sound_setup s;
    bc_surface *surface;
    for (size_t i = 0; i < sizeof wrong_nm / sizeof *wrong_nm; i++) {
        set_up(&s);
        s.wavelength_nm[1] = wrong_nm[i];
        REFUSED(&s, "wavelength", "nm; expected a number above 0");
    }
    set_up(&s);
    s.front.wavelengths = 0;
    REFUSED(&s, "no wavelength");
    set_up(&s);
    s.wavelength_nm[0] = 1e-3; /* short, and yet one */
    ck_assert_int_eq(bc_surface_alloc(&s.front, &surface, NULL), BC_OK);
    bc_surface_free(surface);
}
END_TEST

static void expect_part_refused(const bc_part_setup *setup, const char *one, const char *other)
{
    const char *const expected[] = {one, other};
    bc_part *part = (bc_part *)(uintptr_t)1;
    bc_error error = {0};
    expect_error(bc_part_alloc(setup, &part, &error), &error, expected, 2);
    ck_assert_ptr_null(part);
}

START_TEST(parts)
{
    static const double wrong_mm[] = {-1.0, -1e-9, NAN, INFINITY};
    sound_setup s;
    bc_part_setup setup = {.back = BC_BACK_UNCOATED};
    bc_part *part;
    set_up(&s);
    setup.front = s.front;
    for (size_t i = 0; i < sizeof wrong_mm / sizeof *wrong_mm; i++) {
        setup.substrate_mm = wrong_mm[i];
        expect_part_refused(&setup, "glass thickness", "expected 0 or more");
    }
    setup.substrate_mm = -2.5;
    expect_part_refused(&setup, "glass thickness -2.5 mm", "0 or more");
    setup.substrate_mm = 0.0;
    ck_assert_int_eq(bc_part_alloc(&setup, &part, NULL), BC_OK);
    bc_part_free(part);
    setup.back = BC_BACK_NONE;
    expect_part_refused(&setup, "needs a back surface", "uncoated, same, or a stack of its own");
}
END_TEST

/* bc_surface_absorbs() speaks of the layers of the last evaluation, not of the materials at hand. */
START_TEST(absorbs_when_a_layer_does)
{
    random_source random = {71};
    specimen stack = random_specimen(&random, CLEAR_LAYERS, 4);
    bc_surface *surface;
    set_material(&stack, 0, 1.5, 0.0);
    set_material(&stack, 1, 1.5, 0.0);
    stack.k[1][stack.wavelengths - 1] = 1e-6;
    stack.layers = 2;
    stack.material[0] = stack.material[1] = 0;
    surface = open_surface(&stack, BC_PATH_AUTO, BC_WANT_VALUES);
    expect_true(!bc_surface_absorbs(surface));
    stack.material[1] = 1;
    evaluate(surface, &stack, BC_WANT_VALUES);
    expect_true(bc_surface_absorbs(surface));
    stack.layers = 1;
    evaluate(surface, &stack, BC_WANT_VALUES);
    expect_true(!bc_surface_absorbs(surface));
    bc_surface_free(surface);
}
END_TEST

TCase *refusals_case(void)
{
    TCase *tests = tcase_create("refusals");
    tcase_add_test(tests, sound_one_is_accepted);
    tcase_add_test(tests, absorbing_incident_medium);
    tcase_add_test(tests, angles);
    tcase_add_test(tests, wavelengths);
    tcase_add_test(tests, parts);
    tcase_add_test(tests, absorbs_when_a_layer_does);
    return tests;
}
