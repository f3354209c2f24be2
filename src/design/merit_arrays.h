/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MERIT_ARRAYS_H
#define BLOOMCOAT_MERIT_ARRAYS_H
/*
 * What a merit is made of: its values and slopes (merit.c), and its curvature (merit_hessian.c).
 */
#include "arena.h"
#include "merit.h"
#include "segments.h"

struct bc_merit {
    bc_arena arena;
    size_t scenarios;
    bc_segments *scenario; /* [scenarios] with engines of their own; the first is the design itself */
    double *factor;        /* [scenarios * max_layers] what a scenario makes of a thickness */
    double *thickness_nm;  /* [max_layers] in the scenario at hand */
    double *zone_nm;       /* [max_layers] and at the zone at hand */
    size_t max_layers, layers, constraints, evaluations;
    size_t kept_layers; /* those that have slopes: max_layers or none */
    double bytes;
    size_t each; /* constraints of one scenario */
    double *u;
    double *slope;   /* [max_layers * constraints] */
    double *weight;  /* [longest] scratch of the Hessian */
    double *drho[2]; /* [longest] scratch of insertions */
    double *gram;    /* scratch of bc_add_gram() */
    double *plane_weight[2];
};

/* What a mean is made of, or how a colour changes. */
static inline const double *bc_row_weights(const bc_row *row, const bc_segment *segment)
{
    return row->gradient != NULL ? row->gradient : segment->weight;
}

#endif
