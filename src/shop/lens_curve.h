/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LENS_CURVE_H
#define BLOOMCOAT_LENS_CURVE_H
/*
 * One coating judged at many zones.
 */
#include <bloomcoat/lens.h>

/* What is judged. */
typedef struct bc_lens_question {
    const bc_stack *stack;
    const bc_callouts *callouts;
    size_t substrates;
    const bc_medium *substrate;
    const bc_curved *curved;
} bc_lens_question;

/* Zones with their verdicts, from the vertex to the edge. */
typedef struct bc_lens_samples {
    size_t count;
    bc_zone *zone;
    bc_check_result *check;
} bc_lens_samples;

/* `zones` by equal steps of slope and, when `between`, others where neighbours differ much. */
bc_status bc_lens_sample(const bc_lens_question *question, size_t zones, bool between, bc_lens_samples *samples,
                         bc_error *error);
/* At the zones that are given. */
bc_status bc_lens_sample_at(const bc_lens_question *question, size_t zones, const bc_zone *zone,
                            bc_lens_samples *samples, bc_error *error);
void bc_lens_samples_clear(bc_lens_samples *samples);

/* The curve through the samples; its findings point to `zone`, the same zones where they will stay. */
bc_status bc_lens_curve_make(const bc_lens_question *question, const bc_lens_samples *samples, const bc_zone *zone,
                             bc_lens_curve *curve, bc_error *error);
void bc_lens_curve_clear(bc_lens_curve *curve);

#endif
