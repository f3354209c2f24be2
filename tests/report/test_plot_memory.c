/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out while a picture is drawn: each of our own allocations fails once, one after the other. (The
 * linker puts these functions in the place of the library's; Cairo, a library of its own, keeps those.)
 */
#include "fixture.h"
#include "scene.h"
#include <limits.h>
#include <stdlib.h>

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t size);

static bool scarce, once, was_short;
static long left;

static bool is_refused(void)
{
    const bool refused = scarce && (once ? left == 0 : left <= 0);
    left -= scarce;
    was_short = was_short || refused;
    return refused;
}

void memory_lasts(long allocations)
{
    left = allocations;
    scarce = allocations < LONG_MAX;
    once = was_short = false;
}

void memory_fails_once(long allocations)
{
    memory_lasts(allocations);
    once = true;
}

bool memory_was_short(void)
{
    return was_short;
}

void *__wrap_malloc(size_t size)
{
    return is_refused() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return is_refused() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *memory, size_t size)
{
    return is_refused() ? NULL : __real_realloc(memory, size);
}

START_TEST(a_picture_survives_every_failed_allocation)
{
    const bc_plot_options options = {
        .format = (bc_plot_format)(_i % 3), .title = "Window", .part = "12-345", .width_mm = 60.0, .dpi = 60.0};
    plot_scene all;
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    plot_scene_open(&all);
    for (; status != BC_OK && tried < 5000; tried++) {
        bc_error error = {0};
        memory_lasts(tried);
        status = plot_scene_draw(&all, _i / 3, &options, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert_int_eq(error.status, status);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 20);
    bc_text_clear(&text);
    plot_scene_close(&all);
}
END_TEST

START_TEST(a_picture_into_a_text_that_failed_fails)
{
    const bc_plot_options options = {0};
    plot_scene all;
    bc_text text = {.failed = true};
    plot_scene_open(&all);
    ck_assert_int_eq(plot_scene_draw(&all, PLOT_CHECK, &options, &text, NULL), BC_ERROR_MEMORY);
    ck_assert_ptr_null(text.data);
    plot_scene_close(&all);
}
END_TEST

Suite *plot_memory_suite(void)
{
    Suite *suite = suite_create("plot memory");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, a_picture_survives_every_failed_allocation, 0, 3 * PLOT_SCENES);
    tcase_add_test(tcase, a_picture_into_a_text_that_failed_fails);
    suite_add_tcase(suite, tcase);
    return suite;
}
