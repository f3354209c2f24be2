/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "recording.h"
#include "session.h"
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

void cli_note(const cli_session *session, const char *format, ...)
{
    va_list arguments;
    char line[2048];
    if (session->quiet || cli_rerunning())
        return;
    va_start(arguments, format);
    /* NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): begun one line above; the analyzer loses it between files
     */
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    bc_escaped_whole(line, sizeof line);
    fprintf(stderr, "bloomcoat: %s\n", line);
}

bc_status cli_note_input(cli_session *session, const char *path, bc_error *error)
{
    const char **input;
    if (path == NULL)
        return BC_OK;
    input = realloc(session->input, (session->inputs + 1) * sizeof *input);
    if (input == NULL)
        return bc_fail_memory(error);
    session->input = input;
    session->input[session->inputs++] = path;
    return BC_OK;
}

/* An index that was only estimated is never used silently. */
static void note_estimate(cli_session *session, const bc_dispersion *material)
{
    const char *caution = bc_dispersion_note(material, "caution");
    if (bc_dispersion_path(material) != NULL || bc_dispersion_rows(material) == 0 || caution == NULL ||
        session->estimated == material)
        return;
    session->estimated = material;
    cli_note(session, "%s: %s", bc_dispersion_name(material), caution);
}

bc_status cli_note_medium(cli_session *session, const bc_medium *medium, bc_error *error)
{
    const char *path = bc_dispersion_path(medium->dispersion);
    note_estimate(session, medium->dispersion);
    for (size_t i = 0; i < session->inputs; i++)
        if (session->input[i] == path)
            return BC_OK;
    return cli_note_input(session, path, error);
}

/* What was understood stands on standard error before the work begins: a misread drawing is seen at once. */
bc_status cli_show_understood(const cli_session *session, unsigned assumptions, bc_error *error)
{
    bc_text text = {0};
    bc_status status = BC_OK;
    if (session->quiet || cli_rerunning())
        return BC_OK;
    status = bc_report_callouts_text(&session->callouts, assumptions, &text, error);
    if (status == BC_OK)
        fprintf(stderr, "%s\n", text.data);
    bc_text_clear(&text);
    return status;
}
