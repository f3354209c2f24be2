/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve.h"
#include "residue.h"
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
#define LOOKS_AT_FEW   1200
#define VALLEYS        3
#define STARTS         (VALLEYS + 3)
#define ENOUGH         1.1 /* a misfit of noise alone, priors and all: no other start can do better */
#define STEPS          60
#define MORE_STEPS     20
#define NO_NOISE       1.5 /* a residual beyond this many times the noise is looked at for runs */

typedef struct start {
    double *thickness_nm;
    double chi_squared;
} start;

typedef struct search {
    bc_fit *fit;
    bc_arena arena;
    start start[STARTS];
    size_t starts;
    double *design_nm, *trial_nm;
} search;

static void lay_out_search(search *s, bc_arena *arena)
{
    const size_t layers = s->fit->layers;
    s->design_nm = bc_arena_take(arena, layers, sizeof(double));
    s->trial_nm = bc_arena_take(arena, layers, sizeof(double));
    for (size_t i = 0; i < STARTS; i++)
        s->start[i].thickness_nm = bc_arena_take(arena, layers, sizeof(double));
}

static void keep(search *s, const double *thickness_nm, double chi_squared)
{
    start *slot = &s->start[s->starts++];
    memcpy(slot->thickness_nm, thickness_nm, s->fit->layers * sizeof(double));
    slot->chi_squared = chi_squared;
}

/* Steps of a common factor that move the narrowest fringe by a sixteenth at most. */
static size_t looks_at_factor(const bc_fit *fit)
{
    const double nm = fit->setup.reading[0]->wavelength_nm[fit->setup.first];
    double optical_nm = 1.0;
    for (size_t j = 0; j < fit->layers; j++)
        optical_nm += fit->simulated.index[fit->simulated.material[j]].n[0] * fit->setup.stack->layer[j].thickness_nm;
    const double step = fmin(0.005, nm / (32.0 * optical_nm));
    const double looks = ceil((HIGHEST_FACTOR - LOWEST_FACTOR) / step);
    return looks < MOST_LOOKS ? (size_t)looks : MOST_LOOKS;
}

static double look_at_factor(search *s, double factor)
{
    for (size_t j = 0; j < s->fit->layers; j++)
        s->trial_nm[j] = factor * s->design_nm[j];
    return bc_fit_chi_squared(s->fit, s->trial_nm);
}

typedef struct valley {
    double factor, chi_squared;
} valley;

static void insert_valley(valley *best, valley found)
{
    size_t v = VALLEYS;
    while (v > 0 && found.chi_squared < best[v - 1].chi_squared)
        v--;
    for (size_t i = VALLEYS - 1; i > v && i < VALLEYS; i--)
        best[i] = best[i - 1];
    if (v < VALLEYS)
        best[v] = found;
}

/* The local minima of the misfit over a common factor. */
static void find_valleys(search *s, double *best_factor)
{
    const size_t looks = looks_at_factor(s->fit);
    const double ratio = HIGHEST_FACTOR / LOWEST_FACTOR;
    valley best[VALLEYS], before = {0.0, INFINITY}, here = {0.0, INFINITY};
    for (size_t v = 0; v < VALLEYS; v++)
        best[v] = (valley){1.0, INFINITY};
    for (size_t i = 0; i <= looks + 1; i++) {
        const double factor = LOWEST_FACTOR * pow(ratio, (double)i / (double)looks);
        const valley next = {factor, i <= looks ? look_at_factor(s, factor) : INFINITY};
        if (here.chi_squared <= before.chi_squared && here.chi_squared < next.chi_squared)
            insert_valley(best, here);
        before = here;
        here = next;
    }
    *best_factor = best[0].factor;
    for (size_t v = 0; v < VALLEYS && isfinite(best[v].chi_squared); v++) {
        look_at_factor(s, best[v].factor);
        keep(s, s->trial_nm, best[v].chi_squared);
    }
}

/* Whether layer j belongs to set `set`: a layer each, then a material each. */
static bool belongs(const bc_fit *fit, size_t set, size_t j)
{
    return set < fit->layers ? set == j : fit->simulated.material[j] == set - fit->layers;
}

/* The factor of one layer, or of one material, that suits best on top of a start. */
static void try_few(search *s, size_t base)
{
    bc_fit *fit = s->fit;
    const size_t sets = fit->layers + fit->materials;
    const start from = s->start[base];
    size_t looks = LOOKS_AT_FEW / sets, best_set = 0;
    double best_factor = 1.0, best = INFINITY;
    looks = looks < FEWEST_OF_FEW ? FEWEST_OF_FEW : looks > MOST_OF_FEW ? MOST_OF_FEW : looks;
    for (size_t set = 0; set < sets; set++)
        for (size_t i = 0; i < looks; i++) {
            const double factor = LOWEST_OF_FEW + (HIGHEST_OF_FEW - LOWEST_OF_FEW) * (double)i / (double)(looks - 1);
            double chi_squared;
            for (size_t j = 0; j < fit->layers; j++)
                s->trial_nm[j] = from.thickness_nm[j] * (belongs(fit, set, j) ? factor : 1.0);
            chi_squared = bc_fit_chi_squared(fit, s->trial_nm);
            if (chi_squared < best) {
                best = chi_squared;
                best_set = set;
                best_factor = factor;
            }
        }
    for (size_t j = 0; j < fit->layers; j++)
        s->trial_nm[j] = from.thickness_nm[j] * (belongs(fit, best_set, j) ? best_factor : 1.0);
    keep(s, s->trial_nm, best);
}

static void lay_out(bc_solution *solution, const bc_fit *fit, bc_arena *arena)
{
    solution->size = bc_fit_size(fit);
    solution->point.thickness_nm = bc_arena_take(arena, fit->layers, sizeof(double));
    solution->point.dn = bc_arena_take(arena, fit->materials, sizeof(double));
    solution->information = bc_arena_take(arena, solution->size * solution->size, sizeof(double));
    solution->covariance = bc_arena_take(arena, solution->size * solution->size, sizeof(double));
}

static bc_status open_both(bc_fit *fit, search *s, bc_solution *solution, bc_error *error)
{
    bc_status status;
    memset(solution, 0, sizeof *solution);
    memset(s, 0, sizeof *s);
    s->fit = fit;
    lay_out(solution, fit, &solution->arena);
    lay_out_search(s, &s->arena);
    status = bc_arena_open(&solution->arena, error);
    if (status == BC_OK)
        status = bc_arena_open(&s->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(solution, fit, &solution->arena);
    lay_out_search(s, &s->arena);
    for (size_t j = 0; j < fit->layers; j++)
        s->design_nm[j] = fit->setup.stack->layer[j].thickness_nm;
    return BC_OK;
}

/* From one start to the bottom; the better end stays in `solution`. The search's trial serves as the other point. */
static bc_status descend(search *s, const start *from, bc_solution *solution, bc_error *error)
{
    const bc_family family = {.free = s->fit->layers, .index = s->fit->has_index};
    bc_fit_point saved = solution->point;
    double *dn = calloc(s->fit->materials + 1, sizeof *dn);
    bc_fit_point end = {.thickness_nm = s->trial_nm, .dn = dn};
    bc_status status;
    if (dn == NULL)
        return bc_fail_memory(error);
    memcpy(end.thickness_nm, from->thickness_nm, s->fit->layers * sizeof(double));
    status = bc_fit_minimize(s->fit, &family, NULL, NULL, STEPS, &end, error);
    if (status == BC_OK && end.cost < saved.cost) {
        memcpy(saved.thickness_nm, end.thickness_nm, s->fit->layers * sizeof(double));
        memcpy(saved.dn, end.dn, s->fit->materials * sizeof(double));
        end.thickness_nm = saved.thickness_nm;
        end.dn = saved.dn;
        solution->point = end;
    }
    free(dn);
    return status;
}

static int by_misfit(const void *one, const void *other)
{
    const double a = ((const start *)one)->chi_squared, b = ((const start *)other)->chi_squared;
    return (a > b) - (a < b);
}

bc_status bc_solve(bc_fit *fit, bc_solution *solution, bc_error *error)
{
    search s;
    bc_status status = open_both(fit, &s, solution, error);
    solution->scale = 1.0;
    solution->point.cost = INFINITY;
    if (status == BC_OK) {
        keep(&s, s.design_nm, bc_fit_chi_squared(fit, s.design_nm));
        if (fit->layers > 0) {
            find_valleys(&s, &solution->scale);
            try_few(&s, 0);
            if (s.starts > 2)
                try_few(&s, 1);
        }
    }
    qsort(s.start, s.starts, sizeof *s.start, by_misfit);
    for (size_t i = 0; status == BC_OK && i < s.starts && solution->point.cost > ENOUGH * (double)fit->rows; i++)
        status = descend(&s, &s.start[i], solution, error);
    if (status == BC_OK)
        bc_fit_residual(fit, &solution->point, &solution->rms, &solution->residual);
    else
        bc_solution_clear(solution);
    free(s.arena.memory);
    return status;
}

bc_status bc_solve_from(bc_fit *fit, const bc_fit_point *from, bc_solution *solution, bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    bc_status status;
    memset(solution, 0, sizeof *solution);
    lay_out(solution, fit, &solution->arena);
    status = bc_arena_open(&solution->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(solution, fit, &solution->arena);
    memcpy(solution->point.thickness_nm, from->thickness_nm, fit->layers * sizeof(double));
    memcpy(solution->point.dn, from->dn, fit->materials * sizeof(double));
    status = bc_fit_minimize(fit, &family, NULL, NULL, STEPS, &solution->point, error);
    if (status == BC_OK)
        bc_fit_residual(fit, &solution->point, &solution->rms, &solution->residual);
    return status;
}

static bc_status find_inflation(bc_fit *fit, const bc_solution *solution, double *inflation, bc_error *error)
{
    const double rows = (double)fit->rows, spent = fmin((double)solution->size, 0.5 * rows);
    const double left = solution->residual * sqrt(rows / (rows - spent));
    double *remainder = calloc(fit->setup.count, sizeof *remainder), most = 1.0;
    if (remainder == NULL)
        return bc_fail_memory(error);
    for (size_t r = 0; r < fit->setup.readings; r++) {
        bc_fit_remainder(fit, &solution->point, r, remainder);
        most = fmax(most, solution->residual < NO_NOISE
                              ? bc_residue_points_in_one(fit->setup.count, remainder)
                              : bc_residue_points_alike(fit->setup.count, remainder, fit->setup.count / 2));
    }
    *inflation = fmax(1.0, left * sqrt(most));
    free(remainder);
    return BC_OK;
}

bc_status bc_solve_errors(bc_fit *fit, bc_solution *solution, bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    bc_status status = find_inflation(fit, solution, &fit->inflation, error);
    if (status == BC_OK)
        status = bc_fit_minimize(fit, &family, NULL, NULL, MORE_STEPS, &solution->point, error);
    if (status == BC_OK)
        bc_fit_residual(fit, &solution->point, &solution->rms, &solution->residual);
    if (status == BC_OK)
        status = bc_fit_covariance(fit, &solution->point, solution->information, solution->covariance, error);
    return status;
}

void bc_solution_clear(bc_solution *solution)
{
    free(solution->arena.memory);
    memset(solution, 0, sizeof *solution);
}
