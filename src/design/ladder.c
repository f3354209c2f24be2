/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ladder.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME_LIMIT_USED 3e-4 /* relative: what two runs into one minimum differ by */
#define SAME_NM         1.0

bc_status bc_ladder_alloc(size_t max_layers, bc_ladder *ladder, bc_error *error)
{
    ladder->max_layers = max_layers;
    ladder->step = calloc(max_layers + 1, sizeof *ladder->step);
    if (ladder->step == NULL)
        return bc_fail_memory(error);
    for (size_t n = 0; n <= max_layers; n++) {
        for (size_t e = 0; e < BC_ELITE; e++) {
            const bc_status status = bc_recipe_alloc(max_layers + 1, &ladder->step[n].elite[e], error);
            if (status != BC_OK) {
                bc_ladder_clear(ladder);
                return status;
            }
        }
    }
    return BC_OK;
}

void bc_ladder_clear(bc_ladder *ladder)
{
    if (ladder->step != NULL)
        for (size_t n = 0; n <= ladder->max_layers; n++)
            for (size_t e = 0; e < BC_ELITE; e++)
                bc_recipe_clear(&ladder->step[n].elite[e]);
    free(ladder->step);
    ladder->step = NULL;
}

static bool same_design(const bc_recipe *a, const bc_recipe *b)
{
    if (fabs(a->limit_used - b->limit_used) > 10.0 * SAME_LIMIT_USED * b->limit_used)
        return false;
    for (size_t j = 0; j < a->layers; j++)
        if (a->material[j] != b->material[j] || fabs(a->thickness_nm[j] - b->thickness_nm[j]) > SAME_NM)
            return false;
    return true;
}

void bc_ladder_offer(bc_ladder *ladder, const bc_recipe *recipe)
{
    bc_step *step;
    bc_recipe last;
    size_t place;
    if (recipe->layers > ladder->max_layers || !isfinite(recipe->limit_used))
        return;
    step = &ladder->step[recipe->layers];
    for (size_t e = 0; e < step->count; e++) {
        if (same_design(recipe, &step->elite[e])) {
            if (recipe->limit_used < step->elite[e].limit_used)
                bc_recipe_copy(recipe, &step->elite[e]);
            return;
        }
    }
    place = step->count;
    while (place > 0 && recipe->limit_used < step->elite[place - 1].limit_used)
        place--;
    if (place == BC_ELITE)
        return;
    step->count += step->count < BC_ELITE;
    last = step->elite[step->count - 1];
    for (size_t e = step->count - 1; e > place; e--)
        step->elite[e] = step->elite[e - 1];
    step->elite[place] = last;
    bc_recipe_copy(recipe, &step->elite[place]);
}

double bc_ladder_best(const bc_ladder *ladder, size_t layers)
{
    double best = INFINITY;
    for (size_t n = 0; n <= layers && n <= ladder->max_layers; n++)
        if (ladder->step[n].count > 0)
            best = fmin(best, ladder->step[n].elite[0].limit_used);
    return best;
}
