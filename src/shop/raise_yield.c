/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "raise_yield.h"
#include "failing_runs.h"
#include <math.h>

#define PART  0.4   /* of a step that leads too far */
#define MUCH  0.002 /* of yield, or of the factor, for which a step like the last is made again */
#define PARTS 4

bool bc_raised(const bc_forecast *now, const bc_forecast *before)
{
    if (now->yield != before->yield)
        return now->yield > before->yield;
    return now->usual_factor < before->usual_factor;
}

bool bc_raised_much(const bc_forecast *now, const bc_forecast *before)
{
    return now->yield >= before->yield + MUCH ||
           (now->yield >= before->yield && now->usual_factor < (1.0 - MUCH) * before->usual_factor);
}

static bc_status try_round(const bc_design_problem *problem, const bc_process *process, double asked, double given_up,
                           const bc_stack *from, bc_stack *trial, bc_forecast *forecast, bc_error *error)
{
    bc_failing_runs failing;
    bc_status status = bc_failing_runs_find(problem, from, process, given_up, &failing, error);
    if (status == BC_OK)
        status = bc_stack_copy(from, trial, error);
    if (status == BC_OK)
        status = bc_refine_scenarios(problem, &failing.scenarios, trial, NULL, error);
    if (status == BC_OK)
        status = bc_forecast_limit(problem, trial, process, asked, forecast, NULL, error);
    bc_failing_runs_clear(&failing);
    return status;
}

/* Part of the way only: the runs that decide are others at its end. */
static bc_status go_part_of_the_way(const bc_design_problem *problem, const bc_process *process, double asked,
                                    const bc_stack *from, bc_stack *trial, bc_forecast *forecast, bc_error *error)
{
    for (size_t j = 0; j < from->layers; j++) {
        const double nm = from->layer[j].thickness_nm;
        trial->layer[j].thickness_nm = round(1e3 * (nm + PART * (trial->layer[j].thickness_nm - nm))) / 1e3;
    }
    return bc_forecast_limit(problem, trial, process, asked, forecast, NULL, error);
}

bc_status bc_raise_yield(const bc_design_problem *problem, const bc_process *process, double asked, size_t rounds,
                         bc_stack *stack, bc_forecast *forecast, bc_error *error)
{
    static const double part[] = {0.5, 0.75, 0.9,
                                  0.25}; /* of the runs that fail are given up; the next where one fails */
    size_t which = 0;
    bc_status status = BC_OK;
    for (size_t round = 0; status == BC_OK && round < rounds && which < PARTS && forecast->yield < 1.0; round++) {
        bc_stack trial = {0};
        bc_forecast now;
        status = try_round(problem, process, asked, part[which] * (1.0 - forecast->yield), stack, &trial, &now, error);
        if (status == BC_OK && !bc_raised(&now, forecast))
            status = go_part_of_the_way(problem, process, asked, stack, &trial, &now, error);
        if (status == BC_OK && !bc_raised_much(&now, forecast))
            which++;
        if (status == BC_OK && bc_raised(&now, forecast)) {
            bc_stack_clear(stack);
            *stack = trial;
            *forecast = now;
        } else {
            bc_stack_clear(&trial);
        }
    }
    return status;
}
