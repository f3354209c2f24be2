/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/json.h"
#include "escaped.h"
#include "internal/numbers.h"
#include "number.h"
#include "print.h"
#include "utf8.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Put `item` where it belongs; it is released when it cannot be. */
static cJSON *put(bc_json *json, cJSON *parent, const char *name, cJSON *item)
{
    cJSON_bool added = 0;
    if (item != NULL && parent != NULL)
        added = name == NULL ? cJSON_AddItemToArray(parent, item) : cJSON_AddItemToObject(parent, name, item);
    if (added)
        return item;
    cJSON_Delete(item);
    json->failed = true;
    return NULL;
}

/* `value` as it reads at `digits` significant digits: cJSON then prints no more of them. */
static cJSON *number(double value, int digits)
{
    char text[BC_PRINTED_SIZE];
    if (!isfinite(value))
        return cJSON_CreateNull();
    bc_print(text, sizeof text, "%.*g", digits, value);
    return cJSON_CreateNumber(bc_number_read(text, NULL));
}

void bc_json_open(bc_json *json)
{
    json->root = cJSON_CreateObject();
    json->failed = json->root == NULL;
}

cJSON *bc_json_object(bc_json *json, cJSON *parent, const char *name)
{
    return put(json, parent, name, cJSON_CreateObject());
}

cJSON *bc_json_array(bc_json *json, cJSON *parent, const char *name)
{
    return put(json, parent, name, cJSON_CreateArray());
}

void bc_json_string(bc_json *json, cJSON *parent, const char *name, const char *value)
{
    cJSON *item = value == NULL ? cJSON_CreateNull() : cJSON_CreateString(value);
    /* A file's name may hold any byte, a JSON text only UTF-8. */
    char *at = value == NULL || item == NULL ? NULL : item->valuestring;
    while (at != NULL && *at != '\0') {
        const size_t length = bc_utf8_decode(at, strlen(at), NULL);
        if (length == 0)
            *at = '?';
        at += length == 0 ? 1 : length;
    }
    put(json, parent, name, item);
}

void bc_json_bool(bc_json *json, cJSON *parent, const char *name, bool value)
{
    put(json, parent, name, cJSON_CreateBool(value));
}

void bc_json_number(bc_json *json, cJSON *parent, const char *name, double value, int digits)
{
    put(json, parent, name, number(value, digits));
}

void bc_json_numbers(bc_json *json, cJSON *parent, const char *name, size_t count, const double *value, double scale)
{
    cJSON *array = bc_json_array(json, parent, name);
    for (size_t i = 0; i < count && !json->failed; i++)
        put(json, array, NULL, number(scale * value[i], 12));
}

/* What hides or turns round its neighbours on a screen, as JSON escapes it: the text reads back to the same. */
static void add_printed(bc_text *out, const char *printed)
{
    while (*printed != '\0') {
        const size_t plain = bc_escaped_span(printed, strlen(printed));
        char piece[BC_ESCAPED_PIECE];
        uint32_t code;
        bc_text_add_bytes(out, printed, plain);
        printed += plain;
        if (*printed == '\0')
            break;
        printed += bc_escaped_one(printed, piece, &code);
        if (code > 0xFFFF)
            bc_text_add(out, "\\u%04X\\u%04X", 0xD800 + ((unsigned)(code - 0x10000) >> 10),
                        0xDC00 + ((unsigned)(code - 0x10000) & 0x3FF));
        else
            bc_text_add(out, "\\u%04X", (unsigned)code);
    }
    bc_text_add_bytes(out, "\n", 1);
}

void bc_json_interval(const bc_interval *interval, double times, const char *name, cJSON *into, bc_json *json)
{
    char low[64], high[64];
    bc_print(low, sizeof low, "%s_low", name);
    bc_print(high, sizeof high, "%s_high", name);
    bc_json_number(json, into, name, times * interval->value, 12);
    bc_json_number(json, into, low, times * interval->low, 12);
    bc_json_number(json, into, high, times * interval->high, 12);
}

void bc_amount_json(bc_json *json, cJSON *parent, const char *name, const bc_callout *callout, double value)
{
    char percent[64];
    bc_print(percent, sizeof percent, "%s_percent", name);
    bc_json_number(json, parent, percent, callout->colour == BC_NO_COLOUR ? 100.0 * value : NAN, 12);
    if (callout->colour != BC_NO_COLOUR)
        bc_json_number(json, parent, name, 100.0 * value, 12);
}

void bc_colour_of_json(bc_json *json, cJSON *parent, const bc_callout *callout)
{
    if (callout->colour == BC_NO_COLOUR)
        return;
    bc_json_number(json, parent, "target", bc_has_target(callout) ? 100.0 * callout->target : NAN, 12);
    if (bc_callout_is_ellipse(callout)) {
        const bc_ellipse *ellipse = &callout->ellipse;
        cJSON *into = bc_json_object(json, parent, "ellipse");
        cJSON *centre = bc_json_array(json, into, "centre"), *half_axis = bc_json_array(json, into, "half_axis");
        for (int k = 0; k < 2; k++) {
            bc_json_number(json, centre, NULL, ellipse->centre[k], 12);
            bc_json_number(json, half_axis, NULL, ellipse->half_axis[k], 12);
        }
        bc_json_number(json, into, "turn_deg", bc_degrees(ellipse->turn_rad), 12);
    }
    if (callout->colour == BC_COLOUR_DIFFERENCE) {
        cJSON *into = bc_json_object(json, parent, "reference");
        bc_json_number(json, into, "L", callout->reference[0], 12);
        bc_json_number(json, into, "a", callout->reference[1], 12);
        bc_json_number(json, into, "b", callout->reference[2], 12);
    }
    bc_json_string(json, parent, "illuminant", bc_illuminant_word(callout->illuminant));
    bc_json_number(json, parent, "observer_deg", callout->observer == BC_OBSERVER_2 ? 2.0 : 10.0, 12);
}

bc_status bc_json_close(bc_json *json, bc_text *out, bc_error *error)
{
    char *printed = json->failed ? NULL : cJSON_Print(json->root);
    if (printed == NULL)
        out->failed = true;
    else
        add_printed(out, printed);
    cJSON_free(printed);
    cJSON_Delete(json->root);
    json->root = NULL;
    return bc_text_end(out, error);
}
