/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "document.h"
#include "fixture.h"
#include "markup.h"
#include <limits.h>
#include <string.h>

static const bc_page_options html = {.format = BC_PAGE_HTML}, pdf = {.format = BC_PAGE_PDF};

/* Pages of a PDF, by their page objects. */
static size_t pages_of(const bc_text *text)
{
    static const char piece[] = "/Type /Page";
    size_t count = 0;
    for (size_t i = 0; i + sizeof piece < text->length; i++)
        count += memcmp(text->data + i, piece, sizeof piece - 1) == 0 && text->data[i + sizeof piece - 1] != 's';
    return count;
}

static bc_text written(bc_document *document, const bc_page_options *options)
{
    bc_error error = {0};
    bc_text text = {0};
    ck_assert_msg(bc_document_end(document, BC_OK, options, &text, &error) == BC_OK, "%s", error.message);
    ck_assert_ptr_null(document->block);
    return text;
}

/* Something of every kind but a picture, `rows` rows and `length` letters in one cell. */
static void fill(bc_document *document, const bc_page_options *options, size_t rows, size_t length)
{
    char *word = malloc(length + 1);
    ck_assert_ptr_nonnull(word);
    memset(word, 'w', length);
    word[length] = '\0';
    bc_document_open(document, options, "A document");
    bc_document_add(document, BC_BLOCK_VERDICT)->tone = BC_TONE_CARE;
    bc_document_cell(document, "Perhaps");
    bc_document_cell(document, "%s", word);
    bc_document_add_heading(document, "Rows");
    bc_document_add_table(document, "row>|words|code#");
    for (size_t i = 0; i < rows; i++) {
        bc_document_cell(document, "%zu", i + 1);
        bc_document_cell(document, "%s", i == rows / 2 ? word : "short");
        bc_document_cell(document, "c0de");
    }
    bc_document_add(document, BC_BLOCK_FACTS);
    bc_document_cell(document, "Length");
    bc_document_cell(document, "%zu", length);
    bc_document_add(document, BC_BLOCK_LIST);
    bc_document_cell(document, "%s", word);
    bc_document_add(document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(document, "%s", word);
    bc_document_add(document, BC_BLOCK_CAUTIONS);
    bc_document_cell(document, "Cautions");
    bc_document_cell(document, "%s", word);
    free(word);
}

START_TEST(headings_say_how_columns_are_aligned)
{
    bc_document document;
    bc_text text;
    fill(&document, &html, 1, 3);
    ck_assert_uint_eq(document.block[2].columns, 3);
    ck_assert(document.block[2].right[0] && !document.block[2].right[1] && document.block[2].code[2]);
    ck_assert_str_eq(document.block[2].cell[0].text, "row");
    ck_assert_str_eq(document.block[2].cell[2].text, "code");
    text = written(&document, &html);
    ck_assert_ptr_nonnull(strstr(text.data, "<td class=\"right\">1</td>"));
    ck_assert_ptr_nonnull(strstr(text.data, "<td class=\"code\">c0de</td>"));
    bc_text_clear(&text);
}
END_TEST

START_TEST(what_cannot_be_shown_is_escaped)
{
    bc_document document;
    bc_text text;
    markup page;
    bc_document_open(&document, &html, "A\x01\"<&>\xFF");
    bc_document_add(&document, BC_BLOCK_PARAGRAPH);
    bc_document_cell(&document, "%s", "<script>alert('x')</script> & \xEF\xBF\xBF \xC3\x28 5\u00a0nm \xE2\x80\xAEx");
    text = written(&document, &html);
    page = markup_read(text.data);
    ck_assert_uint_eq(page.scripts, 0);
    ck_assert_ptr_nonnull(strstr(page.text, "A\\x01\"<&>\\xFF"));
    ck_assert_ptr_nonnull(strstr(page.text, "<script>alert('x')</script> & \\u{FFFF} \\xC3( 5\u00a0nm \\u{202E}x"));
    free(page.text);
    bc_text_clear(&text);
}
END_TEST

/* About 55 rows fill a page; neither 400 of them nor a cell of several pages gets lost. */
START_TEST(tables_run_over_pages)
{
    bc_document document;
    bc_text text;
    size_t few, many;
    fill(&document, &pdf, 3, 10);
    text = written(&document, &pdf);
    few = pages_of(&text);
    ck_assert_uint_eq(few, 1);
    ck_assert_int_eq(memcmp(text.data, "%PDF-", 5), 0);
    bc_text_clear(&text);
    fill(&document, &pdf, 400, 10);
    text = written(&document, &pdf);
    many = pages_of(&text);
    ck_assert_uint_ge(many, 7);
    ck_assert_uint_le(many, 12);
    bc_text_clear(&text);
    fill(&document, &pdf, 3, 6000);
    text = written(&document, &pdf);
    ck_assert_uint_ge(pages_of(&text), 3);
    ck_assert_uint_le(pages_of(&text), 12);
    bc_text_clear(&text);
}
END_TEST

START_TEST(paper_has_the_size_that_was_asked_for)
{
    static const char *const box[] = {[BC_PAPER_A4] = "[ 0 0 595.27", [BC_PAPER_LETTER] = "[ 0 0 612 792 ]"};
    const bc_page_options options = {.format = BC_PAGE_PDF, .paper = (bc_page_paper)_i};
    bc_document document;
    bc_text text;
    fill(&document, &options, 1, 1);
    text = written(&document, &options);
    ck_assert_ptr_nonnull(memmem(text.data, text.length, box[_i], strlen(box[_i])));
    bc_text_clear(&text);
}
END_TEST

/* Nothing but the date that is given is a date. */
/* Set smaller until it fits; what fits at no readable size goes on to a second page. Loop: rows, A4 and Letter. */
START_TEST(one_page_takes_what_it_can)
{
    static const size_t rows[] = {3, 40, 43, 46, 200};
    bc_page_options options = pdf;
    bc_document document;
    bc_document_fit fit;
    bc_text text;
    options.paper = _i % 2 == 0 ? BC_PAPER_A4 : BC_PAPER_LETTER;
    fill(&document, &options, rows[_i / 2], 10);
    document.one_page = true;
    ck_assert_int_eq(bc_document_fit_page(&document, &options, &fit, NULL), BC_OK);
    ck_assert(fit.scale >= 0.6 - 1e-12 && fit.scale <= 1.0);
    ck_assert_int_eq(fit.scale == 1.0, _i / 2 == 0);
    text = written(&document, &options);
    ck_assert_int_eq(pages_of(&text) == 1, _i / 2 < 4);
    bc_text_clear(&text);
}
END_TEST

START_TEST(a_date_is_there_when_it_is_given)
{
    bc_page_options options = pdf;
    bc_document document;
    bc_text text;
    fill(&document, &options, 1, 1);
    text = written(&document, &options);
    ck_assert_ptr_null(memmem(text.data, text.length, "Date", 4));
    bc_text_clear(&text);
    options.date = "2026-02-28";
    fill(&document, &options, 1, 1);
    text = written(&document, &options);
    ck_assert_ptr_nonnull(memmem(text.data, text.length, "20260228", 8));
    bc_text_clear(&text);
}
END_TEST

START_TEST(a_document_survives_every_failed_allocation)
{
    const bc_page_options options = {.format = (bc_page_format)_i, .title = "T", .part = "P", .date = "2026-01-02"};
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    for (; status != BC_OK && tried < 5000; tried++) {
        bc_document document;
        bc_error error = {0};
        memory_lasts(tried);
        bc_document_open(&document, &options, "A document");
        bc_document_add(&document, BC_BLOCK_VERDICT);
        bc_document_cell(&document, "Yes");
        bc_document_add_table(&document, "a>|b");
        bc_document_cell(&document, "1");
        bc_document_cell(&document, "words");
        bc_document_tone(&document, BC_TONE_BAD);
        bc_document_add(&document, BC_BLOCK_CAUTIONS);
        bc_document_cell(&document, "Cautions");
        bc_document_cell(&document, "mind");
        status = bc_document_end(&document, BC_OK, &options, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert(status == BC_OK || (status == BC_ERROR_MEMORY && text.data == NULL));
        ck_assert_int_eq(error.status, status);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 15);
    bc_text_clear(&text);
}
END_TEST

START_TEST(formats_go_by_the_ending)
{
    static const struct {
        const char *path;
        int format; /* -1: none */
    } known[] = {{"a.html", BC_PAGE_HTML},
                 {"a/b.HTM", BC_PAGE_HTML},
                 {"a.b.pdf", BC_PAGE_PDF},
                 {"a.PDF", BC_PAGE_PDF},
                 {"a.txt", -1},
                 {"html", -1},
                 {".html", -1},
                 {"a/.pdf", -1},
                 {"a.pdf/", -1},
                 {"", -1},
                 {"a.svg", -1}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        bc_page_format format = BC_PAGE_HTML;
        bc_error error = {0};
        const bc_status status = bc_page_format_of(known[i].path, &format, &error);
        ck_assert_int_eq(status, known[i].format < 0 ? BC_ERROR_INPUT : BC_OK);
        if (status == BC_OK)
            ck_assert_int_eq((int)format, known[i].format);
        else
            ck_assert_ptr_nonnull(strstr(error.message, "expected a name that ends in .html or .pdf"));
    }
}
END_TEST

Suite *document_suite(void)
{
    Suite *suite = suite_create("document");
    TCase *tcase = tcase_create("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, headings_say_how_columns_are_aligned);
    tcase_add_test(tcase, what_cannot_be_shown_is_escaped);
    tcase_add_test(tcase, tables_run_over_pages);
    tcase_add_loop_test(tcase, paper_has_the_size_that_was_asked_for, 0, 2);
    tcase_add_loop_test(tcase, one_page_takes_what_it_can, 0, 10);
    tcase_add_test(tcase, a_date_is_there_when_it_is_given);
    tcase_add_loop_test(tcase, a_document_survives_every_failed_allocation, 0, 2);
    tcase_add_test(tcase, formats_go_by_the_ending);
    suite_add_tcase(suite, tcase);
    return suite;
}
