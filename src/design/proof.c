/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "offers.h"
#include "proof_task.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

double bc_proof_total_nm(const bc_design_problem *problem)
{
    double from_nm, to_nm;
    bc_asked_band(problem->callouts, problem->substrates, problem->substrate, &from_nm, &to_nm);
    return fmin(problem->max_total_nm, to_nm);
}

static bc_status copy_rung(const bc_rung *from, bc_rung *to, bc_error *error)
{
    bc_rung copy = {.total_nm = from->total_nm, .limit_used = from->limit_used};
    const bc_status status = bc_stack_copy(&from->stack, &copy.stack, error);
    if (status == BC_OK) {
        bc_offer_clear(to);
        *to = copy;
    }
    return status;
}

/* The bare surface: what a check finds is all there is to say. */
static bc_status prove_bare(const bc_design_problem *problem, bc_proof *proof, bc_error *error)
{
    bc_proof_step *step = &proof->step[0];
    bc_check_result check = {0};
    bc_status status = bc_stack_alloc(0, &step->best.stack, error);
    if (status == BC_OK) {
        step->best.stack.incident = problem->incident;
        step->best.stack.substrate = problem->substrate[0];
        status = bc_problem_check(problem, &step->best.stack, &check, error);
    }
    proof->steps = 1;
    step->best.limit_used = check.limit_used;
    step->limit_used_at_least = check.limit_used * (1.0 - BC_PROOF_ROUNDING);
    step->within = true;
    bc_check_result_clear(&check);
    return status;
}

static bc_status begin_step(const bc_proof_task *t, size_t layers, bc_error *error)
{
    bc_proof_step *step = t->step;
    bc_status status = copy_rung(&step[-1].best, &step->best, error);
    step->layers = layers;
    step->limit_used_at_least = step[-1].limit_used_at_least;
    for (size_t r = 0; status == BC_OK && r < t->options->known; r++) {
        const bc_rung *rung = &t->options->rung[r];
        if (rung->stack.layers <= layers && rung->limit_used < step->best.limit_used)
            status = copy_rung(rung, &step->best, error);
    }
    return status;
}

static void explain(const bc_proof_task *t)
{
    bc_proof *proof = t->proof;
    const size_t size = sizeof proof->reason;
    proof->stopped = t->ended_early;
    if (t->step->within)
        return;
    if (proof->stopped)
        snprintf(proof->reason, size, "the proof was ended after %.0f boxes of thicknesses", t->boxes);
    else if (t->light.weakened[0] != '\0')
        snprintf(proof->reason, size, "%s", t->light.weakened);
    else if (t->step->best.limit_used < BC_PROOF_NEGLIGIBLE / (1.0 - BC_PROOF_SHARE))
        snprintf(proof->reason, size, "so little of the limits is used that no bound nearer than %g is looked for",
                 BC_PROOF_NEGLIGIBLE);
    else
        snprintf(proof->reason, size, "between the wavelengths and angles of the proof the best design is worse");
}

static bc_status prove_step(const bc_design_problem *problem, const bc_proof_options *options, bc_proof *proof,
                            bc_error *error)
{
    bc_proof_task t = {.problem = problem, .options = options, .proof = proof, .step = &proof->step[proof->steps]};
    const size_t layers = proof->steps;
    bc_status status = begin_step(&t, layers, error);
    proof->steps++;
    if (status == BC_OK)
        status = bc_proof_layers(&t, layers, error);
    t.step->within = t.step->limit_used_at_least >= BC_PROOF_SHARE * (1.0 - 1e-6) * t.step->best.limit_used;
    if (status == BC_OK)
        explain(&t);
    bc_proof_task_close(&t);
    return status;
}

static bc_status refuse(const bc_design_problem *problem, const bc_proof_options *options, bc_error *error)
{
    if (problem->materials == 0 || problem->substrates == 0 || problem->callouts->count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "a proof needs callouts, a substrate and at least one layer material");
    if (bc_problem_is_graded(problem))
        return bc_fail(error, BC_ERROR_INPUT,
                       "no bound is proved for layers with an index gradient; expected none in the process or the "
                       "stacks, or no proof");
    if (options->layers > BC_PROOF_MOST_LAYERS)
        return bc_fail(error, BC_ERROR_INPUT, "a proof for %zu layers; expected at most %d", options->layers,
                       BC_PROOF_MOST_LAYERS);
    return BC_OK;
}

bc_status bc_prove(const bc_design_problem *problem, const bc_proof_options *options, bc_proof *proof, bc_error *error)
{
    bc_design_problem own = *problem;
    bc_status status = refuse(problem, options, error);
    memset(proof, 0, sizeof *proof);
    if (status != BC_OK)
        return status;
    own.max_total_nm =
        options->total_nm > 0.0 ? fmin(options->total_nm, problem->max_total_nm) : bc_proof_total_nm(problem);
    own.max_layers = options->layers > 0 ? options->layers : 1;
    proof->total_nm_at_most = own.max_total_nm;
    proof->step = calloc(options->layers + 1, sizeof *proof->step);
    status = proof->step == NULL ? bc_fail_memory(error) : prove_bare(&own, proof, error);
    while (status == BC_OK && proof->steps <= options->layers && !proof->stopped)
        status = prove_step(&own, options, proof, error);
    if (status != BC_OK)
        bc_proof_clear(proof);
    return status;
}

void bc_proof_clear(bc_proof *proof)
{
    for (size_t s = 0; s < proof->steps; s++)
        bc_offer_clear(&proof->step[s].best);
    free(proof->step);
    memset(proof, 0, sizeof *proof);
}
