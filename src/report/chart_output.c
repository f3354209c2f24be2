/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "internal/chart_draw.h"
#include "internal/text.h"
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <string.h>
#include <strings.h>

static const char *const ending[] = {[BC_PLOT_SVG] = ".svg", [BC_PLOT_PNG] = ".png", [BC_PLOT_PDF] = ".pdf"};

bc_status bc_plot_format_of(const char *path, bc_plot_format *format, bc_error *error)
{
    const size_t length = strlen(path);
    char shown[BC_ESCAPED_PATH_SIZE];
    for (size_t i = 0; i < sizeof ending / sizeof *ending; i++) {
        const size_t last = strlen(ending[i]);
        if (length > last && path[length - last - 1] != '/' && strcasecmp(path + length - last, ending[i]) == 0) {
            *format = (bc_plot_format)i;
            return BC_OK;
        }
    }
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s: found no picture's ending; expected a name that ends in .svg, .pdf or .png",
                   bc_escaped_path(path, shown));
}

static bc_status check_number(const char *what, double value, double least, double most, bc_error *error)
{
    if (value == 0.0 || (value >= least && value <= most))
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "the picture's %s is %g; expected %g to %g", what, value, least, most);
}

static void complete(const bc_plot_options *options, bc_plot_options *whole)
{
    *whole = *options;
    if (whole->width_mm == 0.0)
        whole->width_mm = BC_PLOT_WIDTH_MM;
    if (whole->dpi == 0.0)
        whole->dpi = BC_PLOT_DPI;
}

/* In mm. */
static bc_status check_pixels(double width, double height, double dpi, bc_error *error)
{
    if (width * height * (dpi / 25.4) * (dpi / 25.4) <= BC_PLOT_MOST_PIXELS)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "a picture of %.0f mm by %.0f mm at %g dpi has more than %.0f million pixels; expected a smaller "
                   "one, fewer dpi, or a PDF or SVG, which need none",
                   width, height, dpi, BC_PLOT_MOST_PIXELS / 1e6);
}

bc_status bc_plot_check_options(const bc_plot_options *options, bc_error *error)
{
    bc_plot_options whole;
    bc_status status = check_number("width in mm", options->width_mm, BC_PLOT_LEAST_MM, BC_PLOT_MOST_MM, error);
    if (status == BC_OK)
        status = check_number("height in mm", options->height_mm, BC_PLOT_LEAST_MM, BC_PLOT_MOST_MM, error);
    if (status == BC_OK)
        status = check_number("resolution in dpi", options->dpi, BC_PLOT_LEAST_DPI, BC_PLOT_MOST_DPI, error);
    if (status != BC_OK || options->format != BC_PLOT_PNG)
        return status;
    complete(options, &whole);
    /* The height that the contents need is not known yet: seldom more than the width. */
    return check_pixels(whole.width_mm, whole.height_mm == 0.0 ? whole.width_mm : whole.height_mm, whole.dpi, error);
}

static cairo_status_t receive(void *closure, const unsigned char *data, unsigned length)
{
    bc_text *text = closure;
    bc_text_add_bytes(text, (const char *)data, length);
    return text->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

bc_status bc_chart_status(cairo_status_t status, bc_error *error)
{
    if (status == CAIRO_STATUS_SUCCESS)
        return BC_OK;
    if (status == CAIRO_STATUS_NO_MEMORY)
        return bc_fail_memory(error);
    return bc_fail(error, BC_ERROR_IO, "the picture cannot be drawn: %s", cairo_status_to_string(status));
}

void bc_chart_set_letters(cairo_t *cairo)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cairo, options);
    cairo_font_options_destroy(options);
}

typedef struct page {
    double width, height; /* points */
    int columns, rows;    /* of a PNG */
} page;

static bc_status page_of(const bc_chart_layout *layout, const bc_plot_options *options, page *paper, bc_error *error)
{
    const double pixels_per_point = options->dpi / 72.0;
    *paper = (page){layout->width * layout->scale, layout->height * layout->scale, 0, 0};
    if (options->format != BC_PLOT_PNG)
        return BC_OK;
    paper->columns = (int)lround(paper->width * pixels_per_point);
    paper->rows = (int)lround(paper->height * pixels_per_point);
    return check_pixels(paper->width / BC_POINTS_PER_MM, paper->height / BC_POINTS_PER_MM, options->dpi, error);
}

static cairo_surface_t *open_surface(const page *paper, bc_plot_format format, bc_text *bytes)
{
    cairo_surface_t *surface;
    switch (format) {
    case BC_PLOT_PNG:
        return cairo_image_surface_create(CAIRO_FORMAT_RGB24, paper->columns, paper->rows);
    case BC_PLOT_PDF:
        surface = cairo_pdf_surface_create_for_stream(receive, bytes, paper->width, paper->height);
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, ""); /* else it would be now */
        return surface;
    default:
        surface = cairo_svg_surface_create_for_stream(receive, bytes, paper->width, paper->height);
        cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PT);
        return surface;
    }
}

static bc_status draw(const bc_chart *chart, const bc_chart_layout *layout, const bc_plot_options *options,
                      const page *paper, bc_text *bytes, bc_error *error)
{
    cairo_surface_t *surface = open_surface(paper, options->format, bytes);
    cairo_t *cairo = cairo_create(surface);
    cairo_status_t status;
    if (options->format == BC_PLOT_PDF && chart->title[0] != '\0')
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, chart->title);
    bc_chart_set_letters(cairo);
    if (options->format == BC_PLOT_PNG)
        cairo_scale(cairo, paper->columns / paper->width, paper->rows / paper->height);
    bc_chart_draw(chart, layout, cairo);
    status = cairo_status(cairo);
    cairo_destroy(cairo);
    if (status == CAIRO_STATUS_SUCCESS && options->format == BC_PLOT_PNG)
        status = cairo_surface_write_to_png_stream(surface, receive, bytes);
    cairo_surface_finish(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    return bc_chart_status(status, error);
}

static bc_status write_laid_out(const bc_chart *chart, const bc_chart_layout *layout, const bc_plot_options *options,
                                bc_text *out, bc_error *error)
{
    bc_text bytes = {0};
    page paper;
    bc_status status = page_of(layout, options, &paper, error);
    if (status == BC_OK)
        status = draw(chart, layout, options, &paper, &bytes, error);
    if (status == BC_OK)
        status = bc_text_end(&bytes, error);
    if (status == BC_OK) {
        if (options->format == BC_PLOT_SVG)
            bc_chart_finish_svg(&bytes, chart->title, out);
        else if (options->format == BC_PLOT_PNG)
            bc_chart_finish_png(&bytes, options->dpi, out);
        else
            bc_text_add_bytes(out, bytes.data, bytes.length);
    }
    bc_text_clear(&bytes);
    return status;
}

bc_status bc_chart_write(bc_chart *chart, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    cairo_surface_t *ruler = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
    cairo_t *cairo = cairo_create(ruler);
    bc_chart_layout layout = {0};
    bc_plot_options whole;
    bc_status status = chart->failed ? bc_fail_memory(error) : bc_pen_reserve(error);
    if (status == BC_OK)
        status = bc_plot_check_options(options, error);
    complete(options, &whole);
    bc_chart_set_letters(cairo);
    if (status == BC_OK)
        status = bc_chart_lay_out(chart, &whole, cairo, &layout, error);
    if (status == BC_OK)
        status = bc_chart_status(cairo_status(cairo), error);
    if (status == BC_OK)
        status = write_laid_out(chart, &layout, &whole, out, error);
    cairo_destroy(cairo);
    cairo_surface_destroy(ruler);
    bc_chart_layout_clear(chart, &layout);
    bc_chart_clear(chart);
    if (status != BC_OK)
        bc_text_clear(out);
    return status == BC_OK ? bc_text_end(out, error) : status;
}
