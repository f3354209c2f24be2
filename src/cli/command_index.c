/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "output.h"
#include "plot.h"
#include "recording.h"
#include "witness.h"
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_PIECES 40

typedef struct job {
    bc_layer_index_setup setup;
    cli_witnesses *read; /* [operands] of one file each */
    bc_layer_scan *scan;
    const char **path;
    double thickness_nm[MOST_PIECES];
    bc_layer_index_result result;
} job;

static void clear(const cli_session *session, job *all)
{
    for (size_t i = 0; all->read != NULL && i < session->arguments->operands; i++)
        cli_witnesses_clear(&all->read[i]);
    free(all->read);
    free(all->scan);
    free(all->path);
    bc_layer_index_result_clear(&all->result);
}

/* Options that may be given once for all scans or once for each. */
static bool is_per_scan(const char *name)
{
    static const char *const names[] = {"quantity", "aoi", "polarization", "substrate", "piece"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(names[i], name) == 0)
            return true;
    return false;
}

static bc_status check_per_scan(const cli_arguments *arguments, bc_error *error)
{
    for (size_t i = 0; i < arguments->count; i++) {
        const char *name = arguments->given[i].option->name;
        size_t times = 0;
        while (cli_value_at(arguments, name, times) != NULL)
            times++;
        if (is_per_scan(name) && times != 1 && times != arguments->operands)
            return bc_fail(error, BC_ERROR_INPUT,
                           "--%s: found %zu of them and %zu scans; expected one for all, or one for each", name, times,
                           arguments->operands);
    }
    return BC_OK;
}

static const char *value_of(const cli_arguments *arguments, const char *name, size_t scan)
{
    const char *own = cli_value_at(arguments, name, scan);
    return own == NULL ? cli_value(arguments, name) : own;
}

/* What the command line would be if it had this scan alone. */
static bc_status read_one(cli_session *session, size_t which, double coverage, cli_witnesses *read, bc_error *error)
{
    const cli_arguments *all = session->arguments;
    cli_arguments one = *all;
    bc_status status;
    one.given = malloc((all->count + 1) * sizeof *one.given);
    if (one.given == NULL)
        return bc_fail_memory(error);
    one.count = 0;
    one.operands = 1;
    one.operand = all->all_operands[which];
    one.all_operands = all->all_operands + which;
    for (size_t i = 0; i < all->count; i++)
        if (!is_per_scan(all->given[i].option->name) ||
            all->given[i].value == value_of(all, all->given[i].option->name, which))
            one.given[one.count++] = all->given[i];
    session->arguments = &one;
    status = cli_read_witnesses(session, NULL, coverage, read, error);
    session->arguments = all;
    free(one.given);
    return status;
}

static bc_status read_thicknesses(const cli_arguments *arguments, job *all, bc_error *error)
{
    const char *text;
    while ((text = cli_value_at(arguments, "layer-nm", all->setup.pieces)) != NULL) {
        bc_status status;
        if (all->setup.pieces == MOST_PIECES)
            return bc_fail(error, BC_ERROR_INPUT, "--layer-nm: found more than %d; expected one for each piece",
                           MOST_PIECES);
        status = cli_parse_number("layer-nm", text, 1.0, 1e6, "a rough thickness in nm, from 1 to 1000000",
                                  &all->thickness_nm[all->setup.pieces++], error);
        if (status != BC_OK)
            return status;
    }
    if (all->setup.pieces > 0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "index needs --layer-nm, a approximate thickness of the layer in nm");
}

static bc_status read_piece(const cli_arguments *arguments, size_t which, const job *all, size_t *piece,
                            bc_error *error)
{
    const char *text = value_of(arguments, "piece", which);
    double number = 1.0;
    bc_status status = BC_OK;
    if (text != NULL)
        status = cli_parse_number("piece", text, 1.0, (double)all->setup.pieces,
                                  "the number of a piece, as many as --layer-nm has", &number, error);
    else if (all->setup.pieces == arguments->operands)
        number = (double)which + 1.0;
    else if (all->setup.pieces > 1)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--layer-nm: found %zu of them and %zu scans; expected one for the only piece, one for each "
                       "scan, or --piece for each scan",
                       all->setup.pieces, arguments->operands);
    if (status == BC_OK && floor(number) != number)
        return cli_fail_value(error, "piece", text, "", "a whole number");
    *piece = (size_t)number - 1;
    return status;
}

static bc_status read_back(const cli_session *session, bc_layer_scan *scan, bc_error *error)
{
    static const char *const backs[] = {"none", "ground", "uncoated"};
    size_t back = 0;
    bc_status status = cli_choice(session->arguments, "back", 3, backs, &back, error);
    if (status == BC_OK)
        status = cli_number(session->arguments, "substrate-mm", 0.0, 1e4, "a thickness in mm, from 0 to 10000",
                            &scan->substrate_mm, error);
    scan->back = back == 2 ? BC_BACK_UNCOATED : BC_BACK_NONE;
    if (status == BC_OK && scan->back == BC_BACK_UNCOATED)
        status = cli_need_thickness(session, &scan->substrate, scan->measurement->wavelength_nm[0],
                                    scan->measurement->wavelength_nm[scan->measurement->count - 1], error);
    return status;
}

static bc_status read_scan(cli_session *session, size_t which, job *all, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_layer_scan *scan = &all->scan[which];
    bc_status status = read_one(session, which, all->setup.coverage_factor, &all->read[which], error);
    const char *substrate = value_of(arguments, "substrate", which);
    if (status == BC_OK && substrate == NULL)
        status = bc_fail(error, BC_ERROR_INPUT, "index needs --substrate, what the layer was coated on");
    if (status == BC_OK)
        status = bc_medium_find(session->materials, substrate, "--substrate", &scan->substrate, error);
    if (status == BC_OK)
        status = cli_note_medium(session, &scan->substrate, error);
    if (status == BC_OK)
        status = bc_medium_find(session->materials, "air", "the incident medium", &scan->incident, error);
    if (status != BC_OK)
        return status;
    all->path[which] = arguments->all_operands[which];
    scan->measurement = &all->read[which].witness[0].measurement;
    scan->aoi_rad = all->read[which].aoi_deg * (M_PI / 180.0);
    scan->polarization = all->read[which].polarization;
    status = read_piece(arguments, which, all, &scan->piece, error);
    return status == BC_OK ? read_back(session, scan, error) : status;
}

static bc_status read_uncertainties(const cli_arguments *arguments, bc_layer_index_setup *setup, bc_error *error)
{
    cli_uncertainties read;
    const bc_status status = cli_read_uncertainties(arguments, &read, error);
    setup->uncertainty = read.absolute;
    setup->wavelength_uncertainty_nm = read.wavelength_nm;
    setup->scale_uncertainty = read.scale;
    setup->coverage_factor = read.coverage_factor;
    return status;
}

static bc_status read_inputs(cli_session *session, job *all, bc_error *error)
{
    const size_t scans = session->arguments->operands;
    bc_status status = check_per_scan(session->arguments, error);
    all->read = calloc(scans, sizeof *all->read);
    all->scan = calloc(scans, sizeof *all->scan);
    all->path = calloc(scans, sizeof *all->path);
    if (status == BC_OK && (all->read == NULL || all->scan == NULL || all->path == NULL))
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = read_uncertainties(session->arguments, &all->setup, error);
    if (status == BC_OK)
        status = read_thicknesses(session->arguments, all, error);
    for (size_t i = 0; status == BC_OK && i < scans; i++)
        status = read_scan(session, i, all, error);
    all->setup.scans = scans;
    all->setup.scan = all->scan;
    all->setup.thickness_nm = all->thickness_nm;
    return status;
}

static bc_status write_results(cli_session *session, const job *all, bc_error *error)
{
    const bc_layer_index_report report = {.setup = &all->setup, .result = &all->result, .path = all->path};
    const char *table_path = cli_value(session->arguments, "table");
    bc_text text = {0}, table = {0}, picture = {0};
    bc_status status = session->json ? bc_report_layer_index_json(&report, &text, error)
                                     : bc_report_layer_index_text(&report, &text, error);
    if (status == BC_OK && table_path != NULL)
        status = bc_report_layer_index_table(&report, &table, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_layer_index(&report, &session->plot_options, &picture, error);
    if (status == BC_OK)
        status = cli_write_plot(session, &picture, error);
    if (status == BC_OK && table_path != NULL)
        status = cli_output_write(table_path, &table, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    bc_text_clear(&table);
    bc_text_clear(&picture);
    return status;
}

static bc_status record(const cli_session *session, const bc_layer_index_result *result, bc_error *error)
{
    bc_status status = cli_recording_begin(session, BC_RECORD_INDEX, "fitted", error);
    for (size_t i = 0; status == BC_OK && cli_recording_record() != NULL && i < result->pieces; i++)
        status = bc_record_add_index(cli_recording_record(),
                                     &(bc_record_index){i + 1, result->thickness_nm[i], result->thickness_sigma_nm[i]},
                                     error);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    job all = {0};
    bc_status status = read_inputs(session, &all, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = bc_index_from_scans(&all.setup, &all.result, error);
    if (status == BC_OK)
        status = record(session, &all.result, error);
    if (status == BC_OK)
        status = write_results(session, &all, error);
    *met = true;
    clear(session, &all);
    return status;
}

static const cli_option options[] = {
    {"layer-nm", "NM", true, "approximate thickness of the layer in nm; several: of each piece"},
    {"substrate", "NAME", true, "what the layer was coated on; one for all scans or one for each"},
    {"piece", "N", true, "which piece each scan is of, where there are several thicknesses"},
    {"quantity", "R|T", true, "what was measured, where the header does not say; one for all scans or one for each"},
    {"aoi", "DEG", true,
     "angle of incidence in degrees (default: what the file says, else 0); one for all scans or one for each"},
    {"polarization", "unpolarized|s|p", true,
     "of the measurement (default: what the file says, else unpolarized); one for all scans or one for each"},
    {"back", "none|ground|uncoated", false, "the second surface; none and ground: it is not seen (default none)"},
    CLI_OPTION_SUBSTRATE_MM,
    {"uncertainty-percent", "U", false,
     "uncertainty of the measured values in percent, absolute and expanded as certificates give it (default 0)"},
    {"wavelength-uncertainty-nm", "NM", false, "of the spectrophotometer's wavelengths, expanded (default 0.3)"},
    {"scale-uncertainty-percent", "P", false,
     "of the scale of R, in percent of the value and expanded: the reference mirror's (default 0.5)"},
    {"coverage", "K", false, "the coverage factor of all uncertainties (default 2)"},
    {"column", "NAME", true,
     "the column of values by its header or its number; given several times: repeats, which are averaged"},
    {"t-column", "NAME", false, "a column with T of the same scan beside R"},
    {"uncertainty-column", "NAME", false,
     "a column with an expanded uncertainty of each value (--coverage), in the unit of the values"},
    {"unit", "percent|fraction", false, "of the values, where the file leaves it open"},
    {"wavelength-unit", "nm|um", false, "where the file leaves it open"},
    {"decimal", "point|comma", false, "where the file leaves it open"},
    {"separator", "comma|semicolon|tab|space", false, "where the file leaves it open"},
    {"overrule", NULL, false,
     "what is said here of quantity, unit, angle and polarization counts where the file's words contradict it"},
    {"scan", "N|all", false, "of several scans in a file this one (1 is the first), or the average of all"},
    {"table", "FILE", false, "write the dispersion table, for the folder of --tables"},
    CLI_OPTIONS_PLOT,
    CLI_OPTION_RECORD,
    CLI_OPTION_END,
};

const cli_command cli_index = {
    .name = "index",
    .operand = "SCAN...",
    .needs = "--substrate NAME --layer-nm NM",
    .summary = "The index of a layer material from measured spectra of one layer: a dispersion table of your own.",
    .details = "R and T of the same piece, several thicknesses and several angles are fitted together.",
    .example = "index examples/oxide-layer-R.txt examples/oxide-layer-T.txt --substrate fused-silica --layer-nm 500 "
               "--back uncoated --substrate-mm 1 --table Oxide.csv",
    .option = options,
    .run = run,
};
