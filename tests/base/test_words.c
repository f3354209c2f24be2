/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Numbers, characters and misspelt words.
 */
#include "escaped.h"
#include "nearest.h"
#include "number.h"
#include "suites.h"
#include "utf8.h"
#include <string.h>

static const char *const names[] = {"Al2O3xy", "SiO2", "Al2O3x", "Ta2O5", "al2o3"};
#define NAMES (sizeof names / sizeof names[0])

/* Whatever the order of the choices, and with no room for all of them. */
START_TEST(nearest_comes_first)
{
    const char *nearest[3];
    ck_assert_uint_eq(bc_nearest("Al2O3", NAMES, names, 3, nearest), 3);
    ck_assert_str_eq(nearest[0], "al2o3");
    ck_assert_str_eq(nearest[1], "Al2O3x");
    ck_assert_str_eq(nearest[2], "Al2O3xy");
    ck_assert_uint_eq(bc_nearest("Al2O3", NAMES, names, 2, nearest), 2);
    ck_assert_str_eq(nearest[0], "al2o3");
    ck_assert_str_eq(nearest[1], "Al2O3x");
    /* Equally far: the first of them stays, also where there is room for one. */
    ck_assert_uint_eq(bc_nearest("Al2O3xz", 3, names, 1, nearest), 1);
    ck_assert_str_eq(nearest[0], "Al2O3xy");
    ck_assert_uint_eq(bc_nearest("sapphire", NAMES, names, 3, nearest), 0);
}
END_TEST

static const struct {
    const char *text;
    bc_number_status status;
    const char *remark;
} texts[] = {
    {"-1.5e3", BC_NUMBER_OK, ""},
    {"-1,5", BC_NUMBER_COMMA, " (the decimal sign is a point)"},
    {"+1,5", BC_NUMBER_COMMA, " (the decimal sign is a point)"},
    {"1,5,6", BC_NUMBER_NONE, " (not a number)"},
    {"1,5x", BC_NUMBER_NONE, " (not a number)"},
    {",", BC_NUMBER_NONE, " (not a number)"},
    {"nan", BC_NUMBER_NONE, " (not a number)"},
    {"0x10", BC_NUMBER_NONE, " (not a number)"},
    {"1e999", BC_NUMBER_TOO_LARGE, " (too large for a number)"},
    {"1e-999", BC_NUMBER_TOO_SMALL, " (too small for a number other than 0)"},
    {"0e-999", BC_NUMBER_OK, ""},
};

START_TEST(numbers)
{
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        double value = 7.0;
        const bc_number_status status = bc_number_parse(texts[i].text, 0, &value);
        ck_assert_msg(status == texts[i].status, "'%s' is %d", texts[i].text, (int)status);
        ck_assert_str_eq(bc_number_remark(status), texts[i].remark);
        ck_assert(status == BC_NUMBER_OK || value == 7.0);
    }
}
END_TEST

/* One that no figure of a person is as long as is none, with a comma or without. */
START_TEST(endless_numbers)
{
    char text[2001];
    double value;
    memset(text, '1', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    ck_assert_int_eq(bc_number_parse(text, 0, &value), BC_NUMBER_NONE);
    text[1] = ',';
    ck_assert_int_eq(bc_number_parse(text, 0, &value), BC_NUMBER_NONE);
}
END_TEST

START_TEST(characters)
{
    static const struct {
        const char *bytes;
        size_t length, taken;
        uint32_t code;
    } cases[] = {
        {"", 0, 0, 0},
        {"a", 1, 1, 'a'},
        {"\xc3\xa9", 2, 2, 0xe9},
        {"\xc3\xa9", 1, 0, 0},         /* cut */
        {"\xc3(", 2, 0, 0},            /* no second byte */
        {"\xc0\x80", 2, 0, 0},         /* longer than need be */
        {"\xe0\x80\xaf", 3, 0, 0},     /* the same */
        {"\xed\xa0\x80", 3, 0, 0},     /* half of a pair */
        {"\xf4\x90\x80\x80", 4, 0, 0}, /* beyond the last one */
        {"\xff", 1, 0, 0},
        {"\xf0\x9d\x84\x9e", 4, 4, 0x1d11e},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        uint32_t code = 0;
        ck_assert_msg(bc_utf8_decode(cases[i].bytes, cases[i].length, &code) == cases[i].taken, "case %zu", i);
        ck_assert(cases[i].taken == 0 || code == cases[i].code);
    }
}
END_TEST

/* One escaping for all that is shown, in the place where it stands. */
START_TEST(what_hides_is_shown)
{
    char text[40] = "a\xe2\x80\xae"
                    "b\xe2\x80\x8b"
                    "c\xef\xbb\xbf"
                    "d\xff",
         brief[12] = "12345\xe2\x80\xae"
                     "6";
    char full[8] = "1234567";
    ck_assert_uint_eq(bc_escaped_span("ab\xc2\xa0\xe2\x80\xae", 7), 4); /* a no-break space hides nothing */
    ck_assert_uint_eq(bc_escaped_span("\033[1m\n", 5), 5);
    bc_escaped_whole(text, sizeof text);
    ck_assert_str_eq(text, "a\\u{202E}b\\u{200B}c\\u{FEFF}d\\xFF");
    bc_escaped_whole(brief, sizeof brief);
    ck_assert_str_eq(brief, "12345"); /* no room for \u{202E} */
    bc_escaped_whole(full, sizeof full);
    ck_assert_str_eq(full, "1234567");
}
END_TEST

TCase *words_case(void)
{
    TCase *tests = tcase_create("words");
    tcase_add_test(tests, nearest_comes_first);
    tcase_add_test(tests, numbers);
    tcase_add_test(tests, endless_numbers);
    tcase_add_test(tests, characters);
    tcase_add_test(tests, what_hides_is_shown);
    return tests;
}
