/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One kernel in three widths, any number of wavelengths, and a workspace used many times: the same figures.
 */
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define TRIALS    150
#define TOLERANCE 1e-12

/* Asked of the processor here once more, so that a path that is refused without need fails. */
static bool processor_runs(bc_path path)
{
#if defined(__x86_64__)
    __builtin_cpu_init();
    if (path == BC_PATH_AVX2)
        return __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
    if (path == BC_PATH_AVX512)
        return __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq");
#endif
    return path == BC_PATH_AUTO || path == BC_PATH_PORTABLE;
}

static double steepness(const bc_surface *surface, size_t layers, size_t i)
{
    double largest = 1.0;
    for (int p = BC_S; p <= BC_P; p++)
        for (size_t j = 0; j < layers; j++)
            largest = fmax(largest, hypot(bc_surface_drho_re(surface, (bc_plane)p, j)[i],
                                          bc_surface_drho_im(surface, (bc_plane)p, j)[i]));
    return largest;
}

static double values_apart(const bc_surface *one, size_t i, const bc_surface *other, size_t k, bc_plane p)
{
    return fabs(bc_surface_R(one, p)[i] - bc_surface_R(other, p)[k]) +
           fabs(bc_surface_T(one, p)[i] - bc_surface_T(other, p)[k]) +
           fabs(bc_surface_rho_re(one, p)[i] - bc_surface_rho_re(other, p)[k]) +
           fabs(bc_surface_rho_im(one, p)[i] - bc_surface_rho_im(other, p)[k]);
}

static double slopes_apart(const bc_surface *one, size_t i, const bc_surface *other, size_t k, bc_plane p, size_t j)
{
    return fabs(bc_surface_dR(one, p, j)[i] - bc_surface_dR(other, p, j)[k]) +
           fabs(bc_surface_dT(one, p, j)[i] - bc_surface_dT(other, p, j)[k]) +
           fabs(bc_surface_drho_re(one, p, j)[i] - bc_surface_drho_re(other, p, j)[k]) +
           fabs(bc_surface_drho_im(one, p, j)[i] - bc_surface_drho_im(other, p, j)[k]);
}

/* Point `i` of one surface against point `k` of the other. A stack so steep that an ulp of thickness moves its values
 * by more than the tolerance is given that much. */
static void expect_same_point(const bc_surface *one, size_t i, const bc_surface *other, size_t k, size_t layers)
{
    const double steep = steepness(one, layers, i);
    for (int p = BC_S; p <= BC_P; p++) {
        bool same = values_apart(one, i, other, k, (bc_plane)p) <= TOLERANCE * steep;
        for (size_t j = 0; j < layers; j++)
            same = same && slopes_apart(one, i, other, k, (bc_plane)p, j) <= TOLERANCE * steep * steep;
        ck_assert_msg(same, "plane %d of point %zu", p, i);
    }
}

static void expect_refused(const specimen *stack, bc_path path)
{
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup = setup_of(stack, index);
    bc_surface *surface;
    bc_error error;
    setup.path = path;
    ck_assert_int_eq(bc_surface_alloc(&setup, &surface, &error), BC_ERROR_INPUT);
    ck_assert_ptr_null(surface);
    ck_assert_ptr_nonnull(strstr(error.message, "this processor cannot run"));
}

START_TEST(every_path_agrees)
{
    const bc_path path = (bc_path)_i;
    random_source random = {51};
    const bool runs = processor_runs(path);
    if (!runs)
        fprintf(stderr, "this processor does not run path %d: only its refusal is tested\n", _i);
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 24);
        bc_surface *plain, *wide;
        if (!runs) {
            expect_refused(&stack, path);
            continue;
        }
        plain = open_surface(&stack, BC_PATH_PORTABLE, BC_WANT_GRADIENT);
        wide = open_surface(&stack, path, BC_WANT_GRADIENT);
        for (size_t i = 0; i < stack.wavelengths; i++)
            expect_same_point(plain, i, wide, i, stack.layers);
        bc_surface_free(plain);
        bc_surface_free(wide);
    }
}
END_TEST

static void stretch_grid(random_source *random, specimen *stack, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const size_t from = i % stack->wavelengths;
        stack->wavelength_nm[i] = uniform(random, 350.0, 1200.0);
        stack->incident_n[i] = stack->incident_n[from];
        stack->substrate_n[i] = stack->substrate_n[from];
        stack->substrate_k[i] = stack->substrate_k[from];
        for (size_t m = 0; m < stack->materials; m++) {
            stack->n[m][i] = stack->n[m][from];
            stack->k[m][i] = stack->k[m][from];
        }
    }
    stack->wavelengths = count;
}

/* The same stack at wavelength i alone. */
static specimen at_one(const specimen *stack, size_t i)
{
    specimen one = *stack;
    one.wavelengths = 1;
    one.wavelength_nm[0] = stack->wavelength_nm[i];
    one.incident_n[0] = stack->incident_n[i];
    one.substrate_n[0] = stack->substrate_n[i];
    one.substrate_k[0] = stack->substrate_k[i];
    for (size_t m = 0; m < stack->materials; m++) {
        one.n[m][0] = stack->n[m][i];
        one.k[m][0] = stack->k[m][i];
    }
    return one;
}

START_TEST(any_number_of_wavelengths)
{
    static const size_t counts[] = {1, 2, 7, 8, 9, 15, 16, 17, 31, 32};
    random_source random = {52};
    for (size_t trial = 0; trial < 4 * SPECIMEN_KINDS * sizeof counts / sizeof *counts; trial++) {
        specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 12);
        bc_surface *grid;
        stretch_grid(&random, &stack, counts[trial / SPECIMEN_KINDS % (sizeof counts / sizeof *counts)]);
        grid = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
        ck_assert_uint_eq(bc_surface_wavelengths(grid), stack.wavelengths);
        for (size_t i = 0; i < stack.wavelengths; i++) {
            const specimen one = at_one(&stack, i);
            bc_surface *point = open_surface(&one, BC_PATH_AUTO, BC_WANT_GRADIENT);
            expect_same_point(grid, i, point, 0, stack.layers);
            bc_surface_free(point);
        }
        bc_surface_free(grid);
    }
}
END_TEST

/* A workspace remembers nothing: after any other stack it gives the very bits a new one gives, and so does asking for
 * less. */
START_TEST(workspace_forgets)
{
    random_source random = {53};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen stack = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 24);
        specimen another = stack;
        bc_surface *used, *fresh;
        response expected, seen;
        another.layers = MOST_LAYERS;
        for (size_t j = 0; j < another.layers; j++) {
            another.material[j] = (unsigned)below(&random, stack.materials);
            another.thickness_nm[j] = uniform(&random, 0.0, 5000.0);
        }
        used = open_surface(&another, BC_PATH_AUTO, BC_WANT_GRADIENT);
        another.layers = below(&random, MOST_LAYERS + 1);
        evaluate(used, &another, BC_WANT_GRADIENT);
        evaluate(used, &stack, (bc_want)(trial % 3));
        fresh = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
        seen = read_response(used);
        expected = read_response(fresh);
        for (int p = BC_S; p <= BC_P; p++) {
            ck_assert_mem_eq(seen.R[p], expected.R[p], stack.wavelengths * sizeof(double));
            ck_assert_mem_eq(seen.T[p], expected.T[p], stack.wavelengths * sizeof(double));
        }
        if (trial % 3 == BC_WANT_GRADIENT)
            for (size_t j = 0; j < stack.layers; j++)
                ck_assert_mem_eq(bc_surface_dT(used, BC_P, j), bc_surface_dT(fresh, BC_P, j),
                                 stack.wavelengths * sizeof(double));
        bc_surface_free(used);
        bc_surface_free(fresh);
    }
}
END_TEST

/* At normal incidence s and p are one; both planes give the same arrays, and an angle next to nothing the same values.
 */
START_TEST(normal_incidence)
{
    random_source random = {54};
    for (int trial = 0; trial < TRIALS; trial++) {
        specimen stack = random_specimen(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, 24);
        bc_surface *straight;
        response upright, leaning;
        stack.aoi_rad = 0.0;
        straight = open_surface(&stack, BC_PATH_AUTO, BC_WANT_GRADIENT);
        expect_true(bc_surface_is_normal(straight));
        ck_assert_ptr_eq(bc_surface_R(straight, BC_S), bc_surface_R(straight, BC_P));
        ck_assert_ptr_eq(bc_surface_dT(straight, BC_S, 0), bc_surface_dT(straight, BC_P, 0));
        upright = read_response(straight);
        bc_surface_free(straight);
        stack.aoi_rad = 1e-9;
        leaning = response_of(&stack);
        expect_same_RT(&stack, &upright, &leaning, 1e-12);
    }
}
END_TEST

/* Some blocks of the grid, with fields kept and without: the figures of a whole evaluation there, and elsewhere those
 * of the one before; of a graded stack everywhere those of a whole one. */
START_TEST(blocks_of_the_grid)
{
    static const unsigned block[] = {1, 3};
    random_source random = {54};
    for (int trial = 0; trial < 8 * SPECIMEN_KINDS; trial++) {
        const bool graded = trial % 5 == 4;
        const double gradient[MOST_MATERIALS] = {0.03};
        specimen before = random_specimen(&random, (specimen_kind)(trial % SPECIMEN_KINDS), 12), after;
        bc_index index[MOST_MATERIALS];
        bc_surface *whole, *part;
        stretch_grid(&random, &before, 29);
        after = before;
        for (size_t j = 0; j < after.layers; j++)
            after.thickness_nm[j] *= 1.1;
        bc_surface_setup setup = setup_of(&before, index);
        if (graded)
            setup.gradient = gradient;
        ck_assert_int_eq(bc_surface_alloc(&setup, &whole, NULL), BC_OK);
        ck_assert_int_eq(bc_surface_alloc(&setup, &part, NULL), BC_OK);
        evaluate(part, &before, BC_WANT_GRADIENT);
        bc_surface_keep_fields(part, trial % 3 == 0);
        bc_surface_evaluate_blocks(part, after.layers, after.material, after.thickness_nm, BC_WANT_GRADIENT, 2, block);
        for (int pass = 0; pass < 2; pass++) {
            evaluate(whole, pass == 0 ? &after : &before, BC_WANT_GRADIENT);
            for (size_t i = 0; i < after.wavelengths; i++)
                if ((graded || i / BC_SURFACE_BLOCK % 2 == 1) == (pass == 0))
                    for (int p = BC_S; p <= BC_P; p++) {
                        ck_assert_double_eq(values_apart(part, i, whole, i, (bc_plane)p), 0.0);
                        for (size_t j = 0; j < after.layers; j++)
                            ck_assert_double_eq(slopes_apart(part, i, whole, i, (bc_plane)p, j), 0.0);
                    }
        }
        bc_surface_free(whole);
        bc_surface_free(part);
    }
}
END_TEST

TCase *paths_case(void)
{
    TCase *tests = tcase_create("paths");
    tcase_add_loop_test(tests, every_path_agrees, BC_PATH_AUTO, BC_PATH_AVX512 + 1);
    tcase_add_test(tests, any_number_of_wavelengths);
    tcase_add_test(tests, workspace_forgets);
    tcase_add_test(tests, blocks_of_the_grid);
    tcase_add_test(tests, normal_incidence);
    return tests;
}
