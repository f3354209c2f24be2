/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Files that a person opens in the page, read by the readers that every command uses.
 */
#include "command.h"
#include "json.h"
#include "live.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/shop.h>
#include <bloomcoat/version.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define THICKNESS_DIGITS 15

typedef struct opened_file {
    char folder_name[DESK_NAME_SIZE];
    int folder;
    char *path; /* what the reader is given: a file in the desk's own folder */
    const char *name;
} opened_file;

static bc_status put_file(const desk_folder *home, const cJSON *request, opened_file *file, bc_error *error)
{
    const char *name = cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(request, "name"));
    const cJSON *contents = cJSON_GetObjectItemCaseSensitive(request, "contents");
    const char *text;
    size_t length;
    bc_status status;
    if (name == NULL || !cJSON_IsString(contents) || !desk_name_is_safe(name))
        return bc_fail(error, BC_ERROR_INPUT, "expected a file with a plain name");
    text = desk_file_contents(contents, &length);
    file->name = name;
    status = desk_job_folder_make(home, file->folder_name, &file->folder, error);
    if (status == BC_OK)
        status = desk_file_write(file->folder, name, text, length, error);
    if (status == BC_OK && asprintf(&file->path, "%s/%s/%s", home->path, file->folder_name, name) < 0) {
        file->path = NULL;
        status = bc_fail_memory(error);
    }
    return status;
}

/* The message speaks of the file by the name that the person gave it. */
static bc_status name_plainly(const opened_file *file, bc_status status, bc_error *error)
{
    const bc_error inner = *error;
    const char *at = file->path == NULL ? NULL : strstr(inner.message, file->path);
    if (status != BC_ERROR_INPUT || at == NULL)
        return status;
    return bc_fail(error, status, "%.*s%s%s", (int)(at - inner.message), inner.message, file->name,
                   at + strlen(file->path));
}

static bc_status write_stack(const bc_stack *stack, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *layers;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "incident", stack->incident.name);
    bc_json_string(&json, json.root, "substrate", stack->substrate.name);
    layers = bc_json_array(&json, json.root, "layers");
    for (size_t number = 1; number <= stack->layers; number++) {
        const bc_layer *layer = &stack->layer[bc_layer_index(stack->layers, number)];
        cJSON *row = bc_json_object(&json, layers, NULL);
        bc_json_string(&json, row, "material", layer->material.name);
        bc_json_number(&json, row, "thickness_nm", layer->thickness_nm, THICKNESS_DIGITS);
        bc_json_number(&json, row, "index_gradient_percent", 100.0 * bc_dispersion_gradient(layer->material.dispersion),
                       THICKNESS_DIGITS);
        bc_json_bool(&json, row, "fixed", layer->fixed);
    }
    return bc_json_close(&json, out, error);
}

static bc_status write_words(const bc_callouts *callouts, bc_text *out, bc_error *error)
{
    bc_text words = {0};
    bc_json json;
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < callouts->count; i++) {
        if (i > 0)
            bc_text_add(&words, "\n");
        status = bc_report_callout_words(&callouts->callout[i], &words, error);
    }
    if (status == BC_OK)
        status = bc_text_end(&words, error);
    if (status == BC_OK) {
        bc_json_open(&json);
        bc_json_string(&json, json.root, "words", words.data);
        status = bc_json_close(&json, out, error);
    }
    bc_text_clear(&words);
    return status;
}

static bc_status read_file(desk_live *live, const char *kind, const opened_file *file, bc_text *out, bc_error *error)
{
    bc_stack stack = {0};
    bc_callouts callouts = {0};
    bc_status status;
    if (kind != NULL && strcmp(kind, "stack") == 0) {
        status = bc_stack_read(file->path, live->open->materials, &stack, error);
        if (status == BC_OK)
            status = write_stack(&stack, out, error);
    } else if (kind != NULL && strcmp(kind, "callouts") == 0) {
        status = bc_callouts_read(file->path, live->open->materials, &callouts, error);
        if (status == BC_OK)
            status = write_words(&callouts, out, error);
    } else {
        status = bc_fail(error, BC_ERROR_INPUT, "expected a stack or callouts");
    }
    bc_stack_clear(&stack);
    bc_callouts_clear(&callouts);
    return status;
}

bc_status desk_live_read(desk_live *live, const cJSON *request, bc_text *out, bc_error *error)
{
    opened_file file = {.folder = -1};
    bc_status status = put_file(live->home, request, &file, error);
    pthread_mutex_lock(&live->lock);
    if (status == BC_OK)
        status = desk_live_materials(live, error);
    if (status == BC_OK)
        status =
            read_file(live, cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(request, "kind")), &file, out, error);
    pthread_mutex_unlock(&live->lock);
    if (status != BC_OK)
        name_plainly(&file, status, error);
    desk_job_folder_remove(live->home, file.folder_name, file.folder);
    free(file.path);
    return status;
}

static void add_names(bc_json *json, const char *name, size_t count, const char *const *value)
{
    cJSON *list = bc_json_array(json, json->root, name);
    for (size_t i = 0; i < count; i++) {
        cJSON *item = cJSON_CreateString(value[i]);
        json->failed = json->failed || item == NULL || !cJSON_AddItemToArray(list, item);
    }
}

static bool has_process(const desk_options *options)
{
    bc_shop shop;
    bool has;
    if (options->shop == NULL || bc_shop_read(options->shop, &shop, NULL) != BC_OK)
        return false;
    has = shop.process != NULL;
    bc_shop_clear(&shop);
    return has;
}

bc_status desk_live_about(desk_live *live, bc_text *out, bc_error *error)
{
    const char *const *name = NULL;
    size_t count = 0;
    bc_json json;
    bc_status status;
    pthread_mutex_lock(&live->lock);
    status = desk_live_materials(live, error);
    if (status == BC_OK) {
        bc_json_open(&json);
        bc_json_string(&json, json.root, "version", bc_version());
        bc_json_string(&json, json.root, "shop", live->options->shop);
        bc_json_bool(&json, json.root, "process", has_process(live->options));
        add_names(&json, "tables", live->options->tables, live->options->table);
        status = bc_materials_list(live->open->materials, &count, &name, error);
        add_names(&json, "materials", status == BC_OK ? count : 0, name);
        if (status == BC_OK)
            status = bc_materials_glasses(live->open->materials, &count, &name, error);
        add_names(&json, "glasses", status == BC_OK ? count : 0, name);
        if (status == BC_OK)
            status = bc_json_close(&json, out, error);
        else
            cJSON_Delete(json.root);
    }
    pthread_mutex_unlock(&live->lock);
    return status;
}
