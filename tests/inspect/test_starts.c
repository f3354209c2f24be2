/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where a fit begins, against every look taken anew.
 */
#include "inspection.h"
#include "starts.h"
#include "witness.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define COUNT 31
#define MOST  160

typedef struct scene {
    bench b;
    double nm[COUNT], R[COUNT];
    bc_measurement scan;
    bc_inspect_result result;
    bc_inspection inspection;
    bc_fit fit;
    bc_starts starts;
    size_t layers, expected;
    double design_nm[MOST], start_nm[BC_STARTS][MOST], chi_squared[BC_STARTS];
} scene;

/* Readings of no layers at all: any will do. */
static void open_scene(scene *s, size_t layers, double thinnest_nm)
{
    const char *index[MOST] = {NULL};
    memset(s, 0, sizeof *s);
    s->layers = layers;
    for (size_t j = 0; j < layers; j++) {
        index[j] = j % 2 == 0 ? "2.10" : "1.38";
        s->design_nm[j] = thinnest_nm * (1.0 + 0.5 * (double)(j % 3));
    }
    bench_open(&s->b, "1.52", layers, index, s->design_nm);
    for (size_t i = 0; i < COUNT; i++) {
        s->nm[i] = 400.0 + 10.0 * (double)i;
        s->R[i] = 0.15 + 0.1 * sin((double)i / 2.0) + 0.03 * cos((double)(i * i));
    }
    s->scan = (bc_measurement){.count = COUNT, .repeats = 1, .wavelength_nm = s->nm, .R.value = s->R};
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, NULL), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &s->fit, NULL), BC_OK);
    ck_assert_int_eq(bc_starts_open(&s->fit, &s->starts, NULL), BC_OK);
}

static void close_scene(scene *s)
{
    bc_starts_close(&s->starts);
    bc_fit_close(&s->fit);
    bc_readings_close(&s->inspection.readings);
    bench_close(&s->b);
}

static double look(scene *s, const double *from_nm, size_t set, double factor, double *nm)
{
    for (size_t j = 0; j < s->layers; j++) {
        const bool struck = set == SIZE_MAX || (set < s->layers ? j == set : j % 2 == set - s->layers);
        nm[j] = from_nm[j] * (struck ? factor : 1.0);
    }
    return bc_fit_chi_squared(&s->fit, nm);
}

static void expect(scene *s, const double *nm, double chi_squared)
{
    memcpy(s->start_nm[s->expected], nm, s->layers * sizeof *nm);
    s->chi_squared[s->expected++] = chi_squared;
}

/* The lowest three minima over the factor of all layers. */
static void expect_valleys(scene *s, size_t looks)
{
    double *chi_squared = calloc(looks + 1, sizeof *chi_squared), nm[MOST], below = -INFINITY;
    for (size_t i = 0; i <= looks; i++)
        chi_squared[i] = look(s, s->design_nm, SIZE_MAX, 0.6 * pow(1.67 / 0.6, (double)i / (double)looks), nm);
    for (int v = 0; v < BC_VALLEYS; v++) {
        size_t best = SIZE_MAX;
        for (size_t i = 0; i <= looks; i++)
            if ((i == 0 || chi_squared[i] <= chi_squared[i - 1]) &&
                (i == looks || chi_squared[i] < chi_squared[i + 1]) && chi_squared[i] > below &&
                (best == SIZE_MAX || chi_squared[i] < chi_squared[best]))
                best = i;
        if (best == SIZE_MAX)
            break;
        below = chi_squared[best];
        look(s, s->design_nm, SIZE_MAX, 0.6 * pow(1.67 / 0.6, (double)best / (double)looks), nm);
        expect(s, nm, below);
        if (v == 0)
            ck_assert_double_eq_tol(s->starts.scale, nm[0] / s->design_nm[0], 1e-12);
    }
    free(chi_squared);
}

/* The best factor of one layer, or of every second one, which are of one material. */
static void expect_few(scene *s, const double *from_nm, size_t looks)
{
    const size_t sets = s->layers + (s->layers > 1 ? 2 : 1);
    double nm[MOST], best_nm[MOST] = {0.0}, least = INFINITY;
    for (size_t set = 0; set < sets; set++)
        for (size_t i = 0; i < looks; i++) {
            const double chi_squared = look(s, from_nm, set, 0.5 + 1.1 * (double)i / (double)(looks - 1), nm);
            if (chi_squared < least) {
                least = chi_squared;
                memcpy(best_nm, nm, sizeof nm);
            }
        }
    expect(s, best_nm, least);
}

static bool is_same(const scene *s, const double *one_nm, const double *other_nm)
{
    bool same = true;
    for (size_t j = 0; j < s->layers; j++)
        same = same && fabs(one_nm[j] - other_nm[j]) < 1e-9;
    return same;
}

/* Loop: few layers, thick ones, so many that each is looked at less often, and hardly. */
START_TEST(starts_of_a_fit)
{
    static const size_t layers[] = {3, 1, 30, MOST}, of_all[] = {214, 601, 0, 1000}, of_few[] = {56, 56, 37, 8};
    static const double thinnest_nm[] = {60.0, 3343.18, 60.0, 60.0};
    double optical_nm = 0.0, nm[MOST];
    scene s;
    open_scene(&s, layers[_i], thinnest_nm[_i]);
    for (size_t j = 0; j < s.layers; j++)
        optical_nm += (j % 2 == 0 ? 2.10 : 1.38) * s.design_nm[j];
    const size_t looks = of_all[_i] == 0 ? (size_t)ceil(1.07 * 32.0 * optical_nm / 400.0) : of_all[_i];
    ck_assert(looks >= 214 && looks <= 1000);
    expect(&s, s.design_nm, look(&s, s.design_nm, SIZE_MAX, 1.0, nm));
    expect_valleys(&s, looks);
    ck_assert_uint_gt(s.expected, _i == 1 ? 3 : 1);
    double best_nm[MOST];
    memcpy(best_nm, s.start_nm[1], sizeof best_nm);
    expect_few(&s, s.design_nm, of_few[_i]);
    expect_few(&s, best_nm, of_few[_i]);
    ck_assert_uint_eq(s.starts.count, s.expected);
    for (size_t i = 0; i < s.expected; i++) {
        size_t found = 0, among = 0; /* a factor of one layer may be 1 */
        ck_assert(i == 0 || s.starts.start[i].chi_squared >= s.starts.start[i - 1].chi_squared);
        for (size_t k = 0; k < s.expected; k++) {
            found += is_same(&s, s.starts.start[k].thickness_nm, s.start_nm[i]) &&
                     fabs(s.starts.start[k].chi_squared / s.chi_squared[i] - 1.0) < 1e-9;
            among += is_same(&s, s.start_nm[k], s.start_nm[i]);
        }
        ck_assert_msg(found == among, "start %zu is there %zu times", i, found);
    }
    close_scene(&s);
}
END_TEST

/* Without layers there is the design alone. */
START_TEST(nothing_to_begin_with)
{
    scene s;
    open_scene(&s, 0, 60.0);
    ck_assert_uint_eq(s.starts.count, 1);
    ck_assert_double_eq(s.starts.scale, 1.0);
    ck_assert_double_eq(s.starts.start[0].chi_squared, bc_fit_chi_squared(&s.fit, s.design_nm));
    close_scene(&s);
}
END_TEST

TCase *starts_case(void)
{
    TCase *tests = tcase_create("starts");
    tcase_add_loop_test(tests, starts_of_a_fit, 0, 4);
    tcase_add_test(tests, nothing_to_begin_with);
    return tests;
}
