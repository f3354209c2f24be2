/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of the record's own: an entry is there as a whole or not at all. (SQLite's own
 * allocations are not among them.)
 */
#include "cases.h"
#include "entry.h"
#include "out_of_memory.h"
#include "scratch.h"
#include <math.h>
#include <stdlib.h>

/* Without scratch_path(), which allocates. */
typedef struct place {
    const char *path;
    char number[BC_RECORD_NUMBER_SIZE];
} place;

static bc_status write_one(void *context, bc_error *error)
{
    place *p = context;
    bc_record *record = NULL;
    bc_status status = bc_record_open(p->path, true, &record, error);
    if (status == BC_OK)
        status = write_entry(record, BC_RECORD_INSPECTION, 1, 7, p->number, error);
    bc_record_close(record);
    return status;
}

/* After every failure there are as many entries as were said to be written. */
START_TEST(an_entry_in_scarce_memory)
{
    place p = {.path = scratch_path("scarce.db")};
    bc_record *record = NULL;
    bc_record_list list;
    bc_record_check check;
    unsigned long last = 0;
    ck_assert_uint_gt(fail_each_allocation(write_one, &p), 2);
    ck_assert_int_eq(bc_record_open(p.path, false, &record, NULL), BC_OK);
    ck_assert_int_eq(bc_record_list_read(record, NULL, &list, NULL), BC_OK);
    ck_assert_uint_gt(list.count, 0);
    for (size_t i = 0; i < list.count; i++)
        last = strtoul(list.line[i].number + 2, NULL, 10);
    ck_assert_uint_eq(last, list.count); /* no number was given away for nothing */
    ck_assert_str_eq(list.line[list.count - 1].number, p.number);
    bc_record_list_clear(&list);
    ck_assert_int_eq(bc_record_check_all(record, &check, NULL), BC_OK);
    ck_assert_uint_eq(check.faults, 0);
    bc_record_check_clear(&check);
    bc_record_close(record);
}
END_TEST

static bc_status read_all(void *context, bc_error *error)
{
    bc_record *record = context;
    bc_record_list list = {0};
    bc_record_entry entry = {0};
    bc_record_runs runs = {0};
    bc_record_check check = {0};
    bc_status status = bc_record_list_read(record, "window", &list, error);
    expect_memory_error(status == BC_OK || list.line == NULL);
    if (status == BC_OK)
        status = bc_record_entry_read(record, "I-0001", &entry, error);
    expect_memory_error(status == BC_OK || entry.input == NULL);
    if (status == BC_OK)
        status = bc_record_runs_read(record, &runs, error);
    expect_memory_error(status == BC_OK || runs.run == NULL);
    if (status == BC_OK)
        status = bc_record_check_all(record, &check, error);
    expect_memory_error(status == BC_OK || check.fault == NULL);
    bc_record_list_clear(&list);
    bc_record_entry_clear(&entry);
    bc_record_runs_clear(&runs);
    bc_record_check_clear(&check);
    return status;
}

static void put_run(bc_record *record)
{
    bc_record_run_layer layer = {"MgF2", 99.6, 100.1, 0.2, 1.04, false, 3.0};
    bc_record_run_material material = {"MgF2", 1.005, 0.002, NAN, NAN};
    bc_record_run_finding finding = {"band", 0.004, 0.005, 0.8};
    double information = 25.0;
    const bc_record_run run = {.witness = 1,
                               .path = "scan.csv",
                               .verdict = "accept",
                               .limit_used = 0.8,
                               .scale = 1.0,
                               .scale_sigma = 0.001,
                               .layers = 1,
                               .layer = &layer,
                               .information = &information,
                               .materials = 1,
                               .material = &material,
                               .findings = 1,
                               .finding = &finding};
    static const char *const words[] = {"inspect", "scan.csv"};
    const bc_record_command command = {.kind = BC_RECORD_INSPECTION,
                                       .date = "2026-05-04",
                                       .version = "0.1.0",
                                       .subject = "orchard window",
                                       .words = 2,
                                       .word = words};
    char number[BC_RECORD_NUMBER_SIZE];
    ck_assert_int_eq(bc_record_begin(record, &command, 1, number, NULL), BC_OK);
    ck_assert_int_eq(bc_record_add_input(record, "scan.csv", "nm,R\n", 5, NULL), BC_OK);
    ck_assert_int_eq(bc_record_add_output(record, NULL, "accept\n", 7, NULL), BC_OK);
    ck_assert_int_eq(bc_record_add_run(record, &run, NULL), BC_OK);
    ck_assert_int_eq(bc_record_commit(record, 0, "accept", NULL), BC_OK);
}

START_TEST(reading_in_scarce_memory)
{
    bc_record *record = NULL;
    ck_assert_int_eq(bc_record_open(scratch_path("read.db"), true, &record, NULL), BC_OK);
    put_run(record);
    ck_assert_uint_gt(fail_each_allocation(read_all, record), 20);
    bc_record_close(record);
}
END_TEST

TCase *memory_case(void)
{
    TCase *tests = scratch_case("memory");
    tcase_add_test(tests, an_entry_in_scarce_memory);
    tcase_add_test(tests, reading_in_scarce_memory);
    return tests;
}
