/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bc_surface_insertion() against the derivative of a layer really put there with no thickness.
 */
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>

#define TRIALS 150

typedef struct insertion {
    double re[MOST_WAVELENGTHS + 1], im[MOST_WAVELENGTHS + 1];
} insertion;

static insertion insertion_at(const bc_surface *surface, bc_plane plane, size_t before, unsigned material)
{
    const size_t end = bc_surface_wavelengths(surface);
    insertion there;
    there.re[end] = there.im[end] = -1.0;
    bc_surface_insertion(surface, plane, before, material, there.re, there.im);
    expect_true(there.re[end] == -1.0 && there.im[end] == -1.0); /* nothing is written past the end */
    return there;
}

static double largest_slope(const bc_surface *surface, bc_plane plane, size_t layers, size_t i)
{
    double largest = 1e-3;
    for (size_t j = 0; j < layers; j++)
        largest =
            fmax(largest, hypot(bc_surface_drho_re(surface, plane, j)[i], bc_surface_drho_im(surface, plane, j)[i]));
    return largest;
}

/* To `tolerance` of the largest slope at that wavelength. */
static void expect_same(const insertion *seen, const double *re, const double *im, const bc_surface *surface,
                        bc_plane plane, size_t layers, double tolerance)
{
    for (size_t i = 0; i < bc_surface_wavelengths(surface); i++) {
        const double allowed = tolerance * largest_slope(surface, plane, layers, i);
        if (!(hypot(seen->re[i] - re[i], seen->im[i] - im[i]) <= allowed))
            ck_abort_msg("%.15g %+.15g i and %.15g %+.15g i", seen->re[i], seen->im[i], re[i], im[i]);
    }
}

/* Every material in front of layer `before` of `stack`, one after the other. */
static void compare_at(const specimen *stack, const bc_surface *surface, size_t before)
{
    for (unsigned m = 0; m < stack->materials; m++) {
        specimen with = *stack;
        bc_surface *inserted;
        insert_layer(&with, before, m, 0.0);
        inserted = open_surface(&with, BC_PATH_AUTO, BC_WANT_AMPLITUDE);
        for (int p = BC_S; p <= BC_P; p++) {
            const insertion seen = insertion_at(surface, (bc_plane)p, before, m);
            expect_same(&seen, bc_surface_drho_re(inserted, (bc_plane)p, before),
                        bc_surface_drho_im(inserted, (bc_plane)p, before), inserted, (bc_plane)p, with.layers, 1e-12);
        }
        bc_surface_free(inserted);
    }
}

START_TEST(at_every_boundary)
{
    random_source random = {41};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 8);
        bc_surface *surface = open_surface(&stack, BC_PATH_AUTO, trial % 2 ? BC_WANT_AMPLITUDE : BC_WANT_GRADIENT);
        for (size_t before = 0; before <= stack.layers; before++)
            compare_at(&stack, surface, before);
        bc_surface_free(surface);
    }
}
END_TEST

START_TEST(inside_a_split_layer)
{
    random_source random = {42};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 12);
        const size_t layer = below(&random, stack.layers);
        const double outer_nm = stack.thickness_nm[layer] * uniform(&random, 0.05, 0.95);
        bc_surface *surface;
        insert_layer(&stack, layer, stack.material[layer], outer_nm);
        stack.thickness_nm[layer + 1] -= outer_nm;
        surface = open_surface(&stack, BC_PATH_AUTO, BC_WANT_AMPLITUDE);
        compare_at(&stack, surface, layer + 1);
        bc_surface_free(surface);
    }
}
END_TEST

START_TEST(into_a_bare_substrate)
{
    random_source random = {43};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 1);
        bc_surface *surface;
        stack.layers = 0;
        surface = open_surface(&stack, BC_PATH_AUTO, BC_WANT_AMPLITUDE);
        compare_at(&stack, surface, 0);
        bc_surface_free(surface);
    }
}
END_TEST

/* More of a layer's own material, at either of its faces, is the layer growing. */
START_TEST(own_material_is_growth)
{
    random_source random = {44};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 12);
        bc_surface *surface = open_surface(&stack, BC_PATH_AUTO, BC_WANT_AMPLITUDE);
        for (size_t j = 0; j < stack.layers; j++) {
            for (int p = BC_S; p <= BC_P; p++) {
                for (size_t face = 0; face < 2; face++) {
                    const insertion seen = insertion_at(surface, (bc_plane)p, j + face, stack.material[j]);
                    expect_same(&seen, bc_surface_drho_re(surface, (bc_plane)p, j),
                                bc_surface_drho_im(surface, (bc_plane)p, j), surface, (bc_plane)p, stack.layers, 1e-11);
                }
            }
        }
        bc_surface_free(surface);
    }
}
END_TEST

/* It looks and changes nothing. */
START_TEST(leaves_the_workspace_alone)
{
    random_source random = {45};
    const specimen stack = random_specimen(&random, ABSORBING_ANYWHERE, 12);
    bc_surface *surface = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
    const response before = read_response(surface);
    const double slope = bc_surface_dR(surface, BC_P, 0)[0];
    response after;
    for (size_t j = 0; j <= stack.layers; j++)
        insertion_at(surface, BC_P, j, 0);
    after = read_response(surface);
    expect_true(slope == bc_surface_dR(surface, BC_P, 0)[0]);
    for (int p = BC_S; p <= BC_P; p++)
        ck_assert_mem_eq(before.R[p], after.R[p], stack.wavelengths * sizeof(double));
    bc_surface_free(surface);
}
END_TEST

TCase *insertion_case(void)
{
    TCase *tests = tcase_create("insertion");
    tcase_add_test(tests, at_every_boundary);
    tcase_add_test(tests, inside_a_split_layer);
    tcase_add_test(tests, into_a_bare_substrate);
    tcase_add_test(tests, own_material_is_growth);
    tcase_add_test(tests, leaves_the_workspace_alone);
    return tests;
}
