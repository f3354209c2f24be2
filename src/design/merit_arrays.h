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
    bool keeps_fields; /* which only an insertion asks for */
    /* What merit_near.c starts from. */
    bool near;          /* the last evaluation was at a part of the samples */
    size_t base_layers; /* 0: there is nothing to start from */
    double *base_nm;    /* [max_layers] thicknesses where all samples were last evaluated with their slopes, */
    double *base_u;     /* [constraints] and u there; -INFINITY of those that are evaluated every time */
    double *moved_nm;   /* [max_layers] since then */
    double *curves;     /* [max_layers] roots of what u may gain beyond its slope, per nm */
    size_t most_blocks; /* of a segment */
    size_t *blocks;  /* [scenarios * segments] of BC_SURFACE_BLOCK samples that are evaluated every time, and which */
    unsigned *block; /* [scenarios * segments * most_blocks] */
};

/* Take what merit_near.c needs; the scenarios are open. */
void bc_merit_lay_out_near(bc_merit *merit, bc_arena *arena);

/* Whether a row is R or T at every wavelength of one segment: most rows of most callouts. */
bool bc_row_is_plain(const bc_row *row);

/* u of such a row, or its slope with `layer`, at its samples `from` to before `to`. */
void bc_constrain_plain(const bc_segment *segment, const bc_row *row, bool slope, size_t layer, size_t from, size_t to,
                        double *target);

/* As bc_merit_evaluate(), with or without the fields. */
void bc_merit_evaluate_all(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                           bool slopes);

/* Take up a scenario: what it makes of these thicknesses is at hand from now on. */
void bc_merit_enter(bc_merit *merit, size_t scenario, const double *thickness_nm);

/* Evaluate a segment at the thicknesses of the scenario at hand, at its `blocks` blocks only unless `block` is NULL. */
void bc_merit_run_engine(bc_merit *merit, const bc_segment *segment, const unsigned *material, bool slopes,
                         size_t blocks, const unsigned *block);

/* What a row's u grows with a thickness of the design, over what it grows with the same at its zone. */
double bc_row_grows(const bc_merit *merit, size_t scenario, const bc_row *row, size_t layer);

/* u of the whole row, and its slopes where they are asked for. */
void bc_constrain_row(bc_merit *merit, size_t scenario, const bc_row *row, bool slopes);

/* What a mean is made of, or how a colour changes. */
static inline const double *bc_row_weights(const bc_row *row, const bc_segment *segment)
{
    return row->gradient != NULL ? row->gradient : segment->weight;
}

#endif
