/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cases.h"
#include "entry.h"
#include "scratch.h"
#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>

static bc_record *open_record(void)
{
    bc_record *record = NULL;
    bc_error error = {0};
    ck_assert_msg(bc_record_open(scratch_path("record.db"), true, &record, &error) == BC_OK, "%s", error.message);
    return record;
}

static void put(bc_record *record, bc_record_kind kind, unsigned long first, const char *expected)
{
    char number[BC_RECORD_NUMBER_SIZE];
    bc_error error = {0};
    ck_assert_msg(write_entry(record, kind, first, 7, number, &error) == BC_OK, "%s", error.message);
    ck_assert_str_eq(number, expected);
}

static size_t found(bc_record *record, const char *words)
{
    bc_record_list list;
    ck_assert_int_eq(bc_record_list_read(record, words, &list, NULL), BC_OK);
    const size_t count = list.count;
    bc_record_list_clear(&list);
    return count;
}

static size_t faults(bc_record *record, bc_record_check *found)
{
    bc_record_check check;
    ck_assert_int_eq(bc_record_check_all(record, &check, NULL), BC_OK);
    *found = check;
    bc_record_check_clear(&check);
    return found->faults;
}

/* Each kind counts for itself, from the shop's first number on, and never backwards. */
START_TEST(numbers_count_up)
{
    bc_record *record = open_record();
    put(record, BC_RECORD_QUOTE, 123, "Q-0123");
    put(record, BC_RECORD_QUOTE, 123, "Q-0124");
    put(record, BC_RECORD_INSPECTION, 0, "I-0001");
    bc_record_close(record);
    record = open_record();
    put(record, BC_RECORD_QUOTE, 5, "Q-0125");
    put(record, BC_RECORD_QUOTE, 20000, "Q-20000");
    put(record, BC_RECORD_DESIGN, 1, "D-0001");
    put(record, BC_RECORD_INDEX, 1, "N-0001");
    bc_record_close(record);
}
END_TEST

/* What comes out is what went in, to the byte. */
START_TEST(an_entry_comes_back)
{
    bc_record *record = open_record();
    bc_record_entry entry;
    put(record, BC_RECORD_QUOTE, 1, "Q-0001");
    ck_assert_int_eq(bc_record_entry_read(record, "q-0001", &entry, NULL), BC_OK);
    ck_assert_str_eq(entry.line.number, "Q-0001");
    ck_assert_str_eq(entry.line.date, "2026-05-04");
    ck_assert_str_eq(entry.line.kind, "quote");
    ck_assert_str_eq(entry.line.command, "quote");
    ck_assert_str_eq(entry.line.verdict, "feasible");
    ck_assert_str_eq(entry.tables, "/tables");
    ck_assert_uint_eq(entry.words, 4);
    ck_assert_str_eq(entry.word[2], "1.52");
    ck_assert_uint_eq(entry.settings, 1);
    ck_assert_str_eq(entry.setting[0].value, "own");
    ck_assert_uint_eq(entry.inputs, 3);
    ck_assert_str_eq(entry.input[0].path, "stack.csv");
    ck_assert_str_eq(entry.input[0].bytes, "role\n");
    ck_assert_ptr_null(entry.input[1].bytes);
    ck_assert_uint_eq(entry.input[2].length, 20000);
    ck_assert_uint_eq(entry.outputs, 2);
    ck_assert_ptr_null(entry.output[0].path);
    ck_assert_uint_eq(entry.output[1].length, 19993);
    ck_assert_mem_eq(entry.output[1].bytes, entry.input[2].bytes + 7, 19993);
    bc_record_entry_clear(&entry);
    bc_record_close(record);
}
END_TEST

START_TEST(words_are_found)
{
    bc_record *record = open_record();
    put(record, BC_RECORD_QUOTE, 1, "Q-0001");
    put(record, BC_RECORD_DESIGN, 1, "D-0001");
    ck_assert_uint_eq(found(record, NULL), 2);
    ck_assert_uint_eq(found(record, "q-00"), 1);
    ck_assert_uint_eq(found(record, "ORCHARD"), 2);
    ck_assert_uint_eq(found(record, "425-675"), 2);
    ck_assert_uint_eq(found(record, "verdict: feas"), 2);
    ck_assert_uint_eq(found(record, "%"), 2); /* of "0.5 %": no sign for anything */
    ck_assert_uint_eq(found(record, "_"), 0);
    ck_assert_uint_eq(found(record, "no such words"), 0);
    bc_record_close(record);
}
END_TEST

/* Two entries of the same files keep them once. */
START_TEST(a_file_is_kept_once)
{
    bc_record *record = open_record();
    bc_record_check check;
    put(record, BC_RECORD_QUOTE, 1, "Q-0001");
    ck_assert_uint_eq(faults(record, &check), 0);
    ck_assert_uint_eq(check.files, 4);
    put(record, BC_RECORD_QUOTE, 1, "Q-0002");
    ck_assert_uint_eq(faults(record, &check), 0);
    ck_assert_uint_eq(check.files, 4);
    ck_assert_uint_eq(check.entries, 2);
    bc_record_close(record);
}
END_TEST

static void damage(const char *statement)
{
    sqlite3 *database;
    ck_assert_int_eq(sqlite3_open(scratch_path("record.db"), &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database, statement, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
}

/* A byte that changed, a file that is gone, an entry without a result. */
START_TEST(a_check_finds_damage)
{
    static const char *const change[] = {
        "UPDATE file SET bytes = 'rule' WHERE bytes = CAST('role' || char(10) AS BLOB)",
        "DELETE FROM file WHERE length(bytes) = 5", "DELETE FROM output", "UPDATE entry SET verdict = NULL"};
    for (size_t i = 0; i < sizeof change / sizeof *change; i++) {
        bc_record_check check;
        bc_record *record = open_record();
        char number[BC_RECORD_NUMBER_SIZE];
        ck_assert_int_eq(write_entry(record, BC_RECORD_QUOTE, 0, 7, number, NULL), BC_OK);
        bc_record_close(record);
        damage(change[i]);
        record = open_record();
        ck_assert_msg(faults(record, &check) > 0, "%s is not found", change[i]);
        bc_record_close(record);
        remove(scratch_path("record.db"));
    }
}
END_TEST

/* A run of two layers, with all an inspection says of it. */
START_TEST(a_run_comes_back)
{
    bc_record *record = open_record();
    const bc_record_command command = {
        .kind = BC_RECORD_INSPECTION, .date = "2026-05-04", .version = "0.1.0", .subject = ""};
    bc_record_run_layer layer[] = {{"MgF2", 90.0, 91.0, 0.5, 1.04, false, 3.0},
                                   {"HfO2", 20.0, 21.0, 0.7, NAN, true, 4.0}};
    bc_record_run_material material[] = {{"HfO2", 1.05, 0.01, NAN, NAN}, {"MgF2", 1.01, 0.02, 0.003, 0.001}};
    bc_record_run_finding finding[] = {{"band", 0.4, 0.5, 0.8}};
    double information[] = {1.0, 2.0, 3.0, 4.0};
    const bc_record_run run = {.witness = 1,
                               .path = "scan.txt",
                               .verdict = "accept",
                               .limit_used = 0.8,
                               .scale = 1.01,
                               .scale_sigma = 0.002,
                               .of_instrument = 0.0003,
                               .layers = 2,
                               .layer = layer,
                               .information = information,
                               .materials = 2,
                               .material = material,
                               .findings = 1,
                               .finding = finding};
    char number[BC_RECORD_NUMBER_SIZE];
    bc_record_runs runs;
    ck_assert_int_eq(bc_record_begin(record, &command, 0, number, NULL), BC_OK);
    ck_assert_int_eq(bc_record_add_run(record, &run, NULL), BC_OK);
    ck_assert_int_eq(bc_record_commit(record, 0, "accept", NULL), BC_OK);
    ck_assert_int_eq(bc_record_runs_read(record, &runs, NULL), BC_OK);
    ck_assert_uint_eq(runs.count, 1);
    const bc_record_run *back = &runs.run[0];
    ck_assert_str_eq(back->number, "I-0001");
    ck_assert_str_eq(back->path, "scan.txt");
    ck_assert_double_eq(back->of_instrument, 0.0003);
    ck_assert_uint_eq(back->layers, 2);
    ck_assert_str_eq(back->layer[1].material, "HfO2");
    ck_assert(back->layer[1].against && isnan(back->layer[1].tooling) && back->layer[0].tooling == 1.04);
    ck_assert_double_eq(back->layer[1].pull, 4.0);
    ck_assert_mem_eq(back->information, information, sizeof information);
    ck_assert_uint_eq(back->materials, 2);
    ck_assert(isnan(back->material[0].dn) && back->material[1].dn == 0.003);
    ck_assert_double_eq(back->finding[0].limit_used, 0.8);
    bc_record_runs_clear(&runs);
    bc_record_close(record);
}
END_TEST

/* A record of version 1, as its first program wrote it. */
START_TEST(an_old_record_is_brought_up_to_date)
{
    bc_record *record = open_record();
    bc_record_check check;
    bc_record_runs runs;
    put(record, BC_RECORD_QUOTE, 0, "Q-0001");
    bc_record_close(record);
    damage("DROP TABLE witness_information; DROP TABLE witness_layer; DROP TABLE witness_material;"
           "ALTER TABLE witness DROP COLUMN of_instrument; PRAGMA user_version = 1;"
           "INSERT INTO witness VALUES (1, 1, 'old.txt', 'reject', 1.2, 1.0, 0.1)");
    record = open_record();
    put(record, BC_RECORD_QUOTE, 0, "Q-0002");
    ck_assert_uint_eq(found(record, NULL), 2);
    ck_assert_int_eq(bc_record_runs_read(record, &runs, NULL), BC_OK);
    ck_assert_uint_eq(runs.count, 1);
    ck_assert(runs.run[0].layers == 0 && runs.run[0].materials == 0);
    bc_record_runs_clear(&runs);
    ck_assert_uint_eq(faults(record, &check), 0);
    bc_record_close(record);
}
END_TEST

TCase *entries_case(void)
{
    TCase *tests = scratch_case("entries");
    tcase_add_test(tests, numbers_count_up);
    tcase_add_test(tests, an_entry_comes_back);
    tcase_add_test(tests, words_are_found);
    tcase_add_test(tests, a_file_is_kept_once);
    tcase_add_test(tests, a_check_finds_damage);
    tcase_add_test(tests, a_run_comes_back);
    tcase_add_test(tests, an_old_record_is_brought_up_to_date);
    return tests;
}
