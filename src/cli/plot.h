/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_PLOT_H
#define BLOOMCOAT_CLI_PLOT_H
/*
 * --plot of every command that has it.
 */
#include "session.h"

/* For a command's table of options. */
#define CLI_OPTIONS_TITLES                                                                                             \
    {"title", "TEXT", false, "title of the picture or report"},                                                        \
    {                                                                                                                  \
        "part-number", "TEXT", false, "part name or number, printed below the title"                                   \
    }
#define CLI_OPTIONS_PLOT                                                                                               \
    {"plot", "FILE", false, "draw a picture as well, by the extension of the file: .svg, .pdf or .png"},               \
        {"plot-width-mm", "MM", false, "width of the picture in mm, 40 to 1000 (default 120)"},                        \
        {"plot-height-mm", "MM", false, "its height in mm, 40 to 1000 (default: what it needs)"},                      \
        {"plot-dpi", "DPI", false, "resolution of a PNG, 30 to 2400 dots per inch (default 300)"}, CLI_OPTIONS_TITLES

/* The options, before anything else is read: a misspelt ending costs no search. */
bc_status cli_read_plot(cli_session *session, bc_error *error);
/* Write the picture that was drawn. */
bc_status cli_write_plot(const cli_session *session, const bc_text *picture, bc_error *error);

/* The picture of a verdict, drawn before anything is written; nothing without --plot. `design` NULL: no strip of the
 * layers. */
bc_status cli_draw_check(const cli_session *session, const bc_check_report *check, const bc_design_report *design,
                         bc_text *picture, bc_error *error);

#endif
