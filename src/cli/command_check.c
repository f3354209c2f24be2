/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "compare.h"
#include "output.h"
#include "page.h"
#include "plot.h"
#include "progress.h"
#include <unistd.h>

static bc_status write_page(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                            bc_text *out, bc_error *error)
{
    return bc_page_check(report, curves, options, out, error);
}

static bc_status write_report(cli_session *session, const bc_check_result *result, double roughness_nm, bc_error *error)
{
    const bc_check_report report = {.stack_path = session->stack_path,
                                    .callouts_path = session->callouts_path,
                                    .stack = &session->stack,
                                    .result = result,
                                    .back = &session->back,
                                    .back_assumed = session->back_assumed,
                                    .brief = session->quiet,
                                    .roughness_nm = roughness_nm,
                                    .color = cli_is_standard_output(session->output) && cli_color(STDOUT_FILENO)};
    const cli_page_work work = {.check = &report, .write = write_page, .report = &report};
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_check_json(&report, &text, error) : bc_report_check_text(&report, &text, error);
    if (status == BC_OK)
        status = cli_draw_check(session, &report, NULL, &picture, error);
    return cli_write_with_pages(session, status, &text, &picture, &work, error);
}

/* The back of the part, where a callout asks for it: of every glass that is judged on. */
static bc_status read_back(cli_session *session, const cli_stacks *others, bc_error *error)
{
    bc_status status = BC_OK;
    if (session->substrates > 0)
        return cli_read_back_for_callouts(session, session->substrates, session->substrate, error);
    for (size_t s = 0; status == BC_OK && s <= others->count; s++) {
        bc_stack_clear(&session->back_stack);
        status = cli_read_back_for_callouts(session, 1, &cli_stack_at(session, others, s)->substrate, error);
    }
    return status;
}

static bc_status check_one(cli_session *session, bool *met, bc_error *error)
{
    bc_check_result result = {0};
    double roughness_nm = 0.0;
    cli_progress progress;
    bc_status status = cli_roughness(session, &roughness_nm, error);
    cli_progress_wait(&progress, session->quiet, "checking %zu layer%s, %zu callout%s", session->stack.layers,
                      session->stack.layers == 1 ? "" : "s", session->callouts.count,
                      session->callouts.count == 1 ? "" : "s");
    if (status == BC_OK)
        status = bc_check_with_progress(&session->stack, &session->callouts, session->substrates, session->substrate,
                                        &session->back, cli_progress_share, &progress, &result, error);
    cli_progress_end(&progress);
    if (status == BC_OK)
        status = write_report(session, &result, roughness_nm, error);
    *met = result.pass;
    bc_check_result_clear(&result);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    cli_stacks others = {0};
    bc_status status = cli_read_stacks(session, &others, error);
    if (status == BC_OK)
        status = cli_read_callouts(session, error);
    if (status == BC_OK)
        status = cli_read_media(session, "substrate", &session->substrates, &session->substrate, error);
    if (status == BC_OK)
        status = read_back(session, &others, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = others.count == 0 ? check_one(session, met, error) : cli_compare(session, &others, met, error);
    cli_stacks_clear(&others);
    return status;
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS,      CLI_OPTION_SUBSTRATE("in place of the one in the stack file; may be given several times"),
    CLI_OPTION_PART_BACK,     CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTION_ROUGHNESS,     CLI_OPTIONS_PLOT,
    CLI_OPTIONS_PAGE,         CLI_OPTIONS_CHANGES,
    CLI_OPTION_CHANGED_STACK, CLI_OPTION_END,
};

const cli_command cli_check = {
    .name = "check",
    .operand = "STACK...",
    .needs = "--callouts FILE",
    .summary = "Checks a stack against its callouts: the value of each, where it is worst, and the share of the limit "
               "it uses.",
    .details = "Several stacks are compared side by side. --set and the other changes apply to the last one, so a file "
               "given twice shows before and after.",
    .example = "check examples/window-stack.csv --callouts examples/window-callouts.csv",
    .option = options,
    .run = run,
};
