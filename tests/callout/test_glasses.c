/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Several glasses, rows for one of them, and a wavelength no table reaches.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <string.h>

static const single_layer layer = {1.0, 1.38, 1.52, 99.6};

static double value_on(double complex glass, double wavelength_nm)
{
    single_layer other = layer;
    other.substrate = glass;
    return airy_mean(&other, wavelength_nm, 0.0).R;
}

static void name_glass(bc_callout *callout, const char *name)
{
    strcpy(callout->substrate, name);
}

/* Findings run through the glasses, and through the rows of each; every one is of its own glass. */
START_TEST(order)
{
    static const double n[3] = {1.8, 1.52, 1.62};
    const bc_medium glass[3] = {constant("flint", n[0]), constant("crown", n[1]), constant("middle", n[2])};
    bc_callout rows[3] = {callout_of(500.0, 500.0), callout_of(600.0, 600.0), callout_of(700.0, 700.0)};
    const bc_callouts all = {.count = 3, .callout = rows};
    static const struct {
        size_t glass, row;
    } expected[] = {{0, 0}, {0, 2}, {1, 0}, {1, 1}, {1, 2}, {2, 0}, {2, 2}};
    bench_stack bench;
    bc_check_result result;
    name_glass(&rows[1], "crown");
    lay_layer(&bench, &layer);
    ck_assert_int_eq(bc_check(&bench.stack, &all, 3, glass, NULL, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.count, sizeof expected / sizeof *expected);
    for (size_t f = 0; f < result.count; f++) {
        const bc_finding *finding = &result.finding[f];
        ck_assert_ptr_eq(finding->callout, &rows[expected[f].row]);
        ck_assert_ptr_eq(finding->substrate, &glass[expected[f].glass]);
        expect_near(finding->value, value_on(n[expected[f].glass], rows[expected[f].row].from_nm), 1e-14);
        expect_true(finding->limit_used <= result.limit_used);
    }
    ck_assert(result.finding[result.decisive].limit_used == result.limit_used);
    bc_check_result_clear(&result);
}
END_TEST

/* A row for one glass only does not touch another, however badly that one would do. */
START_TEST(a_row_for_one_glass)
{
    const bc_medium glass[2] = {constant("crown", 1.52), constant("silicon", 3.5)};
    bc_callout rows[2] = {callout_of(500.0, 500.0), callout_of(500.0, 500.0)};
    const bc_callouts all = {.count = 2, .callout = rows};
    bench_stack bench;
    bc_check_result result;
    name_glass(&rows[0], "crown");
    rows[0].limit = 0.02;
    rows[1].limit = 0.4;
    lay_layer(&bench, &layer);
    ck_assert_int_eq(bc_check(&bench.stack, &all, 2, glass, NULL, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.count, 3);
    ck_assert(result.pass);
    bc_check_result_clear(&result);
    name_glass(&rows[0], "silicon");
    ck_assert_int_eq(bc_check(&bench.stack, &all, 2, glass, NULL, &result, NULL), BC_OK);
    ck_assert(!result.pass);
    bc_check_result_clear(&result);
}
END_TEST

/* With no glass given the stack's own is taken, by its name. */
START_TEST(the_stacks_own_glass)
{
    bc_callout rows[2] = {callout_of(500.0, 500.0), callout_of(500.0, 500.0)};
    const bc_callouts all = {.count = 2, .callout = rows};
    bench_stack bench;
    bc_check_result result;
    name_glass(&rows[0], "glass");
    name_glass(&rows[1], "other");
    lay_layer(&bench, &layer);
    ck_assert_int_eq(bc_check(&bench.stack, &all, 0, NULL, NULL, &result, NULL), BC_OK);
    ck_assert_uint_eq(result.count, 1);
    ck_assert_ptr_eq(result.finding[0].substrate, &bench.stack.substrate);
    ck_assert_ptr_eq(result.finding[0].callout, &rows[0]);
    bc_check_result_clear(&result);
}
END_TEST

static void expect_refused(const bc_stack *stack, const bc_callouts *all, size_t glasses, const bc_medium *glass,
                           const char *const expected[], size_t count)
{
    bc_check_result result;
    bc_error error = {0};
    memset(&result, 0xff, sizeof result);
    ck_assert_int_eq(bc_check(stack, all, glasses, glass, NULL, &result, &error), BC_ERROR_INPUT);
    ck_assert_int_eq(error.status, BC_ERROR_INPUT);
    for (size_t i = 0; i < count; i++)
        ck_assert_msg(strstr(error.message, expected[i]) != NULL, "'%s' does not say '%s'", error.message, expected[i]);
    ck_assert_ptr_null(result.finding);
    ck_assert_uint_eq(result.count, 0);
    ck_assert_int_eq(bc_check(stack, all, glasses, glass, NULL, &result, NULL), BC_ERROR_INPUT);
    bc_check_result_clear(&result);
}

START_TEST(no_row_for_a_glass)
{
    static const char *const expected[] = {"no callout", "'flint'"};
    const bc_medium glass[2] = {constant("crown", 1.52), constant("flint", 1.8)};
    bc_callout row = callout_of(500.0, 600.0);
    const bc_callouts all = {.count = 1, .callout = &row}, none = {.count = 0, .callout = NULL};
    bench_stack bench;
    name_glass(&row, "crown");
    lay_layer(&bench, &layer);
    expect_refused(&bench.stack, &all, 2, glass, expected, 2);
    expect_refused(&bench.stack, &none, 1, &glass[1], expected, 2);
}
END_TEST

/* The message names the callout, the table, its range and the wavelength, whichever medium the table is of. */
START_TEST(outside_a_table)
{
    static const char *const expected[] = {"'red end'", "short table", "400", "650", "700"};
    static const double table_nm[] = {400.0, 500.0, 650.0}, n[] = {1.55, 1.53, 1.52};
    for (int where = 0; where < 4; where++) {
        bc_callout rows[2] = {callout_of(400.0, 650.0), callout_of(700.0, 700.0)};
        const bc_callouts all = {.count = 2, .callout = rows}, first = {.count = 1, .callout = rows};
        const bc_medium small = table("short table", 3, table_nm, n);
        bench_stack bench;
        bc_check_result result;
        strcpy(rows[1].name, "red end");
        lay_layer(&bench, &layer);
        if (where == 0)
            bench.stack.incident = small;
        else if (where == 1)
            bench.layer[0].material = small;
        else
            bench.stack.substrate = small;
        ck_assert_int_eq(bc_check(&bench.stack, &first, 0, NULL, NULL, &result, NULL), BC_OK);
        bc_check_result_clear(&result);
        expect_refused(&bench.stack, &all, where == 3, &small, expected, 5);
    }
}
END_TEST

/* A band that only leaves the table at one end is refused as well: nothing is extrapolated. */
START_TEST(half_outside_a_table)
{
    static const char *const expected[] = {"'band'", "short table"};
    static const double table_nm[] = {400.0, 500.0, 650.0}, n[] = {1.55, 1.53, 1.52};
    static const double bands_nm[][2] = {{399.999, 650.0}, {400.0, 650.001}};
    for (int i = 0; i < 2; i++) {
        bc_callout row = callout_of(bands_nm[i][0], bands_nm[i][1]);
        const bc_callouts all = {.count = 1, .callout = &row};
        bench_stack bench;
        lay_layer(&bench, &layer);
        bench.stack.substrate = table("short table", 3, table_nm, n);
        expect_refused(&bench.stack, &all, 0, NULL, expected, 2);
    }
}
END_TEST

TCase *glasses_case(void)
{
    TCase *tests = tcase_create("glasses");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, order);
    tcase_add_test(tests, a_row_for_one_glass);
    tcase_add_test(tests, the_stacks_own_glass);
    tcase_add_test(tests, no_row_for_a_glass);
    tcase_add_test(tests, outside_a_table);
    tcase_add_test(tests, half_outside_a_table);
    return tests;
}
