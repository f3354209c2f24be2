/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_SLOTS_H
#define BLOOMCOAT_DESK_SLOTS_H
/*
 * How many jobs run at once: a few quick ones, fewer slow ones. The others wait, and people take turns: next is the one
 * of whom the fewest run, of these the one whose turn was longest ago, and of one person's jobs the first that came.
 */
#include "gate.h"
#include <pthread.h>
#include <time.h>

#define DESK_QUICK_SLOTS 4
#define DESK_SLOW_SLOTS  2
#define DESK_MOST_WAIT   64
#define DESK_EACH_WAITS  16  /* of one person */
#define DESK_MOST_PEOPLE 128 /* that are remembered: more than can wait and run */

typedef struct desk_waiting {
    const void *who;
    bool slow;
    char person[DESK_PERSON_SIZE];
    struct timespec asked; /* when it called last */
} desk_waiting;

typedef struct desk_turn {
    char person[DESK_PERSON_SIZE]; /* empty: nobody's */
    size_t running[2];             /* [slow] */
    unsigned long last[2];         /* [slow] the number of the turn; 0: none yet */
} desk_turn;

typedef struct desk_slots {
    pthread_mutex_t lock;
    size_t free[2];   /* [slow] */
    size_t slow_each; /* slow jobs that one person may have running */
    size_t waiting;
    desk_waiting line[DESK_MOST_WAIT]; /* in the order they came */
    desk_turn turn[DESK_MOST_PEOPLE];
    unsigned long turns;
} desk_slots;

void desk_slots_open(desk_slots *slots, size_t slow_each);
/* Whether `who`, a job of this person, may begin now; else it waits, and calls again within a second or so: one that
 * does not is passed over. *full: so many wait that it cannot even do that. */
bool desk_slots_take(desk_slots *slots, const void *who, const char *person, bool slow, bool *full);
void desk_slots_give(desk_slots *slots, const char *person, bool slow);
/* `who` waits no longer. */
void desk_slots_leave(desk_slots *slots, const void *who);

#endif
