/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "commands.h"
#include "output.h"
#include "page.h"
#include "plot.h"
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FILTER_REACH 1.7 /* full widths of the passband that are looked at on either side */

/* What the sheet needs besides the session. */
typedef struct order {
    bc_monitor monitor;
    bc_medium glass;
    double *wavelength_nm;
    size_t *new_before;
} order;

static void order_clear(order *o)
{
    free(o->wavelength_nm);
    free(o->new_before);
}

static bc_status read_wavelengths(const cli_arguments *arguments, order *o, bc_error *error)
{
    bc_monitor *monitor = &o->monitor;
    cli_list list;
    bc_status status = cli_list_read(arguments, "monitor-nm", &list, error);
    if (status != BC_OK)
        return status;
    o->wavelength_nm = calloc(list.count + 1, sizeof *o->wavelength_nm);
    if (o->wavelength_nm == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < list.count; i++) {
        status = cli_parse_number("monitor-nm", list.item[i], DBL_MIN, 1e9, "wavelengths in nm above 0",
                                  &o->wavelength_nm[i], error);
        for (size_t j = 0; status == BC_OK && j < i; j++)
            if (o->wavelength_nm[i] == o->wavelength_nm[j])
                status = cli_fail_value(error, "monitor-nm", list.item[i], " twice", "each wavelength once");
    }
    monitor->wavelengths = list.count;
    monitor->wavelength_nm = o->wavelength_nm;
    cli_list_clear(&list);
    return status;
}

static bc_status read_range(const cli_arguments *arguments, order *o, bc_error *error)
{
    static const char *const name[] = {"monitor-from", "monitor-to", "monitor-step"};
    bc_monitor *monitor = &o->monitor;
    double *const value[] = {&monitor->from_nm, &monitor->to_nm, &monitor->step_nm};
    for (size_t i = 0; i < 3; i++) {
        bc_status status;
        if (monitor->wavelengths > 0 && cli_has(arguments, name[i]))
            return bc_fail(error, BC_ERROR_INPUT,
                           "--%s has no meaning beside --monitor-nm, which says the wavelength; expected one of them",
                           name[i]);
        status = cli_number(arguments, name[i], DBL_MIN, 1e9,
                            i < 2 ? "a wavelength in nm above 0" : "a step in nm above 0", value[i], error);
        if (status != BC_OK)
            return status;
    }
    if (monitor->to_nm < monitor->from_nm)
        return bc_fail(error, BC_ERROR_INPUT,
                       "--monitor-to: found %g%s; expected no less than --monitor-from, which is %g%s", monitor->to_nm,
                       cli_has(arguments, "monitor-to") ? "" : " by default", monitor->from_nm,
                       cli_has(arguments, "monitor-from") ? "" : " by default");
    return BC_OK;
}

static bc_status read_beam(const cli_arguments *arguments, bc_monitor *monitor, bc_error *error)
{
    static const char *const signal_word[] = {[BC_R] = "R", [BC_T] = "T"};
    static const char *const of_word[] = {[BC_ERROR_OF_HIGH] = "max", [BC_ERROR_OF_CUT] = "cut"};
    double degrees = 0.0, error_percent = 0.5;
    size_t signal = BC_R, of = BC_ERROR_OF_HIGH;
    bc_status status = cli_choice(arguments, "signal", 2, signal_word, &signal, error);
    if (status == BC_OK)
        status =
            cli_number(arguments, "bandwidth-nm", 0.0, 1e6, "a width in nm, 0 or more", &monitor->bandwidth_nm, error);
    if (status == BC_OK)
        status = cli_number(arguments, "aoi", 0.0, nextafter(90.0, 0.0), "an angle in degrees, from 0 to below 90",
                            &degrees, error);
    if (status == BC_OK)
        status = cli_number(arguments, "signal-error-percent", 1e-6, 99.0, "a share of the signal in percent, above 0",
                            &error_percent, error);
    if (status == BC_OK)
        status = cli_choice(arguments, "signal-error-of", 2, of_word, &of, error);
    monitor->signal = (bc_quantity)signal;
    monitor->aoi_rad = degrees * (M_PI / 180.0);
    monitor->error = error_percent / 100.0;
    monitor->error_of = (bc_error_of)of;
    return status;
}

static bc_status read_glass(cli_session *session, order *o, bc_error *error)
{
    static const char *const back_word[] = {"none", "uncoated"};
    const char *name = cli_value(session->arguments, "monitor-glass");
    bc_monitor *monitor = &o->monitor;
    size_t back = monitor->signal == BC_T; /* what passes the glass leaves it by its back */
    bc_status status = cli_choice(session->arguments, "monitor-glass-back", 2, back_word, &back, error);
    monitor->glass_back = back == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED;
    if (status == BC_OK)
        status = cli_number(session->arguments, "monitor-glass-mm", 0.0, 1e6,
                            "the monitor glass's thickness in mm, 0 or more", &monitor->glass_mm, error);
    if (status == BC_OK && back == 0 && cli_has(session->arguments, "monitor-glass-mm"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "--monitor-glass-mm has no meaning where the monitor glass's back is not seen; expected "
                       "--monitor-glass-back "
                       "uncoated beside it");
    if (status != BC_OK || name == NULL)
        return status;
    status = bc_medium_find(session->materials, name, "--monitor-glass", &o->glass, error);
    monitor->glass = &o->glass;
    return status == BC_OK ? cli_note_medium(session, &o->glass, error) : status;
}

static bc_status read_new_glasses(cli_session *session, order *o, bc_error *error)
{
    cli_list list;
    const size_t layers = session->stack.layers;
    bc_status status = cli_list_read(session->arguments, "new-monitor-glass", &list, error);
    if (status != BC_OK)
        return status;
    o->new_before = calloc(layers + list.count + 1, sizeof *o->new_before);
    if (o->new_before == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < list.count; i++) {
        double number = 0.0;
        if (strcmp(list.item[i], "each") == 0) {
            for (size_t layer = 2; layer <= layers && list.count == 1; layer++)
                o->new_before[o->monitor.new_glasses++] = layer;
            if (list.count > 1)
                status =
                    cli_fail_value(error, "new-monitor-glass", "each", " beside others", "'each' alone, or numbers");
            continue;
        }
        status = cli_parse_number("new-monitor-glass", list.item[i], 2.0, (double)layers,
                                  layers < 2 ? "a stack of two layers or more"
                                             : "'each', or layers by number, from 2 on "
                                               "in order of deposition to the last",
                                  &number, error);
        if (status == BC_OK && floor(number) != number)
            status = cli_fail_value(error, "new-monitor-glass", list.item[i], "", "whole numbers");
        o->new_before[o->monitor.new_glasses++] = (size_t)number;
    }
    o->monitor.new_before = o->new_before;
    cli_list_clear(&list);
    return status;
}

/* Light that passes an absorbing monitor glass depends on how thick it is. */
static bc_status need_thickness(const cli_session *session, const bc_monitor *monitor, bc_error *error)
{
    const bc_medium *glass = monitor->glass == NULL ? &session->stack.substrate : monitor->glass;
    double from_nm = monitor->from_nm, to_nm = monitor->to_nm;
    if (monitor->wavelengths > 0)
        from_nm = to_nm = monitor->wavelength_nm[0];
    for (size_t i = 0; i < monitor->wavelengths; i++) {
        from_nm = fmin(from_nm, monitor->wavelength_nm[i]);
        to_nm = fmax(to_nm, monitor->wavelength_nm[i]);
    }
    from_nm -= FILTER_REACH * monitor->bandwidth_nm;
    to_nm += FILTER_REACH * monitor->bandwidth_nm;
    if (monitor->glass_back == BC_BACK_NONE || monitor->glass_mm > 0.0 ||
        !cli_absorbs(glass->dispersion, from_nm, to_nm))
        return BC_OK;
    return bc_fail(
        error, BC_ERROR_INPUT,
        "the monitor glass %s absorbs between %g and %g nm, so what comes back from its back surface depends on its "
        "thickness; give it with --monitor-glass-mm, above 0",
        glass->name, from_nm, to_nm);
}

static bc_status write_page(const void *report, const bc_check_curves *curves, const bc_page_options *options,
                            bc_text *out, bc_error *error)
{
    (void)curves;
    return bc_page_deposit(report, options, out, error);
}

static bc_status write_report(const cli_session *session, const bc_deposit_report *report, bc_error *error)
{
    static const char *const option[] = {"sheet-csv", "signal-csv"};
    const cli_page_work work = {.write = write_page, .report = report};
    cli_pages pages = {0};
    bc_text text[3] = {{0}}, picture = {0};
    const char *path[] = {session->output, cli_value(session->arguments, option[0]),
                          cli_value(session->arguments, option[1])};
    bc_status status = session->json ? bc_report_deposit_json(report, &text[0], error)
                                     : bc_report_deposit_text(report, &text[0], error);
    if (status == BC_OK && path[1] != NULL)
        status = bc_report_deposit_csv(report, &text[1], error);
    if (status == BC_OK && path[2] != NULL)
        status = bc_report_deposit_signal_csv(report, &text[2], error);
    if (status == BC_OK && session->plot != NULL)
        status = bc_plot_deposit(report, &session->plot_options, &picture, error);
    if (status == BC_OK)
        status = cli_make_pages(session, &work, &pages, error);
    if (status == BC_OK)
        status = cli_write_plot(session, &picture, error);
    if (status == BC_OK)
        status = cli_write_changed(session, error);
    if (status == BC_OK)
        status = cli_write_pages(&pages, error);
    cli_pages_clear(&pages);
    bc_text_clear(&picture);
    /* The sheet last: when it is there, all of it is. */
    for (size_t i = 3; i-- > 0;) {
        if (status == BC_OK && (i == 0 || path[i] != NULL))
            status = cli_output_write(path[i], &text[i], error);
        bc_text_clear(&text[i]);
    }
    return status;
}

static bc_status compute(cli_session *session, const order *o, bc_error *error)
{
    bc_deposit_result result = {0};
    const bc_deposit_report report = {.stack_path = session->stack_path,
                                      .process_path = session->process_path,
                                      .chamber_path = session->chamber_path,
                                      .stack = &session->stack,
                                      .process = session->process_path == NULL ? NULL : &session->process,
                                      .chamber = session->chamber_path == NULL ? NULL : &session->chamber,
                                      .monitor = &o->monitor,
                                      .result = &result};
    const bool asked = cli_has(session->arguments, "monitor-from") || cli_has(session->arguments, "monitor-to");
    bc_status status = bc_deposit(report.stack, report.process, report.chamber, &o->monitor, &result, error);
    if (status == BC_OK && !result.has_signal && asked)
        status =
            bc_fail(error, BC_ERROR_INPUT,
                    "--monitor-from, --monitor-to: found no wavelength from %g to %g nm that every table reaches and "
                    "at which every layer is clear (k at most %g); expected a range that has one",
                    o->monitor.from_nm, o->monitor.to_nm, BC_MONITOR_CLEAR);
    if (status == BC_OK)
        status = write_report(session, &report, error);
    bc_deposit_result_clear(&result);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    order o = {.monitor = {.from_nm = 350.0, .to_nm = 1000.0, .step_nm = 5.0}};
    bc_status status = read_wavelengths(session->arguments, &o, error);
    if (status == BC_OK)
        status = read_range(session->arguments, &o, error);
    if (status == BC_OK)
        status = read_beam(session->arguments, &o.monitor, error);
    if (status == BC_OK)
        status = cli_read_stack(session, session->arguments->operand, error);
    if (status == BC_OK && cli_has(session->arguments, "process"))
        status = cli_read_process(session, error);
    if (status == BC_OK)
        status = cli_read_chamber(session, error);
    if (status == BC_OK)
        status = read_glass(session, &o, error);
    if (status == BC_OK)
        status = read_new_glasses(session, &o, error);
    if (status == BC_OK)
        status = need_thickness(session, &o.monitor, error);
    if (status == BC_OK)
        status = cli_check_output(session, error);
    if (status == BC_OK)
        status = compute(session, &o, error);
    order_clear(&o);
    *met = true;
    return status;
}

static const cli_option options_table[] = {
    {"process", "FILE", false,
     "rates, tooling and the thinnest layers of the chamber (CSV); without it there are no times"},
    {"chamber", "FILE", false, "the steps around the layers (CSV), for the time of the whole load"},
    {"monitor-nm", "NM", true,
     "wavelength of the optical monitor in nm; with several, separated by commas, each layer uses the most accurate "
     "(default: "
     "the best for the whole run)"},
    {"monitor-from", "NM", false, "first wavelength of the search (default 350)"},
    {"monitor-to", "NM", false, "last wavelength of the search (default 1000)"},
    {"monitor-step", "NM", false, "step of the search (default 5)"},
    {"signal", "R|T", false, "what the monitor sees (default R)"},
    {"bandwidth-nm", "NM", false, "of the monitor's filter, full width at half maximum; Gaussian (default 0)"},
    {"aoi", "DEG", false, "angle of the monitor's beam in degrees, unpolarized (default 0)"},
    {"monitor-glass", "NAME", false, "the monitor glass, by name or constant index (default: the stack's)"},
    {"monitor-glass-back", "none|uncoated", false,
     "its back surface; none: not seen (ground, or wedged) (default none for R, uncoated for T)"},
    {"monitor-glass-mm", "MM", false, "its thickness in mm; needed where it absorbs and its back is seen"},
    {"new-monitor-glass", "N", true,
     "change to a new monitor glass before layer N, counted from the substrate; several with commas, or 'each'"},
    {"signal-error-percent", "P", false,
     "error of the signal, in percent; the sheet gives its effect in nm (default 0.5)"},
    {"signal-error-of", "max|cut", false,
     "what it is a percentage of: max, the highest signal from the start of the layer to its cut, or cut, the signal "
     "at the cut (default max)"},
    {"sheet-csv", "FILE", false, "also write the sheet as a table"},
    {"signal-csv", "FILE", false, "also write the signal as a curve"},
    CLI_OPTIONS_PAGE,
    CLI_OPTIONS_PLOT,
    CLI_OPTIONS_CHANGES,
    CLI_OPTION_CHANGED_STACK,
    CLI_OPTION_END,
};

const cli_command cli_deposit = {
    .name = "deposit",
    .operand = "STACK",
    .summary =
        "Writes the run sheet: layers in order of deposition, thickness at the monitor, time, and the optical signal "
        "at each cut.",
    .details = "The thickness at the monitor is that on the part divided by the tooling factor. The picture "
               "has the monitor's signal layer by layer, with its turning points and cuts.",
    .example = "deposit examples/window-stack.csv --process examples/process.csv --chamber examples/chamber.csv "
               "--monitor-nm 520",
    .option = options_table,
    .run = run,
};
