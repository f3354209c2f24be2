/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "curved.h"
#include "design.h"
#include "plot.h"
#include "progress.h"
#include "recording.h"
#include <float.h>
#include <math.h>

static bool any_moves(const bc_stack *stack)
{
    for (size_t layer = 0; layer < stack->layers; layer++)
        if (!stack->layer[layer].fixed)
            return true;
    return false;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_design_problem problem = {0};
    bc_design_report report = {0};
    bc_refine_result refined;
    cli_progress progress;
    double seconds = INFINITY;
    bc_stack *stack = &session->stack;
    bc_status status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = cli_read_problem(session, stack, &problem, error);
    if (status == BC_OK && !any_moves(stack))
        status =
            bc_fail(error, BC_ERROR_INPUT, "%s: found no layer that may move; expected one at least that is not fixed",
                    session->stack_path);
    if (status == BC_OK)
        status = cli_number(session->arguments, "seconds", DBL_MIN, 1e9, "a time in seconds above 0", &seconds, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status != BC_OK)
        return status;
    problem.incident = stack->incident;
    problem.max_layers = stack->layers == 0 ? 1 : stack->layers;
    report.thin_layers = cli_thin_layers(stack, problem.minimum_nm);
    cli_interrupts_keep_best();
    cli_progress_start(&progress, session->quiet);
    progress.seconds = seconds;
    status = bc_refine_with_progress(&problem, cli_progress_step, &progress, stack, &refined, error);
    cli_progress_end(&progress);
    if (status != BC_OK)
        return status;
    report.stop = refined.stop;
    report.limit_used_before = refined.limit_used_before;
    return cli_write_design(session, &problem, stack, &report, met, error);
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_SUBSTRATE("in place of the one in the stack file; given several times, the stack must do on each"),
    CLI_OPTION_MINIMUM_NM,
    CLI_OPTION_MAX_TOTAL_NM,
    CLI_OPTION_SECONDS,
    CLI_OPTION_PART_BACK,
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_CURVED,
    CLI_OPTIONS_PLOT,
    CLI_OPTION_RECORD,
    CLI_OPTIONS_CHANGES,
    CLI_OPTION_END,
};

const cli_command cli_refine = {
    .name = "refine",
    .operand = "STACK",
    .needs = "--callouts FILE",
    .summary = "Improves the thicknesses of the layers that are not fixed, until the worst callout cannot be "
               "bettered.",
    .details = "Ends within a few minutes of one processor's time and 2 GB of memory at most: what needs more memory "
               "is refused; "
               "an interrupt ends it with the best so far, a second one at once. "
               "Writes a stack file; the report goes to standard error, or to standard output "
               "when -o takes the stack.",
    .example = "refine examples/window-stack.csv --callouts examples/window-callouts.csv",
    .option = options,
    .run = run,
};
