/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void add_word(words *list, const char *start, size_t length)
{
    ck_assert_uint_lt(list->count, MOST_WORDS);
    ck_assert_uint_lt(length, WORD_SIZE);
    memcpy(list->word[list->count], start, length);
    list->word[list->count++][length] = '\0';
}

size_t times_in(const words *list, const char *word)
{
    size_t times = 0;
    for (size_t i = 0; i < list->count; i++)
        times += strcmp(list->word[i], word) == 0;
    return times;
}

char *read_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    char *text;
    long size;
    ck_assert_msg(file != NULL, "no file %s", path);
    fseek(file, 0, SEEK_END);
    size = ftell(file);
    rewind(file);
    text = malloc((size_t)size + 1);
    ck_assert_ptr_nonnull(text);
    text[fread(text, 1, (size_t)size, file)] = '\0';
    fclose(file);
    return text;
}

const words *all_commands(void)
{
    static words commands;
    const char *at = expect(0, NULL, "--help").out;
    commands.count = 0;
    for (; *at != '\0'; at += strcspn(at, "\n"), at += *at == '\n')
        if (strncmp(at, "  ", 2) == 0 && at[2] >= 'a' && at[2] <= 'z')
            add_word(&commands, at + 2, strcspn(at + 2, " \n"));
    ck_assert_uint_ge(commands.count, 10);
    ck_assert_uint_le(commands.count, MOST_COMMANDS);
    return &commands;
}

void plain_line(const char *line, size_t length, char *to)
{
    ck_assert_uint_lt(length, LINE_LENGTH);
    for (size_t i = 0; i < length; i++) {
        if (line[i] != '\\') {
            *to++ = line[i];
        } else if (line[++i] == 'f') {
            i++;
        } else if (line[i] == 'e') {
            *to++ = '\\';
        } else if (line[i] != '&') {
            *to++ = line[i];
        }
    }
    *to = '\0';
}

/* Append a line of a command; one that ends in a backslash goes on in the next. */
static void add_line(block *into, const char *line)
{
    const size_t room = sizeof into->lines, length = strlen(into->lines);
    const size_t kept = strlen(line);
    const bool goes_on = kept > 0 && line[kept - 1] == '\\';
    ck_assert_uint_lt(length + kept + 2, room);
    snprintf(into->lines + length, room - length, "%.*s%s", (int)(kept - goes_on), line, goes_on ? "" : "\n");
}

static void add_about(char *about, const char *line)
{
    const size_t length = strlen(about);
    snprintf(about + length, 2 * LINE_LENGTH - length, "%s ", line);
}

static block *new_block(blocks *all, char *about)
{
    block *fresh = &all->block[all->count++];
    ck_assert_uint_le(all->count, sizeof all->block / sizeof all->block[0]);
    memset(fresh, 0, sizeof *fresh);
    strcpy(fresh->about, about);
    about[0] = '\0';
    return fresh;
}

const blocks *page_blocks(const char *path)
{
    static blocks all;
    char *text = read_file(path), about[2 * LINE_LENGTH] = "", line[LINE_LENGTH];
    const char *at = strstr(text, "\n.SH EXAMPLES\n");
    block *open = NULL;
    all.count = 0;
    for (at = at == NULL ? "" : at + 14; *at != '\0' && strncmp(at, ".SH", 3) != 0;) {
        const size_t length = strcspn(at, "\n");
        plain_line(at, length, line);
        if (strcmp(line, ".EX") == 0)
            open = new_block(&all, about);
        else if (strcmp(line, ".EE") == 0)
            open = NULL;
        else if (open != NULL)
            add_line(open, line);
        else if (line[0] != '.')
            add_about(about, line);
        at += length + (at[length] == '\n');
    }
    free(text);
    return &all;
}

const blocks *markdown_blocks(const char *path)
{
    static blocks all;
    char *text = read_file(path), about[2 * LINE_LENGTH] = "", line[LINE_LENGTH];
    bool blank = true;
    block *open = NULL;
    all.count = 0;
    for (const char *at = text; *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        const bool indented = strncmp(at, "    ", 4) == 0;
        snprintf(line, sizeof line, "%.*s", (int)length, at);
        if (indented && open == NULL && blank)
            open = new_block(&all, about);
        if (indented && open != NULL) {
            add_line(open, line + 4);
        } else {
            open = NULL;
            if (blank && length > 0)
                about[0] = '\0'; /* only the paragraph next to the block speaks of it */
            add_about(about, line);
        }
        blank = length == 0;
        at += length + (at[length] == '\n');
    }
    free(text);
    return &all;
}
