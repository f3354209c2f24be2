/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "curved.h"
#include "design.h"
#include "page.h"
#include "plot.h"
#include "progress.h"
#include "proof.h"
#include "quote_write.h"
#include "recording.h"
#include "request.h"
#include "shop.h"
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What the quote needs besides the session. */
typedef struct papers {
    bc_design_problem problem;
    bc_medium *layers, *other_layer, *other_glass;
    bc_quote_request request;
    bc_standards standards;
    cli_proof wanted;
    bc_proof_options proof;
} papers;

static void papers_close(papers *p)
{
    free(p->layers);
    free(p->other_layer);
    free(p->other_glass);
    bc_standards_clear(&p->standards);
}

/* The words stand in the order of their enumerators. */
static bc_status read_choices(const cli_arguments *arguments, bc_quote_request *request, bc_error *error)
{
    static const char *const failed[] = {"strip", "scrap"}, *const preferred[] = {"hours", "yield", "layers"};
    size_t failed_part = 0, prefer = 0;
    bc_status status = cli_choice(arguments, "failed-part", 2, failed, &failed_part, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "prefer", 3, preferred, &prefer, error);
    if (status == BC_OK && cli_has(arguments, "one-run") && !cli_has(arguments, "both-sides"))
        status = bc_fail(error, BC_ERROR_INPUT, "--one-run: found without --both-sides; expected both, or neither");
    request->failed_part = (bc_failed_part)failed_part;
    request->prefer = (bc_prefer)prefer;
    return status;
}

static bc_status read_amounts(const cli_arguments *arguments, papers *p, bc_error *error)
{
    unsigned long quantity = 0, layers = 8, threads = 0;
    double yield_percent = 90.0, confidence_percent = 95.0;
    bc_quote_request *request = &p->request;
    bc_status status = cli_count(arguments, "quantity", 1, 1000000000UL, &quantity, error);
    if (status == BC_OK)
        status = cli_number(arguments, "part-diameter-mm", 0.01, 1e5, "a diameter in mm from 0.01 to 100000",
                            &request->part_diameter_mm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "yield-percent", 1.0, 100.0, "a share of the runs in percent, 1 to 100",
                            &yield_percent, error);
    if (status == BC_OK)
        status = cli_number(arguments, "confidence-percent", 1.0, 99.9999, "a confidence in percent, 1 to 99.9999",
                            &confidence_percent, error);
    if (status == BC_OK)
        status = read_choices(arguments, request, error);
    if (status == BC_OK)
        status = cli_number(arguments, "max-process-c", -50.0, 5000.0, "a temperature in degrees Celsius",
                            &request->max_process_c, error);
    if (status == BC_OK)
        status = cli_count(arguments, "max-layers", 1, 200, &layers, error);
    if (status == BC_OK)
        status = cli_count(arguments, "seed", 0, 4294967294UL, &request->seed, error);
    if (status == BC_OK)
        status = cli_number(arguments, "effort", 0.05, 1000.0, "a number from 0.05 to 1000", &request->effort, error);
    if (status == BC_OK)
        status = cli_count(arguments, "threads", 0, 1024, &threads, error);
    request->quantity = quantity;
    request->yield = yield_percent / 100.0;
    request->threads = threads;
    request->confidence = confidence_percent / 100.0;
    request->both_sides = cli_has(arguments, "both-sides");
    request->one_run = cli_has(arguments, "one-run");
    p->problem.max_layers = layers;
    return status;
}

static bc_status read_shop(cli_session *session, papers *p, bc_error *error)
{
    bc_status status = BC_OK;
    if (cli_has(session->arguments, "process")) {
        status = cli_read_process(session, error);
        p->request.process = &session->process;
    }
    if (status == BC_OK)
        status = cli_read_chamber(session, error);
    p->request.chamber = session->chamber_path == NULL ? NULL : &session->chamber;
    return status;
}

/* Air, or a cement between two glasses. */
static bc_status read_incident(cli_session *session, bc_medium *incident, bc_error *error)
{
    const char *name = cli_value(session->arguments, "incident");
    const bc_status status =
        bc_medium_find(session->materials, name == NULL ? "air" : name, "--incident", incident, error);
    return status == BC_OK && name != NULL ? cli_note_medium(session, incident, error) : status;
}

static bc_status read_problem(cli_session *session, papers *p, bc_error *error)
{
    bc_status status = cli_read_problem(session, NULL, &p->problem, error);
    if (status == BC_OK && session->zones > 0 && p->request.part_diameter_mm > 0.0 &&
        session->curved.clear_aperture_mm > p->request.part_diameter_mm)
        status = bc_fail(error, BC_ERROR_INPUT, "--clear-aperture-mm: found %g; expected no more than the part, %g mm",
                         session->curved.clear_aperture_mm, p->request.part_diameter_mm);
    if (status == BC_OK)
        status = cli_read_layers(session, NULL, &p->problem.materials, &p->layers, error);
    p->problem.material = p->layers;
    if (status == BC_OK)
        status = cli_proof_of_graded(&p->problem, &p->wanted, error);
    if (status == BC_OK)
        status = read_incident(session, &p->problem.incident, error);
    if (status == BC_OK && !cli_has(session->arguments, "minimum-nm"))
        p->problem.minimum_nm = cli_minimum_of(p->request.process, p->problem.materials, p->layers);
    return status;
}

/* What the shop makes already, of each coating the stack for the first substrate where it has one. */
static bc_status read_standards(cli_session *session, papers *p, bc_error *error)
{
    const bc_shop *shop = session->arguments->shop;
    bc_status status = BC_OK;
    p->request.search_too = cli_has(session->arguments, "search");
    if (shop == NULL || shop->standard == NULL)
        return BC_OK;
    status =
        bc_standards_read(shop->standard, NULL, p->problem.substrate[0].name, session->materials, &p->standards, error);
    for (size_t i = 0; status == BC_OK && i < p->standards.count; i++)
        for (size_t s = 0; status == BC_OK && s < p->standards.standard[i].stacks; s++)
            status = cli_grade_stack(session, &p->standards.standard[i].stack[s], error);
    for (size_t i = 0; status == BC_OK && i < p->standards.count; i++)
        for (size_t s = 0; status == BC_OK && s < p->standards.standard[i].stacks; s++)
            status = cli_note_input(session, p->standards.standard[i].path[s], error);
    p->request.standards = &p->standards;
    return status;
}

static bool is_among(const bc_medium *medium, size_t count, const bc_medium *list)
{
    for (size_t i = 0; i < count; i++)
        if (list[i].dispersion == medium->dispersion)
            return true;
    return false;
}

/* The layers that the process has a row for, beyond those asked for; without a process it is not known what is at hand.
 */
static bc_status find_other_layers(cli_session *session, papers *p, bc_error *error)
{
    bc_quote_request *request = &p->request;
    bc_status status = BC_OK;
    p->other_layer = calloc(session->process.rows + 1, sizeof *p->other_layer);
    if (p->other_layer == NULL)
        return bc_fail_memory(error);
    request->other_layer = p->other_layer;
    for (size_t i = 0; status == BC_OK && i < session->process.rows; i++) {
        bc_medium *medium = &p->other_layer[request->other_layers];
        if (strcmp(session->process.row[i].material, "*") == 0)
            continue;
        status = bc_medium_find(session->materials, session->process.row[i].material, NULL, medium, error);
        if (status == BC_OK)
            status = cli_grade_medium(session, medium, error);
        if (status == BC_OK && !is_among(medium, p->problem.materials, p->layers))
            request->other_layers++;
    }
    return status;
}

/* Optical glasses go by a six-digit code. A table that is wrong is no glass at hand; a disk that fails is an error. */
static bc_status find_other_glasses(cli_session *session, papers *p, bc_error *error)
{
    bc_quote_request *request = &p->request;
    const char *const *names;
    size_t count;
    bc_status status = bc_materials_list(session->materials, &count, &names, error);
    if (status != BC_OK)
        return status;
    p->other_glass = calloc(count + 1, sizeof *p->other_glass);
    if (p->other_glass == NULL)
        return bc_fail_memory(error);
    request->other_glass = p->other_glass;
    for (size_t i = 0; i < count; i++) {
        bc_medium *medium = &p->other_glass[request->other_glasses];
        if (strlen(names[i]) != 6 || strspn(names[i], "0123456789") != 6)
            continue;
        status = bc_medium_find(session->materials, names[i], NULL, medium, error);
        if (status != BC_OK && status != BC_ERROR_INPUT)
            return status;
        if (status == BC_OK && !is_among(medium, p->problem.substrates, p->problem.substrate))
            request->other_glasses++;
    }
    return BC_OK;
}

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

static bc_status work_out(cli_session *session, papers *p, bc_quote_result *result, bc_error *error)
{
    cli_progress progress;
    showing show = {.progress = &progress,
                    .json = session->json,
                    .report = {.check = {.curved = cli_curved(session)}, .request = &p->request, .result = result}};
    bc_status status;
    p->request.problem = &p->problem;
    p->request.progress = cli_progress_step;
    p->request.progress_context = &progress;
    if (cli_has(session->arguments, "as-found") && !session->quiet && !cli_rerunning()) {
        p->request.found = show_found;
        p->request.found_context = &show;
    }
    p->proof = cli_proof_options(&p->wanted, session, p->problem.max_layers, p->request.threads);
    p->wanted.quiet = true; /* the quote's own progress goes on */
    if (p->proof.layers > 0)
        p->request.proof = &p->proof;
    p->wanted.within = &progress;
    cli_interrupts_keep_best();
    cli_progress_start(&progress, session->quiet);
    progress.seconds = p->wanted.seconds;
    status = bc_quote(&p->request, result, error);
    cli_progress_end(&progress);
    p->request.found = NULL;
    p->request.progress = NULL;
    if (p->wanted.begun)
        cli_progress_end(&p->wanted.progress);
    return status;
}

/* One surface of a request, from its options to its result. */
typedef struct quoting {
    cli_arguments arguments;
    cli_session session;
    papers p;
    bc_quote_result result;
} quoting;

static bc_status read_surface(quoting *one, const cli_arguments *base, const bc_request *request, size_t surface,
                              bc_error *error)
{
    bc_page_reference reference;
    cli_session *session = &one->session;
    bc_status status = cli_request_arguments(base, request, surface, &one->arguments, error);
    one->p.request = (bc_quote_request){.seed = 1, .effort = 1.0, .max_process_c = INFINITY};
    if (status == BC_OK)
        status = cli_session_open(session, &one->arguments, error);
    session->request = request->path == NULL ? NULL : request;
    session->surface = surface;
    if (status == BC_OK)
        status = cli_note_input(session, request->path, error);
    if (status == BC_OK)
        status = read_amounts(&one->arguments, &one->p, error);
    if (status == BC_OK)
        status = cli_read_quote_reference(&one->arguments, &reference, error);
    if (status == BC_OK)
        status = cli_read_proof(&one->arguments, 4, &one->p.wanted, error);
    if (status == BC_OK)
        status = read_shop(session, &one->p, error);
    if (status == BC_OK)
        status = read_problem(session, &one->p, error);
    if (status == BC_OK)
        status = read_standards(session, &one->p, error);
    if (status == BC_OK)
        status = find_other_layers(session, &one->p, error);
    if (status == BC_OK)
        status = find_other_glasses(session, &one->p, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    return cli_blame_request(session, status, error);
}

static void close_surface(quoting *one)
{
    bc_quote_result_clear(&one->result);
    papers_close(&one->p);
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
                                             .back = &one->p.problem.back,
                                             .back_assumed = session->back_assumed,
                                             .curved = cli_curved(session),
                                             .zones = session->zones},
                                   .process_path = session->process_path,
                                   .chamber_path = session->chamber_path,
                                   .request = &one->p.request,
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
        status = work_out(&all[s].session, &all[s].p, &all[s].result, error);
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
