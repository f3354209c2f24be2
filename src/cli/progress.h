/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_PROGRESS_H
#define BLOOMCOAT_CLI_PROGRESS_H
/*
 * How far a long search is, on a terminal, and the way out of whatever takes long.
 */
#include "options.h"
#include <stdbool.h>
#include <time.h>

typedef struct cli_progress {
    bool shows;       /* standard error is a terminal, and --quiet was not given */
    const char *told; /* what the figure is; cli_progress_start() says limit_used */
    struct timespec start;
    struct timespec last;
} cli_progress;

/* From here on an interrupt (SIGINT, SIGTERM or SIGHUP) ends the program at once, with its message and exit code. */
void cli_interrupts_prepare(void);
void cli_progress_start(cli_progress *progress, bool quiet);
double cli_progress_seconds(const cli_progress *progress); /* since then */
/* A bc_progress that never asks to stop; `context` is a cli_progress. */
bool cli_progress_step(void *context, double fraction, double limit_used);
/* Take the line away again. */
void cli_progress_end(void);

#endif
