/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_HOME_H
#define TEST_HOME_H
/*
 * Whether what people read is true: man pages, help, README and the tables' sources against the program and its files.
 */
#include "answer.h"

#define MAN_DIR       BC_SOURCE_DIR "/src/man"
#define MOST_COMMANDS 20
#define MOST_WORDS    600
#define WORD_SIZE     120
#define LINE_LENGTH   1000

/* A list of words with no allocation to release. */
typedef struct words {
    size_t count;
    char word[MOST_WORDS][WORD_SIZE];
} words;

void add_word(words *list, const char *start, size_t length);
size_t times_in(const words *list, const char *word);

/* The bytes of a text file; free() it. */
char *read_file(const char *path);

/* The commands that --help lists. */
const words *all_commands(void);

/* A line of a man page as it is shown: without fonts and escapes. `to` holds LINE_LENGTH bytes. */
void plain_line(const char *line, size_t length, char *to);

/* A text as commands of a shell: the lines of its blocks, with the words ahead of each block. */
typedef struct block {
    char about[2 * LINE_LENGTH]; /* the paragraph before it */
    char lines[4 * LINE_LENGTH]; /* continued lines joined */
} block;

typedef struct blocks {
    size_t count;
    block block[60];
} blocks;

/* The .EX blocks of a page's EXAMPLES; the blocks of a Markdown text that are indented by four blanks. */
const blocks *page_blocks(const char *path);
const blocks *markdown_blocks(const char *path);

/* Run one line by a shell in the scratch folder, where examples/ and materials/ lie as in the project's folder, and
 * bloomcoat is on the path. What it said to standard error stays valid until the next call. */
int shell(const char *line, const char **complaint);

Suite *options_suite(void);
Suite *fields_suite(void);
Suite *examples_suite(void);
Suite *formats_suite(void);
Suite *sources_suite(void);
Suite *theory_suite(void);
Suite *terminal_suite(void);
Suite *customer_suite(void);

#endif
