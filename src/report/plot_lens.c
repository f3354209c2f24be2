/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/plot_lens.h"
#include "internal/chart_scale.h"
#include "internal/curved.h"
#include "internal/numbers.h"
#include "print.h"
#include <math.h>
#include <string.h>

#define LEAST_TOP    1.5  /* limit_used that the axis reaches at least */
#define ROOM         1.08 /* of the largest value, above it */
#define LONGEST_NAME 60
#define STEPS        6

static bool several_glasses(const bc_check_result *check)
{
    return bc_next_glass(check, bc_next_glass(check, NULL)) != NULL;
}

/* "a", or nothing where there is one finding only. */
static void letter_of(const bc_check_result *check, size_t finding, char to[BC_CHART_BRIEF])
{
    to[0] = '\0';
    if (check->count > 1)
        bc_plot_letter(to, finding);
}

/* "a: band on 517642" */
static void label_of(bc_chart *chart, const bc_check_result *check, size_t f, char to[BC_CHART_TEXT])
{
    const bc_finding *finding = &check->finding[f];
    const bool glass = several_glasses(check);
    char letter[BC_CHART_BRIEF], name[LONGEST_NAME];
    letter_of(check, f, letter);
    bc_plot_name(chart, name, sizeof name, finding->callout->name);
    bc_print(to, BC_CHART_TEXT, "%s%s%s%s%s", letter, letter[0] == '\0' ? "" : ": ", name, glass ? " on " : "",
             glass ? finding->substrate->name : "");
}

static double largest(size_t count, const double *value)
{
    double most = 0.0;
    for (size_t i = 0; i < count; i++)
        if (isfinite(value[i]))
            most = fmax(most, value[i]);
    return most;
}

static void set_axes(bc_chart_panel *panel, const bc_lens_result *lens, double most)
{
    bc_print(panel->y.name, sizeof panel->y.name, "Share of limit used");
    bc_print(panel->y.brief, sizeof panel->y.brief, "limit_used");
    panel->y.range = bc_chart_whole_steps((bc_chart_range){0.0, fmax(ROOM * most, LEAST_TOP)}, STEPS);
    bc_print(panel->x.name, sizeof panel->x.name, "Distance from the axis");
    bc_print(panel->x.unit, sizeof panel->x.unit, "mm");
    panel->x.range = (bc_chart_range){0.0, lens->zone[lens->zones - 1].radius_mm};
}

static void add_limit(bc_chart *chart, const bc_lens_result *lens)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_KEEP_OUT);
    if (item == NULL)
        return;
    item->to = lens->zone[lens->zones - 1].radius_mm;
    item->low = 1.0;
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_KEEP_OUT, 0, false, "outside the limit");
}

/* Out to where all callouts hold; nothing where that is the edge. */
static void add_aperture(bc_chart *chart, const bc_lens_curve *curve, const bc_lens_result *lens, const char *what)
{
    const double at = 0.5 * curve->aperture_mm;
    bc_chart_item *item;
    if (curve->check.pass || !(at > 0.0) || at >= lens->zone[lens->zones - 1].radius_mm)
        return;
    item = bc_chart_add(chart, BC_CHART_RULE);
    if (item == NULL)
        return;
    item->from = at;
    bc_print(item->text, sizeof item->text, "%s to ⌀ %.4g mm", what, curve->aperture_mm);
}

static void add_line(bc_chart *chart, const double *radius_mm, const bc_lens_result *lens, const double *value,
                     int style, const char *label)
{
    bc_chart_item *item = bc_chart_add(chart, BC_CHART_LINE);
    if (item == NULL || value == NULL)
        return;
    item->count = lens->zones;
    item->x = radius_mm;
    item->y = value;
    item->style = style;
    bc_chart_add_key(chart, chart->panels - 1, BC_CHART_LINE, style, false, label);
}

static void add_worst(bc_chart *chart, const bc_lens_curve *curve)
{
    const bc_finding *worst = &curve->check.finding[curve->check.decisive];
    char letter[BC_CHART_BRIEF], used[BC_PRINTED_SIZE];
    bc_chart_item *item;
    if (!isfinite(worst->limit_used) || worst->zone == NULL)
        return;
    item = bc_chart_add(chart, BC_CHART_MARK);
    if (item == NULL)
        return;
    letter_of(&curve->check, curve->check.decisive, letter);
    bc_print_used(used, worst->limit_used);
    item->from = worst->zone->radius_mm;
    item->low = worst->limit_used;
    item->bad = !worst->pass;
    bc_print(item->text, sizeof item->text, "%s%s%.20s at %.4g mm", letter, letter[0] == '\0' ? "" : ": ", used,
             item->from);
    bc_print(item->brief, sizeof item->brief, "%s", letter);
    bc_chart_add_key(chart, BC_CHART_EVERYWHERE, BC_CHART_MARK, 0, item->bad,
                     item->bad ? "worst point (not met)" : "worst point");
}

static void add_callouts(bc_chart *chart, const bc_lens_result *lens, const double *radius_mm)
{
    const bc_lens_curve *curve = &lens->designed;
    bc_chart_panel *panel = bc_chart_add_panel(chart);
    char label[BC_CHART_TEXT];
    if (panel == NULL)
        return;
    set_axes(panel, lens, largest(curve->check.count * lens->zones, curve->limit_used));
    add_limit(chart, lens);
    for (size_t f = 0; f < curve->check.count; f++) {
        label_of(chart, &curve->check, f, label);
        add_line(chart, radius_mm, lens, curve->limit_used + f * lens->zones, (int)f, label);
    }
    add_aperture(chart, curve, lens, "all hold");
    add_worst(chart, curve);
}

/* Of all findings the largest limit_used, zone by zone. */
static const double *worst_of_all(bc_chart *chart, const bc_lens_curve *curve, size_t zones)
{
    double *worst = bc_chart_array(chart, zones);
    for (size_t f = 0; worst != NULL && f < curve->check.count; f++)
        for (size_t z = 0; z < zones; z++)
            worst[z] = fmax(worst[z], curve->limit_used[f * zones + z]);
    return worst;
}

/* The worst callout at each zone, of the stack as it is and with the factors that better it. */
static void add_factors(bc_chart *chart, const bc_lens_result *lens, const double *radius_mm)
{
    const bc_lens_curve *curve[] = {&lens->designed, &lens->scaled, &lens->reaching};
    const double factor[] = {1.0, lens->factor, lens->reach_factor};
    bc_chart_panel *panel;
    double most = 0.0;
    if (lens->factor == 1.0 && lens->reach_factor == 1.0)
        return;
    chart->panel[chart->panels - 1].x_below = true;
    panel = bc_chart_add_panel(chart);
    if (panel == NULL)
        return;
    if (lens->designed.check.count > 1)
        bc_print(panel->heading, sizeof panel->heading, "The worst callout");
    for (size_t c = 0; c < 3; c++)
        if (c == 0 || factor[c] != 1.0)
            most = fmax(most, largest(curve[c]->check.count * lens->zones, curve[c]->limit_used));
    set_axes(panel, lens, most);
    add_limit(chart, lens);
    for (size_t c = 0; c < 3; c++) {
        char label[BC_CHART_TEXT];
        if (c > 0 && factor[c] == 1.0)
            continue;
        bc_print(label, sizeof label,
                 c == 0   ? "as designed"
                 : c == 1 ? "× %.4f (balance)"
                          : "× %.4f (farthest)",
                 factor[c]);
        add_line(chart, radius_mm, lens, worst_of_all(chart, curve[c], lens->zones), (int)c, label);
        bc_print(label, sizeof label, "× %.4f:", factor[c]);
        if (c > 0)
            add_aperture(chart, curve[c], lens, label);
    }
    if (lens->factor != 1.0)
        add_worst(chart, &lens->scaled);
}

void bc_plot_lens_panels(bc_chart *chart, const bc_lens_report *report)
{
    const bc_lens_result *lens = report->result;
    double *radius_mm = bc_chart_array(chart, lens->zones);
    for (size_t z = 0; radius_mm != NULL && z < lens->zones; z++)
        radius_mm[z] = lens->zone[z].radius_mm;
    add_callouts(chart, lens, radius_mm);
    if (!chart->failed)
        add_factors(chart, lens, radius_mm);
}

static void add_callout_notes(bc_chart *chart, const bc_lens_curve *curve)
{
    for (size_t f = 0; f < curve->check.count; f++) {
        const bc_finding *finding = &curve->check.finding[f];
        char asked[BC_CHART_TEXT], used[BC_PRINTED_SIZE], name[BC_CHART_TEXT];
        bc_chart_note *note = bc_chart_add_note(chart);
        if (note == NULL)
            return;
        label_of(chart, &curve->check, f, name);
        letter_of(&curve->check, f, note->mark);
        bc_plot_callout(asked, finding->callout);
        bc_print_used(used, finding->limit_used);
        bc_print(note->text, sizeof note->text,
                 "%.120s: %s. Uses %.20s at most; holds to ⌀" BC_PLOT_NO_BREAK "%.4g" BC_PLOT_NO_BREAK "mm.",
                 note->mark[0] == '\0' ? name : name + strlen(note->mark) + 2, asked, used,
                 curve->finding_aperture_mm[f]);
    }
}

static void add_surface_note(bc_chart *chart, const bc_curved *curved)
{
    bc_chart_note *note = bc_chart_add_note(chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text,
                 "%s, radius %.6g" BC_PLOT_NO_BREAK "mm, clear aperture ⌀" BC_PLOT_NO_BREAK "%.6g" BC_PLOT_NO_BREAK
                 "mm, slope at the edge %.3g°.",
                 curved->concave ? "Concave" : "Convex", curved->radius_mm, curved->clear_aperture_mm,
                 bc_edge_slope_deg(curved));
}

static void add_remedy_note(bc_chart *chart, const bc_lens_result *lens)
{
    const bc_lens_curve *scaled = &lens->scaled;
    bc_chart_note *note = bc_chart_add_note(chart);
    char used[BC_PRINTED_SIZE], reach[120] = "";
    if (note == NULL)
        return;
    if (lens->factor == 1.0) {
        bc_print(note->text, sizeof note->text, "No common factor of all thicknesses balances centre and edge better.");
        return;
    }
    bc_print_used_percent(used, scaled->check.limit_used);
    if (lens->reach_factor != 1.0)
        bc_print(reach, sizeof reach,
                 " With %.4f all callouts hold farthest out, to ⌀" BC_PLOT_NO_BREAK "%.4g" BC_PLOT_NO_BREAK "mm.",
                 lens->reach_factor, lens->reaching.aperture_mm);
    bc_print(note->text, sizeof note->text,
             "All layers %.4f times as thick: the worst zone uses %.20s %% of its limit%s.%s", lens->factor, used,
             scaled->check.pass ? ", and every callout is met" : "; no common factor is enough", reach);
}

bc_status bc_plot_lens(const bc_lens_report *report, const bc_plot_options *options, bc_text *out, bc_error *error)
{
    bc_chart chart;
    bc_chart_note *note;
    bc_chart_open(&chart, options);
    bc_plot_lens_panels(&chart, report);
    add_surface_note(&chart, report->check.curved);
    add_callout_notes(&chart, &report->result->designed);
    add_remedy_note(&chart, report->result);
    note = bc_chart_add_note(&chart);
    if (note != NULL)
        bc_print(note->text, sizeof note->text, "%s", BC_PREDICTED);
    return bc_chart_write(&chart, options, out, error);
}
