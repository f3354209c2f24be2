/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "output.h"
#include "recording.h"
#include "session.h"
#include <string.h>

/* The options whose value is a file that is written, besides -o. */
static bool writes(const char *option)
{
    static const char *const name[] = {"plot",       "report",       "internal-report", "sheet-csv", "signal-csv",
                                       "next-stack", "next-process", "changed-stack",   "table",     "price-csv",
                                       "save"};
    for (size_t i = 0; i < sizeof name / sizeof *name; i++)
        if (strcmp(name[i], option) == 0)
            return true;
    return false;
}

static bool takes_result(const cli_session *session, const char *path)
{
    return cli_is_redirected_to(path) ||
           (!cli_is_standard_output(session->output) && cli_is_same_file(path, session->output));
}

static bc_status check_one(const cli_session *session, size_t which, bc_error *error)
{
    const cli_given *given = &session->arguments->given[which];
    const char *dashes = "";
    const char *rival = takes_result(session, given->value) ? "the result" : NULL;
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_status status;
    if (cli_is_standard_output(given->value))
        return cli_fail_value(error, given->option->name, given->value, "",
                              "a file's name, since standard output has the result");
    status = cli_output_check(given->value, session->inputs, session->input, error);
    for (size_t i = 0; i < which && rival == NULL; i++) {
        const cli_given *before = &session->arguments->given[i];
        if (writes(before->option->name) && cli_is_same_file(given->value, before->value)) {
            dashes = before->option == given->option ? "another --" : "--";
            rival = before->option->name;
        }
    }
    if (status != BC_OK || rival == NULL)
        return status;
    return bc_fail(error, BC_ERROR_INPUT, "%s: found the same file for --%s and for %s%s; expected one for each",
                   bc_escaped_path(given->value, shown), given->option->name, dashes, rival);
}

bc_status cli_check_output(const cli_session *session, bc_error *error)
{
    bc_status status = cli_output_check(session->output, session->inputs, session->input, error);
    if (cli_rerunning())
        return status;
    for (size_t i = 0; status == BC_OK && i < session->arguments->count; i++)
        if (writes(session->arguments->given[i].option->name))
            status = check_one(session, i, error);
    return status;
}
