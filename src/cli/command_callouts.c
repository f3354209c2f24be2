/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "output.h"
#include <bloomcoat/callout_words.h>

/* The table for a person; a callouts file where -o names one. */
static bc_status write_callouts(const cli_session *session, unsigned assumptions, bc_error *error)
{
    bc_text text = {0};
    bc_status status;
    if (session->json)
        status = bc_report_callouts_json(&session->callouts, assumptions, &text, error);
    else if (session->output != NULL)
        status = bc_report_callouts_csv(&session->callouts, assumptions, &text, error);
    else
        status = bc_report_callouts_text(&session->callouts, assumptions, &text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    unsigned assumptions = 0;
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < arguments->operands; i++)
        status = bc_callouts_parse(arguments->all_operands[i], &session->callouts, &assumptions, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = write_callouts(session, assumptions, error);
    *met = true;
    return status;
}

static const cli_option options[] = {CLI_OPTION_END};

const cli_command cli_callouts = {
    .name = "callouts",
    .operand = "TEXT...",
    .summary = "Shows how the words of a drawing are understood; -o writes them as a callouts file (CSV).",
    .details = "Notes are parted by semicolons. Whatever is left open or can be read in two ways is refused with a "
               "caret under the place; what drawings commonly leave out is assumed, and each assumption is printed.",
    .example = "callouts \"Ravg <= 0.5 %, 425-675 nm, AOI 0-30 deg\"",
    .option = options,
    .run = run,
};
