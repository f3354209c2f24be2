/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEASURED_STEPS_H
#define BLOOMCOAT_MEASURED_STEPS_H
/*
 * The steps of bc_measured_file_read(), in the order they are taken: bytes -> lines -> cells -> blocks of rows ->
 * columns -> points -> means.
 */
#include <bloomcoat/measured.h>

/* The lines of a file as UTF-8, each ended by a zero. Line i is line i + 1 of the editor. */
typedef struct measured_lines {
    char *text;
    size_t count, capacity;
    char **line;
} measured_lines;

/* UTF-16 (RFC 2781) behind its mark to UTF-8; the end of what was written, or NULL at a surrogate without its partner.
 */
char *bc_decode_utf16(const char *bytes, size_t length, bool big, char *out);

/* Decode the bytes (ended by two zeros) and cut them into lines. Fails for bytes that are no text. */
bc_status bc_measured_cut(const char *path, const char *bytes, size_t length, measured_lines *lines, bc_error *error);
void bc_measured_lines_clear(measured_lines *lines);

typedef enum measured_kind {
    KIND_BLANK,
    KIND_COMMENT, /* led by # */
    KIND_WORDS,
    KIND_ROW, /* begins with a number, or what should have been one, and has more cells than that */
} measured_kind;

/* The cells of all lines, under one separator. */
typedef struct measured_table {
    const char *path; /* fit to be shown */
    const measured_lines *lines;
    bc_separator separator;
    bc_decimal decimal;
    char *text;
    size_t text_used, text_capacity;
    size_t cells, cell_capacity;
    size_t *cell;  /* where in `text` each begins */
    size_t *first; /* [lines + 1] the line's cells are first[i] .. first[i + 1] - 1; empty ones at its end are cut */
    measured_kind *kind; /* [lines] */
    size_t blocks, block_capacity;
    struct measured_block *block;
} measured_table;

#define MEASURED_NONE ((size_t)-1)

/* Rows without words between them. Lines count from 0 here. */
typedef struct measured_block {
    size_t from, to; /* lines, `to` excluded; rows, blank lines and comments */
    size_t width;    /* cells of its widest row */
    size_t header;   /* its line, or MEASURED_NONE */
    size_t units;    /* the line of units below the header, or MEASURED_NONE */
    bool names_axis; /* a cell of the header is about wavelength (or another axis): only then its words are trusted */
} measured_block;

size_t bc_measured_width(const measured_table *table, size_t line);
/* "" beyond the last one. */
const char *bc_measured_cell(const measured_table *table, size_t line, size_t place);
/* Whether a whole cell is a number, perhaps with a % after it; *value is it times ten to the power of `shift`. `value`
 * and `percent` may be NULL. */
bool bc_measured_number(bc_decimal decimal, const char *cell, int shift, double *value, bool *percent);
/* Whether a cell begins as a number does, and is neither a date, nor a time, nor words after a number. */
bool bc_measured_like_number(const char *cell);
/* The header's cell, and the cell of the row of units below it; "" where there is none. */
const char *bc_measured_header(const measured_table *table, const measured_block *block, size_t place);
const char *bc_measured_units(const measured_table *table, const measured_block *block, size_t place);
/* "column 2 (R)" */
#define MEASURED_PLACE_SIZE 520
const char *bc_measured_place(const measured_table *table, const measured_block *block, size_t place,
                              char out[MEASURED_PLACE_SIZE]);

/* Find separator, decimal sign and blocks. */
bc_status bc_measured_lay_out(const char *path, const measured_lines *lines, const bc_measured_options *options,
                              measured_table *table, bc_error *error);
/* Cut all lines at `separator` and classify them. */
bc_status bc_measured_split(measured_table *table, bc_separator separator, bc_error *error);
/* In the rows two cells at a time are one number with a decimal comma: "400,0,0,31". */
bc_status bc_measured_join_pairs(measured_table *table, bc_error *error);
/* How well the rows can be read with this decimal sign. */
typedef struct measured_score {
    size_t good; /* rows with two numbers at least, the first among them */
    size_t bad;  /* cells of rows that are no numbers */
} measured_score;
bc_status bc_measured_find_blocks(measured_table *table, bc_decimal decimal, measured_score *score, bc_error *error);
void bc_measured_table_clear(measured_table *table);

/* What the words of a header say. */
typedef enum measured_about {
    ABOUT_UNKNOWN,
    ABOUT_WAVELENGTH,
    ABOUT_NO_WAVELENGTH, /* wavenumber, frequency, energy, angstrom: an axis that is not read */
    ABOUT_VALUE,
    ABOUT_ABSORBANCE,
    ABOUT_UNCERTAINTY,
    ABOUT_OTHER, /* a limit, a design, a dark scan and so on: see `other` */
    ABOUT_RAW,   /* the signal of an instrument */
    ABOUT_ASIDE, /* the number of the row, a slit, a temperature */
} measured_about;

typedef struct measured_meaning {
    measured_about about;
    bc_quantity quantity; /* of ABOUT_VALUE and ABOUT_ABSORBANCE */
    bool names_quantity;
    bc_measured_unit unit;
    bc_wavelength_unit wavelength_unit;
    bool names_wavelength;   /* by a word, not by its unit alone */
    const char *other;       /* of ABOUT_OTHER: "a limit" */
    const char *transformed; /* "decibels"; NULL: the values are R or T themselves */
} measured_meaning;

/* `header` and the cell of the row of units below it, "" for none. */
measured_meaning bc_measured_meaning(const char *header, const char *units);
/* Whether a line's cells can be a header for rows of `width` cells; a row of nothing but units. */
bool bc_measured_is_header(const measured_table *table, size_t line, size_t width);
bool bc_measured_is_units(const measured_table *table, size_t line);

/* The columns to read. */
typedef struct measured_choice {
    size_t count;
    size_t *place;      /* [count] of the values */
    size_t *wavelength; /* [count] of the wavelengths that belong to them */
    size_t uncertainty; /* MEASURED_NONE: none */
    measured_meaning wavelength_meaning;
    measured_meaning value_meaning;
} measured_choice;

/* Whether a header or a line names a polarization ("Rs", "p-polarized"). */
bool bc_measured_says_polarization(const char *text, bc_polarization *polarization);
bc_status bc_measured_choose(const measured_table *table, const measured_block *block,
                             const bc_measured_options *options, measured_choice *choice, bc_error *error);
void bc_measured_choice_clear(measured_choice *choice);

/* One value of one scan. */
typedef struct measured_point {
    double wavelength, value, uncertainty;
    size_t scan;
    size_t line, place;
} measured_point;

/* Powers of ten that the cells are multiplied by. */
typedef struct measured_shifts {
    int wavelength, value;
} measured_shifts;

typedef struct measured_points {
    size_t count, capacity;
    measured_point *point;
    size_t scans;    /* numbered 0 to scans - 1 in the order of the file, columns within rows */
    size_t left_out; /* rows at an end with no value */
    size_t gaps, gap_capacity;
    measured_point *gap; /* between them a value is missing: wavelength, scan, line and place alone */
    bool percent;        /* a % follows every value */
    measured_choice choice;
    measured_block block; /* whose header says what the columns are */
} measured_points;

/* Read the values of every scan that is asked for, as they stand in the file but for the shifts. */
bc_status bc_measured_gather(const measured_table *table, const bc_measured_options *options, measured_shifts shifts,
                             measured_points *points, bc_error *error);
void bc_measured_points_clear(measured_points *points);

/* What the file says of quantity, angle and polarization, in the header of the columns read and in the lines around
 * the rows, into *file. Refused where it contradicts the options, or itself. */
bc_status bc_measured_conditions(const measured_table *table, const measured_points *points,
                                 const bc_measured_options *options, bc_measured_file *file, bc_error *error);

/* Refuse a line around the rows that says they are no measurement of a sample, or other numbers than file->unit; the
 * header of the columns only where it says that they were multiplied. */
bc_status bc_measured_remark(const measured_table *table, size_t line, bool header, const bc_measured_options *options,
                             bc_measured_file *file, bc_error *error);
/* Whether a line is words above or below the rows of the block: ahead of all, its own, or behind all. */
bool bc_measured_is_around(const measured_table *table, const measured_block *here, size_t line);

/* Refuse words by which the instrument or the sample was not as the options say: a wide slit, smoothing, both sides
 * coated, a larger uncertainty; and a column of larger uncertainties that nobody asked for. After the merge. */
bc_status bc_measured_settings(const measured_table *table, const measured_points *points,
                               const bc_measured_options *options, bc_measured_file *file, bc_error *error);
/* Refuse rows that a column of flags beside the values marks as none. */
bc_status bc_measured_flags(const measured_table *table, const measured_points *points,
                            const bc_measured_options *options, bc_measured_file *file, bc_error *error);

/* Sort the points (nm and fractions by now), compare the scans' wavelengths and take means. */
bc_status bc_measured_merge(const measured_table *table, measured_points *points, bc_measured_file *file,
                            bc_error *error);

#endif
