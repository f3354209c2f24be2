/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include "kept.h"
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <unistd.h>

/* What a call that fails in such a way must come to. */
typedef struct way {
    const char *call;
    int number;
    bool lasts;
    int code; /* 0: as if nothing had been; else this one, or 0 where the call was about nothing that matters. What a
                 long search has found goes to standard output then, and 2 becomes 3 */
} way;

static const way ways[] = {
    {"write", ENOSPC, true, 3},    {"write", EIO, false, 3},         {"write", EDQUOT, false, 3},
    {"write", EINTR, false, 0},    {"write", EAGAIN, false, 0},      {"short", 0, true, 0},
    {"fsync", EIO, false, 3},      {"fsync", ENOSPC, false, 3},      {"rename", EIO, false, 3},
    {"rename", EACCES, false, 2},  {"fchmod", EIO, false, 3},        {"close", EIO, false, 3},
    {"mkostemp", ENOSPC, true, 3}, {"mkostemp", EROFS, true, 2},     {"read", EIO, false, 3},
    {"read", EINTR, false, 0},     {"tmpfile", EOPNOTSUPP, true, 0}, {"linkat", ENOENT, true, 0},
    {"linkat", ENOSPC, true, 3},
};
#define WAYS (sizeof ways / sizeof ways[0])

/* Calls of one kind fail in turn, for every command with BC_FAULTS=all; without it every fifth meets this way of
 * failing, and each command some four of the ways. */
START_TEST(every_call_fails_in_turn)
{
    const way *how = &ways[_i];
    fault_write_inputs();
    const size_t files = count_files();
    for (size_t which = 0; which < fault_line_count; which++) {
        if (!fault_all() && ((size_t)_i + which) % 5 != 0)
            continue;
        const fault none = {.call = how->call};
        const char *line = fault_lines[which];
        /* What a search found goes to standard output, and the machine failed; its other files end as any. */
        const int kept_code = how->code == 2 && fault_keeps_best(line) ? 3 : how->code;
        long runs = 0, as_usual = 0;
        const fault_outcome good = fault_run(&none, line);
        kept usual = keep(&good.run);
        kept_restore();
        for (long at = 1; at <= good.calls; at = fault_next(at), runs++) {
            const fault here = {how->call, at, how->number, how->lasts, 0};
            const fault_outcome result = fault_run(&here, line);
            ck_assert_uint_eq(count_files(), files);
            if (kept_same(&usual, &result.run)) {
                as_usual++;
            } else {
                ck_assert_msg(how->code != 0 && (result.run.code == how->code || result.run.code == kept_code),
                              "'%s', %s %ld (%s) ended with %d: %s", line, how->call, at, strerror(how->number),
                              result.run.code, result.run.err);
                ck_assert_msg(strstr(result.run.err, strerror(how->number)) != NULL, "'%s', %s %ld says: %s", line,
                              how->call, at, result.run.err);
                ck_assert_msg(kept_whole(&usual), "'%s', %s %ld left a broken file", line, how->call, at);
            }
            kept_restore();
        }
        ck_assert_msg(how->code == 0 || strcmp(how->call, "close") == 0 || strcmp(how->call, "read") == 0 ||
                          as_usual == 0,
                      "'%s': a failed %s does not show", line, how->call);
        fault_tell(how->call, which, runs, as_usual);
        kept_clear(&usual);
    }
}
END_TEST

static const char *const writers[] = {
    "spectrum stack.csv --quiet -o ",
    "check stack.csv --callouts callouts.csv -o ",
    "refine stack.csv --callouts callouts.csv --quiet -o ",
    "materials layer --tables . -o ",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 20 -o ",
};
#define WRITERS (sizeof writers / sizeof writers[0])
#define REFINE  2 /* its stack goes to standard output when the file cannot be written: nothing is lost */

static outcome write_to(size_t which, const char *path)
{
    char line[512];
    snprintf(line, sizeof line, "%s%s", writers[which], path);
    return run(line);
}

/* A real file system: full, then read-only. Only root may mount one, so elsewhere the test steps aside. */
START_TEST(a_disk_that_is_full_or_read_only)
{
    char disk[PATH_SIZE];
    fault_write_inputs();
    snprintf(disk, sizeof disk, "%s", scratch_path("disk"));
    ck_assert_int_eq(mkdir(disk, 0755), 0);
    if (mount("tmpfs", disk, "tmpfs", 0, "size=4k") != 0) {
        fprintf(stderr, "no file system can be mounted here (%s): left out\n", strerror(errno));
        return;
    }
    scratch_write("disk/old.csv", "as it was");
    for (size_t i = 0; i < WRITERS; i++) {
        outcome result = write_to(i, "disk/old.csv");
        ck_assert_msg(result.code == 3 || result.code == -1, "'%s' ended with %d: %s", writers[i], result.code,
                      result.err);
        ck_assert_str_eq(content("disk/old.csv"), "as it was");
    }
    ck_assert_int_eq(mount("tmpfs", disk, "tmpfs", MS_REMOUNT | MS_RDONLY, "size=4k"), 0);
    for (size_t i = 0; i < WRITERS; i++) {
        outcome result = write_to(i, "disk/old.csv");
        ck_assert_msg(result.code == 2 && strstr(result.err, "Read-only file system") != NULL, "'%s': %d %s",
                      writers[i], result.code, result.err);
        result = write_to(i, "disk/new.csv");
        ck_assert_msg(result.code == 2 && strstr(result.err, "Read-only file system") != NULL, "'%s': %d %s",
                      writers[i], result.code, result.err);
    }
    ck_assert_int_eq(umount(disk), 0);
}
END_TEST

START_TEST(a_place_where_nothing_can_be_written_is_two)
{
    static const char *const places[] = {"/proc/new.csv", "/dev/null/new.csv", "nowhere/new.csv", "stack.csv/new.csv",
                                         "."};
    fault_write_inputs();
    const size_t files = count_files();
    for (size_t i = 0; i < WRITERS; i++) {
        for (size_t place = 0; place < sizeof places / sizeof places[0]; place++) {
            const outcome result = write_to(i, places[place]);
            ck_assert_msg((result.code == 2 && result.out[0] == '\0') || (result.code == 3 && i == REFINE),
                          "'%s%s' ended with %d: %s%s", writers[i], places[place], result.code, result.err, result.out);
        }
    }
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

/* The words go nowhere, and no file takes their place. */
START_TEST(standard_error_that_is_closed)
{
    const circumstances mute = {.file_size = -1, .closed_error = true};
    fault_write_inputs();
    for (size_t which = 0; which < fault_line_count; which++) {
        const outcome good = run(fault_lines[which]);
        kept usual = keep(&good);
        kept_restore();
        const outcome silent = run_in(&mute, fault_lines[which]);
        ck_assert_int_eq(silent.code, usual.code);
        ck_assert_str_eq(silent.out, usual.out);
        ck_assert(kept_whole(&usual));
        kept_restore();
        kept_clear(&usual);
    }
}
END_TEST

Suite *writes_suite(void)
{
    Suite *suite = suite_create("writes");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 3600);
    tcase_add_loop_test(tcase, every_call_fails_in_turn, 0, WAYS);
    tcase_add_test(tcase, a_disk_that_is_full_or_read_only);
    tcase_add_test(tcase, a_place_where_nothing_can_be_written_is_two);
    tcase_add_test(tcase, standard_error_that_is_closed);
    suite_add_tcase(suite, tcase);
    return suite;
}
