/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_POINTS 2000
#define MOST_ROWS   16

const char *const six_index[6] = {"1.38", "2.10", "1.38", "2.10", "1.38", "2.10"};
const double six_nm[6] = {92.0, 118.0, 21.0, 31.0, 62.0, 14.0};

typedef struct face {
    double R, T, R_inside;
} face;

static reference_stack stack_of(const truth *t, size_t layers, const reference_layer *layer, double nm)
{
    return (reference_stack){.wavelength_nm = nm,
                             .aoi_rad = t->aoi_rad,
                             .invariant_n = 1.0,
                             .incident_n = 1.0,
                             .substrate_n = t->glass_n,
                             .layers = layers,
                             .layer = layer};
}

/* A coated surface between air and glass, from both sides, s and p. */
static void look_at_face(reference *engine, const truth *t, size_t layers, const reference_layer *layer, double nm,
                         face out[2])
{
    reference_layer turned[MOST_LAYERS];
    reference_stack stack = stack_of(t, layers, layer, nm);
    reference_value outside[2], inside[2];
    reference_evaluate(engine, &stack, outside);
    for (size_t j = 0; j < layers; j++)
        turned[j] = layer[layers - 1 - j];
    stack.incident_n = t->glass_n;
    stack.substrate_n = 1.0;
    stack.layer = turned;
    reference_evaluate(engine, &stack, inside);
    for (int p = 0; p < 2; p++)
        out[p] = (face){outside[p].R, outside[p].T, inside[p].R};
}

/* The sum over all reflections within a clear plate, counted once more by hand: each crossing adds what leaves. */
static void add_reflections(const face *front, const face *back, double *R, double *T)
{
    double inside = front->T;
    *R = front->R;
    *T = 0.0;
    while (inside > 1e-20) {
        *T += inside * back->T;
        inside *= back->R_inside;
        *R += inside * front->T;
        inside *= front->R_inside;
    }
}

static void look(reference *engine, const truth *t, double nm, double R[2], double T[2])
{
    face front[2], back[2];
    look_at_face(engine, t, t->layers, t->layer, nm, front);
    if (t->back == BC_BACK_SAME)
        look_at_face(engine, t, t->layers, t->layer, nm, back);
    else
        look_at_face(engine, t, t->back == BC_BACK_OWN ? t->back_layers : 0, t->back_layer, nm, back);
    for (int p = 0; p < 2; p++) {
        R[p] = front[p].R;
        T[p] = front[p].T;
        if (t->back != BC_BACK_NONE)
            add_reflections(&front[p], &back[p], &R[p], &T[p]);
    }
}

static double in_polarization(const truth *t, const double value[2])
{
    return t->polarization == BC_POL_S   ? value[0]
           : t->polarization == BC_POL_P ? value[1]
                                         : 0.5 * (value[0] + value[1]);
}

void truth_spectrum(const truth *t, size_t count, const double *wavelength_nm, double *R, double *T)
{
    reference *engine = reference_alloc(REFERENCE_BITS, MOST_LAYERS);
    ck_assert_ptr_nonnull(engine);
    for (size_t i = 0; i < count; i++) {
        double both_R[2], both_T[2];
        look(engine, t, wavelength_nm[i], both_R, both_T);
        if (R != NULL)
            R[i] = in_polarization(t, both_R);
        if (T != NULL)
            T[i] = in_polarization(t, both_T);
    }
    reference_free(engine);
}

bc_medium bench_medium(bench *b, const char *name)
{
    bc_medium medium = {0};
    bc_error error;
    ck_assert_msg(bc_medium_find(b->materials, name, NULL, &medium, &error) == BC_OK, "%s", error.message);
    return medium;
}

void bench_open(bench *b, const char *glass, size_t layers, const char *const *index, const double *thickness_nm)
{
    memset(b, 0, sizeof *b);
    ck_assert_int_eq(bc_materials_alloc(&b->materials, NULL), BC_OK);
    ck_assert_int_eq(bc_stack_alloc(layers, &b->design, NULL), BC_OK);
    b->design.incident = bench_medium(b, "air");
    b->design.substrate = bench_medium(b, glass);
    for (size_t j = 0; j < layers; j++) {
        b->design.layer[j].material = bench_medium(b, index[j]);
        b->design.layer[j].thickness_nm = thickness_nm[j];
    }
    b->callouts.callout = calloc(MOST_ROWS, sizeof *b->callouts.callout);
    ck_assert_ptr_nonnull(b->callouts.callout);
    b->setup = bc_inspect_defaults(&b->design);
    b->random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(b->random, 20240607);
}

void bench_close(bench *b)
{
    gsl_rng_free(b->random);
    free(b->callouts.callout);
    bc_stack_clear(&b->design);
    bc_materials_free(b->materials);
}

bc_callout *bench_ask(bench *b, bc_statistic statistic, bc_sense sense, double limit, double from_nm, double to_nm)
{
    bc_callout *callout = &b->callouts.callout[b->callouts.count++];
    ck_assert_uint_le(b->callouts.count, MOST_ROWS);
    *callout = (bc_callout){.name = "row",
                            .quantity = BC_R,
                            .statistic = statistic,
                            .sense = sense,
                            .limit = limit,
                            .from_nm = from_nm,
                            .to_nm = to_nm,
                            .polarization = BC_POL_UNPOLARIZED};
    b->setup.callouts = &b->callouts;
    return callout;
}

void bench_open_six(bench *b, double limit, double from_nm, double to_nm)
{
    bench_open(b, "1.52", 6, six_index, six_nm);
    bench_ask(b, BC_EXTREME, BC_AT_MOST, limit, from_nm, to_nm);
}

truth bench_truth(const bench *b)
{
    truth t = {.glass_n = strtod(b->design.substrate.name, NULL),
               .layers = b->design.layers,
               .back = b->setup.back.kind,
               .aoi_rad = b->setup.aoi_rad,
               .polarization = b->setup.polarization};
    ck_assert_uint_le(t.layers, MOST_LAYERS);
    for (size_t j = 0; j < t.layers; j++)
        t.layer[j] =
            (reference_layer){strtod(b->design.layer[j].material.name, NULL), 0.0, b->design.layer[j].thickness_nm};
    return t;
}

bc_measurement bench_scan(const truth *t, unsigned what, double from_nm, double step_nm, size_t count)
{
    bc_measurement scan;
    ck_assert_uint_le(count, MOST_POINTS);
    ck_assert_int_eq(bc_measurement_alloc(count, what | BC_MEASURED_R_DEVIATION | BC_MEASURED_T_DEVIATION, &scan, NULL),
                     BC_OK);
    for (size_t i = 0; i < count; i++) {
        scan.wavelength_nm[i] = from_nm + step_nm * (double)i;
        scan.R.deviation[i] = scan.T.deviation[i] = NAN;
    }
    truth_spectrum(t, count, scan.wavelength_nm, scan.R.value, scan.T.value);
    return scan;
}

bc_measurement scan_copy(const bc_measurement *scan)
{
    const unsigned what = (scan->R.value != NULL ? BC_MEASURED_R : 0u) | (scan->T.value != NULL ? BC_MEASURED_T : 0u) |
                          BC_MEASURED_R_DEVIATION | BC_MEASURED_T_DEVIATION;
    const size_t bytes = scan->count * sizeof(double);
    bc_measurement copy;
    ck_assert_int_eq(bc_measurement_alloc(scan->count, what, &copy, NULL), BC_OK);
    memcpy(copy.wavelength_nm, scan->wavelength_nm, bytes);
    memcpy(copy.R.deviation, scan->R.deviation, bytes);
    memcpy(copy.T.deviation, scan->T.deviation, bytes);
    if (scan->R.value != NULL)
        memcpy(copy.R.value, scan->R.value, bytes);
    if (scan->T.value != NULL)
        memcpy(copy.T.value, scan->T.value, bytes);
    copy.repeats = scan->repeats;
    return copy;
}

void scan_disturb(bench *b, bc_measurement *scan, double noise, double offset)
{
    double *const value[] = {scan->R.value, scan->T.value};
    for (size_t q = 0; q < 2; q++) {
        const double shared = offset * gsl_ran_gaussian(b->random, 1.0);
        for (size_t i = 0; value[q] != NULL && i < scan->count; i++)
            value[q][i] += shared + gsl_ran_gaussian(b->random, noise);
    }
}

void scan_know_noise(bc_measurement *scan, double noise)
{
    scan->repeats = 1000000000;
    for (size_t i = 0; i < scan->count; i++)
        scan->R.deviation[i] = scan->T.deviation[i] = noise;
}

bc_inspect_result bench_inspect(const bench *b, const bc_measurement *scan)
{
    bc_inspect_result result;
    bc_error error;
    ck_assert_msg(bc_inspect(scan, &b->setup, &result, &error) == BC_OK, "%s", error.message);
    return result;
}

bc_inspect_result bench_scan_and_inspect(const bench *b, const truth *t, unsigned what)
{
    bc_measurement scan = bench_scan(t, what, 400.0, 4.0, 101);
    bc_inspect_result result = bench_inspect(b, &scan);
    bc_measurement_clear(&scan);
    return result;
}

void expect_share(size_t hits, size_t trials, double share)
{
    const double n = (double)trials, away = fabs((double)hits - n * share);
    ck_assert_msg(away <= 4.0 * sqrt(n * share * (1.0 - share)), "%zu of %zu, expected about %g %%", hits, trials,
                  100.0 * share);
}

void expect_at_most(size_t hits, size_t trials, double share)
{
    const double n = (double)trials;
    ck_assert_msg((double)hits <= n * share + 3.0 * sqrt(n * share * (1.0 - share)),
                  "%zu of %zu, expected at most %g %%", hits, trials, 100.0 * share);
}
