/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_STREAM_H
#define BLOOMCOAT_DESK_STREAM_H
/*
 * A job as an answer: a line of JSON for each thing that happens, until it has ended. When the page goes away, so does
 * the job.
 *
 *     {"job": ID, "command": the command line to copy}
 *     {"waits": text} while others run; {"progress": text}; {"found": an option or an exception of a quote}; an empty
 *         line where nothing happens
 *     {"exit": code, "printed": standard output, "said": standard error, "results": [names of files]}
 */
#include "job.h"
#include "results.h"
#include "slots.h"
#include <stdatomic.h>

#define DESK_MOST_JOBS 128
#define DESK_EACH_JOBS 32 /* of one person */

typedef struct desk_jobs {
    const desk_options *options;
    const desk_folder *home;
    desk_results *results;
    desk_slots slots;
    atomic_bool stopping; /* the desk ends: no job goes on */
    pthread_mutex_t lock; /* of what follows */
    struct desk_stream *running[DESK_MOST_JOBS];
} desk_jobs;

typedef struct desk_stream desk_stream;

void desk_jobs_open(desk_jobs *jobs, const desk_options *options, const desk_folder *home, desk_results *results);
void desk_jobs_close(desk_jobs *jobs);
/* Interrupt the job of this ID: it ends with the best so far. */
void desk_jobs_interrupt(desk_jobs *jobs, const char *id);

/* `request` is the stream's from here on, whatever comes of it. */
bc_status desk_stream_open(desk_jobs *jobs, const char *person, cJSON *request, desk_stream **out, bc_error *error);
/* The next bytes, at most `most`; waits for half a second at most, and gives an empty line then. 0: no more come. */
size_t desk_stream_read(desk_stream *stream, char *to, size_t most);
void desk_stream_close(desk_stream *stream);

#endif
