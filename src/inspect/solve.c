/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve.h"
#include "residue.h"
#include "starts.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ENOUGH     1.1 /* a misfit of noise alone, priors and all: no other start can do better */
#define STEPS      60
#define MORE_STEPS 20
#define NO_NOISE   1.5 /* a residual beyond this many times the noise is looked at for runs */

static void lay_out(bc_solution *solution, const bc_fit *fit, bc_arena *arena)
{
    solution->size = bc_fit_size(fit);
    solution->point.thickness_nm = bc_arena_take(arena, fit->layers, sizeof(double));
    solution->point.dn = bc_arena_take(arena, fit->materials, sizeof(double));
    solution->information = bc_arena_take(arena, solution->size * solution->size, sizeof(double));
    solution->covariance = bc_arena_take(arena, solution->size * solution->size, sizeof(double));
}

static bc_status open_solution(bc_fit *fit, bc_solution *solution, bc_error *error)
{
    bc_status status;
    memset(solution, 0, sizeof *solution);
    lay_out(solution, fit, &solution->arena);
    status = bc_arena_open(&solution->arena, error);
    if (status == BC_OK)
        lay_out(solution, fit, &solution->arena);
    return status;
}

/* From one start to the bottom; the better end stays in `solution`. The search's trial serves as the other point. */
static bc_status descend(bc_starts *s, const bc_start *from, bc_solution *solution, bc_error *error)
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

bc_status bc_solve(bc_fit *fit, bc_solution *solution, bc_error *error)
{
    bc_starts s = {0};
    bc_status status = open_solution(fit, solution, error);
    if (status == BC_OK)
        status = bc_starts_open(fit, &s, error);
    solution->scale = s.scale;
    solution->point.cost = INFINITY;
    for (size_t i = 0; status == BC_OK && i < s.count && solution->point.cost > ENOUGH * (double)fit->rows; i++)
        status = descend(&s, &s.start[i], solution, error);
    if (status == BC_OK)
        bc_fit_residual(fit, &solution->point, &solution->rms, &solution->residual);
    else
        bc_solution_clear(solution);
    bc_starts_close(&s);
    return status;
}

bc_status bc_solve_from(bc_fit *fit, const bc_fit_point *from, bc_solution *solution, bc_error *error)
{
    const bc_family family = {.free = fit->layers, .index = fit->has_index};
    bc_status status = open_solution(fit, solution, error);
    if (status != BC_OK)
        return status;
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
