/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef INSPECT_PROBLEM_H
#define INSPECT_PROBLEM_H
/*
 * A fit of R and T of six layers with everything uncertain that can be.
 */
#include "cause.h"
#include "witness.h"

#define COUNT   61
#define STEP_NM 2.0
#define NOISE   2e-4
#define LAYERS  6

/* How the witness is looked at. */
typedef struct sight {
    double aoi_deg;
    bc_polarization polarization;
    bc_back_kind back;
} sight;

typedef struct problem {
    bench b;
    bc_process_row row;
    bc_process process;
    bc_measurement scan;
    bc_inspect_result result;
    bc_inspection inspection;
    bc_fit fit;
} problem;

/* Noise as known, taken 1.5 times as large; the eighth reading of T is left out. `all`: as every cause would have it.
 */
void problem_open(problem *s, const sight *look, bool all);
void problem_close(problem *s);

#endif
