/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "output.h"
#include "page.h"
#include "plot.h"
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
                                    .roughness_nm = roughness_nm,
                                    .color = cli_is_standard_output(session->output) && cli_color(STDOUT_FILENO)};
    const cli_page_work work = {.check = &report, .write = write_page, .report = &report};
    cli_pages pages = {0};
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_check_json(&report, &text, error) : bc_report_check_text(&report, &text, error);
    if (status == BC_OK)
        status = cli_draw_check(session, &report, NULL, &picture, error);
    if (status == BC_OK)
        status = cli_make_pages(session, &work, &pages, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    if (status == BC_OK)
        status = cli_write_plot(session, &picture, error);
    if (status == BC_OK)
        status = cli_write_pages(session, &pages, error);
    cli_pages_clear(&pages);
    bc_text_clear(&text);
    bc_text_clear(&picture);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_check_result result = {0};
    double roughness_nm = 0.0;
    bc_status status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = cli_read_callouts(session, error);
    if (status == BC_OK)
        status = cli_read_media(session, "substrate", &session->substrates, &session->substrate, error);
    if (status == BC_OK)
        status = session->substrates == 0
                     ? cli_read_back_for_callouts(session, 1, &session->stack.substrate, error)
                     : cli_read_back_for_callouts(session, session->substrates, session->substrate, error);
    if (status == BC_OK)
        status = cli_roughness(session, &roughness_nm, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = bc_check(&session->stack, &session->callouts, session->substrates, session->substrate, &session->back,
                          &result, error);
    if (status == BC_OK)
        status = write_report(session, &result, roughness_nm, error);
    *met = result.pass;
    bc_check_result_clear(&result);
    return status;
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS,  CLI_OPTION_SUBSTRATE("in place of the one in the stack file; may be given several times"),
    CLI_OPTION_PART_BACK, CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTION_ROUGHNESS, CLI_OPTIONS_PLOT,
    CLI_OPTIONS_PAGE,     CLI_OPTION_END,
};

const cli_command cli_check = {
    .name = "check",
    .operand = "STACK",
    .needs = "--callouts FILE",
    .summary =
        "Holds a stack against its callouts: the value of each, where it is worst, and the share of the limit that "
        "is used.",
    .example = "check examples/window-stack.csv --callouts examples/window-callouts.csv",
    .option = options,
    .run = run,
};
