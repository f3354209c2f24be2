/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge.h"
#include <math.h>
#include <string.h>

bc_status bc_quote_judge(const bc_quote_request *request, const bc_design_problem *problem, const bc_stack *stack,
                         size_t runs, unsigned long seed, size_t threads, bc_thread_watch *watch, bc_judgment *judgment,
                         double *fails, bc_error *error)
{
    const bc_yield_options options = {.runs = runs,
                                      .seed = seed,
                                      .threads = threads,
                                      .quick = runs < BC_LOOKS_ARE_BELOW,
                                      .progress = bc_thread_goes_on,
                                      .progress_context = watch};
    bc_check_result check;
    bc_yield_result simulated;
    bc_status status = bc_problem_check(problem, stack, &check, error);
    *judgment = (bc_judgment){INFINITY, NAN, NAN, NAN};
    if (status != BC_OK)
        return status;
    judgment->limit_used = check.limit_used;
    bc_check_result_clear(&check);
    if (request->process == NULL || runs == 0)
        return BC_OK;
    status = bc_yield(problem, stack, request->process, &options, &simulated, error);
    if (status != BC_OK)
        return status;
    if (!simulated.no_errors) {
        judgment->yield = simulated.yield;
        judgment->yield_low = simulated.yield_low;
        judgment->yield_high = simulated.yield_high;
        if (fails != NULL)
            memcpy(fails, simulated.fails, problem->callouts->count * sizeof *fails);
    }
    bc_yield_result_clear(&simulated);
    return BC_OK;
}

bool bc_judged_good(const bc_quote_request *request, const bc_judgment *judgment, double margin)
{
    const double asked = fmin(request->yield + margin, 1.0);
    return judgment->limit_used <= 1.0 && (isnan(judgment->yield) || judgment->yield >= asked);
}
