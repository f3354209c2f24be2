/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out: every allocation of cJSON is made to fail once, one after the other.
 */
#include "fixture.h"
#include <stdlib.h>

static long allowed; /* allocations that still succeed */

static void *scarce(size_t size)
{
    return allowed-- > 0 ? malloc(size) : NULL;
}

static cJSON_Hooks allocation_hooks = {scarce, free};

/* 0 check, 1 draft, 2 one material */
static bc_status report(const fixture *all, int which, bc_text *text, bc_error *error)
{
    if (which == 0)
        return bc_report_check_json(&all->check, text, error);
    if (which == 1)
        return bc_report_design_json(&all->draft, text, error);
    return bc_report_material_json(all->layer[0].material.dispersion, 550.0, text, error);
}

START_TEST(json_survives_every_failed_allocation)
{
    fixture all;
    bc_text text = {0};
    bc_status status = BC_ERROR_MEMORY;
    long tried = 0;
    fixture_open(&all);
    cJSON_InitHooks(&allocation_hooks);
    for (; status != BC_OK && tried < 100000; tried++) {
        bc_error error = {0};
        allowed = tried;
        status = report(&all, _i, &text, &error);
        ck_assert_int_eq(error.status, status);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    cJSON_InitHooks(NULL);
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 20);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(a_text_that_failed_stays_failed)
{
    fixture all;
    fixture_open(&all);
    bc_error error = {0};
    bc_text text = {.failed = true};
    ck_assert_int_eq(bc_report_check_text(&all.check, &text, &error), BC_ERROR_MEMORY);
    ck_assert_int_eq(error.status, BC_ERROR_MEMORY);
    ck_assert_ptr_null(text.data);
    text.failed = true;
    ck_assert_int_eq(bc_report_design_csv(&all.draft, &text, &error), BC_ERROR_MEMORY);
    ck_assert_ptr_null(text.data);
    fixture_close(&all);
}
END_TEST

Suite *memory_suite(void)
{
    Suite *suite = suite_create("memory");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, json_survives_every_failed_allocation, 0, 3);
    tcase_add_test(tcase, a_text_that_failed_stays_failed);
    suite_add_tcase(suite, tcase);
    return suite;
}
