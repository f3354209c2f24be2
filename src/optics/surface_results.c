/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the last evaluation of a surface found: R, T, their slopes with each layer, and what a layer inserted would do.
 */
#include "surface_workspace.h"
#include <math.h>

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

/* Of a homogeneous medium, added by its share. */
static void add_insertion(const bc_surface *surface, unsigned p, size_t before, size_t medium, double share,
                          double *drho_re, double *drho_im)
{
    const bc_kernel_plane *plane = &surface->job.plane[p];
    const bc_kernel_field *field = &plane->field;
    const bc_kernel_material *m = &surface->view[medium];
    for (size_t i = 0; i < surface->wavelengths; i++) {
        const size_t at = before * surface->padded + i;
        const double complex B = CMPLX(field->B_re[at], field->B_im[at]), C = CMPLX(field->C_re[at], field->C_im[at]);
        const double complex eta = CMPLX(m->eta_re[p][i], m->eta_im[p][i]);
        const double complex inverse = CMPLX(m->inverse_re[p][i], m->inverse_im[p][i]);
        const double complex kq = CMPLX(m->phase_re[i], -m->phase_im[i]);
        const double complex drho = I * kq * (C * C * inverse - B * B * eta) *
                                    CMPLX(plane->scale_re[i], plane->scale_im[i]) *
                                    exp(2.0 * (field->growth[at] - field->growth[i]));
        drho_re[i] += share * creal(drho);
        drho_im[i] += share * cimag(drho);
    }
}

void bc_surface_insertion(const bc_surface *surface, bc_plane which, size_t before, unsigned material, double *drho_re,
                          double *drho_im)
{
    const unsigned p = surface->normal ? BC_S : which;
    const bc_grading *grading = &surface->grading[material];
    const size_t at = surface->graded ? surface->first[before] : before;
    for (size_t i = 0; i < surface->wavelengths; i++)
        drho_re[i] = drho_im[i] = 0.0;
    if (grading->sublayers == 0)
        add_insertion(surface, p, at, material, 1.0, drho_re, drho_im);
    for (size_t s = 0; s < grading->sublayers; s++)
        add_insertion(surface, p, at, grading->first + s, grading->share[s], drho_re, drho_im);
}
