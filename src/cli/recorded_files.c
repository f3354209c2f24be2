/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recorded_files.h"
#include "escaped.h"
#include "paths.h"
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MOST_BYTES ((off_t)64 << 20) /* of a file that the program reads */

static bc_record_file *find(const cli_files *files, const char *path)
{
    for (size_t i = 0; i < files->count; i++)
        if (strcmp(files->file[i].path, path) == 0)
            return &files->file[i];
    return NULL;
}

static bc_record_file *add_path(cli_files *files, const char *path)
{
    bc_record_file *moved = realloc(files->file, (files->count + 1) * sizeof *moved);
    if (moved == NULL)
        return NULL;
    files->file = moved;
    moved += files->count;
    *moved = (bc_record_file){.path = strdup(path)};
    if (moved->path == NULL)
        return NULL;
    files->count++;
    return moved;
}

void cli_files_add(cli_files *files, const char *path, const char *bytes, size_t length)
{
    bc_record_file *file = find(files, path);
    if (file == NULL)
        file = add_path(files, path);
    if (file != NULL && file->bytes == NULL && bytes != NULL) {
        file->bytes = malloc(length + 1);
        if (file->bytes != NULL) {
            memcpy(file->bytes, bytes, length);
            file->bytes[length] = '\0';
            file->length = length;
        }
        files->failed = files->failed || file->bytes == NULL;
    }
    files->failed = files->failed || file == NULL;
}

static bc_status read_one(bc_record_file *file, off_t size, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    FILE *open_file;
    file->bytes = malloc((size_t)size + 1);
    if (file->bytes == NULL)
        return bc_fail_memory(error);
    open_file = fopen(file->path, "re");
    if (open_file != NULL) {
        file->length = fread(file->bytes, 1, (size_t)size, open_file);
        fclose(open_file);
    }
    file->bytes[file->length] = '\0';
    return open_file != NULL ? BC_OK
                             : bc_fail(error, BC_ERROR_IO, "%s: cannot be read any more: %s",
                                       bc_escaped_path(file->path, shown), strerror(errno));
}

bc_status cli_files_complete(cli_files *files, bc_error *error)
{
    bc_status status = files->failed ? bc_fail_memory(error) : BC_OK;
    for (size_t i = 0; status == BC_OK && i < files->count; i++) {
        bc_record_file *file = &files->file[i];
        struct stat info;
        if (file->bytes == NULL && stat(file->path, &info) == 0 && S_ISREG(info.st_mode) && info.st_size <= MOST_BYTES)
            status = read_one(file, info.st_size, error);
    }
    return status;
}

void cli_files_clear(cli_files *files)
{
    for (size_t i = 0; i < files->count; i++) {
        free(files->file[i].path);
        free(files->file[i].bytes);
    }
    free(files->file);
    *files = (cli_files){0};
}

/* ---- laid out ---- */

static bc_status fail_place(const char *path, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    return bc_fail(error, BC_ERROR_IO, "%s: cannot be written: %s", bc_escaped_path(path, shown), strerror(errno));
}

static bc_status write_bytes(const char *path, const char *bytes, size_t length, bc_error *error)
{
    FILE *file = fopen(path, "we");
    bool good;
    if (file == NULL)
        return fail_place(path, error);
    good = fwrite(bytes, 1, length, file) == length;
    good = fclose(file) == 0 && good;
    return good ? BC_OK : fail_place(path, error);
}

static bool is_in(const char *path, const char *folder)
{
    const size_t length = strlen(folder);
    return strncmp(path, folder, length) == 0 && path[length] == '/' && strchr(path + length + 1, '/') == NULL;
}

/* A folder shows the names of what was found in it; the bytes lie under the paths of their own. */
static bc_status make_listing(const char *place, const char *path, size_t count, const bc_record_file *file,
                              bc_error *error)
{
    bc_status status = mkdir(place, 0700) == 0 ? BC_OK : fail_place(place, error);
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        char *name;
        if (!is_in(file[i].path, path))
            continue;
        status = cli_path_in(place, file[i].path + strlen(path) + 1, &name, error);
        if (status == BC_OK && file[i].bytes == NULL && mkdir(name, 0700) != 0)
            status = fail_place(name, error);
        else if (status == BC_OK && file[i].bytes != NULL)
            status = write_bytes(name, "", 0, error);
        free(name);
    }
    return status;
}

bc_status cli_files_lay_out(size_t count, const bc_record_file *file, char **folder, cli_files *places, bc_error *error)
{
    const char *root = getenv("TMPDIR");
    bc_status status = cli_path_in(root == NULL || root[0] == '\0' ? "/tmp" : root, "bloomcoat-XXXXXX", folder, error);
    *places = (cli_files){0};
    if (status == BC_OK && mkdtemp(*folder) == NULL) {
        status = fail_place(*folder, error);
        free(*folder);
        *folder = NULL;
    }
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        char name[32], *place = NULL;
        snprintf(name, sizeof name, "%zu", i);
        status = cli_path_in(*folder, name, &place, error);
        if (status == BC_OK)
            status = file[i].bytes == NULL ? make_listing(place, file[i].path, count, file, error)
                                           : write_bytes(place, file[i].bytes, file[i].length, error);
        if (status == BC_OK)
            cli_files_add(places, file[i].path, place, strlen(place));
        if (status == BC_OK && places->failed)
            status = bc_fail_memory(error);
        free(place);
    }
    return status;
}

static void remove_all(const char *path, int depth)
{
    DIR *folder = depth > 2 ? NULL : opendir(path);
    const struct dirent *entry;
    while (folder != NULL && (entry = readdir(folder)) != NULL) {
        char inside[PATH_MAX];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0 ||
            snprintf(inside, sizeof inside, "%s/%s", path, entry->d_name) >= (int)sizeof inside)
            continue;
        if (unlink(inside) != 0)
            remove_all(inside, depth + 1);
    }
    if (folder != NULL)
        closedir(folder);
    rmdir(path);
}

void cli_files_remove(const char *folder, cli_files *places)
{
    if (folder != NULL)
        remove_all(folder, 0);
    cli_files_clear(places);
}
