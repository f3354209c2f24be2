/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include "numbers.h"
#include "table.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct value_case {
    bc_sense sense;
    double limit, value;
    const char *printed;
} value_case;

static const value_case values[] = {
    {BC_AT_MOST, 0.006, 0.0031234, "0.3123"},
    {BC_AT_MOST, 0.006, 0.006, "0.6000"},
    {BC_AT_MOST, 0.006, 0.0060000004, "0.60000004"},
    {BC_AT_LEAST, 0.995, 0.994999999, "99.4999999"},
    {BC_AT_LEAST, 0.995, 0.99515, "99.5150"},
    {BC_AT_MOST, 0.006, 6.5677e-7, "6.57e-05"},
    {BC_AT_MOST, 0.006, 0.0, "0.0000"},
};

START_TEST(a_value_is_printed_on_its_side_of_the_limit)
{
    const value_case *c = &values[_i];
    const bc_callout callout = {.sense = c->sense, .limit = c->limit};
    const bc_finding finding = {.callout = &callout,
                                .value = c->value,
                                .pass = c->sense == BC_AT_MOST ? c->value <= c->limit : c->value >= c->limit};
    char printed[BC_PRINTED_SIZE];
    bc_print_value(printed, &finding);
    ck_assert_str_eq(printed, c->printed);
}
END_TEST

START_TEST(a_share_is_printed_on_its_side_of_one)
{
    char printed[BC_PRINTED_SIZE];
    bc_print_used(printed, 0.5502);
    ck_assert_str_eq(printed, "0.550");
    bc_print_used(printed, 1.0);
    ck_assert_str_eq(printed, "1.000");
    bc_print_used(printed, 1.00004);
    ck_assert_str_eq(printed, "1.00004");
    bc_print_used(printed, 0.9999);
    ck_assert_str_eq(printed, "1.000");
}
END_TEST

START_TEST(a_thickness_reads_back)
{
    char printed[BC_PRINTED_SIZE];
    unsigned long state = 1;
    bc_print_thickness(printed, 91.4);
    ck_assert_str_eq(printed, "91.400");
    for (int i = 0; i < 2000; i++) {
        state = state * 6364136223846793005UL + 1442695040888963407UL;
        const double any = ldexp((double)(state >> 11), -40);
        const double rounded = round(any * 1000.0) / 1000.0;
        bc_print_thickness(printed, any);
        ck_assert(strtod(printed, NULL) == any);
        bc_print_thickness(printed, rounded);
        ck_assert(strtod(printed, NULL) == rounded);
        ck_assert_msg(strchr(printed, '.') + 4 == strchr(printed, '\0'), "not three decimals: %s", printed);
    }
}
END_TEST

START_TEST(words_are_wrapped)
{
    bc_text text = {0};
    bc_text_add(&text, "  - ");
    bc_text_wrap(&text, 4, 4,
                 "  a  word of grün colour, then more words than a single line of eighty columns can take");
    ck_assert_str_eq(text.data, "  - a word of grün colour, then more words than a single line of eighty columns\n"
                                "    can take\n");
    bc_text_clear(&text);
    ck_assert_ptr_null(text.data);
}
END_TEST

START_TEST(a_table_gives_way_at_its_first_column)
{
    bc_table table = {.columns = 3, .right = {false, true, false}};
    bc_text text = {0};
    bc_table_row(&table);
    bc_table_cell(&table, 0, "name");
    bc_table_cell(&table, 1, "n");
    bc_table_row(&table);
    bc_table_cell(&table, 0, "%070d", 1);
    bc_table_cell(&table, 1, "1.5");
    bc_table_cell(&table, 2, "\033[31mtwelve chars\033[0m");
    bc_table_write(&table, &text);
    ck_assert_ptr_nonnull(strstr(text.data, "1\n      1.5  \033[31mtwelve chars\033[0m\n"));
    ck_assert_ptr_eq(strstr(text.data, "name    n\n"), text.data);
    expect_tidy(text.data);
    bc_text_clear(&text);
}
END_TEST

Suite *numbers_suite(void)
{
    Suite *suite = suite_create("numbers and lines");
    TCase *tcase = tcase_create("all");
    tcase_add_loop_test(tcase, a_value_is_printed_on_its_side_of_the_limit, 0, sizeof values / sizeof values[0]);
    tcase_add_test(tcase, a_share_is_printed_on_its_side_of_one);
    tcase_add_test(tcase, a_thickness_reads_back);
    tcase_add_test(tcase, words_are_wrapped);
    tcase_add_test(tcase, a_table_gives_way_at_its_first_column);
    suite_add_tcase(suite, tcase);
    return suite;
}
