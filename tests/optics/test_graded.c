/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Graded layers: their slopes against differences, parts against parts that are cut by hand, and what is refused.
 * Closed forms are in tests/reference/test_graded.c.
 */
#include "near.h"
#include "plate.h"
#include "suites.h"
#include <math.h>
#include <string.h>

#define TRIALS  40
#define CUTS    12
#define STEP_NM 0.002

/* A random gradient for each material, or none. */
static void grade(random_source *random, size_t materials, double gradient[MOST_MATERIALS])
{
    for (size_t m = 0; m < materials; m++)
        gradient[m] = chance(random, 0.7) ? uniform(random, -0.2, 0.2) : 0.0;
}

static bc_surface *open_graded(const specimen *stack, const double *gradient)
{
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup = setup_of(stack, index);
    bc_surface *surface;
    bc_error error;
    setup.gradient = gradient;
    setup.max_layers = MOST_LAYERS;
    setup.graded_optical_nm = 500.0;
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    return surface;
}

static response at_offset(bc_surface *surface, specimen stack, size_t layer, double offset_nm)
{
    stack.thickness_nm[layer] += offset_nm;
    evaluate(surface, &stack, BC_WANT_VALUES);
    return read_response(surface);
}

static double five_points(double lower2, double lower1, double upper1, double upper2)
{
    return (lower2 - 8.0 * lower1 + 8.0 * upper1 - upper2) / (12.0 * STEP_NM);
}

static double five(const double *const at[4], size_t i)
{
    return five_points(at[0][i], at[1][i], at[2][i], at[3][i]);
}

static void compare_slopes(bc_surface *slopes, bc_surface *values, const specimen *stack, size_t layer)
{
    static const double offset[] = {-2.0, -1.0, 1.0, 2.0};
    response at[4];
    for (int k = 0; k < 4; k++)
        at[k] = at_offset(values, *stack, layer, offset[k] * STEP_NM);
    for (int q = BC_S; q <= BC_P; q++) {
        const bc_plane p = (bc_plane)q;
        for (size_t i = 0; i < stack->wavelengths; i++) {
            const double *const R[] = {at[0].R[q], at[1].R[q], at[2].R[q], at[3].R[q]};
            const double *const T[] = {at[0].T[q], at[1].T[q], at[2].T[q], at[3].T[q]};
            const double *const re[] = {at[0].rho_re[q], at[1].rho_re[q], at[2].rho_re[q], at[3].rho_re[q]};
            const double *const im[] = {at[0].rho_im[q], at[1].rho_im[q], at[2].rho_im[q], at[3].rho_im[q]};
            expect_near(bc_surface_dR(slopes, p, layer)[i], five(R, i), 1e-10);
            expect_near(bc_surface_dT(slopes, p, layer)[i], five(T, i), 1e-10);
            expect_near(bc_surface_drho_re(slopes, p, layer)[i], five(re, i), 1e-10);
            expect_near(bc_surface_drho_im(slopes, p, layer)[i], five(im, i), 1e-10);
        }
    }
}

START_TEST(slopes)
{
    static const specimen_kind kinds[] = {CLEAR_LAYERS, ABSORBING_LAYERS, ABSORBING_ANYWHERE};
    random_source random = {51};
    double gradient[MOST_MATERIALS];
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, kinds[trial % 3], 5);
        bc_surface *slopes_of, *values_of;
        grade(&random, stack.materials, gradient);
        slopes_of = open_graded(&stack, gradient);
        values_of = open_graded(&stack, gradient);
        evaluate(slopes_of, &stack, BC_WANT_GRADIENT);
        for (size_t j = 0; j < stack.layers; j++)
            compare_slopes(slopes_of, values_of, &stack, j);
        bc_surface_free(slopes_of);
        bc_surface_free(values_of);
    }
}
END_TEST

/* A graded layer of no thickness between any two layers: its slope is what bc_surface_insertion() says. */
START_TEST(insertion)
{
    random_source random = {52};
    double gradient[MOST_MATERIALS], re[MOST_WAVELENGTHS], im[MOST_WAVELENGTHS];
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, 5);
        const size_t before = below(&random, stack.layers + 1);
        const unsigned m = (unsigned)below(&random, stack.materials);
        specimen with = stack;
        bc_surface *without, *inserted;
        grade(&random, stack.materials, gradient);
        without = open_graded(&stack, gradient);
        inserted = open_graded(&stack, gradient);
        insert_layer(&with, before, m, 0.0);
        evaluate(without, &stack, BC_WANT_AMPLITUDE);
        evaluate(inserted, &with, BC_WANT_AMPLITUDE);
        for (int p = BC_S; p <= BC_P; p++) {
            bc_surface_insertion(without, (bc_plane)p, before, m, re, im);
            for (size_t i = 0; i < stack.wavelengths; i++) {
                expect_near(re[i], bc_surface_drho_re(inserted, (bc_plane)p, before)[i], 1e-11);
                expect_near(im[i], bc_surface_drho_im(inserted, (bc_plane)p, before)[i], 1e-11);
            }
        }
        bc_surface_free(without);
        bc_surface_free(inserted);
    }
}
END_TEST

/* An index that is shifted, or set, is the index a workspace could have been set up with. */
START_TEST(shifted_index)
{
    random_source random = {53};
    double gradient[MOST_MATERIALS];
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, 5);
        const unsigned m = (unsigned)below(&random, stack.materials);
        const double dn = uniform(&random, -0.05, 0.05);
        specimen other = stack;
        bc_surface *shifted, *set_up;
        response expected, seen;
        grade(&random, stack.materials, gradient);
        for (size_t i = 0; i < stack.wavelengths; i++)
            other.n[m][i] = fmax(stack.n[m][i] + dn, fmin(stack.n[m][i], 0.01));
        shifted = open_graded(&stack, gradient);
        set_up = open_graded(&other, gradient);
        evaluate(set_up, &other, BC_WANT_VALUES);
        expected = read_response(set_up);
        bc_surface_shift_index(shifted, m, dn);
        evaluate(shifted, &stack, BC_WANT_VALUES);
        seen = read_response(shifted);
        expect_same_RT(&stack, &seen, &expected, 1e-14);
        bc_surface_set_index(shifted, m, &(bc_index){other.n[m], other.k[m]});
        evaluate(shifted, &stack, BC_WANT_VALUES);
        seen = read_response(shifted);
        expect_same_RT(&stack, &seen, &expected, 1e-14);
        bc_surface_free(shifted);
        bc_surface_free(set_up);
    }
}
END_TEST

/* A graded layer of `whole` cut into CUTS layers, each with its part of the gradient: layer j of material m becomes
 * layers of CUTS materials. */
typedef struct cut_plate {
    bc_part_setup setup;
    double n[CUTS + 1][MOST_WAVELENGTHS], gradient[CUTS + 1], thickness_nm[CUTS];
    bc_index index[CUTS + 1];
    unsigned material[CUTS];
} cut_plate;

static void cut(const plate *whole, double gradient, bool outer_first, cut_plate *to)
{
    for (size_t c = 0; c < CUTS; c++) {
        const double up = (outer_first ? 0.5 : -0.5) * (1.0 - (2.0 * (double)c + 1.0) / CUTS);
        const double factor = 1.0 + gradient * up;
        for (size_t i = 0; i < whole->front.wavelengths; i++)
            to->n[c][i] = whole->front.n[0][i] * factor;
        to->gradient[c] = gradient / CUTS / factor;
        to->thickness_nm[c] = whole->front.thickness_nm[0] / CUTS;
        to->index[c] = (bc_index){to->n[c], whole->front.k[0]};
        to->material[c] = (unsigned)c;
    }
}

static void compare_parts(bc_part *one, bc_part *other, size_t wavelengths)
{
    for (int p = BC_S; p <= BC_P; p++)
        for (size_t i = 0; i < wavelengths; i++) {
            expect_near(bc_part_R(one, (bc_plane)p)[i], bc_part_R(other, (bc_plane)p)[i], 2e-6);
            expect_near(bc_part_T(one, (bc_plane)p)[i], bc_part_T(other, (bc_plane)p)[i], 2e-6);
        }
}

/* Front and back: what the glass sees from inside is the other side of a gradient. */
START_TEST(parts)
{
    static const double glass_k[] = {0.0, 2e-8};
    random_source random = {54};
    for (int trial = 0; trial < 3 * TRIALS; trial++) {
        plate whole = random_plate(&random, CLEAR_LAYERS, plate_backs[trial % BACKS], glass_k[trial / BACKS % 2]);
        const double gradient = uniform(&random, -0.2, 0.2);
        bc_index index[MOST_MATERIALS];
        bc_part_setup setup;
        cut_plate pieces = {0};
        bc_part *one, *other;
        whole.front.layers = whole.front.materials = 1;
        whole.front.material[0] = 0;
        whole.back_layers = 1;
        whole.back_material[0] = 0;
        whole.back_nm[0] = whole.front.thickness_nm[0];
        for (size_t i = 0; i < whole.front.wavelengths; i++)
            whole.front.k[0][i] = trial % 4 ? 0.02 : 0.0;
        setup = setup_of_plate(&whole, index);
        setup.front.gradient = setup.back_gradient = &gradient;
        setup.front.graded_optical_nm = 4.0 * whole.front.thickness_nm[0];
        one = open_plate_of(&setup);
        bc_part_evaluate(one, 1, whole.front.material, whole.front.thickness_nm, false);
        cut(&whole, gradient, true, &pieces);
        setup.front.materials = setup.front.max_layers = setup.back_materials = setup.back_layers = CUTS;
        setup.front.material = setup.back_index = pieces.index;
        setup.front.gradient = setup.back_gradient = pieces.gradient;
        setup.back_material = pieces.material;
        setup.back_thickness_nm = pieces.thickness_nm;
        other = open_plate_of(&setup);
        bc_part_evaluate(other, CUTS, pieces.material, pieces.thickness_nm, false);
        compare_parts(one, other, whole.front.wavelengths);
        bc_part_free(one);
        bc_part_free(other);
    }
}
END_TEST

/* No gradient is the layer that it always was, to the byte. */
START_TEST(no_gradient)
{
    static const double none[MOST_MATERIALS] = {0.0};
    random_source random = {55};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, ABSORBING_ANYWHERE, 8);
        const response expected = response_of(&stack);
        bc_surface *surface = open_graded(&stack, none);
        evaluate(surface, &stack, BC_WANT_VALUES);
        for (int p = BC_S; p <= BC_P; p++) {
            expect_true(memcmp(bc_surface_R(surface, (bc_plane)p), expected.R[p], stack.wavelengths * sizeof(double)) ==
                        0);
            expect_true(memcmp(bc_surface_T(surface, (bc_plane)p), expected.T[p], stack.wavelengths * sizeof(double)) ==
                        0);
        }
        bc_surface_free(surface);
    }
}
END_TEST

static void expect_refused(double gradient, double optical_nm, const char *says)
{
    const double nm = 500.0, air = 1.0, glass = 1.52, layer = 2.0;
    const bc_index index = {&layer, NULL};
    const bc_surface_setup setup = {.wavelengths = 1,
                                    .wavelength_nm = &nm,
                                    .incident = {&air, NULL},
                                    .substrate = {&glass, NULL},
                                    .materials = 1,
                                    .material = &index,
                                    .max_layers = 1,
                                    .gradient = &gradient,
                                    .graded_optical_nm = optical_nm};
    bc_surface *surface = (bc_surface *)(uintptr_t)1;
    bc_error error;
    ck_assert_int_eq(bc_surface_alloc(&setup, &surface, &error), BC_ERROR_INPUT);
    ck_assert_ptr_null(surface);
    ck_assert_msg(strstr(error.message, says) != NULL, "%s", error.message);
}

START_TEST(refusals)
{
    expect_refused(0.51, 100.0, "51 %");
    expect_refused(-0.51, 100.0, "-51 %");
    expect_refused(NAN, 100.0, "index gradient");
    expect_refused(0.02, 200e3, "several layers"); /* 400 waves */
}
END_TEST

TCase *graded_case(void)
{
    TCase *tests = tcase_create("graded");
    tcase_add_test(tests, slopes);
    tcase_add_test(tests, insertion);
    tcase_add_test(tests, shifted_index);
    tcase_add_test(tests, parts);
    tcase_add_test(tests, no_gradient);
    tcase_add_test(tests, refusals);
    return tests;
}
