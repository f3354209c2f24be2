/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_SLOTS_H
#define BLOOMCOAT_DESK_SLOTS_H
/*
 * How many jobs run at once: a few quick ones, fewer slow ones; the others wait in the order they came.
 */
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>

#define DESK_QUICK_SLOTS 4
#define DESK_SLOW_SLOTS  2
#define DESK_MOST_WAIT   64

typedef struct desk_slots {
    pthread_mutex_t lock;
    size_t free[2]; /* [slow] */
    size_t waiting;
    const void *who[DESK_MOST_WAIT]; /* in the order they came */
    bool slow[DESK_MOST_WAIT];
} desk_slots;

void desk_slots_open(desk_slots *slots);
/* Whether `who` may begin now; else it waits, and calls again. *full: so many wait that it cannot even do that. */
bool desk_slots_take(desk_slots *slots, const void *who, bool slow, bool *full);
void desk_slots_give(desk_slots *slots, bool slow);
/* `who` waits no longer. */
void desk_slots_leave(desk_slots *slots, const void *who);

#endif
