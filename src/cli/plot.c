/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plot.h"
#include "escaped.h"
#include "output.h"

/* What only a picture uses, given without one, is a slip that would go unnoticed. */
static bc_status refuse_alone(const cli_arguments *arguments, bc_error *error)
{
    static const char *const name[] = {"plot-width-mm", "plot-height-mm", "plot-dpi", "plot-quantities"};
    for (size_t i = 0; i < sizeof name / sizeof *name; i++)
        if (cli_has(arguments, name[i]))
            return bc_fail(error, BC_ERROR_INPUT,
                           "--%s has no meaning without a picture; expected --plot FILE beside it", name[i]);
    return BC_OK;
}

bc_status cli_read_plot(cli_session *session, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_plot_options *options = &session->plot_options;
    bc_status status;
    session->plot = cli_value(arguments, "plot");
    if (session->plot == NULL)
        return refuse_alone(arguments, error);
    options->title = cli_value(arguments, "title");
    options->part = cli_value(arguments, "part-number");
    status = bc_plot_format_of(session->plot, &options->format, error);
    if (status == BC_OK)
        status = cli_number(arguments, "plot-width-mm", BC_PLOT_LEAST_MM, BC_PLOT_MOST_MM,
                            "a width in mm from 40 to 1000", &options->width_mm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "plot-height-mm", BC_PLOT_LEAST_MM, BC_PLOT_MOST_MM,
                            "a height in mm from 40 to 1000", &options->height_mm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "plot-dpi", BC_PLOT_LEAST_DPI, BC_PLOT_MOST_DPI, "dots per inch from 30 to 2400",
                            &options->dpi, error);
    if (status == BC_OK && cli_has(arguments, "plot-dpi") && options->format != BC_PLOT_PNG)
        status = bc_fail(error, BC_ERROR_INPUT, "--plot-dpi has no meaning for an SVG or a PDF, which have no pixels");
    return status == BC_OK ? bc_plot_check_options(options, error) : status;
}

bc_status cli_write_plot(const cli_session *session, const bc_text *picture, bc_error *error)
{
    return session->plot == NULL ? BC_OK : cli_output_write(session->plot, picture, error);
}

bc_status cli_draw_check(const cli_session *session, const bc_check_report *check, const bc_design_report *design,
                         bc_text *picture, bc_error *error)
{
    bc_check_curves curves;
    bc_status status;
    if (session->plot == NULL)
        return BC_OK;
    status = bc_check_curves_compute(check->stack, check->back, check->result, &curves, error);
    if (status != BC_OK)
        return status;
    status = design == NULL ? bc_plot_check(check, &curves, &session->plot_options, picture, error)
                            : bc_plot_design(design, &curves, &session->plot_options, picture, error);
    bc_check_curves_clear(&curves);
    return status;
}
