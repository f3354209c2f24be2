/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "witness.h"
#include "escaped.h"
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A spectrophotometer in good order, expanded by 2: common practice, no source. */
#define DEFAULT_WAVELENGTH_NM 0.3
#define DEFAULT_SCALE_PERCENT 0.5
#define DEFAULT_COVERAGE      2.0

/* What the command line says of the files. */
typedef struct reading {
    bc_measured_options options; /* of R and T alike */
    bool has_quantity;
    bc_quantity quantity; /* --quantity */
    bool callouts_agree;  /* they ask about one quantity, which is: */
    bc_quantity preferred;
    const char *t_column;
    double coverage;
    double aoi_deg; /* --aoi */
    double uncertainty;
    bc_polarization polarization;
} reading;

#define SAME_ANGLE  0.05 /* degrees */
#define MOST_POINTS 4000 /* of a scan; one of more is averaged over neighbours */

static bc_status read_scan(const cli_arguments *arguments, size_t *scan, bc_error *error)
{
    const char *text = cli_value(arguments, "scan");
    unsigned long number = 0;
    if (text == NULL)
        return BC_OK;
    if (strcmp(text, "all") == 0) {
        *scan = BC_SCAN_ALL;
        return BC_OK;
    }
    bc_status status = cli_count(arguments, "scan", 1, 1000, &number, error);
    *scan = number;
    return status;
}

static bc_status read_kinds(const cli_arguments *arguments, reading *all, bc_error *error)
{
    static const char *const quantities[] = {"R", "T"};
    static const char *const units[] = {"percent", "fraction", "counts"};
    static const char *const wavelength_units[] = {"nm", "um"};
    static const char *const decimals[] = {"point", "comma"};
    static const char *const separators[] = {"comma", "semicolon", "tab", "space"};
    size_t quantity = 0, unit = 0, wavelength_unit = 0, decimal = 0, separator = 0;
    bc_status status = cli_choice(arguments, "quantity", 2, quantities, &quantity, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "unit", 3, units, &unit, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "wavelength-unit", 2, wavelength_units, &wavelength_unit, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "decimal", 2, decimals, &decimal, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "separator", 4, separators, &separator, error);
    if (status != BC_OK)
        return status;
    all->has_quantity = cli_has(arguments, "quantity");
    all->quantity = quantity == 0 ? BC_R : BC_T;
    /* The enumerations begin with "not stated". */
    if (cli_has(arguments, "unit") && unit < 2)
        all->options.unit = (bc_measured_unit)(unit + BC_UNIT_PERCENT);
    if (cli_has(arguments, "wavelength-unit"))
        all->options.wavelength_unit = (bc_wavelength_unit)(wavelength_unit + BC_WAVELENGTH_NM);
    if (cli_has(arguments, "decimal"))
        all->options.decimal = (bc_decimal)(decimal + BC_DECIMAL_POINT);
    if (cli_has(arguments, "separator"))
        all->options.separator = (bc_separator)(separator + BC_SEPARATOR_COMMA);
    return BC_OK;
}

static bc_status read_conditions(const cli_arguments *arguments, reading *all, bc_error *error)
{
    static const char *const planes[] = {[BC_POL_UNPOLARIZED] = "unpolarized", [BC_POL_S] = "s", [BC_POL_P] = "p"};
    size_t polarization = BC_POL_UNPOLARIZED;
    bc_status status = cli_number(arguments, "aoi", 0.0, nextafter(90.0, 0.0),
                                  "an angle in degrees, from 0 to below 90", &all->aoi_deg, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "polarization", 3, planes, &polarization, error);
    all->polarization = (bc_polarization)polarization;
    all->options.aoi_deg = cli_has(arguments, "aoi") ? &all->aoi_deg : NULL;
    all->options.polarization = cli_has(arguments, "polarization") ? &all->polarization : NULL;
    all->options.overrule = cli_has(arguments, "overrule");
    if (status == BC_OK && cli_has(arguments, "uncertainty-percent")) {
        cli_uncertainties read;
        status = cli_read_uncertainties(arguments, &read, error);
        all->uncertainty = read.absolute;
        all->options.uncertainty = &all->uncertainty;
    }
    return status;
}

static void look_at_callouts(const bc_callouts *callouts, reading *all)
{
    for (size_t i = 0; callouts != NULL && i < callouts->count; i++) {
        all->callouts_agree = callouts->callout[i].quantity == callouts->callout[0].quantity;
        if (!all->callouts_agree)
            return;
        all->preferred = callouts->callout[i].quantity;
    }
    all->callouts_agree = all->callouts_agree && all->preferred != BC_A;
}

static bc_status read_options(const cli_arguments *arguments, const bc_callouts *callouts, const char **column,
                              reading *all, bc_error *error)
{
    const char *name;
    bc_status status = read_kinds(arguments, all, error);
    if (status == BC_OK)
        status = read_conditions(arguments, all, error);
    if (status == BC_OK)
        status = read_scan(arguments, &all->options.scan, error);
    while (status == BC_OK && (name = cli_value_at(arguments, "column", all->options.columns)) != NULL)
        column[all->options.columns++] = name;
    all->options.column = column;
    all->options.uncertainty_column = cli_value(arguments, "uncertainty-column");
    all->t_column = cli_value(arguments, "t-column");
    look_at_callouts(callouts, all);
    if (status == BC_OK && all->t_column != NULL && all->has_quantity && all->quantity == BC_T)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--t-column: found it beside --quantity T; expected it beside R, or "
                       "--column for a file of T alone");
    return status;
}

/* Read T beside R from the same rows. */
static bc_status read_t_column(const reading *all, cli_witness *witness, bc_error *error)
{
    static const bc_quantity transmittance = BC_T;
    bc_measured_options options = all->options;
    options.columns = 1;
    options.column = &all->t_column;
    options.uncertainty_column = NULL;
    options.quantity = &transmittance;
    options.preferred = NULL;
    bc_status status = bc_measured_file_read(witness->path, &options, &witness->T, error);
    if (status != BC_OK)
        return status;
    witness->has_T = true;
    status = bc_measured_file_pair(&witness->R, &witness->T, error);
    if (status != BC_OK)
        return status;
    bool same = witness->R.count == witness->T.count;
    for (size_t i = 0; same && i < witness->R.count; i++)
        same = witness->R.wavelength_nm[i] == witness->T.wavelength_nm[i];
    if (same)
        return BC_OK;
    char shown[BC_ESCAPED_PATH_SIZE];
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s: found T at other wavelengths than R (%zu and %zu of them); expected --t-column with values in "
                   "the rows of --column",
                   bc_escaped_path(witness->path, shown), witness->T.count, witness->R.count);
}

static bc_status read_values(const reading *all, cli_witness *witness, bc_error *error)
{
    static const bc_quantity reflectance = BC_R;
    bc_measured_options options = all->options;
    bc_measured_file file;
    char shown[BC_ESCAPED_PATH_SIZE];
    options.quantity = all->t_column != NULL ? &reflectance : all->has_quantity ? &all->quantity : NULL;
    options.preferred = all->callouts_agree ? &all->preferred : NULL;
    bc_status status = bc_measured_file_read(witness->path, &options, &file, error);
    if (status != BC_OK)
        return status;
    witness->quantity_stated = file.quantity_stated == BC_STATED_HEADER  ? "by the header"
                               : file.quantity_stated == BC_STATED_WORDS ? "by the file's words"
                                                                         : "by the option";
    if (!file.has_quantity && all->callouts_agree) {
        file.has_quantity = true;
        file.quantity = all->preferred;
        witness->quantity_stated = "by the callouts";
    }
    witness->has_T = file.has_quantity && file.quantity == BC_T;
    witness->has_R = !witness->has_T;
    *(witness->has_T ? &witness->T : &witness->R) = file;
    if (file.has_quantity && file.quantity != BC_A)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s: found %s; expected R or T (--quantity R or --quantity T)",
                   bc_escaped_path(witness->path, shown),
                   file.has_quantity ? "a column of absorptance" : "no header that says reflectance or transmittance");
}

/* The measurement points into the files that were read; an uncertainty becomes a standard one in place. */
static void fill(const reading *all, bc_measured_file *file, bc_measured *measured)
{
    measured->value = file->value;
    measured->deviation = file->deviation_of_mean;
    for (size_t i = 0; file->uncertainty != NULL && i < file->count; i++)
        file->uncertainty[i] /= all->coverage;
    measured->uncertainty = file->uncertainty;
}

/* How many scans most of the values are the mean of. */
static size_t most_repeats(const bc_measured_file *file)
{
    size_t most = 1;
    for (size_t i = 0; i < file->count; i++) {
        size_t count = 0;
        for (size_t j = 0; j < file->count; j++)
            count += file->repeats[j] == file->repeats[i];
        if (2 * count > file->count)
            return file->repeats[i];
        most = file->repeats[i] > most ? file->repeats[i] : most;
        if (i > 16) /* there is no majority to be found soon */
            break;
    }
    return most;
}

static void assemble(const reading *all, cli_witness *witness)
{
    bc_measured_file *first = witness->has_R ? &witness->R : &witness->T;
    bc_measurement *measurement = &witness->measurement;
    const char *slash = strrchr(witness->path, '/');
    char shown[BC_ESCAPED_PATH_SIZE];
    const char *label = bc_escaped_path(slash == NULL ? witness->path : slash + 1, shown);
    const size_t length = strnlen(label, BC_LABEL_SIZE - 1);
    memcpy(measurement->label, label, length);
    measurement->label[length] = '\0';
    measurement->count = first->count;
    measurement->wavelength_nm = first->wavelength_nm;
    measurement->repeats = most_repeats(first);
    measurement->missing = first->missing;
    measurement->missing_nm = first->missing_nm;
    if (witness->has_R)
        fill(all, &witness->R, &measurement->R);
    if (witness->has_T)
        fill(all, &witness->T, &measurement->T);
}

static bc_status read_witness(const reading *all, cli_witness *witness, bc_error *error)
{
    bc_status status = read_values(all, witness, error);
    if (status == BC_OK && all->t_column != NULL)
        status = read_t_column(all, witness, error);
    if (status == BC_OK)
        assemble(all, witness);
    return status;
}

static bc_status fail_two(const char *path, const char *other, const char *what, const char *option, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE], beside[BC_ESCAPED_PATH_SIZE];
    return bc_fail(error, BC_ERROR_INPUT, "%s: found %s than in %s; expected one for all, or %s",
                   bc_escaped_path(path, shown), what, bc_escaped_path(other, beside), option);
}

/* What the files say of angle and polarization, where the command line does not: one for all of them. */
static bc_status settle_conditions(const reading *how, cli_witnesses *all, bc_error *error)
{
    bool first = true, has_aoi = false, has_polarization = false;
    all->aoi_deg = how->aoi_deg;
    all->polarization = how->polarization;
    all->aoi_known.stated = how->options.aoi_deg != NULL ? BC_STATED_OPTION : BC_STATED_NOT;
    all->polarization_known.stated = how->options.polarization != NULL ? BC_STATED_OPTION : BC_STATED_NOT;
    for (size_t i = 0; i < 2 * all->count; i++) {
        const cli_witness *witness = &all->witness[i / 2];
        const bc_measured_file *file = i % 2 == 0 ? &witness->R : &witness->T;
        if (!(i % 2 == 0 ? witness->has_R : witness->has_T))
            continue;
        if (how->options.aoi_deg == NULL && !first &&
            (file->has_aoi != has_aoi || fabs(file->aoi_deg - all->aoi_deg) > SAME_ANGLE))
            return fail_two(witness->path, all->witness[0].path, "another angle of incidence", "--aoi", error);
        if (how->options.polarization == NULL && !first &&
            (file->has_polarization != has_polarization || file->polarization != all->polarization))
            return fail_two(witness->path, all->witness[0].path, "another polarization", "--polarization", error);
        has_aoi = file->has_aoi;
        has_polarization = file->has_polarization;
        if (first && has_aoi && how->options.aoi_deg == NULL) {
            all->aoi_deg = file->aoi_deg;
            all->aoi_known = (cli_condition){BC_STATED_WORDS, file->aoi_line};
        }
        if (first && has_polarization && how->options.polarization == NULL) {
            all->polarization = file->polarization;
            all->polarization_known = (cli_condition){BC_STATED_WORDS, file->polarization_line};
        }
        first = false;
    }
    return BC_OK;
}

/* Signals become R or T where a reference was scanned, once the angle is settled. */
static bc_status correct(cli_session *session, const reading *how, cli_witnesses *all, bc_error *error)
{
    bc_status status = cli_read_reference(session, &how->options, &all->reference, error);
    for (size_t i = 0; status == BC_OK && all->reference.given && i < all->count; i++) {
        cli_witness *witness = &all->witness[i];
        bc_measured_file *file = witness->has_R ? &witness->R : &witness->T;
        status = cli_correct(session, witness->path, witness->has_R ? BC_R : BC_T, all->aoi_deg * (M_PI / 180.0),
                             all->polarization, how->coverage, file, &all->reference, error);
        (witness->has_R ? &witness->measurement.R : &witness->measurement.T)->uncertainty = file->uncertainty;
    }
    return status;
}

/* What an inspection costs grows with the points of a scan, what it finds does not. */
static void thin(cli_witnesses *all)
{
    for (size_t i = 0; i < all->count; i++) {
        cli_witness *witness = &all->witness[i];
        bc_measured_file_thin(&witness->R, MOST_POINTS);
        bc_measured_file_thin(&witness->T, MOST_POINTS);
        witness->measurement.count = witness->has_R ? witness->R.count : witness->T.count;
    }
}

bc_status cli_read_witnesses(cli_session *session, const bc_callouts *callouts, double coverage, cli_witnesses *all,
                             bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    reading how = {.coverage = coverage};
    const char **column = calloc(arguments->count + 1, sizeof *column);
    bc_status status = BC_OK;
    all->witness = calloc(arguments->operands, sizeof *all->witness);
    if (column == NULL || all->witness == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = read_options(arguments, callouts, column, &how, error);
    if (status == BC_OK)
        status = cli_open_reference(session, &all->reference, error);
    how.options.one_side_coated = session->back.kind != BC_BACK_SAME && session->back.kind != BC_BACK_OWN;
    how.options.signal = all->reference.given ? BC_SIGNAL_SAMPLE : BC_SIGNAL_NOT;
    for (size_t i = 0; status == BC_OK && i < arguments->operands; i++) {
        all->witness[all->count++].path = arguments->all_operands[i];
        status = read_witness(&how, &all->witness[i], error);
        if (status == BC_OK)
            status = cli_note_input(session, arguments->all_operands[i], error);
    }
    if (status == BC_OK)
        status = settle_conditions(&how, all, error);
    if (status == BC_OK)
        status = correct(session, &how, all, error);
    if (status == BC_OK)
        thin(all);
    free(column);
    return status;
}

void cli_witness_clear(cli_witness *witness)
{
    bc_measured_file_clear(&witness->R);
    bc_measured_file_clear(&witness->T);
}

void cli_witnesses_clear(cli_witnesses *all)
{
    for (size_t i = 0; i < all->count; i++)
        cli_witness_clear(&all->witness[i]);
    free(all->witness);
    cli_reference_clear(&all->reference);
    *all = (cli_witnesses){0};
}

bc_status cli_read_uncertainties(const cli_arguments *arguments, cli_uncertainties *read, bc_error *error)
{
    double absolute = 0.0, scale = DEFAULT_SCALE_PERCENT;
    bc_status status = cli_number(arguments, "uncertainty-percent", 0.0, 100.0,
                                  "an uncertainty in percent (absolute), from 0 to 100", &absolute, error);
    *read = (cli_uncertainties){.wavelength_nm = DEFAULT_WAVELENGTH_NM, .coverage_factor = DEFAULT_COVERAGE};
    if (status == BC_OK)
        status = cli_number(arguments, "wavelength-uncertainty-nm", 0.0, 100.0,
                            "an uncertainty of the wavelengths in nm, from 0 to 100", &read->wavelength_nm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "scale-uncertainty-percent", 0.0, 50.0,
                            "an uncertainty of the scale of R in percent of the value, from 0 to 50", &scale, error);
    if (status == BC_OK)
        status = cli_number(arguments, "coverage", DBL_MIN, 100.0, "a coverage factor above 0 (2 on most certificates)",
                            &read->coverage_factor, error);
    read->absolute = absolute / 100.0;
    read->scale = scale / 100.0;
    return status;
}
