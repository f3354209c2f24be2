/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_PLAN_H
#define BLOOMCOAT_PROOF_PLAN_H
/*
 * Which wavelengths, angles, glasses and zones a proof looks at, and in which order.
 */
#include "proof_light.h"

typedef enum bc_light_band { BC_LIGHT_COARSE, BC_LIGHT_FINE, BC_LIGHT_AVERAGE, BC_LIGHT_SPOT } bc_light_band;

/* One callout at one angle on one glass at one zone, before anything is computed. */
typedef struct bc_light_plan {
    const bc_callout *callout;
    size_t glass;
    double thickness_factor, aoi_rad, at_nm;
    bc_light_band band;
    size_t wavelengths, padded, planes;
    bool need[2];
} bc_light_plan;

/* The callouts on their way to a bc_light. */
typedef struct bc_light_builder {
    const bc_design_problem *problem;
    size_t layers, capacity, count;
    double total_nm;
    bc_light_plan *plan;
    bc_light *light;
} bc_light_builder;

/* What excludes most at the least price comes first; then the extra samples. The caller frees b->plan, also on failure.
 */
bc_status bc_light_list_plans(bc_light_builder *b, size_t extra_samples, const bc_light_spot *extra_sample,
                              bc_error *error);

/* The plan's wavelengths; the last one once more up to plan->padded. */
void bc_light_wavelengths(const bc_light_builder *b, const bc_light_plan *plan, double *nm);

#endif
