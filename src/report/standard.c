/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/quote_words.h"
#include <math.h>

#define MOST_TOLD 3 /* of those that do not do it */

static void add_offer_yield(bc_text *out, const bc_quote_option *option, double asked)
{
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, option->limit_used);
    if (isfinite(option->yield))
        bc_text_add(out, "yield %.1f %% (%.1f to %.1f; %g asked for), ", 100.0 * option->yield,
                    100.0 * option->yield_low, 100.0 * option->yield_high, 100.0 * asked);
    bc_text_add(out, "uses %s %% of the limit, ", used);
    bc_add_layers(out, option->stack.layers);
}

static void add_change(bc_text *out, const bc_standard_offer *offer)
{
    const bc_medium *glass = &offer->option.stack.substrate;
    if (offer->refined)
        bc_text_add(out, " with its thicknesses refined for %s (by %.1f nm at most%s)", glass->name, offer->moved_nm,
                    offer->new_design ? ", too far for the same coating" : "");
    else
        bc_text_add(out, " as it is");
    if (offer->made_for->dispersion != glass->dispersion)
        bc_text_add(out, "%s a stack for %s", offer->refined ? ", from" : ",", offer->made_for->name);
}

void bc_add_standard(bc_text *out, const bc_standard_offer *offer, double asked)
{
    const bc_quote_option *option = &offer->option;
    bc_text_add(out, "standard coating %s", offer->standard->name);
    if (offer->refused != NULL) {
        bc_text_add(out, " is not among them: %s is not allowed here", offer->refused->name);
        return;
    }
    if (offer->does)
        bc_text_add(out, " does it");
    else
        bc_text_add(out, " does not do it");
    add_change(out, offer);
    bc_text_add(out, ": ");
    add_offer_yield(out, option, asked);
}

static void add_sentence(bc_text *out, const bc_standard_offer *offer, double asked)
{
    bc_text words = {0};
    bc_add_standard(&words, offer, asked);
    out->failed = out->failed || words.failed;
    if (words.data != NULL)
        bc_text_add(out, "S%s.\n", words.data + 1); /* "standard" opens the sentence */
    bc_text_clear(&words);
}

void bc_add_standards(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    size_t told = 0;
    for (size_t i = 0; i < result->standards; i++) {
        const bc_standard_offer *offer = &result->standard[i];
        if (!offer->does && told == MOST_TOLD) {
            bc_text_add(out, "%zu more do not do it.\n", result->standards - i);
            break;
        }
        told += !offer->does;
        add_sentence(out, offer, report->request->yield);
        if (offer->does && offer->new_design)
            bc_text_add(out,
                        "That makes a new design of it: a layer moved by more than %g %% of its thickness, and by more "
                        "than %g nm.\n",
                        100.0 * BC_STANDARD_MOVE, BC_STANDARD_MOVE_NM);
        else if (offer->does && offer->refined)
            bc_text_add(out, "A coating with refined thicknesses is a new one: coat a witness and measure it before it "
                             "is sold.\n");
    }
    if (!result->searched)
        bc_text_add(out, "No other coating was looked for; --search looks for one.\n");
}

void bc_standards_json(const bc_quote_report *report, bc_json *json)
{
    const bc_quote_result *result = report->result;
    cJSON *array = bc_json_array(json, json->root, "standards");
    bc_json_bool(json, json->root, "searched", result->searched);
    for (size_t i = 0; i < result->standards; i++) {
        const bc_standard_offer *offer = &result->standard[i];
        const bool known = offer->refused == NULL;
        cJSON *row = bc_json_object(json, array, NULL);
        bc_json_string(json, row, "name", offer->standard->name);
        bc_json_string(json, row, "made_for", offer->made_for->name);
        bc_json_bool(json, row, "does", offer->does);
        bc_json_bool(json, row, "refined", offer->refined);
        bc_json_number(json, row, "moved_nm", offer->moved_nm, 12);
        bc_json_bool(json, row, "new_design", offer->new_design);
        bc_json_string(json, row, "refused_for", known ? NULL : offer->refused->name);
        bc_json_number(json, row, "layers", known ? (double)offer->option.stack.layers : NAN, 15);
        bc_json_number(json, row, "limit_used", known ? offer->option.limit_used : NAN, 12);
        bc_json_number(json, row, "yield_percent", known ? 100.0 * offer->option.yield : NAN, 12);
    }
}

/* The substrates of a coating's stacks: all of a few, else how many. */
static void add_substrates(bc_text *out, const bc_standard *standard)
{
    if (standard->stacks > 6) {
        bc_text_add(out, "%zu substrates", standard->stacks);
        return;
    }
    for (size_t i = 0; i < standard->stacks; i++)
        bc_text_add(out, "%s%s", i == 0 ? "" : ", ", standard->stack[i].substrate.name);
}

static void heading(const bc_standards_report *report, bc_text *out)
{
    bc_text_add(out, "Standard coatings in ");
    bc_text_add_plain(out, report->folder);
    bc_text_add(out, report->standards->count == 0 ? ": none.\n" : ":\n");
    if (report->states > 0 && report->process_path != NULL) {
        bc_text_add(out, "Process ");
        bc_text_add_plain(out, report->process_path);
        bc_text_add(out, "\n");
    }
}

static void list_text(const bc_standards_report *report, bc_text *out)
{
    for (size_t i = 0; i < report->standards->count; i++) {
        const bc_standard *standard = &report->standards->standard[i];
        bc_text words = {0};
        bc_text_add(&words, "%s: ", standard->name);
        bc_add_layers(&words, standard->stack[0].layers);
        bc_text_add(&words, " on ");
        add_substrates(&words, standard);
        for (size_t c = 0; c < standard->callouts.count; c++) {
            bc_text_add(&words, "; ");
            bc_add_callout(&words, &standard->callouts.callout[c]);
        }
        bc_text_wrap_gathered(out, 2, &words);
        for (size_t s = 0; report->stacks && s < standard->stacks; s++) {
            bc_add_stack(&words, &standard->stack[s]);
            bc_text_wrap_gathered(out, 4, &words);
        }
    }
}

static void percent_cell(bc_table *table, size_t column, double share)
{
    if (isfinite(share))
        bc_table_cell(table, column, "%.1f", 100.0 * share);
    else
        bc_table_cell(table, column, "?");
}

static void states_text(const bc_standards_report *report, bc_text *out)
{
    static const char *const heads[] = {"coating", "substrate", "layers", "used", "yield %", "when added", ""};
    bc_table table = {.columns = 7, .right = {false, false, true, true, true, true, false}, .indent = 2};
    bc_table_row(&table);
    for (size_t column = 0; column < table.columns; column++)
        bc_table_cell(&table, column, "%s", heads[column]);
    for (size_t i = 0; i < report->states; i++) {
        const bc_standard_state *state = &report->state[i];
        const bc_stack *stack = &state->standard->stack[state->stack];
        char used[BC_PRINTED_SIZE];
        bc_print_used(used, state->limit_used);
        bc_table_row(&table);
        bc_table_cell(&table, 0, "%s", state->standard->name);
        bc_table_cell(&table, 1, "%s", stack->substrate.name);
        bc_table_cell(&table, 2, "%zu", stack->layers);
        bc_table_cell(&table, 3, "%s", used);
        percent_cell(&table, 4, state->yield);
        percent_cell(&table, 5, state->yield_when_added);
        bc_table_cell(&table, 6, "%s",
                      state->pass               ? ""
                      : state->limit_used > 1.0 ? "callouts not met"
                                                : "too few runs");
    }
    bc_table_write(&table, out);
}

bc_status bc_report_standards_text(const bc_standards_report *report, bc_text *out, bc_error *error)
{
    size_t passed = 0;
    bc_text words = {0};
    heading(report, out);
    if (report->states == 0) {
        list_text(report, out);
        return bc_text_end(out, error);
    }
    for (size_t i = 0; i < report->states; i++)
        passed += report->state[i].pass;
    states_text(report, out);
    bc_text_add(&words, "%zu of %zu stacks meet what they are sold by", passed, report->states);
    if (report->process_path == NULL)
        bc_text_add(&words, " on paper; without a process no runs were simulated.");
    else
        bc_text_add(&words, ", with %g of 100 runs or more where the yield is known.", 100.0 * report->yield);
    bc_text_wrap_gathered(out, 0, &words);
    return bc_text_end(out, error);
}

static const bc_standard_state *state_of(const bc_standards_report *report, const bc_standard *standard, size_t stack)
{
    for (size_t i = 0; i < report->states; i++)
        if (report->state[i].standard == standard && report->state[i].stack == stack)
            return &report->state[i];
    return NULL;
}

static void stack_json(const bc_standards_report *report, const bc_standard *standard, size_t s, cJSON *array,
                       bc_json *json)
{
    const bc_stack *stack = &standard->stack[s];
    const bc_standard_state *state = state_of(report, standard, s);
    cJSON *row = bc_json_object(json, array, NULL), *layers;
    bc_json_string(json, row, "substrate", stack->substrate.name);
    bc_json_number(json, row, "total_nm", bc_stack_total_nm(stack), 15);
    layers = bc_json_array(json, row, "stack");
    for (size_t j = stack->layers; j-- > 0;) {
        cJSON *layer = bc_json_object(json, layers, NULL);
        bc_json_string(json, layer, "material", stack->layer[j].material.name);
        bc_json_number(json, layer, "thickness_nm", stack->layer[j].thickness_nm, 15);
        bc_gradient_json(&stack->layer[j], json, layer);
    }
    bc_json_number(json, row, "limit_used", state == NULL ? NAN : state->limit_used, 12);
    bc_json_number(json, row, "yield_percent", state == NULL ? NAN : 100.0 * state->yield, 12);
    bc_json_number(json, row, "yield_low_percent", state == NULL ? NAN : 100.0 * state->yield_low, 12);
    bc_json_number(json, row, "yield_high_percent", state == NULL ? NAN : 100.0 * state->yield_high, 12);
    bc_json_number(json, row, "yield_when_added_percent", state == NULL ? NAN : 100.0 * state->yield_when_added, 12);
    if (state != NULL)
        bc_json_bool(json, row, "pass", state->pass);
}

bc_status bc_report_standards_json(const bc_standards_report *report, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *array;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "folder", report->folder);
    bc_json_string(&json, json.root, "process_file", report->process_path);
    array = bc_json_array(&json, json.root, "standards");
    for (size_t i = 0; i < report->standards->count; i++) {
        const bc_standard *standard = &report->standards->standard[i];
        cJSON *row = bc_json_object(&json, array, NULL), *callouts, *stacks;
        bc_json_string(&json, row, "name", standard->name);
        callouts = bc_json_array(&json, row, "callouts");
        for (size_t c = 0; c < standard->callouts.count; c++) {
            bc_text words = {0};
            bc_add_callout(&words, &standard->callouts.callout[c]);
            json.failed = json.failed || words.failed;
            bc_json_string(&json, callouts, NULL, words.data);
            bc_text_clear(&words);
        }
        stacks = bc_json_array(&json, row, "stacks");
        for (size_t s = 0; s < standard->stacks; s++)
            stack_json(report, standard, s, stacks, &json);
    }
    return bc_json_close(&json, out, error);
}
