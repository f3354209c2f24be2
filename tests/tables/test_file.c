/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "file.h"
#include "scratch.h"
#include "suites.h"
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void expect_unread(const char *path, bc_status status, const char *piece)
{
    const char *pieces[PIECES] = {piece, "expected"};
    char *bytes = NULL;
    size_t length = 0;
    bc_error error = {0};
    expect_refusal(path, bc_file_read(path, &bytes, &length, &error), &error, status, pieces);
    ck_assert_ptr_null(bytes);
}

START_TEST(reads_bytes)
{
    char *bytes = NULL;
    size_t length = 0;
    const char *path = scratch_write_bytes("any", LITERAL("a\0b\n"));
    ck_assert_int_eq(bc_file_read(path, &bytes, &length, NULL), BC_OK);
    ck_assert_uint_eq(length, 4);
    ck_assert_int_eq(memcmp(bytes, "a\0b\n\0\0", 6), 0);
    free(bytes);
    ck_assert_int_eq(bc_file_read(scratch_write("none", ""), &bytes, &length, NULL), BC_OK);
    ck_assert_uint_eq(length, 0);
    free(bytes);
}
END_TEST

/* A pipe has no size to be known beforehand. */
START_TEST(reads_a_pipe)
{
    int ends[2];
    char path[64], block[4096], *bytes = NULL;
    size_t length = 0;
    ck_assert_int_eq(pipe(ends), 0);
    memset(block, 'x', sizeof block);
    ck_assert_int_ge(fcntl(ends[1], F_SETPIPE_SZ, 1 << 18), 1 << 18);
    for (int i = 0; i < 40; i++)
        ck_assert_int_eq((int)write(ends[1], block, sizeof block), (int)sizeof block);
    close(ends[1]);
    snprintf(path, sizeof path, "/dev/fd/%d", ends[0]);
    ck_assert_int_eq(bc_file_read(path, &bytes, &length, NULL), BC_OK);
    close(ends[0]);
    ck_assert_uint_eq(length, 40 * sizeof block);
    for (size_t i = 0; i < length; i++)
        ck_assert(bytes[i] == 'x');
    free(bytes);
}
END_TEST

START_TEST(refuses_what_is_no_file)
{
    expect_unread(scratch_path("missing.csv"), BC_ERROR_INPUT, "missing.csv: found no such file");
    expect_unread("", BC_ERROR_INPUT, "found no such file");
    expect_unread(scratch_folder(), BC_ERROR_INPUT, ": found a folder; expected a CSV file");
    expect_unread(scratch_path("missing\x1B[2J.csv"), BC_ERROR_INPUT, "missing\\x1B[2J.csv: found no such file");
    scratch_write("file", "x");
    expect_unread(scratch_path("file/inside.csv"), BC_ERROR_INPUT, "found no such file");
    ck_assert_int_eq(symlink("loop", scratch_path("loop")), 0);
    expect_unread(scratch_path("loop"), BC_ERROR_INPUT, "found no file to open here");
}
END_TEST

/* Root may read everything, so the test reads as nobody. */
START_TEST(refuses_what_may_not_be_read)
{
    const char *path = scratch_write("secret.csv", "x\n1\n");
    ck_assert_int_eq(chmod(path, 0), 0);
    uid_t user = geteuid();
    if (user == 0)
        ck_assert_int_eq(seteuid(65534), 0);
    expect_unread(path, BC_ERROR_INPUT, "secret.csv: found a file that may not be read");
    if (user == 0)
        ck_assert_int_eq(seteuid(0), 0);
}
END_TEST

START_TEST(size_limit)
{
    char *bytes = NULL;
    size_t length = 0;
    const char *path = scratch_write("large", "");
    ck_assert_int_eq(truncate(path, (off_t)BC_FILE_MOST + 1), 0);
    expect_unread(path, BC_ERROR_INPUT, "large: found a file over 64 MiB");
    ck_assert_int_eq(truncate(path, (off_t)BC_FILE_MOST), 0);
    ck_assert_int_eq(bc_file_read(path, &bytes, &length, NULL), BC_OK);
    ck_assert_uint_eq(length, BC_FILE_MOST);
    free(bytes);
    expect_unread("/dev/zero", BC_ERROR_INPUT, "/dev/zero: found a file over 64 MiB");
}
END_TEST

/* A process's memory is not mapped at address 0, where reading begins: the kernel answers EIO. */
START_TEST(read_error)
{
    if (access("/proc/self/mem", R_OK) != 0) {
        fprintf(stderr, "tables: test of a read error skipped: no /proc/self/mem here\n");
        return;
    }
    expect_unread("/proc/self/mem", BC_ERROR_IO, "/proc/self/mem: found a failure while reading");
}
END_TEST

Suite *file_suite(void)
{
    Suite *suite = suite_create("file");
    TCase *tcase = scratch_case("file");
    tcase_add_test(tcase, reads_bytes);
    tcase_add_test(tcase, reads_a_pipe);
    tcase_add_test(tcase, refuses_what_is_no_file);
    tcase_add_test(tcase, refuses_what_may_not_be_read);
    tcase_add_test(tcase, size_limit);
    tcase_add_test(tcase, read_error);
    suite_add_tcase(suite, tcase);
    return suite;
}
