/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "page.h"
#include "plot.h"
#include <math.h>
#include <stdlib.h>

#define USUAL_TO_DEG   60.0
#define USUAL_STEP_DEG 10.0

typedef struct angles {
    size_t count;
    double *aoi_rad;
} angles;

/* 0, 10, ... 60 degrees where none are given. */
static bc_status read_angles(const cli_arguments *arguments, angles *all, bc_error *error)
{
    cli_list list;
    bc_status status = cli_list_read(arguments, "aoi", &list, error);
    if (status != BC_OK)
        return status;
    all->count = list.count == 0 ? 1 + (size_t)(USUAL_TO_DEG / USUAL_STEP_DEG) : list.count;
    all->aoi_rad = calloc(all->count, sizeof *all->aoi_rad);
    if (all->aoi_rad == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < all->count; i++) {
        double degrees = USUAL_STEP_DEG * (double)i;
        if (list.count > 0)
            status = cli_parse_number("aoi", list.item[i], 0.0, nextafter(90.0, 0.0),
                                      "angles in degrees, from 0 to below 90", &degrees, error);
        all->aoi_rad[i] = degrees * (M_PI / 180.0);
    }
    cli_list_clear(&list);
    return status;
}

static bc_status read_back(cli_session *session, bc_error *error)
{
    bc_status status = cli_read_back(session, BC_BACK_NONE, error);
    if (status == BC_OK && session->back.kind != BC_BACK_NONE)
        return cli_need_thickness(session, &session->stack.substrate, BC_COLOUR_FROM_NM,
                                  BC_COLOUR_FROM_NM + BC_COLOUR_STEP_NM * (BC_COLOUR_ROWS - 1), error);
    if (status == BC_OK && cli_has(session->arguments, "substrate-mm"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "--substrate-mm has no meaning for one surface alone; expected --back "
                       "uncoated, same or a stack file beside it");
    return status;
}

static bc_status read_view(const cli_arguments *arguments, bc_colour_report *report, bc_error *error)
{
    static const char *const illuminant[] = {
        [BC_ILLUMINANT_D65] = "D65", [BC_ILLUMINANT_A] = "A", [BC_ILLUMINANT_D50] = "D50"};
    static const char *const observer[] = {[BC_OBSERVER_2] = "2", [BC_OBSERVER_10] = "10"};
    static const char *const polarization[] = {"unpolarized", "s", "p"};
    static const bc_polarization meant[] = {BC_POL_UNPOLARIZED, BC_POL_S, BC_POL_P};
    size_t chosen[3] = {BC_ILLUMINANT_D65, BC_OBSERVER_2, 0};
    bc_status status = cli_choice(arguments, "illuminant", BC_ILLUMINANTS, illuminant, &chosen[0], error);
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

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    bc_colour_report report = {.stack = &session->stack, .back = &session->back};
    angles all = {0};
    bc_colour *colour = NULL;
    bc_status status = read_angles(session->arguments, &all, error);
    if (status == BC_OK)
        status = read_view(session->arguments, &report, error);
    if (status == BC_OK)
        status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK)
        status = read_back(session, error);
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
        status = write_report(session, &report, error);
    }
    free(colour);
    free(all.aoi_rad);
    *met = true;
    return status;
}

static const cli_option options[] = {
    {"aoi", "DEG", true, "angle of incidence in degrees, 0 to below 90; several with commas (default 0, 10, ... 60)"},
    {"illuminant", "D65|A|D50", false, "the light that falls on it (default D65)"},
    {"observer", "2|10", false, "the CIE's observer, of 2 or 10 degrees (default 2)"},
    {"polarization", "unpolarized|s|p", false, "polarization of the light (default unpolarized)"},
    {"back", "none|uncoated|same|STACK", false,
     "the second surface; none: the reflection of the coated surface alone (default none)"},
    CLI_OPTION_SUBSTRATE_MM,
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
        "reflectance is weighted by the illuminant and the photopic eye. --plot draws the path in the a*b* plane.",
    .example = "colour examples/window-stack.csv --aoi 0,30,60",
    .option = options,
    .run = run,
};
