/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SEED 20261126

/* Antireflection designs for 420 to 680 nm on 517642, from the outer layer. */
typedef struct recipe {
    size_t layers;
    int material[MOST_LAYERS];
    double nm[MOST_LAYERS];
} recipe;

static const recipe recipes[DESIGNS] = {
    {3, {MGF2, HFO2, AL2O3}, {90.98, 116.43, 50.66}},
    {4, {MGF2, HFO2, MGF2, HFO2}, {95.19, 147.90, 29.00, 17.90}},
    {6, {MGF2, HFO2, AL2O3, MGF2, HFO2, MGF2}, {90.98, 94.97, 62.44, 102.77, 12.0, 45.01}},
    {8, {MGF2, HFO2, AL2O3, MGF2, AL2O3, HFO2, MGF2, HFO2}, {92.54, 65.70, 68.34, 124.26, 61.39, 97.07, 24.16, 20.37}}};

static void demand(bool fine, const char *what)
{
    if (fine)
        return;
    fprintf(stderr, "witnesses: %s\n", what);
    exit(3);
}

static bc_medium find(world *w, const char *name)
{
    bc_medium medium = {0};
    bc_error error;
    demand(bc_medium_find(w->materials, name, NULL, &medium, &error) == BC_OK, name);
    return medium;
}

void world_open(world *w)
{
    static const char *const media[AT_HAND] = {"MgF2", "Al2O3", "SiO2", "HfO2", "Ta2O5"};
    static const char *const glasses[GLASSES] = {"517642", "620364", "651559"};
    memset(w, 0, sizeof *w);
    demand(bc_materials_alloc(&w->materials, NULL) == BC_OK, "memory");
    demand(bc_materials_add_folder(w->materials, BC_SOURCE_DIR "/materials", NULL) == BC_OK, "no tables");
    for (size_t m = 0; m < AT_HAND; m++)
        w->medium[m] = find(w, media[m]);
    for (size_t g = 0; g < GLASSES; g++)
        w->glass[g] = find(w, glasses[g]);
    for (size_t d = 0; d < DESIGNS; d++) {
        bc_stack *stack = &w->design[d];
        demand(bc_stack_alloc(recipes[d].layers, stack, NULL) == BC_OK, "memory");
        stack->incident = find(w, "air");
        stack->substrate = w->glass[DESIGN_GLASS];
        for (size_t j = 0; j < stack->layers; j++) {
            stack->layer[j].material = w->medium[recipes[d].material[j]];
            stack->layer[j].thickness_nm = recipes[d].nm[j];
        }
    }
    w->engine = reference_alloc(REFERENCE_BITS, MOST_LAYERS);
    w->random = gsl_rng_alloc(gsl_rng_mt19937);
    demand(w->engine != NULL && w->random != NULL, "memory");
    gsl_rng_set(w->random, SEED);
}

void world_close(world *w)
{
    for (size_t d = 0; d < DESIGNS; d++)
        bc_stack_clear(&w->design[d]);
    reference_free(w->engine);
    gsl_rng_free(w->random);
    bc_materials_free(w->materials);
}

double world_normal(world *w, double sigma)
{
    return sigma > 0.0 ? gsl_ran_gaussian(w->random, sigma) : 0.0;
}

double world_between(world *w, double from, double to)
{
    return from + (to - from) * gsl_rng_uniform(w->random);
}

size_t world_pick(world *w, size_t count)
{
    return gsl_rng_uniform_int(w->random, count);
}

made made_as_designed(const world *w, size_t design)
{
    const bc_stack *stack = &w->design[design];
    made m = {.layers = stack->layers, .glass = stack->substrate.dispersion, .scale = 1.0};
    for (size_t j = 0; j < m.layers; j++) {
        m.material[j] = stack->layer[j].material.dispersion;
        m.nm[j] = stack->layer[j].thickness_nm;
    }
    return m;
}

void made_scatter(world *w, made *m, double sigma)
{
    for (size_t j = 0; j < m->layers; j++)
        m->nm[j] *= 1.0 + world_normal(w, sigma);
}

static double index_at(const bc_dispersion *dispersion, double nm, double *k)
{
    double n;
    demand(bc_dispersion_index(dispersion, 1, &nm, &n, k, NULL) == BC_OK, "a table does not reach");
    return n;
}

/* A bare back, unground, adds incoherently: R1 + (1 - R1)^2 R2 / (1 - R1 R2); no layer here absorbs. */
static double with_back(double front, double back)
{
    return front + (1.0 - front) * (1.0 - front) * back / (1.0 - front * back);
}

double true_R(const world *w, const made *m, double nm, double aoi_rad)
{
    reference_layer layer[MOST_LAYERS];
    reference_value front[2], bare[2];
    double k, mean = 0.0;
    reference_stack stack = {.wavelength_nm = nm,
                             .aoi_rad = aoi_rad,
                             .invariant_n = 1.0,
                             .incident_n = 1.0,
                             .layers = m->layers,
                             .layer = layer};
    stack.substrate_n = index_at(m->glass, nm, &k);
    for (size_t j = 0; j < m->layers; j++) {
        layer[j].n = index_at(m->material[j], nm, &k) + m->dn[j];
        layer[j].k = 0.0;
        layer[j].thickness_nm = m->nm[j];
    }
    reference_evaluate(w->engine, &stack, front);
    stack.layers = 0;
    if (m->back_seen)
        reference_evaluate(w->engine, &stack, bare);
    for (int p = 0; p < 2; p++)
        mean += 0.5 * (m->back_seen ? with_back(front[p].R, bare[p].R) : front[p].R);
    return mean;
}

double true_worst(const world *w, const made *m, double aoi_rad)
{
    double worst = 0.0;
    for (double nm = BAND_FROM_NM; nm <= BAND_TO_NM; nm += 2.0)
        worst = fmax(worst, true_R(w, m, nm, aoi_rad));
    return worst;
}

void scan_exact(const world *w, const made *m, double *value)
{
    for (size_t i = 0; i < POINTS; i++)
        value[i] = m->scale * true_R(w, m, FROM_NM + STEP_NM * (double)i + m->shift_nm, m->aoi_rad) + m->offset;
}

bc_measurement scan_of(world *w, const double *exact)
{
    bc_measurement scan;
    const double offset = world_normal(w, 0.5 * w->uncertainty);
    demand(bc_measurement_alloc(POINTS, BC_MEASURED_R, &scan, NULL) == BC_OK, "memory");
    for (size_t i = 0; i < POINTS; i++) {
        scan.wavelength_nm[i] = FROM_NM + STEP_NM * (double)i;
        scan.R.value[i] = exact[i] + offset + world_normal(w, w->noise);
    }
    return scan;
}

bc_inspect_result look(const bc_measurement *scan, const bc_inspect_setup *setup)
{
    bc_inspect_result result;
    bc_error error;
    demand(bc_inspect(scan, setup, &result, &error) == BC_OK, error.message);
    return result;
}
