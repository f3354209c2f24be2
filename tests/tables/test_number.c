/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "number.h"
#include "suites.h"
#include <float.h>
#include <math.h>
#include <string.h>

START_TEST(good_numbers)
{
    static const struct {
        const char *text;
        int shift;
        double value;
    } cases[] = {
        {"0", 0, 0},        {"-0", 0, 0},     {"1.38", 0, 1.38},     {"+2", 0, 2},          {"-3.5", 0, -3.5},
        {".5", 0, 0.5},     {"5.", 0, 5},     {"1e3", 0, 1000},      {"1.5E-3", 0, 0.0015}, {"0007", 0, 7},
        {"1.001", 3, 1001}, {"0.29", 3, 290}, {"0.4047", 3, 404.7},  {"5e-1", 3, 500},      {"1e+2", 3, 1e5},
        {"0e999", 0, 0},    {"0.0", 3, 0},    {"1e-300", 0, 1e-300}, {"1e308", 0, 1e308},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double value = 99;
        ck_assert_msg(bc_number_parse(cases[i].text, cases[i].shift, &value) == BC_NUMBER_OK, "%s", cases[i].text);
        ck_assert_msg(value == cases[i].value, "%s gives %.17g, not %.17g", cases[i].text, value, cases[i].value);
    }
}
END_TEST

START_TEST(bad_numbers)
{
    static const struct {
        const char *text;
        bc_number_status status;
    } cases[] = {
        {"", BC_NUMBER_NONE},
        {" ", BC_NUMBER_NONE},
        {"1 ", BC_NUMBER_NONE},
        {" 1", BC_NUMBER_NONE},
        {"nan", BC_NUMBER_NONE},
        {"NAN", BC_NUMBER_NONE},
        {"-nan", BC_NUMBER_NONE},
        {"inf", BC_NUMBER_NONE},
        {"-inf", BC_NUMBER_NONE},
        {"Infinity", BC_NUMBER_NONE},
        {"0x10", BC_NUMBER_NONE},
        {"0x1p3", BC_NUMBER_NONE},
        {"1e", BC_NUMBER_NONE},
        {"1e+", BC_NUMBER_NONE},
        {"e5", BC_NUMBER_NONE},
        {".", BC_NUMBER_NONE},
        {"1.2.3", BC_NUMBER_NONE},
        {"--1", BC_NUMBER_NONE},
        {"1_000", BC_NUMBER_NONE},
        {"1 000", BC_NUMBER_NONE},
        {"91nm", BC_NUMBER_NONE},
        {"1,000,000", BC_NUMBER_NONE},
        {"91,4", BC_NUMBER_COMMA},
        {"-0,5e2", BC_NUMBER_COMMA},
        {"1e999", BC_NUMBER_TOO_LARGE},
        {"-1e999", BC_NUMBER_TOO_LARGE},
        {"1e99999999999999999999", BC_NUMBER_TOO_LARGE},
        {"1e-400", BC_NUMBER_TOO_SMALL},
        {"1e-310", BC_NUMBER_TOO_SMALL},
        {"-4e-99999999999999999999", BC_NUMBER_TOO_SMALL},
        {"\xD9\xA1", BC_NUMBER_NONE}, /* an Arabic-Indic digit */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double value = 99;
        bc_number_status status = bc_number_parse(cases[i].text, 0, &value);
        ck_assert_msg(status == cases[i].status, "'%s' gives %d, not %d", cases[i].text, (int)status,
                      (int)cases[i].status);
        ck_assert_msg(value == 99, "'%s' changed the value", cases[i].text);
    }
}
END_TEST

START_TEST(endless_digits)
{
    char text[2001];
    double value = 99;
    memset(text, '1', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    ck_assert_int_ne(bc_number_parse(text, 0, &value), BC_NUMBER_OK);
    ck_assert_int_ne(bc_number_parse(text, 3, &value), BC_NUMBER_OK);
    text[1000] = ',';
    ck_assert_int_ne(bc_number_parse(text, 3, &value), BC_NUMBER_OK);
    ck_assert(value == 99);
}
END_TEST

/* What is written reads back as the same number, bit for bit. */
START_TEST(format_round_trip)
{
    static const double values[] = {0, 1, 0.1, 1.0 / 3, 2000.0000000001, DBL_MAX, DBL_MIN, -587.562, 1e22};
    char text[BC_NUMBER_SIZE];
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        double value = 99;
        ck_assert_int_eq(bc_number_parse(bc_number_format(values[i], text), 0, &value), BC_NUMBER_OK);
        ck_assert_msg(value == values[i], "%s", text);
    }
    ck_assert_str_eq(bc_number_format(0.1, text), "0.1");
    ck_assert_str_eq(bc_number_format(2000, text), "2000");
}
END_TEST

Suite *number_suite(void)
{
    Suite *suite = suite_create("number");
    TCase *tcase = tcase_create("number");
    tcase_add_test(tcase, good_numbers);
    tcase_add_test(tcase, bad_numbers);
    tcase_add_test(tcase, endless_digits);
    tcase_add_test(tcase, format_round_trip);
    suite_add_tcase(suite, tcase);
    return suite;
}
