/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cases.h"
#include "entry.h"
#include "scratch.h"
#include <sys/wait.h>
#include <unistd.h>

#define EACH 15

/* What was begun and not committed was never there, and its number is free again. */
START_TEST(what_is_not_committed_is_undone)
{
    const bc_record_command command = {
        .kind = BC_RECORD_QUOTE, .date = "2026-05-04", .version = "0.1.0", .subject = ""};
    char number[BC_RECORD_NUMBER_SIZE];
    bc_record *record = NULL;
    bc_record_list list;
    ck_assert_int_eq(bc_record_open(scratch_path("record.db"), true, &record, NULL), BC_OK);
    ck_assert_int_eq(bc_record_begin(record, &command, 0, number, NULL), BC_OK);
    ck_assert_int_eq(bc_record_add_output(record, NULL, "a", 1, NULL), BC_OK);
    bc_record_close(record);
    ck_assert_int_eq(bc_record_open(scratch_path("record.db"), true, &record, NULL), BC_OK);
    ck_assert_int_eq(bc_record_list_read(record, NULL, &list, NULL), BC_OK);
    ck_assert_uint_eq(list.count, 0);
    ck_assert_int_eq(write_entry(record, BC_RECORD_QUOTE, 0, 3, number, NULL), BC_OK);
    ck_assert_str_eq(number, "Q-0001");
    bc_record_close(record);
}
END_TEST

/* Four who write at once, each beginning the record as if it were the first: every entry is there under its own number.
 */
START_TEST(several_write_at_once)
{
    bc_record *record = NULL;
    bc_record_list list;
    bc_record_check check;
    for (int writer = 0; writer < 4; writer++)
        if (fork() == 0) {
            char number[BC_RECORD_NUMBER_SIZE];
            bc_status status = bc_record_open(scratch_path("record.db"), true, &record, NULL);
            for (unsigned i = 0; status == BC_OK && i < EACH; i++)
                status = write_entry(record, BC_RECORD_QUOTE, 0, i + 100u * (unsigned)writer, number, NULL);
            bc_record_close(record);
            _exit(status == BC_OK ? 0 : 1);
        }
    for (int writer = 0; writer < 4; writer++) {
        int state;
        ck_assert_int_gt(wait(&state), 0);
        ck_assert_int_eq(state, 0);
    }
    ck_assert_int_eq(bc_record_open(scratch_path("record.db"), false, &record, NULL), BC_OK);
    ck_assert_int_eq(bc_record_list_read(record, NULL, &list, NULL), BC_OK);
    ck_assert_uint_eq(list.count, 4 * EACH);
    ck_assert_str_eq(list.line[4 * EACH - 1].number, "Q-0060");
    bc_record_list_clear(&list);
    ck_assert_int_eq(bc_record_check_all(record, &check, NULL), BC_OK);
    ck_assert_uint_eq(check.faults, 0);
    bc_record_check_clear(&check);
    bc_record_close(record);
}
END_TEST

/* A thousand times: tests/record_kills. */
START_TEST(a_kill_loses_nothing)
{
    kill_figures figures;
    ck_assert(kill_writers(scratch_path("record.db"), 20, 4, &figures));
    ck_assert_int_eq(figures.kills, 20);
    ck_assert_int_gt(figures.confirmed, 0);
    ck_assert_int_eq(figures.lost, 0);
    ck_assert_int_eq(figures.faults, 0);
}
END_TEST

TCase *survives_case(void)
{
    TCase *tests = scratch_case("survives");
    tcase_add_test(tests, what_is_not_committed_is_undone);
    tcase_add_test(tests, several_write_at_once);
    tcase_add_test(tests, a_kill_loses_nothing);
    return tests;
}
