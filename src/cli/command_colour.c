/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "numbers.h"
#include "page.h"
#include "plot.h"
#include "progress.h"
#include <stdlib.h>

#define USUAL_ANGLES   7 /* 0 to 60 degrees */
#define USUAL_STEP_DEG 10.0
#define USUAL_RUNS     2000
#define MOST_RUNS      200000UL

static bc_status read_back(cli_session *session, bc_error *error)
{
    const bc_status status = cli_read_back_or_none(session, error);
    return status != BC_OK || session->back.kind == BC_BACK_NONE
               ? status
               : cli_need_thickness(session, &session->stack.substrate, BC_CIE_FROM_NM, BC_CIE_TO_NM, error);
}

static bc_status read_view(const cli_arguments *arguments, bc_colour_report *report, bc_error *error)
{
    const char *illuminant[BC_ILLUMINANTS];
    static const char *const observer[] = {[BC_OBSERVER_2] = "2", [BC_OBSERVER_10] = "10"};
    static const char *const polarization[] = {"unpolarized", "s", "p"};
    static const bc_polarization meant[] = {BC_POL_UNPOLARIZED, BC_POL_S, BC_POL_P};
    size_t chosen[3] = {BC_ILLUMINANT_D65, BC_OBSERVER_2, 0};
    bc_status status;
    for (int i = 0; i < BC_ILLUMINANTS; i++)
        illuminant[i] = bc_illuminant_word((bc_illuminant)i);
    status = cli_choice(arguments, "illuminant", BC_ILLUMINANTS, illuminant, &chosen[0], error);
    if (status == BC_OK)
        status = cli_choice(arguments, "observer", BC_OBSERVERS, observer, &chosen[1], error);
    if (status == BC_OK)
        status = cli_choice(arguments, "polarization", 3, polarization, &chosen[2], error);
    report->illuminant = (bc_illuminant)chosen[0];
    report->observer = (bc_observer)chosen[1];
    report->polarization = meant[chosen[2]];
    return status;
}

static bc_status write_report(cli_session *session, const bc_colour_report *report, bc_error *error)
{
    bc_text text = {0}, picture = {0};
    bc_status status =
        session->json ? bc_report_colour_json(report, &text, error) : bc_report_colour_text(report, &text, error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_colour(report, &session->plot_options, &picture, error);
    return cli_write_results(session, status, &text, &picture, NULL, error);
}

/* The lot, where a process says what goes wrong. */
static bc_status simulate(cli_session *session, const bc_colour_report *report, bc_yield_options *options,
                          bc_colour_runs *runs, bc_error *error)
{
    const bc_colour_view view = {report->stack,    report->back,   report->polarization, report->illuminant,
                                 report->observer, report->angles, report->aoi_rad};
    cli_progress progress;
    bc_status status;
    options->progress = cli_progress_step;
    options->progress_context = &progress;
    cli_progress_start(&progress, session->quiet);
    status = bc_colour_simulate(&view, &session->process, options, runs, error);
    cli_progress_end(&progress);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_colour_report report = {.stack = &session->stack, .back = &session->back};
    bc_yield_options options = {.runs = USUAL_RUNS, .seed = 1};
    bc_colour_runs runs = {0};
    cli_angles all = {0};
    bc_colour *colour = NULL;
    bc_status status = cli_read_angles(session->arguments, USUAL_ANGLES, USUAL_STEP_DEG, &all, error);
    if (status == BC_OK)
        status = read_view(session->arguments, &report, error);
    if (status == BC_OK)
        status = cli_read_runs(session->arguments, MOST_RUNS, &options, error);
    if (status == BC_OK)
        status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = read_back(session, error);
    if (status == BC_OK && cli_has(session->arguments, "process"))
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK && (colour = calloc(all.count, sizeof *colour)) == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < all.count; i++)
        status = bc_colour_compute(&session->stack, &session->back, all.aoi_rad[i], report.polarization,
                                   report.illuminant, report.observer, &colour[i], error);
    if (status == BC_OK) {
        report.stack_path = session->stack_path;
        report.angles = all.count;
        report.aoi_rad = all.aoi_rad;
        report.colour = colour;
    }
    if (status == BC_OK && cli_has(session->arguments, "process")) {
        status = simulate(session, &report, &options, &runs, error);
        report.process_path = session->process_path;
        report.runs = &runs;
    }
    if (status == BC_OK) {
        status = write_report(session, &report, error);
    }
    bc_colour_runs_clear(&runs);
    free(colour);
    free(all.aoi_rad);
    *met = true;
    return status;
}

static const cli_option options[] = {
    {"aoi", "DEG", true, "angle of incidence in degrees, 0 to below 90; several with commas (default 0, 10, ... 60)"},
    {"illuminant", "D65|A|D50", false, "illuminant (default D65)"},
    {"observer", "2|10", false, "the CIE's observer, of 2 or 10 degrees (default 2)"},
    {"polarization", "unpolarized|s|p", false, "polarization of the light (default unpolarized)"},
    {"back", "none|uncoated|same|STACK", false,
     "the second surface; none: the reflection of the coated surface alone (default none)"},
    CLI_OPTION_SUBSTRATE_MM,
    {"process", "FILE", false, "errors of the chamber (CSV): how far the colour scatters over simulated runs"},
    {"runs", "N", false, "simulated runs (default 2000)"},
    {"seed", "N", false, "of the random errors; the same seed gives the same bytes (default 1)"},
    {"threads", "N", false, "0 for as many as the machine has; the result does not depend on it (default 0)"},
    CLI_OPTIONS_PLOT,
    CLI_OPTIONS_CHANGES,
    CLI_OPTION_CHANGED_STACK,
    CLI_OPTION_END,
};

const cli_command cli_colour = {
    .name = "colour",
    .operand = "STACK",
    .summary = "The colour of the residual reflection and the luminous reflectance, angle by angle.",
    .details =
        "Sums of R over 380 to 780 nm every 5 nm, weighted by an illuminant and the CIE's observer. The luminous "
        "reflectance is weighted by the illuminant and V(lambda). --plot draws the path in the a*b* plane. With "
        "--process it says how far the colour scatters from run to run, in CIEDE2000.",
    .example = "colour examples/window-stack.csv --aoi 0,30,60",
    .option = options,
    .run = run,
};
