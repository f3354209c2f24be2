/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "budget.h"
#include <math.h>

#define SURFACE_LAYER_ARRAYS    5.0 /* of one engine for each layer, whatever the light, ... */
#define PLANE_LAYER_ARRAYS      9.0 /* ... and in each plane, for each layer and the substrate: surface.c */
#define SURFACE_GRID_ARRAYS     2.0
#define SEGMENT_ARRAYS          2.0 /* wavelengths and weights */
#define SCRATCH_ARRAYS          5.0 /* of a merit: merit.c */
#define PLANE_GRID_ARRAYS       7.0
#define MEDIUM_ARRAYS           4.0
#define PLANE_MEDIUM_ARRAYS     4.0
#define PART_SURFACES           2.0 /* the front from both sides: part.c */
#define PART_PLANE_ARRAYS       2.0
#define SUBLAYERS               16.0 /* of a graded layer, as many as are usual: grading.c */
#define CONSTRAINT_LAYER_ARRAYS 2.0  /* the slope, and what the optimizer weighs it with */

static double surface_arrays(double planes, double materials, double layers)
{
    const double media = (materials + 1.0) * (MEDIUM_ARRAYS + planes * PLANE_MEDIUM_ARRAYS);
    const double grid = SURFACE_GRID_ARRAYS + planes * PLANE_GRID_ARRAYS;
    return media + grid + layers * SURFACE_LAYER_ARRAYS + (layers + 1.0) * planes * PLANE_LAYER_ARRAYS;
}

static double engine_bytes(const bc_segment *segment, double materials, double layers)
{
    const double planes = segment->aoi_rad == 0.0 ? 1.0 : 2.0;
    double arrays = SEGMENT_ARRAYS + surface_arrays(planes, materials, layers);
    if (segment->is_part) /* its back keeps values only */
        arrays = (1.0 + PART_SURFACES) * arrays + surface_arrays(planes, materials, 0.0) + 1.0 +
                 planes * PART_PLANE_ARRAYS * (1.0 + layers);
    return sizeof(double) * (double)segment->count * arrays;
}

/* What the engines, and the arrays beside them, take for `max_layers` layers of `materials` materials. */
static double segments_bytes(const bc_segments *segments, const bc_design_problem *problem, size_t max_layers,
                             bool values_only)
{
    const double sublayers = bc_problem_is_graded(problem) ? SUBLAYERS : 1.0;
    const double layers = values_only ? 0.0 : (double)max_layers;
    const double widest = fmax((double)segments->constraints, (double)segments->longest);
    double bytes = sizeof(double) * ((1.0 + CONSTRAINT_LAYER_ARRAYS * layers) * (double)segments->constraints +
                                     (layers + 1.0 + SCRATCH_ARRAYS) * widest);
    for (size_t s = 0; s < segments->count; s++)
        bytes += engine_bytes(&segments->segment[s], sublayers * (double)problem->materials, sublayers * layers);
    return bytes;
}

bc_status bc_looks_bytes(const bc_design_problem *problem, size_t max_layers, const bc_sampling_extras *extras,
                         double *bytes, bc_error *error)
{
    bc_segments segments;
    const bc_status status = bc_segments_plan(problem, extras, &segments, error);
    if (status != BC_OK)
        return status;
    *bytes = segments_bytes(&segments, problem, max_layers, extras->values_only);
    bc_segments_clear(&segments);
    return BC_OK;
}

bc_status bc_refuse_bytes(double bytes, size_t layers, bc_error *error)
{
    if (bytes <= BC_MOST_BYTES)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "%zu layers at every wavelength, angle and glass of these callouts take %.3g GB of memory; at most "
                   "%g GB are used: narrow the bands or the angles, or allow fewer layers, glasses or callouts",
                   layers, bytes / 1e9, BC_MOST_BYTES / 1e9);
}
