/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "lens_factor.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The stack with a factor, judged as the design was. */
static bc_status judge_factor(const bc_lens_question *question, double factor, const bc_lens_result *result,
                              bc_lens_curve *curve, bc_error *error)
{
    bc_lens_question scaled = *question;
    bc_lens_samples samples = {0};
    bc_stack stack = {0};
    bc_status status = bc_stack_copy(question->stack, &stack, error);
    for (size_t j = 0; status == BC_OK && j < stack.layers; j++)
        stack.layer[j].thickness_nm *= factor;
    scaled.stack = &stack;
    if (question->substrates == 0) { /* findings point to the glass, and must not point into the copy */
        scaled.substrates = 1;
        scaled.substrate = &question->stack->substrate;
    }
    if (status == BC_OK)
        status = bc_lens_sample_at(&scaled, result->zones, result->zone, &samples, error);
    if (status == BC_OK)
        status = bc_lens_curve_make(&scaled, &samples, result->zone, curve, error);
    bc_lens_samples_clear(&samples);
    bc_stack_clear(&stack);
    return status;
}

/* Both factors, each kept only where it is better than what was there before. */
static bc_status look_for_factors(const bc_lens_question *question, bc_lens_result *result, bc_error *error)
{
    const bc_lens_curve *designed = &result->designed;
    double balances = 1.0, reaches = 1.0;
    bc_status status = bc_lens_factors(question, result, &balances, &reaches, error);
    if (status == BC_OK && balances != 1.0) {
        status = judge_factor(question, balances, result, &result->scaled, error);
        if (status == BC_OK && result->scaled.check.limit_used < designed->check.limit_used)
            result->factor = balances;
        else
            bc_lens_curve_clear(&result->scaled);
    }
    if (status != BC_OK || designed->check.pass || (result->factor != 1.0 && result->scaled.check.pass) ||
        reaches == 1.0)
        return status;
    status = judge_factor(question, reaches, result, &result->reaching, error);
    if (status == BC_OK && result->reaching.aperture_mm > fmax(designed->aperture_mm, result->scaled.aperture_mm))
        result->reach_factor = reaches;
    else
        bc_lens_curve_clear(&result->reaching);
    return status;
}

bc_status bc_lens(const bc_stack *stack, const bc_callouts *callouts, size_t substrates, const bc_medium *substrate,
                  const bc_curved *curved, size_t zones, bc_lens_result *result, bc_error *error)
{
    const bc_lens_question question = {stack, callouts, substrates, substrate, curved};
    bc_lens_samples samples = {0};
    bc_status status = bc_curved_validate(curved, error);
    *result = (bc_lens_result){.factor = 1.0, .reach_factor = 1.0};
    if (status == BC_OK)
        status = bc_lens_sample(&question, zones < 2 ? 2 : zones, true, &samples, error);
    if (status == BC_OK) {
        result->zones = samples.count;
        result->zone = calloc(samples.count, sizeof *result->zone);
        if (result->zone == NULL)
            status = bc_fail_memory(error);
        else
            memcpy(result->zone, samples.zone, samples.count * sizeof *result->zone);
    }
    if (status == BC_OK)
        status = bc_lens_curve_make(&question, &samples, result->zone, &result->designed, error);
    bc_lens_samples_clear(&samples);
    if (status == BC_OK && stack->layers > 0)
        status = look_for_factors(&question, result, error);
    if (status != BC_OK)
        bc_lens_result_clear(result);
    return status;
}

void bc_lens_result_clear(bc_lens_result *result)
{
    bc_lens_curve_clear(&result->designed);
    bc_lens_curve_clear(&result->scaled);
    bc_lens_curve_clear(&result->reaching);
    free(result->zone);
    memset(result, 0, sizeof *result);
}
