/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RECORD_H
#define BLOOMCOAT_RECORD_H
/*
 * The shop's record: what was quoted, designed and inspected, with every file it was made from and every file that came
 * of it, in one SQLite database.
 *
 * Files are kept once, under their SHA-256. An entry is written in one transaction: its number is counted up in it, so
 * two who write at once get two numbers, and of a program that is killed the record has all of an entry or nothing. The
 * database keeps a write-ahead log (record.db-wal beside it while it is open or after a kill), synchronized at every
 * commit. It must lie on a disk of this machine: several machines that write over a network can damage it (SQLite's
 * documentation of write-ahead logging; from memory).
 *
 * Not for several threads. Text is UTF-8; the shop's paths are kept as they were given.
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

#define BC_RECORD_NUMBER_SIZE 24
#define BC_RECORD_DATE_SIZE   16
#define BC_RECORD_SCHEMA      2 /* the version of the tables that this program writes */

typedef enum bc_record_kind {
    BC_RECORD_QUOTE,      /* Q-0001 */
    BC_RECORD_DESIGN,     /* D-0001 */
    BC_RECORD_INSPECTION, /* I-0001 */
    BC_RECORD_INDEX,      /* N-0001 */
    BC_RECORD_KINDS
} bc_record_kind;

/* "quote", "design", "inspection", "index". */
const char *bc_record_kind_name(bc_record_kind kind);

typedef struct bc_record bc_record;

/* Open the record at `path`; `create`: make it where there is none. The tables of an older program are brought up to
 * date. BC_ERROR_INPUT for what is no record, or one of a newer program. Close it in any case. */
bc_status bc_record_open(const char *path, bool create, bc_record **record, bc_error *error);
/* What was begun and not committed is undone. `record` may be NULL. */
void bc_record_close(bc_record *record);

/* ---- writing an entry: begin, add, commit ---- */

/* A command as it was given. */
typedef struct bc_record_command {
    bc_record_kind kind;
    const char *date;    /* YYYY-MM-DD */
    const char *version; /* of the program */
    const char *subject; /* what it is about, in a few words; may be empty */
    const char *tables;  /* the folder of the installed tables; NULL: there was none */
    bool color;
    size_t words;
    const char *const *word; /* of the command line, the command's name first */
} bc_record_command;

/* Begin an entry: from here until its commit nobody else writes. Its number is the largest of its kind and 1, at least
 * `first`. Waits up to 30 s for another who writes. */
bc_status bc_record_begin(bc_record *record, const bc_record_command *command, unsigned long first,
                          char number[BC_RECORD_NUMBER_SIZE], bc_error *error);
/* A file that was read; bytes NULL: a folder. */
bc_status bc_record_add_input(bc_record *record, const char *path, const char *bytes, size_t length, bc_error *error);
/* A file that was written; path NULL: the standard output. */
bc_status bc_record_add_output(bc_record *record, const char *path, const char *bytes, size_t length, bc_error *error);
/* A variable of the environment that counted. */
bc_status bc_record_add_setting(bc_record *record, const char *name, const char *value, bc_error *error);

/* What was asked for, of a quote. */
typedef struct bc_record_callout {
    size_t surface; /* from 1 */
    const char *surface_name, *name, *words, *substrate;
} bc_record_callout;

/* What was answered, of one surface. NAN where it is not known. */
typedef struct bc_record_quote {
    size_t surface;
    const char *surface_name, *verdict;
    double limit_used, yield, yield_low, yield_high, hours;
} bc_record_quote;

typedef struct bc_record_layer {
    size_t surface, layer; /* both from 1; layer 1 is next to the substrate */
    const char *material;
    double thickness_nm;
} bc_record_layer;

/* A run of the chamber as its witness was inspected. */
typedef struct bc_record_run_layer {
    char *material;
    double design_nm, fitted_nm, fitted_sigma_nm;
    double tooling; /* that it was made with; NAN: not known */
    bool against;   /* its material comes out thin where others come out thick */
    double pull;    /* per nm; see bc_inspect_result */
} bc_record_run_layer;

typedef struct bc_record_run_material {
    char *name;
    double factor, factor_sigma, dn, dn_sigma; /* dn: NAN where no index was fitted */
} bc_record_run_material;

typedef struct bc_record_run_finding {
    char *name;
    double value, limit, limit_used;
} bc_record_run_finding;

typedef struct bc_record_run {
    char number[BC_RECORD_NUMBER_SIZE], date[BC_RECORD_DATE_SIZE]; /* of its inspection; not read when it is added */
    size_t witness;                                                /* of its inspection, from 1 */
    char *path, *verdict;
    double limit_used;          /* the largest of the findings; NAN: none */
    double scale, scale_sigma;  /* thickness over the design's */
    double of_instrument;       /* of <bloomcoat/learn.h> */
    size_t layers;              /* 0: the inspection says nothing of them */
    bc_record_run_layer *layer; /* [layers] layer 1, next to the substrate, first */
    double *information;        /* [layers * layers] per nm^2, in the same order */
    size_t materials;           /* 0: recorded with tables of version 1, which had no layers */
    bc_record_run_material *material;
    size_t findings;
    bc_record_run_finding *finding;
} bc_record_run;

/* A layer material that was measured. */
typedef struct bc_record_index {
    size_t piece; /* from 1 */
    double thickness_nm, thickness_sigma_nm;
} bc_record_index;

bc_status bc_record_add_callout(bc_record *record, const bc_record_callout *callout, bc_error *error);
bc_status bc_record_add_quote(bc_record *record, const bc_record_quote *quote, bc_error *error);
bc_status bc_record_add_layer(bc_record *record, const bc_record_layer *layer, bc_error *error);
bc_status bc_record_add_run(bc_record *record, const bc_record_run *run, bc_error *error);
bc_status bc_record_add_index(bc_record *record, const bc_record_index *index, bc_error *error);

bc_status bc_record_commit(bc_record *record, int exit_code, const char *verdict, bc_error *error);

/* ---- reading ---- */

typedef struct bc_record_line {
    char number[BC_RECORD_NUMBER_SIZE], date[BC_RECORD_DATE_SIZE];
    char *kind, *command, *subject, *verdict, *version;
    int exit_code;
} bc_record_line;

typedef struct bc_record_list {
    size_t count;
    bc_record_line *line; /* [count] in the order they were written */
} bc_record_list;

/* Every entry; with `words` (not NULL) those that have it, upper or lower case, in number, date, verdict, subject,
 * command line, callouts, names of inputs, or the text of a result. */
bc_status bc_record_list_read(bc_record *record, const char *words, bc_record_list *list, bc_error *error);
void bc_record_list_clear(bc_record_list *list);

typedef struct bc_record_file {
    char *path;  /* NULL: the standard output */
    char *bytes; /* NULL: a folder */
    size_t length;
    char sha256[BC_SHA256_SIZE];
} bc_record_file;

typedef struct bc_record_setting {
    char *name, *value;
} bc_record_setting;

/* A whole entry. */
typedef struct bc_record_entry {
    bc_record_line line;
    char *tables; /* NULL: none were installed */
    bool color;
    size_t words, settings, inputs, outputs;
    char **word;
    bc_record_setting *setting;
    bc_record_file *input, *output;
} bc_record_entry;

/* BC_ERROR_INPUT where the record has no such number. */
bc_status bc_record_entry_read(bc_record *record, const char *number, bc_record_entry *entry, bc_error *error);
void bc_record_entry_clear(bc_record_entry *entry);

/* Every run of every inspection, in the order they were recorded. */
typedef struct bc_record_runs {
    size_t count;
    bc_record_run *run;
} bc_record_runs;

bc_status bc_record_runs_read(bc_record *record, bc_record_runs *runs, bc_error *error);
void bc_record_runs_clear(bc_record_runs *runs);

/* What a check of the whole record found. */
typedef struct bc_record_check {
    size_t entries, files;
    double bytes;
    size_t faults; /* 0: all is as it was written */
    char **fault;  /* [faults] a sentence each */
} bc_record_check;

/* The database's own integrity check, its references, and every file's bytes against its SHA-256. */
bc_status bc_record_check_all(bc_record *record, bc_record_check *check, bc_error *error);
void bc_record_check_clear(bc_record_check *check);

BC_API_END

#endif
