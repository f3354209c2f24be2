/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a proof says.
 */
#include "fixture.h"
#include "proof_words.h"
#include "quote_words.h"
#include <math.h>
#include <string.h>

typedef struct proven {
    bc_proof_step step[4];
    bc_proof proof;
} proven;

/* Up to three layers: the last is within 1 %, or stopped early. */
static void open_proof(proven *p)
{
    *p = (proven){.step = {{.layers = 0, .limit_used_at_least = 8.5, .within = true, .best = {.limit_used = 8.5}},
                           {.layers = 1, .limit_used_at_least = 2.97996, .within = true, .best = {.limit_used = 3.01}},
                           {.layers = 2, .limit_used_at_least = 1.0, .boxes = 10.0, .best = {.limit_used = 2.0}},
                           {.layers = 3,
                            .limit_used_at_least = 0.474889,
                            .within = true,
                            .boxes = 32.0,
                            .best = {.limit_used = 0.4796}}}};
    p->proof = (bc_proof){.total_nm_at_most = 650.0, .steps = 4, .step = p->step};
}

static void expect_words(const bc_proof *proof, double minimum_nm, const char *expected)
{
    bc_text words = {0};
    bc_add_proof(&words, proof, minimum_nm);
    ck_assert_str_eq(words.length == 0 ? "" : words.data, expected);
    bc_text_clear(&words);
}

/* The bound is rounded down: what is printed must not say more than what is proved. */
START_TEST(a_bound_is_said_in_one_sentence)
{
    proven p;
    open_proof(&p);
    expect_words(
        &p.proof, 0.0,
        "No stack of up to 3 layers of these materials, up to 650 nm thick in all, uses less than 0.4748 of the "
        "limits: proved. The best one known uses 0.480: within 1 % of the best of them.");
    p.proof.steps = 2;
    expect_words(
        &p.proof, 8.0,
        "No single layer of these materials, up to 650 nm thick and no thinner than 8 nm, uses less than 2.979 of "
        "the limits: proved. None of them meets the callouts. The best one known uses 3.010: within 1 % of the "
        "best of them.");
    p.proof.steps = 1;
    expect_words(&p.proof, 0.0, "");
    expect_words(NULL, 0.0, "");
}
END_TEST

/* Below 0 there is nothing, so nothing is said of layers that reach it. */
START_TEST(layers_that_reach_zero_need_no_proof)
{
    proven p;
    open_proof(&p);
    p.step[2] = (bc_proof_step){.layers = 2, .within = true, .best = {.limit_used = 0.0}};
    p.step[3] = (bc_proof_step){.layers = 3, .within = true, .best = {.limit_used = 0.0}};
    expect_words(&p.proof, 0.0,
                 "No single layer of these materials, up to 650 nm thick, uses less than 2.979 of the limits: proved. "
                 "None of them meets the callouts. The best one known uses 3.010: within 1 % of the best of them.");
    p.step[0] = (bc_proof_step){.layers = 0, .within = true, .best = {.limit_used = 0.0}};
    p.step[1] = (bc_proof_step){.layers = 1, .within = true, .best = {.limit_used = 0.0}};
    expect_words(&p.proof, 0.0, "");
}
END_TEST

START_TEST(an_early_end_is_said)
{
    proven p;
    open_proof(&p);
    strcpy(p.proof.reason, "the proof was ended after 32 boxes of thicknesses");
    p.step[3].within = false;
    p.step[3].limit_used_at_least = 0.25;
    expect_words(
        &p.proof, 8.0,
        "No single layer of these materials, up to 650 nm thick and no thinner than 8 nm, uses less than 2.979 "
        "of the limits: proved. None of them meets the callouts. The best one known uses 3.010: within 1 % of "
        "the best of them. None of up to 3 layers uses less than 0.25: proved; the best one known uses 0.480, "
        "and no nearer bound is proved: the proof was ended after 32 boxes of thicknesses.");
    p.step[1].within = false;
    expect_words(&p.proof, 8.0,
                 "No stack of up to 3 layers of these materials, up to 650 nm thick in all and without a layer thinner "
                 "than 8 nm, uses less than 0.25 of the limits: proved. The best one known uses 0.480; no nearer bound "
                 "is proved: the proof was ended after 32 boxes of thicknesses.");
    p.step[3].limit_used_at_least = 0.0;
    p.step[2].limit_used_at_least = 1.5;
    expect_words(
        &p.proof, 0.0,
        "No stack of up to 2 layers of these materials, up to 650 nm thick in all, uses less than 1.5 of the "
        "limits: proved. None of them meets the callouts. The best one known uses 2.000. Nothing is proved of 3 "
        "layers: the proof was ended after 32 boxes of thicknesses.");
    p.step[1].within = true;
    expect_words(
        &p.proof, 0.0,
        "No single layer of these materials, up to 650 nm thick, uses less than 2.979 of the limits: proved. None of "
        "them meets the callouts. The best one known uses 3.010: within 1 % of the best of them. None of up to 2 "
        "layers uses less than 1.5: proved; the best one known uses 2.000. Nothing is proved of 3 layers: the proof "
        "was ended after 32 boxes of thicknesses.");
    p.step[1].within = false;
    p.step[1].limit_used_at_least = p.step[2].limit_used_at_least = 0.0;
    expect_words(&p.proof, 0.0,
                 "Nothing is proved of 1 to 3 layers: the proof was ended after 32 boxes of thicknesses.");
}
END_TEST

/* Options with so many layers, of which the single layer and the three are within 1 %. */
static void expect_proved(const proven *p, size_t options, size_t first, const char *expected)
{
    static bc_layer layer[3];
    bc_quote_option option[] = {{.stack = {.layers = 1, .layer = layer}, .limit_used = 3.0},
                                {.stack = {.layers = 2, .layer = layer}, .limit_used = 2.5},
                                {.stack = {.layers = 3, .layer = layer}, .limit_used = 0.4796}};
    const bc_design_problem problem = {.minimum_nm = 0.0};
    const bc_quote_request request = {.problem = &problem};
    const bc_quote_result result = {.proof = p->proof, .options = options, .option = option + first};
    const bc_quote_report report = {.request = &request, .result = &result};
    bc_text words = {0};
    bc_add_proved(&words, &report);
    ck_assert_str_eq(strchr(words.data, '\n') + 1, expected);
    bc_text_clear(&words);
}

START_TEST(options_within_are_named)
{
    proven p;
    open_proof(&p);
    expect_proved(&p, 1, 1, "");
    expect_proved(&p, 2, 0, "Within 1 % of the best with so many layers, or fewer: the option with 1 layer.\n");
    expect_proved(&p, 2, 1, "Within 1 % of the best with so many layers, or fewer: the option with 3 layers.\n");
    expect_proved(&p, 3, 0, "Within 1 % of the best with so many layers, or fewer: the options with 1, 3 layers.\n");
}
END_TEST

START_TEST(only_what_is_within_is_noted)
{
    proven p;
    open_proof(&p);
    ck_assert_str_eq(bc_proof_note(&p.proof, 3, 0.4796), "proved within 1 % of the best");
    ck_assert_str_eq(bc_proof_note(&p.proof, 3, 0.4798), "");
    ck_assert_str_eq(bc_proof_note(&p.proof, 0, 8.5), ""); /* a bare surface is no coating */
    ck_assert_str_eq(bc_proof_note(&p.proof, 4, 0.1), "");
    ck_assert_str_eq(bc_proof_note(NULL, 3, 0.4796), "");
}
END_TEST

START_TEST(json_has_the_bound)
{
    proven p;
    bc_json json;
    bc_text text = {0};
    cJSON *root, *proved;
    open_proof(&p);
    bc_json_open(&json);
    bc_proof_json(&json, &p.proof, 8.0);
    ck_assert_int_eq(bc_json_close(&json, &text, NULL), BC_OK);
    root = cJSON_Parse(text.data);
    proved = cJSON_GetObjectItem(root, "proved");
    ck_assert_double_eq(cJSON_GetNumberValue(cJSON_GetObjectItem(proved, "layers")), 3.0);
    ck_assert_double_eq(cJSON_GetNumberValue(cJSON_GetObjectItem(proved, "limit_used_at_least")), 0.474889);
    ck_assert_double_eq(cJSON_GetNumberValue(cJSON_GetObjectItem(proved, "total_nm_at_most")), 650.0);
    ck_assert_double_eq(cJSON_GetNumberValue(cJSON_GetObjectItem(proved, "layer_nm_at_least")), 8.0);
    ck_assert_double_eq(cJSON_GetNumberValue(cJSON_GetObjectItem(proved, "boxes")), 42.0);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(proved, "within_1_percent")));
    cJSON_Delete(root);
    bc_text_clear(&text);
}
END_TEST

START_TEST(a_draft_shows_its_proof)
{
    fixture all;
    proven p;
    bc_text text = {0};
    open_proof(&p);
    p.step[3].limit_used_at_least = 1.245;
    p.step[3].best.limit_used = 1.25;
    fixture_open(&all);
    all.draft.proof = &p.proof;
    ck_assert_int_eq(bc_report_design_text(&all.draft, &text, NULL), BC_OK);
    ck_assert_msg(strstr(text.data, "<- chosen  proved within 1 % of the best\n") != NULL, "%s", text.data);
    ck_assert_msg(strstr(text.data, "uses less than 1.245") != NULL, "%s", text.data);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

Suite *proof_words_suite(void)
{
    Suite *suite = suite_create("proof");
    TCase *tcase = scratch_case("words");
    tcase_add_test(tcase, a_bound_is_said_in_one_sentence);
    tcase_add_test(tcase, an_early_end_is_said);
    tcase_add_test(tcase, layers_that_reach_zero_need_no_proof);
    tcase_add_test(tcase, options_within_are_named);
    tcase_add_test(tcase, only_what_is_within_is_noted);
    tcase_add_test(tcase, json_has_the_bound);
    tcase_add_test(tcase, a_draft_shows_its_proof);
    suite_add_tcase(suite, tcase);
    return suite;
}
