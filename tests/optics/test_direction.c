/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The same surface met from its other side: R of a lossless stack and T of any stack are what they were (Knittl, Optics
 * of Thin Films, 1976; reciprocity).
 */
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>
#include <string.h>

#define TRIALS 300

static void swap_ends(specimen *stack)
{
    double incident_n[MOST_WAVELENGTHS];
    const specimen before = *stack;
    memcpy(incident_n, stack->incident_n, sizeof incident_n);
    memcpy(stack->incident_n, stack->substrate_n, sizeof incident_n);
    memcpy(stack->substrate_n, incident_n, sizeof incident_n);
    for (size_t j = 0; j < stack->layers; j++) {
        stack->material[j] = before.material[stack->layers - 1 - j];
        stack->thickness_nm[j] = before.thickness_nm[stack->layers - 1 - j];
    }
}

/* From the other side at the angle that Snell's law gives, with ends that have no dispersion. False where the light
 * does not come through at all, or leaves within a degree of grazing, where the angle itself loses digits. */
static bool turn_around(const specimen *stack, specimen *other)
{
    const double sine = stack->incident_n[0] * sin(stack->aoi_rad) / stack->substrate_n[0];
    if (sine > 0.9998)
        return false;
    *other = *stack;
    other->aoi_rad = asin(sine);
    swap_ends(other);
    return true;
}

START_TEST(at_the_matching_angle)
{
    random_source random = {21};
    size_t compared = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)_i, MOST_LAYERS), other;
        response here, there;
        flatten_ends(&stack);
        if (!turn_around(&stack, &other))
            continue;
        compared++;
        here = response_of(&stack);
        there = response_of(&other);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < stack.wavelengths; i++) {
                expect_near(here.T[p][i], there.T[p][i], 1e-11);
                if (_i != ABSORBING_LAYERS)
                    expect_near(here.R[p][i], there.R[p][i], 1e-11);
            }
        }
    }
    ck_assert_uint_gt(compared, TRIALS / 8);
}
END_TEST

/* R of an absorbing stack does depend on the side: else the test above compared nothing. */
START_TEST(absorbing_sides_differ)
{
    random_source random = {22};
    double largest = 0.0;
    for (int trial = 0; trial < 20; trial++) {
        specimen stack = random_specimen(&random, ABSORBING_LAYERS, 8), other;
        response here, there;
        flatten_ends(&stack);
        if (!turn_around(&stack, &other))
            continue;
        here = response_of(&stack);
        there = response_of(&other);
        largest = fmax(largest, fabs(here.R[BC_S][0] - there.R[BC_S][0]));
    }
    ck_assert_double_gt(largest, 0.05);
}
END_TEST

/* With dispersive ends no one angle matches at every wavelength; invariant_n carries the old invariant over. */
START_TEST(by_the_invariant)
{
    random_source random = {23};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, MOST_LAYERS);
        specimen other = stack;
        bc_index index[MOST_MATERIALS];
        bc_surface_setup setup;
        bc_surface *surface;
        response here, there;
        swap_ends(&other);
        setup = setup_of(&other, index);
        setup.invariant_n = stack.incident_n;
        ck_assert_int_eq(bc_surface_alloc(&setup, &surface, NULL), BC_OK);
        evaluate(surface, &other, BC_WANT_VALUES);
        here = response_of(&stack);
        there = read_response(surface);
        bc_surface_free(surface);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < stack.wavelengths; i++) {
                expect_near(here.T[p][i], there.T[p][i], 1e-12);
                if (trial % 2)
                    expect_near(here.R[p][i], there.R[p][i], 1e-12);
            }
        }
    }
}
END_TEST

/* A lossless stack turned around gives its rho the other sign of phase, and the Stokes relation rho' = -rho* t/t*; what
 * is left of it without t is |rho'| = |rho| and, at one interface, rho' = -rho. (Born and Wolf, ch. 1.6) */
START_TEST(bare_interface_changes_sign)
{
    random_source random = {24};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, CLEAR_LAYERS, 1), other;
        response here, there;
        stack.layers = 0;
        flatten_ends(&stack);
        if (!turn_around(&stack, &other))
            continue;
        here = response_of(&stack);
        there = response_of(&other);
        for (int p = BC_S; p <= BC_P; p++)
            for (size_t i = 0; i < stack.wavelengths; i++)
                expect_near(here.rho_re[p][i], -there.rho_re[p][i], 1e-12);
    }
}
END_TEST

TCase *direction_case(void)
{
    TCase *tests = tcase_create("direction");
    tcase_add_loop_test(tests, at_the_matching_angle, CLEAR_LAYERS, ABSORBING_LAYERS + 1);
    tcase_add_test(tests, absorbing_sides_differ);
    tcase_add_test(tests, by_the_invariant);
    tcase_add_test(tests, bare_interface_changes_sign);
    return tests;
}
