/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "best.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_LIMIT_USED 3e-4 /* relative: what two runs into one minimum differ by */
#define SAME_NM         1.0

bc_status bc_best_alloc(size_t max_layers, size_t kept, bc_best *best, bc_error *error)
{
    bc_status status = BC_OK;
    best->max_layers = max_layers;
    best->kept = kept;
    best->of = calloc(max_layers + 1, sizeof *best->of);
    if (best->of == NULL)
        return bc_fail_memory(error);
    for (size_t n = 0; status == BC_OK && n <= max_layers; n++) {
        best->of[n].design = calloc(kept, sizeof *best->of[n].design);
        status = best->of[n].design == NULL ? bc_fail_memory(error) : BC_OK;
        for (size_t e = 0; status == BC_OK && e < kept; e++)
            status = bc_recipe_alloc(n + 1, &best->of[n].design[e], error);
    }
    if (status != BC_OK)
        bc_best_clear(best);
    return status;
}

void bc_best_clear(bc_best *best)
{
    for (size_t n = 0; best->of != NULL && n <= best->max_layers; n++) {
        for (size_t e = 0; best->of[n].design != NULL && e < best->kept; e++)
            bc_recipe_clear(&best->of[n].design[e]);
        free(best->of[n].design);
    }
    free(best->of);
    best->of = NULL;
}

bool bc_same_design(const bc_recipe *a, const bc_recipe *b)
{
    if (fabs(a->limit_used - b->limit_used) > 10.0 * SAME_LIMIT_USED * b->limit_used)
        return false;
    for (size_t j = 0; j < a->layers; j++)
        if (a->material[j] != b->material[j] || fabs(a->thickness_nm[j] - b->thickness_nm[j]) > SAME_NM)
            return false;
    return true;
}

void bc_best_offer(bc_best *best, const bc_recipe *recipe)
{
    bc_best_of_count *of;
    bc_recipe last;
    size_t place;
    if (recipe->layers > best->max_layers || !isfinite(recipe->limit_used))
        return;
    of = &best->of[recipe->layers];
    for (size_t e = 0; e < of->count; e++) {
        if (bc_same_design(recipe, &of->design[e])) {
            if (recipe->limit_used < of->design[e].limit_used)
                bc_recipe_copy(recipe, &of->design[e]);
            return;
        }
    }
    place = of->count;
    while (place > 0 && recipe->limit_used < of->design[place - 1].limit_used)
        place--;
    if (place == best->kept)
        return;
    of->count += of->count < best->kept;
    last = of->design[of->count - 1];
    for (size_t e = of->count - 1; e > place; e--)
        of->design[e] = of->design[e - 1];
    of->design[place] = last;
    bc_recipe_copy(recipe, &of->design[place]);
}

double bc_best_limit_used(const bc_best *best, size_t layers)
{
    double lowest = INFINITY;
    for (size_t n = 0; n <= layers && n <= best->max_layers; n++)
        if (best->of[n].count > 0)
            lowest = fmin(lowest, best->of[n].design[0].limit_used);
    return lowest;
}
