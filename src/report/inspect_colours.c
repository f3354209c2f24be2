/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The colours of what was measured, where callouts ask for a colour or a luminous value of it.
 */
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include "internal/plot_inspect.h"
#include <math.h>

bool bc_inspect_sees(const bc_inspect_finding *finding)
{
    return bc_callout_is_seen(finding->callout) && bc_seen_concerns(finding, finding->callout->quantity);
}

bool bc_inspect_sees_anew(const bc_inspect_report *report, size_t callout)
{
    const bc_inspect_finding *finding = report->result[0].finding;
    for (size_t before = 0; before < callout; before++)
        if (bc_inspect_sees(&finding[before]) && bc_same_colour(finding[before].callout, finding[callout].callout))
            return false;
    return bc_inspect_sees(&finding[callout]);
}

bool bc_inspect_colour(const bc_inspect_result *result, const bc_callout *callout, bc_seen_curve which,
                       bc_colour *colour)
{
    const bc_overlay *overlay = bc_seen_overlay(result, callout->quantity);
    const double *value = which == BC_SEEN_MEASURED ? overlay->measured
                          : which == BC_SEEN_DESIGN ? overlay->design
                                                    : overlay->fitted;
    bc_illuminant illuminant;
    bc_observer observer;
    bc_callout_view(callout, &illuminant, &observer);
    return bc_overlay_colour(overlay, value, illuminant, observer, colour);
}

/* Of the witnesses: how far the farthest is from the design, and from another. */
static bool find_spread(const bc_inspect_report *report, const bc_callout *callout, double *from_design,
                        double *between)
{
    *from_design = *between = 0.0;
    for (size_t w = 0; w < report->witnesses; w++) {
        bc_colour one, other;
        if (!bc_inspect_colour(&report->result[w], callout, BC_SEEN_MEASURED, &one) ||
            !bc_inspect_colour(&report->result[w], callout, BC_SEEN_DESIGN, &other))
            return false;
        *from_design = fmax(*from_design, bc_colour_difference(&other, &one));
        for (size_t before = 0; before < w; before++) {
            if (!bc_inspect_colour(&report->result[before], callout, BC_SEEN_MEASURED, &other))
                return false;
            *between = fmax(*between, bc_colour_difference(&other, &one));
        }
    }
    return true;
}

static void add_colour(bc_text *lines, const char *whose, const bc_colour *colour)
{
    bc_text_add(lines, "%s L* %.2f, a* %.2f, b* %.2f, C*ab %.2f", whose, colour->L, colour->a, colour->b,
                colour->chroma);
    if (isfinite(colour->x))
        bc_text_add(lines, ", x %.4f, y %.4f", colour->x, colour->y);
    bc_text_add(lines, ", luminous %.4f %%", 100.0 * colour->luminous);
}

static void add_light(bc_text *lines, const bc_callout *callout)
{
    bc_illuminant illuminant;
    bc_observer observer;
    bc_callout_view(callout, &illuminant, &observer);
    bc_text_add(lines, "Colour of %s (%s, %s degree observer)", bc_quantity_word(callout->quantity),
                bc_illuminant_word(illuminant), observer == BC_OBSERVER_2 ? "2" : "10");
}

void bc_add_inspect_colours(bc_text *lines, const bc_inspect_report *report, const bc_inspect_result *result)
{
    for (size_t c = 0; c < report->result[0].count; c++) {
        const bc_callout *callout = report->result[0].finding[c].callout;
        bc_colour measured, design;
        if (!bc_inspect_sees_anew(report, c) || !bc_inspect_colour(result, callout, BC_SEEN_MEASURED, &measured) ||
            !bc_inspect_colour(result, callout, BC_SEEN_DESIGN, &design))
            continue;
        add_light(lines, callout);
        add_colour(lines, ": measured", &measured);
        add_colour(lines, "; design", &design);
        bc_text_add(lines, "; CIEDE2000 between the two %.2f.\n", bc_colour_difference(&design, &measured));
    }
}

void bc_add_lot_colours(bc_text *lines, const bc_inspect_report *report)
{
    for (size_t c = 0; c < report->result[0].count; c++) {
        const bc_callout *callout = report->result[0].finding[c].callout;
        double from_design, between;
        if (!bc_inspect_sees_anew(report, c) || !find_spread(report, callout, &from_design, &between))
            continue;
        add_light(lines, callout);
        bc_text_add(lines, ": CIEDE2000 of the witnesses up to %.2f from the design, up to %.2f from one another.\n",
                    from_design, between);
    }
}

static void colour_json(const bc_inspect_result *result, const bc_callout *callout, bc_seen_curve which,
                        const char *name, cJSON *row, bc_json *json)
{
    bc_colour colour;
    if (bc_inspect_colour(result, callout, which, &colour))
        bc_colour_json(&colour, bc_json_object(json, row, name), json);
}

void bc_inspect_colours_json(const bc_inspect_report *report, size_t which, cJSON *into, bc_json *json)
{
    cJSON *array = bc_json_array(json, into, "colours");
    for (size_t c = 0; c < report->result[0].count; c++) {
        const bc_callout *callout = report->result[0].finding[c].callout;
        bc_illuminant illuminant;
        bc_observer observer;
        bc_colour measured;
        cJSON *row;
        if (!bc_inspect_sees_anew(report, c) ||
            !bc_inspect_colour(&report->result[which], callout, BC_SEEN_MEASURED, &measured))
            continue;
        bc_callout_view(callout, &illuminant, &observer);
        row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "quantity", bc_quantity_word(callout->quantity));
        bc_json_string(json, row, "illuminant", bc_illuminant_word(illuminant));
        bc_json_number(json, row, "observer_deg", observer == BC_OBSERVER_2 ? 2.0 : 10.0, 12);
        colour_json(&report->result[which], callout, BC_SEEN_MEASURED, "measured", row, json);
        colour_json(&report->result[which], callout, BC_SEEN_DESIGN, "design", row, json);
        colour_json(&report->result[which], callout, BC_SEEN_FITTED, "fitted", row, json);
    }
}
