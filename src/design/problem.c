/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/draft.h>
#include <math.h>

#define MOST_LAYERS_BY_DEFAULT 8

bc_design_problem bc_design_defaults(const bc_callouts *callouts, bc_medium air)
{
    return (bc_design_problem){.callouts = callouts,
                               .incident = air,
                               .back = {.kind = BC_BACK_UNCOATED},
                               .max_layers = MOST_LAYERS_BY_DEFAULT,
                               .max_total_nm = INFINITY};
}

bc_draft_options bc_draft_defaults(void)
{
    return (bc_draft_options){.aim = BC_AIM_FEWEST, .seed = 1, .effort = 1.0};
}

static bool lacks_dispersion(size_t count, const bc_medium *medium)
{
    for (size_t i = 0; i < count; i++)
        if (medium[i].dispersion == NULL)
            return true;
    return false;
}

bc_status bc_design_validate(const bc_design_problem *problem, bc_error *error)
{
    if (problem->callouts == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "the problem has no callouts (NULL); expected at least one");
    if (problem->incident.dispersion == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "the problem's incident medium has no dispersion (NULL); expected one, such as that of 'air'");
    if ((problem->substrates > 0 && problem->substrate == NULL) ||
        lacks_dispersion(problem->substrates, problem->substrate))
        return bc_fail(error, BC_ERROR_INPUT, "a substrate of the problem is NULL or has no dispersion");
    if ((problem->materials > 0 && problem->material == NULL) ||
        lacks_dispersion(problem->materials, problem->material))
        return bc_fail(error, BC_ERROR_INPUT, "a layer material of the problem is NULL or has no dispersion");
    if (problem->zones > 0 && problem->zone == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "the problem counts %zu zones, but has none (NULL)", problem->zones);
    return BC_OK;
}

bool bc_problem_is_graded(const bc_design_problem *problem)
{
    const bc_stack *back = problem->back.kind == BC_BACK_OWN ? problem->back.stack : NULL;
    for (size_t m = 0; m < problem->materials; m++)
        if (bc_dispersion_gradient(problem->material[m].dispersion) != 0.0)
            return true;
    for (size_t j = 0; back != NULL && j < back->layers; j++)
        if (bc_dispersion_gradient(back->layer[j].material.dispersion) != 0.0)
            return true;
    return false;
}
