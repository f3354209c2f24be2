/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "correct.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NM_PER_MM  1e6
#define ITERATIONS 50
#define CLOSE      1e-15

/* The surfaces of the part as the fit has them: the front from both sides, and the bare back from inside. */
typedef struct faces {
    bc_surface *front, *inside, *back;
    size_t count;
    const bc_model_spectrum *simulated;
    bc_surface_setup setup;
} faces;

static void close_faces(faces *f)
{
    bc_surface_free(f->front);
    bc_surface_free(f->inside);
    bc_surface_free(f->back);
}

static bc_status evaluate(const bc_inspection *inspection, faces *f, bc_error *error)
{
    const size_t layers = f->simulated->layers;
    const double *thickness_nm = inspection->solution.point.thickness_nm;
    double *reversed_nm = calloc(layers + 1, sizeof *reversed_nm);
    unsigned *reversed = calloc(layers + 1, sizeof *reversed);
    const bc_status status = reversed_nm == NULL || reversed == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t m = 0; m < f->simulated->materials; m++) {
        bc_surface_shift_index(f->front, (unsigned)m, inspection->dn[m]);
        bc_surface_shift_index(f->inside, (unsigned)m, inspection->dn[m]);
    }
    for (size_t j = 0; status == BC_OK && j < layers; j++) {
        reversed_nm[j] = thickness_nm[layers - 1 - j];
        reversed[j] = f->simulated->material[layers - 1 - j];
    }
    if (status == BC_OK) {
        bc_surface_evaluate(f->front, layers, f->simulated->material, thickness_nm, BC_WANT_VALUES);
        bc_surface_evaluate(f->inside, layers, reversed, reversed_nm, BC_WANT_VALUES);
        bc_surface_evaluate(f->back, 0, reversed, reversed_nm, BC_WANT_VALUES);
    }
    free(reversed_nm);
    free(reversed);
    return status;
}

static bc_status open_faces(const bc_inspection *inspection, faces *f, bc_error *error)
{
    const bc_model_spectrum *simulated = &inspection->fit.simulated;
    const size_t count = simulated->count;
    bc_surface_setup front = {.wavelengths = count,
                              .wavelength_nm = inspection->readings.wavelength_nm + inspection->readings.first,
                              .aoi_rad = inspection->setup->aoi_rad,
                              .incident = {simulated->n, simulated->k},
                              .substrate = {simulated->n + count, simulated->k + count},
                              .materials = simulated->materials,
                              .material = simulated->index,
                              .max_layers = simulated->layers,
                              .gradient = simulated->gradient};
    bc_surface_setup inside = front;
    double *reversed = calloc(simulated->materials + 1, sizeof *reversed);
    bc_status status = reversed == NULL ? bc_fail_memory(error) : bc_surface_alloc(&front, &f->front, error);
    for (size_t m = 0; status == BC_OK && m < simulated->materials; m++)
        reversed[m] = -simulated->gradient[m];
    inside.gradient = reversed;
    inside.incident = (bc_index){front.substrate.n, NULL};
    inside.substrate = front.incident;
    inside.invariant_n = front.incident.n;
    f->setup = front;
    f->simulated = simulated;
    f->count = count;
    if (status == BC_OK)
        status = bc_surface_alloc(&inside, &f->inside, error);
    inside.materials = inside.max_layers = 0;
    if (status == BC_OK)
        status = bc_surface_alloc(&inside, &f->back, error);
    free(reversed);
    return status == BC_OK ? evaluate(inspection, f, error) : status;
}

/* One plane at one wavelength: what the solution for the front needs of the fit. */
typedef struct plane_view {
    double away;         /* this plane's value less the mean of those looked at */
    double loss, inside; /* the layers' absorption from the side that counts; R from inside less R from outside */
    double back_R, back_T, crossing;
} plane_view;

/* Transmittance of one crossing of the glass, as the part has it. */
static double crossing_at(const bc_inspection *inspection, const faces *f, size_t i)
{
    const double n = f->setup.substrate.n[i], k = f->setup.substrate.k[i];
    const double beta = f->setup.incident.n[i] * sin(f->setup.aoi_rad);
    const double re = n * n - k * k - beta * beta, im = -2.0 * n * k;
    /* Im sqrt(re + i im), without the cancellation of two near equal roots */
    const double root = sqrt(0.5 * (hypot(re, im) + fabs(re)));
    const double loss = root > 0.0 ? (re >= 0.0 ? fabs(im) / (2.0 * root) : root) : 0.0;
    if (!(k > 0.0))
        return 1.0;
    return exp(-4.0 * M_PI * loss * inspection->setup->back.substrate_mm * NM_PER_MM / f->setup.wavelength_nm[i]);
}

static plane_view view_of(const faces *f, bc_quantity quantity, bc_plane plane, double mean, size_t i)
{
    const double R = bc_surface_R(f->front, plane)[i], T = bc_surface_T(f->front, plane)[i];
    const double R_inside = bc_surface_R(f->inside, plane)[i];
    return (plane_view){.away = (quantity == BC_R ? R : T) - mean,
                        .loss = 1.0 - (quantity == BC_R ? R : R_inside) - T,
                        .inside = R_inside - R,
                        .back_R = bc_surface_R(f->back, plane)[i],
                        .back_T = bc_surface_T(f->back, plane)[i]};
}

/* The part's value and its derivative when the front's value is `front`: <bloomcoat/part.h>'s sum with T1 = 1 - R1 -
 * loss and R1' = R1 + inside, or R1' = 1 - loss - T1. */
static double part_of(const plane_view *v, bc_quantity quantity, double front, double *slope)
{
    const double returning = v->back_R * v->crossing * v->crossing;
    if (quantity == BC_R) {
        const double T = 1.0 - front - v->loss, loop = 1.0 - (front + v->inside) * returning;
        *slope = 1.0 - 2.0 * T * returning / loop + T * T * returning * returning / (loop * loop);
        return front + T * T * returning / loop;
    }
    const double loop = 1.0 - (1.0 - v->loss - front) * returning;
    *slope = v->back_T * v->crossing * (1.0 / loop - front * returning / (loop * loop));
    return front * v->back_T * v->crossing / loop;
}

/* Newton's method; the sum is nearly a straight line in the front's value. */
static bool solve(const plane_view *view, size_t planes, bc_quantity quantity, double seen, double *front,
                  double *slope)
{
    double at = seen;
    for (int i = 0; i < ITERATIONS; i++) {
        double part = 0.0, change;
        *slope = 0.0;
        for (size_t p = 0; p < planes; p++) {
            double one;
            part += part_of(&view[p], quantity, at + view[p].away, &one) / (double)planes;
            *slope += one / (double)planes;
        }
        change = (seen - part) / *slope;
        if (!isfinite(change))
            return false;
        at += change;
        if (fabs(change) <= CLOSE)
            break;
    }
    *front = at;
    return true;
}

static bc_status remove_at(const bc_inspection *inspection, const faces *f, bc_quantity quantity, size_t i,
                           bc_curve *curve, bc_error *error)
{
    const bool both = f->simulated->both_planes;
    const bc_plane one = f->simulated->plane;
    const bc_surface *front = f->front;
    const double *s = quantity == BC_R ? bc_surface_R(front, BC_S) : bc_surface_T(front, BC_S);
    const double *p = quantity == BC_R ? bc_surface_R(front, BC_P) : bc_surface_T(front, BC_P);
    const double mean = both ? 0.5 * (s[i] + p[i]) : one == BC_S ? s[i] : p[i];
    plane_view view[2];
    double slope;
    for (size_t v = 0; v < (both ? 2u : 1u); v++) {
        view[v] = view_of(f, quantity, both ? (v == 0 ? BC_S : BC_P) : one, mean, i);
        view[v].crossing = crossing_at(inspection, f, i);
    }
    if (!solve(view, both ? 2 : 1, quantity, curve->value[i], &curve->value[i], &slope))
        return bc_fail(error, BC_ERROR_INPUT,
                       "the back's share cannot be taken out at %g nm: no light comes back through the glass",
                       curve->wavelength_nm[i]);
    curve->random[i] /= fabs(slope);
    curve->systematic[i] /= fabs(slope);
    return BC_OK;
}

bool bc_removal_needs_fit(const bc_inspection *inspection)
{
    const bc_model_spectrum *simulated = &inspection->fit.simulated;
    /* Of the substrate, too: R from inside then differs a little from R from outside. */
    const size_t first = simulated->count, end = (2 + simulated->materials) * simulated->count;
    if (simulated->both_planes)
        return true;
    for (size_t i = first; i < end; i++)
        if (simulated->k[i] > 0.0)
            return true;
    return false;
}

bc_status bc_remove_back(const bc_inspection *inspection, bc_quantity quantity, bc_curve *curve, bc_error *error)
{
    faces f = {0};
    bc_status status = open_faces(inspection, &f, error);
    for (size_t i = 0; status == BC_OK && i < curve->count; i++)
        status = remove_at(inspection, &f, quantity, i, curve, error);
    close_faces(&f);
    return status;
}
