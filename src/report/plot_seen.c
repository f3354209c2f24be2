/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/chart_scale.h"
#include "internal/numbers.h"
#include "internal/plot_inspect.h"
#include "print.h"
#include <math.h>
#include <string.h>

#define BESIDE       0.35 /* of the bands' width, shown on either side of them where the scan has it */
#define ROOM         0.1  /* of the span of the differences, above and below them */
#define DIFFERENCES  0.7  /* height of the lower panel, in panels */
#define LEAST_SPAN   1e-5 /* percent: differences of less are rounding */
#define LONGEST_NAME 60
#define STEPS        4

const bc_overlay *bc_seen_overlay(const bc_inspect_result *result, bc_quantity quantity)
{
    return quantity == BC_R ? &result->R : &result->T;
}

bool bc_seen_concerns(const bc_inspect_finding *finding, bc_quantity quantity)
{
    return finding->callout->quantity == quantity && finding->callout->polarization != BC_POL_RATIO &&
           !finding->from_fit && !finding->back_removed && finding->reason < BC_UNDECIDED_QUANTITY;
}

bc_seen bc_seen_of(const bc_inspect_report *report, bc_quantity quantity)
{
    bc_seen seen = {report, quantity, HUGE_VAL, -HUGE_VAL, false};
    double from_nm = HUGE_VAL, to_nm = -HUGE_VAL, beside;
    for (size_t w = 0; w < report->witnesses; w++) {
        const bc_overlay *overlay = bc_seen_overlay(&report->result[w], quantity);
        if (overlay->count == 0)
            continue;
        seen.from_nm = fmin(seen.from_nm, overlay->wavelength_nm[0]);
        seen.to_nm = fmax(seen.to_nm, overlay->wavelength_nm[overlay->count - 1]);
    }
    for (size_t f = 0; f < report->result[0].count; f++) {
        const bc_inspect_finding *finding = &report->result[0].finding[f];
        if (!bc_seen_concerns(finding, quantity))
            continue;
        seen.limited = true;
        from_nm = fmin(from_nm, finding->callout->from_nm);
        to_nm = fmax(to_nm, finding->callout->to_nm);
    }
    if (!seen.limited)
        return seen;
    beside = BESIDE * (to_nm - from_nm);
    /* A band that the scan does not reach is shown all the same: that is why nothing is accepted. */
    seen.from_nm = fmin(fmax(seen.from_nm, from_nm - beside), from_nm);
    seen.to_nm = fmax(fmin(seen.to_nm, to_nm + beside), to_nm);
    return seen;
}

void bc_seen_stretch(const bc_seen *seen, const bc_overlay *overlay, const double *value, bc_plot_extent *extent)
{
    const bc_inspect_result *result = &seen->report->result[0];
    if (!seen->limited)
        bc_plot_stretch(extent, overlay->count, overlay->wavelength_nm, value, seen->from_nm, seen->to_nm);
    for (size_t f = 0; f < result->count; f++)
        if (bc_seen_concerns(&result->finding[f], seen->quantity))
            bc_plot_stretch(extent, overlay->count, overlay->wavelength_nm, value, result->finding[f].callout->from_nm,
                            result->finding[f].callout->to_nm);
}

bc_chart_panel *bc_seen_add_panel(bc_chart *chart, const bc_seen *seen, bc_plot_extent values)
{
    const bc_inspect_result *result = &seen->report->result[0];
    bc_plot_limits limits = BC_PLOT_NO_LIMITS;
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    if (panel == NULL)
        return NULL;
    bc_plot_quantity_axis(seen->quantity, &panel->y);
    for (size_t f = 0; f < result->count; f++)
        if (bc_seen_concerns(&result->finding[f], seen->quantity))
            bc_plot_add_limit(&limits, result->finding[f].callout);
    limits.values = values;
    panel->y.range =
        seen->limited && values.most >= values.least ? bc_plot_range_with_limits(&limits) : bc_plot_range(values);
    /* Noise goes below zero, and a mirror's above 100 %. */
    if (values.least < 0.0 || values.most > 1.0)
        panel->y.range = bc_chart_whole_steps((bc_chart_range){fmin(100.0 * values.least, panel->y.range.from),
                                                               fmax(100.0 * values.most, panel->y.range.to)},
                                              STEPS + 2);
    bc_plot_wavelength_axis(seen->from_nm, seen->to_nm, &panel->x);
    panel->x_below = true;
    return panel;
}

bc_chart_panel *bc_seen_add_differences(bc_chart *chart, const bc_seen *seen, bc_plot_extent values, bool last)
{
    const double least = fmin(100.0 * values.least, 0.0), most = fmax(100.0 * values.most, 0.0);
    const double room = fmax(ROOM * (most - least), LEAST_SPAN);
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    if (panel == NULL)
        return NULL;
    bc_print(panel->y.name, sizeof panel->y.name, "Difference");
    bc_print(panel->y.brief, sizeof panel->y.brief, "Diff.");
    bc_print(panel->y.unit, sizeof panel->y.unit, "%%");
    panel->weight = DIFFERENCES;
    panel->y.range = values.most >= values.least
                         ? bc_chart_whole_steps((bc_chart_range){least - room, most + room}, STEPS)
                         : (bc_chart_range){-1.0, 1.0};
    bc_plot_wavelength_axis(seen->from_nm, seen->to_nm, &panel->x);
    panel->x_below = !last;
    return bc_chart_add(chart, BC_CHART_LEVEL) == NULL ? NULL : panel; /* no difference */
}

void bc_seen_add_curve(bc_chart *chart, const bc_overlay *overlay, const double *value, int style)
{
    bc_chart_item *item = bc_chart_add(chart, overlay->count == 1 ? BC_CHART_DOTS : BC_CHART_LINE);
    if (item == NULL)
        return;
    item->count = overlay->count;
    item->x = overlay->wavelength_nm;
    item->y = value;
    item->scale = 100.0;
    item->style = style;
}

void bc_seen_letter(const bc_inspect_report *report, size_t callout, char to[BC_CHART_BRIEF])
{
    to[0] = '\0';
    if (report->result[0].count > 1)
        bc_plot_letter(to, callout);
}

/* The witness whose finding counts for a lot: of the worst verdict the one that uses most of its limit. */
static size_t worst_seen(const bc_inspect_report *report, size_t callout)
{
    static const int rank[] = {[BC_ACCEPT] = 0, [BC_UNDECIDED] = 1, [BC_REJECT] = 2};
    size_t worst = 0;
    for (size_t w = 1; w < report->witnesses; w++) {
        const bc_inspect_finding *one = &report->result[w].finding[callout];
        const bc_inspect_finding *other = &report->result[worst].finding[callout];
        if (rank[one->verdict] > rank[other->verdict] ||
            (one->verdict == other->verdict && one->limit_used > other->limit_used))
            worst = w;
    }
    return worst;
}

/* The value with as many digits as it takes to lie on its side of the limit. */
static void print_value(const bc_inspect_finding *finding, char to[BC_PLOT_NUMBER])
{
    const bc_callout *callout = finding->callout;
    const bool meets =
        callout->sense == BC_AT_MOST ? finding->value <= callout->limit : finding->value >= callout->limit;
    bc_plot_value(to, &(const bc_finding){.callout = callout, .value = finding->value, .pass = meets});
}

static void add_worst(bc_chart *chart, const bc_inspect_finding *finding, const char *letter)
{
    const bool mean = finding->callout->statistic == BC_AVERAGE, bad = finding->verdict == BC_REJECT;
    bc_chart_item *item;
    char value[BC_PLOT_NUMBER];
    if (!isfinite(finding->value) || finding->callout->colour != BC_NO_COLOUR)
        return;
    item = bc_chart_add(chart, mean ? BC_CHART_MEAN : BC_CHART_MARK);
    if (item == NULL)
        return;
    print_value(finding, value);
    item->from = mean ? finding->callout->from_nm : finding->at_nm;
    item->to = mean ? finding->callout->to_nm : finding->at_nm;
    item->low = 100.0 * finding->value;
    item->bad = bad;
    bc_print(item->text, sizeof item->text, "%s%s%s%s %%", letter, letter[0] == '\0' ? "" : ": ",
             mean ? "average " : "", value);
    bc_print(item->brief, sizeof item->brief, "%s", letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, item->kind, 0, bad,
                     mean  ? bad ? "average (rejected)" : "average"
                     : bad ? "worst point (rejected)"
                           : "worst point");
}

void bc_seen_add_callouts(bc_chart *chart, const bc_seen *seen)
{
    const bc_inspect_report *report = seen->report;
    char letter[BC_CHART_BRIEF];
    for (size_t f = 0; f < report->result[0].count; f++) {
        if (!bc_seen_concerns(&report->result[0].finding[f], seen->quantity))
            continue;
        bc_seen_letter(report, f, letter);
        bc_plot_add_callout(chart, report->result[0].finding[f].callout, letter);
        add_worst(chart, &report->result[worst_seen(report, f)].finding[f], letter);
    }
}

/* "accept", "undecided (angle)" */
static void verdict_words(const bc_inspect_finding *finding, char to[64])
{
    const char *reason = bc_reason_word(finding->reason);
    bc_print(to, 64, "%s%s%s%s", bc_conformity_word(finding->verdict), reason[0] == '\0' ? "" : " (", reason,
             reason[0] == '\0' ? "" : ")");
}

/* "Measured 0.47 ± 0.05 % at 512 nm, w2.txt; uses 94 % of the limit; accept." */
static void finding_words(const bc_inspect_report *report, size_t worst, const bc_inspect_finding *finding,
                          char to[BC_CHART_TEXT])
{
    const double uncertainty = report->setup->coverage_factor * hypot(finding->random, finding->systematic);
    const char *how = finding->from_fit                    ? "On the fitted stack"
                      : finding->back_removed              ? "Without the back"
                      : finding->judged == BC_JUDGED_CURVE ? "Smooth curve"
                                                           : "Measured";
    char value[BC_PLOT_NUMBER], at[64] = "", used[BC_PRINTED_SIZE], whose[LONGEST_NAME + 8] = "", verdict[64];
    verdict_words(finding, verdict);
    if (!isfinite(finding->value)) {
        bc_print(to, BC_CHART_TEXT, "Not measured; %s.", verdict);
        return;
    }
    print_value(finding, value);
    bc_print_used_percent(used, finding->limit_used);
    if (finding->callout->statistic == BC_EXTREME)
        bc_print(at, sizeof at, " at %.5g" BC_PLOT_NO_BREAK "nm", finding->at_nm);
    if (report->witnesses > 1)
        bc_print(whose, sizeof whose, ", %.*s", LONGEST_NAME, report->result[worst].label);
    bc_print(to, BC_CHART_TEXT,
             "%s %s" BC_PLOT_NO_BREAK "±" BC_PLOT_NO_BREAK "%.2g%s%s%s; uses %.20s" BC_PLOT_NO_BREAK
             "%% of the limit; %s.",
             how, value, 100.0 * uncertainty, finding->callout->colour == BC_NO_COLOUR ? BC_PLOT_NO_BREAK "%" : "", at,
             whose, used, verdict);
}

void bc_seen_add_notes(bc_chart *chart, const bc_inspect_report *report)
{
    for (size_t f = 0; f < report->result[0].count; f++) {
        const size_t worst = worst_seen(report, f);
        const bc_inspect_finding *finding = &report->result[worst].finding[f];
        char name[LONGEST_NAME], asked[BC_CHART_TEXT], words[BC_CHART_TEXT];
        bc_chart_note *note = bc_chart_add_note(chart);
        if (note == NULL)
            return;
        bc_seen_letter(report, f, note->mark);
        bc_plot_name(chart, name, sizeof name, finding->callout->name);
        bc_plot_callout(asked, finding->callout);
        finding_words(report, worst, finding, words);
        bc_print(note->text, sizeof note->text, "%s: %s. %.230s", name, asked, words);
    }
}
