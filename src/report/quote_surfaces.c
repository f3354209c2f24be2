/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The quotes of several surfaces of one request.
 */
#include "internal/quote_words.h"

bc_status bc_report_quotes_text(size_t count, const bc_quote_surface *surface, bc_text *out, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t s = 0; status == BC_OK && s < count; s++) {
        if (count > 1) {
            bc_text_add(out, "%sSurface ", s == 0 ? "" : "\n");
            bc_text_add_plain(out, surface[s].name);
            bc_text_add(out, "\n\n");
        }
        status = bc_report_quote_text(surface[s].report, out, error);
    }
    return status;
}

bc_status bc_report_quotes_json(size_t count, const bc_quote_surface *surface, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *array, *root;
    if (count == 1)
        return bc_report_quote_json(surface[0].report, out, error);
    bc_json_open(&json);
    root = json.root;
    array = bc_json_array(&json, root, "surfaces");
    for (size_t s = 0; s < count; s++) {
        json.root = bc_json_object(&json, array, NULL);
        bc_json_string(&json, json.root, "name", surface[s].name);
        bc_quote_json(surface[s].report, &json);
    }
    json.root = root;
    return bc_json_close(&json, out, error);
}
