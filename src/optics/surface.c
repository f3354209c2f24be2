/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "surface_workspace.h"
#include <math.h>
#include <stdlib.h>

/* In glass past total reflection no light travels, but n^2/q must stay finite: where it absorbs it is still summed. */
#define SMALLEST_INCIDENT_Q 1e-9

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
    surface->view = bc_arena_take(arena, surface->media_count, sizeof *surface->view);
    surface->media = bc_arena_take(arena, surface->media_count, sizeof *surface->media);
    for (size_t m = 0; m < surface->media_count; m++) {
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
    surface->material = bc_arena_take(arena, surface->most_sublayers, sizeof *surface->material);
    surface->thickness_nm = take(arena, surface->most_sublayers);
    surface->first = bc_arena_take(arena, surface->graded ? surface->max_layers + 1 : 0, sizeof *surface->first);
    for (size_t m = 0; m < surface->materials; m++) {
        bc_grading *grading = &surface->grading[m];
        grading->at = take(arena, grading->sublayers);
        grading->weight = take(arena, grading->sublayers);
        grading->share = take(arena, grading->sublayers);
        grading->square = take(arena, grading->sublayers);
        grading->linear = take(arena, grading->sublayers);
    }
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

/* What follows from the n and k of a medium. */
static void derive_medium(const bc_surface *surface, size_t m)
{
    const bc_medium_arrays *arrays = &surface->media[m];
    bc_kernel_material *view = &surface->view[m];
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

static void set_sublayers(const bc_surface *surface, size_t m, double dn)
{
    const bc_grading *grading = &surface->grading[m];
    for (size_t s = 0; s < grading->sublayers; s++) {
        bc_set_sublayer(&surface->light, grading, s, &surface->media[m], dn, &surface->media[grading->first + s]);
        derive_medium(surface, grading->first + s);
    }
}

static void set_medium(const bc_surface *surface, const bc_index *index, size_t m)
{
    const bc_medium_arrays *arrays = &surface->media[m];
    for (size_t i = 0; i < surface->padded; i++) {
        const size_t at = within(surface, i);
        arrays->n[i] = index->n[at];
        arrays->k[i] = index->k == NULL ? 0.0 : index->k[at];
    }
    derive_medium(surface, m);
    if (m < surface->materials)
        set_sublayers(surface, m, 0.0);
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
    job->padded = job->field_stride = surface->padded;
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

/* Which materials are graded, and the room that takes. */
static bc_status count_gradings(bc_surface *surface, const bc_surface_setup *setup, bc_error *error)
{
    size_t most = 1;
    bc_status status = BC_OK;
    surface->media_count = setup->materials + 1;
    for (size_t m = 0; status == BC_OK && m < setup->materials; m++) {
        bc_grading *grading = &surface->grading[m];
        status = bc_count_sublayers(setup, m, &grading->sublayers, error);
        grading->first = surface->media_count;
        surface->media_count += grading->sublayers;
        surface->graded = surface->graded || grading->sublayers > 0;
        most = grading->sublayers > most ? grading->sublayers : most;
    }
    surface->most_sublayers = most * setup->max_layers;
    return status;
}

static bc_status set_gradings(bc_surface *surface, const double *gradient, bc_error *error)
{
    for (size_t m = 0; m < surface->materials; m++) {
        if (surface->grading[m].sublayers == 0)
            continue;
        const bc_status status = bc_set_steps(&surface->grading[m], error);
        if (status != BC_OK)
            return status;
        bc_set_stair(&surface->grading[m], gradient[m]);
    }
    return BC_OK;
}

static bc_status open_surface(bc_surface *surface, const bc_surface_setup *setup, bc_error *error)
{
    bc_status status = count_gradings(surface, setup, error);
    surface->kept_layers = setup->values_only ? 0 : surface->most_sublayers;
    if (status != BC_OK)
        return status;
    lay_out(surface, &surface->arena);
    status = bc_arena_open(&surface->arena, error);
    if (status != BC_OK)
        return status;
    lay_out(surface, &surface->arena);
    status = set_gradings(surface, setup->gradient, error);
    if (status == BC_OK)
        set_up(surface, setup);
    return status;
}

bc_status bc_surface_alloc(const bc_surface_setup *setup, bc_surface **out, bc_error *error)
{
    bc_surface *surface;
    bc_status status = refuse(setup, error);
    *out = NULL;
    if (status != BC_OK)
        return status;
    surface = calloc(1, sizeof *surface + setup->materials * sizeof *surface->grading);
    if (surface == NULL)
        return bc_fail_memory(error);
    surface->grading = (bc_grading *)(void *)(surface + 1);
    surface->wavelengths = setup->wavelengths;
    surface->padded = (setup->wavelengths + BC_LANES - 1) / BC_LANES * BC_LANES;
    surface->materials = setup->materials;
    surface->max_layers = setup->max_layers;
    surface->normal = setup->aoi_rad == 0.0;
    surface->kernel = bc_kernel_for(setup->path);
    if (surface->kernel == NULL) {
        free(surface);
        return bc_fail(error, BC_ERROR_INPUT, "this processor cannot run the vector path asked for");
    }
    status = open_surface(surface, setup, error);
    if (status != BC_OK) {
        bc_surface_free(surface);
        return status;
    }
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
    set_sublayers(surface, material, dn);
}

void bc_surface_set_gradient(bc_surface *surface, unsigned material, double gradient)
{
    bc_set_stair(&surface->grading[material], gradient);
    set_sublayers(surface, material, 0.0);
}

void bc_surface_keep_fields(bc_surface *surface, bool keep)
{
    surface->job.field_stride = keep ? surface->padded : BC_LANES;
}

static void add_to_job(bc_surface *surface, unsigned medium, double thickness_nm)
{
    bc_kernel_job *job = &surface->job;
    surface->material[job->layers] = medium;
    surface->thickness_nm[job->layers++] = thickness_nm;
    job->absorbing = job->absorbing || surface->view[medium].absorbing;
    job->some_complex = job->some_complex || surface->view[medium].is_complex;
}

/* A layer's slope is the sum of its sublayers' by their shares of it. In place: what a layer reads lies at or after
 * what it writes. */
static void fold_slopes(const bc_surface *surface, const unsigned *material, size_t layers, double *slope)
{
    const size_t padded = surface->padded;
    for (size_t j = 0; j < layers; j++) {
        const bc_grading *grading = &surface->grading[material[j]];
        const double *from = slope + surface->first[j] * padded;
        for (size_t i = 0; i < padded; i++) {
            double sum = grading->sublayers > 0 ? 0.0 : from[i];
            for (size_t s = 0; s < grading->sublayers; s++)
                sum += grading->share[s] * from[s * padded + i];
            slope[j * padded + i] = sum;
        }
    }
}

static void evaluate(bc_surface *surface, size_t layers, const unsigned *material, const double *thickness_nm,
                     bc_want want)
{
    bc_kernel_job *job = &surface->job;
    job->layers = 0;
    job->want = want;
    job->absorbing = job->some_complex = false;
    for (size_t j = 0; j < layers; j++) {
        const bc_grading *grading = &surface->grading[material[j]];
        if (surface->graded)
            surface->first[j] = job->layers;
        if (grading->sublayers == 0)
            add_to_job(surface, material[j], thickness_nm[j]);
        for (size_t s = 0; s < grading->sublayers; s++)
            add_to_job(surface, (unsigned)(grading->first + s), grading->share[s] * thickness_nm[j]);
    }
    if (surface->graded)
        surface->first[layers] = job->layers;
    surface->kernel(job);
    for (unsigned p = 0; surface->graded && want != BC_WANT_VALUES && p < job->planes; p++) {
        const bc_kernel_plane *plane = &job->plane[p];
        double *const slope[] = {plane->drho_re, plane->drho_im, plane->dR, plane->dT};
        for (size_t a = 0; a < (want == BC_WANT_GRADIENT ? 4U : 2U); a++)
            fold_slopes(surface, material, layers, slope[a]);
    }
}

void bc_surface_evaluate(bc_surface *surface, size_t layers, const unsigned *material, const double *thickness_nm,
                         bc_want want)
{
    surface->job.block = NULL;
    surface->job.blocks = surface->padded / BC_LANES;
    evaluate(surface, layers, material, thickness_nm, want);
}

void bc_surface_evaluate_blocks(bc_surface *surface, size_t layers, const unsigned *material,
                                const double *thickness_nm, bc_want want, size_t blocks, const unsigned *block)
{
    if (surface->graded) {
        bc_surface_evaluate(surface, layers, material, thickness_nm, want);
        return;
    }
    surface->job.block = block;
    surface->job.blocks = blocks;
    evaluate(surface, layers, material, thickness_nm, want);
}
