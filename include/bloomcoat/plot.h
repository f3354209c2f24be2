/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PLOT_H
#define BLOOMCOAT_PLOT_H
/*
 * Results as pictures: SVG, PDF or PNG bytes in memory, drawn with Cairo.
 *
 * A `max` or `min` row is a hatched region that its curves must stay out of; the limit of an average is a line, with
 * the average beside it. Callouts that ask about other light (quantity, scope, polarization, angles, glass) have panels
 * of their own, so that no curve ever lies in a region that does not concern it. The worst point of each is marked.
 *
 * The same input gives the same bytes wherever the same fonts are: there is no date in a picture. The curves keep apart
 * without colour, by dashes; the colours are those of Okabe and Ito, Color Universal Design (2002, revised 2008), which
 * colour-blind readers can tell apart. Numbers follow LC_NUMERIC as in report.h.
 */
#include <bloomcoat/curves.h>
#include <bloomcoat/report.h>

BC_API_BEGIN

typedef enum bc_plot_format { BC_PLOT_SVG, BC_PLOT_PNG, BC_PLOT_PDF } bc_plot_format;

#define BC_PLOT_WIDTH_MM    120.0
#define BC_PLOT_DPI         300.0
#define BC_PLOT_LEAST_MM    40.0
#define BC_PLOT_MOST_MM     1000.0
#define BC_PLOT_LEAST_DPI   30.0
#define BC_PLOT_MOST_DPI    2400.0
#define BC_PLOT_MOST_PIXELS 100e6

typedef struct bc_plot_options {
    bc_plot_format format;
    double width_mm;   /* BC_PLOT_LEAST_MM to BC_PLOT_MOST_MM; 0: BC_PLOT_WIDTH_MM */
    double height_mm;  /* the same; 0: what the contents need. Where it is too little everything is drawn smaller */
    double dpi;        /* of a PNG; 0: BC_PLOT_DPI */
    const char *title; /* may be NULL, as `part` */
    const char *part;
} bc_plot_options;

/* The format that a file's name asks for by its ending (.svg, .png, .pdf, in either case). BC_ERROR_INPUT for any other
 * ending. */
bc_status bc_plot_format_of(const char *path, bc_plot_format *format, bc_error *error);

/* BC_ERROR_INPUT for options out of their limits. */
bc_status bc_plot_check_options(const bc_plot_options *options, bc_error *error);

/* Every function below appends a whole file to *out. BC_ERROR_INPUT for options out of their limits or a PNG of more
 * than BC_PLOT_MOST_PIXELS, BC_ERROR_MEMORY; then *out is empty. */

/* R, T and (when any curve absorbs) A, a panel each; `only` not 0: a set of 1 << BC_R, 1 << BC_T, 1 << BC_A. */
bc_status bc_plot_spectrum(const bc_spectrum_report *report, unsigned only, const bc_plot_options *options,
                           bc_text *out, bc_error *error);

/* The same of several stacks, on one grid at the same angles. */
bc_status bc_plot_spectra(size_t stacks, const bc_spectrum_report *reports, const char *const *path, unsigned only,
                          const bc_plot_options *options, bc_text *out, bc_error *error);

/* A check. `curves` as bc_check_curves_compute() makes them of the same stack and result. */
bc_status bc_plot_check(const bc_check_report *report, const bc_check_curves *curves, const bc_plot_options *options,
                        bc_text *out, bc_error *error);

/* Several checks of the same callouts, their curves laid over each other; `curves` [stacks]. */
bc_status bc_plot_compare(size_t stacks, const bc_check_report *reports, const bc_check_curves *curves,
                          const bc_plot_options *options, bc_text *out, bc_error *error);

/* The colour against the angle in the a*b* plane. */
bc_status bc_plot_colour(const bc_colour_report *report, const bc_plot_options *options, bc_text *out, bc_error *error);

/* limit_used with one layer off at a time, bars for less and for more; BC_ERROR_INPUT without layers. */
bc_status bc_plot_sensitivity(const bc_sensitivity_report *report, const bc_plot_options *options, bc_text *out,
                              bc_error *error);

/* Measured and fitted, their difference, n and k with their uncertainty. */
bc_status bc_plot_layer_index(const bc_layer_index_report *report, const bc_plot_options *options, bc_text *out,
                              bc_error *error);

/* As bc_plot_check(), with the stack itself beneath: n against depth. */
bc_status bc_plot_design(const bc_design_report *report, const bc_check_curves *curves, const bc_plot_options *options,
                         bc_text *out, bc_error *error);

/* The percentile curves of simulated runs; report->result->curves >= 1, else BC_ERROR_INPUT. */
bc_status bc_plot_yield(const bc_yield_report *report, const bc_plot_options *options, bc_text *out, bc_error *error);

/* Measured with its uncertainty, design and fitted stack, a panel each for R and T, and beneath it what the measured
 * values differ by. Of several witnesses: all of them with the design. Only the callouts that are about what was
 * measured are drawn; the others are listed beneath. */
bc_status bc_plot_inspect(const bc_inspect_report *report, const bc_plot_options *options, bc_text *out,
                          bc_error *error);

/* The monitor's signal layer by layer, with its cuts and turning points, above the layers; against time, or the
 * thickness at the monitor where a rate is not known. BC_ERROR_INPUT when the sheet has no signal. */
bc_status bc_plot_deposit(const bc_deposit_report *report, const bc_plot_options *options, bc_text *out,
                          bc_error *error);

/* limit_used of each callout from the centre to the edge, and of the worst one with the factors that balance them. */
bc_status bc_plot_lens(const bc_lens_report *report, const bc_plot_options *options, bc_text *out, bc_error *error);

/* limit_used, the callout that uses most of its limit and the tooling factors, each above its ranges, ten charts at
 * most; what raised an alarm is marked. BC_ERROR_INPUT where no chart has lines. */
bc_status bc_plot_control(const bc_control_report *report, const bc_plot_options *options, bc_text *out,
                          bc_error *error);

/* n and, where there is any, k of a table with its rows. BC_ERROR_INPUT for a constant, of which there is nothing to
 * see. */
bc_status bc_plot_material(const bc_dispersion *material, const bc_plot_options *options, bc_text *out,
                           bc_error *error);

BC_API_END

#endif
