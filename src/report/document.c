/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/document.h"
#include "escaped.h"
#include "internal/lettering.h"
#include <bloomcoat/version.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define NO_BREAK_SPACE "\u00a0" /* ours, between a number and its unit; bc_escaped_copy() would escape it */

bc_status bc_page_format_of(const char *path, bc_page_format *format, bc_error *error)
{
    static const struct {
        const char *ending;
        bc_page_format format;
    } known[] = {{".html", BC_PAGE_HTML}, {".htm", BC_PAGE_HTML}, {".pdf", BC_PAGE_PDF}};
    const size_t length = strlen(path);
    char shown[BC_ESCAPED_PATH_SIZE];
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        const size_t last = strlen(known[i].ending);
        if (length > last && path[length - last - 1] != '/' && strcasecmp(path + length - last, known[i].ending) == 0) {
            *format = known[i].format;
            return BC_OK;
        }
    }
    return bc_fail(error, BC_ERROR_INPUT, "%s: found no report's ending; expected a name that ends in .html or .pdf",
                   bc_escaped_path(path, shown));
}

const char *bc_document_maker(void)
{
    return "bloomcoat " BC_VERSION;
}

/* The text with everything escaped that could not be shown, but for no-break spaces. */
static char *clean(bc_document *document, const char *text)
{
    bc_text whole = {0};
    bc_text_add(&whole, "%s", "");
    while (*text != '\0') {
        const char *space = strstr(text, NO_BREAK_SPACE);
        const size_t length = space == NULL ? strlen(text) : (size_t)(space - text);
        char *piece = strndup(text, length);
        if (piece == NULL)
            whole.failed = true;
        else
            bc_text_add_plain(&whole, piece);
        free(piece);
        text += length;
        if (space != NULL) {
            bc_text_add(&whole, NO_BREAK_SPACE);
            text += strlen(NO_BREAK_SPACE);
        }
    }
    if (whole.failed) {
        document->failed = true;
        bc_text_clear(&whole);
    }
    return whole.data;
}

void bc_document_open(bc_document *document, const bc_page_options *options, const char *title)
{
    *document = (bc_document){0};
    document->title = clean(document, options->title == NULL || options->title[0] == '\0' ? title : options->title);
    if (options->part != NULL && options->part[0] != '\0')
        document->part = clean(document, options->part);
    if (options->date != NULL)
        document->date = clean(document, options->date);
}

static void clear(bc_document *document)
{
    for (size_t b = 0; b < document->blocks; b++) {
        bc_block *block = &document->block[b];
        for (size_t c = 0; c < block->cells; c++)
            free(block->cell[c].text);
        free(block->cell);
        bc_chart_clear(&block->chart);
    }
    free(document->block);
    free(document->title);
    free(document->part);
    free(document->date);
    *document = (bc_document){0};
}

/* Room for one more of `count` things of `size` bytes; NULL and a failed document when there is none. */
static void *grow(bc_document *document, void *array, size_t count, size_t *capacity, size_t size)
{
    const size_t more = *capacity == 0 ? 16 : 2 * *capacity;
    void *larger;
    if (document->failed || count < *capacity)
        return document->failed ? NULL : array;
    larger = realloc(array, more * size);
    if (larger == NULL)
        document->failed = true;
    else
        *capacity = more;
    return larger;
}

bc_block *bc_document_add(bc_document *document, bc_block_kind kind)
{
    bc_block *block = grow(document, document->block, document->blocks, &document->capacity, sizeof *block);
    if (block == NULL)
        return NULL;
    document->block = block;
    block = &document->block[document->blocks++];
    *block = (bc_block){.kind = kind, .columns = 1};
    return block;
}

/* Takes `text`, which is clean. */
static void append(bc_document *document, char *text)
{
    bc_block *block = document->blocks == 0 ? NULL : &document->block[document->blocks - 1];
    bc_cell *cell = block == NULL || text == NULL
                        ? NULL
                        : grow(document, block->cell, block->cells, &block->capacity, sizeof *cell);
    if (cell == NULL) {
        document->failed = true;
        free(text);
        return;
    }
    block->cell = cell;
    block->cell[block->cells++] = (bc_cell){.text = text};
}

void bc_document_cell(bc_document *document, const char *format, ...)
{
    va_list arguments;
    char *text = NULL;
    va_start(arguments, format);
    if (document->failed || vasprintf(&text, format, arguments) < 0) {
        text = NULL;
        document->failed = true;
    }
    va_end(arguments);
    if (text != NULL)
        append(document, clean(document, text));
    free(text);
}

void bc_document_tone(bc_document *document, bc_tone tone)
{
    bc_block *block = document->failed ? NULL : &document->block[document->blocks - 1];
    if (block != NULL && block->cells > 0)
        block->cell[block->cells - 1].tone = tone;
}

void bc_document_take(bc_document *document, bc_text *words)
{
    if (words->failed)
        document->failed = true;
    else
        bc_document_cell(document, "%s", words->data == NULL ? "" : words->data);
    bc_text_clear(words);
}

void bc_document_take_lines(bc_document *document, bc_text *lines)
{
    document->failed = document->failed || lines->failed;
    for (char *line = lines->data, *end; line != NULL && *line != '\0'; line = end) {
        end = line + strcspn(line, "\n");
        if (*end == '\n')
            *end++ = '\0';
        bc_document_cell(document, "%s", line);
    }
    bc_text_clear(lines);
}

void bc_document_add_heading(bc_document *document, const char *heading)
{
    bc_document_add(document, BC_BLOCK_HEADING);
    bc_document_cell(document, "%s", heading);
}

void bc_document_section(bc_document *document, const char *heading, bc_text *lines)
{
    document->failed = document->failed || lines->failed;
    if (lines->length == 0)
        return;
    bc_document_add_heading(document, heading);
    bc_document_add(document, BC_BLOCK_LIST);
    bc_document_take_lines(document, lines);
}

void bc_document_add_table(bc_document *document, const char *headings)
{
    bc_block *block = bc_document_add(document, BC_BLOCK_TABLE);
    size_t columns = 0;
    bool more = block != NULL;
    while (more) {
        const size_t length = strcspn(headings, "|"), words = strcspn(headings, "|>#");
        block->right[columns] = headings[words] == '>';
        block->code[columns] = headings[words] == '#';
        columns++;
        bc_document_cell(document, "%.*s", (int)words, headings);
        more = headings[length] == '|' && columns < BC_DOCUMENT_COLUMNS;
        headings += length + 1;
    }
    if (block != NULL)
        block->columns = columns;
}

void bc_document_take_table(bc_document *document, bc_table *table)
{
    bc_block *block = bc_document_add(document, BC_BLOCK_TABLE);
    document->failed = document->failed || table->failed;
    if (block != NULL) {
        block->columns = table->columns;
        memcpy(block->right, table->right, sizeof table->right);
    }
    for (size_t i = 0; i < table->rows * table->columns; i++)
        bc_document_cell(document, "%s", table->cell[i / table->columns][i % table->columns]);
    free(table->cell);
    *table = (bc_table){0};
}

bc_status bc_document_end(bc_document *document, bc_status status, const bc_page_options *options, bc_text *out,
                          bc_error *error)
{
    if (status == BC_OK && document->failed)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = bc_pen_reserve(error);
    if (status == BC_OK)
        status = options->format == BC_PAGE_HTML ? bc_document_html(document, options, out, error)
                                                 : bc_document_pdf(document, options, out, error);
    clear(document);
    if (status != BC_OK) {
        bc_text_clear(out);
        return status;
    }
    return bc_text_end(out, error);
}
