/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_SCALE_H
#define BLOOMCOAT_SCALE_H
/*
 * How good the process would have to be.
 */
#include "runs.h"

/* Runs it takes at most, for the progress. */
double bc_scale_work(void);

/* scale_for_95 of yield.h; `passes`: the design itself does. NAN when the caller stops the runs. Every scale is tried
 * with the same normal numbers, those of the first runs of the yield. */
double bc_scale_find(bc_runs *runs, bool passes);

#endif
