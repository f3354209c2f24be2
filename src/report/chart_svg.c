/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include "internal/text.h"
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define ID         "surface"
#define MOST_IDS   16
#define SVG_OPENED "version=\"1.1\">\n"

typedef struct renumbered {
    size_t count;
    unsigned long number[MOST_IDS]; /* as Cairo numbered them, in the order of their appearance */
} renumbered;

static size_t new_number(renumbered *seen, unsigned long number)
{
    for (size_t i = 0; i < seen->count; i++)
        if (seen->number[i] == number)
            return i + 1;
    if (seen->count < MOST_IDS)
        seen->number[seen->count++] = number;
    return seen->count;
}

static void add_escaped(bc_text *out, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '<')
            bc_text_add(out, "&lt;");
        else if (*text == '>') /* "]]>" is refused outside CDATA (XML 1.0, 2.4) */
            bc_text_add(out, "&gt;");
        else if (*text == '&')
            bc_text_add(out, "&amp;");
        else
            bc_text_add_bytes(out, text, 1);
    }
}

void bc_chart_finish_svg(const bc_text *svg, const char *title, bc_text *out)
{
    renumbered seen = {0};
    const char *rest = svg->data, *opened = svg->data == NULL ? NULL : strstr(svg->data, SVG_OPENED);
    if (opened != NULL && title[0] != '\0') {
        opened += strlen(SVG_OPENED);
        bc_text_add_bytes(out, rest, (size_t)(opened - rest));
        bc_text_add(out, "<title>");
        add_escaped(out, title);
        bc_text_add(out, "</title>\n");
        rest = opened;
    }
    while (rest != NULL && *rest != '\0') {
        const char *id = strstr(rest, ID);
        char *end;
        unsigned long number;
        if (id == NULL || !isdigit((unsigned char)id[strlen(ID)])) {
            const size_t length = id == NULL ? strlen(rest) : (size_t)(id - rest) + strlen(ID);
            bc_text_add_bytes(out, rest, length);
            rest += length;
            continue;
        }
        number = strtoul(id + strlen(ID), &end, 10);
        bc_text_add_bytes(out, rest, (size_t)(id - rest));
        bc_text_add(out, ID "%zu", new_number(&seen, number));
        rest = end;
    }
}
