/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MERIT_WORK_H
#define BLOOMCOAT_MERIT_WORK_H
/*
 * What the evaluations of a merit cost, counted in samples and layers, so that the same question has the same bound
 * on every machine.
 */
#include "merit.h"

/* As many of `threads` as may each have a merit like this one; at least 1. */
size_t bc_merit_threads(const bc_merit *merit, size_t threads);

/* Of one evaluation of so many layers with their slopes. */
double bc_merit_work(const bc_merit *merit, size_t layers);

/* Of one evaluation without slopes, counted in the same way as those of a run are bounded (BC_MOST_YIELD_WORK). */
double bc_merit_value_work(const bc_merit *merit, size_t layers);

/* The steps of a descent that `work` suffices for, from 1 to `most`. */
unsigned bc_merit_steps(const bc_merit *merit, size_t layers, double work, unsigned most);

#endif
