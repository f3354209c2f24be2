/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The words of a drawing while they are typed: each note understood, or the question about it.
 */
#include "json.h"
#include "live.h"
#include <bloomcoat/callout_words.h>
#include <stdlib.h>
#include <string.h>

#define NOTE_ENDS ";\r\n"

/* Each of them in words that are read back to the same. */
static void add_words(cJSON *row, const bc_callouts *callouts, bc_json *json)
{
    cJSON *list = bc_json_array(json, row, "words");
    for (size_t i = 0; i < callouts->count; i++) {
        bc_text words = {0};
        cJSON *item = NULL;
        if (bc_report_callout_words(&callouts->callout[i], &words, NULL) == BC_OK)
            item = cJSON_CreateString(words.data);
        json->failed = json->failed || item == NULL || !cJSON_AddItemToArray(list, item);
        bc_text_clear(&words);
    }
}

static void add_note(cJSON *notes, const char *note, bc_json *json)
{
    bc_callouts callouts = {0};
    bc_error problem = {0};
    bc_text text = {0};
    unsigned assumptions = 0;
    cJSON *row = bc_json_object(json, notes, NULL), *understood = NULL;
    bc_status status = bc_callouts_parse(note, &callouts, &assumptions, &problem);
    bc_json_string(json, row, "text", note);
    if (status == BC_OK) {
        status = bc_report_callouts_json(&callouts, assumptions, &text, &problem);
        understood = status == BC_OK ? cJSON_Parse(text.data) : NULL;
    }
    if (understood != NULL) {
        json->failed = !cJSON_AddItemToObject(row, "callouts", understood) || json->failed;
        add_words(row, &callouts, json);
    } else
        bc_json_string(json, row, "error", problem.message);
    bc_text_clear(&text);
    bc_callouts_clear(&callouts);
}

bc_status desk_words_understand(const cJSON *request, bc_text *out, bc_error *error)
{
    const char *words = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(request, "words"));
    bc_json json;
    cJSON *notes;
    if (words == NULL || strlen(words) >= BC_CALLOUT_WORDS_SIZE)
        return bc_fail(error, BC_ERROR_INPUT, "expected up to %d letters of callouts", BC_CALLOUT_WORDS_SIZE - 1);
    bc_json_open(&json);
    notes = bc_json_array(&json, json.root, "notes");
    while (*words != '\0') {
        size_t length;
        words += strspn(words, NOTE_ENDS " \t");
        length = strcspn(words, NOTE_ENDS);
        if (length > 0) {
            char *note = strndup(words, length);
            json.failed = json.failed || note == NULL;
            if (note != NULL)
                add_note(notes, note, &json);
            free(note);
        }
        words += length;
    }
    return bc_json_close(&json, out, error);
}
