/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include <math.h>
#include <string.h>

START_TEST(text_says_what_a_person_must_know)
{
    static const char *const once[] = {"On 1.52:",
                                       "On 1.62:",
                                       "99.2500  >= 99    0.750          30  p            meets",
                                       "98.7500  >= 99    1.250          30  p            FAILS",
                                       "decides; it uses 125.0 % of its limit",
                                       "on\n1.62 decides;",
                                       "back surface coated as the front (assumed), glass 3 mm thick",
                                       "400..700 nm; measured by hand;",
                                       "not a measurement",
                                       "Durability",
                                       "laser line",
                                       "soft, hard: keep it dry",
                                       "local codes"};
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    ck_assert_int_eq(bc_report_check_text(&all.check, &text, NULL), BC_OK);
    for (size_t i = 0; i < sizeof once / sizeof once[0]; i++)
        ck_assert_msg(occurrences(text.data, once[i]) == 1, "'%s' is there %zu times:\n%s", once[i],
                      occurrences(text.data, once[i]), text.data);
    ck_assert_uint_eq(occurrences(text.data, "keep it dry"), 1);
    ck_assert_uint_eq(occurrences(text.data, "\033"), 0);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(text_fits_a_page)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    all.check.color = true;
    ck_assert_int_eq(bc_report_check_text(&all.check, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "\033[31mFAILS\033[0m"), 1);
    ck_assert_uint_eq(occurrences(text.data, "\033[32mmeets\033[0m"), 5);
    /* The path of the scratch folder is the one word that may be longer than a line. */
    if (strlen(scratch_folder()) < 50)
        expect_tidy(text.data);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(cautions_that_do_not_apply_are_left_out)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    all.result.count = 2; /* without the laser line */
    all.result.decisive = 1;
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        all.layer[i].material = all.glass[1]; /* and without the tables */
    ck_assert_int_eq(bc_report_check_text(&all.check, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "laser line"), 0);
    ck_assert_uint_eq(occurrences(text.data, "keep it dry"), 0);
    ck_assert_uint_eq(occurrences(text.data, "Durability"), 1);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(json_has_the_agreed_fields)
{
    fixture all;
    bc_text text = {0};
    cJSON *root;
    const cJSON *callouts, *row;
    fixture_open(&all);
    all.finding[0].limit_used = INFINITY;
    all.check.stack_path = "odd \xff \"name\".csv";
    ck_assert_int_eq(bc_report_check_json(&all.check, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(root, "pass")));
    ck_assert(number_of(root, "limit_used") == 1.25);
    ck_assert_str_eq(string_of(root, "stack"), "odd ? \"name\".csv");
    callouts = cJSON_GetObjectItem(root, "callouts");
    ck_assert_int_eq(cJSON_GetArraySize(callouts), FIXTURE_FINDINGS);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(cJSON_GetArrayItem(callouts, 0), "limit_used")));
    row = cJSON_GetArrayItem(callouts, 4);
    ck_assert_str_eq(string_of(row, "name"), "through the whole of the window at every angle");
    ck_assert(number_of(row, "value_percent") == 98.75);
    ck_assert(number_of(row, "limit_percent") == 99.0);
    ck_assert(number_of(row, "limit_used") == 1.25);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(row, "at_nm"))); /* an average is nowhere */
    ck_assert(number_of(row, "aoi_deg") == 30.0);
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(row, "pass")));
    ck_assert_str_eq(string_of(row, "substrate"), "1.62");
    ck_assert_str_eq(string_of(row, "quantity"), "T");
    ck_assert_str_eq(string_of(row, "statistic"), "average");
    ck_assert_str_eq(string_of(row, "polarization"), "p");
    ck_assert_str_eq(string_of(row, "scope"), "part");
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "index_data")), 5);
    ck_assert_uint_eq(occurrences(text.data, "inf"), 0);
    ck_assert_uint_eq(occurrences(text.data, "nan"), 0);
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

Suite *check_suite(void)
{
    Suite *suite = suite_create("check report");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, text_says_what_a_person_must_know);
    tcase_add_test(tcase, text_fits_a_page);
    tcase_add_test(tcase, cautions_that_do_not_apply_are_left_out);
    tcase_add_test(tcase, json_has_the_agreed_fields);
    suite_add_tcase(suite, tcase);
    return suite;
}
