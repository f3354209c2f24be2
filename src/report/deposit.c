/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include "internal/numbers.h"
#include "internal/table.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define TIME_SIZE 64

static void add_path(bc_text *out, const char *what, const char *path)
{
    if (path == NULL)
        return;
    bc_text_add(out, "%s ", what);
    bc_text_add_plain(out, path);
    bc_text_add(out, "\n");
}

static void wrap(bc_text *words, bc_text *out)
{
    out->failed = out->failed || words->failed;
    if (words->data != NULL)
        bc_text_wrap(out, 0, 0, words->data);
    bc_text_clear(words);
}

/* "1:02.5" of a film, "2:01:02" on the clock; "?" when it is not known. */
static const char *time_words(double seconds, bool clock, char to[TIME_SIZE])
{
    const double rounded = clock ? round(seconds) : round(10.0 * seconds) / 10.0;
    if (!isfinite(seconds))
        return "?";
    if (clock)
        snprintf(to, TIME_SIZE, "%.0f:%02.0f:%02.0f", floor(rounded / 3600.0), floor(fmod(rounded, 3600.0) / 60.0),
                 fmod(rounded, 60.0));
    else
        snprintf(to, TIME_SIZE, "%.0f:%04.1f", floor(rounded / 60.0), fmod(rounded, 60.0));
    return to;
}

static void headings(bc_table *table, const char *const *heading)
{
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
}

static void films_text(const bc_deposit_report *report, bc_text *out)
{
    const bc_deposit_result *result = report->result;
    const bool clock = report->chamber != NULL;
    const char *const heading[] = {
        "film", "material", "part nm", "tooling", "monitor", "nm/s", "time", "total nm", clock ? "ends at" : "total"};
    bc_table table = {.columns = 9, .right = {true, false, true, true, true, true, true, true, true}, .indent = 2};
    char time[TIME_SIZE];
    headings(&table, heading);
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", order + 1);
        bc_table_cell(&table, 1, "%s", film->material->name);
        bc_table_cell(&table, 2, "%.2f", film->thickness_nm);
        bc_table_cell(&table, 3, film->has_tooling ? "%.3f" : "?", film->tooling);
        bc_table_cell(&table, 4, "%.2f", film->monitor_nm);
        bc_table_cell(&table, 5, film->has_rate ? "%.3g" : "?", film->rate_nm_per_s);
        bc_table_cell(&table, 6, "%s", time_words(film->time_s, false, time));
        bc_table_cell(&table, 7, "%.2f", film->total_nm);
        bc_table_cell(&table, 8, "%s", time_words(clock ? film->ends_s : film->total_s, true, time));
    }
    bc_text_add(out, "Films in order of deposition, on %s:\n", report->stack->substrate.name);
    bc_table_write(&table, out);
    bc_text_wrap(out, 0, 0,
                 clock ? "Thickness in nm, on the part and at the monitor. Time of the film in m:ss.s; end of the film "
                         "in h:mm:ss since the door was closed."
                       : "Thickness in nm, on the part and at the monitor. Time of the film in m:ss.s, total of the "
                         "films in h:mm:ss.");
}

static void load_text(const bc_deposit_report *report, bc_text *out)
{
    const bc_chamber *chamber = report->chamber;
    const bc_deposit_result *result = report->result;
    char time[TIME_SIZE];
    bc_text words = {0};
    if (isfinite(result->film_s))
        bc_text_add(&words, "The films take %s. ", time_words(result->film_s, true, time));
    if (chamber != NULL && chamber->has_pump_down)
        bc_text_add(&words, "Pump down: %g min. ", chamber->pump_down_min);
    if (chamber != NULL && chamber->has_heat)
        bc_text_add(&words, "Heat: %g min. ", chamber->heat_min);
    if (chamber != NULL && chamber->has_between_films)
        bc_text_add(&words, "After each film: %g s. ", chamber->between_films_s);
    if (chamber != NULL && chamber->has_cool_vent)
        bc_text_add(&words, "Cool and vent: %g min. ", chamber->cool_vent_min);
    if (isfinite(result->load_s))
        bc_text_add(&words, "From door to door: %s.", time_words(result->load_s, true, time));
    wrap(&words, out);
    bc_text_add(out, "\n");
}

static void beam_text(const bc_deposit_report *report, bc_text *out)
{
    const bc_monitor *monitor = report->monitor;
    const bc_deposit_result *result = report->result;
    bc_text words = {0};
    bc_text_add(&words, "Optical monitor: %s of a witness glass of %s%s, back %s, in vacuum, %g deg, ",
                bc_quantity_word(monitor->signal), bc_witness_of(report)->name,
                monitor->witness == NULL ? " (the part's; no other was named)" : "",
                monitor->witness_back == BC_BACK_NONE ? "not seen" : "bare and seen", bc_degrees(monitor->aoi_rad));
    if (monitor->bandwidth_nm > 0.0)
        bc_text_add(&words, "averaged over a Gaussian filter %g nm wide at half maximum.", monitor->bandwidth_nm);
    else
        bc_text_add(&words, "at a single wavelength.");
    if (result->choices == 1)
        bc_text_add(&words, " Wavelength: %g nm.", result->choice[0].wavelength_nm);
    else if (result->swept)
        bc_text_add(&words,
                    " %g nm is the best of %zu wavelengths from %g to %g nm for the whole run: %zu of %zu films can be "
                    "cut by it.",
                    result->choice[result->chosen].wavelength_nm, result->choices, result->choice[0].wavelength_nm,
                    result->choice[result->choices - 1].wavelength_nm, result->films - result->crystal, result->films);
    else
        bc_text_add(&words, " Each film has the surest of %zu wavelengths; for the whole run it would be %g nm.",
                    result->choices, result->choice[result->chosen].wavelength_nm);
    bc_text_add(&words,
                " Cost: the nm on the part that an error of %g %% of the signal%s stands for, the films below being as "
                "planned.",
                100.0 * monitor->error,
                monitor->error_of == BC_ERROR_OF_HIGH ? " (of the film's highest from start to cut)" : " at the cut");
    wrap(&words, out);
}

static bool one_wavelength(const bc_deposit_result *result)
{
    for (size_t order = 1; order < result->films; order++)
        if (result->film[order].signal.wavelength_nm != result->film[0].signal.wavelength_nm)
            return false;
    return true;
}

static void swing_cell(bc_table *table, size_t column, const bc_film_signal *seen)
{
    if (seen->cut_at_turning)
        bc_table_cell(table, column, "%s", seen->turning[seen->turnings - 1].maximum ? "max" : "min");
    else if (isnan(seen->swing))
        bc_table_cell(table, column, "none");
    else
        bc_table_cell(table, column, "%.0f %%", 100.0 * seen->swing);
}

static void cost_cells(bc_table *table, size_t column, const bc_sheet_film *film)
{
    const double cost_nm = film->signal.cost_nm, percent = 100.0 * cost_nm / film->thickness_nm;
    bc_table_cell(table, column, isinf(cost_nm) ? "all" : "%.2f", cost_nm);
    bc_table_cell(table, column + 1, isinf(cost_nm) ? "all" : "%.1f %%", percent);
}

/* Where one wavelength serves all films it was said above, and leaves room for another column. */
static void signals_text(const bc_deposit_report *report, bc_text *out)
{
    const bc_deposit_result *result = report->result;
    const bool one = one_wavelength(result);
    bool hidden = false;
    const char *const heading[] = {"film",  "material", "QW",     "start %", "cut %",
                                   "swing", "cost nm",  "cost %", "cut by",  one ? "" : "at nm"};
    bc_table table = {.columns = one ? 9 : 10,
                      .right = {true, false, true, true, true, true, true, true, false, true},
                      .indent = one ? 2 : 0};
    headings(&table, heading);
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", order + 1);
        bc_table_cell(&table, 1, "%s", film->material->name);
        bc_table_cell(&table, 2, "%.3f", film->signal.quarter_waves);
        bc_table_cell(&table, 3, "%.3f", 100.0 * film->signal.start);
        bc_table_cell(&table, 4, "%.3f", 100.0 * film->signal.cut);
        swing_cell(&table, 5, &film->signal);
        cost_cells(&table, 6, film);
        hidden = hidden || isinf(film->signal.cost_nm);
        bc_table_cell(&table, 8, "%s", bc_cut_word(film->signal.cut_by));
        if (!one)
            bc_table_cell(&table, 9, "%g", film->signal.wavelength_nm);
    }
    bc_table_write(&table, out);
    bc_text_wrap(
        out, 0, 0,
        "QW: quarter waves at the monitor. Swing: how far the signal has come, at the cut, from its last turning "
        "point (or the start) to its next; max, min: cut at a turning point.");
    if (hidden)
        bc_text_add(out, "\"all\": the signal's error hides any thickness.\n");
}

static void turnings_text(const bc_deposit_result *result, bc_text *out)
{
    static const char *const heading[] = {"film", "turning point", "monitor nm", "of", "time", "signal %"};
    bc_table table = {.columns = 6, .right = {true, false, true, true, true, true}, .indent = 2};
    char time[TIME_SIZE];
    size_t turnings = 0;
    headings(&table, heading);
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        for (size_t i = 0; i < film->signal.turnings; i++) {
            const bc_turning *turning = &film->signal.turning[i];
            turnings++;
            bc_table_row(&table);
            bc_table_cell(&table, 0, "%zu", order + 1);
            bc_table_cell(&table, 1, "%s", turning->maximum ? "maximum" : "minimum");
            bc_table_cell(&table, 2, "%.2f", turning->monitor_nm);
            bc_table_cell(&table, 3, "%.2f", film->monitor_nm);
            bc_table_cell(&table, 4, "%s", time_words(turning->time_s, false, time));
            bc_table_cell(&table, 5, "%.3f", 100.0 * turning->signal);
        }
    }
    if (turnings == 0) {
        free(table.cell);
        bc_text_add(out, "No film's signal turns before its cut.\n\n");
        return;
    }
    bc_text_add(out, "The signal turns:\n");
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

/* Where single films would be surer than at the wavelength of the whole run. */
static void best_text(const bc_deposit_result *result, bc_text *out)
{
    bc_text words = {0};
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        if (film->best_wavelength_nm != film->signal.wavelength_nm && isfinite(film->best_cost_nm))
            bc_text_add(&words, "%s film %zu at %g nm (%.2f nm)",
                        words.length == 0 ? "Single films are surest at:" : ",", order + 1, film->best_wavelength_nm,
                        film->best_cost_nm);
    }
    if (words.length > 0) {
        bc_text_add(&words, ".");
        wrap(&words, out);
        bc_text_add(out, "\n");
    }
    bc_text_clear(&words);
}

static void sentences_text(const char *heading, void (*write)(bc_text *, const bc_deposit_report *),
                           const bc_deposit_report *report, bc_text *out)
{
    bc_text lines = {0};
    write(&lines, report);
    if (lines.length > 0) {
        bc_lines_text(heading, &lines, out);
        bc_text_add(out, "\n");
    }
    out->failed = out->failed || lines.failed;
    bc_text_clear(&lines);
}

static void sources_text(const bc_deposit_report *report, bc_text *out)
{
    size_t count;
    const bc_medium **media = bc_deposit_media(report, &count);
    if (media == NULL)
        out->failed = true;
    else
        bc_media_sources_text(count, media, out);
    free(media);
    bc_text_add(out, "\n");
}

bc_status bc_report_deposit_text(const bc_deposit_report *report, bc_text *out, bc_error *error)
{
    const bc_check_report heading = {.stack_path = report->stack_path, .stack = report->stack};
    bc_text cautions = {0};
    bc_heading_text(&heading, out);
    add_path(out, "Process", report->process_path);
    add_path(out, "Chamber", report->chamber_path);
    bc_text_add(out, "\n");
    films_text(report, out);
    load_text(report, out);
    if (report->result->has_signal) {
        beam_text(report, out);
        signals_text(report, out);
        bc_text_add(out, "\n");
        turnings_text(report->result, out);
        best_text(report->result, out);
    }
    sentences_text("Mind", bc_add_film_remarks, report, out);
    sentences_text("Not known", bc_add_deposit_missing, report, out);
    sources_text(report, out);
    bc_add_deposit_cautions(&cautions, report);
    bc_lines_text("Cautions", &cautions, out);
    return bc_text_end(out, error);
}
