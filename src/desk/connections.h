/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_CONNECTIONS_H
#define BLOOMCOAT_DESK_CONNECTIONS_H
/*
 * Connections, and how long each may take for a request: one that only trickles in is cut off, however it keeps itself
 * alive.
 */
#include <pthread.h>
#include <stdbool.h>
#include <time.h>

#define DESK_MOST_CONNECTIONS 256
#define DESK_HEAD_SECONDS     20 /* from the last answer, or the beginning, to a whole head */
#define DESK_BODY_SECONDS     60 /* from the head to the end of the body */

typedef struct desk_connection {
    int descriptor; /* -1: this place is free */
    struct timespec since;
    double seconds; /* that it has since then; 0: an answer is on its way, which takes as long as it takes */
} desk_connection;

typedef struct desk_connections {
    pthread_mutex_t lock;
    desk_connection item[DESK_MOST_CONNECTIONS];
} desk_connections;

void desk_connections_open(desk_connections *all);
void desk_connections_add(desk_connections *all, int descriptor);
void desk_connections_drop(desk_connections *all, int descriptor);
/* From now on this one has so many seconds; 0: no bound. */
void desk_connections_expect(desk_connections *all, int descriptor, double seconds);
/* Cut off those whose time is over. */
void desk_connections_reap(desk_connections *all);

#endif
