/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "proof.h"
#include <float.h>
#include <math.h>

bc_status cli_read_proof(const cli_arguments *arguments, unsigned long layers, cli_proof *proof, bc_error *error)
{
    bc_status status;
    *proof = (cli_proof){.asked = cli_has(arguments, "prove"), .layers = layers, .seconds = INFINITY};
    status = cli_count(arguments, "prove", 0, BC_PROOF_MOST_LAYERS, &proof->layers, error);
    if (status == BC_OK)
        status = cli_number(arguments, "seconds", DBL_MIN, 1e9, "a time in seconds above 0", &proof->seconds, error);
    return status;
}

bc_status cli_proof_of_graded(const bc_design_problem *problem, cli_proof *proof, bc_error *error)
{
    if (!bc_problem_is_graded(problem))
        return BC_OK;
    if (proof->asked && proof->layers > 0)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--prove: nothing is proved of layers with an index gradient; expected --prove 0, or no "
                       "index_gradient_percent in the process and the stacks");
    proof->layers = 0;
    return BC_OK;
}

size_t cli_proof_layers(const cli_proof *proof, size_t looked_at)
{
    return proof->asked || proof->layers < looked_at ? proof->layers : looked_at;
}

static bool step(void *context, double fraction, double limit_used)
{
    cli_proof *proof = context;
    const cli_progress *counts = proof->within != NULL ? proof->within : &proof->progress;
    if (!proof->begun)
        cli_progress_start(&proof->progress, proof->quiet);
    proof->begun = true;
    return cli_progress_step(&proof->progress, fraction, limit_used) && cli_progress_seconds(counts) < proof->seconds;
}

bc_proof_options cli_proof_options(cli_proof *proof, const cli_session *session, size_t looked_at, size_t threads)
{
    proof->quiet = session->quiet;
    return (bc_proof_options){.layers = cli_proof_layers(proof, looked_at),
                              .most_work = proof->asked ? INFINITY : BC_PROOF_WORK,
                              .threads = threads,
                              .progress = step,
                              .progress_context = proof};
}
