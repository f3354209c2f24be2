/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where the light goes, and layers that are not there.
 */
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>

#define TRIALS 400

/* Energy is conserved: R + T = 1 where nothing absorbs, past total reflection or not. (Knittl, Optics of Thin Films,
 * 1976) */
START_TEST(lossless_sum)
{
    random_source random = {11};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, (specimen_kind)(trial % 2), MOST_LAYERS);
        const response seen = response_of(&stack);
        for (int p = BC_S; p <= BC_P; p++)
            for (size_t i = 0; i < stack.wavelengths; i++) {
                /* The engine makes the sum one; the square of rho shows that it was. */
                expect_near(seen.R[p][i] + seen.T[p][i], 1.0, 1e-12);
                expect_near(seen.rho_re[p][i] * seen.rho_re[p][i] + seen.rho_im[p][i] * seen.rho_im[p][i], seen.R[p][i],
                            1e-12);
            }
    }
}
END_TEST

START_TEST(absorbing_bounds)
{
    random_source random = {12};
    size_t lossy = 0;
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, trial % 2 ? ABSORBING_LAYERS : ABSORBING_ANYWHERE,
                                               1 + (size_t)trial % MOST_LAYERS);
        const response seen = response_of(&stack);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < stack.wavelengths; i++) {
                const double R = seen.R[p][i], T = seen.T[p][i];
                expect_true(R >= 0.0 && R <= 1.0 + 1e-13);
                expect_true(T >= 0.0 && T <= 1.0 + 1e-13);
                expect_true(R + T <= 1.0 + 1e-12);
                lossy += R + T < 0.99;
            }
        }
    }
    ck_assert_uint_gt(lossy, 1000);
}
END_TEST

/* A layer whose phase is a whole number of half turns is absent at that wavelength, whatever lies around it. (Born and
 * Wolf, Principles of Optics, ch. 1.6.4) */
START_TEST(absent_half_wave)
{
    random_source random = {13};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, MOST_LAYERS - 1);
        const double n = uniform(&random, 1.3, 3.5), halves = (double)(1 + below(&random, 4));
        const size_t at = below(&random, stack.wavelengths);
        const double beta = stack.incident_n[at] * sin(stack.aoi_rad);
        response with, without;
        for (size_t j = 0; j < stack.layers; j++)
            stack.material[j] = stack.material[j] == 0 ? 1 : stack.material[j];
        set_material(&stack, 0, n, 0.0);
        without = response_of(&stack);
        insert_layer(&stack, below(&random, stack.layers + 1), 0,
                     halves * stack.wavelength_nm[at] / (2.0 * sqrt(n * n - beta * beta)));
        with = response_of(&stack);
        for (int p = BC_S; p <= BC_P; p++) {
            expect_near(with.R[p][at], without.R[p][at], 1e-12);
            expect_near(with.T[p][at], without.T[p][at], 1e-12);
        }
    }
}
END_TEST

START_TEST(zero_thickness_is_absent)
{
    random_source random = {14};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), MOST_LAYERS - 3);
        const response without = response_of(&stack);
        response with;
        for (int layer = 0; layer < 3; layer++)
            insert_layer(&stack, below(&random, stack.layers + 1), (unsigned)below(&random, stack.materials), 0.0);
        with = response_of(&stack);
        expect_same_RT(&stack, &without, &with, 1e-13);
    }
}
END_TEST

/* More of them than the engine lets pass before it brings the field back to size. */
START_TEST(absent_layers_alone_leave_the_bare_surface)
{
    random_source random = {17};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), MOST_LAYERS);
        response with, without;
        while (stack.layers < MOST_LAYERS)
            insert_layer(&stack, 0, (unsigned)below(&random, stack.materials), 0.0);
        for (size_t j = 0; j < stack.layers; j++)
            stack.thickness_nm[j] = 0.0;
        with = response_of(&stack);
        while (stack.layers > 1)
            remove_layer(&stack, 0);
        without = response_of(&stack);
        expect_same_RT(&stack, &without, &with, 1e-13);
    }
}
END_TEST

START_TEST(split_layer_is_one_layer)
{
    random_source random = {15};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), MOST_LAYERS - 4);
        const response whole = response_of(&stack);
        response parts;
        for (int cut = 0; cut < 4; cut++) {
            const size_t layer = below(&random, stack.layers);
            const double outer_nm = stack.thickness_nm[layer] * uniform(&random, 0.0, 1.0);
            insert_layer(&stack, layer, stack.material[layer], outer_nm);
            stack.thickness_nm[layer + 1] -= outer_nm;
        }
        parts = response_of(&stack);
        expect_same_RT(&stack, &whole, &parts, 1e-12);
    }
}
END_TEST

/* A layer of the medium it borders on changes nothing but the phase: on the incident side for any layer, on the
 * substrate side where the substrate is clear. */
START_TEST(layer_of_its_neighbour_is_absent)
{
    random_source random = {16};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % 3), MOST_LAYERS - 2);
        response without, with;
        for (size_t j = 0; j < stack.layers; j++)
            stack.material[j] = stack.material[j] < 2 ? (unsigned)stack.materials - 1 : stack.material[j];
        if (stack.materials < 3)
            continue;
        for (size_t i = 0; i < stack.wavelengths; i++) {
            stack.n[0][i] = stack.incident_n[i];
            stack.n[1][i] = stack.substrate_n[i];
            stack.k[0][i] = stack.k[1][i] = 0.0;
        }
        without = response_of(&stack);
        insert_layer(&stack, 0, 0, uniform(&random, 1.0, 1000.0));
        with = response_of(&stack);
        expect_same_RT(&stack, &without, &with, 1e-12);
        insert_layer(&stack, stack.layers, 1, uniform(&random, 1.0, 1000.0));
        with = response_of(&stack);
        expect_same_RT(&stack, &without, &with, 1e-12);
    }
}
END_TEST

TCase *energy_case(void)
{
    TCase *tests = tcase_create("energy");
    tcase_add_test(tests, lossless_sum);
    tcase_add_test(tests, absorbing_bounds);
    tcase_add_test(tests, absent_half_wave);
    tcase_add_test(tests, zero_thickness_is_absent);
    tcase_add_test(tests, absent_layers_alone_leave_the_bare_surface);
    tcase_add_test(tests, split_layer_is_one_layer);
    tcase_add_test(tests, layer_of_its_neighbour_is_absent);
    return tests;
}
