/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "paths.h"
#include "escaped.h"
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool cli_is_standard_output(const char *path)
{
    return path == NULL || strcmp(path, "-") == 0;
}

/* The folder of a path as the system knows it; false when it is not known. */
static bool real_folder(const char *path, char folder[PATH_MAX])
{
    const char *slash = strrchr(path, '/');
    char part[PATH_MAX];
    const size_t length = slash == NULL ? 1 : slash == path ? 1 : (size_t)(slash - path);
    if (length >= sizeof part)
        return false;
    memcpy(part, slash == NULL ? "." : path, length);
    part[length] = '\0';
    return realpath(part, folder) != NULL;
}

static const char *last_part(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

bool cli_is_same_file(const char *one, const char *other)
{
    struct stat first, second;
    char folder_one[PATH_MAX], folder_other[PATH_MAX];
    if (stat(one, &first) == 0 && stat(other, &second) == 0)
        return first.st_dev == second.st_dev && first.st_ino == second.st_ino;
    return real_folder(one, folder_one) && real_folder(other, folder_other) && strcmp(folder_one, folder_other) == 0 &&
           strcmp(last_part(one), last_part(other)) == 0;
}

bool cli_is_redirected_to(const char *path)
{
    struct stat place, out;
    return stat(path, &place) == 0 && S_ISREG(place.st_mode) && fstat(STDOUT_FILENO, &out) == 0 &&
           place.st_dev == out.st_dev && place.st_ino == out.st_ino;
}

bc_status cli_make_folder(const char *path, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    if (mkdir(path, 0777) == 0 || errno == EEXIST)
        return BC_OK;
    return bc_fail(error, errno == ENOSPC || errno == EIO ? BC_ERROR_IO : BC_ERROR_INPUT, "%s: cannot be made: %s",
                   bc_escaped_path(path, shown), strerror(errno));
}

bc_status cli_path_in(const char *folder, const char *name, char **path, bc_error *error)
{
    if (asprintf(path, "%s/%s", folder, name) >= 0)
        return BC_OK;
    *path = NULL;
    return bc_fail_memory(error);
}
