/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_PROGRESS_H
#define BLOOMCOAT_CLI_PROGRESS_H
/*
 * How far a long search is, on a terminal, and the way out of whatever takes long.
 */
#include "options.h"
#include <pthread.h>
#include <stdbool.h>
#include <time.h>

typedef struct cli_progress {
    bool shows;              /* standard error is a terminal, and --quiet was not given */
    const char *figure_name; /* what the figure is; cli_progress_start() says limit_used */
    double seconds;          /* after which cli_progress_step() says stop; cli_progress_start() says INFINITY */
    struct timespec start;
    /* What the line says: it is written by a thread of its own, so that it moves on while a step takes long. */
    pthread_t writer;
    pthread_mutex_t lock;
    pthread_cond_t wake;
    char doing[64]; /* empty: the line has a figure and the time left */
    bool writes, ends;
    double fraction, figure;
    double mark_fraction, mark_at, next_fraction, next_at; /* where the pace is measured from, now and next */
    double left, stated_at; /* seconds left when the fraction last rose, and when that was */
} cli_progress;

/* From here on an interrupt (SIGINT, SIGTERM or SIGHUP) ends the program at once, with its message and exit code. */
void cli_interrupts_prepare(void);
/* From here on the first interrupt makes cli_progress_step() say stop, so that the best so far is written; the second
 * ends the program at once. */
void cli_interrupts_keep_best(void);

void cli_progress_start(cli_progress *progress, bool quiet);
/* The line says what the work is at ("checking 1000 layers") and for how long; where cli_progress_share() is called,
 * how much of it is done and the time left. */
void cli_progress_wait(cli_progress *progress, bool quiet, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* A bc_check_progress; `context` is a cli_progress. */
void cli_progress_share(void *context, double fraction);
double cli_progress_seconds(const cli_progress *progress); /* since then */
/* A bc_progress that asks to stop after an interrupt, or when the seconds are over; `context` is a cli_progress. */
bool cli_progress_step(void *context, double fraction, double limit_used);
/* Write this to standard error, above the line. */
void cli_progress_say(cli_progress *progress, const char *text);
/* Take the line away again. */
void cli_progress_end(cli_progress *progress);

#endif
