/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "slots.h"

void desk_slots_open(desk_slots *slots)
{
    *slots = (desk_slots){.free = {DESK_QUICK_SLOTS, DESK_SLOW_SLOTS}};
    pthread_mutex_init(&slots->lock, NULL);
}

/* Its place in the line; `waiting` when it is in none. */
static size_t find(const desk_slots *slots, const void *who)
{
    size_t at = 0;
    while (at < slots->waiting && slots->who[at] != who)
        at++;
    return at;
}

static void take_out(desk_slots *slots, size_t at)
{
    if (at >= slots->waiting)
        return;
    slots->waiting--;
    for (; at < slots->waiting; at++) {
        slots->who[at] = slots->who[at + 1];
        slots->slow[at] = slots->slow[at + 1];
    }
}

/* Nobody of its kind came before it. */
static bool is_next(const desk_slots *slots, size_t place, bool slow)
{
    for (size_t i = 0; i < place; i++)
        if (slots->slow[i] == slow)
            return false;
    return true;
}

bool desk_slots_take(desk_slots *slots, const void *who, bool slow, bool *full)
{
    size_t place;
    bool mine;
    pthread_mutex_lock(&slots->lock);
    place = find(slots, who);
    *full = place == slots->waiting && slots->waiting == DESK_MOST_WAIT;
    mine = slots->free[slow] > 0 && is_next(slots, place, slow);
    if (mine) {
        slots->free[slow]--;
        take_out(slots, place);
    } else if (place == slots->waiting && !*full) {
        slots->who[place] = who;
        slots->slow[place] = slow;
        slots->waiting++;
    }
    pthread_mutex_unlock(&slots->lock);
    return mine;
}

void desk_slots_give(desk_slots *slots, bool slow)
{
    pthread_mutex_lock(&slots->lock);
    slots->free[slow]++;
    pthread_mutex_unlock(&slots->lock);
}

void desk_slots_leave(desk_slots *slots, const void *who)
{
    pthread_mutex_lock(&slots->lock);
    take_out(slots, find(slots, who));
    pthread_mutex_unlock(&slots->lock);
}
