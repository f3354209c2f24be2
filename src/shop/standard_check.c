/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "estimate.h"
#include <bloomcoat/standard_check.h>
#include <math.h>

/* Without errors every run is the design itself, and there is no yield to state. */
static bool has_errors(const bc_process *process)
{
    return process != NULL &&
           (process->has_thickness_sigma || process->has_run_thickness_sigma || process->has_index_sigma);
}

bc_status bc_standard_check(const bc_standard *standard, size_t stack, const bc_process *today,
                            const bc_process *when_added, double asked, size_t threads, bc_standard_state *state,
                            bc_error *error)
{
    const bc_stack *design = &standard->stack[stack];
    bc_design_problem problem = bc_design_defaults(&standard->callouts, design->incident);
    bc_estimate now = {NAN, NAN, NAN, 0, 0}, then = now;
    bc_check_result check;
    problem.substrates = 1;
    problem.substrate = &design->substrate;
    problem.back.kind = BC_BACK_SAME;
    bc_status status = bc_problem_check(&problem, design, &check, error);
    if (status != BC_OK)
        return status;
    *state = (bc_standard_state){.standard = standard, .stack = stack, .limit_used = check.limit_used};
    bc_check_result_clear(&check);
    if (has_errors(today))
        status = bc_estimate_yield(&problem, design, today, asked, threads, NULL, &now, NULL, error);
    if (status == BC_OK && has_errors(when_added))
        status = bc_estimate_yield(&problem, design, when_added, asked, threads, NULL, &then, NULL, error);
    state->yield = now.yield;
    state->yield_low = now.low;
    state->yield_high = now.high;
    state->yield_when_added = then.yield;
    state->pass = state->limit_used <= 1.0 && (isnan(now.yield) || now.yield >= asked);
    return status;
}
