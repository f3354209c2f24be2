/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "constant.h"
#include "dispersion_peek.h"
#include "escaped.h"
#include "glasses.h"
#include "grow.h"
#include "materials_store.h"
#include "nearest.h"
#include "place.h"
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

bool bc_materials_has_name_letters(const char *name)
{
    size_t length = strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_+.");
    return length > 0 && name[length] == '\0' && name[0] != '.';
}

static bool is_table_name(const char *name)
{
    double n, k;
    const char *expected;
    return strlen(name) < BC_NAME_SIZE && bc_materials_has_name_letters(name) && strcmp(name, "air") != 0 &&
           bc_constant_parse(name, &n, &k, &expected) == BC_CONSTANT_NONE;
}

static void clear(bc_materials *materials)
{
    for (size_t i = 0; i < materials->names; i++)
        free(materials->name[i]);
    materials->names = 0;
}

static bc_status add_name(bc_materials *materials, const char *name, bc_error *error)
{
    char **moved = bc_grow(materials->name, &materials->name_capacity, materials->names, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    materials->name = moved;
    moved[materials->names] = strdup(name);
    if (moved[materials->names] == NULL)
        return bc_fail_memory(error);
    materials->names++;
    return BC_OK;
}

/* The name of the table that an entry of a folder is; false for anything else. */
static bool name_of(const char *entry, char name[BC_NAME_SIZE])
{
    size_t length = strlen(entry);
    if (length <= 4 || length - 4 >= BC_NAME_SIZE || strcmp(entry + length - 4, ".csv") != 0)
        return false;
    memcpy(name, entry, length - 4);
    name[length - 4] = '\0';
    return is_table_name(name);
}

typedef bc_status (*peek)(const char *path, bool *is_table, bc_error *error);

static bc_status add_entry(bc_materials *materials, const char *folder, const char *entry, peek look, bc_error *error)
{
    char name[BC_NAME_SIZE];
    char *path = NULL;
    struct stat info;
    if (!name_of(entry, name))
        return BC_OK;
    if (asprintf(&path, "%s/%s", folder, entry) < 0)
        return bc_fail_memory(error);
    bool is_table = false;
    bc_status status = BC_OK;
    if (bc_place_stat(path, &info) == 0 && S_ISREG(info.st_mode))
        status = look(path, &is_table, error);
    free(path);
    return status == BC_OK && is_table ? add_name(materials, name, error) : status;
}

static bc_status add_folder(bc_materials *materials, const char *path, peek look, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_status status = BC_OK;
    const struct dirent *entry;
    DIR *folder = opendir(bc_place(path));
    if (folder == NULL && errno == ENOMEM)
        return bc_fail_memory(error);
    if (folder == NULL)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found no folder that can be read any more (%s); expected the materials there",
                       bc_escaped_path(path, shown), strerror(errno));
    while (status == BC_OK) {
        errno = 0; /* readdir() returns NULL at the end as well as on a failure */
        entry = readdir(folder);
        if (entry == NULL)
            break;
        status = add_entry(materials, path, entry->d_name, look, error);
    }
    if (status == BC_OK && errno != 0)
        status = bc_fail(error, BC_ERROR_IO, "%s: found a failure while reading the folder (%s); expected its names",
                         bc_escaped_path(path, shown), strerror(errno));
    closedir(folder);
    return status;
}

static bc_status add_code(void *context, const char *code, bc_error *error)
{
    return add_name(context, code, error);
}

static int compare(const void *one, const void *other)
{
    return bc_word_compare(*(const char *const *)one, *(const char *const *)other);
}

static void remove_duplicates(bc_materials *materials)
{
    size_t kept = 0;
    for (size_t i = 0; i < materials->names; i++) {
        if (kept > 0 && strcmp(materials->name[kept - 1], materials->name[i]) == 0)
            free(materials->name[i]);
        else
            materials->name[kept++] = materials->name[i];
    }
    materials->names = kept;
}

static void finish(bc_materials *materials, size_t *count, const char *const **names)
{
    if (materials->names > 0)
        qsort(materials->name, materials->names, sizeof *materials->name, compare);
    remove_duplicates(materials);
    *count = materials->names;
    *names = (const char *const *)materials->name;
}

static bc_status list(bc_materials *materials, peek look, size_t *count, const char *const **names, bc_error *error)
{
    clear(materials);
    for (size_t i = 0; i < materials->folders; i++) {
        bc_status status = add_folder(materials, materials->folder[i], look, error);
        if (status != BC_OK)
            return status;
    }
    finish(materials, count, names);
    return BC_OK;
}

bc_status bc_materials_list(bc_materials *materials, size_t *count, const char *const **names, bc_error *error)
{
    return list(materials, bc_dispersion_peek, count, names, error);
}

bc_status bc_materials_weights(bc_materials *materials, size_t *count, const char *const **names, bc_error *error)
{
    return list(materials, bc_weight_peek, count, names, error);
}

bc_status bc_materials_glasses(bc_materials *materials, size_t *count, const char *const **names, bc_error *error)
{
    bc_status status = BC_OK;
    clear(materials);
    for (size_t i = 0; status == BC_OK && i < materials->folders; i++) {
        char *path = NULL;
        struct stat info;
        if (asprintf(&path, "%s/" BC_GLASSES_FILE, materials->folder[i]) < 0)
            return bc_fail_memory(error);
        if (bc_place_stat(path, &info) == 0)
            status = bc_glasses_each(path, add_code, materials, error);
        free(path);
    }
    if (status == BC_OK)
        finish(materials, count, names);
    return status;
}
