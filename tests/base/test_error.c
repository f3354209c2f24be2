/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bc_fail(): the status comes back, the message is whole or cut, and nothing beyond it is touched.
 */
#include "suites.h"
#include <bloomcoat/error.h>
#include <string.h>

#define GUARD 64
#define FILL  0x5a

/* An error with bytes behind it that must keep their value. */
typedef struct guarded {
    bc_error error;
    unsigned char behind[GUARD];
} guarded;

static void set_guard(guarded *g)
{
    memset(g, FILL, sizeof *g);
}

static void expect_guard(const guarded *g)
{
    for (size_t b = 0; b < GUARD; b++)
        ck_assert_int_eq(g->behind[b], FILL);
    ck_assert_ptr_nonnull(memchr(g->error.message, '\0', BC_ERROR_SIZE));
}

START_TEST(fills_and_returns)
{
    static const bc_status every[] = {BC_ERROR_INPUT, BC_ERROR_MEMORY, BC_ERROR_IO};
    for (size_t i = 0; i < sizeof every / sizeof *every; i++) {
        guarded g;
        set_guard(&g);
        ck_assert_int_eq(bc_fail(&g.error, every[i], "%s:%d: column %zu: found '%g'; expected %s", "a.csv", 3,
                                 (size_t)2, 1.5, "another"),
                         every[i]);
        ck_assert_int_eq(g.error.status, every[i]);
        ck_assert_str_eq(g.error.message, "a.csv:3: column 2: found '1.5'; expected another");
        expect_guard(&g);
    }
}
END_TEST

/* Lengths around the size of the message: whole up to BC_ERROR_SIZE - 1 characters, the front of it beyond. */
START_TEST(cut_not_overrun)
{
    static const size_t lengths[] = {0,
                                     1,
                                     BC_ERROR_SIZE - 2,
                                     BC_ERROR_SIZE - 1,
                                     BC_ERROR_SIZE,
                                     BC_ERROR_SIZE + 1,
                                     2 * BC_ERROR_SIZE,
                                     8 * BC_ERROR_SIZE};
    static char text[8 * BC_ERROR_SIZE + 1];
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++) {
        const size_t kept = lengths[i] < BC_ERROR_SIZE ? lengths[i] : BC_ERROR_SIZE - 1;
        guarded g;
        for (size_t c = 0; c < lengths[i]; c++)
            text[c] = (char)('a' + c % 26);
        text[lengths[i]] = '\0';
        set_guard(&g);
        ck_assert_int_eq(bc_fail(&g.error, BC_ERROR_INPUT, "%s", text), BC_ERROR_INPUT);
        ck_assert_uint_eq(strlen(g.error.message), kept);
        ck_assert_mem_eq(g.error.message, text, kept);
        expect_guard(&g);
    }
}
END_TEST

/* A message is UTF-8: a character that does not fit goes as a whole. */
START_TEST(cut_between_characters)
{
    static const char *const characters[] = {"\xc3\xa9", "\xe2\x82\xac", "\xf0\x9d\x84\x9e"};
    for (size_t c = 0; c < 3; c++) {
        const size_t bytes = strlen(characters[c]);
        for (size_t room = 0; room <= bytes; room++) {
            char text[BC_ERROR_SIZE + 8];
            guarded g;
            memset(text, 'a', BC_ERROR_SIZE - 1 - room);
            strcpy(text + BC_ERROR_SIZE - 1 - room, characters[c]);
            set_guard(&g);
            bc_fail(&g.error, BC_ERROR_INPUT, "%s", text);
            ck_assert_uint_eq(strlen(g.error.message), BC_ERROR_SIZE - 1 - (room < bytes ? room : 0));
            expect_guard(&g);
        }
    }
}
END_TEST

START_TEST(nobody_listens)
{
    ck_assert_int_eq(bc_fail(NULL, BC_ERROR_INPUT, "%s", "said to nobody"), BC_ERROR_INPUT);
    ck_assert_int_eq(bc_fail(NULL, BC_ERROR_IO, "said to nobody"), BC_ERROR_IO);
    ck_assert_int_eq(bc_fail_memory(NULL), BC_ERROR_MEMORY);
}
END_TEST

START_TEST(last_failure_stands)
{
    bc_error error = {0};
    bc_fail(&error, BC_ERROR_INPUT, "a first sentence that is longer than the second");
    bc_fail(&error, BC_ERROR_IO, "a second");
    ck_assert_int_eq(error.status, BC_ERROR_IO);
    ck_assert_str_eq(error.message, "a second");
    ck_assert_int_eq(bc_fail_memory(&error), BC_ERROR_MEMORY);
    ck_assert_int_eq(error.status, BC_ERROR_MEMORY);
    ck_assert_str_eq(error.message, "out of memory");
}
END_TEST

TCase *error_case(void)
{
    TCase *tests = tcase_create("error");
    tcase_add_test(tests, fills_and_returns);
    tcase_add_test(tests, cut_not_overrun);
    tcase_add_test(tests, cut_between_characters);
    tcase_add_test(tests, nobody_listens);
    tcase_add_test(tests, last_failure_stands);
    return tests;
}
