/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SEGMENTS_H
#define BLOOMCOAT_SEGMENTS_H
/*
 * The callouts laid out for the engine. A segment is one band with one weight at one angle on one glass at one zone,
 * with an engine of its own; rows that ask about the same light share it. A row is one callout in one segment, for one
 * plane or the mean of both.
 */
#include "merit.h"
#include <bloomcoat/sampling.h>

typedef struct bc_segment {
    const bc_callout *callout; /* the first that asks about it: its band, and its weight */
    double aoi_rad;
    size_t glass;
    bool is_part;
    const bc_zone *zone;     /* NULL: a plane surface */
    double thickness_factor; /* of the zone: of every layer */
    size_t count;
    double *wavelength_nm; /* [count] */
    double *weight;        /* [count] of the band mean; they add up to 1 */
    double *colour;        /* [3 * count] of the three means of a colour; NULL: none */
    bc_surface *surface;
    bc_part *part; /* NULL unless is_part */
} bc_segment;

typedef struct bc_row {
    const bc_callout *callout;
    size_t segment; /* of a cone of light the first of its members */
    size_t members; /* segments that a cone is the mean of; 0: the one */
    size_t *member;
    double *member_share;  /* [members] they add up to 1 */
    double aoi_rad;        /* of the cone's axis; of any other row its segment's */
    double share[2];       /* of s and p in the value; they add up to 1. Of a ratio s / p 1 each */
    bool ratio;            /* s / p; never with members */
    double offset, factor; /* u = offset + factor * value */
    double *gradient;      /* [samples] of a colour: of its value with R or T at each, where it was evaluated last */
    size_t first, count;   /* its constraints */
} bc_row;

typedef struct bc_segments {
    size_t count, rows, constraints;
    size_t longest; /* samples of the longest segment */
    bc_segment *segment;
    bc_row *row;
} bc_segments;

/* What is laid out besides the callouts. */
typedef struct bc_sampling_extras {
    bc_density density;
    bc_fringes fringes;
    size_t extra_samples;
    const bc_extra_sample *extra_sample;
    bool values_only; /* no slope will be asked for */
} bc_sampling_extras;

/* What a segment counts for in a row's value; 0: nothing. */
double bc_row_share(const bc_row *row, size_t segment);

/* The slope of a ratio s / p, from those of s and p; 0 where it is BC_RATIO_MOST. */
double bc_row_ratio_slope(double s, double p, double ds, double dp);

/* The samples of a segment that is laid out, and its engine. */
bc_status bc_segment_open(const bc_design_problem *problem, const bc_sampling_extras *extras, size_t max_layers,
                          bc_segment *segment, bc_error *error);

/* Segments and rows, without engines: to count what they would take. */
bc_status bc_segments_plan(const bc_design_problem *problem, const bc_sampling_extras *extras, bc_segments *segments,
                           bc_error *error);
/* And with them. */
bc_status bc_segments_alloc(const bc_design_problem *problem, size_t max_layers, const bc_sampling_extras *extras,
                            bc_segments *segments, bc_error *error);
void bc_segments_clear(bc_segments *segments);

#endif
