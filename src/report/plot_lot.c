/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/plot_inspect.h"
#include "print.h"
#include <math.h>

#define MOST_NAMED 7 /* witnesses with a curve of their own look; of more only the worst has one */
#define DESIGN     BC_STYLE_INK
#define OTHERS     0
#define WORST      1
#define NAME       40

static bool has_quantity(const bc_inspect_report *report, bc_quantity quantity)
{
    for (size_t w = 0; w < report->witnesses; w++)
        if (bc_seen_overlay(&report->result[w], quantity)->count > 0)
            return true;
    return false;
}

/* The witness that decides about the lot. */
static size_t worst_witness(const bc_inspect_report *report)
{
    static const int rank[] = {[BC_ACCEPT] = 0, [BC_UNDECIDED] = 1, [BC_REJECT] = 2};
    size_t worst = 0;
    for (size_t w = 1; w < report->witnesses; w++) {
        const bc_inspect_result *one = &report->result[w], *other = &report->result[worst];
        const bool more = one->count == 0
                              ? one->rms > other->rms
                              : one->finding[one->decisive].limit_used > other->finding[other->decisive].limit_used;
        if (rank[one->verdict] > rank[other->verdict] || (one->verdict == other->verdict && more))
            worst = w;
    }
    return worst;
}

static int style_of(const bc_inspect_report *report, size_t witness)
{
    if (report->witnesses <= MOST_NAMED)
        return (int)witness;
    return witness == worst_witness(report) ? WORST : OTHERS;
}

static void add_key(bc_chart *chart, const bc_inspect_report *report, size_t witness, bc_chart_kind kind)
{
    const bool named = report->witnesses <= MOST_NAMED;
    const int style = style_of(report, witness);
    char name[NAME], text[BC_CHART_TEXT];
    bc_plot_name(chart, name, sizeof name, report->result[witness].label);
    if (named)
        bc_print(text, sizeof text, "%s", name);
    else if (style == WORST)
        bc_print(text, sizeof text, "the worst, %s", name);
    else
        bc_print(text, sizeof text, "%zu witnesses", report->witnesses - 1);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, kind, style, false, text);
}

/* The worst last, so that the others do not cover it. */
static void add_witnesses(bc_chart *chart, const bc_seen *seen, bool differences)
{
    const bc_inspect_report *report = seen->report;
    const bool named = report->witnesses <= MOST_NAMED;
    for (int last = 0; last < (named ? 1 : 2); last++)
        for (size_t w = 0; w < report->witnesses; w++) {
            const bc_overlay *overlay = bc_seen_overlay(&report->result[w], seen->quantity);
            const int style = style_of(report, w);
            if (overlay->count == 0 || (!named && (style == WORST) != (last == 1)))
                continue;
            bc_seen_add_curve(chart, overlay, differences ? overlay->from_design : overlay->measured, style);
            add_key(chart, report, w, overlay->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE);
        }
}

/* The design on the finest of the scans. */
static const bc_overlay *finest(const bc_seen *seen)
{
    const bc_overlay *best = bc_seen_overlay(&seen->report->result[0], seen->quantity);
    for (size_t w = 1; w < seen->report->witnesses; w++) {
        const bc_overlay *overlay = bc_seen_overlay(&seen->report->result[w], seen->quantity);
        if (overlay->count > best->count)
            best = overlay;
    }
    return best;
}

static void add_quantity(bc_chart *chart, const bc_seen *seen, bool last)
{
    const bc_inspect_report *report = seen->report;
    const bc_overlay *design = finest(seen);
    const bc_callout light = {.aoi_from_rad = report->setup->aoi_rad,
                              .aoi_to_rad = report->setup->aoi_rad,
                              .polarization = report->setup->polarization};
    bc_plot_extent values = BC_PLOT_NO_EXTENT, differences = BC_PLOT_NO_EXTENT;
    bc_chart_panel *panel;
    for (size_t w = 0; w < report->witnesses; w++) {
        const bc_overlay *overlay = bc_seen_overlay(&report->result[w], seen->quantity);
        bc_seen_stretch(seen, overlay, overlay->measured, &values);
        bc_seen_stretch(seen, overlay, overlay->from_design, &differences);
    }
    bc_seen_stretch(seen, design, design->design, &values);
    panel = bc_seen_add_panel(chart, seen, values);
    if (panel == NULL)
        return;
    bc_plot_light(panel->heading, &light);
    add_witnesses(chart, seen, false);
    bc_seen_add_curve(chart, design, design->design, DESIGN);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, design->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE, DESIGN, false,
                     "design");
    bc_seen_add_callouts(chart, seen);
    panel = bc_seen_add_differences(chart, seen, differences, last);
    if (panel == NULL)
        return;
    bc_print(panel->heading, sizeof panel->heading, "Measured − design");
    add_witnesses(chart, seen, true);
}

void bc_plot_lot_panels(bc_chart *chart, const bc_inspect_report *report)
{
    for (bc_quantity quantity = BC_R; quantity <= BC_T; quantity++) {
        bc_seen seen;
        if (!has_quantity(report, quantity))
            continue;
        seen = bc_seen_of(report, quantity);
        add_quantity(chart, &seen, quantity == BC_T || !has_quantity(report, BC_T));
    }
}

void bc_plot_lot_notes(bc_chart *chart, const bc_inspect_report *report)
{
    const bc_lot_result *lot = report->lot;
    bc_chart_note *note = bc_chart_add_note(chart);
    if (note == NULL)
        return;
    bc_print(note->text, sizeof note->text,
             "Lot: %s. Of %zu witnesses %zu accepted, %zu rejected, %zu undecided. On the average layers came out "
             "%.2f" BC_PLOT_NO_BREAK "%% %s than designed.",
             bc_conformity_word(lot->verdict), lot->count, lot->accepted, lot->rejected, lot->undecided,
             100.0 * fabs(lot->scale.mean - 1.0), lot->scale.mean < 1.0 ? "thinner" : "thicker");
}
