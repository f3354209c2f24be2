/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "progress.h"
#include "recording.h"
#include <math.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define QUIET_SECONDS 1.0 /* nothing is shown of work that is over sooner */
#define PAUSE_SECONDS 0.5 /* between two lines */
#define LINE_WIDTH    72

static const int ending[] = {SIGINT, SIGTERM, SIGHUP};

static volatile sig_atomic_t line_stands; /* the progress, on the terminal */
static volatile sig_atomic_t keeps_best;  /* the next interrupt is the first */
static volatile sig_atomic_t interrupted;

/* Nothing is half written at any moment that a signal may come: see cli_output_write(). */
static void end_at_once(int signal_number)
{
    static const char message[] = "bloomcoat: interrupted\n";
    (void)signal_number;
    if (keeps_best && !interrupted) {
        interrupted = 1;
        return;
    }
    if (line_stands)
        (void)!write(STDERR_FILENO, "\n", 1);
    (void)!write(STDERR_FILENO, message, sizeof message - 1);
    _exit(CLI_EXIT_MACHINE);
}

/* What is ignored stays so: a shell does that to what it runs in the background, nohup to what outlives a terminal. */
void cli_interrupts_prepare(void)
{
    struct sigaction action = {.sa_handler = end_at_once, .sa_flags = SA_RESTART}, before;
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof ending / sizeof ending[0]; i++)
        if (sigaction(ending[i], NULL, &before) == 0 && before.sa_handler != SIG_IGN)
            sigaction(ending[i], &action, NULL);
}

void cli_interrupts_keep_best(void)
{
    /* What is computed again is compared to what was: the best so far would only differ. */
    keeps_best = !cli_rerunning();
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

/* "about 40 s", "about 3 min" */
static void put_time(char *to, size_t size, double seconds)
{
    if (seconds < 90.0)
        snprintf(to, size, "about %.0f s left", ceil(seconds));
    else
        snprintf(to, size, "about %.0f min left", ceil(seconds / 60.0));
}

/* Between two reports the time left goes down with the clock, and never below a second. */
static void write_line(const cli_progress *p)
{
    const double elapsed = seconds_since(&p->start);
    char left[40] = "", done[12] = "";
    char line[LINE_WIDTH + 1];
    if (p->left >= 0.0)
        put_time(left, sizeof left, fmin(fmax(p->left - (elapsed - p->stated_at), 1.0), p->seconds));
    if (p->fraction >= 0.0)
        snprintf(done, sizeof done, "%3.0f %%  ", 100.0 * p->fraction);
    if (p->doing[0] != '\0' && left[0] == '\0')
        snprintf(line, sizeof line, "%.50s, %.0f s so far", p->doing, floor(fmin(elapsed, 1e6)));
    else if (p->doing[0] != '\0')
        snprintf(line, sizeof line, "%s%.44s  %.20s", done, p->doing, left);
    else if (left[0] == '\0') /* a descent ends where it converges */
        snprintf(line, sizeof line, "%s%s %.3f after %.0f s", done, p->figure_name, p->figure,
                 floor(fmin(elapsed, 1e6)));
    else
        snprintf(line, sizeof line, "%s%s %.3f so far  %s", done, p->figure_name, p->figure, left);
    line_stands = 1;
    fprintf(stderr, "\r%-*s", LINE_WIDTH, line);
    fflush(stderr);
}

static void *write_lines(void *context)
{
    cli_progress *p = context;
    struct timespec next = p->start;
    double wait = QUIET_SECONDS;
    pthread_mutex_lock(&p->lock);
    while (!p->ends) {
        const double at = (double)next.tv_nsec * 1e-9 + wait;
        next.tv_sec += (time_t)at;
        next.tv_nsec = (long)((at - floor(at)) * 1e9);
        while (!p->ends && pthread_cond_timedwait(&p->wake, &p->lock, &next) == 0)
            ;
        if (!p->ends && (isfinite(p->figure) || p->doing[0] != '\0'))
            write_line(p);
        wait = PAUSE_SECONDS;
    }
    pthread_mutex_unlock(&p->lock);
    return NULL;
}

static void prepare(cli_progress *p, bool quiet)
{
    *p = (cli_progress){.shows = !quiet && !cli_rerunning() && isatty(STDERR_FILENO),
                        .figure_name = "limit_used",
                        .seconds = INFINITY,
                        .fraction = -1.0,
                        .figure = INFINITY,
                        .left = -1.0};
    clock_gettime(CLOCK_MONOTONIC, &p->start);
}

static void start_writer(cli_progress *p)
{
    pthread_condattr_t clock;
    sigset_t all, before;
    if (!p->shows)
        return;
    pthread_mutex_init(&p->lock, NULL);
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_cond_init(&p->wake, &clock);
    pthread_condattr_destroy(&clock);
    sigfillset(&all); /* signals are for the thread that works */
    pthread_sigmask(SIG_SETMASK, &all, &before);
    p->writes = pthread_create(&p->writer, NULL, write_lines, p) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
}

void cli_progress_start(cli_progress *p, bool quiet)
{
    prepare(p, quiet);
    start_writer(p);
}

void cli_progress_wait(cli_progress *p, bool quiet, const char *format, ...)
{
    va_list arguments;
    prepare(p, quiet);
    va_start(arguments, format);
    vsnprintf(p->doing, sizeof p->doing, format, arguments);
    va_end(arguments);
    start_writer(p);
}

/* By the pace of the later half so far: the beginning of a search says little of its end. The pace is measured from a
 * mark that follows at half the way. */
static void foresee(cli_progress *p, double fraction, double now)
{
    if (fraction >= 2.0 * p->next_fraction) {
        p->mark_fraction = p->next_fraction;
        p->mark_at = p->next_at;
        p->next_fraction = fraction;
        p->next_at = now;
    }
    p->fraction = fraction;
    p->stated_at = now;
    p->left =
        fraction > p->mark_fraction ? (now - p->mark_at) * (1.0 - fraction) / (fraction - p->mark_fraction) : -1.0;
}

bool cli_progress_step(void *context, double fraction, double limit_used)
{
    cli_progress *p = context;
    const bool goes_on = !interrupted && (isinf(p->seconds) || seconds_since(&p->start) < p->seconds);
    if (p->writes && (fraction != p->fraction || limit_used != p->figure)) {
        pthread_mutex_lock(&p->lock);
        p->figure = limit_used;
        if (fraction > 0.0 && fraction != p->fraction)
            foresee(p, fraction, seconds_since(&p->start));
        pthread_mutex_unlock(&p->lock);
    }
    return goes_on;
}

void cli_progress_share(void *context, double fraction)
{
    cli_progress *p = context;
    if (!p->writes)
        return;
    pthread_mutex_lock(&p->lock);
    if (fraction > 0.0 && fraction != p->fraction)
        foresee(p, fraction, seconds_since(&p->start));
    pthread_mutex_unlock(&p->lock);
}

void cli_progress_say(cli_progress *p, const char *text)
{
    if (p->writes)
        pthread_mutex_lock(&p->lock);
    if (line_stands)
        fprintf(stderr, "\r%-*s\r", LINE_WIDTH, "");
    line_stands = 0;
    fputs(text, stderr);
    fflush(stderr);
    if (p->writes)
        pthread_mutex_unlock(&p->lock);
}

void cli_progress_end(cli_progress *p)
{
    if (p->writes) {
        pthread_mutex_lock(&p->lock);
        p->ends = true;
        pthread_cond_signal(&p->wake);
        pthread_mutex_unlock(&p->lock);
        pthread_join(p->writer, NULL);
        pthread_mutex_destroy(&p->lock);
        pthread_cond_destroy(&p->wake);
    }
    if (line_stands)
        fprintf(stderr, "\r%-*s\r", LINE_WIDTH, "");
    line_stands = 0;
}
