/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal.h"
#include "arena.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FULL_WIDTHS                                                                                                    \
    2.3548200450309493   /* full width at half maximum of a Gaussian: sqrt(8 ln 2) standard deviations                 \
                          */
#define SIDE_SAMPLES  16 /* on either side of the middle */
#define SIDE_SIGMAS   4.0
#define SMALLEST_Q    1e-3
#define ROOT_STEPS    200
#define ROOT_INTERVAL 1e-12

struct bc_signal {
    bc_arena arena;
    size_t samples, layers, materials;
    double *wavelength_nm, *weight; /* of the passband */
    double *vacuum_n, *glass_n, *glass_k, *layer_n, *layer_k;
    bc_index *index; /* [materials + 2] */
    /* [materials + 2] A graded layer of `materials` while it grows is of the last but one, that it ends in the last. */
    double *gradient;
    bool any_gradient, grades; /* the layer that grows does */
    double *mean_n, *top_n;    /* of it, [samples] */
    unsigned *material_of;     /* [layers] in order of deposition, as monitor_nm */
    double *monitor_nm;
    unsigned *material; /* of the layers grown so far, the outermost first: what the engine takes */
    double *thickness_nm;
    size_t growing, grown; /* the layer, and how many there are with it on its glass */
    double aoi_rad;
    bc_quantity quantity;
    bc_surface *surface; /* one of these two */
    bc_part *part;
    gsl_root_fsolver *solver;
};

static const bc_layer *layer_of(const bc_stack *stack, size_t order)
{
    return &stack->layer[stack->layers - 1 - order];
}

/* The first layer, in order of deposition, of the same material. */
static size_t first_alike(const bc_stack *stack, size_t order)
{
    size_t first = 0;
    while (layer_of(stack, first)->material.dispersion != layer_of(stack, order)->material.dispersion)
        first++;
    return first;
}

static void lay_out(bc_signal *signal, bc_arena *arena)
{
    const size_t samples = signal->samples, layers = signal->layers;
    double **row[] = {&signal->wavelength_nm, &signal->weight, &signal->vacuum_n, &signal->glass_n, &signal->glass_k};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
        *row[i] = bc_arena_take(arena, samples, sizeof(double));
    signal->layer_n = bc_arena_take(arena, layers, samples * sizeof(double));
    signal->layer_k = bc_arena_take(arena, layers, samples * sizeof(double));
    signal->mean_n = bc_arena_take(arena, samples, sizeof(double));
    signal->top_n = bc_arena_take(arena, samples, sizeof(double));
    signal->index = bc_arena_take(arena, layers + 2, sizeof *signal->index);
    signal->gradient = bc_arena_take(arena, layers + 2, sizeof(double));
    signal->material_of = bc_arena_take(arena, layers, sizeof *signal->material_of);
    signal->monitor_nm = bc_arena_take(arena, layers, sizeof(double));
    signal->material = bc_arena_take(arena, layers + 1, sizeof *signal->material);
    signal->thickness_nm = bc_arena_take(arena, layers + 1, sizeof(double));
}

/* Wavelengths and weights of the passband. */
static bc_status set_passband(bc_signal *signal, double wavelength_nm, double bandwidth_nm, bc_error *error)
{
    const double reach_nm = SIDE_SIGMAS * bandwidth_nm / FULL_WIDTHS;
    double sum = 0.0;
    if (!(wavelength_nm > reach_nm))
        return bc_fail(error, BC_ERROR_INPUT,
                       "a filter %g nm wide at %g nm lets light of no wavelength through; expected a narrower one",
                       bandwidth_nm, wavelength_nm);
    for (size_t i = 0; i < signal->samples; i++) {
        const double at = signal->samples == 1 ? 0.0 : ((double)i - SIDE_SAMPLES) / SIDE_SAMPLES;
        signal->wavelength_nm[i] = wavelength_nm + at * reach_nm;
        signal->weight[i] = exp(-0.5 * at * at * SIDE_SIGMAS * SIDE_SIGMAS);
        signal->vacuum_n[i] = 1.0;
        sum += signal->weight[i];
    }
    for (size_t i = 0; i < signal->samples; i++)
        signal->weight[i] /= sum;
    return BC_OK;
}

static bc_status set_media(bc_signal *signal, const bc_stack *stack, const bc_medium *glass, bc_error *error)
{
    bc_status status = bc_dispersion_index(glass->dispersion, signal->samples, signal->wavelength_nm, signal->glass_n,
                                           signal->glass_k, error);
    for (size_t order = 0; status == BC_OK && order < signal->layers; order++) {
        const size_t first = first_alike(stack, order);
        double *n = signal->layer_n + signal->materials * signal->samples;
        double *k = signal->layer_k + signal->materials * signal->samples;
        if (first < order) {
            signal->material_of[order] = signal->material_of[first];
            continue;
        }
        status = bc_dispersion_index(layer_of(stack, order)->material.dispersion, signal->samples,
                                     signal->wavelength_nm, n, k, error);
        signal->index[signal->materials] = (bc_index){n, k};
        signal->gradient[signal->materials] = bc_dispersion_gradient(layer_of(stack, order)->material.dispersion);
        signal->any_gradient = signal->any_gradient || signal->gradient[signal->materials] != 0.0;
        signal->material_of[order] = (unsigned)signal->materials++;
    }
    return status;
}

/* Of the thickest layer with a gradient, grown half as thick again as it should. */
static double graded_optical_nm(const bc_signal *signal)
{
    double most = 0.0;
    for (size_t j = 0; j < signal->layers; j++)
        for (size_t i = 0; i < signal->samples && signal->gradient[signal->material_of[j]] != 0.0; i++)
            most = fmax(most, 1.5 * signal->index[signal->material_of[j]].n[i] * signal->monitor_nm[j]);
    return most;
}

/* The two materials of a layer that grows graded, set up as the steepest of all. */
static size_t add_growing(bc_signal *signal)
{
    const size_t growing = signal->materials;
    if (!signal->any_gradient)
        return signal->materials;
    signal->index[growing] = signal->index[growing + 1] = signal->index[0];
    for (size_t m = 0; m < growing; m++)
        if (fabs(signal->gradient[m]) > fabs(signal->gradient[growing]))
            signal->gradient[growing] = signal->gradient[m];
    return signal->materials + 2;
}

static bc_status open_engine(bc_signal *signal, const bc_monitor *monitor, bc_error *error)
{
    const size_t materials = add_growing(signal);
    const bc_surface_setup setup = {.wavelengths = signal->samples,
                                    .wavelength_nm = signal->wavelength_nm,
                                    .aoi_rad = monitor->aoi_rad,
                                    .incident = {signal->vacuum_n, NULL},
                                    .substrate = {signal->glass_n, signal->glass_k},
                                    .materials = materials,
                                    .material = signal->index,
                                    .max_layers = signal->layers + 1,
                                    .gradient = signal->any_gradient ? signal->gradient : NULL,
                                    .graded_optical_nm = graded_optical_nm(signal)};
    const bc_part_setup part = {.front = setup, .back = monitor->glass_back, .substrate_mm = monitor->glass_mm};
    if (monitor->glass_back == BC_BACK_NONE)
        return bc_surface_alloc(&setup, &signal->surface, error);
    return bc_part_alloc(&part, &signal->part, error);
}

static bc_status fill(bc_signal *signal, const bc_stack *stack, const bc_monitor *monitor, double wavelength_nm,
                      const double *monitor_nm, bc_error *error)
{
    bc_status status;
    lay_out(signal, &signal->arena);
    status = bc_arena_open(&signal->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(signal, &signal->arena);
    memcpy(signal->monitor_nm, monitor_nm, signal->layers * sizeof(double));
    status = set_passband(signal, wavelength_nm, monitor->bandwidth_nm, error);
    if (status == BC_OK)
        status = set_media(signal, stack, monitor->glass == NULL ? &stack->substrate : monitor->glass, error);
    if (status == BC_OK)
        status = open_engine(signal, monitor, error);
    if (status != BC_OK)
        return status;
    gsl_set_error_handler_off(); /* GSL would abort the program when memory runs out */
    signal->solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    return signal->solver == NULL ? bc_fail_memory(error) : BC_OK;
}

bc_status bc_signal_alloc(const bc_stack *stack, const bc_monitor *monitor, double wavelength_nm,
                          const double *monitor_nm, bc_signal **out, bc_error *error)
{
    bc_status status;
    bc_signal *signal;
    *out = NULL;
    signal = calloc(1, sizeof *signal);
    if (signal == NULL)
        return bc_fail_memory(error);
    signal->samples = monitor->bandwidth_nm > 0.0 ? 2 * SIDE_SAMPLES + 1 : 1;
    signal->layers = stack->layers;
    signal->aoi_rad = monitor->aoi_rad;
    signal->quantity = monitor->signal;
    status = fill(signal, stack, monitor, wavelength_nm, monitor_nm, error);
    if (status == BC_OK)
        *out = signal;
    else
        bc_signal_free(signal);
    return status;
}

void bc_signal_free(bc_signal *signal)
{
    if (signal == NULL)
        return;
    gsl_root_fsolver_free(signal->solver); /* leaves NULL alone */
    bc_surface_free(signal->surface);
    bc_part_free(signal->part);
    free(signal->arena.memory);
    free(signal);
}

void bc_signal_grow(bc_signal *signal, size_t lowest, size_t layer)
{
    const size_t first = signal->gradient[signal->material_of[layer]] != 0.0 ? 1 : 0;
    signal->growing = layer;
    signal->grades = first == 1;
    signal->grown = first + layer - lowest + 1;
    for (size_t i = first; i < signal->grown; i++) {
        signal->material[i] = signal->material_of[layer + first - i];
        signal->thickness_nm[i] = signal->monitor_nm[layer + first - i];
    }
    if (signal->grades) {
        signal->material[0] = (unsigned)signal->materials + 1;
        signal->material[1] = (unsigned)signal->materials;
        signal->thickness_nm[0] = 0.0;
    }
}

static void set_index(bc_signal *signal, size_t material, bc_index index)
{
    if (signal->part != NULL)
        bc_part_set_index(signal->part, (unsigned)material, &index);
    else
        bc_surface_set_index(signal->surface, (unsigned)material, &index);
}

/* A graded layer grown to `share` of its thickness: its index has run as far, from that at its lower side. What grows
 * next has the index that it ends with, a layer of no thickness yet, whose slope is the signal's. */
static void set_growing(bc_signal *signal, double share)
{
    const size_t of = signal->material_of[signal->growing];
    const double gradient = signal->gradient[of], lower = 1.0 - 0.5 * gradient;
    const double mean = lower + 0.5 * gradient * share, top = lower + gradient * share;
    for (size_t i = 0; i < signal->samples; i++) {
        signal->mean_n[i] = signal->index[of].n[i] * mean;
        signal->top_n[i] = signal->index[of].n[i] * top;
    }
    set_index(signal, signal->materials, (bc_index){signal->mean_n, signal->index[of].k});
    set_index(signal, signal->materials + 1, (bc_index){signal->top_n, signal->index[of].k});
    if (signal->part != NULL)
        bc_part_set_gradient(signal->part, (unsigned)signal->materials, gradient * share / mean);
    else
        bc_surface_set_gradient(signal->surface, (unsigned)signal->materials, gradient * share / mean);
}

typedef struct pair {
    const double *s, *p;
} pair;

static pair values_of(const bc_signal *signal)
{
    const bool is_R = signal->quantity == BC_R;
    if (signal->part != NULL)
        return is_R ? (pair){bc_part_R(signal->part, BC_S), bc_part_R(signal->part, BC_P)}
                    : (pair){bc_part_T(signal->part, BC_S), bc_part_T(signal->part, BC_P)};
    return is_R ? (pair){bc_surface_R(signal->surface, BC_S), bc_surface_R(signal->surface, BC_P)}
                : (pair){bc_surface_T(signal->surface, BC_S), bc_surface_T(signal->surface, BC_P)};
}

static pair slopes_of(const bc_signal *signal)
{
    const bool is_R = signal->quantity == BC_R;
    if (signal->part != NULL)
        return is_R ? (pair){bc_part_dR(signal->part, BC_S, 0), bc_part_dR(signal->part, BC_P, 0)}
                    : (pair){bc_part_dT(signal->part, BC_S, 0), bc_part_dT(signal->part, BC_P, 0)};
    return is_R ? (pair){bc_surface_dR(signal->surface, BC_S, 0), bc_surface_dR(signal->surface, BC_P, 0)}
                : (pair){bc_surface_dT(signal->surface, BC_S, 0), bc_surface_dT(signal->surface, BC_P, 0)};
}

static double averaged(const bc_signal *signal, pair planes)
{
    double sum = 0.0;
    for (size_t i = 0; i < signal->samples; i++)
        sum += signal->weight[i] * 0.5 * (planes.s[i] + planes.p[i]);
    return sum;
}

double bc_signal_at(bc_signal *signal, double monitor_nm, double *slope)
{
    const bool wanted = slope != NULL;
    signal->thickness_nm[signal->grades ? 1 : 0] = monitor_nm;
    if (signal->grades)
        set_growing(signal, monitor_nm / signal->monitor_nm[signal->growing]);
    if (signal->part != NULL)
        bc_part_evaluate(signal->part, signal->grown, signal->material, signal->thickness_nm, wanted);
    else
        bc_surface_evaluate(signal->surface, signal->grown, signal->material, signal->thickness_nm,
                            wanted ? BC_WANT_GRADIENT : BC_WANT_VALUES);
    if (wanted)
        *slope = averaged(signal, slopes_of(signal));
    return averaged(signal, values_of(signal));
}

void bc_signal_index(const bc_signal *signal, double *n, double *k)
{
    const bc_index *index = &signal->index[signal->material_of[signal->growing]];
    *n = index->n[signal->samples / 2];
    *k = index->k[signal->samples / 2];
}

double bc_signal_largest_k(const bc_signal *signal)
{
    double largest = 0.0;
    for (size_t i = 0; i < signal->materials * signal->samples; i++)
        largest = fmax(largest, signal->layer_k[i]);
    return largest;
}

double bc_signal_quarter_nm(const bc_signal *signal)
{
    const double sine = sin(signal->aoi_rad);
    double n, k;
    bc_signal_index(signal, &n, &k);
    return signal->wavelength_nm[signal->samples / 2] /
           (4.0 * sqrt(fmax(n * n + k * k - sine * sine, SMALLEST_Q * SMALLEST_Q)));
}

double bc_signal_wavelength_nm(const bc_signal *signal)
{
    return signal->wavelength_nm[signal->samples / 2];
}

double bc_signal_cut_nm(const bc_signal *signal)
{
    return signal->monitor_nm[signal->growing];
}

double bc_signal_solve(bc_signal *signal, double (*f)(double, void *), void *context, double one_nm, double other_nm)
{
    gsl_function function = {f, context};
    double root = 0.5 * (one_nm + other_nm);
    if (gsl_root_fsolver_set(signal->solver, &function, fmin(one_nm, other_nm), fmax(one_nm, other_nm)) != GSL_SUCCESS)
        return root;
    for (int step = 0; step < ROOT_STEPS; step++) {
        if (gsl_root_fsolver_iterate(signal->solver) != GSL_SUCCESS)
            break;
        root = gsl_root_fsolver_root(signal->solver);
        if (gsl_root_test_interval(gsl_root_fsolver_x_lower(signal->solver), gsl_root_fsolver_x_upper(signal->solver),
                                   ROOT_INTERVAL, ROOT_INTERVAL) == GSL_SUCCESS)
            break;
    }
    return root;
}
