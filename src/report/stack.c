/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include <string.h>

static bool any_fixed(const bc_stack *stack)
{
    for (size_t layer = 0; layer < stack->layers; layer++)
        if (stack->layer[layer].fixed)
            return true;
    return false;
}

static bool any_gradient(const bc_stack *stack)
{
    for (size_t layer = 0; layer < stack->layers; layer++)
        if (bc_dispersion_states_gradient(stack->layer[layer].material.dispersion))
            return true;
    return false;
}

static void add_end(bc_text *out, const char *role, const bc_medium *medium, size_t more_columns)
{
    bc_text_add(out, "%s,%s,%s\n", role, medium->name, more_columns == 0 ? "" : more_columns == 1 ? "," : ",,");
}

static void add_gradient(bc_text *out, const bc_dispersion *layer)
{
    char percent[BC_NUMBER_SIZE] = "";
    if (bc_dispersion_states_gradient(layer))
        bc_print_shifted(percent, bc_dispersion_gradient(layer), 2);
    bc_text_add(out, ",%s", percent);
}

/* `substrate`: the glass to write, which may be another than the stack's own. */
static void add_stack(bc_text *out, const bc_stack *stack, const bc_medium *substrate)
{
    const bool fixed_column = any_fixed(stack), gradient_column = any_gradient(stack);
    const size_t more_columns = (fixed_column ? 1U : 0U) + (gradient_column ? 1U : 0U);
    const bool up = stack->from_substrate;
    bc_text_add(out, "role,material,thickness_nm%s%s\n", fixed_column ? ",fixed" : "",
                gradient_column ? ",index_gradient_percent" : "");
    add_end(out, up ? "substrate" : "incident", up ? substrate : &stack->incident, more_columns);
    for (size_t i = 0; i < stack->layers; i++) {
        const bc_layer *layer = &stack->layer[up ? stack->layers - 1 - i : i];
        char thickness[BC_PRINTED_SIZE];
        bc_print_thickness(thickness, layer->thickness_nm);
        bc_text_add(out, "layer,%s,%s%s%s", layer->material.name, thickness, fixed_column ? "," : "",
                    fixed_column && layer->fixed ? "yes" : "");
        if (gradient_column)
            add_gradient(out, layer->material.dispersion);
        bc_text_add(out, "\n");
    }
    add_end(out, up ? "incident" : "substrate", up ? &stack->incident : substrate, more_columns);
}

/* A line for each path, which may be long: on a terminal nothing else is pushed out of sight. */
static void add_path(bc_text *out, const char *what, const char *path)
{
    if (path == NULL)
        return;
    bc_text_add(out, "# %s ", what);
    bc_text_add_plain(out, path);
    bc_text_add(out, "\n");
}

static void add_origin(bc_text *out, const bc_design_report *report)
{
    bc_text_add(out, "# bloomcoat %s", report->command);
    if (strcmp(report->command, "draft") == 0)
        bc_text_add(out, ", seed %lu, effort %g", report->seed, report->effort);
    bc_text_add(out, "\n");
    add_path(out, "callouts", report->check.callouts_path);
    add_path(out, "start", report->check.stack_path);
}

static void add_glasses(bc_text *out, const bc_check_result *result)
{
    const bc_medium *glass = bc_next_glass(result, NULL);
    if (bc_next_glass(result, glass) == NULL)
        return;
    bc_text_add(out, "# held against the callouts on each of:");
    for (; glass != NULL; glass = bc_next_glass(result, glass))
        bc_text_add(out, " %s", glass->name);
    bc_text_add(out, "\n");
}

/* A thickness means nothing on a curved surface until it is said where. */
static void add_surface(bc_text *out, const bc_check_report *check)
{
    if (check->curved != NULL)
        bc_text_add(out,
                    "# for a %s surface of radius %g mm out to a diameter of %g mm;\n"
                    "# thicknesses are those at its vertex\n",
                    check->curved->concave ? "concave" : "convex", check->curved->radius_mm,
                    check->curved->clear_aperture_mm);
}

bc_status bc_report_design_csv(const bc_design_report *report, bc_text *out, bc_error *error)
{
    const bc_check_result *result = report->check.result;
    char used[BC_PRINTED_SIZE];
    bc_print_used_percent(used, result->limit_used);
    add_origin(out, report);
    if (report->stop == BC_STOP_INTERRUPTED)
        bc_text_add(out, "# interrupted: the best so far, not the best there is\n");
    bc_text_add(out, "# uses %s %% of the limit, decided by ", used);
    bc_text_add_plain(out, result->finding[result->decisive].callout->name);
    bc_text_add(out, "; ");
    bc_add_layers(out, report->check.stack->layers);
    bc_text_add(out, ", %.3f nm\n", bc_stack_total_nm(report->check.stack));
    add_glasses(out, result);
    add_surface(out, &report->check);
    bc_text_add(out, "# Predicted, not measured. Durability and laser damage need their own tests.\n");
    add_stack(out, report->check.stack, bc_next_glass(result, NULL));
    return bc_text_end(out, error);
}

bc_status bc_report_stack_csv(const bc_stack *stack, const char *comments, bc_text *out, bc_error *error)
{
    bc_text_add_comments(out, comments);
    add_stack(out, stack, &stack->substrate);
    return bc_text_end(out, error);
}

static double gradient_percent(const bc_layer *layer)
{
    char percent[BC_NUMBER_SIZE];
    bc_print_shifted(percent, bc_dispersion_gradient(layer->material.dispersion), 2);
    return bc_number_read(percent, NULL);
}

void bc_gradients_text(const bc_stack *stack, bc_text *out)
{
    bc_text words = {0};
    for (size_t number = 1; number <= stack->layers; number++) {
        const bc_layer *layer = &stack->layer[bc_layer_index(stack->layers, number)];
        if (bc_dispersion_gradient(layer->material.dispersion) != 0.0)
            bc_text_add(&words, "%s layer %zu (%s) %+g %%", words.length == 0 ? "" : ",", number, layer->material.name,
                        gradient_percent(layer));
    }
    if (words.length > 0) {
        bc_text_add(&words, ".");
        bc_text_add(out, "Index gradient, outer side against substrate side:%s\n", words.data);
    }
    bc_text_clear(&words);
}

void bc_gradient_json(const bc_layer *layer, bc_json *json, cJSON *row)
{
    bc_json_number(json, row, "index_gradient_percent", gradient_percent(layer), 15);
}

void bc_add_stack(bc_text *words, const bc_stack *stack)
{
    if (stack->layers == 0) {
        bc_text_add(words, "No layers: %s uncoated.", stack->substrate.name);
        return;
    }
    bc_text_add(words, "From the substrate:");
    for (size_t j = stack->layers; j-- > 0;)
        bc_text_add(words, "%s %s %.3f", j + 1 == stack->layers ? "" : ",", stack->layer[j].material.name,
                    stack->layer[j].thickness_nm);
    bc_text_add(words, " nm");
    for (size_t j = stack->layers; j-- > 0;)
        if (bc_dispersion_gradient(stack->layer[j].material.dispersion) != 0.0)
            bc_text_add(words, ", layer %zu with an index gradient of %+g %%", bc_layer_number(stack->layers, j),
                        gradient_percent(&stack->layer[j]));
    bc_text_add(words, "; on %s", stack->substrate.name);
    if (strcmp(stack->incident.name, "air") != 0)
        bc_text_add(words, ", light from %s", stack->incident.name);
    bc_text_add(words, ".");
}
