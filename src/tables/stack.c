/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/stack.h>
#include <stdlib.h>
#include <string.h>

bc_status bc_stack_alloc(size_t layers, bc_stack *stack, bc_error *error)
{
    *stack = (bc_stack){0};
    if (layers == 0)
        return BC_OK;
    stack->layer = calloc(layers, sizeof *stack->layer);
    if (stack->layer == NULL)
        return bc_fail_memory(error);
    stack->layers = layers;
    return BC_OK;
}

bc_status bc_stack_copy(const bc_stack *from, bc_stack *to, bc_error *error)
{
    bc_stack copy;
    bc_status status = bc_stack_alloc(from->layers, &copy, error);
    if (status != BC_OK)
        return status;
    copy.incident = from->incident;
    copy.substrate = from->substrate;
    copy.from_substrate = from->from_substrate;
    if (from->layers > 0)
        memcpy(copy.layer, from->layer, from->layers * sizeof *from->layer);
    *to = copy;
    return BC_OK;
}

void bc_stack_clear(bc_stack *stack)
{
    free(stack->layer);
    *stack = (bc_stack){0};
}

double bc_stack_total_nm(const bc_stack *stack)
{
    double total = 0;
    for (size_t i = 0; i < stack->layers; i++)
        total += stack->layer[i].thickness_nm;
    return total;
}

bc_status bc_medium_find(bc_materials *materials, const char *name, const char *where, bc_medium *medium,
                         bc_error *error)
{
    const bc_dispersion *dispersion = NULL;
    bc_status status = bc_materials_find(materials, name, where, &dispersion, error);
    if (status != BC_OK)
        return status;
    memcpy(medium->name, name, strlen(name) + 1); /* no longer than the dispersion's, which has the same room */
    medium->dispersion = dispersion;
    return BC_OK;
}
