/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "add_layer.h"
#include <bloomcoat/sampling.h>
#include <math.h>
#include <string.h>

#define THIN 40.0 /* a new layer is the shortest wavelength over this, or as thin as may be */

size_t bc_add_layer_most(size_t layers, size_t materials)
{
    return (layers + 1) * materials;
}

static double thin_nm(const bc_design_problem *problem)
{
    double from_nm, to_nm;
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    return fmax(from_nm / THIN, problem->minimum_nm);
}

static bool is_same(const bc_stack *stack, size_t j, const bc_medium *material)
{
    return stack->layer[j].material.dispersion == material->dispersion;
}

/* A layer more before layer `at` of the stack. */
static bc_status insert(const bc_stack *stack, size_t at, const bc_medium *material, double nm, bc_stack *grown,
                        bc_error *error)
{
    const bc_status status = bc_stack_alloc(stack->layers + 1, grown, error);
    if (status != BC_OK)
        return status;
    grown->incident = stack->incident;
    grown->substrate = stack->substrate;
    grown->from_substrate = stack->from_substrate;
    memcpy(grown->layer, stack->layer, at * sizeof *grown->layer);
    grown->layer[at] = (bc_layer){*material, nm, false};
    memcpy(grown->layer + at + 1, stack->layer + at, (stack->layers - at) * sizeof *grown->layer);
    return BC_OK;
}

/* A layer more in the middle of layer `at`. */
static bc_status split(const bc_stack *stack, size_t at, const bc_medium *material, double nm, bc_stack *grown,
                       bc_error *error)
{
    bc_stack halves;
    bc_status status =
        insert(stack, at, &stack->layer[at].material, 0.5 * stack->layer[at].thickness_nm, &halves, error);
    if (status != BC_OK)
        return status;
    halves.layer[at + 1].thickness_nm *= 0.5;
    status = insert(&halves, at + 1, material, nm, grown, error);
    bc_stack_clear(&halves);
    return status;
}

static bool may_stand_between(const bc_stack *stack, size_t at, const bc_medium *material)
{
    return (at == 0 || !is_same(stack, at - 1, material)) && (at == stack->layers || !is_same(stack, at, material));
}

static bool may_split(const bc_design_problem *problem, const bc_stack *stack, size_t at, const bc_medium *material)
{
    return at < stack->layers && !is_same(stack, at, material) && !stack->layer[at].fixed &&
           stack->layer[at].thickness_nm > 2.0 * problem->minimum_nm;
}

bc_status bc_add_layer(const bc_design_problem *problem, const bc_stack *stack, size_t more, bc_stack *grown,
                       size_t *count, bc_error *error)
{
    const double nm = thin_nm(problem);
    bc_status status = BC_OK;
    *count = 0;
    for (size_t at = 0; at <= stack->layers; at++)
        for (size_t m = 0; status == BC_OK && m < problem->materials; m++) {
            const bc_medium *material = &problem->material[m];
            if (more == 1 && may_stand_between(stack, at, material))
                status = insert(stack, at, material, nm, &grown[*count], error);
            else if (more == 2 && may_split(problem, stack, at, material))
                status = split(stack, at, material, nm, &grown[*count], error);
            else
                continue;
            *count += status == BC_OK;
        }
    while (status != BC_OK && *count > 0)
        bc_stack_clear(&grown[--*count]);
    return status;
}
