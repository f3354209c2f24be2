/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "starts.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LOWEST_FACTOR  0.6
#define HIGHEST_FACTOR 1.67
#define LOWEST_OF_FEW  0.5
#define HIGHEST_OF_FEW 1.6
#define MOST_LOOKS     1000
#define FEWEST_OF_FEW  8
#define MOST_OF_FEW    56
#define LOOKS_AT_FEW   1200.0

static void lay_out(bc_starts *s, bc_arena *arena)
{
    const size_t layers = s->fit->layers;
    s->trial_nm = bc_arena_take(arena, layers, sizeof(double));
    for (size_t i = 0; i < BC_STARTS; i++)
        s->start[i].thickness_nm = bc_arena_take(arena, layers, sizeof(double));
}

/* The thicknesses under trial. */
static void keep(bc_starts *s, bc_start *slot, double chi_squared)
{
    memcpy(slot->thickness_nm, s->trial_nm, s->fit->layers * sizeof(double));
    slot->chi_squared = chi_squared;
}

/* Steps of a common factor that move the narrowest fringe by a sixteenth at most. */
static size_t looks_at_factor(const bc_fit *fit)
{
    const double nm = fit->setup.reading[0]->wavelength_nm[fit->setup.first];
    double optical_nm = 0.0;
    for (size_t j = 0; j < fit->layers; j++)
        optical_nm += fit->simulated.index[fit->simulated.material[j]].n[0] * fit->setup.stack->layer[j].thickness_nm;
    const double step = fmin(0.005, nm / (32.0 * optical_nm));
    return (size_t)fmin(ceil((HIGHEST_FACTOR - LOWEST_FACTOR) / step), MOST_LOOKS);
}

static double look_at_factor(bc_starts *s, double factor)
{
    for (size_t j = 0; j < s->fit->layers; j++)
        s->trial_nm[j] = factor * s->fit->setup.stack->layer[j].thickness_nm;
    return bc_fit_chi_squared(s->fit, s->trial_nm);
}

typedef struct valley {
    double factor, chi_squared;
} valley;

static void insert_valley(valley *best, valley found)
{
    size_t v = BC_VALLEYS;
    while (v > 0 && found.chi_squared < best[v - 1].chi_squared)
        v--;
    for (size_t i = BC_VALLEYS - 1; i > v; i--)
        best[i] = best[i - 1];
    if (v < BC_VALLEYS)
        best[v] = found;
}

/* The local minima of the misfit over a common factor. */
static void find_valleys(bc_starts *s)
{
    const size_t looks = looks_at_factor(s->fit);
    const double ratio = HIGHEST_FACTOR / LOWEST_FACTOR;
    valley best[BC_VALLEYS], here = {.chi_squared = INFINITY};
    double before = INFINITY;
    for (size_t v = 0; v < BC_VALLEYS; v++)
        best[v] = (valley){1.0, INFINITY};
    for (size_t i = 0; i <= looks + 1; i++) {
        const double factor = LOWEST_FACTOR * pow(ratio, (double)i / (double)looks);
        const valley next = {factor, i <= looks ? look_at_factor(s, factor) : INFINITY};
        if (here.chi_squared <= before && here.chi_squared < next.chi_squared)
            insert_valley(best, here);
        before = here.chi_squared;
        here = next;
    }
    s->scale = best[0].factor;
    for (size_t v = 0; v < BC_VALLEYS && isfinite(best[v].chi_squared); v++) {
        look_at_factor(s, best[v].factor);
        keep(s, &s->start[s->count++], best[v].chi_squared);
    }
}

/* Whether layer j belongs to set `set`: a layer each, then a material each. */
static bool belongs(const bc_fit *fit, size_t set, size_t j)
{
    return set < fit->layers ? set == j : fit->simulated.material[j] == set - fit->layers;
}

/* The factor of one layer, or of one material, that suits best on top of a start. */
static void try_few(bc_starts *s, size_t base)
{
    bc_fit *fit = s->fit;
    const size_t sets = fit->layers + fit->materials;
    const double *from_nm = s->start[base].thickness_nm;
    const size_t looks = (size_t)fmin(fmax(floor(LOOKS_AT_FEW / (double)sets), FEWEST_OF_FEW), MOST_OF_FEW);
    bc_start *best = &s->start[s->count++];
    best->chi_squared = INFINITY;
    for (size_t set = 0; set < sets; set++)
        for (size_t i = 0; i < looks; i++) {
            const double factor = LOWEST_OF_FEW + (HIGHEST_OF_FEW - LOWEST_OF_FEW) * (double)i / (double)(looks - 1);
            double chi_squared;
            for (size_t j = 0; j < fit->layers; j++)
                s->trial_nm[j] = from_nm[j] * (belongs(fit, set, j) ? factor : 1.0);
            chi_squared = bc_fit_chi_squared(fit, s->trial_nm);
            if (chi_squared < best->chi_squared)
                keep(s, best, chi_squared);
        }
}

static int by_misfit(const void *one, const void *other)
{
    const double a = ((const bc_start *)one)->chi_squared, b = ((const bc_start *)other)->chi_squared;
    return (a > b) - (a < b);
}

bc_status bc_starts_open(bc_fit *fit, bc_starts *s, bc_error *error)
{
    bc_status status;
    *s = (bc_starts){.fit = fit, .scale = 1.0};
    lay_out(s, &s->arena);
    status = bc_arena_open(&s->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(s, &s->arena);
    keep(s, &s->start[s->count++], look_at_factor(s, 1.0));
    if (fit->layers > 0) {
        find_valleys(s);
        try_few(s, 0);
        if (s->count > 2)
            try_few(s, 1);
    }
    qsort(s->start, s->count, sizeof *s->start, by_misfit);
    return BC_OK;
}

void bc_starts_close(bc_starts *s)
{
    free(s->arena.memory);
}
