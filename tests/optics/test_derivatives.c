/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Derivatives with respect to every thickness against differences of the values.
 *
 * How fast a stack can change is seen in its steepness, the largest |d rho| of all layers: a resonance of steepness g
 * is about 1/g nm wide. The step is a five-thousandth of that and never over 0.005 nm, which leaves five points an
 * error below 1e-10 of the steepness. The values' own rounding, some 1e-15 of all weights together, is divided by the
 * step.
 */
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>

#define TRIALS            60
#define POINTS            5
#define LARGEST_STEP_NM   0.005
#define STEP_IN_RESONANCE 2e-4
#define LEAST_STEEPNESS   1e-3
#define RELATIVE          1e-9 /* of the steepness */
#define ROUNDING          1e-14

/* d/d thickness of R, T, Re rho and Im rho. */
typedef struct slope {
    double of[4];
} slope;

static slope read_slope(const bc_surface *surface, bc_plane p, size_t layer, size_t i)
{
    const slope seen = {{bc_surface_dR(surface, p, layer)[i], bc_surface_dT(surface, p, layer)[i],
                         bc_surface_drho_re(surface, p, layer)[i], bc_surface_drho_im(surface, p, layer)[i]}};
    return seen;
}

static double steepness_at(const bc_surface *slopes, size_t layers, size_t i)
{
    double steepest = LEAST_STEEPNESS;
    for (int p = BC_S; p <= BC_P; p++)
        for (size_t j = 0; j < layers; j++)
            steepest = fmax(steepest, hypot(bc_surface_drho_re(slopes, (bc_plane)p, j)[i],
                                            bc_surface_drho_im(slopes, (bc_plane)p, j)[i]));
    return steepest;
}

/* sum of weight[k] times the values at point k, over the step. */
static slope difference(const response at[POINTS], const double weight[POINTS], double step_nm, bc_plane p, size_t i)
{
    slope sum = {{0.0, 0.0, 0.0, 0.0}};
    for (int k = 0; k < POINTS; k++) {
        sum.of[0] += weight[k] / step_nm * at[k].R[p][i];
        sum.of[1] += weight[k] / step_nm * at[k].T[p][i];
        sum.of[2] += weight[k] / step_nm * at[k].rho_re[p][i];
        sum.of[3] += weight[k] / step_nm * at[k].rho_im[p][i];
    }
    return sum;
}

/* The values with one layer thicker by offset[k] steps. */
static void step_through(bc_surface *values, specimen *stack, size_t layer, const double offset[POINTS], double step_nm,
                         response at[POINTS])
{
    const double thickness_nm = stack->thickness_nm[layer];
    for (int k = 0; k < POINTS; k++) {
        stack->thickness_nm[layer] = thickness_nm + offset[k] * step_nm;
        evaluate(values, stack, BC_WANT_VALUES);
        at[k] = read_response(values);
    }
    stack->thickness_nm[layer] = thickness_nm;
}

static void expect_same_slope(const slope *one, const slope *other, double allowed)
{
    for (int q = 0; q < 4; q++)
        if (!(fabs(one->of[q] - other->of[q]) <= allowed))
            ck_abort_msg("slope %d: %.15g and %.15g, allowed %g", q, one->of[q], other->of[q], allowed);
}

static void compare_layer(const bc_surface *slopes, const specimen *stack, size_t layer, const response at[POINTS],
                          const double weight[POINTS], double step_nm)
{
    for (size_t i = 0; i < stack->wavelengths; i++) {
        const double allowed = RELATIVE * steepness_at(slopes, stack->layers, i) + ROUNDING / step_nm;
        for (int p = BC_S; p <= BC_P; p++) {
            const slope seen = read_slope(slopes, (bc_plane)p, layer, i);
            const slope expected = difference(at, weight, step_nm, (bc_plane)p, i);
            expect_same_slope(&seen, &expected, allowed);
        }
    }
}

/* Every layer with the points at offset[] steps. */
static void compare_layers(specimen *stack, const double offset[POINTS], const double weight[POINTS])
{
    bc_surface *slopes = open_surface(stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
    bc_surface *values = open_surface(stack, BC_PATH_AUTO, BC_WANT_VALUES);
    double steepest = STEP_IN_RESONANCE / LARGEST_STEP_NM;
    for (size_t i = 0; i < stack->wavelengths; i++)
        steepest = fmax(steepest, steepness_at(slopes, stack->layers, i));
    for (size_t j = 0; j < stack->layers; j++) {
        const double step_nm = STEP_IN_RESONANCE / steepest;
        response at[POINTS];
        step_through(values, stack, j, offset, step_nm, at);
        compare_layer(slopes, stack, j, at, weight, step_nm);
    }
    bc_surface_free(slopes);
    bc_surface_free(values);
}

static const double around[POINTS] = {-2.0, -1.0, 0.0, 1.0, 2.0};
static const double around_weight[POINTS] = {1.0 / 12.0, -8.0 / 12.0, 0.0, 8.0 / 12.0, -1.0 / 12.0};

START_TEST(against_differences)
{
    random_source random = {31};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)_i, trial % 4 == 0 ? 30 : 8);
        compare_layers(&stack, around, around_weight);
    }
}
END_TEST

/* A layer that is not there yet has a slope as well. Thickness cannot turn negative, so the layer of no thickness is
 * put beside one of its own kind: growing it is growing that one. */
START_TEST(zero_thickness_grows_like_its_neighbour)
{
    random_source random = {32};
    for (int trial = 0; trial < 4 * TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 12);
        const size_t layer = below(&random, stack.layers), before = layer + below(&random, 2);
        const size_t absent = before, present = before == layer ? layer + 1 : layer;
        bc_surface *slopes;
        insert_layer(&stack, before, stack.material[layer], 0.0);
        slopes = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
        for (size_t i = 0; i < stack.wavelengths; i++) {
            const double steepest = steepness_at(slopes, stack.layers, i);
            for (int p = BC_S; p <= BC_P; p++) {
                const slope one = read_slope(slopes, (bc_plane)p, absent, i);
                const slope other = read_slope(slopes, (bc_plane)p, present, i);
                /* rho is counted from the outer face, and both faces move it alike */
                expect_same_slope(&one, &other, 1e-11 * steepest);
            }
        }
        bc_surface_free(slopes);
    }
}
END_TEST

/* The same for a layer of any other material, by the five-point formula on one side. */
START_TEST(zero_thickness_against_differences)
{
    random_source random = {33};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 8);
        const size_t before = below(&random, stack.layers + 1);
        static const double ahead[POINTS] = {0.0, 1.0, 2.0, 3.0, 4.0};
        static const double ahead_weight[POINTS] = {-25.0 / 12.0, 4.0, -3.0, 4.0 / 3.0, -0.25};
        insert_layer(&stack, before, (unsigned)below(&random, stack.materials), 0.0);
        compare_layers(&stack, ahead, ahead_weight);
    }
}
END_TEST

/* With nothing that absorbs T = 1 - R, slopes too; past total reflection neither moves. */
START_TEST(lossless_slopes)
{
    random_source random = {34};
    size_t total = 0;
    for (int trial = 0; trial < 4 * TRIALS; trial++) {
        const specimen stack = random_specimen(&random, (specimen_kind)(trial % 2), 20);
        bc_surface *slopes = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
        for (size_t i = 0; i < stack.wavelengths; i++) {
            const bool dark = stack.incident_n[i] * sin(stack.aoi_rad) > stack.substrate_n[i];
            const double steepest = steepness_at(slopes, stack.layers, i);
            total += dark;
            for (int p = BC_S; p <= BC_P; p++) {
                for (size_t j = 0; j < stack.layers; j++) {
                    const slope seen = read_slope(slopes, (bc_plane)p, j, i);
                    if (!(fabs(seen.of[0] + seen.of[1]) <= 1e-11 * steepest))
                        ck_abort_msg("dR %.15g, dT %.15g", seen.of[0], seen.of[1]);
                    if (dark && !(fabs(seen.of[0]) <= 1e-11 * steepest))
                        ck_abort_msg("dR %.15g past total reflection", seen.of[0]);
                }
            }
        }
        bc_surface_free(slopes);
    }
    ck_assert_uint_gt(total, 100);
}
END_TEST

TCase *derivatives_case(void)
{
    TCase *tests = tcase_create("derivatives");
    tcase_add_loop_test(tests, against_differences, 0, SPECIMEN_KINDS);
    tcase_add_test(tests, zero_thickness_grows_like_its_neighbour);
    tcase_add_test(tests, zero_thickness_against_differences);
    tcase_add_test(tests, lossless_slopes);
    return tests;
}
