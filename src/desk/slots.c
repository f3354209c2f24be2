/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "slots.h"
#include <stdio.h>
#include <string.h>

#define SILENT_SECONDS 2 /* then others go first */

void desk_slots_open(desk_slots *slots, size_t slow_each)
{
    *slots = (desk_slots){.free = {DESK_QUICK_SLOTS, DESK_SLOW_SLOTS}, .slow_each = slow_each};
    pthread_mutex_init(&slots->lock, NULL);
}

/* Its place in the line; `waiting` when it is in none. */
static size_t find(const desk_slots *slots, const void *who)
{
    size_t at = 0;
    while (at < slots->waiting && slots->line[at].who != who)
        at++;
    return at;
}

static void take_out(desk_slots *slots, size_t at)
{
    if (at >= slots->waiting)
        return;
    slots->waiting--;
    memmove(&slots->line[at], &slots->line[at + 1], (slots->waiting - at) * sizeof *slots->line);
}

static size_t waits_for(const desk_slots *slots, const char *person)
{
    size_t count = 0;
    for (size_t i = 0; i < slots->waiting; i++)
        count += strcmp(slots->line[i].person, person) == 0;
    return count;
}

static unsigned long last_of(const desk_turn *one)
{
    return one->last[0] > one->last[1] ? one->last[0] : one->last[1];
}

/* In the place of whoever was served longest ago, and neither waits nor has anything running. */
static desk_turn *add_person(desk_slots *slots, const char *person)
{
    desk_turn *oldest = NULL;
    for (size_t i = 0; i < DESK_MOST_PEOPLE; i++) {
        desk_turn *one = &slots->turn[i];
        if (one->running[0] + one->running[1] == 0 && (oldest == NULL || last_of(one) < last_of(oldest)) &&
            waits_for(slots, one->person) == 0)
            oldest = one;
    }
    if (oldest != NULL) {
        *oldest = (desk_turn){.running = {0, 0}};
        snprintf(oldest->person, sizeof oldest->person, "%s", person);
    }
    return oldest;
}

static desk_turn *turn_of(desk_slots *slots, const char *person)
{
    for (size_t i = 0; i < DESK_MOST_PEOPLE; i++)
        if (strcmp(slots->turn[i].person, person) == 0)
            return &slots->turn[i];
    return add_person(slots, person);
}

static bool is_silent(const desk_waiting *one, const struct timespec *now)
{
    return now->tv_sec - one->asked.tv_sec > SILENT_SECONDS;
}

/* The place in the line of whoever is next; `waiting`: nobody. */
static size_t find_next(desk_slots *slots, bool slow, const struct timespec *now)
{
    const desk_turn *best = NULL;
    size_t next = slots->waiting;
    for (size_t i = 0; i < slots->waiting; i++) {
        const desk_turn *turn = turn_of(slots, slots->line[i].person);
        if (slots->line[i].slow != slow || turn == NULL || is_silent(&slots->line[i], now) ||
            (slow && turn->running[slow] >= slots->slow_each))
            continue;
        if (best == NULL || turn->running[slow] < best->running[slow] ||
            (turn->running[slow] == best->running[slow] && turn->last[slow] < best->last[slow])) {
            best = turn;
            next = i;
        }
    }
    return next;
}

static void join(desk_slots *slots, const void *who, const char *person, bool slow, bool *full)
{
    *full = slots->waiting == DESK_MOST_WAIT || waits_for(slots, person) == DESK_EACH_WAITS;
    if (*full)
        return;
    slots->line[slots->waiting] = (desk_waiting){.who = who, .slow = slow};
    snprintf(slots->line[slots->waiting++].person, DESK_PERSON_SIZE, "%s", person);
}

static void begin(desk_slots *slots, size_t place, bool slow)
{
    desk_turn *turn = turn_of(slots, slots->line[place].person);
    turn->running[slow]++;
    turn->last[slow] = ++slots->turns;
    slots->free[slow]--;
    take_out(slots, place);
}

bool desk_slots_take(desk_slots *slots, const void *who, const char *person, bool slow, bool *full)
{
    struct timespec now;
    size_t place;
    bool mine = false;
    clock_gettime(CLOCK_MONOTONIC, &now);
    *full = false;
    pthread_mutex_lock(&slots->lock);
    place = find(slots, who);
    if (place == slots->waiting)
        join(slots, who, person, slow, full);
    if (!*full) {
        slots->line[place].asked = now;
        mine = slots->free[slow] > 0 && find_next(slots, slow, &now) == place;
        if (mine)
            begin(slots, place, slow);
    }
    pthread_mutex_unlock(&slots->lock);
    return mine;
}

void desk_slots_give(desk_slots *slots, const char *person, bool slow)
{
    desk_turn *turn;
    pthread_mutex_lock(&slots->lock);
    slots->free[slow]++;
    turn = turn_of(slots, person);
    if (turn != NULL && turn->running[slow] > 0)
        turn->running[slow]--;
    pthread_mutex_unlock(&slots->lock);
}

void desk_slots_leave(desk_slots *slots, const void *who)
{
    pthread_mutex_lock(&slots->lock);
    take_out(slots, find(slots, who));
    pthread_mutex_unlock(&slots->lock);
}
