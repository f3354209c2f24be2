/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include "internal/numbers.h"
#include "print.h"
#include <math.h>
#include <stdio.h>

#define TIME_SIZE 64

/* "1:02.5" of a film, "2:01:02" on the clock; "?" when it is not known. */
static const char *time_words(double seconds, bool clock, char to[TIME_SIZE])
{
    const double rounded = clock ? round(seconds) : round(10.0 * seconds) / 10.0;
    if (!isfinite(seconds))
        return "?";
    if (clock)
        bc_print(to, TIME_SIZE, "%.0f:%02.0f:%02.0f", floor(rounded / 3600.0), floor(fmod(rounded, 3600.0) / 60.0),
                 fmod(rounded, 60.0));
    else
        bc_print(to, TIME_SIZE, "%.0f:%04.1f", floor(rounded / 60.0), fmod(rounded, 60.0));
    return to;
}

static void headings(bc_table *table, const char *const *heading)
{
    bc_table_row(table);
    for (size_t column = 0; column < table->columns; column++)
        bc_table_cell(table, column, "%s", heading[column]);
}

void bc_fill_sheet(const bc_deposit_report *report, bc_table *table)
{
    const bc_deposit_result *result = report->result;
    const bool clock = report->chamber != NULL;
    const char *const heading[] = {
        "film", "material", "part nm", "tooling", "monitor", "nm/s", "time", "total nm", clock ? "ends at" : "total"};
    char time[TIME_SIZE];
    *table = (bc_table){.columns = 9, .right = {true, false, true, true, true, true, true, true, true}, .indent = 2};
    headings(table, heading);
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        bc_table_row(table);
        bc_table_cell(table, 0, "%zu", order + 1);
        bc_table_cell(table, 1, "%s", film->material->name);
        bc_table_cell(table, 2, "%.2f", film->thickness_nm);
        bc_table_cell(table, 3, film->has_tooling ? "%.3f" : "?", film->tooling);
        bc_table_cell(table, 4, "%.2f", film->monitor_nm);
        bc_table_cell(table, 5, film->has_rate ? "%.3g" : "?", film->rate_nm_per_s);
        bc_table_cell(table, 6, "%s", time_words(film->time_s, false, time));
        bc_table_cell(table, 7, "%.2f", film->total_nm);
        bc_table_cell(table, 8, "%s", time_words(clock ? film->ends_s : film->total_s, true, time));
    }
}

const char *bc_sheet_words(const bc_deposit_report *report)
{
    return report->chamber != NULL
               ? "Thickness in nm, on the part and at the monitor. Time of the film in m:ss.s; end of the film in "
                 "h:mm:ss since the door was closed."
               : "Thickness in nm, on the part and at the monitor. Time of the film in m:ss.s, total of the films in "
                 "h:mm:ss.";
}

void bc_add_load_times(bc_text *words, const bc_deposit_report *report)
{
    const bc_chamber *chamber = report->chamber;
    const bc_deposit_result *result = report->result;
    char time[TIME_SIZE];
    if (isfinite(result->film_s))
        bc_text_add(words, "The films take %s. ", time_words(result->film_s, true, time));
    if (chamber != NULL && chamber->has_pump_down)
        bc_text_add(words, "Pump down: %g min. ", chamber->pump_down_min);
    if (chamber != NULL && chamber->has_heat)
        bc_text_add(words, "Heat: %g min. ", chamber->heat_min);
    if (chamber != NULL && chamber->has_between_films)
        bc_text_add(words, "After each film: %g s. ", chamber->between_films_s);
    if (chamber != NULL && chamber->has_cool_vent)
        bc_text_add(words, "Cool and vent: %g min. ", chamber->cool_vent_min);
    if (isfinite(result->load_s))
        bc_text_add(words, "From door to door: %s.", time_words(result->load_s, true, time));
}

void bc_add_beam(bc_text *words, const bc_deposit_report *report)
{
    const bc_monitor *monitor = report->monitor;
    const bc_deposit_result *result = report->result;
    bc_text_add(words, "Optical monitor: %s of a witness glass of %s%s, back %s, in vacuum, %g deg, ",
                bc_quantity_word(monitor->signal), bc_witness_of(report)->name,
                monitor->witness == NULL ? " (the part's; no other was named)" : "",
                monitor->witness_back == BC_BACK_NONE ? "not seen" : "bare and seen", bc_degrees(monitor->aoi_rad));
    if (monitor->bandwidth_nm > 0.0)
        bc_text_add(words, "averaged over a Gaussian filter %g nm wide at half maximum.", monitor->bandwidth_nm);
    else
        bc_text_add(words, "at a single wavelength.");
    if (result->choices == 1)
        bc_text_add(words, " Wavelength: %g nm.", result->choice[0].wavelength_nm);
    else if (result->swept)
        bc_text_add(words,
                    " %g nm is the best of %zu wavelengths from %g to %g nm for the whole run: %zu of %zu films can be "
                    "cut by it.",
                    result->choice[result->chosen].wavelength_nm, result->choices, result->choice[0].wavelength_nm,
                    result->choice[result->choices - 1].wavelength_nm, result->films - result->crystal, result->films);
    else
        bc_text_add(words, " Each film has the surest of %zu wavelengths; for the whole run it would be %g nm.",
                    result->choices, result->choice[result->chosen].wavelength_nm);
    bc_text_add(words,
                " Cost: the nm on the part that an error of %g %% of the signal%s stands for, the films below being as "
                "planned.",
                100.0 * monitor->error,
                monitor->error_of == BC_ERROR_OF_HIGH ? " (of the film's highest from start to cut)" : " at the cut");
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
void bc_fill_signals(const bc_deposit_report *report, bc_table *table)
{
    const bc_deposit_result *result = report->result;
    const bool one = one_wavelength(result);
    const char *const heading[] = {"film",  "material", "QW",     "start %", "cut %",
                                   "swing", "cost nm",  "cost %", "cut by",  one ? "" : "at nm"};
    *table = (bc_table){.columns = one ? 9 : 10,
                        .right = {true, false, true, true, true, true, true, true, false, true},
                        .indent = one ? 2 : 0};
    headings(table, heading);
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        bc_table_row(table);
        bc_table_cell(table, 0, "%zu", order + 1);
        bc_table_cell(table, 1, "%s", film->material->name);
        bc_table_cell(table, 2, "%.3f", film->signal.quarter_waves);
        bc_table_cell(table, 3, "%.3f", 100.0 * film->signal.start);
        bc_table_cell(table, 4, "%.3f", 100.0 * film->signal.cut);
        swing_cell(table, 5, &film->signal);
        cost_cells(table, 6, film);
        bc_table_cell(table, 8, "%s", bc_cut_word(film->signal.cut_by));
        if (!one)
            bc_table_cell(table, 9, "%g", film->signal.wavelength_nm);
    }
}

void bc_add_signal_words(bc_text *lines, const bc_deposit_report *report)
{
    bool hidden = false;
    for (size_t order = 0; order < report->result->films; order++)
        hidden = hidden || isinf(report->result->film[order].signal.cost_nm);
    bc_text_add(lines,
                "QW: quarter waves at the monitor. Swing: how far the signal has come, at the cut, from its last "
                "turning point (or the start) to its next; max, min: cut at a turning point.\n");
    if (hidden)
        bc_text_add(lines, "\"all\": the signal's error hides any thickness.\n");
}

size_t bc_fill_turnings(const bc_deposit_result *result, bc_table *table)
{
    static const char *const heading[] = {"film", "turning point", "monitor nm", "of", "time", "signal %"};
    char time[TIME_SIZE];
    size_t turnings = 0;
    *table = (bc_table){.columns = 6, .right = {true, false, true, true, true, true}, .indent = 2};
    headings(table, heading);
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        for (size_t i = 0; i < film->signal.turnings; i++) {
            const bc_turning *turning = &film->signal.turning[i];
            turnings++;
            bc_table_row(table);
            bc_table_cell(table, 0, "%zu", order + 1);
            bc_table_cell(table, 1, "%s", turning->maximum ? "maximum" : "minimum");
            bc_table_cell(table, 2, "%.2f", turning->monitor_nm);
            bc_table_cell(table, 3, "%.2f", film->monitor_nm);
            bc_table_cell(table, 4, "%s", time_words(turning->time_s, false, time));
            bc_table_cell(table, 5, "%.3f", 100.0 * turning->signal);
        }
    }
    return turnings;
}

void bc_add_surest(bc_text *words, const bc_deposit_result *result)
{
    for (size_t order = 0; order < result->films; order++) {
        const bc_sheet_film *film = &result->film[order];
        if (film->best_wavelength_nm != film->signal.wavelength_nm && isfinite(film->best_cost_nm))
            bc_text_add(words, "%s film %zu at %g nm (%.2f nm)",
                        words->length == 0 ? "Single films are surest at:" : ",", order + 1, film->best_wavelength_nm,
                        film->best_cost_nm);
    }
    if (words->length > 0)
        bc_text_add(words, ".");
}
