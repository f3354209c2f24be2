/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "connections.h"
#include "job.h"
#include <sys/socket.h>

void desk_connections_open(desk_connections *all)
{
    pthread_mutex_init(&all->lock, NULL);
    for (size_t i = 0; i < DESK_MOST_CONNECTIONS; i++)
        all->item[i] = (desk_connection){.descriptor = -1};
}

static desk_connection *find(desk_connections *all, int descriptor)
{
    for (size_t i = 0; i < DESK_MOST_CONNECTIONS; i++)
        if (all->item[i].descriptor == descriptor)
            return &all->item[i];
    return NULL;
}

static void set(desk_connection *item, int descriptor, double seconds)
{
    item->descriptor = descriptor;
    item->seconds = seconds;
    clock_gettime(CLOCK_MONOTONIC, &item->since);
}

void desk_connections_add(desk_connections *all, int descriptor)
{
    desk_connection *item;
    pthread_mutex_lock(&all->lock);
    item = find(all, -1);
    if (item != NULL)
        set(item, descriptor, DESK_HEAD_SECONDS);
    else
        shutdown(descriptor, SHUT_RDWR); /* more than were agreed on */
    pthread_mutex_unlock(&all->lock);
}

void desk_connections_drop(desk_connections *all, int descriptor)
{
    desk_connection *item;
    pthread_mutex_lock(&all->lock);
    item = find(all, descriptor);
    if (item != NULL)
        item->descriptor = -1;
    pthread_mutex_unlock(&all->lock);
}

void desk_connections_expect(desk_connections *all, int descriptor, double seconds)
{
    desk_connection *item;
    pthread_mutex_lock(&all->lock);
    item = find(all, descriptor);
    if (item != NULL)
        set(item, descriptor, seconds);
    pthread_mutex_unlock(&all->lock);
}

void desk_connections_reap(desk_connections *all)
{
    pthread_mutex_lock(&all->lock);
    for (size_t i = 0; i < DESK_MOST_CONNECTIONS; i++) {
        const desk_connection *item = &all->item[i];
        if (item->descriptor >= 0 && item->seconds > 0.0 && desk_seconds_since(&item->since) > item->seconds)
            shutdown(item->descriptor, SHUT_RDWR);
    }
    pthread_mutex_unlock(&all->lock);
}
