/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "nearest.h"
#include "suites.h"
#include "utf8.h"
#include <stdlib.h>
#include <string.h>

/* Sequences from RFC 3629: the first and last of each length, and the kinds it forbids (ch. 3 and 10). */
START_TEST(utf8_decode)
{
    static const struct {
        const char *bytes;
        size_t taken;
        uint32_t code;
    } cases[] = {
        {"A", 1, 'A'},
        {"\x7F", 1, 0x7F},
        {"\xC2\x80", 2, 0x80},
        {"\xDF\xBF", 2, 0x7FF},
        {"\xE0\xA0\x80", 3, 0x800},
        {"\xEF\xBF\xBF", 3, 0xFFFF},
        {"\xF0\x90\x80\x80", 4, 0x10000},
        {"\xF4\x8F\xBF\xBF", 4, 0x10FFFF},
        {"\x80", 0, 0},             /* a continuation alone */
        {"\xC0\xAF", 0, 0},         /* overlong */
        {"\xC1\xBF", 0, 0},         /* overlong */
        {"\xE0\x9F\xBF", 0, 0},     /* overlong */
        {"\xF0\x8F\xBF\xBF", 0, 0}, /* overlong */
        {"\xED\xA0\x80", 0, 0},     /* a surrogate */
        {"\xED\xBF\xBF", 0, 0},     /* a surrogate */
        {"\xF4\x90\x80\x80", 0, 0}, /* above U+10FFFF */
        {"\xF5\x80\x80\x80", 0, 0},
        {"\xFF", 0, 0},
        {"\xC3", 0, 0},     /* cut short */
        {"\xE2\x82", 0, 0}, /* cut short */
        {"\xE2(\xA1", 0, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        uint32_t code = 0;
        size_t taken = bc_utf8_decode(cases[i].bytes, strlen(cases[i].bytes), &code);
        ck_assert_msg(taken == cases[i].taken, "case %zu took %zu bytes", i, taken);
        ck_assert_msg(code == cases[i].code, "case %zu gave U+%X", i, (unsigned)code);
    }
}
END_TEST

START_TEST(shown_escapes)
{
    static const struct {
        const char *text, *shown;
    } cases[] = {
        {"", ""},
        {"MgF2", "MgF2"},
        {"\x1B[31mred", "\\x1B[31mred"},
        {"a\nb\tc\rd", "a\\nb\\tc\\rd"},
        {"\x07\x7F", "\\x07\\u{7F}"},
        {"\xC2\x9B"
         "31m",
         "\\u{9B}31m"}, /* the one-character CSI of C1 */
        {"a\xE2\x80\xAE"
         "b",
         "a\\u{202E}b"}, /* right-to-left override */
        {"1\xC2\xA0"
         "000",
         "1\\u{A0}000"}, /* no-break space */
        {"\xEF\xBB\xBFrole", "\\u{FEFF}role"},
        {"\xF3\xA0\x81\x81", "\\u{E0041}"}, /* a tag character */
        {"\xEF\xBF\xBF", "\\u{FFFF}"},      /* three noncharacters, which Cairo and XML refuse, */
        {"\xF0\x9F\xBF\xBE", "\\u{1FFFE}"},
        {"\xEF\xB7\x90", "\\u{FDD0}"},
        {"\xEF\xBF\xBD", "\xEF\xBF\xBD"}, /* and their neighbour, the replacement character */
        {"caf\xE9", "caf\\xE9"},          /* Latin-1 */
        {"\xCE\xBC"
         "m",
         "\xCE\xBC"
         "m"}, /* a Greek mu is nothing to hide */
    };
    char shown[BC_ESCAPED_SIZE];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *copy = bc_escaped_copy(cases[i].text);
        ck_assert_str_eq(bc_escaped(cases[i].text, shown), cases[i].shown);
        ck_assert_ptr_nonnull(copy);
        ck_assert_str_eq(copy, cases[i].shown);
        free(copy);
    }
}
END_TEST

/* 40 characters are kept, whatever their length in bytes; the worst of them just fits. */
START_TEST(shown_is_cut)
{
    static const char *const letters[] = {"x", "\xC3\xA9", "\xE2\x82\xAC", "\xF0\x9F\x94\xAD", "\xF3\xA0\x81\x81"};
    static const char *const pieces[] = {"x", "\xC3\xA9", "\xE2\x82\xAC", "\xF0\x9F\x94\xAD", "\\u{E0041}"};
    for (size_t i = 0; i < sizeof letters / sizeof letters[0]; i++) {
        char text[512] = "", expected[BC_ESCAPED_SIZE] = "", shown[BC_ESCAPED_SIZE];
        for (int j = 0; j < 40; j++) {
            strcat(text, letters[i]);
            strcat(expected, pieces[i]);
        }
        ck_assert_str_eq(bc_escaped(text, shown), expected);
        strcat(text, letters[i]);
        strcat(expected, "...");
        ck_assert_str_eq(bc_escaped(text, shown), expected);
    }
}
END_TEST

START_TEST(shown_path_keeps_the_end)
{
    char path[4096], shown[BC_ESCAPED_PATH_SIZE];
    for (size_t length = 300; length < 345; length++) {
        memset(path, 'd', length);
        memcpy(path + length, "/stack.csv", 11);
        bc_escaped_path(path, shown);
        ck_assert_uint_lt(strlen(shown), sizeof shown);
        ck_assert_str_eq(shown + strlen(shown) - 10, "/stack.csv");
        ck_assert(strcmp(shown, path) == 0 || strncmp(shown, "...ddd", 6) == 0);
    }
    memset(path, '\x01', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    bc_escaped_path(path, shown);
    ck_assert_uint_lt(strlen(shown), sizeof shown);
    ck_assert_str_eq(bc_escaped_path("a/b.csv", shown), "a/b.csv");
}
END_TEST

START_TEST(distance)
{
    static const struct {
        const char *one, *other;
        size_t distance;
    } cases[] = {
        {"", "", 0},        {"", "abc", 3},
        {"abc", "", 3},     {"HfO2", "hfo2", 0},
        {"HfO2", "HfO", 1}, {"HfO2", "HO2", 1},
        {"teh", "the", 1},  {"kitten", "sitting", 3}, /* a textbook pair */
        {"ca", "abc", 3},   {"thicknes_nm", "thickness_nm", 1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        ck_assert_msg(bc_word_distance(cases[i].one, cases[i].other) == cases[i].distance, "%s and %s", cases[i].one,
                      cases[i].other);
}
END_TEST

START_TEST(nearest_words)
{
    static const char *const names[] = {"Al2O3", "HfO2", "MgF2", "SiO2", "Ta2O5", "ZrO2"};
    const char *nearest[3];
    ck_assert_uint_eq(bc_nearest("hfo2", 6, names, 3, nearest), 3);
    ck_assert_str_eq(nearest[0], "HfO2");
    ck_assert_uint_eq(bc_nearest("MgF", 6, names, 1, nearest), 1);
    ck_assert_str_eq(nearest[0], "MgF2");
    ck_assert_uint_eq(bc_nearest("germanium", 6, names, 3, nearest), 0);
    ck_assert_uint_eq(bc_nearest("", 6, names, 3, nearest), 0);
    ck_assert_uint_eq(bc_nearest("x", 0, NULL, 3, nearest), 0);
}
END_TEST

Suite *text_suite(void)
{
    Suite *suite = suite_create("text");
    TCase *tcase = tcase_create("text");
    tcase_add_test(tcase, utf8_decode);
    tcase_add_test(tcase, shown_escapes);
    tcase_add_test(tcase, shown_is_cut);
    tcase_add_test(tcase, shown_path_keeps_the_end);
    tcase_add_test(tcase, distance);
    tcase_add_test(tcase, nearest_words);
    suite_add_tcase(suite, tcase);
    return suite;
}
