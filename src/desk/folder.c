/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "folder.h"
#include "gate.h"
#include "text.h"
#include "write.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define PREFIX "bloomcoat-desk-"

/* Of this user, in memory: XDG_RUNTIME_DIR is, and /dev/shm; else where temporary files go. */
static const char *parent_folder(void)
{
    const char *candidate[] = {getenv("XDG_RUNTIME_DIR"), "/dev/shm", getenv("TMPDIR"), "/tmp"};
    for (size_t i = 0; i < sizeof candidate / sizeof candidate[0]; i++)
        if (candidate[i] != NULL && candidate[i][0] == '/' && access(candidate[i], W_OK | X_OK) == 0)
            return candidate[i];
    return "/tmp";
}

/* Everything in it: files, and folders of files. */
static void empty(int descriptor, unsigned depth)
{
    const int again = dup(descriptor);
    DIR *list = again < 0 ? NULL : fdopendir(again);
    const struct dirent *entry;
    if (list == NULL) {
        if (again >= 0)
            close(again);
        return;
    }
    rewinddir(list);
    while ((entry = readdir(list)) != NULL) {
        int inner;
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0 ||
            unlinkat(descriptor, entry->d_name, 0) == 0 || depth == 0)
            continue;
        inner = openat(descriptor, entry->d_name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
        if (inner < 0)
            continue;
        empty(inner, depth - 1);
        close(inner);
        unlinkat(descriptor, entry->d_name, AT_REMOVEDIR);
    }
    closedir(list);
}

/* Folders of desks that were killed: this user's, and nobody holds their lock. */
static void remove_left(const char *parent)
{
    DIR *list = opendir(parent);
    const struct dirent *entry;
    while (list != NULL && (entry = readdir(list)) != NULL) {
        struct stat info;
        int left;
        if (strncmp(entry->d_name, PREFIX, sizeof PREFIX - 1) != 0)
            continue;
        left = openat(dirfd(list), entry->d_name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
        if (left < 0)
            continue;
        if (fstat(left, &info) == 0 && info.st_uid == getuid() && flock(left, LOCK_EX | LOCK_NB) == 0) {
            empty(left, 1);
            unlinkat(dirfd(list), entry->d_name, AT_REMOVEDIR);
        }
        close(left);
    }
    if (list != NULL)
        closedir(list);
}

bc_status desk_folder_make(desk_folder *folder, bc_error *error)
{
    const char *parent = parent_folder();
    const size_t size = strlen(parent) + sizeof "/" PREFIX "XXXXXX";
    *folder = (desk_folder){.path = malloc(size), .descriptor = -1};
    if (folder->path == NULL)
        return bc_fail_memory(error);
    remove_left(parent);
    snprintf(folder->path, size, "%s/" PREFIX "XXXXXX", parent);
    if (mkdtemp(folder->path) == NULL ||
        (folder->descriptor = open(folder->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC)) < 0 ||
        flock(folder->descriptor, LOCK_SH | LOCK_NB) != 0)
        return bc_fail(error, BC_ERROR_IO, "%s: no folder can be made for the desk: %s", parent, strerror(errno));
    return BC_OK;
}

void desk_folder_remove(desk_folder *folder)
{
    if (folder->descriptor >= 0) {
        empty(folder->descriptor, 1);
        close(folder->descriptor);
        rmdir(folder->path);
    }
    free(folder->path);
    *folder = (desk_folder){.descriptor = -1};
}

bool desk_name_is_safe(const char *name)
{
    static const char first[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789";
    static const char other[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_.";
    const size_t length = strlen(name);
    return length > 0 && length < DESK_NAME_SIZE && strspn(name, first) > 0 && strspn(name, other) == length;
}

bc_status desk_job_folder_make(const desk_folder *folder, char name[DESK_NAME_SIZE], int *descriptor, bc_error *error)
{
    bc_status status = desk_random(name, 33, error);
    *descriptor = -1;
    if (status != BC_OK)
        return status;
    if (mkdirat(folder->descriptor, name, 0700) != 0 ||
        (*descriptor = openat(folder->descriptor, name, O_RDONLY | O_DIRECTORY | O_CLOEXEC)) < 0)
        return bc_fail(error, BC_ERROR_IO, "no folder can be made for a job: %s", strerror(errno));
    return BC_OK;
}

void desk_job_folder_remove(const desk_folder *folder, const char *name, int descriptor)
{
    if (descriptor < 0)
        return;
    empty(descriptor, 0);
    close(descriptor);
    unlinkat(folder->descriptor, name, AT_REMOVEDIR);
}

bc_status desk_file_write(int folder, const char *name, const char *text, size_t length, bc_error *error)
{
    const int file = openat(folder, name, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    int failed;
    if (file < 0)
        return bc_fail(error, errno == EEXIST ? BC_ERROR_INPUT : BC_ERROR_IO, "%s: %s", name, strerror(errno));
    failed = bc_write_all(file, text, length);
    if (close(file) != 0 && failed == 0)
        failed = errno;
    return failed == 0 ? BC_OK : bc_fail(error, BC_ERROR_IO, "%s: %s", name, strerror(failed));
}

bc_status desk_file_read(int folder, const char *name, bc_text *out, bc_error *error)
{
    const int file = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    char piece[16384];
    ssize_t got = 0;
    if (file < 0)
        return bc_fail(error, BC_ERROR_INPUT, "%s was not written", name);
    while (out->length <= DESK_RESULT_SIZE && (got = read(file, piece, sizeof piece)) != 0)
        if (got > 0)
            bc_text_add_bytes(out, piece, (size_t)got);
        else if (errno != EINTR)
            break;
    close(file);
    if (out->length > DESK_RESULT_SIZE)
        return bc_fail(error, BC_ERROR_INPUT, "%s has more than %d bytes", name, DESK_RESULT_SIZE);
    return got < 0 ? bc_fail(error, BC_ERROR_IO, "%s: %s", name, strerror(errno)) : bc_text_end(out, error);
}
