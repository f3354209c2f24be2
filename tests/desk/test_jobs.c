/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "confine.h"
#include "desk_suites.h"
#include "results.h"
#include "slots.h"
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

START_TEST(jobs_begin_in_the_order_they_came)
{
    static desk_slots slots;
    bool full = false;
    const char *const who[] = {"a", "b", "c", "d"};
    desk_slots_open(&slots);
    ck_assert(desk_slots_take(&slots, who[0], true, &full));
    ck_assert(desk_slots_take(&slots, who[1], true, &full));
    ck_assert(!desk_slots_take(&slots, who[2], true, &full));
    ck_assert(!desk_slots_take(&slots, who[3], true, &full));
    ck_assert(desk_slots_take(&slots, "quick", false, &full)); /* does not wait for slow ones */
    desk_slots_give(&slots, true);
    ck_assert(!desk_slots_take(&slots, who[3], true, &full)); /* the other was there before */
    ck_assert(desk_slots_take(&slots, who[2], true, &full));
    desk_slots_give(&slots, true);
    desk_slots_leave(&slots, who[3]);
    ck_assert(desk_slots_take(&slots, who[0], true, &full));
    ck_assert(!full);
}
END_TEST

START_TEST(no_more_wait_than_there_is_room_for)
{
    static desk_slots slots;
    static char who[DESK_MOST_WAIT + DESK_SLOW_SLOTS + 1];
    bool full = false;
    desk_slots_open(&slots);
    for (size_t i = 0; i < sizeof who - 1; i++) {
        desk_slots_take(&slots, &who[i], true, &full);
        ck_assert(!full);
    }
    ck_assert(!desk_slots_take(&slots, &who[sizeof who - 1], true, &full));
    ck_assert(full);
}
END_TEST

/* The newest are kept, by the job and the name. */
START_TEST(results_are_kept_until_newer_ones_come)
{
    static desk_results results;
    bc_text out = {0};
    desk_results_open(&results);
    for (int i = 0; i <= DESK_RESULTS; i++) {
        char name[16];
        bc_text text = {.data = strdup("x"), .length = 1, .capacity = 2};
        snprintf(name, sizeof name, "%d.csv", i);
        desk_results_keep(&results, "id", name, &text);
    }
    ck_assert(!desk_results_find(&results, "id", "0.csv", &out));
    ck_assert(desk_results_find(&results, "id", "1.csv", &out));
    ck_assert_str_eq(out.data, "x");
    bc_text_clear(&out);
    ck_assert(!desk_results_find(&results, "other", "1.csv", &out));
    ck_assert(!desk_results_find(&results, "", "", &out));
    desk_results_clear(&results);
}
END_TEST

START_TEST(a_folder_goes_with_all_that_is_in_it)
{
    desk_folder home;
    char name[DESK_NAME_SIZE], path[4096];
    int job;
    ck_assert_int_eq(desk_folder_make(&home, NULL), BC_OK);
    strcpy(path, home.path);
    ck_assert_int_eq(desk_job_folder_make(&home, name, &job, NULL), BC_OK);
    ck_assert_int_eq(desk_file_write(job, "a.csv", "b", 1, NULL), BC_OK);
    ck_assert_int_eq(desk_file_write(job, "a.csv", "b", 1, NULL), BC_ERROR_INPUT); /* nothing is written over */
    ck_assert_int_eq(symlinkat("/etc/hostname", job, "link"), 0);
    bc_text out = {0};
    ck_assert_int_eq(desk_file_read(job, "link", &out, NULL), BC_ERROR_INPUT); /* nor is a link followed */
    close(job);
    desk_folder_remove(&home);
    ck_assert_int_eq(access(path, F_OK), -1);
}
END_TEST

/* In a process of its own, which Check forks for each test. */
START_TEST(nothing_is_written_elsewhere)
{
    static const char inside[] = BC_BUILD_DIR "/tests/desk-inside", outside[] = BC_BUILD_DIR "/tests/desk-outside";
    const char *folder[] = {NULL, inside};
    int file;
    mkdir(inside, 0700); /* both may be there from the last time */
    mkdir(outside, 0700);
    if (desk_confine(2, folder)) {
        file = open(BC_BUILD_DIR "/tests/desk-inside/x", O_WRONLY | O_CREAT, 0600);
        ck_assert_int_ge(file, 0);
        close(file);
        ck_assert_int_eq(open(BC_BUILD_DIR "/tests/desk-outside/x", O_WRONLY | O_CREAT, 0600), -1);
        ck_assert_int_eq(rename(BC_BUILD_DIR "/tests/desk-inside/x", BC_BUILD_DIR "/tests/desk-outside/x"), -1);
        ck_assert_int_eq(unlink(BC_BUILD_DIR "/tests/desk-inside/x"), 0);
        ck_assert_int_ge(open("/dev/null", O_WRONLY), 0);
        ck_assert_int_ge(open("/etc/passwd", O_RDONLY), 0);
    }
}
END_TEST

Suite *jobs_suite(void)
{
    Suite *suite = suite_create("jobs");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, jobs_begin_in_the_order_they_came);
    tcase_add_test(tcase, no_more_wait_than_there_is_room_for);
    tcase_add_test(tcase, results_are_kept_until_newer_ones_come);
    tcase_add_test(tcase, a_folder_goes_with_all_that_is_in_it);
    tcase_add_test(tcase, nothing_is_written_elsewhere);
    suite_add_tcase(suite, tcase);
    return suite;
}
