/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "starts.h"

static size_t below(bc_multistart *d, size_t count)
{
    return gsl_rng_uniform_int(d->rng, count);
}

/* One of the best designs of about `layers` layers; NULL when there is none yet. */
static const bc_recipe *pick_elite(bc_multistart *d, const bc_best *best, size_t layers)
{
    const size_t spread[] = {0, 0, 0, 1, 1, 2};
    const size_t fewer = spread[below(d, 6)];
    size_t n = layers > fewer ? layers - fewer : 0;
    while (n > 0 && best->of[n].count == 0)
        n--;
    if (best->of[n].count == 0)
        return NULL;
    return &best->of[n].design[below(d, best->of[n].count)];
}

void bc_multistart_random(bc_multistart *d, size_t layers, bc_task *task)
{
    bc_move_random(bc_search_palette(d->search), d->rng, layers, &task->recipe);
    task->rough = below(d, 2) == 0;
}

/* A new start from a design that is good already. */
static void moved_start(bc_multistart *d, const bc_best *own, size_t layers, const bc_recipe *elite, bc_task *task)
{
    const bc_palette *palette = bc_search_palette(d->search);
    bc_recipe_copy(elite, &task->recipe);
    if (task->recipe.layers < layers && below(d, 3) > 0) {
        task->grow = (int)below(d, 8);
        return;
    }
    switch (below(d, 9)) {
    case 0:
        bc_move_shake(palette, d->rng, 0.15, &task->recipe);
        break;
    case 1:
        bc_move_shake(palette, d->rng, 0.5, &task->recipe);
        break;
    case 2:
        bc_move_swap(palette, d->rng, &task->recipe);
        break;
    case 3:
        bc_move_drop(d->rng, &task->recipe);
        task->grow = (int)below(d, 8);
        break;
    case 4:
        bc_move_half_wave(palette, d->rng, &task->recipe);
        break;
    case 5:
        bc_move_cut_in(palette, d->rng, &task->recipe);
        break;
    case 6:
        if (task->recipe.layers >= layers)
            bc_move_drop(d->rng, &task->recipe);
        bc_move_add(palette, d->rng, &task->recipe);
        break;
    case 7:
        bc_move_cross(d->rng, pick_elite(d, own, layers), layers, &task->recipe);
        break;
    default:
        bc_move_drop(d->rng, &task->recipe);
        bc_move_cut_in(palette, d->rng, &task->recipe);
        break;
    }
}

/* The starts of one round for `layers` layers: fresh ones, fewer as the rounds go on, the others from the best so far.
 */
void bc_starts_make(bc_multistart *d, const bc_best *own, size_t layers, size_t round)
{
    const size_t fresh = d->from_nothing ? (round == 0 ? BC_BATCH / 2 : BC_BATCH / 4) : 0;
    for (size_t t = 0; t < BC_BATCH; t++) {
        bc_task *task = bc_search_task(d->search, t);
        const bc_recipe *elite = t < fresh ? NULL : pick_elite(d, own, layers);
        task->rough = false;
        task->grow = -1;
        task->give_up = BC_GIVE_UP * bc_best_limit_used(own, layers);
        if (elite == NULL && !d->from_nothing)
            elite = &d->start;
        if (elite == NULL || elite->layers == 0)
            bc_multistart_random(d, layers, task);
        else
            moved_start(d, own, layers, elite, task);
    }
}
