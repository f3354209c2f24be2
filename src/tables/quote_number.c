/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The numbers of a shop's quotes, each given once: a file of all that were given, to which one is added at a time.
 */
#include "csv_file.h"
#include "escaped.h"
#include <bloomcoat/shop.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define FILE_NAME   "quote-numbers.csv"
#define MOST_NUMBER 2e9

static const bc_csv_column columns[] = {{"quote_number", true}};
static const bc_csv_schema schema = {"quote_number", 1, columns};

static bc_status fail_file(const char *path, const char *what, bc_error *error)
{
    const int number = errno;
    char shown[BC_ESCAPED_PATH_SIZE];
    const bool mendable = number == EACCES || number == EPERM || number == EROFS || number == ENOENT;
    return bc_fail(error, mendable ? BC_ERROR_INPUT : BC_ERROR_IO,
                   "%s: the next quote number cannot be %s: %s; expected a shop's folder that can be written, or "
                   "--quote-number",
                   bc_escaped_path(path, shown), what, strerror(number));
}

static bc_status largest_of(const char *path, unsigned long *largest, bc_error *error)
{
    static const bc_csv_range range = {1, false, MOST_NUMBER, 0, "a quote number, a whole number above 0"};
    bc_csv *csv = NULL;
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++) {
        double value;
        status = bc_csv_number(csv, row, 0, &range, &value, error);
        if (status == BC_OK && value > (double)*largest)
            *largest = (unsigned long)value;
    }
    bc_csv_free(csv);
    return status;
}

/* After a write cut short the next one says why. */
static bool write_whole(int file, const char *text, size_t size)
{
    while (size > 0) {
        const ssize_t written = write(file, text, size);
        if (written < 0 && errno != EINTR)
            return false;
        if (written > 0) {
            text += written;
            size -= (size_t)written;
        }
    }
    return true;
}

/* A line that was not written whole is taken back. */
static bc_status append(int file, const char *path, off_t length, unsigned long number, bc_error *error)
{
    char text[64], last = '\n';
    if (length > 0 && pread(file, &last, 1, length - 1) != 1)
        return fail_file(path, "read", error);
    const int size =
        snprintf(text, sizeof text, "%s%s%lu\n", length == 0 ? "quote_number\n" : "", last == '\n' ? "" : "\n", number);
    if (write_whole(file, text, (size_t)size) && fsync(file) == 0)
        return BC_OK;
    const bc_status status = fail_file(path, "written", error);
    if (ftruncate(file, length) != 0)
        return status;
    return status;
}

static bc_status take(int file, const char *path, unsigned long first, unsigned long *number, bc_error *error)
{
    struct stat info;
    int locked;
    bc_status status = BC_OK;
    *number = 0;
    do
        locked = flock(file, LOCK_EX); /* until the file is closed */
    while (locked != 0 && errno == EINTR);
    if (locked != 0 || fstat(file, &info) != 0)
        return fail_file(path, "locked", error);
    if (info.st_size > 0)
        status = largest_of(path, number, error);
    *number = *number < first ? first : *number + 1;
    return status == BC_OK ? append(file, path, info.st_size, *number, error) : status;
}

bc_status bc_shop_take_quote_number(const bc_shop *shop, unsigned long *number, bc_error *error)
{
    const unsigned long first = strtoul(shop->value[BC_SHOP_FIRST_QUOTE_NUMBER], NULL, 10);
    char *path;
    bc_status status;
    int file;
    if (asprintf(&path, "%s/" FILE_NAME, shop->folder) < 0)
        return bc_fail_memory(error);
    file = open(path, O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, 0666);
    status = file < 0 ? fail_file(path, "written", error) : take(file, path, first, number, error);
    if (file >= 0)
        (void)close(file); /* it is on the disk */
    free(path);
    return status;
}
