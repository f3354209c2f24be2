/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_MARKUP_H
#define BLOOMCOAT_TEST_MARKUP_H
/*
 * A page as a parser of XML sees it (expat).
 */
#include <check.h>
#include <expat.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define MARKUP_TEXT 400000

typedef struct markup {
    char *text; /* of the body, each element's followed by a blank; free() it */
    size_t length, elements, pictures, scripts, rows;
    bool refers_outside; /* a src or href that is no fragment of the page itself */
    bool in_body;
} markup;

static inline void markup_start(void *context, const XML_Char *name, const XML_Char **attribute)
{
    markup *page = context;
    page->elements++;
    page->pictures += strcmp(name, "svg") == 0;
    page->scripts += strcmp(name, "script") == 0;
    page->rows += strcmp(name, "tr") == 0;
    page->in_body = page->in_body || strcmp(name, "body") == 0;
    for (size_t i = 0; attribute[i] != NULL; i += 2) {
        const char *link = strstr(attribute[i], "href");
        if (strcmp(attribute[i], "src") == 0 || (link != NULL && attribute[i + 1][0] != '#'))
            page->refers_outside = true;
    }
}

static inline void markup_text(void *context, const XML_Char *text, int length)
{
    markup *page = context;
    if (!page->in_body || page->length + (size_t)length + 2 > MARKUP_TEXT)
        return;
    memcpy(page->text + page->length, text, (size_t)length);
    page->length += (size_t)length;
}

static inline void markup_end(void *context, const XML_Char *name)
{
    (void)name;
    markup_text(context, " ", 1);
}

/* The test fails when it is not well-formed. */
static inline markup markup_read(const char *html)
{
    markup page = {.text = calloc(1, MARKUP_TEXT)};
    XML_Parser parser = XML_ParserCreate("UTF-8");
    ck_assert_ptr_nonnull(page.text);
    XML_SetUserData(parser, &page);
    XML_SetElementHandler(parser, markup_start, markup_end);
    XML_SetCharacterDataHandler(parser, markup_text);
    ck_assert_msg(XML_Parse(parser, html, (int)strlen(html), 1) == XML_STATUS_OK, "line %lu: %s",
                  XML_GetCurrentLineNumber(parser), XML_ErrorString(XML_GetErrorCode(parser)));
    XML_ParserFree(parser);
    ck_assert_uint_lt(page.length + 2, MARKUP_TEXT);
    return page;
}

/* Every number that stands in a text report stands in the page, digit for digit. */
static inline void expect_numbers_of(const char *report, const char *page)
{
    size_t numbers = 0;
    while (*(report += strcspn(report, "0123456789")) != '\0') {
        size_t length = strspn(report, "0123456789.");
        char number[64];
        ck_assert_uint_lt(length, sizeof number);
        for (size_t i = 0; i + 1 < length; i++)
            length = report[i] == '.' && report[i + 1] == '.' ? i : length; /* "420..680" */
        memcpy(number, report, length);
        while (length > 0 && number[length - 1] == '.')
            length--;
        number[length] = '\0';
        ck_assert_msg(strstr(page, number) != NULL, "%s is not in the page", number);
        numbers++;
        report += length;
    }
    ck_assert_uint_gt(numbers, 10);
}

#endif
