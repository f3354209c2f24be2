/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "progress.h"
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define QUIET_SECONDS 1.0 /* nothing is shown of work that is over sooner */
#define PAUSE_SECONDS 0.2 /* between two lines */
#define LINE_WIDTH    72

static const int ending[] = {SIGINT, SIGTERM, SIGHUP};

static volatile sig_atomic_t line_stands; /* the progress, on the terminal */

/* A search that was interrupted has no result, so there is nothing to wait for, and nothing is half written at any
 * moment that a signal may come: see cli_output_write(). */
static void end_at_once(int signal_number)
{
    static const char message[] = "bloomcoat: interrupted\n";
    (void)signal_number;
    if (line_stands)
        (void)!write(STDERR_FILENO, "\n", 1);
    (void)!write(STDERR_FILENO, message, sizeof message - 1);
    _exit(CLI_EXIT_MACHINE);
}

/* What is ignored stays so: a shell does that to what it runs in the background, nohup to what outlives a terminal. */
void cli_interrupts_prepare(void)
{
    struct sigaction action = {.sa_handler = end_at_once}, before;
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++)
        if (sigaction(ending[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
            sigaction(ending[i], &action, NULL);
}

static double seconds_since(const struct timespec *then)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)(now.tv_sec - then->tv_sec) + 1e-9 * (double)(now.tv_nsec - then->tv_nsec);
}

double cli_progress_seconds(const cli_progress *progress)
{
    return seconds_since(&progress->start);
}

void cli_progress_start(cli_progress *progress, bool quiet)
{
    *progress = (cli_progress){.shows = !quiet && isatty(STDERR_FILENO), .told = "limit_used"};
    clock_gettime(CLOCK_MONOTONIC, &progress->start);
    progress->last = progress->start;
}

/* "about 40 s", "about 3 min" */
static void put_time(char *to, size_t size, double seconds)
{
    if (seconds < 90.0)
        snprintf(to, size, "about %.0f s left", seconds + 0.5);
    else
        snprintf(to, size, "about %.0f min left", seconds / 60.0 + 0.5);
}

bool cli_progress_step(void *context, double fraction, double limit_used)
{
    cli_progress *progress = context;
    const double elapsed = seconds_since(&progress->start);
    if (progress->shows && elapsed > QUIET_SECONDS && seconds_since(&progress->last) > PAUSE_SECONDS) {
        char left[40] = "";
        char line[LINE_WIDTH + 1];
        if (fraction > 0.0)
            put_time(left, sizeof left, elapsed * (1.0 - fraction) / fraction);
        snprintf(line, sizeof line, "%3.0f %%  %s %.3f so far  %s", 100.0 * fraction, progress->told, limit_used, left);
        line_stands = 1;
        fprintf(stderr, "\r%-*s", LINE_WIDTH, line);
        fflush(stderr);
        clock_gettime(CLOCK_MONOTONIC, &progress->last);
    }
    return true;
}

void cli_progress_end(void)
{
    if (line_stands)
        fprintf(stderr, "\r%-*s\r", LINE_WIDTH, "");
    line_stands = 0;
}
