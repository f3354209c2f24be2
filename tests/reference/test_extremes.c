/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The engine against GNU MPC at the ends of what it takes: n 0.05 to 6, k to 10, layers of 1e-3 to 1e6 nm, 0 to 89.99
 * degrees, 10,000 layers, 1,000,000 wavelengths; on every vector path of this processor. Equations of the reference:
 * see reference.h.
 *
 * A double holds a phase to 2^-53 of itself. A clear layer of 1e6 nm has a phase of 1e5 radians, so that its fringes
 * are where they are only to 1e-11 of a radian, and no engine in doubles can tell R better. Besides 1e-12, R and T may
 * therefore be off by what ROUNDINGS such roundings of each layer's phase and of the angle move them. BC_EXTREMES=N in
 * the environment tries N random stacks instead of a few hundred and prints the worst.
 */
#include "support.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TOLERANCE   1e-12
#define ROUNDINGS   4.0
#define TRIALS      300
#define MOST_LAYERS 24
#define PATHS       3

static const char *const path_name[] = {"auto", "portable", "AVX2", "AVX-512"};

static double between_powers(random_source *random, double from, double to)
{
    return exp(uniform(random, log(from), log(to)));
}

/* A third clear, a third weak, a third a metal. */
static reference_layer extreme_layer(random_source *random)
{
    static const double k_least[] = {0.0, 1e-8, 0.5}, k_most[] = {0.0, 0.5, 10.0};
    const size_t kind = below(random, 3);
    return (reference_layer){between_powers(random, 0.05, 6.0),
                             kind == 0 ? 0.0 : between_powers(random, k_least[kind], k_most[kind]),
                             between_powers(random, 1e-3, below(random, 2) == 0 ? 1e3 : 1e6)};
}

static reference_stack extreme_stack(random_source *random, reference_layer *layer)
{
    reference_stack stack = {.wavelength_nm = between_powers(random, 200.0, 2e4),
                             .incident_n = below(random, 2) == 0 ? 1.0 : uniform(random, 1.0, 4.0),
                             .substrate_n = between_powers(random, 0.05, 6.0),
                             .layer = layer};
    static const double ends_deg[] = {0.0, 89.9, 89.99, 60.0};
    stack.aoi_rad = (below(random, 3) == 0 ? ends_deg[below(random, 4)] : uniform(random, 0.0, 89.99)) * PI / 180.0;
    stack.invariant_n = stack.incident_n;
    stack.substrate_k = below(random, 2) == 0 ? 0.0 : between_powers(random, 1e-8, 10.0);
    stack.layers = 1 + below(random, below(random, 2) == 0 ? 3 : MOST_LAYERS);
    for (size_t j = 0; j < stack.layers; j++)
        layer[j] = extreme_layer(random);
    return stack;
}

typedef struct worst {
    double difference, share; /* of what is allowed */
    size_t compared, beyond;  /* differences above TOLERANCE */
} worst;

/* What a rounding of each thickness and of the angle moves R or T by, in each plane. */
static void find_reach(reference *engine, const reference_stack *stack, double reach[2])
{
    const double radian_nm = stack->wavelength_nm / (2.0 * PI);
    reference_stack leaning = *stack;
    reference_value(*slope)[2] = calloc(stack->layers + 1, sizeof *slope);
    reference_value low[2], high[2];
    ck_assert_ptr_nonnull(slope);
    reference_gradient(engine, stack, REFERENCE_STEP_NM, slope);
    leaning.aoi_rad = stack->aoi_rad * (1.0 - 0x1p-40);
    reference_evaluate(engine, &leaning, low);
    leaning.aoi_rad = stack->aoi_rad;
    reference_evaluate(engine, &leaning, high);
    for (int p = 0; p < 2; p++) {
        reach[p] = 0x1p-13 * fmax(fabs(high[p].R - low[p].R), fabs(high[p].T - low[p].T));
        for (size_t j = 0; j < stack->layers; j++)
            reach[p] +=
                0x1p-53 * (stack->layer[j].thickness_nm + radian_nm) * fmax(fabs(slope[j][p].R), fabs(slope[j][p].T));
    }
    free(slope);
}

static void compare(worst *seen, double value, double exact, double reach, const reference_stack *stack, bc_path path,
                    int plane, const char *what)
{
    const double off = fabs(value - exact), allowed = TOLERANCE + ROUNDINGS * reach;
    seen->compared++;
    seen->beyond += off > TOLERANCE;
    seen->difference = fmax(seen->difference, off);
    seen->share = fmax(seen->share, off / allowed);
    if (!(off <= allowed))
        ck_abort_msg(
            "%s, plane %d, %zu layers (n %g, k %g, %g nm ...), n0 %g, substrate %g - %gi, %.17g deg, %g nm: %s is "
            "%.17g, not %.17g (difference %.3g, allowed %.3g)",
            path_name[path], plane, stack->layers, stack->layer[0].n, stack->layer[0].k, stack->layer[0].thickness_nm,
            stack->incident_n, stack->substrate_n, stack->substrate_k, stack->aoi_rad * 180.0 / PI,
            stack->wavelength_nm, what, value, exact, off, allowed);
}

/* The stack on one vector path; NULL when this processor cannot run it. */
static bc_surface *evaluated(const reference_stack *stack, bc_path path)
{
    bc_index *index = calloc(stack->layers + 1, sizeof *index);
    unsigned *material = calloc(stack->layers + 1, sizeof *material);
    double *thickness_nm = calloc(stack->layers + 1, sizeof *thickness_nm);
    bc_surface_setup setup;
    bc_surface *surface;
    ck_assert(index != NULL && material != NULL && thickness_nm != NULL);
    setup = setup_of(stack, index);
    number_layers(stack, material, thickness_nm);
    setup.invariant_n = NULL;
    setup.path = path;
    ck_assert(bc_surface_alloc(&setup, &surface, NULL) == BC_OK || path > BC_PATH_PORTABLE);
    if (surface != NULL)
        bc_surface_evaluate(surface, stack->layers, material, thickness_nm, BC_WANT_VALUES);
    free(index);
    free(material);
    free(thickness_nm);
    return surface;
}

static void compare_stack(worst seen[PATHS], reference *engine, const reference_stack *stack)
{
    reference_value exact[2];
    double reach[2];
    find_reach(engine, stack, reach);
    reference_evaluate(engine, stack, exact);
    for (int path = 0; path < PATHS; path++) {
        bc_surface *surface = evaluated(stack, (bc_path)(BC_PATH_PORTABLE + path));
        for (int p = 0; surface != NULL && p < 2; p++) {
            const double R = *bc_surface_R(surface, (bc_plane)p), T = *bc_surface_T(surface, (bc_plane)p);
            compare(&seen[path], R, exact[p].R, reach[p], stack, (bc_path)(BC_PATH_PORTABLE + path), p, "R");
            compare(&seen[path], T, exact[p].T, reach[p], stack, (bc_path)(BC_PATH_PORTABLE + path), p, "T");
            ck_assert_msg(R >= 0.0 && T >= 0.0 && R + T <= 1.0 + TOLERANCE, "R %.17g, T %.17g", R, T);
        }
        bc_surface_free(surface);
    }
}

static void tell(const char *what, const worst seen[PATHS])
{
    for (int path = 0; getenv("BC_EXTREMES") != NULL && path < PATHS; path++)
        if (seen[path].compared > 0)
            printf("%-18s %-9s %8zu compared, worst %.2g, %zu above %g, at most %.2f of what is allowed\n", what,
                   path_name[path + BC_PATH_PORTABLE], seen[path].compared, seen[path].difference, seen[path].beyond,
                   TOLERANCE, seen[path].share);
}

START_TEST(random_extremes)
{
    random_source random = {2718};
    reference *engine = reference_alloc(REFERENCE_GRADIENT_BITS, MOST_LAYERS);
    const char *asked = getenv("BC_EXTREMES");
    const long trials = asked == NULL ? TRIALS : strtol(asked, NULL, 10);
    worst seen[PATHS] = {{0}};
    ck_assert_ptr_nonnull(engine);
    for (long number = 0; number < trials; number++) {
        reference_layer layer[MOST_LAYERS];
        const reference_stack stack = extreme_stack(&random, layer);
        compare_stack(seen, engine, &stack);
    }
    tell("extreme stacks", seen);
    ck_assert_uint_gt(seen[0].compared, seen[0].beyond * 5);
    reference_free(engine);
}
END_TEST

/* The long stacks: a mirror, the same with errors and a trace of absorption, and layers at random. */
static reference_layer layer_of_many(random_source *random, int kind, size_t j)
{
    const double n = j % 2 == 0 ? 2.3 : 1.35, quarter_nm = 550.0 / 4.0 / n;
    if (kind == 0)
        return (reference_layer){n, 0.0, quarter_nm};
    if (kind == 1)
        return (reference_layer){n, j % 2 == 0 ? 1e-7 : 0.0, quarter_nm * uniform(random, 0.5, 1.5)};
    return (reference_layer){uniform(random, 1.3, 1.5), j % 100 == 0 ? 1e-4 : 0.0, uniform(random, 1.0, 300.0)};
}

START_TEST(ten_thousand_layers)
{
    enum { LAYERS = 10000 };
    static reference_layer layer[LAYERS];
    random_source random = {1618};
    reference *engine = reference_alloc(REFERENCE_GRADIENT_BITS, LAYERS);
    worst seen[PATHS] = {{0}};
    ck_assert_ptr_nonnull(engine);
    for (int kind = 0; kind < 3; kind++) {
        reference_stack stack = coated(1.52, LAYERS, layer, _i == 0 ? 550.0 : 801.7);
        stack.aoi_rad = _i == 0 ? 0.0 : 0.9;
        for (size_t j = 0; j < LAYERS; j++)
            layer[j] = layer_of_many(&random, kind, j);
        compare_stack(seen, engine, &stack);
    }
    tell("10,000 layers", seen);
    reference_free(engine);
}
END_TEST

/* Two layers on a grid of a million wavelengths, every index with a slope, each of a few hundred places along it. */
START_TEST(million_wavelengths)
{
    enum { WAVELENGTHS = 1000000, LOOKS = 300 };
    static double wavelength_nm[WAVELENGTHS], n[4][WAVELENGTHS], k[WAVELENGTHS];
    static const unsigned material[] = {0, 1};
    static const double thickness_nm[] = {95.0, 310.0};
    const bc_index index[2] = {{n[0], NULL}, {n[1], k}};
    bc_surface_setup setup = {.wavelengths = WAVELENGTHS,
                              .wavelength_nm = wavelength_nm,
                              .aoi_rad = 0.7,
                              .incident = {n[2], NULL},
                              .substrate = {n[3], NULL},
                              .materials = 2,
                              .material = index,
                              .max_layers = 2,
                              .path = (bc_path)_i};
    reference *engine = reference_alloc(REFERENCE_BITS, 2);
    bc_surface *surface;
    ck_assert_ptr_nonnull(engine);
    for (size_t i = 0; i < WAVELENGTHS; i++) {
        wavelength_nm[i] = 300.0 + 1e-3 * (double)i;
        for (int m = 0; m < 4; m++)
            n[m][i] = 1.0 + 0.4 * m + 1e4 / (wavelength_nm[i] * wavelength_nm[i]);
        k[i] = 50.0 / (wavelength_nm[i] * wavelength_nm[i]);
    }
    if (bc_surface_alloc(&setup, &surface, NULL) == BC_OK) {
        bc_surface_evaluate(surface, 2, material, thickness_nm, BC_WANT_VALUES);
        for (size_t look = 0; look <= LOOKS; look++) {
            const size_t i = look * (WAVELENGTHS - 1) / LOOKS;
            const reference_layer layer[] = {{n[0][i], 0.0, thickness_nm[0]}, {n[1][i], k[i], thickness_nm[1]}};
            reference_stack stack = coated(n[3][i], 2, layer, wavelength_nm[i]);
            reference_value exact[2];
            stack.incident_n = stack.invariant_n = n[2][i];
            stack.aoi_rad = setup.aoi_rad;
            reference_evaluate(engine, &stack, exact);
            for (int p = 0; p < 2; p++) {
                ck_assert_double_eq_tol(bc_surface_R(surface, (bc_plane)p)[i], exact[p].R, 1e-13);
                ck_assert_double_eq_tol(bc_surface_T(surface, (bc_plane)p)[i], exact[p].T, 1e-13);
            }
        }
        bc_surface_free(surface);
    } else {
        ck_assert_int_gt(_i, BC_PATH_PORTABLE);
    }
    reference_free(engine);
}
END_TEST

TCase *extremes_case(void)
{
    TCase *tests = tcase_create("extremes");
    tcase_set_timeout(tests, 600.0);
    tcase_add_test(tests, random_extremes);
    tcase_add_loop_test(tests, ten_thousand_layers, 0, 2);
    tcase_add_loop_test(tests, million_wavelengths, BC_PATH_PORTABLE, BC_PATH_AVX512 + 1);
    return tests;
}
