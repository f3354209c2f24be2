/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "obstacle.h"

#define ROUNDING_NM 0.0006 /* thicknesses are given to 0.001 nm */

size_t bc_thin_layer(const bc_process *process, const bc_stack *stack)
{
    for (size_t j = 0; j < stack->layers; j++) {
        const bc_process_row row = bc_process_for(process, stack->layer[j].material.name);
        if (row.has_minimum && stack->layer[j].thickness_nm < row.minimum_nm - ROUNDING_NM)
            return j;
    }
    return stack->layers;
}

static void set(bc_quote_result *result, bc_obstacle obstacle, const bc_medium *material, double at, double limit)
{
    result->obstacle = obstacle;
    result->obstacle_material = material;
    result->obstacle_at = at;
    result->obstacle_limit = limit;
    result->verdict = BC_NOT_FEASIBLE;
}

void bc_find_obstacle(const bc_quote_request *request, bc_quote_result *result)
{
    const bc_chamber *chamber = request->chamber;
    const bc_quote_option *option = &result->option[result->recommended];
    result->obstacle = BC_NO_OBSTACLE;
    if (chamber != NULL && chamber->has_load_diameter && request->part_diameter_mm > 0.0 &&
        result->parts_per_load == 0) {
        set(result, BC_OBSTACLE_SIZE, NULL, request->part_diameter_mm, chamber->load_diameter_mm);
        return;
    }
    if (result->contradicted) {
        set(result, BC_OBSTACLE_CONTRADICTION, NULL, 0.0, 0.0);
        return;
    }
    if (result->layers == 0) /* at least one is refused for its heat, else there is no quote */
        for (size_t i = 0; i < result->remarks; i++)
            if (result->remark[i].kind == BC_REMARK_HEAT && result->remark[i].refused) {
                set(result, BC_OBSTACLE_HEAT, result->remark[i].material, result->remark[i].process_c,
                    result->remark[i].limit_c);
                return;
            }
    if (option->thin_layer < option->stack.layers) {
        const bc_medium *material = &option->stack.layer[option->thin_layer].material;
        set(result, BC_OBSTACLE_THIN, material, option->stack.layer[option->thin_layer].thickness_nm,
            bc_process_for(request->process, material->name).minimum_nm);
    }
}
