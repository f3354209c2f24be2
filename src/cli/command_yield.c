/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "curved.h"
#include "design.h"
#include "page.h"
#include "plot.h"
#include "progress.h"

#define USUAL_RUNS 20000
#define MOST_RUNS  100000000UL

static bc_status simulate(cli_session *session, const bc_design_problem *problem, bc_yield_options *options,
                          bc_yield_result *result, bc_error *error)
{
    cli_progress progress;
    bc_status status;
    options->progress = cli_progress_step;
    options->progress_context = &progress;
    cli_progress_start(&progress, session->quiet);
    progress.figure_name = "share of good runs";
    status = bc_yield(problem, &session->stack, &session->process, options, result, error);
    cli_progress_end(&progress);
    options->progress_context = NULL;
    return status;
}

static bc_status write_page(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                            bc_text *out, bc_error *error)
{
    (void)curves;
    return bc_page_yield(report, options, out, error);
}

static bc_status write_report(cli_session *session, const bc_check_result *check, const bc_yield_result *result,
                              bc_error *error)
{
    const bc_yield_report report = {.check = {.stack_path = session->stack_path,
                                              .callouts_path = session->callouts_path,
                                              .stack = &session->stack,
                                              .result = check,
                                              .back = &session->back,
                                              .back_assumed = session->back_assumed,
                                              .curved = cli_curved(session),
                                              .zones = session->zones},
                                    .process_path = session->process_path,
                                    .process = &session->process,
                                    .callouts = &session->callouts,
                                    .result = result};
    const cli_page_work work = {.write = write_page, .report = &report};
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_yield_json(&report, &text, error) : bc_report_yield_text(&report, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_yield(&report, &session->plot_options, &picture, error);
    return cli_write_with_pages(session, status, &text, &picture, &work, error);
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_design_problem problem = {0};
    bc_yield_options options = {.runs = USUAL_RUNS,
                                .seed = 1,
                                .most_work = BC_MOST_YIELD_WORK,
                                .influence = true,
                                .known_yield = true,
                                .sigma_for_yield = true,
                                .colours = true,
                                .percentiles =
                                    session->json || session->plot != NULL || cli_has(session->arguments, "report")};
    bc_check_result check = {0};
    bc_yield_result result = {0};
    bc_status status = cli_read_runs(session->arguments, MOST_RUNS, &options, error);
    if (status == BC_OK)
        status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = cli_read_problem(session, &session->stack, &problem, error);
    if (status == BC_OK && !cli_has(session->arguments, "process"))
        status =
            bc_fail(error, BC_ERROR_INPUT,
                    "yield needs --process FILE, the errors of the chamber; without one 'sensitivity' says what an "
                    "error of each layer does");
    if (status == BC_OK)
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = bc_problem_check(&problem, &session->stack, &check, error);
    if (status == BC_OK)
        status = simulate(session, &problem, &options, &result, error);
    if (status == BC_OK)
        status = write_report(session, &check, &result, error);
    *met = check.pass;
    bc_yield_result_clear(&result);
    bc_check_result_clear(&check);
    return status;
}

static const cli_option options_table[] = {
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_PROCESS,
    {"runs", "N", false, "simulated runs (default 20000)"},
    {"seed", "N", false, "of the random errors; the same seed gives the same bytes (default 1)"},
    {"threads", "N", false, "0 for as many as the machine has; the result does not depend on it (default 0)"},
    CLI_OPTION_SUBSTRATE(
        "in place of the one in the stack file; given several times, a run must meet the callouts on each"),
    CLI_OPTION_PART_BACK,
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_CURVED,
    CLI_OPTIONS_PAGE,
    CLI_OPTIONS_PLOT,
    CLI_OPTIONS_CHANGES,
    CLI_OPTION_CHANGED_STACK,
    CLI_OPTION_END,
};

const cli_command cli_yield = {
    .name = "yield",
    .operand = "STACK",
    .needs = "--callouts FILE --process FILE",
    .summary = "Predicts the yield by simulated runs, and names the error that limits it.",
    .details =
        "Ends within some ten minutes with two processors: what is more work is left out, and the result says so. "
        "Without a process file 'sensitivity' says what an error of each layer does. The yield is a figure and no "
        "verdict: exit 1 says that the design itself does not meet its callouts.",
    .example =
        "yield examples/window-stack.csv --callouts examples/objective-callouts.csv --process examples/process.csv",
    .option = options_table,
    .run = run,
};
