/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "constant.h"
#include "escaped.h"
#include "glass_code.h"
#include "glasses.h"
#include "grow.h"
#include "materials_store.h"
#include "nearest.h"
#include "place.h"
#include "weight_build.h"
#include <dirent.h>
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define NEAREST_MOST 3
#define LIST_SIZE    320

bc_status bc_materials_alloc(bc_materials **out, bc_error *error)
{
    *out = calloc(1, sizeof **out);
    return *out == NULL ? bc_fail_memory(error) : BC_OK;
}

void bc_materials_free(bc_materials *materials)
{
    if (materials == NULL)
        return;
    for (size_t i = 0; i < materials->folders; i++)
        free(materials->folder[i]);
    for (size_t i = 0; i < materials->known; i++)
        bc_dispersion_free(materials->dispersion[i]);
    for (size_t i = 0; i < materials->weights; i++)
        bc_weight_free(materials->weight[i]);
    for (size_t i = 0; i < materials->names; i++)
        free(materials->name[i]);
    free(materials->folder);
    free(materials->weight);
    free(materials->dispersion);
    free(materials->name);
    free(materials);
}

static bc_status fail_folder(const char *folder, int code, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_escaped_path(folder, shown);
    if (code == ENOMEM)
        return bc_fail_memory(error);
    if (code == EIO || code == EMFILE || code == ENFILE)
        return bc_fail(error, BC_ERROR_IO,
                       "%s: found a failure while opening the folder (%s); expected a folder of "
                       "materials",
                       shown, strerror(code));
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s: found no folder that can be read here (%s); expected a folder of materials", shown,
                   strerror(code));
}

/* The same folder under another path counts as the same: it would only be listed twice. */
static bool is_among(const bc_materials *materials, const char *folder)
{
    struct stat one, other;
    if (bc_place_stat(folder, &one) != 0)
        return false;
    for (size_t i = 0; i < materials->folders; i++)
        if (bc_place_stat(materials->folder[i], &other) == 0 && one.st_dev == other.st_dev &&
            one.st_ino == other.st_ino)
            return true;
    return false;
}

bc_status bc_materials_add_folder(bc_materials *materials, const char *folder, bc_error *error)
{
    DIR *opened = opendir(bc_place(folder));
    if (opened == NULL)
        return fail_folder(folder, errno, error);
    closedir(opened);
    if (is_among(materials, folder))
        return BC_OK;
    char **moved = bc_grow(materials->folder, &materials->folder_capacity, materials->folders, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    materials->folder = moved;
    moved[materials->folders] = strdup(folder);
    if (moved[materials->folders] == NULL)
        return bc_fail_memory(error);
    materials->folders++;
    return BC_OK;
}

bc_status bc_materials_add_path(bc_materials *materials, const char *path_list, bc_error *error)
{
    while (*path_list != '\0') {
        size_t length = strcspn(path_list, ":");
        if (length > 0) {
            char *folder = strndup(path_list, length);
            bc_status status =
                folder == NULL ? bc_fail_memory(error) : bc_materials_add_folder(materials, folder, error);
            free(folder);
            if (status != BC_OK)
                return status;
        }
        path_list += length + (path_list[length] == ':' ? 1 : 0);
    }
    return BC_OK;
}

static bc_status fail_name(const char *where, const char *name, bc_error *error, const char *expected)
{
    char shown[BC_ESCAPED_SIZE];
    return bc_fail(error, BC_ERROR_INPUT, "%s: found '%s'; expected %s", where, bc_escaped(name, shown), expected);
}

/* Append to a list that is shown; one too long for its room ends in dots. */
static void list(char text[LIST_SIZE], const char *word)
{
    size_t used = strlen(text), added = strlen(word);
    const char *comma = used == 0 ? "" : ", ";
    if (used + 2 + added + sizeof ", ..." < LIST_SIZE)
        snprintf(text + used, LIST_SIZE - used, "%s%s", comma, word);
    else if (used < 3 || strcmp(text + used - 3, "...") != 0)
        snprintf(text + used, LIST_SIZE - used, "%s...", comma);
}

static bc_status fail_unknown(bc_materials *materials, const char *where, const char *name, bc_error *error)
{
    const char *const *names = NULL;
    const char *nearest[NEAREST_MOST];
    char near[LIST_SIZE] = "", folders[LIST_SIZE] = "", expected[2 * LIST_SIZE + 256], path[BC_ESCAPED_PATH_SIZE];
    size_t count = 0;
    bc_status status = bc_materials_list(materials, &count, &names, error);
    if (status != BC_OK)
        return status;
    size_t found = bc_nearest(name, count, names, NEAREST_MOST, nearest);
    for (size_t i = 0; i < found; i++)
        list(near, nearest[i]);
    for (size_t i = 0; i < materials->folders; i++)
        list(folders, bc_escaped_path(materials->folder[i], path));
    snprintf(
        expected, sizeof expected,
        "a material's name (%s%s), a glass by its six-digit code (517642: n 1.517 and Abbe number 64.2 at the helium d "
        "line), 'air', or a constant such as 1.38 or 3.1-3.3i; folders searched: %s",
        found == 0 ? "there is none like it" : "nearest: ", near, folders[0] == '\0' ? "none" : folders);
    return fail_name(where, name, error, expected);
}

/* Put the place where a table was named before what is wrong with the table. */
static bc_status prefix(const char *where, const bc_error *inner, bc_error *error)
{
    if (inner->status != BC_ERROR_INPUT)
        return bc_fail(error, inner->status, "%s", inner->message);
    return bc_fail(error, BC_ERROR_INPUT, "%s: %s", where, inner->message);
}

/* A glass of the folder's glasses.csv, where it has one; NULL in *out: none. */
static bc_status find_glass(const char *folder, const char *name, bc_dispersion **out, bc_error *error)
{
    char *path = NULL;
    struct stat info;
    bc_status status = BC_OK;
    if (!bc_glasses_is_code(name))
        return BC_OK;
    if (asprintf(&path, "%s/" BC_GLASSES_FILE, folder) < 0)
        return bc_fail_memory(error);
    if (bc_place_stat(path, &info) == 0)
        status = bc_glasses_find(path, name, out, error);
    free(path);
    return status;
}

static bc_status read_table(bc_materials *materials, const char *name, const char *where, bc_dispersion **out,
                            bc_error *error)
{
    double nd, vd;
    for (size_t i = 0; i < materials->folders; i++) {
        char *path = NULL;
        struct stat info;
        bc_error inner = {0};
        if (asprintf(&path, "%s/%s.csv", materials->folder[i], name) < 0)
            return bc_fail_memory(error);
        if (bc_place_stat(path, &info) != 0 && (errno == ENOENT || errno == ENOTDIR)) {
            free(path);
            const bc_status looked = find_glass(materials->folder[i], name, out, &inner);
            if (looked != BC_OK)
                return prefix(where, &inner, error);
            if (*out != NULL)
                return BC_OK;
            continue;
        }
        bc_status status = bc_dispersion_read(path, name, out, &inner);
        free(path);
        return status == BC_OK ? BC_OK : prefix(where, &inner, error);
    }
    if (bc_glass_code(name, &nd, &vd))
        return bc_glass_code_table(name, nd, vd, out, error);
    return fail_unknown(materials, where, name, error);
}

static bc_status make(bc_materials *materials, const char *name, const char *where, bc_dispersion **out,
                      bc_error *error)
{
    double n = 1, k = 0;
    const char *expected = NULL;
    if (strlen(name) >= BC_NAME_SIZE)
        return fail_name(where, name, error, "a material's name of at most 63 bytes");
    if (strcmp(name, "air") == 0)
        return bc_dispersion_constant(name, 1, 0, out, error);
    switch (bc_constant_parse(name, &n, &k, &expected)) {
    case BC_CONSTANT_GOOD:
        return bc_dispersion_constant(name, n, k, out, error);
    case BC_CONSTANT_WRONG:
        return fail_name(where, name, error, expected);
    case BC_CONSTANT_NONE:
        break;
    }
    if (strpbrk(name, "/\\") != NULL || name[0] == '.')
        return fail_name(where, name, error,
                         "a material's name, which cannot lead out of the folders searched: no '/', no '\\', no dot at "
                         "its start");
    if (!bc_materials_has_name_letters(name))
        return fail_name(where, name, error, "a material's name of letters, digits, '-', '_', '+' and '.'");
    return read_table(materials, name, where, out, error);
}

/* Room for one more. */
static bc_status grow(bc_materials *materials, bc_error *error)
{
    bc_dispersion **moved =
        bc_grow(materials->dispersion, &materials->known_capacity, materials->known, sizeof(bc_dispersion *));
    if (moved == NULL)
        return bc_fail_memory(error);
    materials->dispersion = moved;
    return BC_OK;
}

bc_status bc_materials_find(bc_materials *materials, const char *name, const char *where, const bc_dispersion **out,
                            bc_error *error)
{
    bc_dispersion *dispersion = NULL;
    for (size_t i = 0; i < materials->known; i++) {
        const bc_dispersion *known = materials->dispersion[i];
        if (!bc_dispersion_states_gradient(known) && strcmp(bc_dispersion_name(known), name) == 0) {
            *out = known;
            return BC_OK;
        }
    }
    bc_status status = grow(materials, error);
    if (status == BC_OK)
        status = make(materials, name, where == NULL ? "material" : where, &dispersion, error);
    if (status != BC_OK)
        return status;
    materials->dispersion[materials->known++] = dispersion;
    *out = dispersion;
    return BC_OK;
}

bc_status bc_materials_graded(bc_materials *materials, const bc_dispersion *of, double gradient,
                              const bc_dispersion **out, bc_error *error)
{
    bc_dispersion *graded = NULL;
    bc_status status = BC_OK;
    for (size_t i = 0; i < materials->known; i++) {
        const bc_dispersion *known = materials->dispersion[i];
        if (bc_dispersion_states_gradient(known) && bc_dispersion_base(known) == bc_dispersion_base(of) &&
            bc_dispersion_gradient(known) == gradient) {
            *out = known;
            return BC_OK;
        }
    }
    status = grow(materials, error);
    if (status == BC_OK)
        status = bc_dispersion_graded(of, gradient, &graded, error);
    if (status != BC_OK)
        return status;
    materials->dispersion[materials->known++] = graded;
    *out = graded;
    return BC_OK;
}
