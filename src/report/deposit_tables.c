/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include "internal/numbers.h"
#include "print.h"
#include <math.h>
#include <stdio.h>

#define TIME_SIZE 64

/* "1:02.5" of a layer, "2:01:02" on the clock; "?" when it is not known. */
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
        "layer", "material", "part nm", "tooling", "monitor", "nm/s", "time", "total nm", clock ? "ends at" : "total"};
    char time[TIME_SIZE];
    *table = (bc_table){.columns = 9, .right = {true, false, true, true, true, true, true, true, true}, .indent = 2};
    headings(table, heading);
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        bc_table_row(table);
        bc_table_cell(table, 0, "%zu", order + 1);
        bc_table_cell(table, 1, "%s", layer->material->name);
        bc_table_cell(table, 2, "%.2f", layer->thickness_nm);
        bc_table_cell(table, 3, layer->has_tooling ? "%.3f" : "?", layer->tooling);
        bc_table_cell(table, 4, "%.2f", layer->monitor_nm);
        bc_table_cell(table, 5, layer->has_rate ? "%.3g" : "?", layer->rate_nm_per_s);
        bc_table_cell(table, 6, "%s", time_words(layer->time_s, false, time));
        bc_table_cell(table, 7, "%.2f", layer->total_nm);
        bc_table_cell(table, 8, "%s", time_words(clock ? layer->ends_s : layer->total_s, true, time));
    }
}

const char *bc_sheet_words(const bc_deposit_report *report)
{
    return report->chamber != NULL
               ? "Thickness in nm, on the part and at the monitor. Time of the layer in m:ss.s; end of the layer in "
                 "h:mm:ss from closing the door."
               : "Thickness in nm, on the part and at the monitor. Time of the layer in m:ss.s, total of the layers in "
                 "h:mm:ss.";
}

void bc_add_load_times(bc_text *words, const bc_deposit_report *report)
{
    const bc_chamber *chamber = report->chamber;
    const bc_deposit_result *result = report->result;
    char time[TIME_SIZE];
    if (isfinite(result->layer_s))
        bc_text_add(words, "The layers take %s. ", time_words(result->layer_s, true, time));
    if (chamber != NULL && chamber->has_pump_down)
        bc_text_add(words, "Pump down: %g min. ", chamber->pump_down_min);
    if (chamber != NULL && chamber->has_heat)
        bc_text_add(words, "Heat: %g min. ", chamber->heat_min);
    if (chamber != NULL && chamber->has_between_layers)
        bc_text_add(words, "Between layers: %g s. ", chamber->between_layers_s);
    if (chamber != NULL && chamber->has_cool_vent)
        bc_text_add(words, "Cool and vent: %g min. ", chamber->cool_vent_min);
    if (isfinite(result->load_s))
        bc_text_add(words, "Time for the whole load: %s.", time_words(result->load_s, true, time));
}

void bc_add_beam(bc_text *words, const bc_deposit_report *report)
{
    const bc_monitor *monitor = report->monitor;
    const bc_deposit_result *result = report->result;
    bc_text_add(words, "Optical monitor: %s of a monitor glass of %s%s, back %s, in vacuum, %g deg, ",
                bc_quantity_word(monitor->signal), bc_monitor_glass_of(report)->name,
                monitor->glass == NULL ? " (the part's; no other was named)" : "",
                monitor->glass_back == BC_BACK_NONE ? "not seen" : "bare and seen", bc_degrees(monitor->aoi_rad));
    if (monitor->bandwidth_nm > 0.0)
        bc_text_add(words, "averaged over a Gaussian filter %g nm wide at half maximum.", monitor->bandwidth_nm);
    else
        bc_text_add(words, "at a single wavelength.");
    if (result->choices == 1)
        bc_text_add(words, " Wavelength: %g nm.", result->choice[0].wavelength_nm);
    else if (result->swept)
        bc_text_add(
            words,
            " %g nm is the best of %zu wavelengths from %g to %g nm for the whole run: %zu of %zu layers can be "
            "cut by it.",
            result->choice[result->chosen].wavelength_nm, result->choices, result->choice[0].wavelength_nm,
            result->choice[result->choices - 1].wavelength_nm, result->layers - result->crystal, result->layers);
    else
        bc_text_add(words, " Each layer has the surest of %zu wavelengths; for the whole run it would be %g nm.",
                    result->choices, result->choice[result->chosen].wavelength_nm);
    bc_text_add(words,
                " Cost: the nm on the part that an error of %g %% of the signal%s causes, the layers below being as "
                "planned.",
                100.0 * monitor->error,
                monitor->error_of == BC_ERROR_OF_HIGH ? " (of the layer's highest from start to cut)" : " at the cut");
}

static bool one_wavelength(const bc_deposit_result *result)
{
    for (size_t order = 1; order < result->layers; order++)
        if (result->layer[order].signal.wavelength_nm != result->layer[0].signal.wavelength_nm)
            return false;
    return true;
}

static void swing_cell(bc_table *table, size_t column, const bc_layer_signal *seen)
{
    if (seen->cut_at_turning)
        bc_table_cell(table, column, "%s", seen->turning[seen->turnings - 1].maximum ? "max" : "min");
    else if (isnan(seen->swing))
        bc_table_cell(table, column, "none");
    else
        bc_table_cell(table, column, "%.0f %%", 100.0 * seen->swing);
}

static void cost_cells(bc_table *table, size_t column, const bc_sheet_layer *layer)
{
    const double cost_nm = layer->signal.cost_nm, percent = 100.0 * cost_nm / layer->thickness_nm;
    bc_table_cell(table, column, isinf(cost_nm) ? "all" : "%.2f", cost_nm);
    bc_table_cell(table, column + 1, isinf(cost_nm) ? "all" : "%.1f %%", percent);
}

/* Where one wavelength serves all layers it was said above, and leaves room for another column. */
void bc_fill_signals(const bc_deposit_report *report, bc_table *table)
{
    const bc_deposit_result *result = report->result;
    const bool one = one_wavelength(result);
    const char *const heading[] = {"layer", "material", "QW",     "start %", "cut %",
                                   "swing", "cost nm",  "cost %", "cut by",  one ? "" : "at nm"};
    *table = (bc_table){.columns = one ? 9 : 10,
                        .right = {true, false, true, true, true, true, true, true, false, true},
                        .indent = one ? 2 : 0};
    headings(table, heading);
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        bc_table_row(table);
        bc_table_cell(table, 0, "%zu", order + 1);
        bc_table_cell(table, 1, "%s", layer->material->name);
        bc_table_cell(table, 2, "%.3f", layer->signal.quarter_waves);
        bc_table_cell(table, 3, "%.3f", 100.0 * layer->signal.start);
        bc_table_cell(table, 4, "%.3f", 100.0 * layer->signal.cut);
        swing_cell(table, 5, &layer->signal);
        cost_cells(table, 6, layer);
        bc_table_cell(table, 8, "%s", bc_cut_word(layer->signal.cut_by));
        if (!one)
            bc_table_cell(table, 9, "%g", layer->signal.wavelength_nm);
    }
}

void bc_add_signal_words(bc_text *lines, const bc_deposit_report *report)
{
    const double aoi_rad = report->monitor->aoi_rad;
    bool hidden = false;
    for (size_t order = 0; order < report->result->layers; order++)
        hidden = hidden || isinf(report->result->layer[order].signal.cost_nm);
    bc_text_add(lines, "QW: quarter waves at the monitor, 4 n d / wavelength at normal incidence");
    if (aoi_rad > 0.0)
        bc_text_add(lines, "; at its %g degrees a quarter wave takes a thicker layer", bc_degrees(aoi_rad));
    bc_text_add(lines, ". Swing: how far the signal has come, at the cut, from its last "
                       "turning point (or the start) to its next; max, min: cut at a turning point.\n");
    if (hidden)
        bc_text_add(lines, "\"all\": the signal's error hides any thickness.\n");
}

size_t bc_fill_turnings(const bc_deposit_result *result, bc_table *table)
{
    static const char *const heading[] = {"layer", "turning point", "monitor nm", "of", "time", "signal %"};
    char time[TIME_SIZE];
    size_t turnings = 0;
    *table = (bc_table){.columns = 6, .right = {true, false, true, true, true, true}, .indent = 2};
    headings(table, heading);
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        for (size_t i = 0; i < layer->signal.turnings; i++) {
            const bc_turning *turning = &layer->signal.turning[i];
            turnings++;
            bc_table_row(table);
            bc_table_cell(table, 0, "%zu", order + 1);
            bc_table_cell(table, 1, "%s", turning->maximum ? "maximum" : "minimum");
            bc_table_cell(table, 2, "%.2f", turning->monitor_nm);
            bc_table_cell(table, 3, "%.2f", layer->monitor_nm);
            bc_table_cell(table, 4, "%s", time_words(turning->time_s, false, time));
            bc_table_cell(table, 5, "%.3f", 100.0 * turning->signal);
        }
    }
    return turnings;
}

void bc_add_surest(bc_text *words, const bc_deposit_result *result)
{
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        if (layer->best_wavelength_nm != layer->signal.wavelength_nm && isfinite(layer->best_cost_nm))
            bc_text_add(words, "%s layer %zu at %g nm (%.2f nm)",
                        words->length == 0 ? "Single layers are surest at:" : ",", order + 1, layer->best_wavelength_nm,
                        layer->best_cost_nm);
    }
    if (words->length > 0)
        bc_text_add(words, ".");
}
