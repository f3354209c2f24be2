/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include <math.h>
#include <string.h>

static void expect_same_layers(const bc_stack *one, const bc_stack *other)
{
    ck_assert_uint_eq(one->layers, other->layers);
    for (size_t i = 0; i < one->layers; i++) {
        ck_assert_str_eq(one->layer[i].material.name, other->layer[i].material.name);
        ck_assert(one->layer[i].thickness_nm == other->layer[i].thickness_nm);
        ck_assert(one->layer[i].fixed == other->layer[i].fixed);
    }
}

/* Loop: 0 from the incident medium, 1 from the substrate; with and without a fixed layer. */
START_TEST(stack_file_reads_back)
{
    fixture all;
    bc_text text = {0};
    bc_stack back;
    fixture_open(&all);
    all.stack.from_substrate = _i % 2 == 1;
    all.layer[2].fixed = _i / 2 == 1;
    all.draft.check.callouts_path = "two\nlines,layer,\r.csv";
    ck_assert_int_eq(bc_report_design_csv(&all.draft, &text, NULL), BC_OK);
    ck_assert_int_eq(bc_stack_read(scratch_write_bytes("out.csv", text.data, text.length), all.materials, &back, NULL),
                     BC_OK);
    expect_same_layers(&all.stack, &back);
    ck_assert_str_eq(back.incident.name, "air");
    ck_assert_str_eq(back.substrate.name, "1.52");
    ck_assert(back.from_substrate == all.stack.from_substrate);
    ck_assert_uint_eq(occurrences(text.data, "fixed"), _i / 2 == 1);
    ck_assert_uint_eq(occurrences(text.data, "# uses 125.0 % of the limit, decided by through"), 1);
    ck_assert_uint_eq(occurrences(text.data, "on each of: 1.52 1.62"), 1);
    bc_stack_clear(&back);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(text_shows_the_ladder)
{
    static const char *const once[] = {"draft: 3 layers, 125.033 nm; uses 125.0 % of the limit",
                                       "    1    91.000       2.500\n",
                                       "    3   125.000       1.250  <- chosen\n",
                                       "Search: 17 starts, seed 7, effort 1. It ended because the limit on the work",
                                       "thinner than the minimum of 8 nm",
                                       "0.30000000000000004",
                                       "fixed"};
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    ck_assert_int_eq(bc_report_design_text(&all.draft, &text, NULL), BC_OK);
    for (size_t i = 0; i < sizeof once / sizeof once[0]; i++)
        ck_assert_msg(occurrences(text.data, once[i]) == 1, "'%s' is there %zu times:\n%s", once[i],
                      occurrences(text.data, once[i]), text.data);
    if (strlen(scratch_folder()) < 50)
        expect_tidy(text.data);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(text_of_draft_says_how_sure_and_what_else)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    ck_assert_int_eq(bc_report_design_text(&all.draft, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "4 of 10 independent searches"), 1);
    ck_assert_uint_eq(occurrences(text.data, "(best found with hard outside:"), 1);
    ck_assert_uint_eq(occurrences(text.data, "Nearly as good, with fewer layers (130.0 % of the limit used)"), 1);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(a_search_that_was_cut_short_says_where)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    all.draft.check.stack_path = NULL;
    all.drafted.looked_at = 34;
    all.drafted.allowed = 200;
    ck_assert_int_eq(bc_report_design_text(&all.draft, &text, NULL), BC_OK);
    ck_assert_ptr_nonnull(strstr(text.data, "34 of the 200 layers"));
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(text_of_refine_says_what_it_was_before)
{
    fixture all;
    bc_text text = {0};
    fixture_open(&all);
    all.draft.command = "refine";
    all.draft.draft = NULL;
    all.draft.limit_used_before = 3.5;
    all.draft.stop = BC_STOP_CONVERGED;
    ck_assert_int_eq(bc_report_design_text(&all.draft, &text, NULL), BC_OK);
    ck_assert_uint_eq(occurrences(text.data, "Before: 350.0 % of the limit used. It ended because no step improves"),
                      1);
    ck_assert_uint_eq(occurrences(text.data, "Best design for each"), 0);
    ck_assert_uint_eq(occurrences(text.data, "seed"), 0);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(json_has_the_agreed_fields)
{
    fixture all;
    bc_text text = {0};
    cJSON *root;
    const cJSON *layers, *ladder;
    fixture_open(&all);
    all.rung[0].limit_used = NAN;
    all.stack.from_substrate = true; /* the file's order is not the order of layers[] */
    ck_assert_int_eq(bc_report_design_json(&all.draft, &text, NULL), BC_OK);
    root = parse(&text);
    ck_assert(number_of(root, "limit_used") == 1.25);
    ck_assert(fabs(number_of(root, "total_nm") - (91.4 + 0.3 + 100.0 / 3.0)) < 1e-9);
    ck_assert(number_of(root, "starts") == 17.0);
    ck_assert_str_eq(string_of(root, "incident"), "air");
    ck_assert_str_eq(string_of(root, "stop"), "budget");
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "substrates")), 2);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "callouts")), FIXTURE_FINDINGS);
    layers = cJSON_GetObjectItem(root, "layers");
    ck_assert_int_eq(cJSON_GetArraySize(layers), FIXTURE_LAYERS);
    ck_assert_str_eq(string_of(cJSON_GetArrayItem(layers, 1), "material"), "hard");
    ck_assert(number_of(cJSON_GetArrayItem(layers, 2), "thickness_nm") == 91.4);
    ladder = cJSON_GetObjectItem(root, "ladder");
    ck_assert_int_eq(cJSON_GetArraySize(ladder), 2);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(cJSON_GetArrayItem(ladder, 0), "limit_used")));
    ck_assert(number_of(cJSON_GetArrayItem(ladder, 1), "layers") == 3.0);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(cJSON_GetArrayItem(ladder, 1), "chosen")));
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

Suite *design_suite(void)
{
    Suite *suite = suite_create("design report");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, stack_file_reads_back, 0, 4);
    tcase_add_test(tcase, text_shows_the_ladder);
    tcase_add_test(tcase, text_of_draft_says_how_sure_and_what_else);
    tcase_add_test(tcase, a_search_that_was_cut_short_says_where);
    tcase_add_test(tcase, text_of_refine_says_what_it_was_before);
    tcase_add_test(tcase, json_has_the_agreed_fields);
    suite_add_tcase(suite, tcase);
    return suite;
}
