/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SURFACE_WORKSPACE_H
#define BLOOMCOAT_SURFACE_WORKSPACE_H
/*
 * What a surface's evaluation and the reading of its results share.
 */
#include "arena.h"
#include "grading.h"
#include "kernel.h"
#include "media.h"
#include <bloomcoat/surface.h>

struct bc_surface {
    bc_arena arena;
    size_t wavelengths, padded, materials, max_layers;
    size_t most_sublayers; /* that max_layers can have; max_layers without a gradient */
    size_t kept_layers;    /* those whose fields are kept for derivatives: most_sublayers or none */
    size_t media_count;    /* the layer materials, the substrate, the sublayers of graded materials */
    bool graded;           /* any material is */
    bc_grading *grading;   /* [materials] */
    size_t *first;         /* [max_layers + 1]: the first sublayer of each layer of the last evaluation, and the end;
                              kept only where any material is graded */
    bool normal;
    bc_kernel kernel;
    bc_kernel_job job;
    bc_light light;
    bc_medium_arrays *media; /* [media_count] */
    bc_kernel_material *view;
    double *incident_eta[2];
    unsigned *material;
    double *thickness_nm;
};

#endif
