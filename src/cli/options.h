/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_OPTIONS_H
#define BLOOMCOAT_CLI_OPTIONS_H
/*
 * The command line of a command, from a table that also writes its help.
 */
#include <bloomcoat/report.h>
#include <bloomcoat/shop.h>

enum { CLI_EXIT_MET = 0, CLI_EXIT_NOT_MET = 1, CLI_EXIT_INPUT = 2, CLI_EXIT_MACHINE = 3 };

#define CLI_EXIT_CODES                                                                                                 \
    "Exit: 0 met or done, 1 not met, 2 the input or the command line is wrong, 3 the\nmachine failed.\n"

typedef struct cli_option {
    const char *name;  /* without its dashes */
    const char *value; /* what follows it, for the help; NULL: a switch */
    bool repeats;
    const char *help; /* with units and default */
} cli_option;

typedef struct cli_session cli_session;

typedef struct cli_command {
    const char *name;
    const char *operand;      /* STACK; NULL: none; in brackets: may be left out; with ... after it: one or several */
    const char *needs;        /* the options one cannot do without, for the usage line; may be NULL */
    const char *summary;      /* one sentence */
    const char *details;      /* more of them, or NULL */
    const char *example;      /* what follows the program's name in a line that works beside examples/ */
    const cli_option *option; /* ends with a name of NULL */
    bc_status (*run)(cli_session *session, bool *met, bc_error *error);
} cli_command;

/* Where an option was given. */
typedef enum cli_origin { CLI_FROM_COMMAND_LINE, CLI_FROM_REQUEST, CLI_FROM_SHOP } cli_origin;

typedef struct cli_given {
    const cli_option *option;
    const char *value;
    cli_origin origin;
    long line; /* of the request */
} cli_given;

typedef struct cli_arguments {
    const cli_command *command;
    const char *operand; /* the first one; NULL when it was left out */
    size_t operands;
    const char **all_operands; /* [operands]; free() it */
    size_t count;
    cli_given *given;    /* in the order of the command line; free() it */
    const bc_shop *shop; /* whose defaults are among them; NULL: none */
} cli_arguments;

/* `words`: what follows the command. Needs are not looked into when --help or --version is among them. */
bc_status cli_parse(const cli_command *command, int count, char *const *words, cli_arguments *arguments,
                    bc_error *error);

void cli_command_help(const cli_command *command, bc_text *out);

bool cli_has(const cli_arguments *arguments, const char *name);
bool cli_has_said(const cli_arguments *arguments, const char *name); /* on the command line itself */
/* The value of an option, or of its repetition number `which`; NULL when it was not given (so often). */
const char *cli_value(const cli_arguments *arguments, const char *name);
const char *cli_value_at(const cli_arguments *arguments, const char *name, size_t which);
bc_status cli_required(const cli_arguments *arguments, const char *name, const char **value, bc_error *error);

/* A number from `least` to `most`; *value keeps its default when the option was not given. `expected` completes the
 * sentence "found 'x'; expected ...". */
bc_status cli_number(const cli_arguments *arguments, const char *name, double least, double most, const char *expected,
                     double *value, bc_error *error);
bc_status cli_count(const cli_arguments *arguments, const char *name, unsigned long least, unsigned long most,
                    unsigned long *value, bc_error *error);
/* --runs (at most `most`), --seed and --threads; runs and seed keep their defaults when they were not given. */
bc_status cli_read_runs(const cli_arguments *arguments, unsigned long most, bc_yield_options *options, bc_error *error);
/* The place of the option's value among `words`. */
bc_status cli_choice(const cli_arguments *arguments, const char *name, size_t count, const char *const *words,
                     size_t *choice, bc_error *error);

/* The values of an option that is repeated or holds a list with commas, one string each. Release with cli_list_clear().
 */
typedef struct cli_list {
    size_t count;
    char **item;
    char *memory;
} cli_list;

bc_status cli_list_read(const cli_arguments *arguments, const char *name, cli_list *list, bc_error *error);
void cli_list_clear(cli_list *list);

/* The angles of --aoi, in radians; without it 0, step_deg, 2 step_deg, ...: `usual` of them. free() aoi_rad. */
typedef struct cli_angles {
    size_t count;
    double *aoi_rad;
} cli_angles;

bc_status cli_read_angles(const cli_arguments *arguments, size_t usual, double step_deg, cli_angles *all,
                          bc_error *error);

/* The one sentence for a value that is no good. */
bc_status cli_fail_value(bc_error *error, const char *name, const char *found, const char *remark,
                         const char *expected);
bc_status cli_parse_number(const char *name, const char *text, double least, double most, const char *expected,
                           double *value, bc_error *error);

/* " Did you mean 'x'?" for the nearest of the words, or nothing. */
const char *cli_meant(const char *word, size_t count, const char *const *choice);

#endif
