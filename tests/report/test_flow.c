/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where text stands on the pages of a PDF: within its line, and as many lines to a page as its height allows.
 */
#include "chart_draw.h"
#include "fixture.h"
#include "flow.h"
#include <string.h>

/* What is drawn lies in the rectangle of the line it belongs to, which is of the letters' height and begins at y, and
 * ends or begins at x as it is aligned. Loop: small letters and large ones, each in three alignments. */
START_TEST(letters_stand_within_their_line)
{
    static const bc_letters letters[] = {{.size = 9.0}, {.size = 17.0, .bold = true}, {.size = 6.0, .code = true}};
    const bc_letters these = letters[_i / 3];
    const bc_pen_align align = (bc_pen_align)(_i % 3);
    const double x = 300.0, y = 200.0, near = 0.15 * these.size; /* the blank beside a letter */
    cairo_surface_t *paper = cairo_recording_surface_create(CAIRO_CONTENT_ALPHA, NULL);
    bc_flow flow = {.cairo = cairo_create(paper)};
    bc_lines lines;
    double left, top, width, height, second;
    bc_chart_set_letters(flow.cairo);
    bc_flow_break(&flow, these, "Hjgp and some words Hjgp and less",
                  bc_flow_text_width(&flow, these, "Hjgp and some words") + 0.1, &lines);
    second = bc_flow_text_width(&flow, these, "Hjgp and less");
    ck_assert_uint_eq(lines.count, 2);
    bc_flow_write(&flow, these, &lines, 2, x, 10.0, align); /* there is no third: nothing */
    bc_flow_write(&flow, these, &lines, 1, x, y, align);
    cairo_recording_surface_ink_extents(paper, &left, &top, &width, &height);
    ck_assert_double_ge(top, y);
    ck_assert_double_le(top + height, y + BC_LINE_HEIGHT * these.size);
    ck_assert_double_ge(height, 0.9 * these.size); /* from the top of H to the foot of g */
    ck_assert_double_le(height, these.size + 2.0); /* Cairo rounds it out to whole points */
    ck_assert_double_eq_tol(width, second, 2.0 * near);
    if (align == BC_PEN_LEFT)
        ck_assert_double_eq_tol(left, x, near);
    else if (align == BC_PEN_RIGHT)
        ck_assert_double_eq_tol(left + width, x, near);
    else
        ck_assert_double_eq_tol(left + 0.5 * width, x, near);
    bc_lines_clear(&lines);
    bc_text_clear(&flow.scratch);
    cairo_destroy(flow.cairo);
    cairo_surface_destroy(paper);
}
END_TEST

/* Pages of a PDF of A4 paper, `rows` times what `kind` is, of one short line each, and a signature below it or none. */
static size_t pages(bc_block_kind kind, size_t rows, bool signature)
{
    static const char page[] = "/Type /Page";
    const bc_page_options options = {.format = BC_PAGE_PDF, .paper = BC_PAPER_A4};
    bc_document document;
    bc_text text = {0};
    size_t count = 0;
    bc_document_open(&document, &options, "A document");
    for (size_t i = 0; i < rows; i++) {
        if (i == 0 || kind == BC_BLOCK_PARAGRAPH)
            ck_assert_ptr_nonnull(bc_document_add(&document, kind));
        if (kind == BC_BLOCK_FACTS)
            bc_document_cell(&document, "Length");
        bc_document_cell(&document, "short");
    }
    if (signature) {
        ck_assert_ptr_nonnull(bc_document_add(&document, BC_BLOCK_SIGNATURE));
        bc_document_cell(&document, "Date");
    }
    ck_assert_int_eq(bc_document_end(&document, BC_OK, &options, &text, NULL), BC_OK);
    for (size_t i = 0; i + sizeof page < text.length; i++)
        count += memcmp(text.data + i, page, sizeof page - 1) == 0 && text.data[i + sizeof page - 1] != 's';
    bc_text_clear(&text);
    return count;
}

#define LINE       (1.38 * 9.0)                                                /* of the body's letters */
#define BELOW_HEAD ((297.0 - 19.0 - 21.0) * 72.0 / 25.4 - (1.38 * 17.0 + 5.0)) /* A4 less its margins and a title */

/* A page takes as many as fit into its height, gaps and all, and not one more: a gap that is lost or doubled moves the
 * end of the page by more than one of them. */
START_TEST(a_page_takes_as_many_as_its_height_allows)
{
    static const struct {
        bc_block_kind kind;
        double each;
        double needed; /* to begin another */
    } rows[] = {{BC_BLOCK_PARAGRAPH, LINE + 3.0, LINE},
                {BC_BLOCK_LIST, LINE + 2.5, 2.0 * LINE},
                {BC_BLOCK_FACTS, LINE + 1.0, 2.0 * LINE}};
    const size_t most = 1 + (size_t)((BELOW_HEAD - rows[_i].needed) / rows[_i].each);
    ck_assert_uint_eq(pages(rows[_i].kind, most, false), 1);
    ck_assert_uint_eq(pages(rows[_i].kind, most + 1, false), 2);
}
END_TEST

/* Room to sign, and the words below the line: a signature that would stand at the very end of a page goes on to the
 * next. 30 above the line and 2 lines are asked for. */
START_TEST(a_signature_keeps_its_room)
{
    const size_t most = (size_t)((BELOW_HEAD - 30.0 - 2.0 * LINE) / (LINE + 3.0));
    const double left = BELOW_HEAD - (double)(most + 1) * (LINE + 3.0);
    ck_assert_double_gt(left, 30.0 + 2.0 + LINE); /* it would have fitted, but for the second line */
    ck_assert_uint_eq(pages(BC_BLOCK_PARAGRAPH, most, true), 1);
    ck_assert_uint_eq(pages(BC_BLOCK_PARAGRAPH, most + 1, false), 1);
    ck_assert_uint_eq(pages(BC_BLOCK_PARAGRAPH, most + 1, true), 2);
}
END_TEST

/* Three columns: what is short takes no more than its words and gaps of 11, what would fill 0.6 of the page is
 * stretched to the whole of it, and what is too wide is broken until it fits. The rule below a row is as wide as the
 * table. Loop: words in a cell. */
START_TEST(a_table_is_as_wide_as_its_words_or_the_page)
{
    static const size_t words[] = {1, 6, 60, 300};
    const double page_left = 60.0, page_right = 560.0;
    const bc_page_options options = {.format = BC_PAGE_PDF};
    cairo_surface_t *paper = cairo_recording_surface_create(CAIRO_CONTENT_ALPHA, NULL);
    bc_flow flow = {
        .cairo = cairo_create(paper), .left = page_left, .right = page_right, .top = 10.0, .bottom = 5000.0, .y = 10.0};
    double left, top, width, height, natural;
    bc_document document;
    bc_text text = {0};
    bc_chart_set_letters(flow.cairo);
    for (size_t i = 0; i < words[_i]; i++)
        bc_text_add(&text, i == 0 ? "word" : " word");
    bc_document_open(&document, &options, "A document");
    bc_document_add_table(&document, "a|b|c");
    for (size_t i = 0; i < 6; i++)
        bc_document_cell(&document, "%s", text.data);
    flow.document = &document;
    natural = 3.0 * bc_flow_text_width(&flow, (bc_letters){.size = 7.8}, text.data);
    bc_flow_table(&flow, &document.block[0]);
    cairo_recording_surface_ink_extents(paper, &left, &top, &width, &height);
    ck_assert_double_eq_tol(left, page_left, 1.0);
    ck_assert_double_eq_tol(left + width, _i == 0 ? page_left + natural + 5.0 * 11.0 : page_right, 2.0);
    ck_assert(_i != 1 || (natural > 0.6 * 500.0 && natural < 500.0 - 22.0));
    ck_assert(_i < 2 || natural > 500.0);
    ck_assert_double_le(top + height, flow.y);
    bc_text_clear(&text);
    bc_document_end(&document, BC_ERROR_INPUT, &options, &text, NULL); /* released only */
    bc_text_clear(&flow.scratch);
    cairo_destroy(flow.cairo);
    cairo_surface_destroy(paper);
}
END_TEST

Suite *flow_suite(void)
{
    Suite *suite = suite_create("flow");
    TCase *tcase = tcase_create("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_loop_test(tcase, letters_stand_within_their_line, 0, 9);
    tcase_add_loop_test(tcase, a_table_is_as_wide_as_its_words_or_the_page, 0, 4);
    tcase_add_loop_test(tcase, a_page_takes_as_many_as_its_height_allows, 0, 3);
    tcase_add_test(tcase, a_signature_keeps_its_room);
    suite_add_tcase(suite, tcase);
    return suite;
}
