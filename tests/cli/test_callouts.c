/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <stdio.h>
#include <string.h>

#define WORDS "Ravg<1,5%,Rmax<3%,450-650nm,0-30deg"

START_TEST(the_table_says_what_was_understood)
{
    const outcome result = expect(0, NULL, "callouts " WORDS);
    expect_piece(&result, "Ravg 450-650 nm R average <= 1.5 % 450..650 0..30 unpolarized surface");
    expect_piece(&result, "No polarization stated: unpolarized light assumed.");
    expect_piece(&result, "'<' and '>' are read as '<=' and '>='.");
    ck_assert_str_eq(result.err, "");
}
END_TEST

/* The file that is written gives the same verdict as the words. */
START_TEST(words_and_their_file_agree)
{
    char words[200];
    write_inputs();
    expect(0, NULL, "callouts " WORDS " -o drawing.csv");
    outcome result = expect(0, "Understood:", "check stack.csv --callout " WORDS " --json");
    snprintf(words, sizeof words, "%.60s", strstr(result.out, "\"limit_used\""));
    result = expect(0, NULL, "check stack.csv --callouts drawing.csv --json");
    const char *file = strstr(result.out, "\"limit_used\"");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_eq(strncmp(words, file, 60), 0);
}
END_TEST

START_TEST(words_add_to_a_file)
{
    write_inputs();
    expect(0, NULL, "callouts R<5%500nm -o drawing.csv");
    const outcome result = expect(0, NULL, "check stack.csv --callouts drawing.csv --callout R<6%550nm --quiet --json");
    ck_assert_ptr_nonnull(strstr(result.out, "Rmax 500 nm"));
    ck_assert_ptr_nonnull(strstr(result.out, "Rmax 550 nm"));
}
END_TEST

START_TEST(what_is_open_is_asked_with_a_caret)
{
    static const char *const wrong[][2] = {
        {"callouts R<1%", "no band or wavelength for this limit"},
        {"check stack.csv --callout R<1%400-700", "--callout: a number without a unit"},
        {"draft --substrate 1.5 --materials 1.38 --callout Rx<1%", "'Rx' is not among the words"},
    };
    write_inputs();
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        const outcome result = run(wrong[i][0]);
        ck_assert_int_eq(result.code, 2);
        ck_assert_str_eq(result.out, "");
        ck_assert_msg(strstr(result.err, wrong[i][1]) != NULL && strstr(result.err, "\n    R") != NULL &&
                          strrchr(result.err, '^') != NULL,
                      "%s", result.err);
    }
    expect(2, "--callouts", "check stack.csv");
}
END_TEST

/* A file as a spreadsheet exports it, and a stack beside it: what was understood stands ahead of the answer. */
START_TEST(an_exported_file_is_printed_back)
{
    write_inputs();
    scratch_write("export.csv", "NAME;QUANTITY;STATISTIC;LIMIT_PERCENT;FROM_NM;TO_NM;AOI_DEG;POLARIZATION\n"
                                "band;R;MAX;\xE2\x89\xA4 5,5 %;420,5;680;0-30;Unpolarized\n");
    scratch_write("semicolons.csv", "role;material;thickness_nm\nincident;air;\nlayer;1,38;97,787\nlayer;2,1;133,11\n"
                                    "layer;1,38;35,081\nlayer;2,1;15,658\nsubstrate;1,52;\n");
    const outcome result = expect(0, "Understood:", "check semicolons.csv --callouts export.csv");
    ck_assert_ptr_nonnull(strstr(result.err, "band     R max <= 5.5 %  420.5..680  0..30  unpolarized  surface"));
    expect_piece(&result, "4 layers, 281.636 nm");
    ck_assert_str_eq(expect(0, NULL, "check stack.csv --callouts callouts.csv").err, "");
}
END_TEST

Suite *cli_callouts_suite(void)
{
    Suite *suite = suite_create("callouts");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, the_table_says_what_was_understood);
    tcase_add_test(tcase, words_and_their_file_agree);
    tcase_add_test(tcase, words_add_to_a_file);
    tcase_add_test(tcase, an_exported_file_is_printed_back);
    tcase_add_test(tcase, what_is_open_is_asked_with_a_caret);
    suite_add_tcase(suite, tcase);
    return suite;
}
