/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/sensitivity.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct shifted {
    const bc_dispersion *from;
    bc_dispersion *to[2]; /* n less and more */
} shifted;

typedef struct work {
    const bc_design_problem *problem;
    bc_stack stack; /* a copy, one layer of which is off */
    size_t materials;
    shifted *material; /* [materials] */
} work;

static bc_status shift_table(const bc_dispersion *from, double dn, bc_dispersion **to, bc_error *error)
{
    const size_t rows = bc_dispersion_rows(from);
    double *nm = calloc(3 * rows, sizeof *nm), *n = nm + rows, *k = n + rows;
    bc_status status;
    if (nm == NULL)
        return bc_fail_memory(error);
    for (size_t row = 0; row < rows; row++) {
        bc_dispersion_row(from, row, &nm[row], &n[row], &k[row]);
        n[row] += dn;
    }
    status = bc_dispersion_table(bc_dispersion_name(from), rows, nm, n, k, to, error);
    free(nm);
    return status;
}

static bc_status shift(const bc_dispersion *from, double dn, bc_dispersion **to, bc_error *error)
{
    const double at_nm = 550.0;
    double n, k;
    bc_status status;
    if (!bc_dispersion_is_constant(from))
        return shift_table(from, dn, to, error);
    status = bc_dispersion_index(from, 1, &at_nm, &n, &k, error);
    return status == BC_OK ? bc_dispersion_constant(bc_dispersion_name(from), n + dn, k, to, error) : status;
}

static shifted *shifted_of(const work *w, const bc_dispersion *dispersion)
{
    for (size_t m = 0; m < w->materials; m++)
        if (w->material[m].from == dispersion)
            return &w->material[m];
    return NULL;
}

static bc_status open_work(work *w, const bc_stack *stack, bc_error *error)
{
    bc_status status = bc_stack_copy(stack, &w->stack, error);
    if (status == BC_OK && stack->layers > 0) {
        w->material = calloc(stack->layers, sizeof *w->material);
        status = w->material == NULL ? bc_fail_memory(error) : BC_OK;
    }
    for (size_t j = 0; status == BC_OK && j < stack->layers; j++) {
        const bc_dispersion *from = stack->layer[j].material.dispersion;
        shifted *fresh = &w->material[w->materials];
        if (shifted_of(w, from) != NULL)
            continue;
        fresh->from = from;
        w->materials++;
        status = shift(from, -BC_SENSITIVITY_INDEX, &fresh->to[0], error);
        if (status == BC_OK)
            status = shift(from, BC_SENSITIVITY_INDEX, &fresh->to[1], error);
        for (int up = 0; status == BC_OK && up < 2; up++)
            bc_dispersion_keep_gradient(fresh->to[up], from);
    }
    return status;
}

static void close_work(work *w)
{
    for (size_t m = 0; m < w->materials; m++) {
        bc_dispersion_free(w->material[m].to[0]);
        bc_dispersion_free(w->material[m].to[1]);
    }
    free(w->material);
    bc_stack_clear(&w->stack);
}

static void put_off(work *w, size_t j, bc_error_kind kind, int up)
{
    const double sign = up != 0 ? 1.0 : -1.0;
    bc_layer *layer = &w->stack.layer[j];
    if (kind == BC_ERROR_PERCENT)
        layer->thickness_nm *= 1.0 + sign * 0.01 * BC_SENSITIVITY_PERCENT;
    else if (kind == BC_ERROR_NM)
        layer->thickness_nm = fmax(0.0, layer->thickness_nm + sign * BC_SENSITIVITY_NM);
    else
        layer->material.dispersion = shifted_of(w, layer->material.dispersion)->to[up];
}

static bc_status look_at(work *w, bc_layer_sensitivity *seen, bc_error *error)
{
    const bc_layer kept = w->stack.layer[seen->layer];
    bc_status status = BC_OK;
    for (bc_error_kind kind = BC_ERROR_PERCENT; kind < BC_ERROR_KINDS; kind++)
        for (int up = 0; status == BC_OK && up < 2; up++) {
            bc_check_result check;
            put_off(w, seen->layer, kind, up);
            status = bc_problem_check(w->problem, &w->stack, &check, error);
            w->stack.layer[seen->layer] = kept;
            if (status != BC_OK)
                break;
            seen->limit_used[kind][up] = check.limit_used;
            for (size_t f = 0; f < check.count; f++) /* as many as of the design: the callouts are the same */
                seen->value[kind][up][f] = check.finding[f].value;
            bc_check_result_clear(&check);
        }
    return status;
}

static bc_status open_result(const bc_stack *stack, const bc_check_result *check, bc_sensitivity_result *result,
                             bc_error *error)
{
    double *next;
    *result = (bc_sensitivity_result){.findings = check->count};
    if (stack->layers == 0)
        return BC_OK;
    result->layer = calloc(stack->layers, sizeof *result->layer);
    result->memory = next = calloc(stack->layers * 2 * BC_ERROR_KINDS * check->count, sizeof *next);
    if (result->layer == NULL || next == NULL)
        return bc_fail_memory(error);
    for (size_t order = 0; order < stack->layers; order++) {
        result->layer[order].layer = stack->layers - 1 - order;
        for (int kind = 0; kind < BC_ERROR_KINDS; kind++)
            for (int up = 0; up < 2; up++, next += check->count)
                result->layer[order].value[kind][up] = next;
    }
    return BC_OK;
}

bc_status bc_sensitivity(const bc_design_problem *problem, const bc_stack *stack, const bc_check_result *check,
                         bc_progress progress, void *context, bc_sensitivity_result *result, bc_error *error)
{
    work w = {.problem = problem};
    bc_status status = open_result(stack, check, result, error);
    if (status == BC_OK)
        status = open_work(&w, stack, error);
    for (size_t order = 0; status == BC_OK && order < stack->layers; order++) {
        bc_layer_sensitivity *seen = &result->layer[order];
        status = look_at(&w, seen, error);
        if (status != BC_OK)
            break;
        seen->worst =
            fmax(seen->limit_used[BC_ERROR_PERCENT][0], seen->limit_used[BC_ERROR_PERCENT][1]) - check->limit_used;
        if (seen->worst > result->layer[result->decisive].worst)
            result->decisive = order;
        result->layers = order + 1;
        if (progress != NULL && !progress(context, (double)(order + 1) / (double)stack->layers, check->limit_used))
            break;
    }
    close_work(&w);
    if (status != BC_OK)
        bc_sensitivity_clear(result);
    return status;
}

void bc_sensitivity_clear(bc_sensitivity_result *result)
{
    free(result->layer);
    free(result->memory);
    *result = (bc_sensitivity_result){0};
}
