/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worst.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

double bc_limit_used(const bc_callout *callout, double value)
{
    const double ideal = bc_callout_ideal(callout), used = (value - ideal) / (callout->limit - ideal);
    return callout->polarization == BC_POL_RATIO ? fmax(used, 0.0) : used;
}

/* Say which callout was being looked at when something failed. */
static bc_status in_callout(const bc_callout *callout, bc_status status, bc_error *error)
{
    if (error != NULL && status == BC_ERROR_INPUT) {
        const bc_error inner = *error;
        return bc_fail(error, status, "callout '%s': %s", callout->name, inner.message);
    }
    return status;
}

static bc_status judge(const bc_stack *stack, const bc_medium *substrate, const bc_callout *callout,
                       const bc_back *back, bc_pace *pace, bc_finding *finding, bc_error *error)
{
    const bool is_part = callout->scope == BC_SCOPE_PART;
    bc_worst worst;
    bc_status status;
    if (is_part && (back == NULL || back->kind == BC_BACK_NONE))
        return bc_fail(error, BC_ERROR_INPUT,
                       "callout '%s' has scope part; say what the back surface is: uncoated, same, or a stack file",
                       callout->name);
    status = bc_find_worst(stack, callout, is_part ? back : NULL, pace, &worst, error);
    if (status != BC_OK)
        return in_callout(callout, status, error);
    /* A NaN loses every comparison: it would pass. */
    if (!isfinite(worst.value) || worst.value < -1.0 ||
        worst.value > (callout->polarization == BC_POL_RATIO ? BC_RATIO_MOST : 2.0))
        return bc_fail(error, BC_ERROR_INPUT,
                       "callout '%s' cannot be computed for this stack: its indices lead to no finite value",
                       callout->name);
    *finding = (bc_finding){.callout = callout,
                            .substrate = substrate,
                            .value = worst.value,
                            .limit_used = bc_limit_used(callout, worst.value),
                            .at_nm = worst.at_nm,
                            .at_aoi_rad = worst.at_aoi_rad,
                            .at_polarization = worst.plane};
    finding->pass = finding->limit_used <= 1.0;
    return BC_OK;
}

static bc_status check_glass(const bc_stack *stack, const bc_medium *substrate, const bc_callouts *callouts,
                             const bc_back *back, bc_pace *pace, bc_check_result *result, bc_error *error)
{
    const size_t before = result->count;
    bc_stack on_glass = *stack; /* the layers are shared, only the glass is another */
    on_glass.substrate = *substrate;
    for (size_t c = 0; c < callouts->count; c++) {
        bc_status status;
        if (!bc_callout_applies(&callouts->callout[c], substrate->name))
            continue;
        status = judge(&on_glass, substrate, &callouts->callout[c], back, pace, &result->finding[result->count], error);
        if (status != BC_OK)
            return status;
        result->count++;
    }
    if (result->count == before)
        return bc_fail(error, BC_ERROR_INPUT, "no callout applies to the substrate '%s'; every row names another one",
                       substrate->name);
    return BC_OK;
}

/* All samples of all callouts on one glass. What cannot be computed is said when it is its turn. */
static double samples_of(const bc_stack *stack, const bc_medium *substrate, const bc_callouts *callouts,
                         const bc_back *back)
{
    bc_stack on_glass = *stack;
    double all = 0.0;
    on_glass.substrate = *substrate;
    for (size_t c = 0; c < callouts->count; c++) {
        const bc_callout *callout = &callouts->callout[c];
        const bool is_part = callout->scope == BC_SCOPE_PART;
        double samples = 0.0;
        if (bc_callout_applies(callout, substrate->name) &&
            bc_worst_samples(&on_glass, callout, is_part ? back : NULL, &samples, NULL) == BC_OK)
            all += samples;
    }
    return all;
}

bc_status bc_check_with_progress(const bc_stack *stack, const bc_callouts *callouts, size_t substrates,
                                 const bc_medium *substrate, const bc_back *back, bc_check_progress progress,
                                 void *context, bc_check_result *result, bc_error *error)
{
    const size_t glasses = substrates == 0 ? 1 : substrates;
    bc_pace pace = {.progress = progress, .context = context};
    bc_status status = BC_OK;
    memset(result, 0, sizeof *result);
    if (stack == NULL || callouts == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "a check needs %s; found NULL", stack == NULL ? "a stack" : "callouts");
    result->finding = calloc(glasses * callouts->count + 1, sizeof *result->finding);
    if (result->finding == NULL)
        return bc_fail_memory(error);
    for (size_t g = 0; progress != NULL && g < glasses; g++)
        pace.all += samples_of(stack, substrates == 0 ? &stack->substrate : &substrate[g], callouts, back);
    for (size_t g = 0; status == BC_OK && g < glasses; g++)
        status = check_glass(stack, substrates == 0 ? &stack->substrate : &substrate[g], callouts, back,
                             progress == NULL ? NULL : &pace, result, error);
    if (status != BC_OK) {
        bc_check_result_clear(result);
        return status;
    }
    bc_check_result_conclude(result);
    return BC_OK;
}

bc_status bc_check(const bc_stack *stack, const bc_callouts *callouts, size_t substrates, const bc_medium *substrate,
                   const bc_back *back, bc_check_result *result, bc_error *error)
{
    return bc_check_with_progress(stack, callouts, substrates, substrate, back, NULL, NULL, result, error);
}

void bc_check_result_conclude(bc_check_result *result)
{
    result->pass = true;
    result->decisive = 0;
    for (size_t f = 0; f < result->count; f++) {
        result->pass = result->pass && result->finding[f].pass;
        if (result->finding[f].limit_used > result->finding[result->decisive].limit_used)
            result->decisive = f;
    }
    result->limit_used = result->finding[result->decisive].limit_used;
}

void bc_check_result_clear(bc_check_result *result)
{
    free(result->finding);
    memset(result, 0, sizeof *result);
}
