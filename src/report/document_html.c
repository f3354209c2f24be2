/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_draw.h"
#include "internal/document.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define BRIEF_CELL   16    /* characters of a cell that is not broken */
#define HALF_PAGE_MM 132.0 /* a higher picture is drawn flatter, */
#define LEAST_SCALE  0.7   /* but not flatter than this */
#define LOWEST_MM    40.0  /* of any picture */
#define ONE_PAGE_PT  8.6   /* letters of a document on one page, printed at scale 1 */
#define OF_ROOM      0.95  /* of the room a PDF has for a picture on one page: a browser's lines break otherwise */

/*
 * Markup that is HTML and well-formed XML at once, so that any XML parser can check it. The page is white and its words
 * carry every verdict: nothing is lost on a printer without colour.
 */
static const char style[] =
    "html{font:10.5pt/1.45 \"DejaVu Sans\",Verdana,Helvetica,Arial,sans-serif;color:#111;background:#fff}\n"
    "body{max-width:178mm;margin:12mm auto;padding:0 5mm}\n"
    "h1{font-size:1.7em;line-height:1.2;margin:0 0 .4em}\n"
    "h2{font-size:1.12em;margin:1.9em 0 .5em;padding-bottom:.15em;border-bottom:1px solid #999}\n"
    "p{margin:.5em 0}\n"
    "h1,p,li,td{overflow-wrap:anywhere}\n"
    "ul{margin:.4em 0;padding-left:1.3em}\n"
    "li{margin:.25em 0}\n"
    ".scroll{overflow-x:auto}\n"
    "table{border-collapse:collapse;margin:.6em 0;font-size:.9em}\n"
    "th,td{text-align:left;vertical-align:top;padding:.3em 1.1em .3em 0;border-bottom:1px solid #ddd}\n"
    "th{font-weight:bold;border-bottom:1px solid #555;vertical-align:bottom}\n"
    "th:last-child,td:last-child{padding-right:0}\n"
    ".right{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}\n"
    "th.right{white-space:normal}\n"
    ".code{font-family:\"DejaVu Sans Mono\",Menlo,Consolas,monospace;font-size:.82em;overflow-wrap:anywhere}\n"
    ".short{white-space:nowrap}\n"
    ".facts{font-size:1em}\n"
    ".facts th,.facts td{border:0;padding-top:.1em;padding-bottom:.1em;vertical-align:top}\n"
    ".facts th{font-weight:normal;color:#555;white-space:nowrap}\n"
    "figure{margin:1.2em 0}\n"
    "figure svg{display:block;width:100%;height:auto}\n"
    ".verdict,.cautions{border:1px solid #555;border-left-width:9px;padding:.7em 1em;margin:1em 0}\n"
    ".verdict p:first-child{font-size:1.75em;font-weight:bold;line-height:1.2;margin:0 0 .2em}\n"
    ".cautions h2{border:0;margin:0 0 .3em;padding:0}\n"
    ".good{color:#05603a}\n"
    ".care{color:#7a4b00}\n"
    ".bad{color:#a11212;font-weight:bold}\n"
    ".verdict.good{border-color:#05603a;background:#f0f8f4}\n"
    ".verdict.care{border-color:#b36b00;background:#fff8ec}\n"
    ".verdict.bad{border-color:#a11212;background:#fdf1f1;font-weight:normal}\n"
    ".verdict p+p{color:#111}\n"
    "footer{margin-top:2em;padding-top:.4em;border-top:1px solid #999;font-size:.85em;color:#555}\n"
    "thead{display:table-header-group}\n"
    "tr,li,figure,.verdict,.cautions{break-inside:avoid}\n"
    "h2{break-after:avoid}\n"
    "@media print{html{font-size:9.5pt}body{max-width:none;margin:0;padding:0}.scroll{overflow:visible}\n"
    "figure svg{max-height:240mm}\n"
    ".verdict,.cautions{-webkit-print-color-adjust:exact;print-color-adjust:exact}}\n";

/* Of a document on one page: closer lines where it is printed, at a size that bc_document_fit_page() found. */
static const char one_page_style[] =
    ".facts td{padding-right:2.2em}\n"
    ".sign{display:flex;gap:2em;margin-top:3.2em}\n"
    ".sign p{flex:1;border-top:1px solid #555;margin:0;padding-top:.2em;color:#555}\n"
    "@media print{html{line-height:1.33}h1{margin:0 0 .2em}h2{margin:.9em 0 .3em}p{margin:.3em 0}\n"
    "figure{margin:.4em 0}.verdict,.cautions{padding:.4em 1em;margin:.6em 0}table{margin:.3em 0}\n"
    "th,td{padding-top:.2em;padding-bottom:.2em}li{margin:.1em 0}footer{margin-top:.6em}}\n";

static const char *const tone_name[] = {
    [BC_TONE_PLAIN] = "", [BC_TONE_GOOD] = "good", [BC_TONE_CARE] = "care", [BC_TONE_BAD] = "bad"};

static void add_escaped(bc_text *out, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '<') {
            bc_text_add(out, "&lt;");
        } else if (*text == '>') {
            bc_text_add(out, "&gt;");
        } else if (*text == '&') {
            bc_text_add(out, "&amp;");
        } else if (*text == '"') {
            bc_text_add(out, "&quot;");
        } else {
            bc_text_add_bytes(out, text, 1);
        }
    }
}

/* <name class="...">text</name> */
static void add_element(bc_text *out, const char *name, const char *class_name, const char *text)
{
    if (class_name[0] == '\0')
        bc_text_add(out, "<%s>", name);
    else
        bc_text_add(out, "<%s class=\"%s\">", name, class_name);
    add_escaped(out, text);
    bc_text_add(out, "</%s>", name);
}

static void add_items(bc_text *out, const bc_block *block, size_t from)
{
    bc_text_add(out, "<ul>\n");
    for (size_t i = from; i < block->cells; i++) {
        add_element(out, "li", tone_name[block->cell[i].tone], block->cell[i].text);
        bc_text_add(out, "\n");
    }
    bc_text_add(out, "</ul>\n");
}

static void add_facts(bc_text *out, const bc_block *block)
{
    const size_t row = 2 * block->columns;
    bc_text_add(out, "<table class=\"facts\">\n");
    for (size_t i = 0; i + 1 < block->cells; i += 2) {
        bc_text_add(out, "%s", i % row == 0 ? "<tr>" : "");
        add_element(out, "th", "", block->cell[i].text);
        add_element(out, "td", tone_name[block->cell[i + 1].tone], block->cell[i + 1].text);
        bc_text_add(out, "%s", i % row + 2 == row || i + 3 >= block->cells ? "</tr>\n" : "");
    }
    bc_text_add(out, "</table>\n");
}

static void add_signature(bc_text *out, const bc_block *block)
{
    bc_text_add(out, "<div class=\"sign\">\n");
    for (size_t i = 0; i < block->cells; i++) {
        add_element(out, "p", "", block->cell[i].text);
        bc_text_add(out, "\n");
    }
    bc_text_add(out, "</div>\n");
}

static void add_row(bc_text *out, const bc_block *block, size_t first)
{
    const bool heading = first == 0;
    bc_text_add(out, "<tr>");
    for (size_t column = 0; column < block->columns && first + column < block->cells; column++) {
        const bc_cell *cell = &block->cell[first + column];
        const char *tone = tone_name[cell->tone];
        const char *form = block->right[column]                      ? "right"
                           : block->code[column] && !heading         ? "code"
                           : bc_text_width(cell->text) <= BRIEF_CELL ? "short"
                                                                     : "";
        char class_name[16];
        snprintf(class_name, sizeof class_name, "%s%s%s", form, form[0] != '\0' && tone[0] != '\0' ? " " : "", tone);
        add_element(out, heading ? "th" : "td", class_name, cell->text);
    }
    bc_text_add(out, "</tr>\n");
}

static void add_table(bc_text *out, const bc_block *block)
{
    bc_text_add(out, "<div class=\"scroll\"><table>\n<thead>\n");
    add_row(out, block, 0);
    bc_text_add(out, "</thead>\n<tbody>\n");
    for (size_t first = block->columns; first < block->cells; first += block->columns)
        add_row(out, block, first);
    bc_text_add(out, "</tbody>\n</table></div>\n");
}

static void add_verdict(bc_text *out, const bc_block *block)
{
    bc_text_add(out, "<div class=\"verdict %s\">\n", tone_name[block->tone]);
    for (size_t i = 0; i < block->cells; i++) {
        add_element(out, "p", "", block->cell[i].text);
        bc_text_add(out, "\n");
    }
    bc_text_add(out, "</div>\n");
}

/* The picture as a part of this page: without its XML declaration, and with names of its own. */
static void add_svg(bc_text *out, const bc_text *svg, size_t number)
{
    static const char *const before_name[] = {" id=\"", "href=\"#", "url(#"};
    const char *rest = svg->data == NULL ? NULL : strstr(svg->data, "<svg");
    while (rest != NULL && *rest != '\0') {
        const char *next = NULL;
        for (size_t i = 0; i < sizeof before_name / sizeof before_name[0]; i++) {
            const char *found = strstr(rest, before_name[i]);
            if (found != NULL && (next == NULL || found + strlen(before_name[i]) < next))
                next = found + strlen(before_name[i]);
        }
        if (next == NULL)
            break;
        bc_text_add_bytes(out, rest, (size_t)(next - rest));
        bc_text_add(out, "picture%zu-", number);
        rest = next;
    }
    if (rest != NULL)
        bc_text_add(out, "%s", rest);
}

/* Flat enough for half a page of paper, where that does not squeeze it too much; 0: as high as it likes. */
static bc_status flat_height(const bc_chart *chart, const bc_document_fit *fit, double *height_mm, bc_error *error)
{
    const bc_plot_options options = {.width_mm = BC_PAGE_PICTURE_MM};
    cairo_surface_t *ruler = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cairo = cairo_create(ruler);
    bc_chart_layout layout = {0};
    bc_status status;
    bc_chart_set_letters(cairo);
    status = bc_chart_lay_out(chart, &options, cairo, &layout, error);
    *height_mm = layout.height * layout.scale / BC_POINTS_PER_MM;
    if (fit->limited)
        *height_mm =
            fmin(*height_mm, fmax(LOWEST_MM, OF_ROOM * (bc_picture_least_mm(chart) * fit->scale + fit->more_mm)));
    else
        *height_mm = *height_mm <= HALF_PAGE_MM ? 0.0 : fmax(HALF_PAGE_MM, LEAST_SCALE * *height_mm);
    if (status == BC_OK)
        status = bc_chart_status(cairo_status(cairo), error);
    bc_chart_layout_clear(chart, &layout);
    cairo_destroy(cairo);
    cairo_surface_destroy(ruler);
    return status;
}

static bc_status add_picture(bc_text *out, bc_block *block, const bc_document_fit *fit, size_t number, bc_error *error)
{
    bc_plot_options options = {.format = BC_PLOT_SVG, .width_mm = BC_PAGE_PICTURE_MM};
    bc_text svg = {0};
    bc_status status = flat_height(&block->chart, fit, &options.height_mm, error);
    if (status == BC_OK)
        status = bc_chart_write(&block->chart, &options, &svg, error);
    if (status == BC_OK) {
        bc_text_add(out, "<figure>\n");
        add_svg(out, &svg, number);
        bc_text_add(out, "</figure>\n");
    }
    bc_text_clear(&svg);
    return status;
}

static bc_status add_block(bc_text *out, bc_block *block, const bc_document_fit *fit, size_t number, bc_error *error)
{
    switch (block->kind) {
    case BC_BLOCK_VERDICT:
        add_verdict(out, block);
        return BC_OK;
    case BC_BLOCK_HEADING:
    case BC_BLOCK_PARAGRAPH:
        if (block->cells > 0)
            add_element(out, block->kind == BC_BLOCK_HEADING ? "h2" : "p", "", block->cell[0].text);
        bc_text_add(out, "\n");
        return BC_OK;
    case BC_BLOCK_LIST:
        add_items(out, block, 0);
        return BC_OK;
    case BC_BLOCK_FACTS:
        add_facts(out, block);
        return BC_OK;
    case BC_BLOCK_TABLE:
        add_table(out, block);
        return BC_OK;
    case BC_BLOCK_PICTURE:
        return add_picture(out, block, fit, number, error);
    case BC_BLOCK_CAUTIONS:
        bc_text_add(out, "<section class=\"cautions\">\n");
        add_element(out, "h2", "", block->cell[0].text);
        add_items(out, block, 1);
        bc_text_add(out, "</section>\n");
        return BC_OK;
    case BC_BLOCK_SIGNATURE:
        add_signature(out, block);
        return BC_OK;
    }
    return BC_OK;
}

static void add_head(const bc_document *document, const bc_page_options *options, const bc_document_fit *fit,
                     bc_text *out)
{
    bc_text_add(out, "<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\">\n<head>\n"
                     "<meta charset=\"utf-8\" />\n"
                     "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\" />\n");
    bc_text_add(out, "<meta name=\"generator\" content=\"%s\" />\n", BC_DOCUMENT_MAKER);
    if (document->date != NULL) {
        bc_text_add(out, "<meta name=\"date\" content=\"");
        add_escaped(out, document->date);
        bc_text_add(out, "\" />\n");
    }
    add_element(out, "title", "", document->title);
    bc_text_add(out,
                "\n<style>\n@page{size:%s;margin:17mm 16mm 18mm;"
                "@bottom-right{content:counter(page) \" / \" counter(pages);font:8pt sans-serif;color:#555}}\n",
                options->paper == BC_PAPER_A4 ? "A4" : "letter");
    bc_text_add(out, "%s", style);
    if (document->one_page)
        bc_text_add(out, "%s@media print{html{font-size:%.2fpt}}\n", one_page_style, ONE_PAGE_PT * fit->scale);
    bc_text_add(out, "</style>\n</head>\n<body>\n");
    add_element(out, "h1", "", document->title);
    bc_text_add(out, "\n");
}

bc_status bc_document_html(bc_document *document, const bc_page_options *options, bc_text *out, bc_error *error)
{
    bc_document_fit fit;
    bc_status status = bc_document_fit_page(document, options, &fit, error);
    if (status != BC_OK)
        return status;
    add_head(document, options, &fit, out);
    for (size_t b = 0; status == BC_OK && b < document->blocks; b++)
        status = add_block(out, &document->block[b], &fit, b, error);
    bc_text_add(out, "<footer>%s%s%s</footer>\n</body>\n</html>\n", BC_DOCUMENT_MAKER,
                document->date == NULL ? "" : " · ", document->date == NULL ? "" : document->date);
    return status;
}
