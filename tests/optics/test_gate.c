/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Nothing leaves that light cannot do: random stacks, parts and angles, as many as BC_STACKS in the environment says
 * (two thousand without it; a million takes minutes). With BC_STACKS the counts are printed.
 */
#include "random.h"
#include "suites.h"
#include <bloomcoat/spectrum.h>
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FEW_LAYERS = 8, WAVELENGTHS = 3, MEDIA = FEW_LAYERS + 2 };

typedef struct scene {
    bc_stack stack;
    bc_layer layer[FEW_LAYERS];
    bc_dispersion *medium[MEDIA];
    size_t media;
    bc_back back;
    double wavelength_nm[WAVELENGTHS];
    double aoi_rad;
    double substrate_k;
} scene;

static double power_of_ten(random_source *random, double from, double to)
{
    return pow(10.0, uniform(random, from, to));
}

static bc_medium medium_of(scene *s, double n, double k)
{
    bc_medium medium = {.name = "medium"};
    bc_error error;
    ck_assert(bc_dispersion_constant("medium", n, k, &s->medium[s->media], &error) == BC_OK);
    medium.dispersion = s->medium[s->media++];
    return medium;
}

/* Clear, weakly absorbing, or a metal. */
static bc_medium any_medium(scene *s, random_source *random, double *k)
{
    const double n = chance(random, 0.3) ? power_of_ten(random, -1.3, 0.7) : uniform(random, 1.3, 4.2);
    *k = chance(random, 0.5) ? 0.0 : power_of_ten(random, -9.0, 1.0);
    return medium_of(s, n, *k);
}

static void set_scene(scene *s, random_source *random)
{
    static const bc_back_kind backs[] = {BC_BACK_NONE, BC_BACK_UNCOATED, BC_BACK_SAME};
    double k;
    *s = (scene){0};
    s->stack.incident = medium_of(s, chance(random, 0.6) ? 1.0 : uniform(random, 1.0, 4.0), 0.0);
    s->stack.substrate = any_medium(s, random, &s->substrate_k);
    s->stack.layers = below(random, FEW_LAYERS + 1);
    s->stack.layer = s->layer;
    for (size_t j = 0; j < s->stack.layers; j++)
        s->layer[j] = (bc_layer){any_medium(s, random, &k), power_of_ten(random, -1.0, 3.5), false};
    s->back.kind = backs[below(random, 3)];
    s->back.substrate_mm = chance(random, 0.1) ? 0.0 : power_of_ten(random, -7.0, 1.5);
    s->aoi_rad = chance(random, 0.2) ? 0.0 : asin(1.0) * (1.0 - power_of_ten(random, -9.0, 0.0));
    for (size_t i = 0; i < WAVELENGTHS; i++)
        s->wavelength_nm[i] = power_of_ten(random, 2.3, 4.2);
}

static void clear_scene(scene *s)
{
    for (size_t m = 0; m < s->media; m++)
        bc_dispersion_free(s->medium[m]);
}

static bool is_fraction(double value)
{
    return value >= 0.0 && value <= 1.0;
}

static void expect_possible(const bc_spectrum *seen)
{
    for (int p = 0; p < 3; p++)
        for (size_t i = 0; i < seen->count; i++) {
            ck_assert(is_fraction(seen->R[p][i]) && is_fraction(seen->T[p][i]) && is_fraction(seen->A[p][i]));
            ck_assert_double_le(fabs(seen->R[p][i] + seen->T[p][i] + seen->A[p][i] - 1.0), 1.1 * BC_ROUNDING);
        }
}

static size_t asked(void)
{
    const char *text = getenv("BC_STACKS");
    return text == NULL ? 2000 : (size_t)strtoul(text, NULL, 10);
}

START_TEST(nothing_impossible_leaves)
{
    random_source random = {2026};
    size_t given = 0, refused = 0, no_thickness = 0, of_thick = 0;
    for (size_t trial = 0; trial < asked(); trial++) {
        scene s;
        bc_spectrum seen;
        bc_error error = {0};
        set_scene(&s, &random);
        const bool part = s.back.kind != BC_BACK_NONE;
        const bool none = part && s.back.substrate_mm == 0.0 && s.substrate_k > 0.0;
        const bc_status status = bc_spectrum_compute(&s.stack, &s.back, WAVELENGTHS, s.wavelength_nm, s.aoi_rad,
                                                     BC_PATH_AUTO, &seen, &error);
        if (status == BC_OK) {
            ck_assert(!none);
            expect_possible(&seen);
            bc_spectrum_clear(&seen);
            given++;
        } else {
            ck_assert_msg(status == BC_ERROR_INPUT, "%s", error.message);
            ck_assert_msg(part && s.substrate_k > 0.0, "refused: %s", error.message);
            no_thickness += none;
            refused += !none;
            /* Thick against the wavelength, and clear enough for light to pass: what a part is. */
            of_thick += !none && s.back.substrate_mm >= 0.1 && s.substrate_k < 1e-3;
        }
        clear_scene(&s);
    }
    if (getenv("BC_STACKS") != NULL)
        printf(
            "%zu stacks: %zu given, %zu of no thickness refused, %zu impossible refused (%zu of them in thick glass)\n",
            asked(), given, no_thickness, refused, of_thick);
    ck_assert_uint_gt(given, asked() / 2);
    ck_assert_uint_eq(of_thick, 0);
}
END_TEST

START_TEST(gate_refuses_in_words)
{
    static const struct {
        double R, T;
        bool possible;
    } one[] = {{0.5, 0.5, true},  {0.0, 1.0, true},    {1.0 + 1e-10, -1e-10, true},
               {0.7, 0.4, false}, {-0.01, 0.5, false}, {0.5, -0.01, false},
               {NAN, 0.0, false}, {0.0, NAN, false},   {INFINITY, 0, false}};
    for (size_t i = 0; i < sizeof one / sizeof *one; i++) {
        bc_error error = {0};
        const bc_status status = bc_refuse_impossible(550.0, one[i].R, one[i].T, &error);
        ck_assert_int_eq(status, one[i].possible ? BC_OK : BC_ERROR_INPUT);
        ck_assert(one[i].possible || strstr(error.message, "550 nm") != NULL);
    }
}
END_TEST

TCase *gate_case(void)
{
    TCase *tests = tcase_create("gate");
    tcase_add_test(tests, gate_refuses_in_words);
    tcase_add_test(tests, nothing_impossible_leaves);
    return tests;
}
