/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include "internal/document.h"
#include "internal/flow.h"
#include <cairo-pdf.h>
#include <math.h>
#include <string.h>

#define SIDE_MM     18.0
#define TOP_MM      19.0
#define BOTTOM_MM   21.0
#define TEXT_SIZE   9.0
#define TITLE_SIZE  17.0
#define LARGE_SIZE  17.0
#define BAR         7.0  /* width of the bar beside a verdict */
#define INDENT      11.0 /* of a list's items */
#define HAIR        0.01 /* what was measured to fit is not broken by rounding */
#define FACT_GAP    14.0
#define AFTER_HEAD  108.0 /* a heading stays with so much of what it heads */
#define HIGHEST     0.52  /* of a page: a higher picture is drawn flatter, */
#define LEAST_SCALE 0.7   /* but not flatter than this */
#define SMALLEST    0.6   /* scale of what is to fit on one page, in steps of */
#define STEP        0.05
#define PANEL_MM    34.0 /* least height of a picture on such a page, for each of its panels, */
#define KEYS_MM     9.0  /* and for its key */
#define SIGNATURE   30.0 /* room to sign above a line */

static const bc_letters body = {.size = TEXT_SIZE};

static void draw_title(bc_flow *flow)
{
    bc_flow_tone(flow, BC_TONE_PLAIN);
    bc_flow_paragraph(flow, (bc_letters){.size = TITLE_SIZE, .bold = true}, flow->document->title, flow->left,
                      flow->right);
    flow->y += 5.0;
}

static void draw_heading(bc_flow *flow, const char *text)
{
    const bc_letters letters = {.size = 11.0, .bold = true};
    bc_flow_space(flow, 13.0);
    bc_flow_need(flow, AFTER_HEAD);
    bc_flow_tone(flow, BC_TONE_PLAIN);
    bc_flow_paragraph(flow, letters, text, flow->left, flow->right);
    bc_pen_grey(flow->cairo, 0.6);
    bc_flow_fill(flow, flow->left, flow->y, flow->right, flow->y + 0.5);
    flow->y += 6.0;
}

static void draw_items(bc_flow *flow, const bc_block *block, size_t from, double left, double right)
{
    for (size_t i = from; i < block->cells; i++) {
        bc_flow_need(flow, 2.0 * BC_LINE_HEIGHT * TEXT_SIZE);
        bc_flow_tone(flow, block->cell[i].tone);
        /* drawn first, and so on the page where the item begins; a short item that moves takes it along */
        bc_lines lines;
        bc_flow_break(flow, body, block->cell[i].text, right - left - INDENT, &lines);
        if (lines.count <= 4)
            bc_flow_need(flow, (double)lines.count * BC_LINE_HEIGHT * TEXT_SIZE);
        bc_lines_clear(&lines);
        bc_flow_fill(flow, left + 2.0, flow->y + 0.62 * TEXT_SIZE, left + 4.6, flow->y + 0.62 * TEXT_SIZE + 2.6);
        bc_flow_paragraph(flow, body, block->cell[i].text, left + INDENT, right);
        flow->y += 2.5;
    }
}

/* What it is and how much, between two x; y is left below both. */
static void draw_fact(bc_flow *flow, const bc_cell fact[2], double left, double middle, double right)
{
    const size_t page = flow->page;
    const double top = flow->y;
    double end;
    bc_pen_grey(flow->cairo, 0.35);
    bc_flow_paragraph(flow, body, fact[0].text, left, middle - FACT_GAP);
    end = flow->page == page ? flow->y : 0.0;
    flow->y = flow->page == page ? top : flow->y;
    bc_flow_tone(flow, fact[1].tone);
    bc_flow_paragraph(flow, body, fact[1].text, middle, right);
    flow->y = flow->page == page ? fmax(flow->y, end) : flow->y;
}

static void draw_facts(bc_flow *flow, const bc_block *block)
{
    const double width = (flow->right - flow->left) / (double)block->columns;
    double widest = 0.0, middle;
    for (size_t i = 0; i + 1 < block->cells; i += 2)
        widest = fmax(widest, bc_flow_text_width(flow, body, block->cell[i].text));
    middle = fmin(widest + HAIR, 0.4 * width) + FACT_GAP;
    for (size_t i = 0; i + 1 < block->cells; i += 2 * block->columns) {
        double top, lowest = 0.0;
        bc_flow_need(flow, 2.0 * BC_LINE_HEIGHT * TEXT_SIZE);
        top = flow->y;
        for (size_t c = 0; c < block->columns && i + 2 * c + 1 < block->cells; c++) {
            const double left = flow->left + width * (double)c;
            flow->y = block->columns > 1 ? top : flow->y;
            draw_fact(flow, &block->cell[i + 2 * c], left, left + middle,
                      left + width - (c + 1 < block->columns ? FACT_GAP : 0.0));
            lowest = fmax(lowest, flow->y);
        }
        flow->y = (block->columns > 1 ? lowest : flow->y) + 1.0;
    }
    flow->y += 3.0;
}

static void draw_signature(bc_flow *flow, const bc_block *block)
{
    const double width = (flow->right - flow->left) / (double)(block->cells == 0 ? 1 : block->cells);
    bc_flow_need(flow, SIGNATURE + 2.0 * BC_LINE_HEIGHT * TEXT_SIZE);
    flow->y += SIGNATURE;
    for (size_t i = 0; i < block->cells; i++) {
        const double left = flow->left + width * (double)i, top = flow->y;
        bc_pen_grey(flow->cairo, 0.35);
        bc_flow_fill(flow, left, top, left + width - FACT_GAP, top + 0.5);
        flow->y = top + 2.0;
        bc_flow_paragraph(flow, body, block->cell[i].text, left, left + width - FACT_GAP);
        flow->y = i + 1 < block->cells ? top : flow->y;
    }
    flow->y += 4.0;
}

/* Height of some texts between two x. */
static double height_of(bc_flow *flow, const bc_block *block, size_t from, bc_letters letters, double width)
{
    double height = 0.0;
    for (size_t i = from; i < block->cells; i++) {
        bc_lines lines;
        bc_flow_break(flow, letters, block->cell[i].text, width, &lines);
        height += (double)lines.count * BC_LINE_HEIGHT * letters.size + 2.5;
        bc_lines_clear(&lines);
    }
    return height;
}

/* A frame with a bar at its left from y down to `bottom`, tinted lightly. */
static void draw_frame(bc_flow *flow, bc_tone tone, double bottom)
{
    static const double tint[][3] = {{1.0, 1.0, 1.0}, {0.94, 0.972, 0.957}, {1.0, 0.972, 0.925}, {0.992, 0.945, 0.945}};
    cairo_set_source_rgb(flow->cairo, tint[tone][0], tint[tone][1], tint[tone][2]);
    bc_flow_fill(flow, flow->left, flow->y, flow->right, bottom);
    bc_flow_tone(flow, tone);
    cairo_set_line_width(flow->cairo, 0.8);
    cairo_rectangle(flow->cairo, flow->left, flow->y, flow->right - flow->left, bottom - flow->y);
    cairo_stroke(flow->cairo);
    bc_flow_fill(flow, flow->left, flow->y, flow->left + BAR, bottom);
}

static void draw_verdict(bc_flow *flow, const bc_block *block)
{
    const bc_letters large = {.size = LARGE_SIZE, .bold = true};
    const double left = flow->left + BAR + 10.0, right = flow->right - 10.0;
    bc_lines lines;
    double height;
    bc_flow_break(flow, large, block->cell[0].text, right - left, &lines);
    height = (double)lines.count * BC_LINE_HEIGHT * LARGE_SIZE + 16.0;
    bc_lines_clear(&lines);
    height += height_of(flow, block, 1, body, right - left);
    bc_flow_space(flow, 4.0);
    bc_flow_need(flow, height);
    draw_frame(flow, block->tone, fmin(flow->y + height, flow->bottom));
    flow->y += 6.0;
    bc_flow_tone(flow, block->tone);
    bc_flow_paragraph(flow, large, block->cell[0].text, left, right);
    flow->y += 1.0;
    bc_flow_tone(flow, BC_TONE_PLAIN);
    for (size_t i = 1; i < block->cells; i++) {
        bc_flow_paragraph(flow, body, block->cell[i].text, left, right);
        flow->y += 2.5;
    }
    flow->y += 15.0;
}

static void draw_cautions(bc_flow *flow, const bc_block *block)
{
    const bc_letters letters = {.size = 11.0, .bold = true};
    const double left = flow->left + BAR + 10.0, right = flow->right - 10.0;
    const double height = height_of(flow, block, 1, body, right - left - INDENT) + BC_LINE_HEIGHT * 11.0 + 16.0;
    bc_flow_space(flow, 14.0);
    bc_flow_need(flow, height);
    if (height <= bc_flow_page_height(flow))
        draw_frame(flow, BC_TONE_PLAIN, flow->y + height);
    flow->y += 6.0;
    bc_flow_tone(flow, BC_TONE_PLAIN);
    bc_flow_paragraph(flow, letters, block->cell[0].text, left, right);
    flow->y += 3.0;
    draw_items(flow, block, 1, left, right);
    flow->y += 11.0;
}

/* As wide as the text, and flat enough to leave room for the callouts, or to stay on the page at hand. */
static bc_status lay_out_picture(bc_flow *flow, const bc_block *block, bc_chart_layout *layout, bc_error *error)
{
    bc_plot_options options = {.width_mm = (flow->right - flow->left) / BC_POINTS_PER_MM};
    const double page = bc_flow_page_height(flow), room = bc_flow_room(flow);
    const bc_status status = bc_chart_lay_out(&block->chart, &options, flow->cairo, layout, error);
    const double height = layout->height * layout->scale, flattest = LEAST_SCALE * height;
    double wanted = fmin(height, fmax(HIGHEST * page, flattest));
    if (room < wanted && room >= flattest)
        wanted = room;
    if (flow->document->one_page)
        wanted = fmin(height, bc_picture_least_mm(&block->chart) * BC_POINTS_PER_MM + flow->more);
    wanted = fmin(wanted, page);
    if (status != BC_OK || wanted >= height)
        return status;
    bc_chart_layout_clear(&block->chart, layout);
    options.height_mm = wanted / BC_POINTS_PER_MM;
    return bc_chart_lay_out(&block->chart, &options, flow->cairo, layout, error);
}

static bc_status draw_picture(bc_flow *flow, const bc_block *block, bc_error *error)
{
    bc_chart_layout layout = {0};
    const bc_status status = lay_out_picture(flow, block, &layout, error);
    if (status == BC_OK) {
        const double width = layout.width * layout.scale, height = layout.height * layout.scale;
        bc_flow_need(flow, height);
        cairo_save(flow->cairo);
        cairo_translate(flow->cairo, flow->left, flow->y);
        cairo_rectangle(flow->cairo, 0.0, 0.0, width, height);
        cairo_clip(flow->cairo);
        bc_chart_draw(&block->chart, &layout, flow->cairo);
        cairo_restore(flow->cairo);
        flow->y += height + 4.0;
    }
    bc_chart_layout_clear(&block->chart, &layout);
    return status;
}

static bc_status draw_block(bc_flow *flow, const bc_block *block, bc_error *error)
{
    switch (block->kind) {
    case BC_BLOCK_VERDICT:
        draw_verdict(flow, block);
        return BC_OK;
    case BC_BLOCK_HEADING:
        draw_heading(flow, block->cell[0].text);
        return BC_OK;
    case BC_BLOCK_PARAGRAPH:
        bc_flow_tone(flow, BC_TONE_PLAIN);
        bc_flow_paragraph(flow, body, block->cell[0].text, flow->left, flow->right);
        flow->y += 3.0;
        return BC_OK;
    case BC_BLOCK_LIST:
        draw_items(flow, block, 0, flow->left, flow->right);
        return BC_OK;
    case BC_BLOCK_FACTS:
        draw_facts(flow, block);
        return BC_OK;
    case BC_BLOCK_TABLE:
        bc_flow_table(flow, block);
        return BC_OK;
    case BC_BLOCK_PICTURE:
        return draw_picture(flow, block, error);
    case BC_BLOCK_CAUTIONS:
        draw_cautions(flow, block);
        return BC_OK;
    case BC_BLOCK_SIGNATURE:
        draw_signature(flow, block);
        return BC_OK;
    }
    return BC_OK;
}

static void paper_size(const bc_page_options *options, double *width, double *height)
{
    const bool a4 = options->paper == BC_PAPER_A4;
    *width = a4 ? 210.0 * BC_POINTS_PER_MM : 612.0;
    *height = a4 ? 297.0 * BC_POINTS_PER_MM : 792.0;
}

/* Draw all of it onto a surface; *pages is what was thought and becomes what it was, *room what is left of the last. */
static bc_status draw(const bc_document *document, const bc_page_options *options, const bc_document_fit *fit,
                      cairo_surface_t *surface, size_t *pages, double *room, bc_error *error)
{
    bc_flow flow = {.document = document, .more = fit->more_mm * BC_POINTS_PER_MM / fit->scale, .pages = *pages};
    bc_status status = BC_OK;
    paper_size(options, &flow.width, &flow.height);
    flow.width /= fit->scale;
    flow.height /= fit->scale;
    flow.cairo = cairo_create(surface);
    cairo_scale(flow.cairo, fit->scale, fit->scale);
    flow.left = SIDE_MM * BC_POINTS_PER_MM / fit->scale;
    flow.right = flow.width - flow.left;
    flow.top = TOP_MM * BC_POINTS_PER_MM / fit->scale;
    flow.bottom = flow.height - BOTTOM_MM * BC_POINTS_PER_MM / fit->scale;
    bc_chart_set_letters(flow.cairo);
    bc_flow_start_page(&flow);
    draw_title(&flow);
    for (size_t b = 0; status == BC_OK && !flow.failed && b < document->blocks; b++)
        status = draw_block(&flow, &document->block[b], error);
    if (status == BC_OK)
        status = flow.failed ? bc_fail_memory(error) : bc_chart_status(cairo_status(flow.cairo), error);
    *pages = flow.page;
    *room = bc_flow_room(&flow) * fit->scale;
    cairo_destroy(flow.cairo);
    bc_text_clear(&flow.scratch);
    return status;
}

double bc_picture_least_mm(const bc_chart *chart)
{
    return KEYS_MM + PANEL_MM * (double)chart->panels;
}

static size_t pictures_of(const bc_document *document)
{
    size_t count = 0;
    for (size_t b = 0; b < document->blocks; b++)
        count += document->block[b].kind == BC_BLOCK_PICTURE;
    return count;
}

bc_status bc_document_fit_page(const bc_document *document, const bc_page_options *options, bc_document_fit *fit,
                               bc_error *error)
{
    const size_t pictures = pictures_of(document);
    cairo_surface_t *ruler;
    bc_status status = BC_OK;
    size_t pages = 2;
    double room = 0.0;
    *fit = (bc_document_fit){.scale = 1.0};
    if (!document->one_page)
        return BC_OK;
    ruler = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    for (int step = 0; status == BC_OK && pages > 1 && fit->scale > SMALLEST + HAIR; step++) {
        fit->scale = 1.0 - STEP * step;
        status = draw(document, options, fit, ruler, &pages, &room, error);
    }
    if (status == BC_OK && pages == 1 && pictures > 0)
        fit->more_mm = fmax(room - 1.0, 0.0) / BC_POINTS_PER_MM / (double)pictures;
    fit->limited = true;
    cairo_surface_destroy(ruler);
    return status;
}

static cairo_status_t receive(void *closure, const unsigned char *data, unsigned length)
{
    bc_text *text = closure;
    bc_text_add_bytes(text, (const char *)data, length);
    return text->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static void set_metadata(cairo_surface_t *surface, const bc_document *document)
{
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, document->title);
    if (document->part != NULL)
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, document->part);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, BC_DOCUMENT_MAKER);
    /* Empty, it is left out; never set, it would be now. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                   document->date == NULL ? "" : document->date);
}

bc_status bc_document_pdf(bc_document *document, const bc_page_options *options, bc_text *out, bc_error *error)
{
    cairo_surface_t *surface;
    bc_document_fit fit;
    size_t pages = 0;
    double width, height, room;
    bc_status status = bc_document_fit_page(document, options, &fit, error);
    if (status != BC_OK)
        return status;
    surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    status = draw(document, options, &fit, surface, &pages, &room, error);
    cairo_surface_destroy(surface);
    if (status != BC_OK)
        return status;
    paper_size(options, &width, &height);
    surface = cairo_pdf_surface_create_for_stream(receive, out, width, height);
    set_metadata(surface, document);
    status = draw(document, options, &fit, surface, &pages, &room, error);
    cairo_surface_finish(surface);
    if (status == BC_OK)
        status = bc_chart_status(cairo_surface_status(surface), error);
    cairo_surface_destroy(surface);
    return status;
}
