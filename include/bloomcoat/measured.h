/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEASURED_H
#define BLOOMCOAT_MEASURED_H
/*
 * A measured spectrum, as a spectrophotometer writes it: words ahead of the numbers and behind them, columns with
 * commas, semicolons, tabs or blanks between them, a decimal point or comma, percent or fractions, nm or um, rising or
 * falling, with or without a header, one scan or several. UTF-8 with or without BOM, UTF-16 with one, or Latin-1; any
 * line ends.
 *
 * What is not certain is not guessed: the error says what was seen and which option would settle it. Certain is
 *   - a column that the header calls wavelength, or by a unit of length; without a header, the first;
 *   - nm or um by the header; else nm when all lie from 150 to 3400, which is what a spectrophotometer for the
 *     ultraviolet to the near infrared sweeps; under a header that says wavelength and no unit, nm when all are 100 or
 *     more and um when all are below 60;
 *   - percent by the header, by a % after the numbers, or by values above 1.5 (no part reflects 150 %), two at least
 *     and a twentieth of all where there are more than a few;
 *   - the value column when there is one, or one whose header names the quantity that is sought and beside which no
 * other could be it. Columns called design, limit, specification, target, theory, simulated, dark, baseline, reference
 * or zero line are never it;
 *   - quantity, angle of incidence and polarization by the header, or by the lines around the rows. What contradicts an
 *     option, or itself, is refused with both named (bc_measured_options.overrule);
 *   - a slit of 10 nm at most, values that are not smoothed over more, one side coated and no larger uncertainty than
 *     the caller's, where the lines around the rows do not say otherwise;
 *   - a comma as decimal sign where columns are parted by something else or cells stand in quotes.
 * Wavenumbers, energies and absorbance are refused by name. So are wavelengths below 100 nm or above 100 um, and values
 * below -5 % or above 110 %: between these and 0 to 100 % it is noise, and kept as it is.
 *
 * A row that holds a word in place of a value ("---", "nan", "over", nothing) is left out where it stands at an end of
 * its block: there it lies beyond the data (rows_left_out). Within a scan one value in twenty may be missing, which is
 * "nan", "*" or nothing (missing_nm); anything else is refused.
 *
 * Repeats: several columns that were asked for, a wavelength that comes twice, the way back of a scan, and scans below
 * each other that the file calls scan or repeat, counts ahead ("3 scans") or heads with the same sample. Wavelengths
 * are the same within 1e-6 of their value; scans that overlap must share their wavelengths there. The mean is taken.
 * Other scans below each other may be other samples: that is asked about (bc_measured_options.scan).
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/checksum.h>

BC_API_BEGIN

typedef enum bc_measured_unit { BC_UNIT_UNTOLD = 0, BC_UNIT_PERCENT, BC_UNIT_FRACTION } bc_measured_unit;
typedef enum bc_wavelength_unit { BC_WAVELENGTH_UNTOLD = 0, BC_WAVELENGTH_NM, BC_WAVELENGTH_UM } bc_wavelength_unit;
typedef enum bc_decimal { BC_DECIMAL_UNTOLD = 0, BC_DECIMAL_POINT, BC_DECIMAL_COMMA } bc_decimal;
typedef enum bc_separator {
    BC_SEPARATOR_UNTOLD = 0,
    BC_SEPARATOR_COMMA,
    BC_SEPARATOR_SEMICOLON,
    BC_SEPARATOR_TAB,
    BC_SEPARATOR_BLANKS, /* one or more */
} bc_separator;

/* How something about the file is known. */
typedef enum bc_stated {
    BC_STATED_NOT = 0,
    BC_STATED_OPTION, /* the caller said so */
    BC_STATED_HEADER,
    BC_STATED_CELLS,  /* a % behind every number */
    BC_STATED_VALUES, /* the numbers can be nothing else */
    BC_STATED_WORDS,  /* by a line above the header, or below the rows */
} bc_stated;

#define BC_SCAN_ALL ((size_t)-1)

/* Whether a file holds R or T, or the signal of an instrument that is to be divided by another: any numbers, in any
 * unit. A reference or a dark scan may be called by that name; the sample's column may not. */
typedef enum bc_signal { BC_SIGNAL_NOT = 0, BC_SIGNAL_SAMPLE, BC_SIGNAL_REFERENCE, BC_SIGNAL_DARK } bc_signal;

/* All zero: by the file alone. */
typedef struct bc_measured_options {
    size_t columns;                 /* 0: the only one there is. Several: repeats of one measurement */
    const char *const *column;      /* [columns] header as it stands in the file, or number of the column from 1 */
    const char *uncertainty_column; /* NULL: none. In the unit of the values */
    const bc_quantity *quantity; /* not NULL: the column measures this, and a header that says otherwise is refused */
    /* Of the measurement, where the caller has them: a file that says otherwise is refused. */
    const double *aoi_deg;
    const bc_polarization *polarization;
    const double *uncertainty; /* not NULL: expanded, a fraction (absolute); a file that says more is refused */
    bool one_side_coated;      /* the caller sees one coating: a file that says both sides are coated is refused */
    bool overrule;             /* what these options say counts, where the file's words contradict it */
    bc_signal signal;
    const bc_quantity *preferred; /* not NULL: of several columns the one whose header names this */
    size_t scan;                  /* 0: all, if they are certainly repeats; BC_SCAN_ALL: all; else this one, from 1 */
    bc_measured_unit unit;
    bc_wavelength_unit wavelength_unit;
    bc_decimal decimal;
    bc_separator separator;
} bc_measured_options;

typedef enum bc_measured_role {
    BC_ROLE_LEFT_ASIDE = 0,
    BC_ROLE_WAVELENGTH,
    BC_ROLE_VALUE,
    BC_ROLE_UNCERTAINTY,
} bc_measured_role;

typedef struct bc_measured_column {
    char *header; /* fit to be shown; "" when it has none */
    bc_measured_role role;
} bc_measured_column;

typedef struct bc_measured_file {
    size_t count;
    double *wavelength_nm;     /* [count] strictly rising */
    double *value;             /* [count] fractions, the mean of the repeats */
    size_t *repeats;           /* [count] */
    long *line;                /* [count] of the file, of the first of the repeats */
    double *deviation_of_mean; /* [count] standard deviation of the mean, from the scatter; NAN where repeats is 1 */
    double *uncertainty;  /* [count] fractions, from the column; the largest of the repeats. NULL: no such column */
    size_t scans;         /* that were read */
    size_t rows_left_out; /* at the ends, with no value in them */
    size_t missing;       /* wavelengths within the scan that have no value, */
    double *missing_nm;   /* [missing] rising; */
    long *missing_line;   /* [missing] of the file */
    double averaged_nm;   /* neighbours within so much were averaged (bc_measured_file_thin()); 0: none */
    size_t columns;       /* of the file */
    bc_measured_column *column; /* [columns] */
    long header_line;           /* 0: there is none */
    long first_line, last_line; /* of the rows that were read */
    bool has_quantity;          /* the header, or the caller, stated it */
    bc_quantity quantity;
    bc_stated quantity_stated;
    long quantity_line; /* of BC_STATED_WORDS */
    bool has_aoi;       /* the file says it, in aoi_line */
    double aoi_deg;
    long aoi_line;
    bool has_polarization; /* alike; BC_POL_UNPOLARIZED, _S or _P */
    bc_polarization polarization;
    long polarization_line;
    bool counts;    /* of a signal: its header says counts, volts or the like */
    bool overruled; /* words of the file contradicted an option, which counted (bc_measured_options.overrule) */
    bc_measured_unit unit;
    bc_stated unit_stated;
    bc_wavelength_unit wavelength_unit;
    bc_stated wavelength_unit_stated;
    bc_decimal decimal; /* BC_DECIMAL_UNTOLD: no number has a decimal sign */
    bc_separator separator;
    char sha256[BC_SHA256_SIZE]; /* of the file; empty: made by hand */
} bc_measured_file;

/* Read a measured spectrum; `options` may be NULL. On success *file must be released with bc_measured_file_clear(). */
bc_status bc_measured_file_read(const char *path, const bc_measured_options *options, bc_measured_file *file,
                                bc_error *error);
void bc_measured_file_clear(bc_measured_file *file);

/* Two columns of one file: a wavelength at which either has no value is taken out of both, and counts as missing in
 * both.
 */
bc_status bc_measured_file_pair(bc_measured_file *one, bc_measured_file *other, bc_error *error);

/* A scan of more than `most` wavelengths becomes one of about half as many at most: neighbours within an even share of
 * its range are replaced by their mean, so that noise falls as it does in a mean. Each keeps the line of its first, and
 * both ends stay. A detector that reads on while the grating turns writes such files; nothing in a coating is as
 * narrow. */
void bc_measured_file_thin(bc_measured_file *file, size_t most);

BC_API_END

#endif
