/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "curved.h"
#include "page.h"
#include "plot.h"
#include "progress.h"

static bc_status write_page(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                            bc_text *out, bc_error *error)
{
    (void)curves;
    return bc_page_lens(report, options, out, error);
}

static bc_status write_report(cli_session *session, const bc_lens_result *result, double roughness_nm, bc_error *error)
{
    const bc_lens_report report = {.check = {.stack_path = session->stack_path,
                                             .callouts_path = session->callouts_path,
                                             .stack = &session->stack,
                                             .result = &result->designed.check,
                                             .curved = cli_curved(session),
                                             .zones = result->zones,
                                             .roughness_nm = roughness_nm},
                                   .result = result};
    const cli_page_work work = {.write = write_page, .report = &report};
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_lens_json(&report, &text, error) : bc_report_lens_text(&report, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_lens(&report, &session->plot_options, &picture, error);
    return cli_write_with_pages(session, status, &text, &picture, &work, error);
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_lens_result result = {0};
    double roughness_nm = 0.0;
    cli_progress progress;
    const char *radius;
    bc_status status = cli_required(session->arguments, "radius-mm", &radius, error);
    if (status == BC_OK)
        status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = cli_read_callouts(session, error);
    if (status == BC_OK)
        status = cli_read_media(session, "substrate", &session->substrates, &session->substrate, error);
    if (status == BC_OK)
        status = cli_read_curved(session, error);
    if (status == BC_OK)
        status = cli_roughness(session, &roughness_nm, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    cli_progress_wait(&progress, session->quiet, "checking %zu layers at %zu zones", session->stack.layers,
                      session->zones);
    if (status == BC_OK)
        status = bc_lens(&session->stack, &session->callouts, session->substrates, session->substrate, &session->curved,
                         session->zones, &result, error);
    cli_progress_end(&progress);
    if (status == BC_OK)
        status = write_report(session, &result, roughness_nm, error);
    *met = status == BC_OK && result.designed.check.pass;
    bc_lens_result_clear(&result);
    return status;
}

static const cli_option options[] = {
    CLI_OPTION_CALLOUTS, CLI_OPTION_SUBSTRATE("in place of the one in the stack file; may be given several times"),
    CLI_OPTIONS_CURVED,  CLI_OPTION_ROUGHNESS,
    CLI_OPTIONS_PAGE,    CLI_OPTIONS_PLOT,
    CLI_OPTIONS_CHANGES, CLI_OPTION_CHANGED_STACK,
    CLI_OPTION_END,
};

const cli_command cli_lens = {
    .name = "lens",
    .operand = "STACK",
    .needs = "--radius-mm R --clear-aperture-mm D --callouts FILE",
    .summary = "The same callouts from the centre to the edge of a curved surface, where layers grow thinner and light "
               "meets the surface at another angle; and the common factor of all thicknesses that balances both.",
    .details = "The stack's thicknesses are those at the vertex. 'draft', 'refine', 'yield' and 'quote' take the same "
               "options. The picture has the share of the limit used, from the centre to the edge, and how far all "
               "callouts hold.",
    .example = "lens examples/window-stack.csv --callouts examples/window-callouts.csv --radius-mm 60 "
               "--clear-aperture-mm 30",
    .option = options,
    .run = run,
};
