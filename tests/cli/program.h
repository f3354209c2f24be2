/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_PROGRAM_H
#define BLOOMCOAT_TEST_PROGRAM_H
/*
 * Running the program itself, as a person at a shell does, in the scratch folder.
 */
#include "many_or_few.h"
#include "scratch.h"
#include <stdbool.h>
#include <sys/types.h>

/* What it left behind. The texts live until the next run but two. */
typedef struct outcome {
    int code; /* exit code; -1: ended by a signal */
    const char *out;
    const char *err;
} outcome;

/* `line` is cut at its blanks, as a shell does without quotes. */
outcome run(const char *line);

/* What may be different about a run. */
typedef struct circumstances {
    const char *standard_output; /* a path to append to instead; "-": closed */
    long file_size;              /* the most bytes a file may get; -1: any */
    const char *materials;       /* $BLOOMCOAT_TABLES; NULL: not set */
    bool closed_error;           /* standard error is */
    const char *folder;          /* to work in; NULL: the scratch folder */
} circumstances;

outcome run_in(const circumstances *around, const char *line);
/* Words as they are, up to a NULL: for names with blanks in them. */
outcome run_words(const circumstances *around, const char *const *words);

/* Begin a run of a line and one word more; its texts stay beside the scratch folder. The caller waits for it. */
pid_t run_start(const circumstances *around, const char *line, const char *name);

/* As run(), and so long after its start something else happens. */
outcome run_while(const char *line, long microseconds, void (*meanwhile)(void));

/* As run(), with an interrupt (as by the keyboard) after so many seconds. */
outcome interrupt_after(unsigned seconds, const char *line);

/* As run(), with so many signals, each so long after the one before. */
outcome signal_after(int signal_number, int times, long microseconds, const char *line);

/* Run and fail the test unless it ended with `code` and its messages contain the piece (NULL: any). */
outcome expect(int code, const char *piece, const char *line);

/* stack.csv, bare.csv, callouts.csv (which a good coating meets), hard.csv (which none meets), part.csv */
void write_inputs(void);

/* The bytes of a file in the scratch folder. Valid until the next run but two. */
const char *content(const char *name);
bool exists(const char *name);
/* The files in the scratch folder. */
size_t count_files(void);

/* How many of a loop's runs to make where only names, locales and places differ: a few of them under the sanitizers,
 * which such runs show nothing new. */
static inline int few_if_sanitized(int count)
{
    return MANY_OR_FEW(count, count < 4 ? count : 4);
}

/* Which of `count` kinds the loop at `i` looks at: all, or one in turn under the sanitizers. */
static inline bool is_looked_at(int kind, int i, int count)
{
    return MANY_OR_FEW(true, false) || kind == i % count;
}

Suite *command_line_suite(void);
Suite *results_suite(void);
Suite *files_suite(void);
Suite *places_suite(void);
Suite *bounds_suite(void);
Suite *written_suite(void);
Suite *yield_suite(void);
Suite *quote_suite(void);
Suite *deposit_suite(void);
Suite *inspect_suite(void);
Suite *inspect_wrong_suite(void);
Suite *scan_options_suite(void);
Suite *streams_suite(void);
Suite *options_suite(void);
Suite *lens_suite(void);
Suite *cli_plot_suite(void);
Suite *cli_page_suite(void);
Suite *cli_callouts_suite(void);
Suite *cli_shop_suite(void);
Suite *cli_index_suite(void);
Suite *cli_request_suite(void);
Suite *cli_standard_suite(void);
Suite *cli_record_suite(void);
Suite *cli_changes_suite(void);
Suite *cli_reference_suite(void);

#endif
