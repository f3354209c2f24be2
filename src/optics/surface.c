/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "arena.h"
#include "kernel.h"
#include "media.h"
#include <bloomcoat/surface.h>
#include <math.h>
#include <stdlib.h>

/* In glass past total reflection no light travels, but n^2/q must stay finite: where it absorbs it is still summed. */
#define SMALLEST_INCIDENT_Q 1e-9

struct bc_surface {
    bc_arena arena;
    size_t wavelengths, padded, materials, max_layers;
    size_t kept_layers; /* those whose fields are kept for derivatives: max_layers or none */
    bool normal;
    bc_kernel kernel;
    bc_kernel_job job;
    bc_light light;
    bc_medium_arrays *media; /* the layer materials, then the substrate */
    bc_kernel_material *view;
    double *incident_eta[2];
    unsigned *material;
    double *thickness_nm;
};

static double *take(bc_arena *arena, size_t count)
{
    return bc_arena_take(arena, count, sizeof(double));
}

static void lay_out_media(bc_surface *surface, bc_arena *arena)
{
    surface->light.padded = surface->padded;
    surface->light.planes = surface->normal ? 1 : 2;
    surface->light.beta = take(arena, surface->padded);
    surface->light.wave_number = take(arena, surface->padded);
    surface->view = bc_arena_take(arena, surface->materials + 1, sizeof *surface->view);
    surface->media = bc_arena_take(arena, surface->materials + 1, sizeof *surface->media);
    for (size_t m = 0; m <= surface->materials; m++) {
        bc_medium_arrays measured = {0}, *arrays = arena->memory == NULL ? &measured : &surface->media[m];
        arrays->n = take(arena, surface->padded);
        arrays->k = take(arena, surface->padded);
        arrays->phase_re = take(arena, surface->padded);
        arrays->phase_im = take(arena, surface->padded);
        for (unsigned p = 0; p < surface->light.planes; p++) {
            arrays->eta_re[p] = take(arena, surface->padded);
            arrays->eta_im[p] = take(arena, surface->padded);
            arrays->inverse_re[p] = take(arena, surface->padded);
            arrays->inverse_im[p] = take(arena, surface->padded);
        }
    }
}

static void lay_out_plane(bc_surface *surface, bc_arena *arena, unsigned p)
{
    bc_kernel_plane *plane = &surface->job.plane[p];
    bc_kernel_field *field = &plane->field;
    double **per_grid[] = {&surface->incident_eta[p], &plane->R,       &plane->T, &plane->rho_re, &plane->rho_im,
                           &plane->scale_re,          &plane->scale_im};
    double **per_layer[] = {&field->B_re,    &field->B_im,    &field->C_re, &field->C_im, &field->growth,
                            &plane->drho_re, &plane->drho_im, &plane->dR,   &plane->dT};
    for (size_t a = 0; a < sizeof per_grid / sizeof *per_grid; a++)
        *per_grid[a] = take(arena, surface->padded);
    for (size_t a = 0; a < sizeof per_layer / sizeof *per_layer; a++)
        *per_layer[a] = bc_arena_take(arena, surface->kept_layers + 1, surface->padded * sizeof(double));
}

static void lay_out_phases(bc_surface *surface, bc_arena *arena)
{
    bc_kernel_phases *phases = &surface->job.phases;
    double **per_layer[] = {&phases->cosine_re, &phases->cosine_im, &phases->i_sine_re, &phases->i_sine_im,
                            &phases->decay};
    for (size_t a = 0; a < sizeof per_layer / sizeof *per_layer; a++)
        *per_layer[a] = bc_arena_take(arena, surface->kept_layers, surface->padded * sizeof(double));
}

static void lay_out(bc_surface *surface, bc_arena *arena)
{
    lay_out_media(surface, arena);
    for (unsigned p = 0; p < (surface->normal ? 1U : 2U); p++)
        lay_out_plane(surface, arena, p);
    lay_out_phases(surface, arena);
    surface->material = bc_arena_take(arena, surface->max_layers, sizeof *surface->material);
    surface->thickness_nm = take(arena, surface->max_layers);
}

/* The padding repeats the last wavelength, so that it costs time but never a NaN. */
static size_t within(const bc_surface *surface, size_t i)
{
    return i < surface->wavelengths ? i : surface->wavelengths - 1;
}

static void set_light(bc_surface *surface, const bc_surface_setup *setup)
{
    const double *outside = setup->invariant_n != NULL ? setup->invariant_n : setup->incident.n;
    for (size_t i = 0; i < surface->padded; i++) {
        const size_t at = within(surface, i);
        surface->light.beta[i] = outside[at] * sin(setup->aoi_rad);
        surface->light.wave_number[i] = 2.0 * M_PI / setup->wavelength_nm[at];
    }
}

static void set_medium(const bc_surface *surface, const bc_index *index, size_t m)
{
    const bc_medium_arrays *arrays = &surface->media[m];
    bc_kernel_material *view = &surface->view[m];
    for (size_t i = 0; i < surface->padded; i++) {
        const size_t at = within(surface, i);
        arrays->n[i] = index->n[at];
        arrays->k[i] = index->k == NULL ? 0.0 : index->k[at];
    }
    bc_set_medium(&surface->light, arrays, 0.0, &view->is_complex, &view->absorbing);
    view->phase_re = arrays->phase_re;
    view->phase_im = arrays->phase_im;
    for (unsigned p = 0; p < surface->light.planes; p++) {
        view->eta_re[p] = arrays->eta_re[p];
        view->eta_im[p] = arrays->eta_im[p];
        view->inverse_re[p] = arrays->inverse_re[p];
        view->inverse_im[p] = arrays->inverse_im[p];
    }
}

static void set_incident(bc_surface *surface, const bc_surface_setup *setup)
{
    for (size_t i = 0; i < surface->padded; i++) {
        const double n0 = setup->incident.n[within(surface, i)];
        const double q = setup->invariant_n == NULL
                             ? n0 * cos(setup->aoi_rad)
                             : fmax(creal(bc_normal_index(n0, 0.0, surface->light.beta[i])), SMALLEST_INCIDENT_Q);
        surface->incident_eta[BC_S][i] = q;
        if (!surface->normal)
            surface->incident_eta[BC_P][i] = n0 * n0 / q;
    }
}

static void set_up(bc_surface *surface, const bc_surface_setup *setup)
{
    bc_kernel_job *job = &surface->job;
    set_light(surface, setup);
    for (size_t m = 0; m < surface->materials; m++)
        set_medium(surface, &setup->material[m], m);
    set_medium(surface, &setup->substrate, surface->materials);
    set_incident(surface, setup);
    job->padded = surface->padded;
    job->material = surface->material;
    job->thickness_nm = surface->thickness_nm;
    job->materials = surface->view;
    job->planes = surface->normal ? 1 : 2;
    for (unsigned p = 0; p < job->planes; p++) {
        job->plane[p].incident_eta = surface->incident_eta[p];
        job->plane[p].substrate_eta_re = surface->media[surface->materials].eta_re[p];
        job->plane[p].substrate_eta_im = surface->media[surface->materials].eta_im[p];
    }
}

static bc_status refuse(const bc_surface_setup *setup, bc_error *error)
{
    if (setup->wavelengths == 0)
        return bc_fail(error, BC_ERROR_INPUT, "no wavelength to compute at");
    if (!(setup->aoi_rad >= 0.0 && setup->aoi_rad < M_PI / 2.0))
        return bc_fail(error, BC_ERROR_INPUT, "angle of incidence %g deg; expected 0 or more and less than 90",
                       setup->aoi_rad * 180.0 / M_PI);
    for (size_t i = 0; setup->incident.k != NULL && i < setup->wavelengths; i++)
        if (setup->incident.k[i] > 0.0)
            return bc_fail(error, BC_ERROR_INPUT,
                           "the incident medium absorbs (k = %g at %g nm); reflectance is defined only for light that "
                           "arrives through a clear medium",
                           setup->incident.k[i], setup->wavelength_nm[i]);
    for (size_t i = 0; i < setup->wavelengths; i++)
        if (!(setup->wavelength_nm[i] > 0.0 && isfinite(setup->wavelength_nm[i])))
            return bc_fail(error, BC_ERROR_INPUT, "wavelength %g nm; expected a number above 0",
                           setup->wavelength_nm[i]);
    return BC_OK;
}

bc_status bc_surface_alloc(const bc_surface_setup *setup, bc_surface **out, bc_error *error)
{
    bc_surface *surface;
    bc_status status = refuse(setup, error);
    *out = NULL;
    if (status != BC_OK)
        return status;
    surface = calloc(1, sizeof *surface);
    if (surface == NULL)
        return bc_fail_memory(error);
    surface->wavelengths = setup->wavelengths;
    surface->padded = (setup->wavelengths + BC_LANES - 1) / BC_LANES * BC_LANES;
    surface->materials = setup->materials;
    surface->max_layers = setup->max_layers;
    surface->kept_layers = setup->values_only ? 0 : setup->max_layers;
    surface->normal = setup->aoi_rad == 0.0;
    surface->kernel = bc_kernel_for(setup->path);
    if (surface->kernel == NULL) {
        free(surface);
        return bc_fail(error, BC_ERROR_INPUT, "this processor cannot run the vector path asked for");
    }
    lay_out(surface, &surface->arena);
    status = bc_arena_open(&surface->arena, error);
    if (status != BC_OK) {
        free(surface);
        return status;
    }
    lay_out(surface, &surface->arena);
    set_up(surface, setup);
    *out = surface;
    return BC_OK;
}

void bc_surface_free(bc_surface *surface)
{
    if (surface != NULL) {
        free(surface->arena.memory);
        free(surface);
    }
}

void bc_surface_set_index(bc_surface *surface, unsigned material, const bc_index *index)
{
    set_medium(surface, index, material);
}

void bc_surface_shift_index(bc_surface *surface, unsigned material, double dn)
{
    bc_kernel_material *view = &surface->view[material];
    bc_set_medium(&surface->light, &surface->media[material], dn, &view->is_complex, &view->absorbing);
}

void bc_surface_evaluate(bc_surface *surface, size_t layers, const unsigned *material, const double *thickness_nm,
                         bc_want want)
{
    bc_kernel_job *job = &surface->job;
    job->layers = layers;
    job->want = want;
    job->absorbing = job->some_complex = false;
    for (size_t j = 0; j < layers; j++) {
        surface->material[j] = material[j];
        surface->thickness_nm[j] = thickness_nm[j];
        job->absorbing = job->absorbing || surface->view[material[j]].absorbing;
        job->some_complex = job->some_complex || surface->view[material[j]].is_complex;
    }
    surface->kernel(job);
}

size_t bc_surface_wavelengths(const bc_surface *surface)
{
    return surface->wavelengths;
}

bool bc_surface_is_normal(const bc_surface *surface)
{
    return surface->normal;
}

bool bc_surface_absorbs(const bc_surface *surface)
{
    return surface->job.absorbing;
}

static const bc_kernel_plane *plane_of(const bc_surface *surface, bc_plane plane)
{
    return &surface->job.plane[surface->normal ? BC_S : plane];
}

const double *bc_surface_R(const bc_surface *surface, bc_plane plane)
{
    return plane_of(surface, plane)->R;
}

const double *bc_surface_T(const bc_surface *surface, bc_plane plane)
{
    return plane_of(surface, plane)->T;
}

const double *bc_surface_rho_re(const bc_surface *surface, bc_plane plane)
{
    return plane_of(surface, plane)->rho_re;
}

const double *bc_surface_rho_im(const bc_surface *surface, bc_plane plane)
{
    return plane_of(surface, plane)->rho_im;
}

const double *bc_surface_drho_re(const bc_surface *surface, bc_plane plane, size_t layer)
{
    return plane_of(surface, plane)->drho_re + layer * surface->padded;
}

const double *bc_surface_drho_im(const bc_surface *surface, bc_plane plane, size_t layer)
{
    return plane_of(surface, plane)->drho_im + layer * surface->padded;
}

const double *bc_surface_dR(const bc_surface *surface, bc_plane plane, size_t layer)
{
    return plane_of(surface, plane)->dR + layer * surface->padded;
}

const double *bc_surface_dT(const bc_surface *surface, bc_plane plane, size_t layer)
{
    return plane_of(surface, plane)->dT + layer * surface->padded;
}

void bc_surface_insertion(const bc_surface *surface, bc_plane which, size_t before, unsigned material, double *drho_re,
                          double *drho_im)
{
    const unsigned p = surface->normal ? BC_S : which;
    const bc_kernel_plane *plane = &surface->job.plane[p];
    const bc_kernel_field *field = &plane->field;
    const bc_kernel_material *m = &surface->view[material];
    for (size_t i = 0; i < surface->wavelengths; i++) {
        const size_t at = before * surface->padded + i;
        const double complex B = CMPLX(field->B_re[at], field->B_im[at]), C = CMPLX(field->C_re[at], field->C_im[at]);
        const double complex eta = CMPLX(m->eta_re[p][i], m->eta_im[p][i]);
        const double complex inverse = CMPLX(m->inverse_re[p][i], m->inverse_im[p][i]);
        const double complex kq = CMPLX(m->phase_re[i], -m->phase_im[i]);
        const double complex drho = I * kq * (C * C * inverse - B * B * eta) *
                                    CMPLX(plane->scale_re[i], plane->scale_im[i]) *
                                    exp(2.0 * (field->growth[at] - field->growth[i]));
        drho_re[i] = creal(drho);
        drho_im[i] = cimag(drho);
    }
}
