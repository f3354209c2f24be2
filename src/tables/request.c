/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "nearest.h"
#include <bloomcoat/request.h>
#include <stdlib.h>
#include <string.h>

enum { KEY, VALUE, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {{"key", true}, {"value", true}};
static const bc_csv_schema schema = {"key,value", COLUMNS, columns};

/* The first `COMMON` after `surface` are of the whole request: one page, one number, one quantity. */
#define COMMON 7
static const char *const keys[] = {"surface",
                                   "request_number",
                                   "quote_number",
                                   "date",
                                   "validity_days",
                                   "title",
                                   "part_number",
                                   "quantity",
                                   "callout",
                                   "callout_name",
                                   "callout_substrate",
                                   "substrate",
                                   "materials",
                                   "incident",
                                   "part_diameter_mm",
                                   "both_sides",
                                   "one_run",
                                   "failed_part",
                                   "confidence_percent",
                                   "prefer",
                                   "yield_percent",
                                   "max_process_c",
                                   "max_layers",
                                   "minimum_nm",
                                   "max_total_nm",
                                   "seed",
                                   "effort",
                                   "back",
                                   "substrate_mm",
                                   "radius_mm",
                                   "shape",
                                   "clear_aperture_mm",
                                   "source_distance_mm",
                                   "source",
                                   "slope_exponent",
                                   "thickness_profile",
                                   "angle_reference",
                                   "axial_angle",
                                   "zones",
                                   NULL};
#define KEYS (sizeof keys / sizeof *keys - 1)

const char *const *bc_request_keys(void)
{
    return keys;
}

bool bc_request_is_path(const char *path)
{
    static const char ending[] = ".request.csv";
    const size_t length = strlen(path), last = sizeof ending - 1;
    return length > last && strcmp(path + length - last, ending) == 0;
}

bc_status bc_request_add(bc_request *request, const char *key, const char *value, size_t surface, long line,
                         bc_error *error)
{
    bc_request_entry *longer = realloc(request->entry, (request->entries + 1) * sizeof *longer);
    char *copy = strdup(value);
    if (longer != NULL)
        request->entry = longer;
    if (longer == NULL || copy == NULL) {
        free(copy);
        return bc_fail_memory(error);
    }
    request->entry[request->entries++] = (bc_request_entry){key, copy, surface, line};
    return BC_OK;
}

static bool repeats(const char *key)
{
    return strcmp(key, "substrate") == 0 || strncmp(key, "callout", 7) == 0;
}

/* A list of them all would be too long for a sentence. */
static bc_status find_key(const bc_csv *csv, size_t row, size_t *key, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, KEY), *near[1];
    for (*key = 0; *key < KEYS; (*key)++)
        if (strcmp(keys[*key], text) == 0)
            return BC_OK;
    if (bc_nearest(text, KEYS, keys, 1, near) > 0)
        return bc_csv_fail(csv, row, KEY, error, "a key of a request; did you mean '%s'?", near[0]);
    return bc_csv_fail(csv, row, KEY, error, "a key of a request, as 'man 5 bloomcoat-request' lists them");
}

static bc_status check(const bc_csv *csv, size_t row, size_t key, const bc_request *request, size_t surface,
                       bc_error *error)
{
    static const bc_csv_range whole = {1, false, 1e9, 0, "a whole number of parts from 1 to 1000000000"};
    const char *value = bc_csv_text(csv, row, VALUE);
    double number;
    if (value[0] == '\0')
        return bc_csv_fail(csv, row, VALUE, error, "a value for %s", keys[key]);
    if (surface > 0 && key > 0 && key <= COMMON)
        return bc_csv_fail(csv, row, KEY, error, "%s before the first surface, for the whole request", keys[key]);
    for (size_t i = 0; i < request->entries && !repeats(keys[key]); i++) {
        const bc_request_entry *entry = &request->entry[i];
        if (entry->key == keys[key] && key == 0 && strcmp(entry->value, value) == 0)
            return bc_csv_fail(csv, row, VALUE, error, "a name for each surface; line %ld has this one", entry->line);
        if (entry->key == keys[key] && key > 0 && entry->surface == surface)
            return bc_csv_fail(csv, row, KEY, error, "each key once; line %ld has it already", entry->line);
    }
    if (strcmp(keys[key], "quantity") != 0)
        return BC_OK;
    if (strspn(value, "0123456789") != strlen(value))
        return bc_csv_fail(csv, row, VALUE, error, "%s", whole.expected);
    return bc_csv_number(csv, row, VALUE, &whole, &number, error);
}

static bc_status read_rows(const bc_csv *csv, bc_request *request, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++) {
        size_t key = 0;
        status = find_key(csv, row, &key, error);
        if (status == BC_OK && key == 0 && request->surfaces == BC_REQUEST_SURFACES)
            status = bc_csv_fail(csv, row, KEY, error, "at most %d surfaces", BC_REQUEST_SURFACES);
        if (status == BC_OK)
            status = check(csv, row, key, request, request->surfaces, error);
        request->surfaces += status == BC_OK && key == 0;
        if (status == BC_OK)
            status = bc_request_add(request, keys[key], bc_csv_text(csv, row, VALUE), request->surfaces, csv->line[row],
                                    error);
    }
    return status;
}

bc_status bc_request_read(const char *path, bc_request *request, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status;
    *request = (bc_request){0};
    status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    request->path = strdup(csv->path);
    status = request->path == NULL ? bc_fail_memory(error) : read_rows(csv, request, error);
    memcpy(request->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        bc_request_clear(request);
    return status;
}

void bc_request_clear(bc_request *request)
{
    for (size_t i = 0; i < request->entries; i++)
        free(request->entry[i].value);
    free(request->entry);
    free(request->path);
    *request = (bc_request){0};
}
