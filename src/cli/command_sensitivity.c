/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "curved.h"
#include "design.h"
#include "page.h"
#include "plot.h"
#include "progress.h"

static bc_status write_report(cli_session *session, const bc_design_problem *problem, const bc_check_result *check,
                              const bc_sensitivity_result *result, bc_error *error)
{
    const bc_sensitivity_report report = {.check = {.stack_path = session->stack_path,
                                                    .callouts_path = session->callouts_path,
                                                    .stack = &session->stack,
                                                    .result = check,
                                                    .back = &session->back,
                                                    .back_assumed = session->back_assumed,
                                                    .curved = cli_curved(session),
                                                    .zones = problem->zones},
                                          .result = result};
    bc_text text = {0}, picture = {0};
    bc_status status = session->json ? bc_report_sensitivity_json(&report, &text, error)
                                     : bc_report_sensitivity_text(&report, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_sensitivity(&report, &session->plot_options, &picture, error);
    status = cli_write_results(session, status, &text, &picture, NULL, error);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_design_problem problem = {0};
    bc_check_result check = {0};
    bc_sensitivity_result result = {0};
    cli_progress progress;
    bc_status status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = cli_read_problem(session, &session->stack, &problem, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = bc_problem_check(&problem, &session->stack, &check, error);
    if (status == BC_OK) {
        cli_progress_start(&progress, session->quiet);
        status = bc_sensitivity(&problem, &session->stack, &check, cli_progress_step, &progress, &result, error);
        cli_progress_end(&progress);
    }
    if (status == BC_OK)
        status = write_report(session, &problem, &check, &result, error);
    *met = check.pass;
    bc_sensitivity_clear(&result);
    bc_check_result_clear(&check);
    return status;
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS,  CLI_OPTION_SUBSTRATE("in place of the one in the stack file; may be given several times"),
    CLI_OPTION_PART_BACK, CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_CURVED,   CLI_OPTIONS_PLOT,
    CLI_OPTIONS_CHANGES,  CLI_OPTION_CHANGED_STACK,
    CLI_OPTION_END,
};

const cli_command cli_sensitivity = {
    .name = "sensitivity",
    .operand = "STACK",
    .needs = "--callouts FILE",
    .summary = "What +-1 % and +-1 nm of thickness and +-0.01 of index do, layer by layer, and the layer that decides.",
    .details =
        "Needs no process file: 'yield' takes one, and gives the share of good runs. Exit 1 says that the design "
        "itself does not meet its callouts.",
    .example = "sensitivity examples/window-stack.csv --callouts examples/window-callouts.csv",
    .option = options,
    .run = run,
};
