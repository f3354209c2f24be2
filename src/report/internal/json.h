/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REPORT_JSON_H
#define BLOOMCOAT_REPORT_JSON_H
/*
 * JSON by cJSON. Every function takes NULL for an object that could not be made, and remembers the failure in `failed`
 * of the writer, so that a report builds its tree without a ladder of checks.
 */
#include "text.h"
#include <cjson/cJSON.h>

typedef struct bc_json {
    cJSON *root;
    bool failed;
} bc_json;

void bc_json_open(bc_json *json);
cJSON *bc_json_object(bc_json *json, cJSON *parent, const char *name); /* name NULL: appended to an array */
cJSON *bc_json_array(bc_json *json, cJSON *parent, const char *name);
void bc_json_string(bc_json *json, cJSON *parent, const char *name, const char *value); /* NULL becomes null */
void bc_json_bool(bc_json *json, cJSON *parent, const char *name, bool value);
/* At `digits` significant digits; null when not finite. */
void bc_json_number(bc_json *json, cJSON *parent, const char *name, double value, int digits);
/* An array of `count` numbers, each times `scale`, at 12 digits. */
void bc_json_numbers(bc_json *json, cJSON *parent, const char *name, size_t count, const double *value, double scale);
/* The fields NAME, NAME_low and NAME_high, each times `times`. */
void bc_json_interval(const bc_interval *interval, double times, const char *name, cJSON *into, bc_json *json);
/* A value of a callout: NAME_percent, null for a colour, which has NAME in its own units instead. */
void bc_amount_json(bc_json *json, cJSON *parent, const char *name, const bc_callout *callout, double value);
/* Of a colour, the target of a*, b*, x or y (null for chroma), illuminant and observer_deg; of an
 * ellipse also the ellipse. */
void bc_colour_of_json(bc_json *json, cJSON *parent, const bc_callout *callout);
/* Write the tree and a newline, and release it. */
bc_status bc_json_close(bc_json *json, bc_text *out, bc_error *error);

#endif
