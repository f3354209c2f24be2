/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "control.h"
#include "escaped.h"
#include "inspection.h"
#include "output.h"
#include "page.h"
#include "plot.h"
#include "recording.h"
#include "run_record.h"
#include "text.h"
#include "witness.h"
#include <stdlib.h>
#include <string.h>

/* What is learned from. */
typedef struct history {
    bc_record_runs runs;
    size_t left_out, older, count;
    bc_learn_run *run; /* [count] */
} history;

static void clear(history *h)
{
    for (size_t i = 0; i < h->count; i++)
        bc_learn_run_clear(&h->run[i]);
    free(h->run);
    bc_record_runs_clear(&h->runs);
}

/* Every run of the shop's record. */
static bc_status read_record(const cli_session *session, bc_record_runs *runs, bc_error *error)
{
    bc_record *record = NULL;
    char *path = NULL;
    bc_status status;
    if (session->arguments->shop == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "process %s needs the shop whose record has the runs (--shop DIR), or measured files with "
                       "--stack",
                       session->arguments->operand);
    status = cli_record_path(session->arguments->shop->folder, &path, error);
    if (status == BC_OK)
        status = bc_record_open(path, false, &record, error);
    if (status == BC_OK)
        status = bc_record_runs_read(record, runs, error);
    bc_record_close(record);
    free(path);
    return status;
}

/* Those that say something of their layers. */
static bc_status take_runs(history *h, bc_error *error)
{
    bc_status status = BC_OK;
    h->run = calloc(h->runs.count + 1, sizeof *h->run);
    if (h->run == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < h->runs.count; i++) {
        const bc_record_run *run = &h->runs.run[i];
        h->older += run->materials == 0;
        h->left_out += run->materials > 0 && run->layers == 0;
        if (run->layers == 0)
            continue;
        status = cli_learn_run(run, &h->run[h->count], error);
        h->count += status == BC_OK;
    }
    return status;
}

static bc_status read_runs(cli_session *session, bc_record_runs *runs, bc_error *error)
{
    return session->arguments->operands > 1 ? cli_inspect_runs(session, runs, error)
                                            : read_record(session, runs, error);
}

static bc_status read_history(cli_session *session, history *h, bc_error *error)
{
    bc_status status = read_runs(session, &h->runs, error);
    if (status == BC_OK && session->process_path == NULL && cli_has(session->arguments, "process"))
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    return status == BC_OK ? take_runs(h, error) : status;
}

static bc_status learn(cli_session *session, const history *h, bc_error *error)
{
    const char *file = cli_value(session->arguments, "next-process");
    bc_learn_result result;
    bc_text text = {0}, process = {0};
    bc_learn_report report = {.result = &result, .left_out = h->left_out, .older = h->older};
    bc_status status =
        bc_learn(h->count, h->run, session->process_path == NULL ? NULL : &session->process, &result, error);
    if (status != BC_OK)
        return status;
    status = session->json ? bc_report_learn_json(&report, &text, error) : bc_report_learn_text(&report, &text, error);
    if (status == BC_OK && file != NULL)
        status = bc_report_learn_csv(&report, &process, error);
    if (status == BC_OK && file != NULL)
        status = cli_output_write(file, &process, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    bc_text_clear(&process);
    bc_learn_result_clear(&result);
    return status;
}

static bc_status write_charts(cli_session *session, const bc_control_report *report, bc_error *error)
{
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_control_json(report, &text, error) : bc_report_control_text(report, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_control(report, &session->plot_options, &picture, error);
    return cli_write_results(session, status, &text, &picture, NULL, error);
}

/* Met: the last run is in no alarm. */
static bc_status chart(cli_session *session, bool *met, bc_error *error)
{
    bc_record_runs runs = {0};
    cli_control control = {0};
    unsigned long baseline = 0;
    bc_status status = cli_count(session->arguments, "baseline", BC_CONTROL_LEAST, 10000, &baseline, error);
    if (status == BC_OK)
        status = read_runs(session, &runs, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK && runs.count == 0)
        status = bc_fail(error, BC_ERROR_INPUT,
                         "found no run in the shop's record; expected those that 'inspect --record' puts there");
    if (status == BC_OK)
        status = cli_control_make(&runs, baseline, &control, error);
    if (status == BC_OK)
        status = write_charts(session, &control.report, error);
    *met = status != BC_OK || !bc_control_report_sounds(&control.report);
    cli_control_clear(&control);
    bc_record_runs_clear(&runs);
    return status;
}

/* Options of the one action given with the other. */
static bc_status refuse_others(const cli_arguments *arguments, bool charts, bc_error *error)
{
    static const char *const of_learn[] = {"next-process"}, *const of_chart[] = {"baseline", "plot"};
    const char *const *name = charts ? of_learn : of_chart;
    const size_t count = charts ? sizeof of_learn / sizeof *of_learn : sizeof of_chart / sizeof *of_chart;
    for (size_t i = 0; i < count; i++)
        if (cli_has_said(arguments, name[i]))
            return bc_fail(error, BC_ERROR_INPUT, "--%s: found with '%s'; expected with '%s'", name[i],
                           charts ? "chart" : "learn", charts ? "learn" : "chart");
    return BC_OK;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    char shown[BC_ESCAPED_SIZE];
    history h = {0};
    bc_status status;
    const bool charts = strcmp(arguments->operand, "chart") == 0;
    *met = true;
    if (!charts && strcmp(arguments->operand, "learn") != 0)
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected 'learn' or 'chart' after 'process'",
                       bc_escaped(arguments->operand, shown));
    status = refuse_others(arguments, charts, error);
    if (status != BC_OK || charts)
        return status == BC_OK ? chart(session, met, error) : status;
    status = read_history(session, &h, error);
    if (status == BC_OK)
        status = learn(session, &h, error);
    clear(&h);
    return status;
}

static const cli_option options[] = {
    {"stack", "FILE", false, "the design of the measured files (CSV)"},
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_PROCESS,
    {"next-process", "FILE", false,
     "of learn: write the process file with what was learned, its intervals in comments"},
    {"baseline", "N", false, "of chart: the lines come from the first N runs (default 20)"},
    CLI_OPTIONS_PLOT,
    {"uncertainty-percent", "U", false,
     "uncertainty of the measured values in percent, absolute and expanded as certificates give it (default 0)"},
    {"wavelength-uncertainty-nm", "NM", false, "of the spectrophotometer's wavelengths, expanded (default 0.3)"},
    {"scale-uncertainty-percent", "P", false,
     "of the scale of R, in percent of the value and expanded: the reference mirror's (default 0.5)"},
    {"coverage", "K", false, "the coverage factor they were expanded by (default 2)"},
    CLI_OPTIONS_MEASURED,
    {"back", "none|ground|uncoated|same|STACK", false,
     "the witness's second surface; none and ground: it is not seen (default none)"},
    CLI_OPTION_SUBSTRATE_MM,
    {"substrate", "NAME", false, "the substrate of the witness, in place of the one in the stack file"},
    {"fit-index", NULL, false, "also fit an offset of the index of each layer material"},
    CLI_OPTION_END,
};

const cli_command cli_process = {
    .name = "process",
    .operand = "ACTION...",
    .needs = "--shop DIR",
    .summary =
        "What the chamber really does: 'learn' takes every run of the shop's record, 'learn MEASURED...' measured "
        "files; 'chart' makes control charts of them.",
    .details =
        "Tooling factors, scatter within a run, between runs and between layers of one material, drift and index "
        "spread, each with its 95 % interval, and how many runs it takes to know it to 20 %. 'chart' raises an alarm "
        "where the share of the limit used, a callout or a tooling factor moves by more than chance would, and ends "
        "with 1 where the last run is in one.",
    .example = "process learn examples/history/run-*.txt --stack examples/window-stack.csv --process "
               "examples/process.csv --uncertainty-percent 0.05",
    .option = options,
    .run = run,
};
