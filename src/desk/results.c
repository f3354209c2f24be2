/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "results.h"
#include "text.h"
#include <stdio.h>
#include <string.h>

void desk_results_open(desk_results *results)
{
    *results = (desk_results){0};
    pthread_mutex_init(&results->lock, NULL);
}

static void drop(desk_results *results, size_t which)
{
    results->bytes -= results->item[which].text.length;
    bc_text_clear(&results->item[which].text);
    results->item[which] = (desk_result){0};
}

void desk_results_clear(desk_results *results)
{
    for (size_t i = 0; i < DESK_RESULTS; i++)
        drop(results, i);
    pthread_mutex_destroy(&results->lock);
}

void desk_results_keep(desk_results *results, const char *id, const char *name, bc_text *text)
{
    desk_result *item;
    pthread_mutex_lock(&results->lock);
    item = &results->item[results->next];
    drop(results, results->next);
    results->next = (results->next + 1) % DESK_RESULTS;
    for (size_t i = 0; i < DESK_RESULTS && results->bytes + text->length > DESK_RESULTS_MAX; i++)
        drop(results, (results->next + i) % DESK_RESULTS);
    snprintf(item->id, sizeof item->id, "%s", id);
    snprintf(item->name, sizeof item->name, "%s", name);
    item->text = *text;
    results->bytes += text->length;
    *text = (bc_text){0};
    pthread_mutex_unlock(&results->lock);
}

bool desk_results_find(desk_results *results, const char *id, const char *name, bc_text *out)
{
    bool found = false;
    pthread_mutex_lock(&results->lock);
    for (size_t i = 0; i < DESK_RESULTS && !found; i++) {
        const desk_result *item = &results->item[i];
        found = item->id[0] != '\0' && strcmp(item->id, id) == 0 && strcmp(item->name, name) == 0;
        if (found)
            bc_text_add_bytes(out, item->text.data == NULL ? "" : item->text.data, item->text.length);
    }
    pthread_mutex_unlock(&results->lock);
    return found && !out->failed;
}
