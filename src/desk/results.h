/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_RESULTS_H
#define BLOOMCOAT_DESK_RESULTS_H
/*
 * The files that jobs wrote, in memory, until newer ones take their room: pages, pictures, stacks, to be looked at and
 * taken away.
 */
#include "folder.h"
#include <pthread.h>

#define DESK_RESULTS     64
#define DESK_RESULTS_MAX (128 << 20) /* bytes of all together */
#define DESK_ID_SIZE     33

typedef struct desk_result {
    char id[DESK_ID_SIZE]; /* of the job: its files have it in common */
    char name[DESK_NAME_SIZE];
    bc_text text;
} desk_result;

typedef struct desk_results {
    pthread_mutex_t lock;
    size_t next; /* the oldest, whose place the next one takes */
    size_t bytes;
    desk_result item[DESK_RESULTS];
} desk_results;

void desk_results_open(desk_results *results);
void desk_results_clear(desk_results *results);
/* `text` is theirs from here on. */
void desk_results_keep(desk_results *results, const char *id, const char *name, bc_text *text);
/* A copy; false when there is no such file, or no memory. */
bool desk_results_find(desk_results *results, const char *id, const char *name, bc_text *out);

#endif
