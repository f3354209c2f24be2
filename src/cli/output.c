/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output.h"
#include "escaped.h"
#include "recording.h"
#include "write.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define TEMPORARY_NAME    ".bloomcoat-XXXXXX"
#define TEMPORARY_PREFIX  11
#define LEFT_OVER_SECONDS 86400

/* A wrong place is the person's to mend, a full or failing disk is not. */
static bc_status fail_errno(bc_error *error, const char *path, int number)
{
    const bool mendable = number == ENOENT || number == ENOTDIR || number == EACCES || number == EPERM ||
                          number == EROFS || number == EISDIR || number == ELOOP || number == ENAMETOOLONG ||
                          number == ENXIO;
    char shown[BC_ESCAPED_PATH_SIZE];
    const char *place = cli_is_standard_output(path) ? "standard output" : bc_escaped_path(path, shown);
    return bc_fail(error, mendable ? BC_ERROR_INPUT : BC_ERROR_IO, "%s: cannot be written: %s", place,
                   strerror(number));
}

static bc_status refuse(bc_error *error, const char *path, const char *found, const char *expected)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    return bc_fail(error, BC_ERROR_INPUT, "%s: found %s; expected %s", bc_escaped_path(path, shown), found, expected);
}

/* The folder part of a path, "." when it has none. */
static bc_status folder_of(const char *path, char folder[PATH_MAX], bc_error *error)
{
    const char *slash = strrchr(path, '/');
    const size_t length = slash == NULL ? 0 : slash == path ? 1 : (size_t)(slash - path);
    if (strlen(path) >= PATH_MAX)
        return fail_errno(error, path, ENAMETOOLONG);
    memcpy(folder, path, length);
    folder[length] = '\0';
    if (length == 0)
        memcpy(folder, ".", 2);
    return BC_OK;
}

static bc_status check_inputs(const struct stat *output, const char *path, size_t inputs, const char *const *input,
                              bc_error *error)
{
    for (size_t i = 0; i < inputs; i++) {
        struct stat other;
        if (S_ISREG(output->st_mode) && stat(input[i], &other) == 0 && other.st_dev == output->st_dev &&
            other.st_ino == output->st_ino)
            return refuse(error, path, "one of the inputs", "another file, so that no input is lost");
    }
    return BC_OK;
}

/* A file that is not there yet. */
static bc_status check_new(const char *path, bc_error *error)
{
    char folder[PATH_MAX];
    struct stat found;
    bc_status status;
    if (lstat(path, &found) == 0)
        return refuse(error, path, "a symbolic link to a file that is not there", "a file, or a name not in use");
    status = folder_of(path, folder, error);
    if (status != BC_OK)
        return status;
    if (stat(folder, &found) != 0 && errno == ENOENT)
        return refuse(error, path, "no such folder", "a folder that exists");
    return access(folder, W_OK | X_OK) == 0 ? BC_OK : fail_errno(error, path, errno);
}

bc_status cli_output_check(const char *path, size_t inputs, const char *const *input, bc_error *error)
{
    struct stat found;
    if (cli_rerunning())
        return BC_OK;
    if (cli_is_standard_output(path))
        return fstat(STDOUT_FILENO, &found) != 0 ? BC_OK
                                                 : check_inputs(&found, "standard output", inputs, input, error);
    if (stat(path, &found) != 0)
        return errno == ENOENT ? check_new(path, error) : fail_errno(error, path, errno);
    if (S_ISDIR(found.st_mode))
        return refuse(error, path, "a folder", "a file's name");
    if (access(path, W_OK) != 0)
        return fail_errno(error, path, errno);
    return check_inputs(&found, path, inputs, input, error);
}

/* Straight into what is no regular file: a device, a pipe. */
static bc_status write_device(const char *path, const bc_text *text, bc_error *error)
{
    const int file = open(path, O_WRONLY | O_NOCTTY | O_CLOEXEC);
    int failed;
    if (file < 0)
        return fail_errno(error, path, errno);
    failed = bc_write_all(file, text->data, text->length);
    if (close(file) != 0 && failed == 0)
        failed = errno;
    return failed == 0 ? BC_OK : fail_errno(error, path, failed);
}

/* The permissions of the file that is replaced, or those of any new file. */
static mode_t mode_for(const char *path)
{
    struct stat found;
    mode_t mask;
    if (stat(path, &found) == 0)
        return found.st_mode & 07777;
    mask = umask(0);
    umask(mask);
    return 0666 & ~mask;
}

static int fill(int file, const bc_text *text, mode_t mode)
{
    int failed = bc_write_all(file, text->data, text->length);
    if (failed == 0 && (fchmod(file, mode) != 0 || fsync(file) != 0))
        failed = errno;
    return failed;
}

/* A file of ours that a killed program left behind: of this user, and older than a day. */
static bool is_left_over(int folder, const char *name)
{
    struct stat found;
    return strlen(name) == strlen(TEMPORARY_NAME) && strncmp(name, TEMPORARY_NAME, TEMPORARY_PREFIX) == 0 &&
           fstatat(folder, name, &found, AT_SYMLINK_NOFOLLOW) == 0 && S_ISREG(found.st_mode) &&
           found.st_uid == geteuid() && time(NULL) - found.st_mtime > LEFT_OVER_SECONDS;
}

static void remove_left_over(const char *folder)
{
    DIR *open_folder = opendir(folder);
    struct dirent *entry;
    if (open_folder == NULL)
        return;
    while ((entry = readdir(open_folder)) != NULL)
        if (is_left_over(dirfd(open_folder), entry->d_name))
            unlinkat(dirfd(open_folder), entry->d_name, 0);
    closedir(open_folder);
}

/* Give a file without a name, where the system has such, its place: straight away where nothing has it, else under a
 * temporary name first. 0, or the errno of what failed. */
static int link_unnamed(int file, char *temporary, const char *place)
{
    char self[40];
    snprintf(self, sizeof self, "/proc/self/fd/%d", file);
    if (linkat(AT_FDCWD, self, AT_FDCWD, place, AT_SYMLINK_FOLLOW) == 0)
        return 0;
    if (errno != EEXIST)
        return errno;
    for (int attempt = 0; attempt < 100; attempt++) {
        struct timespec now;
        clock_gettime(CLOCK_REALTIME, &now);
        snprintf(temporary + strlen(temporary) - 6, 7, "%06lx",
                 (unsigned long)(now.tv_nsec ^ ((long)getpid() << 8) ^ attempt) & 0xffffff);
        if (linkat(AT_FDCWD, self, AT_FDCWD, temporary, AT_SYMLINK_FOLLOW) == 0) {
            const int failed = rename(temporary, place) == 0 ? 0 : errno;
            if (failed != 0)
                unlink(temporary);
            return failed;
        }
        if (errno != EEXIST)
            return errno;
    }
    return EEXIST;
}

/* 0, or the errno of what failed. Without a name until it is whole, so that a program that is killed leaves nothing;
 * where no such files can be had, under a temporary name. */
static int put_in_place(const char *folder, char *temporary, const char *place, const bc_text *text)
{
    int file = open(folder, O_TMPFILE | O_WRONLY | O_CLOEXEC, 0600);
    int failed;
    if (file >= 0) {
        failed = fill(file, text, mode_for(place));
        if (failed == 0 && (failed = link_unnamed(file, temporary, place)) == 0) {
            (void)close(file); /* it is whole, and on the disk */
            return 0;
        }
        (void)close(file);
        if (failed != ENOENT && failed != EPERM && failed != EXDEV && failed != EOPNOTSUPP)
            return failed; /* else without /proc, or on a file system that gives no names afterwards */
    }
    memcpy(temporary + strlen(temporary) - 6, "XXXXXX", 6);
    file = mkostemp(temporary, O_CLOEXEC);
    if (file < 0)
        return errno;
    failed = fill(file, text, mode_for(place));
    if (close(file) != 0 && failed == 0)
        failed = errno;
    if (failed == 0 && rename(temporary, place) != 0)
        failed = errno;
    if (failed != 0)
        unlink(temporary);
    return failed;
}

static bc_status write_whole(const char *path, const bc_text *text, bc_error *error)
{
    char place[PATH_MAX], folder[PATH_MAX], temporary[PATH_MAX + sizeof TEMPORARY_NAME];
    bc_status status;
    int failed;
    if (realpath(path, place) == NULL) { /* resolves a link, so that its target is replaced and not the link */
        if (errno != ENOENT)
            return fail_errno(error, path, errno);
        if (strlen(path) >= sizeof place)
            return fail_errno(error, path, ENAMETOOLONG);
        memcpy(place, path, strlen(path) + 1);
    }
    status = folder_of(place, folder, error);
    if (status != BC_OK)
        return status;
    snprintf(temporary, sizeof temporary, "%s/%s", folder, TEMPORARY_NAME);
    failed = put_in_place(folder, temporary, place, text);
    if (failed != 0)
        return fail_errno(error, path, failed);
    remove_left_over(folder);
    return BC_OK;
}

static bc_status write_now(const char *path, const bc_text *text, bc_error *error)
{
    struct stat found;
    sigset_t ending, before;
    bc_status status;
    if (cli_is_standard_output(path)) {
        const int failed = bc_write_all(STDOUT_FILENO, text->data, text->length);
        return failed == 0 ? BC_OK
                           : bc_fail(error, BC_ERROR_IO, "standard output: cannot be written: %s", strerror(failed));
    }
    if (stat(path, &found) == 0 && !S_ISREG(found.st_mode))
        return write_device(path, text, error);
    /* A key pressed now would leave the unfinished file behind. */
    sigemptyset(&ending);
    sigaddset(&ending, SIGINT);
    sigaddset(&ending, SIGTERM);
    sigaddset(&ending, SIGHUP);
    sigprocmask(SIG_BLOCK, &ending, &before);
    status = write_whole(path, text, error);
    sigprocmask(SIG_SETMASK, &before, NULL);
    return status;
}

bc_status cli_output_write(const char *path, const bc_text *text, bc_error *error)
{
    const bc_status status = cli_rerunning() ? BC_OK : write_now(path, text, error);
    if (status == BC_OK)
        cli_recording_output(path, text);
    return status;
}

bc_status cli_output_write_or_show(const char *path, const bc_text *text, bc_error *error)
{
    bc_error failed = {0};
    const bc_status status = cli_output_write(path, text, &failed);
    if (status == BC_OK)
        return BC_OK;
    if (cli_is_standard_output(path))
        return bc_fail(error, status, "%s", failed.message);
    if (cli_output_write(NULL, text, NULL) != BC_OK)
        return bc_fail(error, BC_ERROR_IO, "%s, nor to standard output", failed.message);
    return bc_fail(error, BC_ERROR_IO, "%s; it went to standard output instead", failed.message);
}
