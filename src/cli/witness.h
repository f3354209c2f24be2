/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_WITNESS_H
#define BLOOMCOAT_CLI_WITNESS_H
/*
 * The measured files of a command line, read under the options that state what the files do not.
 */
#include "reference.h"

/* One measured file. */
typedef struct cli_witness {
    const char *path;
    bool has_R, has_T;
    bc_measured_file R, T;
    bc_measurement measurement; /* its arrays are those of R and T */
    const char *quantity_stated;
} cli_witness;

/* A condition of the measurement, and how it is known; BC_STATED_NOT: it is not, and the default stands. */
typedef struct cli_condition {
    bc_stated stated;
    long line; /* of a file that says it, 0: of none */
} cli_condition;

typedef struct cli_witnesses {
    size_t count;
    cli_witness *witness; /* [count] in the order of the command line */
    double aoi_deg;       /* of all of them */
    bc_polarization polarization;
    cli_condition aoi_known, polarization_known;
    cli_reference reference;
} cli_witnesses;

/* --quantity, --column, --t-column, --unit and so on. `callouts` (may be NULL) give the quantity when they all ask
 * about one and the file does not say. `coverage`: what an uncertainty column is divided by. */
bc_status cli_read_witnesses(cli_session *session, const bc_callouts *callouts, double coverage, cli_witnesses *all,
                             bc_error *error);
void cli_witness_clear(cli_witness *witness);
void cli_witnesses_clear(cli_witnesses *all);

/* What the spectrophotometer's figures are good to, expanded: fractions and nm. */
typedef struct cli_uncertainties {
    double absolute, wavelength_nm, scale, coverage_factor;
} cli_uncertainties;

/* --uncertainty-percent, --wavelength-uncertainty-nm, --scale-uncertainty-percent and --coverage, or what is usual. */
bc_status cli_read_uncertainties(const cli_arguments *arguments, cli_uncertainties *read, bc_error *error);

/* The options that cli_read_witnesses() takes. */
#define CLI_OPTIONS_MEASURED                                                                                           \
    {"quantity", "R|T", false, "what was measured, where the file's header does not say"},                             \
        {"column", "NAME", true,                                                                                       \
         "the column of values by its header or its number; given several times: repeats, which are averaged"},        \
        {"t-column", "NAME", false,                                                                                    \
         "a column with T of the same scan beside R, so that absorption can be determined"},                           \
        {"uncertainty-column", "NAME", false,                                                                          \
         "a column with an expanded uncertainty of each value (--coverage), in the unit of the values; added in "      \
         "quadrature"},                                                                                                \
        {"unit", "percent|fraction|counts", false,                                                                     \
         "of the values, where the file leaves it open; counts: signals, for --reference-scan"},                       \
        {"wavelength-unit", "nm|um", false, "where the file leaves it open"},                                          \
        {"decimal", "point|comma", false, "where the file leaves it open"},                                            \
        {"separator", "comma|semicolon|tab|space", false, "where the file leaves it open"},                            \
        {"aoi", "DEG", false,                                                                                          \
         "angle of incidence of the measurement in degrees (default: what the file says, else 0)"},                    \
        {"polarization", "unpolarized|s|p", false,                                                                     \
         "of the measurement (default: what the file says, else unpolarized)"},                                        \
        {"overrule", NULL, false,                                                                                      \
         "what is said here of quantity, unit, angle and polarization counts where the file's words contradict it"},   \
        CLI_OPTIONS_REFERENCE,                                                                                         \
    {                                                                                                                  \
        "scan", "N|all", false, "of several scans in a file this one (1 is the first), or the mean of all"             \
    }

#endif
