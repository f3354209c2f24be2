/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "inspection.h"
#include "output.h"
#include "page.h"
#include "plot.h"
#include "progress.h"
#include "recording.h"
#include "run_record.h"
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bc_status check_next(const cli_session *session, cli_inspection *all, bc_error *error)
{
    static const char *const name[] = {"next-stack", "next-process"};
    all->next_stack = cli_value(session->arguments, name[0]);
    all->next_process = cli_value(session->arguments, name[1]);
    if (all->next_process != NULL && all->setup.process == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--next-process: found no --process; expected the process file whose tooling is corrected");
    if (all->witnesses.count > 1 && all->next_stack != NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--next-stack: found %zu measured files; expected one, whose run the next one is corrected by "
                       "(--next-process takes several)",
                       all->witnesses.count);
    return BC_OK;
}

/* A report to send out certifies something, and a value without uncertainty certifies nothing. */
static bc_status check_certificate(const cli_session *session, const cli_inspection *all, bc_error *error)
{
    bool given = all->setup.uncertainty > 0.0;
    for (size_t i = 0; i < all->witnesses.count; i++)
        given =
            given || all->witnesses.witness[i].R.uncertainty != NULL || all->witnesses.witness[i].T.uncertainty != NULL;
    if (given || !cli_has(session->arguments, "report"))
        return BC_OK;
    return bc_fail(
        error, BC_ERROR_INPUT,
        "--report: found no uncertainty of the measurement, without which it would certify nothing; expected "
        "--uncertainty-percent above 0, or --uncertainty-column");
}

/* The files for the next run. */
static bc_status make_next(const cli_inspection *all, bc_text *stack, bc_text *process, bc_error *error)
{
    bc_status status = BC_OK;
    if (all->next_stack != NULL)
        status = bc_report_stack_csv(&all->result.next_stack,
                                     "bloomcoat inspect: thicknesses to program, corrected by a measured "
                                     "witness.\nFor the tooling as it was: use this stack or a corrected tooling, not "
                                     "both.",
                                     stack, error);
    if (status == BC_OK && all->next_process != NULL && all->witnesses.count > 1)
        return bc_report_runs_csv(&all->runs, process, error);
    if (status == BC_OK && all->next_process != NULL)
        status = bc_report_process_csv(&all->result.next_process,
                                       "bloomcoat inspect: the process with tooling corrected by a measured witness. "
                                       "For the stack as designed.",
                                       process, error);
    return status;
}

static bc_status write_page(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                            bc_text *out, bc_error *error)
{
    (void)curves;
    return bc_page_inspect(report, options, out, error);
}

static bc_status write_certificate(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                                   bc_text *out, bc_error *error)
{
    (void)curves;
    return bc_page_certificate(report, options, out, error);
}

static bc_status read_plan(const cli_arguments *arguments, cli_inspection *all, bc_error *error)
{
    double percent = 0.0;
    bc_error inner = {0};
    bc_status status;
    all->has_plan = cli_has(arguments, "plan");
    if (!all->has_plan)
        return BC_OK;
    if (all->reference.lot_size == 0)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--plan: found no --lot-size; expected the parts of the lot that are to be sampled");
    status = cli_number(arguments, "plan", 0.0, 100.0, "an acceptance quality limit in percent", &percent, error);
    if (status != BC_OK)
        return status;
    status = bc_acceptance_plan_for(all->reference.lot_size, percent, &all->plan, &inner);
    return status == BC_OK ? BC_OK : bc_fail(error, status, "--plan: %s", inner.message);
}

static bc_status read_reference(const cli_arguments *arguments, bc_page_reference *reference, bc_error *error)
{
    *reference = (bc_page_reference){.number = cli_value(arguments, "certificate-number"),
                                     .quote_number = cli_value(arguments, "quote-number"),
                                     .order_number = cli_value(arguments, "order-number"),
                                     .instrument = cli_value(arguments, "instrument"),
                                     .conditions = cli_value(arguments, "conditions"),
                                     .foot = cli_value(arguments, "page-foot")};
    return cli_count(arguments, "lot-size", 1, 1000000000UL, &reference->lot_size, error);
}

/* The certificate, and the report for the house; the measured files stand first among what that rests on. */
static bc_status make_pages(const cli_session *session, const cli_inspection *all, const bc_inspect_report *report,
                            cli_pages *pages, bc_error *error)
{
    const size_t count = all->witnesses.count;
    bc_page_input *input = calloc(count, sizeof *input);
    const cli_page_work work = {.write = write_certificate,
                                .write_internal = write_page,
                                .report = report,
                                .reference = &all->reference,
                                .internal_only = !bc_page_certifies(report),
                                .inputs = count,
                                .input = input};
    bc_status status;
    if (input == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < count; i++) {
        const cli_witness *witness = &all->witnesses.witness[i];
        input[i] = (bc_page_input){"measured", witness->path, (witness->has_R ? &witness->R : &witness->T)->sha256};
    }
    status = cli_make_pages(session, &work, pages, error);
    if (status == BC_OK && work.internal_only && cli_has(session->arguments, "report"))
        cli_note(session, "no certificate was written: an undecided verdict certifies nothing");
    free(input);
    return status;
}

static bc_status write_results(cli_session *session, cli_inspection *all, bc_error *error)
{
    const bool single = all->witnesses.count == 1;
    const bool wanted = all->next_stack != NULL || all->next_process != NULL;
    const bool next = wanted && (single ? all->result.good_fit : all->runs.materials > 0);
    const cli_reference *reference = &all->witnesses.reference;
    const bc_inspect_report report = {.stack_path = session->stack_path,
                                      .callouts_path = session->callouts_path,
                                      .process_path = session->process_path,
                                      .setup = &all->setup,
                                      .aoi_stated = all->witnesses.aoi_known.stated,
                                      .polarization_stated = all->witnesses.polarization_known.stated,
                                      .aoi_line = all->witnesses.aoi_known.line,
                                      .polarization_line = all->witnesses.polarization_known.line,
                                      .witnesses = all->witnesses.count,
                                      .source = all->source,
                                      .result = single ? &all->result : all->lot.witness,
                                      .lot = single ? NULL : &all->lot,
                                      .runs = single || !wanted ? NULL : &all->runs,
                                      .correction = reference->given ? &reference->correction : NULL,
                                      .bare_path = reference->has_bare ? reference->name[2] : NULL,
                                      .bare = reference->has_bare ? &reference->check : NULL,
                                      .copies = all->copies,
                                      .copy = all->copy,
                                      .next_stack_path = next ? all->next_stack : NULL,
                                      .next_process_path = next ? all->next_process : NULL,
                                      .plan = all->has_plan ? &all->plan : NULL,
                                      .next_refused = wanted && !next,
                                      .color = cli_is_standard_output(session->output) && cli_color(STDOUT_FILENO)};
    bc_text text = {0}, stack = {0}, process = {0}, picture = {0};
    cli_pages pages = {0};
    bc_status status =
        session->json ? bc_report_inspect_json(&report, &text, error) : bc_report_inspect_text(&report, &text, error);
    if (status == BC_OK && next)
        status = make_next(all, &stack, &process, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_inspect(&report, &session->plot_options, &picture, error);
    if (status == BC_OK)
        status = make_pages(session, all, &report, &pages, error);
    if (status == BC_OK)
        status = cli_write_plot(session, &picture, error);
    if (status == BC_OK)
        status = cli_write_pages(&pages, error);
    if (status == BC_OK && stack.data != NULL)
        status = cli_output_write(all->next_stack, &stack, error);
    if (status == BC_OK && process.data != NULL)
        status = cli_output_write(all->next_process, &process, error);
    if (status == BC_OK && wanted && !next)
        cli_note(session,
                 single
                     ? "nothing was written for the next run: the fit does not explain the scan"
                     : "nothing was written for the next run: fewer than two runs fit with the layers of the design");
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    bc_text_clear(&stack);
    bc_text_clear(&process);
    bc_text_clear(&picture);
    cli_pages_clear(&pages);
    return status;
}

static bc_status record_run(bc_record *record, const cli_inspection *all, size_t which, bc_error *error)
{
    bc_record_runs one = {.count = 1, .run = calloc(1, sizeof *one.run)};
    bc_status status =
        one.run == NULL ? bc_fail_memory(error) : cli_inspection_describe(all, which, &one.run[0], error);
    if (status == BC_OK)
        status = bc_record_add_run(record, &one.run[0], error);
    one.count = one.run == NULL ? 0 : 1;
    bc_record_runs_clear(&one);
    return status;
}

static bc_status record(const cli_session *session, const cli_inspection *all, bc_error *error)
{
    static const char *const word[] = {[BC_ACCEPT] = "accept", [BC_REJECT] = "reject", [BC_UNDECIDED] = "undecided"};
    const bc_stack *design = &session->stack;
    bc_status status = cli_recording_begin(
        session, BC_RECORD_INSPECTION, word[all->witnesses.count == 1 ? all->result.verdict : all->lot.verdict], error);
    bc_record *to = cli_recording_record();
    for (size_t i = 0; status == BC_OK && to != NULL && i < design->layers; i++)
        status = bc_record_add_layer(to,
                                     &(bc_record_layer){1, bc_layer_number(design->layers, i),
                                                        design->layer[i].material.name, design->layer[i].thickness_nm},
                                     error);
    for (size_t i = 0; status == BC_OK && to != NULL && i < all->witnesses.count; i++)
        status = record_run(to, all, i, error);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    cli_inspection all = {0};
    bc_status status = cli_inspection_read(session, &all, error);
    if (status == BC_OK)
        status = check_next(session, &all, error);
    if (status == BC_OK)
        status = check_certificate(session, &all, error);
    if (status == BC_OK)
        status = read_reference(session->arguments, &all.reference, error);
    if (status == BC_OK)
        status = read_plan(session->arguments, &all, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = cli_inspection_drop_copies(&all, error);
    if (status == BC_OK)
        status = cli_inspection_compute(&all, session->quiet, error);
    if (status == BC_OK)
        status = record(session, &all, error);
    if (status == BC_OK)
        status = write_results(session, &all, error);
    *met = (all.witnesses.count == 1 ? all.result.verdict : all.lot.verdict) == BC_ACCEPT;
    cli_inspection_clear(&all);
    return status;
}

static const cli_option options_table[] = {
    {"stack", "FILE", false, "the design (CSV)"},
    CLI_OPTION_CALLOUTS,
    {"uncertainty-percent", "U", false,
     "uncertainty of the measured values in percent, absolute (0.1: a value of 0.50 is 0.40 to 0.60) and expanded as "
     "certificates give it (default 0)"},
    {"wavelength-uncertainty-nm", "NM", false, "of the spectrophotometer's wavelengths, expanded (default 0.3)"},
    {"scale-uncertainty-percent", "P", false,
     "of the scale of R, in percent of the value and expanded: the reference mirror's (default 0.5)"},
    {"coverage", "K", false, "the coverage factor they were expanded by (default 2)"},
    {"confidence-percent", "P", false, "accept when the limit is met with this probability (default 95)"},
    CLI_OPTIONS_MEASURED,
    {"back", "none|ground|uncoated|same|STACK", false,
     "the witness's second surface; none and ground: it is not seen (default none)"},
    CLI_OPTION_SUBSTRATE_MM,
    {"substrate", "NAME", false, "the substrate of the witness, in place of the one in the stack file"},
    CLI_OPTION_PROCESS,
    CLI_OPTION_AT_HAND,
    {"judge", "curve|points", false,
     "max and min on the smooth curve through the noise (default), or on each measured point: a narrow line then "
     "counts"},
    {"fit-index", NULL, false, "also fit an offset of the index of each layer material"},
    {"from-fit", NULL, false,
     "judge what was not measured (another angle, T, the part) on the stack fitted to what was"},
    {"next-process", "FILE", false,
     "write the process file with tooling corrected for the next run, and scatter where several runs show it; needs "
     "--process"},
    {"next-stack", "FILE", false, "write a stack corrected for the errors of this run, for unchanged tooling factors"},
    CLI_OPTIONS_CUSTOMER_PAGE("a certificate"),
    {"certificate-number", "TEXT", false, "number of the certificate"},
    {"quote-number", "TEXT", false, "of the quote that the certificate refers to"},
    {"order-number", "TEXT", false, "of the order that it refers to"},
    {"lot-size", "N", false, "parts in the lot that it is for"},
    {"plan", "AQL", false,
     "say how many parts of the lot (--lot-size) to measure and how many may fail: single sampling of ISO 2859-1, "
     "normal inspection, level II, at an acceptance quality limit of 0.10 to 4.0 percent"},
    {"instrument", "TEXT", false, "what was measured with"},
    {"conditions", "TEXT", false, "the circumstances of the measurement: temperature, spot, accessory"},
    CLI_OPTIONS_PLOT,
    CLI_OPTION_RECORD,
    CLI_OPTION_END,
};

const cli_command cli_inspect = {
    .name = "inspect",
    .operand = "MEASURED...",
    .needs = "--stack FILE --callouts FILE",
    .summary = "Accepts or rejects a measured witness or part, and diagnoses the run.",
    .details = "MEASURED is a file as exported by a spectrophotometer. Where it is ambiguous, an option must say what "
               "is meant. "
               "Several files are the witnesses of one lot, in the order of their runs. Exit 0 accepts; what is "
               "rejected or undecided ends with 1. The picture has the measured curve with its uncertainty, design and "
               "fitted stack, and beneath what they differ by.",
    .example = "inspect examples/window-witness-8.txt --column 2 --stack examples/window-stack.csv --callouts "
               "examples/window-callouts.csv --aoi 8 --uncertainty-percent 0.05 --from-fit",
    .option = options_table,
    .run = run,
};
