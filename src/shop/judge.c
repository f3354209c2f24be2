/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge.h"
#include <math.h>
#include <string.h>

bc_status bc_quote_judge(const bc_quote_request *request, const bc_design_problem *problem, const bc_stack *stack,
                         size_t trials, unsigned long seed, size_t threads, bc_judgment *judgment, double *fails,
                         bc_error *error)
{
    const bc_yield_options options = {
        .trials = trials, .seed = seed, .threads = threads, .quick = trials < BC_LOOKS_ARE_BELOW};
    bc_check_result check;
    bc_yield_result runs;
    bc_status status = bc_problem_check(problem, stack, &check, error);
    *judgment = (bc_judgment){INFINITY, NAN, NAN, NAN};
    if (status != BC_OK)
        return status;
    judgment->limit_used = check.limit_used;
    bc_check_result_clear(&check);
    if (request->process == NULL || trials == 0)
        return BC_OK;
    status = bc_yield(problem, stack, request->process, &options, &runs, error);
    if (status != BC_OK)
        return status;
    if (!runs.no_errors) {
        judgment->yield = runs.yield;
        judgment->yield_low = runs.yield_low;
        judgment->yield_high = runs.yield_high;
        if (fails != NULL)
            memcpy(fails, runs.fails, problem->callouts->count * sizeof *fails);
    }
    bc_yield_result_clear(&runs);
    return BC_OK;
}

bool bc_judged_good(const bc_quote_request *request, const bc_judgment *judgment, double margin)
{
    const double asked = fmin(request->yield + margin, 1.0);
    return judgment->limit_used <= 1.0 && (isnan(judgment->yield) || judgment->yield >= asked);
}
