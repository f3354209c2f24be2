/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cases.h"
#include "entry.h"
#include "scratch.h"
#include <sqlite3.h>

static void make(const char *statement)
{
    sqlite3 *database;
    ck_assert_int_eq(sqlite3_open(scratch_path("record.db"), &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database, statement, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
}

static void refused(const char *piece)
{
    bc_record *record = NULL;
    bc_error error = {0};
    const bc_status status = bc_record_open(scratch_path("record.db"), false, &record, &error);
    expect_refusal(piece, status, &error, BC_ERROR_INPUT, (const char *const[]){piece, "record.db", NULL});
    ck_assert_ptr_null(record);
}

START_TEST(what_is_no_record)
{
    refused("found no record; expected one, as --record begins it");
    scratch_write("record.db", "a text that is long enough to be no header of a database, whatever else it may be: no");
    refused("found no record, or a damaged one");
}
END_TEST

START_TEST(another_database)
{
    make("CREATE TABLE parts (name)");
    refused("found a database of something else");
    make("PRAGMA user_version = 1");
    refused("found a database of something else");
}
END_TEST

START_TEST(a_newer_record)
{
    bc_record *record = NULL;
    ck_assert_int_eq(bc_record_open(scratch_path("record.db"), true, &record, NULL), BC_OK);
    bc_record_close(record);
    make("PRAGMA user_version = 99");
    refused("found a record of version 99");
}
END_TEST

START_TEST(no_such_number)
{
    bc_record *record = NULL;
    bc_record_entry entry;
    bc_error error = {0};
    ck_assert_int_eq(bc_record_open(scratch_path("record.db"), true, &record, NULL), BC_OK);
    const bc_status status = bc_record_entry_read(record, "Q-0009", &entry, &error);
    expect_refusal("number", status, &error, BC_ERROR_INPUT, (const char *const[]){"found 'Q-0009'", NULL});
    bc_record_close(record);
}
END_TEST

TCase *refusals_case(void)
{
    TCase *tests = scratch_case("refusals");
    tcase_add_test(tests, what_is_no_record);
    tcase_add_test(tests, another_database);
    tcase_add_test(tests, a_newer_record);
    tcase_add_test(tests, no_such_number);
    return tests;
}
