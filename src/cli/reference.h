/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_REFERENCE_H
#define BLOOMCOAT_CLI_REFERENCE_H
/*
 * Scans beside the measured ones: of a reference, of the dark, of the bare substrate.
 */
#include "session.h"
#include <bloomcoat/correction.h>
#include <bloomcoat/inspect.h>
#include <bloomcoat/measured.h>

typedef struct cli_reference {
    bool given;    /* --reference-scan: the measured files are signals */
    bool counts;   /* --unit counts */
    bool has_bare; /* --bare-scan */
    bool has_table;
    bc_measured_file scan, dark, bare;
    bc_reference table;
    bc_medium medium; /* of --reference, where there is no table */
    bc_correction correction;
    bc_bare_check check;
    char name[3][512]; /* paths of the three scans, fit to be shown */
    char doubt[BC_INSPECT_TEXT_SIZE];
} cli_reference;

/* Refuses options that say nothing together. Before the measured files are read. */
bc_status cli_open_reference(const cli_session *session, cli_reference *reference, bc_error *error);
/* Read the scans and what --reference is; `options` are those of the measured files. */
bc_status cli_read_reference(cli_session *session, const bc_measured_options *options, cli_reference *reference,
                             bc_error *error);
/* Turn the signals of one measured file into `quantity`, in place. `uncertainty` [count] (standard, fractions) is made
 * where it is NULL and the reference of a T states one. */
bc_status cli_correct(const cli_session *session, const char *path, bc_quantity quantity, double aoi_rad,
                      bc_polarization polarization, double coverage, bc_measured_file *file, cli_reference *reference,
                      bc_error *error);
/* The bare substrate against its index table, under the measurement's conditions and uncertainties; what the reference
 * states takes its place among these. A scan that is off puts its words into setup->instrument_doubt. */
bc_status cli_check_instrument(const cli_session *session, bc_quantity quantity, bc_inspect_setup *setup,
                               cli_reference *reference, bc_error *error);
void cli_reference_clear(cli_reference *reference);

#define CLI_OPTIONS_REFERENCE                                                                                          \
    {"reference-scan", "FILE", false,                                                                                  \
     "MEASURED are signals: divide them by this scan of a reference, on the same wavelengths and scale"},              \
        {"reference", "NAME|FILE", false,                                                                              \
         "what that reference is: a material by its index table, air (an empty beam, T of 100 %), or a table "         \
         "wavelength_nm,R_percent (or T_percent, and uncertainty_percent)"},                                           \
        {"dark-scan", "FILE", false, "a scan without light, subtracted from the sample's and the reference's"},        \
        {"reference-column", "NAME", false, "the column of --reference-scan, where it has several"},                   \
        {"dark-column", "NAME", false, "the column of --dark-scan, where it has several"},                             \
    {                                                                                                                  \
        "bare-scan", "FILE", false,                                                                                    \
            "a scan of the uncoated substrate, which is held against its index table: a check of the instrument"       \
    }

#endif
