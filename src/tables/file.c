/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "file.h"
#include "place.h"
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Bytes asked for at once where the size is not known beforehand (a pipe). */
#define FIRST_SIZE ((size_t)64 << 10)

static bc_status fail_too_large(const char *path, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s: found a file over 64 MiB; expected a table that a person could have meant",
                   bc_escaped_path(path, shown));
}

static bc_status fail_folder(const char *path, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    return bc_fail(error, BC_ERROR_INPUT, "%s: found a folder; expected a CSV file", bc_escaped_path(path, shown));
}

/* An error of opening or reading, sorted by who can mend it. */
static bc_status fail_errno(const char *path, int code, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    bc_escaped_path(path, shown);
    switch (code) {
    case ENOENT:
    case ENOTDIR:
        return bc_fail(error, BC_ERROR_INPUT, "%s: found no such file; expected a CSV file", shown);
    case EACCES:
    case EPERM:
        return bc_fail(error, BC_ERROR_INPUT, "%s: found a file that may not be read; expected read permission", shown);
    case EISDIR:
        return fail_folder(path, error);
    case ELOOP:
    case ENAMETOOLONG:
    case ENXIO:
    case ENODEV:
        return bc_fail(error, BC_ERROR_INPUT, "%s: found no file to open here (%s); expected a CSV file", shown,
                       strerror(code));
    case ENOMEM:
        return bc_fail_memory(error);
    default:
        return bc_fail(error, BC_ERROR_IO, "%s: found a failure while reading (%s); expected a file that can be read",
                       shown, strerror(code));
    }
}

/* Double the room when it is full. */
static bc_status make_room(char **buffer, size_t *capacity, size_t used, bc_error *error)
{
    if (used < *capacity)
        return BC_OK;
    char *moved = realloc(*buffer, 2 * *capacity + 2);
    if (moved == NULL)
        return bc_fail_memory(error);
    *buffer = moved;
    *capacity *= 2;
    return BC_OK;
}

/* Read to the end of `descriptor`. The end is only known when read() returns 0, hence the room beyond `size`. */
static bc_status read_all(int descriptor, const char *path, size_t size, char **bytes, size_t *length, bc_error *error)
{
    size_t capacity = size + 1, used = 0;
    bc_status status = BC_OK;
    ssize_t count = 1;
    char *buffer = malloc(capacity + 2);
    if (buffer == NULL)
        return bc_fail_memory(error);
    while (status == BC_OK && count != 0) {
        status = make_room(&buffer, &capacity, used, error);
        if (status != BC_OK)
            break;
        count = read(descriptor, buffer + used, capacity - used);
        if (count < 0 && errno != EINTR)
            status = fail_errno(path, errno, error);
        else if (count > 0)
            used += (size_t)count;
        if (used > BC_FILE_MOST)
            status = fail_too_large(path, error);
    }
    if (status != BC_OK) {
        free(buffer);
        return status;
    }
    buffer[used] = buffer[used + 1] = '\0';
    *bytes = buffer;
    *length = used;
    return BC_OK;
}

bc_status bc_file_read(const char *path, char **bytes, size_t *length, bc_error *error)
{
    struct stat info;
    bc_status status;
    int descriptor = open(bc_place(path), O_RDONLY | O_CLOEXEC);
    if (descriptor < 0)
        return fail_errno(path, errno, error);
    if (fstat(descriptor, &info) != 0)
        status = fail_errno(path, errno, error);
    else if (S_ISDIR(info.st_mode))
        status = fail_folder(path, error);
    else if (S_ISREG(info.st_mode) && info.st_size > (off_t)BC_FILE_MOST)
        status = fail_too_large(path, error);
    else
        status =
            read_all(descriptor, path, S_ISREG(info.st_mode) ? (size_t)info.st_size : FIRST_SIZE, bytes, length, error);
    close(descriptor);
    if (status == BC_OK)
        bc_place_seen(path, *bytes, *length);
    return status;
}
