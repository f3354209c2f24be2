/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_COMMAND_H
#define BLOOMCOAT_DESK_COMMAND_H
/*
 * A command line of this program from what a page asks for, and nothing but what is listed here.
 *
 * The page sends {"command": "check", "options": [["callout", "R<1%@550nm"], ["json", null]], "operands":
 * ["stack.csv"], "files": {"stack.csv": BASE64}, "results": ["picture.svg"]}. Of a file it gives the contents and a
 * plain name: operands and options that name files name one of "files" or of "results", which lie in the job's own
 * folder. --tables and --shop are the desk's.
 */
#include "desk.h"
#include "folder.h"
#include <cjson/cJSON.h>

#define DESK_MOST_WORDS 128
#define DESK_MOST_FILES 64

typedef struct desk_command {
    const char *name; /* of the list here */
    bool slow;        /* may take minutes, and reports its progress; an interrupt ends it with the best so far */
    size_t words;
    char *word[DESK_MOST_WORDS + 1]; /* as for exec(): the first is "bloomcoat", the last NULL */
    size_t operands;                 /* the word after the "--" behind the options */
    size_t results;
    const char *result[DESK_MOST_FILES]; /* names of files it writes; of the request */
    size_t files;
    const char *file[DESK_MOST_FILES];     /* names of files it reads; of the request */
    const char *contents[DESK_MOST_FILES]; /* decoded in the place of the request's own text */
    size_t length[DESK_MOST_FILES];
} desk_command;

/* The bytes of a file of a request, in the place of their base64 text. */
const char *desk_file_contents(const cJSON *item, size_t *length);

/* BC_ERROR_INPUT for whatever is not on the list. `request` must outlive the command. */
bc_status desk_command_make(const cJSON *request, const desk_options *options, desk_command *command, bc_error *error);
void desk_command_clear(desk_command *command);
/* The command as one would type it into a shell, where the files lie; without what a page alone needs (--json,
 * --as-found). */
bc_status desk_command_line(const desk_command *command, bc_text *out, bc_error *error);

#endif
