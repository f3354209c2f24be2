/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reference.h"
#include "escaped.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { REFERENCE, DARK, BARE };

#define SURELY_COUNTS 1.1 /* above it no signal is a percent or a fraction of anything */
#define SAME_ANGLE    0.05
#define OPAQUE_MM     0.1
#define OPAQUE        20.0 /* absorption -ln x through that */

static const char *const option_name[] = {[REFERENCE] = "reference-scan", [DARK] = "dark-scan", [BARE] = "bare-scan"};

bc_status cli_open_reference(const cli_session *session, cli_reference *reference, bc_error *error)
{
    static const char *const needs[] = {"dark-scan", "reference", "reference-column", "dark-column"};
    const cli_arguments *arguments = session->arguments;
    const char *unit = cli_value(arguments, "unit");
    *reference = (cli_reference){.given = cli_has(arguments, "reference-scan"),
                                 .counts = unit != NULL && strcmp(unit, "counts") == 0,
                                 .has_bare = cli_has(arguments, "bare-scan")};
    for (size_t i = 0; i < sizeof needs / sizeof needs[0]; i++)
        if (cli_has(arguments, needs[i]) && !reference->given)
            return bc_fail(error, BC_ERROR_INPUT, "--%s: found no --reference-scan; expected the scan it belongs to",
                           needs[i]);
    if (reference->counts && !reference->given)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--unit: found 'counts' and no --reference-scan; expected percent or fraction, or the scan to "
                       "divide the counts by");
    if (!reference->given)
        return BC_OK;
    if (!cli_has(arguments, "reference"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "--reference-scan: found no --reference; expected what was scanned there: a material, air for "
                       "an empty beam, or a table wavelength_nm,R_percent");
    if (cli_has(arguments, "dark-column") && !cli_has(arguments, "dark-scan"))
        return bc_fail(error, BC_ERROR_INPUT, "--dark-column: found no --dark-scan; expected the scan it belongs to");
    if (cli_has(arguments, "t-column"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "--t-column: found it beside --reference-scan; expected R or T alone, since each has a "
                       "reference of its own");
    return BC_OK;
}

/* The only column there is, else the one the option names, else that of the measured files. */
static bc_status read_scan(cli_session *session, const bc_measured_options *options, size_t which, bc_signal signal,
                           cli_reference *reference, bc_measured_file *file, bc_error *error)
{
    static const char *const column_option[] = {"reference-column", "dark-column", NULL};
    const char *path = cli_value(session->arguments, option_name[which]);
    const char *named = column_option[which] == NULL ? NULL : cli_value(session->arguments, column_option[which]);
    bc_measured_options own = *options;
    char shown[BC_ESCAPED_PATH_SIZE];
    own.signal = signal;
    own.columns = named == NULL ? 0 : 1;
    own.column = &named;
    own.uncertainty_column = NULL;
    own.quantity = own.preferred = NULL;
    own.aoi_deg = NULL;
    own.polarization = NULL;
    bc_print(reference->name[which], sizeof reference->name[which], "%s", bc_escaped_path(path, shown));
    bc_status status = bc_measured_file_read(path, &own, file, error);
    if (status == BC_ERROR_INPUT && named == NULL && options->columns > 0) {
        own.columns = options->columns;
        own.column = options->column;
        status = bc_measured_file_read(path, &own, file, error);
    }
    return status == BC_OK ? cli_note_input(session, path, error) : status;
}

/* A name with a dot or a slash in it is a file, unless it is a number. */
static bool is_file(const char *text)
{
    const size_t length = strlen(text);
    return strchr(text, '/') != NULL || (length > 4 && strcasecmp(text + length - 4, ".csv") == 0);
}

static bc_status read_known(cli_session *session, cli_reference *reference, bc_error *error)
{
    const char *text = cli_value(session->arguments, "reference");
    bc_correction *correction = &reference->correction;
    char shown[BC_ESCAPED_PATH_SIZE];
    const char *slash = strrchr(text, '/');
    bc_status status;
    if (is_file(text)) {
        reference->has_table = true;
        bc_print(correction->name, sizeof correction->name, "%s",
                 bc_escaped_path(slash == NULL ? text : slash + 1, shown));
        status = bc_reference_read(text, &reference->table, error);
        correction->states = reference->table.uncertainty != NULL;
        return status == BC_OK ? cli_note_input(session, text, error) : status;
    }
    status = bc_medium_find(session->materials, text, "--reference", &reference->medium, error);
    if (status == BC_OK)
        status = cli_note_medium(session, &reference->medium, error);
    correction->from_index = true;
    bc_print(correction->name, sizeof correction->name, "%s",
             strcmp(text, "air") == 0 ? "empty beam" : reference->medium.name);
    return status;
}

static bc_raw_scan raw_scan(const bc_measured_file *file, const char *path)
{
    return (bc_raw_scan){path, file->count, file->wavelength_nm, file->value, file->deviation_of_mean, file->line};
}

static bc_status refuse_same(const bc_measured_file *one, const char *path, const bc_measured_file *other,
                             const char *other_path, bc_error *error)
{
    if (one->count != other->count || memcmp(one->value, other->value, one->count * sizeof(double)) != 0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s: found the very values of %s; expected two scans of two things", path,
                   other_path);
}

bc_status cli_read_reference(cli_session *session, const bc_measured_options *options, cli_reference *reference,
                             bc_error *error)
{
    bc_status status = BC_OK;
    if (reference->given)
        status = read_known(session, reference, error);
    if (status == BC_OK && reference->given)
        status = read_scan(session, options, REFERENCE, BC_SIGNAL_REFERENCE, reference, &reference->scan, error);
    if (status == BC_OK && cli_has(session->arguments, "dark-scan"))
        status = read_scan(session, options, DARK, BC_SIGNAL_DARK, reference, &reference->dark, error);
    if (status == BC_OK && reference->has_bare)
        status = read_scan(session, options, BARE, reference->given ? BC_SIGNAL_SAMPLE : BC_SIGNAL_NOT, reference,
                           &reference->bare, error);
    if (status == BC_OK && reference->dark.count > 0)
        status =
            refuse_same(&reference->scan, reference->name[REFERENCE], &reference->dark, reference->name[DARK], error);
    if (status == BC_OK && reference->given && reference->has_bare)
        status =
            refuse_same(&reference->bare, reference->name[BARE], &reference->scan, reference->name[REFERENCE], error);
    reference->correction.reference = raw_scan(&reference->scan, reference->name[REFERENCE]);
    reference->correction.dark = raw_scan(&reference->dark, reference->name[DARK]);
    return status;
}

/* ---- one scale for all ---- */

typedef enum scale { SCALE_UNTOLD, SCALE_SHARE, SCALE_COUNTS } scale;

static scale scale_of(const cli_reference *reference, const bc_measured_file *file)
{
    double most = 0.0;
    if (reference->counts || file->counts)
        return SCALE_COUNTS;
    if (file->unit_stated != BC_STATED_NOT)
        return SCALE_SHARE;
    for (size_t i = 0; i < file->count; i++)
        most = fmax(most, file->value[i]);
    return most > 100.0 * SURELY_COUNTS ? SCALE_COUNTS : SCALE_UNTOLD;
}

static bc_status compare_scales(const cli_reference *reference, const bc_measured_file *sample, const char *path,
                                const bc_measured_file *other, const char *other_path, bool dark, bc_error *error)
{
    static const char *const word[] = {
        [SCALE_UNTOLD] = "no unit", [SCALE_SHARE] = "percent or fractions", [SCALE_COUNTS] = "counts"};
    const scale of_sample = scale_of(reference, sample);
    scale of_other = scale_of(reference, other);
    /* Dark counts may be few, in a file that says nothing. */
    if (dark && of_sample == SCALE_COUNTS && of_other == SCALE_UNTOLD)
        of_other = SCALE_COUNTS;
    if (of_sample != SCALE_UNTOLD && of_sample == of_other)
        return BC_OK;
    if (of_sample == of_other)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found no unit, and none in %s either, so nothing says that both are on one scale; expected "
                       "--unit percent, fraction or counts",
                       path, other_path);
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s: found %s, and %s in %s; expected both on one scale (--unit percent, fraction or counts says "
                   "which)",
                   path, word[of_sample], word[of_other], other_path);
}

static bc_status compare_conditions(const bc_measured_file *file, const char *path, bc_quantity quantity,
                                    double aoi_rad, bc_polarization polarization, bc_error *error)
{
    const double aoi_deg = aoi_rad * (180.0 / M_PI);
    if (file->has_quantity && file->quantity != quantity)
        return bc_fail(error, BC_ERROR_INPUT, "%s: found a scan of %s beside one of %s; expected one quantity", path,
                       file->quantity == BC_R ? "R" : "T", quantity == BC_R ? "R" : "T");
    if (file->has_aoi && fabs(file->aoi_deg - aoi_deg) > SAME_ANGLE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%ld: found an angle of incidence of %.4g degrees, and %.4g of the sample; expected one "
                       "angle",
                       path, file->aoi_line, file->aoi_deg, aoi_deg);
    if (file->has_polarization && file->polarization != polarization)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%ld: found another polarization than the sample's; expected one",
                       path, file->polarization_line);
    return BC_OK;
}

static bc_status compare_files(const cli_reference *reference, const char *path, const bc_measured_file *file,
                               bc_quantity quantity, double aoi_rad, bc_polarization polarization, bc_error *error)
{
    const bool dark = reference->dark.count > 0;
    bc_status status =
        compare_scales(reference, file, path, &reference->scan, reference->name[REFERENCE], false, error);
    if (status == BC_OK && dark)
        status = compare_scales(reference, file, path, &reference->dark, reference->name[DARK], true, error);
    if (status == BC_OK)
        status = refuse_same(file, path, &reference->scan, reference->name[REFERENCE], error);
    if (status == BC_OK && dark)
        status = refuse_same(file, path, &reference->dark, reference->name[DARK], error);
    if (status == BC_OK)
        status =
            compare_conditions(&reference->scan, reference->name[REFERENCE], quantity, aoi_rad, polarization, error);
    return status;
}

/* ---- what the reference is known to have ---- */

/* Nothing comes back from the second face of a metal. */
static bc_status is_opaque(const bc_medium *medium, const bc_measured_file *file, bool *opaque, bc_error *error)
{
    *opaque = true;
    for (size_t i = 0; i < file->count; i++) {
        double n, k;
        bc_status status = bc_dispersion_index(medium->dispersion, 1, &file->wavelength_nm[i], &n, &k, error);
        if (status != BC_OK)
            return status;
        *opaque = *opaque && 4.0 * M_PI * k * OPAQUE_MM * 1e6 / file->wavelength_nm[i] > OPAQUE;
    }
    return BC_OK;
}

static bc_status bare_of(const cli_session *session, const bc_medium *medium, bc_quantity quantity, double aoi_rad,
                         bc_polarization polarization, const bc_measured_file *file, bool *plate, double *value,
                         bc_error *error)
{
    bool opaque = false;
    bc_status status = is_opaque(medium, file, &opaque, error);
    *plate = quantity == BC_T || (session->back.kind != BC_BACK_NONE && !opaque);
    if (status == BC_OK && *plate)
        status =
            cli_need_thickness(session, medium, file->wavelength_nm[0], file->wavelength_nm[file->count - 1], error);
    return status == BC_OK
               ? bc_bare_value(&session->stack.incident, medium, *plate, session->back.substrate_mm, quantity, aoi_rad,
                               polarization, file->count, file->wavelength_nm, value, error)
               : status;
}

static bc_status find_known(const cli_session *session, bc_quantity quantity, double aoi_rad,
                            bc_polarization polarization, const bc_measured_file *file, cli_reference *reference,
                            double *known, double *stated, bc_error *error)
{
    const char *name = cli_value(session->arguments, "reference");
    bc_correction *correction = &reference->correction;
    correction->quantity = quantity;
    if (reference->has_table && reference->table.quantity != quantity)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found %s of the reference, where the scan is one of %s; expected the same quantity",
                       reference->table.path, reference->table.quantity == BC_R ? "R" : "T",
                       quantity == BC_R ? "R" : "T");
    if (reference->has_table)
        return bc_reference_at(&reference->table, file->count, file->wavelength_nm, known, stated, error);
    if (strcmp(name, "air") == 0 && quantity == BC_R)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--reference: found 'air', an empty beam, which reflects nothing; expected a mirror or a bare "
                       "substrate for a scan of R (--quantity T for one of T)");
    if (strcmp(name, "air") == 0) {
        for (size_t i = 0; i < file->count; i++)
            known[i] = 1.0;
        return BC_OK;
    }
    return bare_of(session, &reference->medium, quantity, aoi_rad, polarization, file, &correction->plate, known,
                   error);
}

/* Of a T, whose scale has no uncertainty of its own, into the standard uncertainty of each value. */
static bc_status add_stated(const double *known, const double *stated, double coverage, bc_measured_file *file,
                            bc_error *error)
{
    if (file->uncertainty == NULL)
        file->uncertainty = calloc(file->count, sizeof *file->uncertainty);
    if (file->uncertainty == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < file->count; i++)
        file->uncertainty[i] = hypot(file->uncertainty[i], file->value[i] * stated[i] / known[i] / coverage);
    return BC_OK;
}

bc_status cli_correct(const cli_session *session, const char *path, bc_quantity quantity, double aoi_rad,
                      bc_polarization polarization, double coverage, bc_measured_file *file, cli_reference *reference,
                      bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    double *known = calloc(3 * file->count, sizeof *known);
    if (known == NULL)
        return bc_fail_memory(error);
    double *stated = known + file->count, *signal = stated + file->count;
    bool repeats = true;
    memcpy(signal, file->value, file->count * sizeof *signal);
    for (size_t i = 0; i < file->count; i++)
        repeats = repeats && !isnan(file->deviation_of_mean[i]);
    const bc_raw_scan sample = {bc_escaped_path(path, shown), file->count, file->wavelength_nm, signal,
                                file->deviation_of_mean,      file->line};
    const bool states = reference->correction.states;
    file->counts = scale_of(reference, file) == SCALE_COUNTS;
    bc_status status = compare_files(reference, shown, file, quantity, aoi_rad, polarization, error);
    if (status == BC_OK)
        status = find_known(session, quantity, aoi_rad, polarization, file, reference, known, stated, error);
    if (status == BC_OK)
        status = bc_correct(&reference->correction, &sample, known, states ? stated : NULL, file->value,
                            repeats ? file->deviation_of_mean : NULL, file->uncertainty, error);
    if (status == BC_OK && states && quantity == BC_T)
        status = add_stated(known, stated, coverage, file, error);
    free(known);
    return status;
}

/* ---- the bare substrate ---- */

static void doubt(cli_reference *reference)
{
    const bc_bare_check *check = &reference->check;
    const char letter = check->quantity == BC_T ? 'T' : 'R';
    if (fabs(check->off) > check->allowed)
        bc_print(reference->doubt, sizeof reference->doubt,
                 "the bare substrate measures %c of %.4g %% on the average where its index table has %.4g %%: %+.2g %% "
                 "off, and its uncertainty explains %.2g %%. The instrument first",
                 letter, 100.0 * check->measured, 100.0 * check->expected, 100.0 * check->off, 100.0 * check->allowed);
    else
        bc_print(reference->doubt, sizeof reference->doubt,
                 "the bare substrate measures %c %+.3g %% off its index table at %.6g nm, and its uncertainty explains "
                 "%.2g %%. The instrument first",
                 letter, 100.0 * check->worst, check->worst_nm, 100.0 * check->worst_allowed);
}

static bc_status check_bare(const cli_session *session, bc_quantity quantity, const bc_inspect_setup *setup,
                            cli_reference *reference, bc_error *error)
{
    bc_measured_file *file = &reference->bare;
    const bc_medium *glass = &session->stack.substrate;
    const double middle = 0.5 * (file->wavelength_nm[0] + file->wavelength_nm[file->count - 1]);
    bool plate;
    double n = 1.5;
    double *expected = calloc(file->count, sizeof *expected);
    bc_status status = expected == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK && reference->given)
        status = cli_correct(session, cli_value(session->arguments, "bare-scan"), quantity, setup->aoi_rad,
                             setup->polarization, setup->coverage_factor, file, reference, error);
    if (status == BC_OK)
        status = compare_conditions(file, reference->name[BARE], quantity, setup->aoi_rad, setup->polarization, error);
    if (status == BC_OK)
        status = bare_of(session, glass, quantity, setup->aoi_rad, setup->polarization, file, &plate, expected, error);
    if (status == BC_OK)
        status = bc_dispersion_index(glass->dispersion, 1, &middle, &n, NULL, error);
    if (status == BC_OK)
        status = bc_check_bare(quantity, file->count, file->wavelength_nm, file->value, expected, n, setup->uncertainty,
                               setup->scale_uncertainty, &reference->check, error);
    free(expected);
    return status;
}

bc_status cli_check_instrument(const cli_session *session, bc_quantity quantity, bc_inspect_setup *setup,
                               cli_reference *reference, bc_error *error)
{
    const double stated = reference->correction.share_stated;
    if (reference->given && reference->correction.states && quantity == BC_R)
        setup->scale_uncertainty =
            cli_has(session->arguments, "scale-uncertainty-percent") ? fmax(setup->scale_uncertainty, stated) : stated;
    if (!reference->has_bare)
        return BC_OK;
    bc_status status = check_bare(session, quantity, setup, reference, error);
    if (status != BC_OK || reference->check.within)
        return status;
    doubt(reference);
    setup->instrument_doubt = reference->doubt;
    return BC_OK;
}

void cli_reference_clear(cli_reference *reference)
{
    bc_measured_file_clear(&reference->scan);
    bc_measured_file_clear(&reference->dark);
    bc_measured_file_clear(&reference->bare);
    bc_reference_clear(&reference->table);
}
