/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "found.h"
#include <math.h>

static void show(const bc_pool *pool, const bc_quote_found *found)
{
    const bc_quote_request *request = pool->request;
    if (request->found != NULL && !bc_watch_stopped(pool->watch))
        request->found(request->found_context, found);
}

void bc_show_option(const bc_pool *pool, const bc_quote_option *option)
{
    show(pool, &(bc_quote_found){.option = option});
}

void bc_show_exception(const bc_pool *pool, const bc_exception *exception)
{
    show(pool, &(bc_quote_found){.exception = exception});
}

/* Met on paper before not, then the higher yield; where no yield is known, or it is not met, the lower limit_used. */
static bool is_better(const bc_forecast *a, const bc_forecast *b)
{
    if ((a->limit_used <= 1.0) != (b->limit_used <= 1.0))
        return a->limit_used <= 1.0;
    if (a->limit_used <= 1.0 && a->yield != b->yield && !isnan(a->yield) && !isnan(b->yield))
        return a->yield > b->yield;
    return a->limit_used < b->limit_used;
}

static bool is_best_of_its_layers(const bc_pool *pool, size_t which)
{
    const bc_pooled *design = &pool->design[which];
    for (size_t i = 0; i < pool->count; i++)
        if (i != which && pool->design[i].stack.layers == design->stack.layers &&
            is_better(&pool->design[i].forecast, &design->forecast))
            return false;
    return true;
}

static bc_status show_design(bc_pool *pool, bc_pooled *design, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    const bc_quote_option option = {.stack = design->stack,
                                    .total_nm = bc_stack_total_nm(&design->stack),
                                    .limit_used = design->forecast.limit_used,
                                    .yield = design->forecast.yield,
                                    .yield_low = NAN,
                                    .yield_high = NAN,
                                    .layer_hours = bc_layer_hours(&design->stack, request->process),
                                    .hours_per_load =
                                        bc_hours_per_load(&design->stack, request->process, request->chamber),
                                    .hours = NAN,
                                    .loads_expected = NAN,
                                    .expected_hours = NAN,
                                    .thin_layer = design->stack.layers};
    bc_quote_option checked = option;
    bc_check_result check;
    const bc_status status = bc_problem_check(pool->problem, &design->stack, &check, error);
    if (status != BC_OK)
        return status;
    checked.limit_used = check.limit_used; /* as a verdict has it: a forecast looks at fewer wavelengths */
    bc_check_result_clear(&check);
    design->shown = true;
    show(pool, &(bc_quote_found){.option = &checked, .forecast = true});
    return BC_OK;
}

bc_status bc_show_designs(bc_pool *pool, bc_error *error)
{
    bc_status status = BC_OK;
    if (pool->request->found == NULL)
        return BC_OK;
    for (size_t i = 0; status == BC_OK && i < pool->count && !bc_watch_ask(pool->watch); i++)
        if (!pool->design[i].shown && pool->design[i].stack.layers > 0 && is_best_of_its_layers(pool, i))
            status = show_design(pool, &pool->design[i], error);
    return status;
}
