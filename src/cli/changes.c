/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "changes.h"
#include "escaped.h"
#include "number.h"
#include "output.h"
#include "text.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define THICKEST 1e6 /* nm, as in a stack file */

/* One change as it was written: the layer's number, and what follows it. */
typedef struct change {
    const char *option, *value;
    size_t layer; /* in memory: 0 is the outer one */
    const char *rest;
} change;

/* "2=..." or "2+1%": a layer of the stack; `more`: one beyond the last will do. */
static bc_status read_layer(const cli_session *session, bool more, const char *expected, change *c, bc_error *error)
{
    const size_t layers = session->stack.layers, most = layers + more;
    char *end;
    const unsigned long number = strtoul(c->value, &end, 10);
    char remark[80];
    if (end == c->value || c->value[0] < '0' || c->value[0] > '9')
        return cli_fail_value(error, c->option, c->value, "", expected);
    if (number < 1 || number > most) {
        snprintf(remark, sizeof remark, ", but the stack has %zu layer%s", layers, layers == 1 ? "" : "s");
        return cli_fail_value(error, c->option, c->value, remark, expected);
    }
    c->layer = layers - number; /* for a layer beyond the last: wraps, and is not used */
    c->rest = end;
    return BC_OK;
}

static bc_status check_thickness(const change *c, double nm, const char *expected, bc_error *error)
{
    if (nm > 0.0 && nm <= THICKEST)
        return BC_OK;
    return cli_fail_value(error, c->option, c->value, ", which leaves no layer above 0 and at most 1000000 nm",
                          expected);
}

static bc_status set(cli_session *session, change *c, bc_error *error)
{
    static const char expected[] = "a layer and its thickness in nm: 2=110, 2+3, 2-3, or 2+1% of it";
    bc_status status = read_layer(session, false, expected, c, error);
    char number[64];
    const char *percent;
    double value, nm;
    if (status != BC_OK)
        return status;
    percent = strchr(c->rest, '%');
    if (strchr("=+-", c->rest[0]) == NULL || c->rest[0] == '\0' || strlen(c->rest) >= sizeof number ||
        (percent != NULL && (percent[1] != '\0' || c->rest[0] == '=')))
        return cli_fail_value(error, c->option, c->value, "", expected);
    snprintf(number, sizeof number, "%.*s", (int)strcspn(c->rest + 1, "%"), c->rest + 1);
    if (strchr("0123456789.", number[0]) == NULL || bc_number_parse(number, 0, &value) != BC_NUMBER_OK)
        return cli_fail_value(error, c->option, c->value, "", expected);
    nm = session->stack.layer[c->layer].thickness_nm;
    if (percent != NULL)
        value *= 0.01 * nm;
    nm = c->rest[0] == '=' ? value : c->rest[0] == '+' ? nm + value : nm - value;
    status = check_thickness(c, nm, expected, error);
    if (status == BC_OK)
        session->stack.layer[c->layer].thickness_nm = nm;
    return status;
}

static bc_status scale(cli_session *session, change *c, bc_error *error)
{
    static const char expected[] =
        "a factor from 0.01 to 100: 1.02 for all layers, MgF2=0.99 for those of one material";
    const char *sign = strrchr(c->value, '=');
    const size_t length = sign == NULL ? 0 : (size_t)(sign - c->value);
    bool any = false;
    double factor;
    bc_status status = BC_OK;
    if (bc_number_parse(sign == NULL ? c->value : sign + 1, 0, &factor) != BC_NUMBER_OK || factor < 0.01 ||
        factor > 100.0)
        return cli_fail_value(error, c->option, c->value, "", expected);
    for (size_t j = 0; status == BC_OK && j < session->stack.layers; j++) {
        bc_layer *layer = &session->stack.layer[j];
        if (sign != NULL &&
            (strlen(layer->material.name) != length || memcmp(layer->material.name, c->value, length) != 0))
            continue;
        any = true;
        status = check_thickness(c, factor * layer->thickness_nm, expected, error);
        layer->thickness_nm *= factor;
    }
    if (status == BC_OK && !any)
        return cli_fail_value(error, c->option, c->value, ", and no layer is made of it", "a material of the stack");
    return status;
}

static bc_status find(cli_session *session, const change *c, const char *name, bc_medium *medium, bc_error *error)
{
    char where[64];
    bc_status status;
    snprintf(where, sizeof where, "--%s", c->option);
    status = bc_medium_find(session->materials, name, where, medium, error);
    return status == BC_OK ? cli_note_medium(session, medium, error) : status;
}

static bc_status replace(cli_session *session, change *c, bc_error *error)
{
    static const char expected[] = "a layer and its material: 2=HfO2";
    bc_status status = read_layer(session, false, expected, c, error);
    if (status == BC_OK && (c->rest[0] != '=' || c->rest[1] == '\0'))
        status = cli_fail_value(error, c->option, c->value, "", expected);
    return status == BC_OK ? find(session, c, c->rest + 1, &session->stack.layer[c->layer].material, error) : status;
}

static bc_status insert(cli_session *session, change *c, bc_error *error)
{
    static const char expected[] = "the number it gets, its material and its thickness in nm: 2=SiO2:20";
    bc_stack *stack = &session->stack;
    const char *colon;
    char name[BC_NAME_SIZE];
    bc_layer fresh = {0}, *layer;
    size_t place;
    bc_status status = read_layer(session, true, expected, c, error);
    if (status != BC_OK)
        return status;
    colon = strrchr(c->rest, ':');
    if (c->rest[0] != '=' || colon == NULL || colon == c->rest + 1 || (size_t)(colon - c->rest) > sizeof name ||
        bc_number_parse(colon + 1, 0, &fresh.thickness_nm) != BC_NUMBER_OK)
        return cli_fail_value(error, c->option, c->value, "", expected);
    snprintf(name, sizeof name, "%.*s", (int)(colon - c->rest - 1), c->rest + 1);
    status = check_thickness(c, fresh.thickness_nm, expected, error);
    if (status == BC_OK)
        status = find(session, c, name, &fresh.material, error);
    if (status != BC_OK)
        return status;
    layer = realloc(stack->layer, (stack->layers + 1) * sizeof *layer);
    if (layer == NULL)
        return bc_fail_memory(error);
    stack->layer = layer;
    place = c->layer + 1; /* layer number N has N - 1 below it: it comes to lie before what was N */
    memmove(layer + place + 1, layer + place, (stack->layers - place) * sizeof *layer);
    layer[place] = fresh;
    stack->layers++;
    return BC_OK;
}

static bc_status take_away(cli_session *session, change *c, bc_error *error)
{
    static const char expected[] = "the number of a layer";
    bc_stack *stack = &session->stack;
    bc_status status = read_layer(session, false, expected, c, error);
    if (status == BC_OK && c->rest[0] != '\0')
        status = cli_fail_value(error, c->option, c->value, "", expected);
    if (status != BC_OK)
        return status;
    memmove(stack->layer + c->layer, stack->layer + c->layer + 1,
            (stack->layers - c->layer - 1) * sizeof *stack->layer);
    stack->layers--;
    return BC_OK;
}

static const struct {
    const char *option;
    bc_status (*apply)(cli_session *session, change *c, bc_error *error);
} kinds[] = {{"set", set}, {"scale", scale}, {"replace", replace}, {"insert", insert}, {"remove", take_away}};

/* The stack is no longer what the file says: every report names the changes beside its path. */
static bc_status name_changes(cli_session *session, const bc_text *words, bc_error *error)
{
    bc_text name = {0};
    bc_text_add(&name, "%s (changed:%s)", session->stack_path, words->data);
    free(session->changed_name);
    session->changed_name = name.data;
    if (name.failed)
        return bc_fail_memory(error);
    session->stack_path = name.data;
    session->stack.sha256[0] = '\0';
    return BC_OK;
}

bc_status cli_change_stack(cli_session *session, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    bc_text words = {0};
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < arguments->count; i++) {
        change c = {arguments->given[i].option->name, arguments->given[i].value, 0, NULL};
        for (size_t k = 0; status == BC_OK && k < sizeof kinds / sizeof *kinds; k++) {
            if (strcmp(c.option, kinds[k].option) != 0)
                continue;
            status = kinds[k].apply(session, &c, error);
            bc_text_add(&words, " --%s ", c.option);
            bc_text_add_plain(&words, c.value);
        }
    }
    if (status == BC_OK && words.failed)
        status = bc_fail_memory(error);
    if (status == BC_OK && words.length > 0)
        status = name_changes(session, &words, error);
    if (status == BC_OK && words.length == 0 && cli_has(arguments, "changed-stack"))
        status = bc_fail(error, BC_ERROR_INPUT,
                         "--changed-stack: found no change; expected --set, --scale, --replace, --insert or --remove");
    bc_text_clear(&words);
    return status;
}

bc_status cli_write_changed(const cli_session *session, bc_error *error)
{
    const char *path = cli_value(session->arguments, "changed-stack");
    bc_text text = {0}, comment = {0};
    bc_status status;
    if (path == NULL)
        return BC_OK;
    bc_text_add(&comment, "bloomcoat %s: ", session->arguments->command->name);
    bc_text_add_plain(&comment, session->stack_path);
    status = bc_text_end(&comment, error);
    if (status == BC_OK)
        status = bc_report_stack_csv(&session->stack, comment.data, &text, error);
    if (status == BC_OK)
        status = cli_output_write(path, &text, error);
    bc_text_clear(&comment);
    bc_text_clear(&text);
    return status;
}
