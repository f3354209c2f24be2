/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/curved.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/proof_words.h"
#include "internal/table.h"
#include <math.h>

static bool is_draft(const bc_design_report *report)
{
    return report->draft != NULL;
}

static const char *stop_word(bc_stop stop)
{
    static const char *const word[] = {[BC_STOP_CONVERGED] = "converged",
                                       [BC_STOP_BUDGET] = "budget",
                                       [BC_STOP_GOOD] = "good",
                                       [BC_STOP_INTERRUPTED] = "interrupted"};
    return word[stop];
}

static const char *stop_sentence(bc_stop stop)
{
    static const char *const sentence[] = {
        [BC_STOP_CONVERGED] = "no step improves the worst callout",
        [BC_STOP_BUDGET] = "the limit on the work was reached; more effort may find a better design",
        [BC_STOP_GOOD] = "the aim was met",
        [BC_STOP_INTERRUPTED] = "it was interrupted, or its --seconds were over: this is the best so far"};
    return sentence[stop];
}

static void ladder_text(const bc_design_report *report, bc_text *out)
{
    static const char *const heading[] = {"layers", "total nm", "limit_used", "", ""};
    bc_table table = {.columns = 5, .right = {true, true, true, false, false}, .indent = 2};
    if (!is_draft(report))
        return;
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t i = 0; i < report->draft->rungs; i++) {
        char used[BC_PRINTED_SIZE];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", report->draft->rung[i].stack.layers);
        bc_table_cell(&table, 1, "%.3f", report->draft->rung[i].total_nm);
        bc_print_used(used, report->draft->rung[i].limit_used);
        bc_table_cell(&table, 2, "%s", used);
        if (i == report->draft->chosen)
            bc_table_cell(&table, 3, report->robust == NULL ? "<- chosen" : "<- sharpest");
        bc_table_cell(
            &table, 4, "%s",
            bc_proof_note(report->proof, report->draft->rung[i].stack.layers, report->draft->rung[i].limit_used));
    }
    bc_text_add(out,
                "Best design for each number of layers, where it improves on fewer or is less\nthan half as thick:\n");
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

static void layers_text(const bc_stack *stack, bc_text *out)
{
    bc_table table = {.columns = 4, .right = {true, false, true, false}, .indent = 2};
    if (stack->layers == 0) {
        bc_text_add(out, "No layers: the bare substrate.\n\n");
        return;
    }
    bc_table_row(&table);
    bc_table_cell(&table, 0, "layer");
    bc_table_cell(&table, 1, "material");
    bc_table_cell(&table, 2, "thickness nm");
    for (size_t number = 1; number <= stack->layers; number++) {
        const bc_layer *layer = &stack->layer[bc_layer_index(stack->layers, number)];
        char thickness[BC_PRINTED_SIZE];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", number);
        bc_table_cell(&table, 1, "%s", layer->material.name);
        bc_print_thickness(thickness, layer->thickness_nm);
        bc_table_cell(&table, 2, "%s", thickness);
        bc_table_cell(&table, 3, "%s", layer->fixed ? "fixed" : "");
    }
    bc_text_add(out, "Layers, from the substrate (layer 1) to %s:\n", stack->incident.name);
    bc_table_write(&table, out);
    bc_gradients_text(stack, out);
    bc_text_add(out, "\n");
}

/* How often a search like this misses. Of one that met its aim nothing better was asked. */
static void trial_words(const bc_design_report *report, bc_text *words)
{
    const bc_draft_result *draft = report->draft;
    const bc_draft_trials *trials = bc_draft_trials_for(report->effort);
    const bool agreed = report->stop == BC_STOP_CONVERGED;
    const bool like_them =
        report->check.stack_path == NULL && draft->looked_at == draft->allowed && draft->looked_at <= BC_TRIED_LAYERS;
    if (trials != NULL && like_them && (agreed || report->stop == BC_STOP_BUDGET))
        bc_text_add(words,
                    " Of %zu searches of effort %g that %s, in random problems of one to three bands and up to %d "
                    "layers, %zu missed a design better by over 1 %%.",
                    agreed ? trials->agreed : trials->others, trials->effort,
                    agreed ? "ended in such agreement" : "ended without agreement", BC_TRIED_LAYERS,
                    agreed ? trials->agreed_missed : trials->others_missed);
}

/* How far the search may be trusted: what independent searches agreed on. */
static void sure_words(const bc_design_report *report, bc_text *words)
{
    const bc_draft_result *draft = report->draft;
    if (draft->searches < 2)
        return;
    if (draft->agreeing == 0)
        bc_text_add(
            words,
            " None of %zu independent searches at %zu layers ended at the best design: it was found afterwards, "
            "from their ends or by the proof",
            draft->searches, draft->looked_at);
    else
        bc_text_add(words, " %zu of %zu independent searches at %zu layers ended at the best design", draft->agreeing,
                    draft->searches, draft->looked_at);
    bc_text_add(words, "; %zu different local optima were met.", draft->optima);
    trial_words(report, words);
}

/* Why the outer layer is what it is: the best found with every other material outside. */
static void outer_words(const bc_design_report *report, bc_text *words)
{
    const bc_draft_result *draft = report->draft;
    const bc_stack *stack = report->check.stack;
    const char *before = " (best found with ";
    if (stack->layers == 0 || draft->outers < 2 || report->robust != NULL)
        return;
    bc_text_add(words, "Outer layer: %s uses the least of the limit", stack->layer[0].material.name);
    for (size_t m = 0; m < draft->outers; m++) {
        char used[BC_PRINTED_SIZE];
        if (draft->outer[m].material->dispersion == stack->layer[0].material.dispersion)
            continue;
        bc_print_used_percent(used, draft->outer[m].limit_used);
        bc_text_add(words, "%s%s outside: %s%s", before, draft->outer[m].material->name,
                    isfinite(draft->outer[m].limit_used) ? used : "none",
                    isfinite(draft->outer[m].limit_used) ? " %" : "");
        before = ", ";
    }
    bc_text_add(words, ").");
}

static void alternative_words(const bc_design_report *report, bc_text *words)
{
    static const char *const has[] = {
        [BC_NO_ALTERNATIVE] = "", [BC_FEWER_LAYERS] = "fewer layers", [BC_THICKER_LAYERS] = "no layer as thin"};
    const bc_draft_result *draft = report->draft;
    char used[BC_PRINTED_SIZE];
    if (draft->alternative_has == BC_NO_ALTERNATIVE || report->robust != NULL)
        return;
    bc_print_used_percent(used, draft->alternative.limit_used);
    bc_text_add(words, "Nearly as good, with %s (%s %% of the limit used):", has[draft->alternative_has], used);
    for (size_t j = draft->alternative.stack.layers; j-- > 0;)
        bc_text_add(words, " %s %.3f", draft->alternative.stack.layer[j].material.name,
                    draft->alternative.stack.layer[j].thickness_nm);
    bc_text_add(words, " nm, from the substrate.");
}

/* Why the design is not the sharpest of the ladder. */
static void robust_words(const bc_design_report *report, bc_text *words)
{
    const bc_robust_result *robust = report->robust;
    char used[BC_PRINTED_SIZE];
    if (robust == NULL)
        return;
    bc_print_used_percent(used, robust->sharpest_limit_used);
    bc_text_add(
        words,
        "Chosen from %zu designs for its yield in simulated runs, with the fewest layers within 2 points of the "
        "highest: %.1f %% of runs will meet the callouts (95 %% interval %.1f to %.1f). The design marked in "
        "the list, which uses %s %% of the limit, would in %.1f %% (%.1f to %.1f).",
        robust->designs, 100.0 * robust->yield, 100.0 * robust->yield_low, 100.0 * robust->yield_high, used,
        100.0 * robust->sharpest_yield, 100.0 * robust->sharpest_low, 100.0 * robust->sharpest_high);
}

static void proof_words(const bc_design_report *report, bc_text *words)
{
    bc_add_proof(words, report->proof, report->minimum_nm);
}

/* The highest yield found with each number of layers. */
static void yield_ladder_text(const bc_robust_result *robust, bc_text *out)
{
    static const char *const heading[] = {"layers", "total nm", "limit_used", "yield %", ""};
    bc_table table = {.columns = 5, .right = {true, true, true, true, false}, .indent = 2};
    if (robust == NULL || robust->rungs == 0)
        return;
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heading[column]);
    for (size_t r = 0; r < robust->rungs; r++) {
        char used[BC_PRINTED_SIZE];
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%zu", robust->rung[r].layers);
        bc_table_cell(&table, 1, "%.3f", robust->rung[r].total_nm);
        bc_print_used(used, robust->rung[r].limit_used);
        bc_table_cell(&table, 2, "%s", used);
        bc_table_cell(&table, 3, "%.1f", 100.0 * robust->rung[r].yield);
        if (r == robust->chosen)
            bc_table_cell(&table, 4, "<- chosen");
    }
    bc_text_add(out, "Highest yield found with each number of layers:\n");
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

/* Write what a function of words has to say, if anything, wrapped. */
static void wrapped(const bc_design_report *report, void (*say)(const bc_design_report *, bc_text *), bc_text *out)
{
    bc_text words = {0};
    say(report, &words);
    bc_text_wrap_gathered(out, 0, &words);
}

/* Why it ended. */
static void stop_words(const bc_design_report *report, bc_text *words)
{
    const bc_draft_result *draft = report->draft;
    if (is_draft(report) && report->stop == BC_STOP_BUDGET && report->check.stack_path == NULL &&
        draft->looked_at < draft->allowed)
        bc_text_add(
            words,
            ". It ended because the limit on the work was reached with %zu of the %zu layers allowed; more layers "
            "were not searched. More effort searches further.",
            draft->looked_at, draft->allowed);
    else if (is_draft(report) && report->stop == BC_STOP_CONVERGED)
        bc_text_add(words, ". It ended because enough independent searches agree.");
    else
        bc_text_add(words, ". It ended because %s.", stop_sentence(report->stop));
}

static void work_text(const bc_design_report *report, bc_text *out)
{
    bc_text words = {0};
    if (is_draft(report)) {
        bc_text_add(&words, "Search: %zu start%s, seed %lu, effort %g", report->draft->starts,
                    report->draft->starts == 1 ? "" : "s", report->seed, report->effort);
    } else {
        char before[BC_PRINTED_SIZE];
        bc_print_used_percent(before, report->limit_used_before);
        bc_text_add(&words, "Before: %s %% of the limit used", before);
    }
    stop_words(report, &words);
    if (is_draft(report))
        sure_words(report, &words);
    if (report->thin_layers > 0) {
        bc_text_add(&words, " ");
        bc_add_layers(&words, report->thin_layers);
        bc_text_add(&words, " of the start %s thinner than the minimum of %g nm and had to grow.",
                    report->thin_layers == 1 ? "was" : "were", report->minimum_nm);
    }
    if (!words.failed)
        bc_text_wrap(out, 0, 0, words.data);
    out->failed = out->failed || words.failed;
    bc_text_clear(&words);
}

bc_status bc_report_design_text(const bc_design_report *report, bc_text *out, bc_error *error)
{
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, report->check.result->limit_used);
    bc_text_add(out, "%s: ", report->command);
    bc_add_layers(out, report->check.stack->layers);
    bc_text_add(out, ", %.3f nm; uses %s %% of the limit\n\n", bc_stack_total_nm(report->check.stack), used);
    ladder_text(report, out);
    yield_ladder_text(report->robust, out);
    layers_text(report->check.stack, out);
    if (report->check.curved != NULL) {
        bc_curved_text(&report->check, out);
        bc_text_add(out, "\n");
    }
    bc_findings_text(&report->check, out);
    if (is_draft(report)) {
        wrapped(report, robust_words, out);
        wrapped(report, outer_words, out);
        wrapped(report, alternative_words, out);
        wrapped(report, proof_words, out);
    }
    work_text(report, out);
    bc_text_add(out, "\n");
    bc_sources_text(&report->check, out);
    bc_text_add(out, "\n");
    bc_cautions_text(1, &report->check, out);
    return bc_text_end(out, error);
}

static void stack_layers_json(const bc_stack *stack, bc_json *json, cJSON *parent)
{
    cJSON *layers = bc_json_array(json, parent, "layers");
    for (size_t j = stack->layers; j-- > 0;) {
        cJSON *row = bc_json_object(json, layers, NULL);
        bc_json_string(json, row, "material", stack->layer[j].material.name);
        bc_json_number(json, row, "thickness_nm", stack->layer[j].thickness_nm, 15);
        bc_gradient_json(&stack->layer[j], json, row);
        bc_json_bool(json, row, "fixed", stack->layer[j].fixed);
    }
}

static void search_json(const bc_draft_result *draft, bc_json *json)
{
    cJSON *outers = bc_json_array(json, json->root, "outer_layers"), *alternative;
    for (size_t m = 0; m < draft->outers; m++) {
        cJSON *row = bc_json_object(json, outers, NULL);
        bc_json_string(json, row, "material", draft->outer[m].material->name);
        bc_json_number(json, row, "limit_used", draft->outer[m].limit_used, 12);
    }
    bc_json_number(json, json->root, "layers_looked_at", (double)draft->looked_at, 15);
    bc_json_number(json, json->root, "searches", (double)draft->searches, 15);
    bc_json_number(json, json->root, "agreeing", (double)draft->agreeing, 15);
    bc_json_number(json, json->root, "optima", (double)draft->optima, 15);
    if (draft->alternative_has == BC_NO_ALTERNATIVE)
        return;
    alternative = bc_json_object(json, json->root, "alternative");
    bc_json_string(json, alternative, "has",
                   draft->alternative_has == BC_FEWER_LAYERS ? "fewer layers" : "thicker layers");
    bc_json_number(json, alternative, "limit_used", draft->alternative.limit_used, 12);
    bc_json_number(json, alternative, "total_nm", draft->alternative.total_nm, 15);
    stack_layers_json(&draft->alternative.stack, json, alternative);
}

static void robust_json(const bc_robust_result *robust, bc_json *json)
{
    cJSON *object, *ladder;
    if (robust == NULL)
        return;
    object = bc_json_object(json, json->root, "robust");
    bc_json_number(json, object, "yield_percent", 100.0 * robust->yield, 12);
    bc_json_number(json, object, "yield_low_percent", 100.0 * robust->yield_low, 12);
    bc_json_number(json, object, "yield_high_percent", 100.0 * robust->yield_high, 12);
    bc_json_number(json, object, "sharpest_limit_used", robust->sharpest_limit_used, 12);
    bc_json_number(json, object, "sharpest_yield_percent", 100.0 * robust->sharpest_yield, 12);
    bc_json_number(json, object, "designs", (double)robust->designs, 15);
    bc_json_number(json, object, "runs", (double)robust->runs, 15);
    ladder = bc_json_array(json, object, "ladder");
    for (size_t r = 0; r < robust->rungs; r++) {
        cJSON *row = bc_json_object(json, ladder, NULL);
        bc_json_number(json, row, "layers", (double)robust->rung[r].layers, 15);
        bc_json_number(json, row, "total_nm", robust->rung[r].total_nm, 15);
        bc_json_number(json, row, "limit_used", robust->rung[r].limit_used, 12);
        bc_json_number(json, row, "yield_percent", 100.0 * robust->rung[r].yield, 12);
        bc_json_number(json, row, "yield_low_percent", 100.0 * robust->rung[r].yield_low, 12);
        bc_json_number(json, row, "yield_high_percent", 100.0 * robust->rung[r].yield_high, 12);
        bc_json_bool(json, row, "chosen", r == robust->chosen);
    }
}

static void ladder_json(const bc_design_report *report, bc_json *json)
{
    cJSON *ladder = bc_json_array(json, json->root, "ladder");
    for (size_t i = 0; i < report->draft->rungs; i++) {
        cJSON *row = bc_json_object(json, ladder, NULL);
        bc_json_number(json, row, "layers", (double)report->draft->rung[i].stack.layers, 15);
        bc_json_number(json, row, "total_nm", report->draft->rung[i].total_nm, 15);
        bc_json_number(json, row, "limit_used", report->draft->rung[i].limit_used, 12);
        bc_json_bool(json, row, "chosen", i == report->draft->chosen);
        bc_json_bool(json, row, "best_possible",
                     bc_proof_note(report->proof, report->draft->rung[i].stack.layers,
                                   report->draft->rung[i].limit_used)[0] != '\0');
    }
}

bc_status bc_report_design_json(const bc_design_report *report, bc_text *out, bc_error *error)
{
    bc_json json;
    bc_json_open(&json);
    bc_findings_json(&report->check, "start", &json);
    stack_layers_json(report->check.stack, &json, json.root);
    bc_json_number(&json, json.root, "total_nm", bc_stack_total_nm(report->check.stack), 15);
    bc_json_number(&json, json.root, "starts", is_draft(report) ? (double)report->draft->starts : 1.0, 15);
    if (is_draft(report)) {
        bc_json_number(&json, json.root, "seed", (double)report->seed, 15);
        bc_json_number(&json, json.root, "effort", report->effort, 12);
        ladder_json(report, &json);
        search_json(report->draft, &json);
        robust_json(report->robust, &json);
        bc_proof_json(&json, report->proof, report->minimum_nm);
    } else {
        bc_json_number(&json, json.root, "limit_used_before", report->limit_used_before, 12);
    }
    bc_json_number(&json, json.root, "minimum_nm", report->minimum_nm, 12);
    bc_json_string(&json, json.root, "stop", stop_word(report->stop));
    bc_sources_json(&report->check, &json);
    bc_cautions_json(1, &report->check, &json);
    return bc_json_close(&json, out, error);
}
