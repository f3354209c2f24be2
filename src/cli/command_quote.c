/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "curved.h"
#include "page.h"
#include "plot.h"
#include "progress.h"
#include "quote_read.h"
#include "quote_write.h"
#include "recording.h"
#include "request.h"
#include "shop.h"
#include <stdlib.h>

/* What is found while the search goes on, for standard error. */
typedef struct showing {
    cli_progress *progress;
    bool json, begun;
    bc_quote_report report;
} showing;

static void show_found(void *context, const bc_quote_found *found)
{
    showing *show = context;
    bc_text text = {0};
    bc_status status;
    if (!show->json && !show->begun)
        cli_progress_say(show->progress, "Found while the search goes on:\n");
    show->begun = true;
    status = show->json ? bc_report_found_json(&show->report, found, &text, NULL)
                        : bc_report_found_text(&show->report, found, &text, NULL);
    if (status == BC_OK)
        cli_progress_say(show->progress, text.data);
    bc_text_clear(&text);
}

static bc_status work_out(cli_session *session, cli_quote_inputs *inputs, bc_quote_result *result, bc_error *error)
{
    cli_progress progress;
    showing show = {
        .progress = &progress,
        .json = session->json,
        .report = {.check = {.curved = cli_curved(session)}, .request = &inputs->request, .result = result}};
    bc_status status;
    inputs->request.progress = cli_progress_step;
    inputs->request.progress_context = &progress;
    if (cli_has(session->arguments, "as-found") && !session->quiet && !cli_rerunning()) {
        inputs->request.found = show_found;
        inputs->request.found_context = &show;
    }
    inputs->proof = cli_proof_options(&inputs->wanted, session, inputs->problem.max_layers, inputs->request.threads);
    inputs->wanted.quiet = true; /* the quote's own progress goes on */
    if (inputs->proof.layers > 0)
        inputs->request.proof = &inputs->proof;
    inputs->wanted.within = &progress;
    cli_interrupts_keep_best();
    cli_progress_start(&progress, session->quiet);
    progress.seconds = inputs->wanted.seconds;
    status = bc_quote(&inputs->request, result, error);
    cli_progress_end(&progress);
    inputs->request.found = NULL;
    inputs->request.progress = NULL;
    if (inputs->wanted.begun)
        cli_progress_end(&inputs->wanted.progress);
    return status;
}

/* One surface of a request, from its options to its result. */
typedef struct quoting {
    cli_arguments arguments;
    cli_session session;
    cli_quote_inputs inputs;
    bc_quote_result result;
} quoting;

static bc_status read_surface(quoting *one, const cli_arguments *base, const bc_request *request, size_t surface,
                              bc_error *error)
{
    cli_session *session = &one->session;
    bc_status status = cli_request_arguments(base, request, surface, &one->arguments, error);
    if (status == BC_OK)
        status = cli_session_open(session, &one->arguments, error);
    session->request = request->path == NULL ? NULL : request;
    session->surface = surface;
    if (status == BC_OK)
        status = cli_note_input(session, request->path, error);
    if (status == BC_OK)
        status = cli_read_quote_inputs(session, &one->inputs, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    return cli_blame_request(session, status, error);
}

static void close_surface(quoting *one)
{
    bc_quote_result_clear(&one->result);
    cli_quote_inputs_clear(&one->inputs);
    cli_session_close(&one->session);
    free(one->arguments.given);
}

static cli_quoted quoted_of(const quoting *one)
{
    const cli_session *session = &one->session;
    return (cli_quoted){.name = cli_request_surface(session->request, session->surface),
                        .session = session,
                        .report = {.check = {.callouts_path = session->callouts_path,
                                             .stack = &one->result.option[one->result.recommended].stack,
                                             .result = &one->result.check,
                                             .back = &one->inputs.problem.back,
                                             .back_assumed = session->back_assumed,
                                             .curved = cli_curved(session),
                                             .zones = session->zones},
                                   .process_path = session->process_path,
                                   .chamber_path = session->chamber_path,
                                   .request = &one->inputs.request,
                                   .result = &one->result}};
}

/* All is read before anything is computed. */
static bc_status quote_all(size_t count, quoting *all, const cli_arguments *base, const bc_request *request, bool *met,
                           bc_error *error)
{
    cli_quoted quoted[BC_REQUEST_SURFACES];
    char number[CLI_QUOTE_NUMBER_SIZE];
    bc_status status = BC_OK;
    for (size_t s = 0; status == BC_OK && s < count; s++)
        status = read_surface(&all[s], base, request, request->surfaces == 0 ? 0 : s + 1, error);
    if (status == BC_OK)
        status = cli_take_quote_number(&all[0].arguments, number, error);
    if (status == BC_OK && number[0] != '\0')
        cli_note(&all[0].session, "quote number %s", number);
    for (size_t s = 0; status == BC_OK && s < count; s++)
        status = work_out(&all[s].session, &all[s].inputs, &all[s].result, error);
    *met = status == BC_OK;
    for (size_t s = 0; status == BC_OK && s < count; s++) {
        quoted[s] = quoted_of(&all[s]);
        *met = *met && all[s].result.verdict == BC_FEASIBLE;
    }
    if (status == BC_OK)
        status = cli_record_quotes(count, quoted, error);
    return status == BC_OK ? cli_write_quotes(count, quoted, error) : status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_request request = {0};
    quoting *all = NULL;
    size_t count;
    bc_status status = arguments->operand == NULL ? BC_OK : bc_request_read(arguments->operand, &request, error);
    count = request.surfaces == 0 ? 1 : request.surfaces;
    if (status == BC_OK) {
        all = calloc(count, sizeof *all);
        status = all == NULL ? bc_fail_memory(error) : quote_all(count, all, arguments, &request, met, error);
    }
    for (size_t s = 0; all != NULL && s < count; s++)
        close_surface(&all[s]);
    free(all);
    bc_request_clear(&request);
    return status;
}

static const cli_option options_table[] = {
    CLI_OPTION_CALLOUTS,
    CLI_OPTION_SUBSTRATE("given several times, one recipe must meet the callouts on each"),
    {"materials", "A,B,..", true, "layer materials, names or constant indices (default: those of the process)"},
    {"incident", "NAME", false, "the incident medium (default air)"},
    {"process", "FILE", false,
     "rates, tooling factors and errors of the chamber (CSV); without it yields and hours are not known. The layers it "
     "has rows for are "
     "those "
     "at hand"},
    {"chamber", "FILE", false, "how many parts a load takes, and the steps around the layers (CSV)"},
    {"quantity", "N", false, "parts to be coated"},
    {"part-diameter-mm", "D", false, "of one part, as it is loaded"},
    {"both-sides", NULL, false, "both faces are coated, each in a run of its own"},
    {"one-run", NULL, false, "with --both-sides: both faces in the same run, with the same errors"},
    {"failed-part", "strip|scrap", false,
     "parts of a failed run are stripped and coated again (the default), or lost: then blanks are counted"},
    {"confidence-percent", "C", false, "that the loads and blanks suffice (default 95)"},
    {"prefer", "hours|yield|layers", false,
     "which to recommend of several options that meet the callouts: the fewest expected hours (the default), the "
     "highest yield, the fewest layers"},
    {"yield-percent", "Y", false, "the share of runs that must meet the callouts (default 90)"},
    {"max-process-c", "T", false,
     "highest temperature the part withstands, in degrees Celsius; materials that need more are refused (default: what "
     "the substrate's table says)"},
    {"search", NULL, false, "look for other coatings even where a standard coating of the shop does"},
    {"as-found", NULL, false,
     "while it searches, write options and counteroffers to standard error as they are found (with --json a line of "
     "JSON each)"},
    {"max-layers", "N", false, "largest number of layers, 1 to 200 (default 8)"},
    {"minimum-nm", "NM", false,
     "thinnest layer allowed, in nm (default: the largest minimum_nm that the process gives for these layers, else 8)"},
    CLI_OPTION_MAX_TOTAL_NM,
    {"seed", "N", false, "of the runs that verify an exception, and of searches beyond effort 1 (default 1)"},
    {"effort", "X", false,
     "how long to search: 4 is about four times as long and looks at more exceptions (default 1)"},
    {"threads", "N", false, "0 for as many as the machine has; the result does not depend on it (default 0)"},
    CLI_OPTIONS_PROOF,
    CLI_OPTION_PART_BACK,
    CLI_OPTION_SUBSTRATE_MM,
    CLI_OPTIONS_CURVED,
    {"save", "FILE", false, "write the request as a file that quote reads: NAME.request.csv"},
    {"price-csv", "FILE", false,
     "write what a spreadsheet needs to price it: loads, expected hours with the runs that fail, blanks, and nm of "
     "each "
     "material per load, a row per option"},
    CLI_OPTIONS_CUSTOMER_PAGE("a quote"),
    {"quote-number", "TEXT", false,
     "number of the quote, for the customer's page (default: the next of the shop that numbers its quotes)"},
    {"request-number", "TEXT", false, "number of the customer's request, for the same page"},
    {"validity-days", "N", false, "days the quote is valid, 1 to 3650; for the same page"},
    CLI_OPTIONS_TITLES,
    CLI_OPTION_RECORD,
    CLI_OPTION_END,
};

const cli_command cli_quote = {
    .name = "quote",
    .operand = "[REQUEST]",
    .needs = "--callouts FILE --substrate NAME [--materials A,B,..]",
    .summary =
        "Says whether a callout is feasible, with which coating, in how many hours, and which exceptions would help.",
    .details =
        "REQUEST is a file that --save writes: options and callouts of one surface or of several. An interrupt ends "
        "the search with the best so far, a second one at once. Exit 0 says feasible; 1 says marginal (met on "
        "paper, but fewer runs than asked succeed) or not feasible.",
    .example = "quote --callouts examples/window-callouts.csv --substrate 517642 --materials MgF2,HfO2,Al2O3 "
               "--process examples/process.csv --chamber examples/chamber.csv --quantity 200 --part-diameter-mm 60 "
               "--max-layers 3",
    .option = options_table,
    .run = run,
};
