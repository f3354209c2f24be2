/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "proof_plan.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GRAZING 1e-9 /* of an index: so near to its critical angle a layer is left to others */

/* Indices at the wavelengths of one plan. */
typedef struct light_indices {
    double *nm, *n0, *ns, *ks, *n, *k, *behind, *R2;
    bool absorbs, glass_absorbs, dim; /* a layer, the glass, or something past its critical angle */
    const bc_medium *culprit;
} light_indices;

static bc_status read_indices(const bc_light_builder *b, const bc_light_plan *plan, light_indices *x, bc_error *error)
{
    const bc_design_problem *problem = b->problem;
    const size_t count = plan->padded;
    const double sine = sin(plan->aoi_rad);
    const bc_medium *glass = &problem->substrate[plan->glass];
    bc_status status = bc_dispersion_index(problem->incident.dispersion, count, x->nm, x->n0, NULL, error);
    if (status == BC_OK)
        status = bc_dispersion_index(glass->dispersion, count, x->nm, x->ns, x->ks, error);
    x->absorbs = x->glass_absorbs = x->dim = false;
    x->culprit = NULL;
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        x->glass_absorbs = x->glass_absorbs || x->ks[i] > 0.0;
        if (x->ks[i] <= 0.0 && x->ns[i] <= x->n0[i] * sine + GRAZING) {
            x->dim = true;
            x->culprit = glass;
        }
    }
    for (size_t m = 0; status == BC_OK && m < problem->materials; m++) {
        double *n = x->n + m * count, *k = x->k + m * count;
        status = bc_dispersion_index(problem->material[m].dispersion, count, x->nm, n, k, error);
        for (size_t i = 0; status == BC_OK && i < count; i++) {
            const double beta = x->n0[i] * sine;
            const bool dim = n[i] * n[i] - k[i] * k[i] <= beta * beta + GRAZING;
            if ((dim && !x->dim) || (k[i] > 0.0 && !x->absorbs && !x->dim))
                x->culprit = &problem->material[m];
            x->dim = x->dim || dim;
            x->absorbs = x->absorbs || k[i] > 0.0;
        }
    }
    return status;
}

/* Reflectance of the part's back, seen from inside; false where it is not known here. */
static bc_status back_reflectance(const bc_light_builder *b, const bc_light_plan *plan, light_indices *x,
                                  bc_plane plane, bool *clear, bc_error *error)
{
    const bc_back *back = &b->problem->back;
    const bc_stack *stack = back->stack;
    const size_t count = plan->padded, layers = back->kind == BC_BACK_OWN ? stack->layers : 0;
    const double sine = sin(plan->aoi_rad);
    bc_index *index = calloc(layers + 1, sizeof *index);
    unsigned *material = calloc(layers + 1, sizeof *material);
    double *thickness_nm = calloc(layers + 1, sizeof *thickness_nm), *n = calloc((2 * layers + 1) * count, sizeof *n);
    bc_surface_setup setup = {.wavelengths = count,
                              .wavelength_nm = x->nm,
                              .aoi_rad = plan->aoi_rad,
                              .incident = {x->behind, NULL},
                              .substrate = {x->ns, NULL},
                              .materials = layers,
                              .material = index,
                              .max_layers = layers,
                              .invariant_n = x->n0,
                              .values_only = true};
    bc_surface *surface = NULL;
    bc_status status =
        index == NULL || material == NULL || thickness_nm == NULL || n == NULL ? bc_fail_memory(error) : BC_OK;
    const bc_medium *behind = back->kind == BC_BACK_OWN ? &stack->incident : &b->problem->incident;
    if (status == BC_OK)
        status = bc_dispersion_index(behind->dispersion, count, x->nm, x->behind, NULL, error);
    for (size_t i = 0; status == BC_OK && i < count; i++)
        *clear = *clear && x->behind[i] > x->n0[i] * sine + GRAZING;
    for (size_t j = 0; status == BC_OK && j < layers; j++) {
        double *here = n + 2 * j * count;
        index[j] = (bc_index){here, here + count};
        material[j] = (unsigned)j;
        thickness_nm[j] = stack->layer[j].thickness_nm;
        status = bc_dispersion_index(stack->layer[j].material.dispersion, count, x->nm, here, here + count, error);
        for (size_t i = 0; status == BC_OK && i < count; i++)
            *clear = *clear && here[count + i] <= 0.0;
    }
    if (status == BC_OK && *clear)
        status = bc_surface_alloc(&setup, &surface, error);
    if (status == BC_OK && *clear) {
        bc_surface_evaluate(surface, layers, material, thickness_nm, BC_WANT_VALUES);
        memcpy(x->R2, bc_surface_R(surface, plane), count * sizeof *x->R2);
    }
    bc_surface_free(surface);
    free(index);
    free(material);
    free(thickness_nm);
    free(n);
    return status;
}

static double admittance(double n, double beta, bool p)
{
    const double q = sqrt((n - beta) * (n + beta));
    return p ? n * n / q : q;
}

/* The substrate as seen from a material of admittance eta: Y = N^2 / q for p, q for s, with N = n - ik. */
static void set_start(double eta, double n, double k, double beta, bool p, double *const start[3], size_t at)
{
    const double re = n * n - k * k - beta * beta, im = -2.0 * n * k, size = hypot(re, im);
    const double qr = sqrt(0.5 * (size + re)) > 0.0 ? sqrt(0.5 * (size + re)) : 0.0;
    const double qi = im == 0.0 ? 0.0 : -sqrt(0.5 * (size - re));
    double yr = qr, yi = qi;
    if (p) {
        const double er = n * n - k * k, ei = -2.0 * n * k, q2 = qr * qr + qi * qi;
        yr = (er * qr + ei * qi) / q2;
        yi = (ei * qr - er * qi) / q2;
    }
    /* r = (eta - Y) / (eta + Y), and what follows for the hyperboloid: 1 - |r|^2 = 4 eta Re Y / |eta + Y|^2. */
    start[0][at] = (eta * eta + yr * yr + yi * yi) / (2.0 * eta * yr);
    start[1][at] = (eta * eta - yr * yr - yi * yi) / (2.0 * eta * yr);
    start[2][at] = -yi / yr;
}

/* All that a proof has to know about the samples of one plane, from `first` on. */
static void set_samples(const bc_light_builder *b, const bc_light_plan *plan, const light_indices *x, bool p,
                        size_t first, bool lossy)
{
    bc_light *light = b->light;
    const size_t materials = light->materials, count = plan->padded;
    for (size_t i = 0; i < count; i++) {
        const double beta = x->n0[i] * sin(plan->aoi_rad), wave = 2.0 * M_PI / x->nm[i];
        for (size_t m = 0; m < materials; m++) {
            const double n = x->n[m * count + i], k = lossy ? x->k[m * count + i] : 0.0;
            const double real = sqrt((n - k) * (n + k)), eta = admittance(real, beta, p);
            const double q = sqrt((real - beta) * (real + beta));
            double *const start[3] = {light->start[0][m], light->start[1][m], light->start[2][m]};
            const double tilt = p ? beta * beta * eta / ((n * n + k * k) * real * real) : 0.0;
            light->turn[m][first + i] = 2.0 * wave * q * plan->thickness_factor;
            light->loss[m][first + i] = 2.0 * n * k * wave * plan->thickness_factor * (1.0 / eta + tilt);
            set_start(eta, x->ns[i], x->ks[i], beta, p, start, first + i);
            for (size_t above = 0; above <= materials; above++) {
                const double na = above == materials ? x->n0[i] : x->n[above * count + i];
                const double ka = above == materials || !lossy ? 0.0 : x->k[above * count + i];
                const double up = admittance(sqrt((na - ka) * (na + ka)), beta, p);
                light->cosine_h[above * materials + m][first + i] = (up * up + eta * eta) / (2.0 * up * eta);
                light->sine_h[above * materials + m][first + i] = (up * up - eta * eta) / (2.0 * up * eta);
            }
        }
    }
}

static void say_weakened(bc_light *light, const char *what, const char *why)
{
    if (light->weakened[0] == '\0')
        snprintf(light->weakened, sizeof light->weakened, "%s: %s", what, why);
}

/* What the row can be bounded by: sets the quantity's beta and gamma; false: by nothing. */
static bc_status set_quantity(bc_light_builder *b, const bc_light_plan *plan, light_indices *x, bc_light_group *group,
                              bool *usable, bc_error *error)
{
    bc_light *light = b->light;
    const bc_callout *callout = plan->callout;
    const bool lowers = callout->quantity == BC_R ? callout->sense == BC_AT_MOST : callout->sense == BC_AT_LEAST;
    bool part = callout->scope == BC_SCOPE_PART, clear = !x->absorbs && !x->glass_absorbs;
    bc_status status = BC_OK;
    size_t first = group->first;
    *usable = false;
    group->gamma = 2.0;
    group->absorbs = x->absorbs;
    if (callout->quantity == BC_A && callout->sense == BC_AT_MOST && clear)
        return BC_OK; /* always met */
    if (callout->quantity == BC_A) {
        say_weakened(light, callout->name, "a bound on A is not known");
        return BC_OK;
    }
    if (callout->cone_rad > 0.0) {
        *usable = false;
        say_weakened(light, callout->name, "a bound over a cone of light is not known");
        return BC_OK;
    }
    if (callout->polarization == BC_POL_RATIO) {
        say_weakened(light, callout->name, "a bound on a ratio s/p is not known");
        return BC_OK;
    }
    if (callout->colour != BC_NO_COLOUR) {
        *usable = false;
        say_weakened(light, callout->name, "a bound on a colour is not known");
        return BC_OK;
    }
    if (x->dim) {
        say_weakened(light, callout->name, "its light meets a medium beyond the critical angle");
        return BC_OK;
    }
    for (int plane = 0; status == BC_OK && plane < 2; plane++) {
        if (!plan->need[plane])
            continue;
        for (size_t i = 0; i < plan->padded; i++)
            light->beta[first + i] = part && b->problem->back.kind == BC_BACK_SAME ? 0.0 : 1.0;
        if (part && clear && b->problem->back.kind != BC_BACK_SAME) {
            status = back_reflectance(b, plan, x, (bc_plane)plane, &clear, error);
            for (size_t i = 0; status == BC_OK && clear && i < plan->padded; i++)
                light->beta[first + i] = (1.0 + x->R2[i]) / (1.0 - x->R2[i]);
        }
        first += plan->padded;
    }
    if (part && clear && b->problem->back.kind == BC_BACK_SAME)
        group->gamma = 1.0;
    *usable = lowers || clear || (!part && callout->quantity == BC_R) || (!part && !x->absorbs);
    if (x->absorbs || (part && !clear))
        say_weakened(light, x->culprit == NULL ? b->problem->substrate[plan->glass].name : x->culprit->name,
                     *usable ? "it absorbs, and the bound allows for the most that this can change"
                             : "it absorbs, and the rows that ask for a high R or a low T are left out");
    if (part && !clear) /* a part reflects at least what its front does */
        for (size_t i = 0; i < plan->planes * plan->padded; i++)
            light->beta[group->first + i] = 1.0;
    return status;
}

static void add_row(bc_light *light, const bc_light_plan *plan, size_t group, const double *weight, double s_share)
{
    const bc_callout *callout = plan->callout;
    bc_light_row *row = &light->row[light->rows++];
    const size_t first = light->group[group].first;
    const double room = callout->sense == BC_AT_MOST ? callout->limit : callout->limit - 1.0;
    /* The quantity V is R: T = 1 - V. */
    const double sign = callout->quantity == BC_R ? 1.0 : -1.0;
    *row =
        (bc_light_row){.group = group,
                       .plane = {first, plan->planes == 2 ? first + plan->padded : first},
                       .share = {s_share, 1.0 - s_share},
                       .count = plan->wavelengths,
                       .weight = weight,
                       .offset = (callout->sense == BC_AT_MOST ? 0.0 : -1.0 / room) + (sign < 0.0 ? 1.0 / room : 0.0),
                       .factor = sign / room,
                       .first = light->constraints,
                       .constraints = weight == NULL ? plan->wavelengths : 1};
    light->constraints += row->constraints;
}

static void add_rows(bc_light *light, const bc_light_plan *plan, size_t group, const double *weight)
{
    const bc_polarization polarization = plan->callout->polarization;
    if (plan->aoi_rad <= 0.0 || plan->planes == 1) /* one plane, whichever it is, has all of it */
        add_row(light, plan, group, weight, plan->need[0] ? 1.0 : 0.0);
    else if (polarization == BC_POL_UNPOLARIZED)
        add_row(light, plan, group, weight, 0.5);
    else
        for (int plane = 0; plane < 2; plane++)
            add_row(light, plan, group, weight, plane == 0 ? 1.0 : 0.0);
}

/* Compute one plan; groups that nothing can be said of leave no rows, but keep their samples. */
static bc_status fill_plan(bc_light_builder *b, const bc_light_plan *plan, light_indices *x, double **weights,
                           bc_error *error)
{
    bc_light *light = b->light;
    const size_t group = light->groups;
    double *weight = NULL;
    bool usable;
    bc_status status;
    light->group[group] = (bc_light_group){.first = light->samples, .count = plan->planes * plan->padded};
    bc_light_wavelengths(b, plan, x->nm);
    status = read_indices(b, plan, x, error);
    if (status == BC_OK)
        status = set_quantity(b, plan, x, &light->group[group], &usable, error);
    if (status != BC_OK || !usable)
        return status;
    for (int plane = 0, done = 0; plane < 2; plane++)
        if (plan->need[plane])
            set_samples(b, plan, x, plane == 1, light->samples + (size_t)done++ * plan->padded, x->absorbs);
    if (plan->band == BC_LIGHT_AVERAGE && plan->wavelengths > 1) {
        weight = *weights;
        *weights += plan->wavelengths;
        bc_sampling_set(plan->callout, plan->wavelengths, NULL, weight);
    }
    add_rows(light, plan, group, weight);
    light->samples += light->group[group].count;
    if (light->group[group].count > light->longest)
        light->longest = light->group[group].count;
    light->groups++;
    return BC_OK;
}

static void take_lists(bc_arena *arena, size_t materials, size_t samples, double **list, size_t lists)
{
    (void)materials;
    for (size_t i = 0; i < lists; i++) {
        double *piece = bc_arena_take(arena, samples, sizeof(double));
        if (arena->memory != NULL)
            list[i] = piece;
    }
}

static void lay_out(bc_light *light, bc_arena *arena, size_t samples, size_t widest, light_indices *x, double **weights)
{
    const size_t m = light->materials;
    take_lists(arena, m, samples, light->turn, m);
    take_lists(arena, m, samples, light->loss, m);
    for (int c = 0; c < 3; c++)
        take_lists(arena, m, samples, light->start[c], m);
    take_lists(arena, m, samples, light->cosine_h, (m + 1) * m);
    take_lists(arena, m, samples, light->sine_h, (m + 1) * m);
    light->beta = bc_arena_take(arena, samples, sizeof(double));
    *weights = bc_arena_take(arena, samples, sizeof(double));
    x->nm = bc_arena_take(arena, widest, sizeof(double));
    x->n0 = bc_arena_take(arena, widest, sizeof(double));
    x->ns = bc_arena_take(arena, widest, sizeof(double));
    x->ks = bc_arena_take(arena, widest, sizeof(double));
    x->behind = bc_arena_take(arena, widest, sizeof(double));
    x->R2 = bc_arena_take(arena, widest, sizeof(double));
    x->n = bc_arena_take(arena, m * widest, sizeof(double));
    x->k = bc_arena_take(arena, m * widest, sizeof(double));
}

static bc_status open_lists(bc_light_builder *b, bc_error *error)
{
    bc_light *light = b->light;
    const size_t m = light->materials;
    double **lists = calloc(5 * m + 2 * (m + 1) * m, sizeof *lists);
    light->group = calloc(b->count + 1, sizeof *light->group);
    light->row = calloc(2 * b->count + 1, sizeof *light->row);
    light->lists = lists;
    if (lists == NULL || light->group == NULL || light->row == NULL)
        return bc_fail_memory(error);
    light->turn = lists;
    light->loss = lists + m;
    for (size_t c = 0; c < 3; c++)
        light->start[c] = lists + (2 + c) * m;
    light->cosine_h = lists + 5 * m;
    light->sine_h = light->cosine_h + (m + 1) * m;
    return BC_OK;
}

/* What a rounding of a unit in the last place may grow to on its way through the boosts, with a wide margin. */
static void set_slack(bc_light *light, size_t layers)
{
    double widest = 1.0;
    for (size_t i = 0; i < (light->materials + 1) * light->materials; i++)
        for (size_t s = 0; s < light->samples; s++)
            widest = fmax(widest, light->cosine_h[i][s] + fabs(light->sine_h[i][s]));
    light->slack = 1e-14 * pow(widest, (double)layers + 1.0);
}

static bc_status fill(bc_light_builder *b, bc_error *error)
{
    bc_light *light = b->light;
    bc_arena arena = {0};
    light_indices x = {0};
    double *weights = NULL;
    size_t samples = 0, widest = 0;
    bc_status status = open_lists(b, error);
    for (size_t i = 0; i < b->count; i++) {
        samples += b->plan[i].planes * b->plan[i].padded;
        widest = b->plan[i].padded > widest ? b->plan[i].padded : widest;
    }
    if (status != BC_OK)
        return status;
    lay_out(light, &arena, samples, widest, &x, &weights);
    status = bc_arena_open(&arena, error);
    light->memory = arena.memory;
    if (status == BC_OK)
        lay_out(light, &arena, samples, widest, &x, &weights);
    for (size_t i = 0; status == BC_OK && i < b->count; i++)
        status = fill_plan(b, &b->plan[i], &x, &weights, error);
    if (status == BC_OK)
        set_slack(light, b->layers);
    return status;
}

bc_status bc_light_open(const bc_design_problem *problem, size_t layers, double total_nm, size_t extra_samples,
                        const bc_light_spot *extra_sample, bc_light *light, bc_error *error)
{
    bc_light_builder b = {.problem = problem, .layers = layers, .total_nm = total_nm, .light = light};
    bc_status status;
    memset(light, 0, sizeof *light);
    light->materials = problem->materials;
    status = bc_light_list_plans(&b, extra_samples, extra_sample, error);
    if (status == BC_OK)
        status = fill(&b, error);
    free(b.plan);
    if (status != BC_OK)
        bc_light_close(light);
    return status;
}

void bc_light_close(bc_light *light)
{
    free(light->group);
    free(light->row);
    free(light->lists);
    free(light->memory);
    memset(light, 0, sizeof *light);
}
