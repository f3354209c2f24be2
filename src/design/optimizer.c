/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optimizer.h"
#include "sums.h"
#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

static void lay_out(bc_optimizer *o, bc_arena *arena)
{
    const size_t layers = o->max_layers, size = layers + 1;
    double **per_layer[] = {&o->x, &o->y, &o->saved, &o->rhs, &o->per_layer, &o->coupling, &o->pull};
    double **per_constraint[] = {&o->z, &o->ratio, &o->push, &o->along};
    o->layer = bc_arena_take(arena, layers, sizeof *o->layer);
    for (size_t a = 0; a < sizeof per_layer / sizeof *per_layer; a++)
        *per_layer[a] = bc_arena_take(arena, size, sizeof(double));
    for (size_t a = 0; a < sizeof per_constraint / sizeof *per_constraint; a++)
        *per_constraint[a] = bc_arena_take(arena, o->constraints, sizeof(double));
    o->all = bc_arena_take(arena, layers * layers, sizeof(double));
    o->system = bc_arena_take(arena, size * size, sizeof(double));
    o->gram = bc_arena_take(arena, size, (o->constraints + 8) * sizeof(double));
}

bc_status bc_optimizer_alloc(size_t max_layers, size_t constraints, bc_optimizer **out, bc_error *error)
{
    bc_optimizer *o = calloc(1, sizeof *o);
    *out = NULL;
    if (o == NULL)
        return bc_fail_memory(error);
    gsl_set_error_handler_off();
    o->max_layers = max_layers == 0 ? 1 : max_layers;
    o->constraints = constraints;
    lay_out(o, &o->arena);
    if (bc_arena_open(&o->arena, error) != BC_OK) {
        free(o);
        return BC_ERROR_MEMORY;
    }
    lay_out(o, &o->arena);
    *out = o;
    return BC_OK;
}

void bc_optimizer_free(bc_optimizer *o)
{
    if (o != NULL) {
        free(o->arena.memory);
        free(o);
    }
}

void bc_optimizer_watch(bc_optimizer *o, bc_watch *watch, bool asks)
{
    o->watch = watch;
    o->asks = asks;
}

bool bc_optimizer_stopped(const bc_optimizer *o)
{
    return o->asks ? bc_watch_ask(o->watch) : bc_watch_stopped(o->watch);
}

void bc_optimizer_choose(bc_optimizer *o, const bc_limits *limits, const bc_recipe *recipe)
{
    o->limits = *limits;
    o->layers = recipe->layers;
    o->moving = 0;
    o->fixed_nm = 0.0;
    for (size_t j = 0; j < recipe->layers; j++) {
        if (recipe->fixed[j])
            o->fixed_nm += recipe->thickness_nm[j];
        else
            o->layer[o->moving++] = j;
    }
}

void bc_optimizer_pull(bc_optimizer *o, bc_merit *merit, const double *weight, double *target)
{
    bc_weighted_sums(o->layers, o->constraints, bc_merit_slope(merit, 0), o->constraints, weight, o->per_layer);
    for (size_t j = 0; j < o->moving; j++)
        target[j] = o->per_layer[o->layer[j]];
}

void bc_optimizer_along(bc_optimizer *o, bc_merit *merit, const double *move, double *target)
{
    for (size_t j = 0; j < o->layers; j++)
        o->per_layer[j] = 0.0;
    for (size_t j = 0; j < o->moving; j++)
        o->per_layer[o->layer[j]] = move[j];
    bc_combine_rows(o->layers, o->constraints, bc_merit_slope(merit, 0), o->constraints, o->per_layer, target);
}

/* Add the moving layers' part of a matrix over all layers to the system's corner. */
static void add_corner(bc_optimizer *o)
{
    const size_t size = o->moving + 1;
    for (size_t j = 0; j < o->moving; j++)
        for (size_t k = 0; k < o->moving; k++)
            o->system[j * size + k] += o->all[o->layer[j] * o->layers + o->layer[k]];
}

void bc_optimizer_hessian(bc_optimizer *o, bc_merit *merit, const double *z)
{
    memset(o->system, 0, (o->moving + 1) * (o->moving + 1) * sizeof(double));
    memset(o->all, 0, o->layers * o->layers * sizeof(double));
    bc_merit_add_hessian(merit, z, o->all);
    add_corner(o);
}

void bc_optimizer_add_slopes(bc_optimizer *o, bc_merit *merit, const double *weight)
{
    memset(o->all, 0, o->layers * o->layers * sizeof(double));
    bc_add_gram(o->layers, o->constraints, bc_merit_slope(merit, 0), o->constraints, weight, o->gram, o->all);
    add_corner(o);
}
