/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_WATCH_H
#define BLOOMCOAT_WATCH_H
/*
 * Whether a search is to stop with what it has. The caller's progress is asked by the calling thread alone, between two
 * steps of whatever that thread is at; the others read what it answered.
 */
#include <bloomcoat/design.h>
#include <math.h>
#include <stdatomic.h>

typedef struct bc_watch {
    bc_progress progress; /* may be NULL: never stopped */
    void *context;
    double fraction, limit_used; /* as last reported */
    atomic_bool stopped;
} bc_watch;

/* By any thread; `watch` may be NULL. */
static inline bool bc_watch_stopped(const bc_watch *watch)
{
    return watch != NULL && atomic_load_explicit(&watch->stopped, memory_order_relaxed);
}

/* By the calling thread. Returns whether to stop. */
static inline bool bc_watch_ask(bc_watch *watch)
{
    if (watch != NULL && watch->progress != NULL && !bc_watch_stopped(watch) &&
        !watch->progress(watch->context, watch->fraction, watch->limit_used))
        atomic_store(&watch->stopped, true);
    return bc_watch_stopped(watch);
}

static inline void bc_watch_report(bc_watch *watch, double fraction, double limit_used)
{
    if (watch == NULL)
        return;
    watch->fraction = fraction;
    watch->limit_used = limit_used;
    bc_watch_ask(watch);
}

/* One of several threads that a search is split over: a bc_progress for what that thread computes. Only the calling
 * thread asks; the others do as it was answered. */
typedef struct bc_thread_watch {
    bc_watch *watch;
    bool asks;
} bc_thread_watch;

static inline bool bc_thread_goes_on(void *context, double fraction, double limit_used)
{
    const bc_thread_watch *mine = context;
    (void)fraction; /* that of a part of the search: the watch keeps that of the whole */
    (void)limit_used;
    return !(mine->asks ? bc_watch_ask(mine->watch) : bc_watch_stopped(mine->watch));
}

#endif
