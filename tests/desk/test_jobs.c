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

#define ANN "a"
#define BEN "b"
#define CAT "c"

static bool take(desk_slots *slots, const char *who, const char *person, bool slow)
{
    bool full = true;
    const bool taken = desk_slots_take(slots, who, person, slow, &full);
    ck_assert(!full);
    return taken;
}

START_TEST(one_persons_jobs_begin_in_the_order_they_came)
{
    static desk_slots slots;
    const char *const who[] = {"1", "2", "3", "4"};
    desk_slots_open(&slots, DESK_SLOW_SLOTS);
    ck_assert(take(&slots, who[0], ANN, true));
    ck_assert(take(&slots, who[1], ANN, true));
    ck_assert(!take(&slots, who[2], ANN, true));
    ck_assert(!take(&slots, who[3], ANN, true));
    ck_assert(take(&slots, "quick", ANN, false)); /* does not wait for slow ones */
    desk_slots_give(&slots, ANN, true);
    ck_assert(!take(&slots, who[3], ANN, true)); /* the other was there before */
    ck_assert(take(&slots, who[2], ANN, true));
    desk_slots_give(&slots, ANN, true);
    desk_slots_leave(&slots, who[3]);
    ck_assert(take(&slots, who[0], ANN, true));
}
END_TEST

/* However many jobs of one person wait, the others' turns come. */
START_TEST(people_take_turns)
{
    static desk_slots slots;
    static const char anns[DESK_EACH_WAITS], other[4];
    desk_slots_open(&slots, DESK_SLOW_SLOTS);
    ck_assert(take(&slots, &anns[0], ANN, true));
    ck_assert(take(&slots, &anns[1], ANN, true));
    for (size_t i = 2; i < sizeof anns; i++)
        ck_assert(!take(&slots, &anns[i], ANN, true));
    ck_assert(!take(&slots, &other[0], BEN, true));
    ck_assert(!take(&slots, &other[1], BEN, true));
    ck_assert(!take(&slots, &other[2], CAT, true));
    desk_slots_give(&slots, ANN, true);
    ck_assert(!take(&slots, &anns[2], ANN, true));
    ck_assert(!take(&slots, &other[2], CAT, true)); /* came after BEN, who has had no turn either */
    ck_assert(take(&slots, &other[0], BEN, true));
    desk_slots_give(&slots, ANN, true);
    ck_assert(!take(&slots, &other[1], BEN, true));
    ck_assert(!take(&slots, &anns[2], ANN, true));
    ck_assert(take(&slots, &other[2], CAT, true));
    desk_slots_give(&slots, BEN, true);
    ck_assert(!take(&slots, &other[1], BEN, true)); /* ANN's last turn is longer ago */
    ck_assert(take(&slots, &anns[2], ANN, true));
}
END_TEST

/* Behind a proxy. */
START_TEST(one_person_does_not_take_every_slow_place)
{
    static desk_slots slots;
    const char *const who[] = {"1", "2", "3"};
    desk_slots_open(&slots, 1);
    ck_assert(take(&slots, who[0], ANN, true));
    ck_assert(!take(&slots, who[1], ANN, true));
    ck_assert(take(&slots, who[2], BEN, true));
    desk_slots_give(&slots, BEN, true);
    ck_assert(!take(&slots, who[1], ANN, true));
    desk_slots_give(&slots, ANN, true);
    ck_assert(take(&slots, who[1], ANN, true));
}
END_TEST

START_TEST(no_more_wait_than_there_is_room_for)
{
    static desk_slots slots;
    static const char who[2 * DESK_MOST_WAIT];
    bool full = false;
    char person[] = "a";
    size_t waiting = 0;
    desk_slots_open(&slots, DESK_SLOW_SLOTS);
    for (size_t i = 0; i < DESK_EACH_WAITS + DESK_SLOW_SLOTS; i++)
        take(&slots, &who[i], person, true);
    ck_assert(!desk_slots_take(&slots, &who[sizeof who - 1], person, true, &full));
    ck_assert(full); /* for this person, not for the others */
    for (waiting = DESK_EACH_WAITS; waiting < DESK_MOST_WAIT; waiting++) {
        if (waiting % DESK_EACH_WAITS == 0)
            person[0]++;
        ck_assert(!take(&slots, &who[waiting + DESK_SLOW_SLOTS], person, true));
    }
    ck_assert(!desk_slots_take(&slots, &who[sizeof who - 1], "z", true, &full));
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
        ck_assert_int_eq(open("/dev/zero", O_WRONLY), -1);
        ck_assert_int_ge(open("/etc/passwd", O_RDONLY), 0);
    }
}
END_TEST

Suite *jobs_suite(void)
{
    Suite *suite = suite_create("jobs");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, one_persons_jobs_begin_in_the_order_they_came);
    tcase_add_test(tcase, people_take_turns);
    tcase_add_test(tcase, one_person_does_not_take_every_slow_place);
    tcase_add_test(tcase, no_more_wait_than_there_is_room_for);
    tcase_add_test(tcase, results_are_kept_until_newer_ones_come);
    tcase_add_test(tcase, a_folder_goes_with_all_that_is_in_it);
    tcase_add_test(tcase, nothing_is_written_elsewhere);
    suite_add_tcase(suite, tcase);
    return suite;
}
