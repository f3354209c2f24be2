/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_JOBS_H
#define BLOOMCOAT_JOBS_H
/*
 * Jobs that know nothing of each other, on several threads. Whoever is free takes the next one, so no job may depend on
 * which thread does it, or when. A thread that cannot be had is no failure: the others take up its share.
 */
#include <stdbool.h>
#include <stddef.h>

typedef struct bc_jobs {
    size_t count;
    size_t threads; /* as bc_threads() gives them */
    /* `worker` < threads: no two jobs run at once with the same one. */
    void (*job)(void *context, size_t worker, size_t i);
    /* NULL, or called on the calling thread between two jobs with how many are done; false: no further job is begun. */
    bool (*between)(void *context, size_t done);
    void *context;
} bc_jobs;

/* Returns when all are done, or those begun when `between` said stop; then false. */
bool bc_jobs_run(const bc_jobs *jobs);

/* Threads to use: `asked`, or as many as the machine has when that is 0; never more than 64. */
size_t bc_threads(size_t asked);

#endif
