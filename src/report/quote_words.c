/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/quote_words.h"
#include "internal/numbers.h"
#include "internal/yield_words.h"
#include <math.h>

#define WORTH_SAYING 1e-6 /* of k */

const char *bc_feasibility_word(bc_feasibility verdict)
{
    return verdict == BC_FEASIBLE ? "feasible" : verdict == BC_MARGINAL ? "marginal" : "not feasible";
}

const char *bc_exception_word(bc_exception_kind kind)
{
    static const char *const word[] = {[BC_EXCEPT_LIMIT] = "lowest limit",
                                       [BC_EXCEPT_FROM] = "widest band, short end moved",
                                       [BC_EXCEPT_TO] = "widest band, long end moved",
                                       [BC_EXCEPT_BOTH] = "widest band, both ends moved",
                                       [BC_EXCEPT_ANGLE] = "largest angle",
                                       [BC_EXCEPT_APERTURE] = "largest clear aperture",
                                       [BC_EXCEPT_LAYER] = "another layer at hand",
                                       [BC_EXCEPT_DROPPED] = "left out altogether",
                                       [BC_EXCEPT_GLASS] = "another glass at hand",
                                       [BC_EXCEPT_ALONE] = "a recipe for one glass alone"};
    return word[kind];
}

static void add_names(bc_text *out, size_t count, const bc_medium *medium)
{
    for (size_t i = 0; i < count; i++)
        bc_text_add(out, "%s%s", i == 0 ? "" : ", ", medium[i].name);
}

/* All of them, "; " between. */
static void add_callouts(bc_text *out, const bc_callouts *callouts, const bc_callout *list)
{
    for (size_t c = 0; c < callouts->count; c++) {
        bc_text_add(out, "%s", c == 0 ? "" : "; ");
        bc_add_callout(out, &list[c]);
    }
}

void bc_add_asked(bc_text *out, const bc_quote_report *report, const bc_exception *exception)
{
    const bc_design_problem *problem = report->request->problem;
    if (exception->callout != BC_NO_CALLOUT)
        bc_add_callout(out, &problem->callouts->callout[exception->callout]);
    else if (exception->all != NULL)
        add_callouts(out, problem->callouts, problem->callouts->callout);
    else if (exception->kind == BC_EXCEPT_APERTURE)
        bc_text_add(out, "a clear aperture of %g mm", report->check.curved->clear_aperture_mm);
    else if (exception->kind == BC_EXCEPT_LAYER && report->result->layers == 0)
        bc_text_add(out, "none of those asked for");
    else if (exception->kind == BC_EXCEPT_LAYER)
        add_names(out, report->result->layers, report->result->layer);
    else
        add_names(out, problem->substrates, problem->substrate);
}

void bc_add_offered(bc_text *out, const bc_quote_report *report, const bc_exception *exception)
{
    if (exception->callout != BC_NO_CALLOUT)
        bc_add_callout(out, &exception->offered);
    else if (exception->all != NULL)
        add_callouts(out, report->request->problem->callouts, exception->all);
    else if (exception->kind == BC_EXCEPT_APERTURE)
        bc_text_add(out, "a clear aperture of %.2f mm", exception->aperture_mm);
    else if (exception->kind == BC_EXCEPT_LAYER)
        bc_text_add(out, "%s as well", exception->other->name);
    else if (exception->kind == BC_EXCEPT_ALONE)
        bc_text_add(out, "%s with a recipe of its own", exception->other->name);
    else
        bc_text_add(out, "%s (the lens must be designed for it)", exception->other->name);
}

static void add_obstacle(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_callout *callout = report->request->problem->callouts->callout;
    const char *name = result->obstacle_material == NULL ? "" : result->obstacle_material->name;
    switch (result->obstacle) {
    case BC_NO_OBSTACLE:
        return;
    case BC_OBSTACLE_SIZE:
        bc_text_add(out, "The part does not fit into the chamber: %g mm against a load circle of %g mm.",
                    result->obstacle_at, result->obstacle_limit);
        return;
    case BC_OBSTACLE_CONTRADICTION:
        bc_text_add(out, "The callouts \"%s\" and \"%s\" contradict each other: no coating can meet both.",
                    callout[result->contradiction[0]].name, callout[result->contradiction[1]].name);
        return;
    case BC_OBSTACLE_HEAT:
        bc_text_add(out, "The part does not withstand the process: %s needs %g C, the part withstands %g C.", name,
                    result->obstacle_at, result->obstacle_limit);
        return;
    case BC_OBSTACLE_THIN:
        bc_text_add(out,
                    "The process cannot control it: a layer of %s is %.3f nm thick, and the thinnest it can make is %g "
                    "nm.",
                    name, result->obstacle_at, result->obstacle_limit);
        return;
    }
}

static const char *why_recommended(const bc_quote_request *request, const bc_quote_option *option)
{
    if (request->prefer == BC_PREFER_YIELD)
        return "the most runs succeed with it";
    if (request->prefer == BC_PREFER_LAYERS || !isfinite(option->layer_hours))
        return "the fewest layers with which enough runs succeed";
    return isfinite(option->expected_hours) ? "the fewest hours, failed runs included, with which enough runs succeed"
                                            : "the least time, failed runs included, with which enough runs succeed";
}

static void add_yield(bc_text *out, const bc_quote_report *report, const char *used)
{
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[result->recommended];
    const double asked = 100.0 * report->request->yield;
    if (result->verdict == BC_MARGINAL)
        bc_text_add(out, ": the most runs succeed with it, %.1f of 100 (%.1f to %.1f), fewer than the %g asked for",
                    100.0 * option->yield, 100.0 * option->yield_low, 100.0 * option->yield_high, asked);
    else
        bc_text_add(out, ": %s, %.1f of 100 (%.1f to %.1f; %g asked for)", why_recommended(report->request, option),
                    100.0 * option->yield, 100.0 * option->yield_low, 100.0 * option->yield_high, asked);
    bc_text_add(out, "; it uses %s %% of the limit.%s", used,
                result->at_the_limit ? " This is at the limit of what was asked for: the interval holds it." : "");
}

static void add_standard(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    bc_text words = {0};
    bc_add_standard(&words, result->option[result->recommended].standard, report->request->yield);
    out->failed = out->failed || words.failed;
    if (words.data != NULL)
        bc_text_add(out, "S%s.", words.data + 1);
    bc_text_clear(&words);
}

/* Whatever stopped it: "not feasible" is then not the last word. */
static void add_stopped(bc_text *out, const bc_quote_result *result)
{
    if (!result->stopped)
        return;
    bc_text_add(out, "Interrupted, or its --seconds were over: this is the best so far, not the best there is%s. ",
                result->verdict == BC_FEASIBLE ? "" : "; a search to its end may find better");
}

/* What the runs behind the process leave open, beside a verdict that goes by its figures. */
static void add_known(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[result->recommended];
    const double asked = report->request->yield;
    if (!(option->known.runs > 0.0))
        return;
    bc_text_add(out, " ");
    bc_add_known_yield(out, &option->known);
    if (option->yield >= asked && option->known.low < asked)
        bc_text_add(out, ". The verdict goes by the process file; that %g succeed is not certain", 100.0 * asked);
    else if (option->yield < asked && option->known.high >= asked)
        bc_text_add(out, ". The verdict goes by the process file; that fewer than %g succeed is not certain",
                    100.0 * asked);
    bc_text_add(out, ".");
}

void bc_add_why(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_quote_option *option = &result->option[result->recommended];
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, option->limit_used);
    add_stopped(out, result);
    if (result->obstacle != BC_NO_OBSTACLE) {
        add_obstacle(out, report);
        return;
    }
    if (option->standard != NULL) {
        add_standard(out, report);
        add_known(out, report);
        return;
    }
    if (option->stack.layers == 0 && result->verdict == BC_FEASIBLE) {
        bc_text_add(out, "No coating is needed: the bare surface meets every callout; it uses %s %% of the limit.",
                    used);
        return;
    }
    bc_add_layers(out, option->stack.layers);
    if (result->verdict == BC_NOT_FEASIBLE)
        bc_text_add(out,
                    ": of all designs found the one that comes nearest to the callouts; it uses %s %% of the limit.",
                    used);
    else if (isnan(option->yield) && option->limit_used <= 0.9)
        bc_text_add(
            out,
            ": the fewest that leave a tenth of the limit in hand (%s %% used); how many runs will succeed is not "
            "known.",
            used);
    else if (isnan(option->yield))
        bc_text_add(out,
                    ": of all designs found the one that uses the least of the limit (%s %%), with less than a tenth "
                    "in hand; how "
                    "many runs will succeed is not known.",
                    used);
    else
        add_yield(out, report, used);
    add_known(out, report);
}

static void add_decisive(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const bc_finding *finding = &result->check.finding[result->decisive_finding];
    char value[BC_PRINTED_SIZE], used[BC_PRINTED_SIZE], limit[BC_PRINTED_SIZE];
    bc_print_value(value, finding);
    bc_print_used_percent(used, finding->limit_used);
    bc_print_limit(limit, finding->callout);
    bc_text_add(out, "\"%s\" decides on %s: %s%s against %s, worst at ", finding->callout->name,
                finding->substrate->name, value, bc_unit_behind(finding->callout), limit);
    if (finding->callout->statistic == BC_EXTREME) /* an average is at no wavelength */
        bc_text_add(out, "%.1f nm and ", finding->at_nm);
    bc_text_add(out, "%.4g degrees (%s %% of the limit)", bc_degrees(finding->at_aoi_rad), used);
    if (result->fails != NULL)
        bc_text_add(out, "; it fails in %.1f of 100 runs", 100.0 * result->fails[result->decisive]);
    bc_text_add(out, "%s.\n", result->decides_alone ? "; were it left out, the others could be met" : "");
}

static void add_material_limit(bc_text *out, const bc_quote_report *report)
{
    const bc_material_limit *limit = &report->result->materials;
    const char *at = limit->normal ? "" : " The theorem is for normal incidence; at an angle it is a guide.";
    if (limit->lowest == limit->highest)
        bc_text_add(out, "All layers asked for are of %s (index %.3f).", limit->lowest->name, limit->lowest_n);
    else
        bc_text_add(out, "Of the layers asked for, %s has the lowest index (%.3f) and %s the highest (%.3f).",
                    limit->lowest->name, limit->lowest_n, limit->highest->name, limit->highest_n);
    if (report->request->other_layers == 0)
        bc_text_add(out, " No other layer materials were considered.");
    else if (limit->lower == NULL && limit->higher == NULL)
        bc_text_add(
            out, " No other layer at hand goes beyond them, and at normal incidence two indices suffice when the "
                 "number of layers is free: with many layers more materials cannot help any more, with few they may.");
    else
        bc_text_add(out,
                    " Also at hand: %s%s%s, which widens this range: more than a third index between them, "
                    "that can help.",
                    limit->lower != NULL ? limit->lower->name : "",
                    limit->lower != NULL && limit->higher != NULL ? " and " : "",
                    limit->higher != NULL ? limit->higher->name : "");
    bc_text_add(out, " (Tikhonravov, Appl. Opt. 32, 5417 (1993).)%s\n", at);
}

static void add_heat(const bc_remark *remark, bc_text *out)
{
    const char *name = remark->material->name;
    bc_text_add(
        out,
        "%s is refused: its process needs about %g C%s, and this part withstands %g C%s. A colder process of the "
        "shop's own goes into the process file as process_c.\n",
        name, remark->process_c, remark->own ? "" : " (common practice, no source)", remark->limit_c,
        remark->part == NULL ? "" : " (common practice, no source)");
}

static void add_remark(bc_text *out, const bc_remark *remark)
{
    const char *name = remark->material->name;
    double from_nm, to_nm;
    bc_dispersion_range(remark->material->dispersion, &from_nm, &to_nm);
    switch (remark->kind) {
    case BC_REMARK_RANGE:
        bc_text_add(out, "%s is refused: its table reaches from %g to %g nm, and the callouts ask for %g to %g nm.\n",
                    name, from_nm, to_nm, remark->from_nm, remark->to_nm);
        return;
    case BC_REMARK_HEAT:
        add_heat(remark, out);
        return;
    case BC_REMARK_NO_HEAT:
        bc_text_add(out,
                    "%s: its table does not say how hot the part must be (process_c); ask the process whether %g C is "
                    "enough.\n",
                    name, remark->limit_c);
        return;
    case BC_REMARK_ABSORBS:
        if (remark->k >= WORTH_SAYING)
            bc_text_add(out, "%s absorbs in the band: k up to %.2g, at %g nm. The designs count the loss.\n", name,
                        remark->k, remark->at_nm);
        return;
    case BC_REMARK_CAUTION: /* among the cautions */
        return;
    }
}

void bc_add_remarks(bc_text *out, const bc_quote_report *report)
{
    for (size_t i = 0; i < report->result->remarks; i++)
        if (!report->result->remark[i].refused)
            add_remark(out, &report->result->remark[i]);
}

/* The true cause first: what cannot be had at all, then what decides among what can. */
void bc_add_reasons(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    if (result->obstacle != BC_NO_OBSTACLE) {
        add_obstacle(out, report);
        bc_text_add(out, "\n");
    }
    for (size_t i = 0; i < result->remarks; i++)
        if (result->remark[i].refused)
            add_remark(out, &result->remark[i]);
    if (result->obstacle == BC_OBSTACLE_CONTRADICTION || result->option[result->recommended].stack.layers == 0)
        return;
    add_decisive(out, report);
    add_material_limit(out, report);
}

static void add_missing_process(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    if (report->request->process == NULL) {
        bc_text_add(out,
                    "No process file: yields and hours are not known, and the verdict goes by the limits alone.\n");
        return;
    }
    if (!result->yield_known)
        bc_text_add(out, "The process file gives no errors: yields are not known, and the verdict goes by the limits "
                         "alone.\n");
    for (size_t m = 0; m < result->layers; m++) {
        const bc_process_row row = bc_process_for(report->request->process, result->layer[m].name);
        if (!row.has_rate)
            bc_text_add(out, "The process file gives no rate_nm_per_s for %s: the hours of its layers are not known.\n",
                        result->layer[m].name);
        if (!row.has_tooling && row.has_rate)
            bc_text_add(out, "The process file gives no tooling for %s: its hours are those at the monitor.\n",
                        result->layer[m].name);
        if (result->yield_known && !(row.has_thickness_sigma && row.has_run_thickness_sigma && row.has_index_sigma))
            bc_text_add(out, "The process file gives no%s%s%s for %s: taken as no error of that kind.\n",
                        row.has_thickness_sigma ? "" : " thickness_sigma_percent",
                        row.has_run_thickness_sigma ? "" : " run_thickness_sigma_percent",
                        row.has_index_sigma ? "" : " index_sigma", result->layer[m].name);
    }
}

static void add_missing_chamber(bc_text *out, const bc_quote_report *report)
{
    const bc_chamber *chamber = report->request->chamber;
    if (chamber == NULL) {
        bc_text_add(out, "No chamber file: parts per load and hours per load are not known.\n");
        return;
    }
    bc_add_missing_steps(out, chamber, "hours per load are");
    if (!chamber->has_load_diameter)
        bc_text_add(out, "The chamber file gives no load_diameter_mm: parts per load are not known.\n");
    else if (!chamber->has_part_pitch_extra && report->request->part_diameter_mm > 0.0)
        bc_text_add(out, "The chamber file gives no part_pitch_extra_mm: parts are packed edge to edge.\n");
}

void bc_add_missing(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_request *request = report->request;
    add_missing_process(out, report);
    add_missing_chamber(out, report);
    if (request->part_diameter_mm == 0.0)
        bc_text_add(out, "No --part-diameter-mm: parts per load are not known.\n");
    else if (request->chamber != NULL && request->chamber->has_load_diameter && report->result->parts_per_load == 0)
        bc_text_add(out, "A part of %g mm does not fit into the load circle of %g mm.\n", request->part_diameter_mm,
                    request->chamber->load_diameter_mm);
    if (request->quantity == 0)
        bc_text_add(out, "No --quantity: the number of loads is not known.\n");
}
