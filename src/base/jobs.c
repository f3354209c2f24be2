/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "jobs.h"
#include <pthread.h>
#include <stdatomic.h>
#include <unistd.h>

#define MOST_THREADS 64

typedef struct pool {
    const bc_jobs *jobs;
    atomic_size_t next, done;
    atomic_bool stopped;
} pool;

typedef struct hand {
    pool *pool;
    size_t worker;
} hand;

static bool take(pool *p, size_t worker)
{
    size_t i;
    if (atomic_load(&p->stopped) || (i = atomic_fetch_add(&p->next, 1)) >= p->jobs->count)
        return false;
    p->jobs->job(p->jobs->context, worker, i);
    atomic_fetch_add(&p->done, 1);
    return true;
}

static void *work(void *argument)
{
    const hand *mine = argument;
    while (take(mine->pool, mine->worker))
        ;
    return NULL;
}

bool bc_jobs_run(const bc_jobs *jobs)
{
    pool p = {.jobs = jobs};
    pthread_t thread[MOST_THREADS];
    hand each[MOST_THREADS];
    size_t started = 0;
    while (started + 1 < jobs->threads && started + 1 < jobs->count && started + 1 < MOST_THREADS) {
        each[started] = (hand){&p, started + 1};
        if (pthread_create(&thread[started], NULL, work, &each[started]) != 0)
            break;
        started++;
    }
    while (take(&p, 0))
        if (jobs->between != NULL && !jobs->between(jobs->context, atomic_load(&p.done)))
            atomic_store(&p.stopped, true);
    for (size_t t = 0; t < started; t++)
        pthread_join(thread[t], NULL);
    return !atomic_load(&p.stopped);
}

size_t bc_threads(size_t asked)
{
    const long online = sysconf(_SC_NPROCESSORS_ONLN);
    const size_t threads = asked > 0 ? asked : online > 0 ? (size_t)online : 1;
    return threads < MOST_THREADS ? threads : MOST_THREADS;
}
