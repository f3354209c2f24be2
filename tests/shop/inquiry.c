/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inquiry.h"
#include <math.h>

#define EFFORT 0.3

void open_inquiry(inquiry *q, const char *layers, size_t max_layers)
{
    workshop_open(&q->w, "air", layers, "1.52");
    ck_assert_uint_le(q->w.stack.layers, 4);
    for (size_t m = 0; m < q->w.stack.layers; m++)
        q->layer[m] = q->w.stack.layer[m].material;
    q->w.problem.incident = q->w.stack.incident;
    q->w.problem.materials = q->w.stack.layers;
    q->w.problem.material = q->layer;
    q->w.problem.max_layers = max_layers;
    q->w.problem.max_total_nm = INFINITY;
    q->request = (bc_quote_request){
        .problem = &q->w.problem, .yield = 0.9, .max_process_c = INFINITY, .seed = 1, .effort = EFFORT, .threads = 2};
}

bc_quote_result ask(const inquiry *q)
{
    bc_quote_result result;
    bc_error error;
    ck_assert_msg(bc_quote(&q->request, &result, &error) == BC_OK, "%s", error.message);
    for (size_t o = 0; o < result.options; o++)
        ck_assert_double_eq_tol(result.option[o].total_nm, bc_stack_total_nm(&result.option[o].stack), 1e-9);
    return result;
}

bc_feasibility verdict_of(const inquiry *q)
{
    bc_quote_result result = ask(q);
    const bc_feasibility verdict = result.verdict;
    bc_quote_result_clear(&result);
    return verdict;
}

void open_runs(inquiry *q, double limit)
{
    open_inquiry(q, "1.38,2.1", 3);
    workshop_ask(&q->w, limit, 430.0, 660.0, 0.0);
    workshop_errors(&q->w, "*", 0.015, 0.007, 0.005);
    q->request.process = &q->w.process;
}
