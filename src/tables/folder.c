/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "folder.h"
#include "escaped.h"
#include "place.h"
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool is_dangling(const char *path)
{
    struct stat info;
    return lstat(bc_place(path), &info) == 0 && S_ISLNK(info.st_mode) && bc_place_stat(path, &info) != 0;
}

bc_status bc_folder_find(const char *folder, const char *name, bool is_folder, char **path, bc_error *error)
{
    struct stat info;
    bc_status status = BC_OK;
    if (asprintf(path, "%s/%s", folder, name) < 0) {
        *path = NULL;
        return bc_fail_memory(error);
    }
    if (bc_place_stat(*path, &info) == 0 && S_ISDIR(info.st_mode) == is_folder)
        return BC_OK;
    if (is_dangling(*path)) {
        char shown[BC_ESCAPED_PATH_SIZE];
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found a symbolic link to nothing; expected a %s, or no such name",
                         bc_escaped_path(*path, shown), is_folder ? "folder" : "file");
    }
    free(*path);
    *path = NULL;
    return status;
}

static int is_table(const struct dirent *entry)
{
    const size_t length = strlen(entry->d_name);
    return entry->d_name[0] != '.' && length > 4 && strcmp(entry->d_name + length - 4, ".csv") == 0;
}

static int is_shown(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static int in_order(const struct dirent **one, const struct dirent **other)
{
    return strcmp((*one)->d_name, (*other)->d_name);
}

static bc_status keep(const char *folder, bool folders, const char *name, bc_folder_list *list, bc_error *error)
{
    char *path;
    const bc_status status = bc_folder_find(folder, name, folders, &path, error);
    if (status != BC_OK || path == NULL)
        return status;
    free(path);
    list->name[list->count] = strdup(name);
    if (list->name[list->count] == NULL)
        return bc_fail_memory(error);
    list->count++;
    return BC_OK;
}

bc_status bc_folder_read(const char *folder, bool folders, bc_folder_list *list, bc_error *error)
{
    struct dirent **entry = NULL;
    char shown[BC_ESCAPED_PATH_SIZE];
    const int count = scandir(bc_place(folder), &entry, folders ? is_shown : is_table, in_order);
    bc_status status = BC_OK;
    *list = (bc_folder_list){0};
    if (count < 0)
        return errno == ENOMEM ? bc_fail_memory(error)
                               : bc_fail(error, BC_ERROR_INPUT, "%s: cannot be listed: %s",
                                         bc_escaped_path(folder, shown), strerror(errno));
    list->name = calloc((size_t)count + 1, sizeof *list->name);
    if (list->name == NULL)
        status = bc_fail_memory(error);
    for (int i = 0; i < count; i++) {
        if (status == BC_OK)
            status = keep(folder, folders, entry[i]->d_name, list, error);
        free(entry[i]);
    }
    free(entry);
    if (status != BC_OK)
        bc_folder_clear(list);
    return status;
}

void bc_folder_clear(bc_folder_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->name[i]);
    free(list->name);
    *list = (bc_folder_list){0};
}
