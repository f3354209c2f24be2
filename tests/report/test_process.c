/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include <math.h>
#include <string.h>

/* Values that a person writes, and values that come out of a computation. */
static bc_process_row row_of(const char *material, double factor)
{
    bc_process_row row = {.has_rate = true,
                          .has_tooling = true,
                          .has_thickness_sigma = true,
                          .has_run_thickness_sigma = true,
                          .has_index_sigma = true,
                          .has_minimum = true,
                          .rate_nm_per_s = 0.4 * factor,
                          .tooling = 1.02 / factor,
                          .thickness_sigma = 0.015 / factor,
                          .run_thickness_sigma = -0.007 * factor,
                          .index_sigma = 0.01 / 3.0 * factor,
                          .minimum_nm = 8.0 * factor,
                          .runs = {6.0, 6.0 * factor, 6.0, 6.0, 11.5}};
    strcpy(row.material, material);
    return row;
}

static void expect_same(const bc_process_row *one, const bc_process_row *other)
{
    ck_assert_str_eq(one->material, other->material);
    ck_assert(one->has_rate == other->has_rate && one->rate_nm_per_s == other->rate_nm_per_s);
    ck_assert(one->has_tooling == other->has_tooling && one->tooling == other->tooling);
    ck_assert(one->has_thickness_sigma == other->has_thickness_sigma);
    ck_assert(one->thickness_sigma == other->thickness_sigma);
    ck_assert(one->has_run_thickness_sigma == other->has_run_thickness_sigma &&
              one->run_thickness_sigma == other->run_thickness_sigma);
    ck_assert(one->has_index_sigma == other->has_index_sigma && one->index_sigma == other->index_sigma);
    ck_assert(one->has_minimum == other->has_minimum && one->minimum_nm == other->minimum_nm);
    ck_assert(one->runs.counted == other->runs.counted && one->runs.thickness_sigma == other->runs.thickness_sigma);
    ck_assert(one->runs.index_sigma == other->runs.index_sigma && one->runs.tooling == other->runs.tooling);
}

START_TEST(process_file_reads_back)
{
    fixture all;
    fixture_open(&all);
    for (int i = 0; i < 200; i++) {
        bc_process_row rows[3] = {row_of("*", 1.0), row_of("soft", 1.0 + 1e-3 * sqrt(i)), row_of("hard", 1.0)};
        const bc_process process = {.rows = 3, .row = rows};
        bc_process back;
        bc_text text = {0};
        bc_error error = {0};
        rows[2].has_tooling = i % 2 == 0;
        rows[2].runs.tooling = i % 2 == 0 ? 6.0 : 0.0;
        rows[2].tooling = i % 2 == 0 ? 1.0 + 1.0 / (i + 3) : 1.0;
        ck_assert_int_eq(bc_report_process_csv(&process, "one,line\nand another", &text, NULL), BC_OK);
        bc_status status = bc_process_read(scratch_write("process.csv", text.data), all.materials, &back, &error);
        ck_assert_msg(status == BC_OK, "%s in %s", error.message, text.data);
        ck_assert_uint_eq(back.rows, 3);
        for (size_t row = 0; row < 3; row++)
            expect_same(&rows[row], &back.row[row]);
        bc_process_clear(&back);
        bc_text_clear(&text);
    }
    fixture_close(&all);
}
END_TEST

/* What a person wrote is written again as it was; a column that nobody gave is not made up. */
START_TEST(process_file_as_written)
{
    static const char *const file =
        "# one,line\n# and another\nmaterial,tooling_factor,thickness_sigma_percent,minimum_nm\n"
        "*,1.02,1.5,8\nsoft,,0.7,\nhard,0.97,100,1000000\n";
    fixture all;
    bc_process process;
    bc_text text = {0};
    bc_error error = {0};
    fixture_open(&all);
    bc_status status = bc_process_read(scratch_write("process.csv", file), all.materials, &process, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    ck_assert_int_eq(bc_report_process_csv(&process, "one,line\nand another\n", &text, NULL), BC_OK);
    ck_assert_str_eq(text.data, file);
    bc_text_clear(&text);
    bc_process_clear(&process);
    fixture_close(&all);
}
END_TEST

START_TEST(stack_file_alone)
{
    fixture all;
    bc_stack back;
    bc_text text = {0};
    fixture_open(&all);
    ck_assert_int_eq(bc_report_stack_csv(&all.stack, "for the next run", &text, NULL), BC_OK);
    ck_assert_int_eq(strncmp(text.data, "# for the next run\nrole,material", 32), 0);
    ck_assert_int_eq(bc_stack_read(scratch_write("out.csv", text.data), all.materials, &back, NULL), BC_OK);
    ck_assert_uint_eq(back.layers, all.stack.layers);
    for (size_t i = 0; i < back.layers; i++)
        ck_assert(back.layer[i].thickness_nm == all.stack.layer[i].thickness_nm);
    bc_stack_clear(&back);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

Suite *process_suite(void)
{
    Suite *suite = suite_create("process");
    TCase *tcase = scratch_case("process");
    tcase_add_test(tcase, process_file_reads_back);
    tcase_add_test(tcase, process_file_as_written);
    tcase_add_test(tcase, stack_file_alone);
    suite_add_tcase(suite, tcase);
    return suite;
}
