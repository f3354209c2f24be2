/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *bc_cut_word(bc_cut cut)
{
    return cut == BC_CUT_OPTICAL ? "optical" : "crystal";
}

const char *bc_error_of_word(bc_error_of which)
{
    return which == BC_ERROR_OF_HIGH ? "max" : "cut";
}

const bc_medium *bc_monitor_glass_of(const bc_deposit_report *report)
{
    return report->monitor->glass == NULL ? &report->stack->substrate : report->monitor->glass;
}

static void add_crystal(bc_text *out, const bc_deposit_report *report, size_t order)
{
    const bc_sheet_layer *layer = &report->result->layer[order];
    const bc_layer_signal *seen = &layer->signal;
    const bc_process_row row = bc_process_for(report->process, layer->material->name);
    const double error_percent = 100.0 * seen->error;
    bc_text_add(out, "Layer %zu (%s) is better cut by crystal, at %.2f nm: ", order + 1, layer->material->name,
                layer->monitor_nm);
    if (seen->cut_by == BC_CUT_COARSE) {
        bc_text_add(out,
                    "an error of %.3g %% in the signal costs %.2g nm, which is %.2g %% of it, more than the %.2g %% ",
                    error_percent, seen->cost_nm, 100.0 * seen->cost_nm / layer->thickness_nm,
                    100.0 * layer->allowed_nm / layer->thickness_nm);
        bc_text_add(out, "%s.\n",
                    row.has_thickness_sigma && row.thickness_sigma > 0.0 ? "of the process's thickness_sigma_percent"
                                                                         : "that this program allows");
    } else if (!(seen->error > 0.0)) {
        bc_text_add(out, "there is no signal at its cut.\n");
    } else {
        bc_text_add(out, "%s the signal never differs from that at the cut by its error of %.3g %%.\n",
                    isinf(seen->early_nm) ? "from its start on" : "for two quarter waves beyond its cut",
                    error_percent);
    }
}

static void add_glasses(bc_text *out, const bc_deposit_report *report)
{
    const bc_deposit_result *result = report->result;
    for (size_t order = 1; order < result->layers; order++)
        if (result->layer[order].glass_number != result->layer[order - 1].glass_number)
            bc_text_add(out, "Change to a new monitor glass (number %zu) before layer %zu.\n",
                        result->layer[order].glass_number, order + 1);
    if (strcmp(bc_monitor_glass_of(report)->name, report->stack->substrate.name) != 0)
        bc_text_add(out, "The monitor glass is %s, the part of %s: their signals differ.\n",
                    bc_monitor_glass_of(report)->name, report->stack->substrate.name);
    if (strcmp(report->stack->incident.name, "air") != 0)
        bc_text_add(out, "The coating is designed to be met from %s; in the chamber its signal is met from vacuum.\n",
                    report->stack->incident.name);
}

void bc_add_layer_remarks(bc_text *out, const bc_deposit_report *report)
{
    const bc_deposit_result *result = report->result;
    bool at_turning = false;
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        if (layer->thin)
            bc_text_add(out, "WARNING: layer %zu (%s) is %.2f nm thin; the process cannot control less than %g nm.\n",
                        order + 1, layer->material->name, layer->thickness_nm, layer->minimum_nm);
        if (result->has_signal && layer->signal.k > BC_MONITOR_CLEAR)
            bc_text_add(out, "Layer %zu (%s) absorbs at %g nm (k %.2g): its signal fades as it grows.\n", order + 1,
                        layer->material->name, layer->signal.wavelength_nm, layer->signal.k);
    }
    if (!result->has_signal)
        return;
    add_glasses(out, report);
    for (size_t order = 0; order < result->layers; order++) {
        if (result->layer[order].signal.cut_by != BC_CUT_OPTICAL)
            add_crystal(out, report, order);
        at_turning = at_turning || result->layer[order].signal.cut_at_turning;
    }
    if (at_turning)
        bc_text_add(out,
                    "At a turning point the signal hardly moves, so a cut there costs more nm. In a run of quarter "
                    "waves such errors make up for each other at the monitor's wavelength (common practice, no "
                    "source); that is not counted here.\n");
}

/* Whether layer `order` is the first of its material. */
static bool is_first(const bc_deposit_result *result, size_t order)
{
    for (size_t i = 0; i < order; i++)
        if (result->layer[i].material->dispersion == result->layer[order].material->dispersion)
            return false;
    return true;
}

static void add_missing_process(bc_text *out, const bc_deposit_report *report)
{
    const bc_deposit_result *result = report->result;
    if (report->process == NULL) {
        bc_text_add(out, "No process file: rates are not known, so there are no times; tooling is not known, so the "
                         "thickness at the monitor is taken as that on the part; and which layers are too thin is not "
                         "known.\n");
        return;
    }
    for (size_t order = 0; order < result->layers; order++) {
        const bc_sheet_layer *layer = &result->layer[order];
        const char *name = layer->material->name;
        const bc_process_row row = bc_process_for(report->process, name);
        if (!is_first(result, order))
            continue;
        if (!row.has_rate)
            bc_text_add(out,
                        "The process file gives no rate_nm_per_s for %s: the time of its layers, and of the whole, "
                        "is not known.\n",
                        name);
        if (!row.has_tooling)
            bc_text_add(out,
                        "The process file gives no tooling for %s: its thickness at the monitor is taken as that "
                        "on the part.\n",
                        name);
        if (!row.has_minimum)
            bc_text_add(out,
                        "The process file gives no minimum_nm for %s: whether its layers are too thin is not "
                        "known.\n",
                        name);
        if (result->has_signal && !(row.has_thickness_sigma && row.thickness_sigma > 0.0))
            bc_text_add(out,
                        "The process file gives no thickness_sigma_percent for %s: crystal is advised where the "
                        "signal's error costs more than %g %% of a layer.\n",
                        name, 100.0 * BC_ALLOWED_SHARE);
    }
}

static void add_missing_chamber(bc_text *out, const bc_deposit_report *report)
{
    const bc_chamber *chamber = report->chamber;
    if (chamber == NULL) {
        bc_text_add(out, "No chamber file: the time of the whole load is not known.\n");
        return;
    }
    bc_add_missing_steps(out, chamber, "the load's times are");
}

void bc_add_deposit_missing(bc_text *out, const bc_deposit_report *report)
{
    const bc_monitor *monitor = report->monitor;
    add_missing_process(out, report);
    add_missing_chamber(out, report);
    if (!report->result->has_signal)
        bc_text_add(
            out,
            "No optical signal: from %g to %g nm there is no monitor wavelength that every table reaches and at "
            "which every layer is clear (k at most %g). Give another range or a wavelength.\n",
            monitor->from_nm, monitor->to_nm, BC_MONITOR_CLEAR);
}

static void add_data_sheets(bc_text *out, const bc_deposit_report *report)
{
    const bc_deposit_result *result = report->result;
    size_t named = 0, constants = 0;
    for (size_t order = 0; order < result->layers; order++) {
        const bc_medium *material = result->layer[order].material;
        constants += bc_dispersion_is_constant(material->dispersion);
        if (bc_dispersion_is_constant(material->dispersion) || !is_first(result, order))
            continue;
        bc_text_add(out, "%s%s",
                    named++ == 0 ? "Read the safety data sheets of what is evaporated or sputtered: " : ", ",
                    material->name);
    }
    if (constants > 0)
        bc_text_add(out, "%s",
                    named > 0 ? "; and of the materials given as constant indices"
                              : "Read the safety data sheets of the materials given as constant indices");
    bc_text_add(out, ".\n");
}

void bc_add_deposit_cautions(bc_text *out, const bc_deposit_report *report)
{
    size_t count;
    const bc_medium **media = bc_deposit_media(report, &count);
    if (media == NULL) {
        out->failed = true;
        return;
    }
    bc_text_add(
        out, "%s",
        report->result->has_signal
            ? "A predicted signal is not a measurement. In vacuum, hot and before it takes up water a layer's index "
              "may not be that of its table: compare with a run of your own before cutting by it.\n"
            : "A predicted sheet is not a measurement: tooling and rates drift. Coat a witness and measure it.\n");
    bc_text_add(out, "The chamber involves vacuum, heat and high voltage: follow its operating instructions and keep "
                     "the interlocks on.\n");
    add_data_sheets(out, report);
    bc_media_cautions(count, media, out);
    bc_text_add(out, "Follow local codes; they and licensed practitioners have the last word.\n");
    free(media);
}

const bc_medium **bc_deposit_media(const bc_deposit_report *report, size_t *count)
{
    const bc_deposit_result *result = report->result;
    const bc_medium **media = calloc(result->layers + 2, sizeof *media);
    *count = result->layers + (result->has_signal ? 2 : 1);
    if (media == NULL)
        return NULL;
    for (size_t order = 0; order < result->layers; order++)
        media[order] = result->layer[order].material;
    media[result->layers] = &report->stack->substrate;
    media[result->layers + 1] = bc_monitor_glass_of(report);
    return media;
}
