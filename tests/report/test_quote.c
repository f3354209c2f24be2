/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A quote in each of its circumstances: what text, JSON and page say, and that they say the same.
 */
#include "markup.h"
#include "offered.h"
#include <bloomcoat/page.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Lines and indents gone: the words alone. */
static bc_text words_of(const offered *all)
{
    bc_text text = {0};
    char *to;
    ck_assert_int_eq(bc_report_quote_text(&all->quote, &text, NULL), BC_OK);
    expect_tidy(text.data);
    to = text.data;
    for (const char *from = text.data; *from != '\0'; from++) {
        const char one = *from == '\n' ? ' ' : *from;
        if (one != ' ' || to == text.data || to[-1] != ' ')
            *to++ = one;
    }
    *to = '\0';
    return text;
}

static void expect_words(const offered *all, const char *const *piece, bool there)
{
    bc_text text = words_of(all);
    for (; *piece != NULL; piece++)
        ck_assert_msg((strstr(text.data, *piece) != NULL) == there, "'%s' %s: %.2000s", *piece,
                      there ? "is missing" : "is there", text.data);
    bc_text_clear(&text);
}

static cJSON *json_of(const offered *all)
{
    bc_text json = {0};
    ck_assert_int_eq(bc_report_quote_json(&all->quote, &json, NULL), BC_OK);
    cJSON *root = parse(&json);
    bc_text_clear(&json);
    return root;
}

static bool says(const cJSON *root, const char *array, const char *piece)
{
    const cJSON *item;
    cJSON_ArrayForEach(item,
                       cJSON_GetObjectItem(root, array)) if (strstr(item->valuestring, piece) != NULL) return true;
    return false;
}

START_TEST(each_exception_is_told)
{
    static const char *const told[] = {
        "Process process.csv",
        "Chamber chamber.csv",
        "Verdict: marginal",
        "3 layers: the most runs succeed with it, 75.0 of 100 (72.0 to 78.0), fewer than the 90 asked for",
        "\"band\", lowest limit: R max <= 0.87 %, 420..680 nm, 0..30 deg, unpolarized, in place of R max <= 0.6 %, "
        "420..680 nm, 0 deg; verified: uses 97.0 % of the limit, 95.0 of 100 runs succeed (93.0 to 97.0; 500 runs, "
        "seed 8), "
        "with 3 layers,",
        "largest clear aperture: a clear aperture of 17.25 mm, in place of a clear aperture of 30 mm",
        "another layer at hand: hard as well, in place of soft, hard; verified",
        "another glass at hand: 1.62 (the lens must be designed for it), in place of 1.52, 1.62; verified: uses "
        "97.0 % of the limit, with 3 layers",
        "\"band\", widest band, short end moved: looked as far as R max <= 0.87 %",
        "\"through the whole of the window at every angle\": whatever its limit, nothing was found that does.",
        "a recipe for one glass alone: 1.62 with a recipe of its own",
        "20 parts of 30 mm fit into one load",
        "40 parts take 2 loads when every run is good. With the runs that fail, 2.7 loads are expected, 3.4 hours; 4 "
        "are "
        "enough in 95 of 100 such orders. Parts of a failed run are stripped and coated again: supply 40 blanks.",
        NULL};
    static const char *const not_stated[] = {"each face", "both faces", NULL};
    offered all;
    cJSON *root;
    open_offered(&all);
    expect_words(&all, told, true);
    expect_words(&all, not_stated, false);
    root = json_of(&all);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "exceptions")), OFFERED_EXCEPTIONS / 2);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "not_found")), OFFERED_EXCEPTIONS / 2);
    const cJSON *aperture = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "exceptions"), 1);
    ck_assert_double_eq(number_of(aperture, "clear_aperture_mm"), 17.25);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(aperture, "callout")));
    const cJSON *dropped = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "not_found"), 1);
    ck_assert_str_eq(string_of(dropped, "looked_at"), "left out altogether");
    ck_assert_ptr_null(cJSON_GetObjectItem(dropped, "limit_percent"));
    cJSON_Delete(root);
    fixture_close(&all.base);
}
END_TEST

START_TEST(each_remark_is_told)
{
    static const char *const told[] = {
        "hard is refused: its table reaches from 400 to 700 nm, and the callouts ask for 380 to 950 nm.",
        "hard is refused: its process needs about 300 C (common practice, no source), and this part withstands 60 C. A",
        "soft is refused: its process needs about 250 C, and this part withstands 90 C (common practice, no source). A",
        "soft: its table does not say how hot the part must be (process_c); ask the process whether 90 C is enough.",
        "hard absorbs in the band: k up to 0.0021, at 421 nm.",
        NULL};
    static const char *const absorbs[] = {"absorbs", NULL};
    offered all;
    open_offered(&all);
    expect_words(&all, told, true);
    cJSON *root = json_of(&all);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "materials")), OFFERED_REMARKS - 4);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "refused")), 3);
    cJSON_Delete(root);
    all.remark[4].k = 1e-7; /* nobody will notice */
    expect_words(&all, absorbs, false);
    fixture_close(&all.base);
}
END_TEST

/* Why this option: by the verdict and by what is known of it. */
START_TEST(each_verdict_has_its_reason)
{
    static const struct {
        bc_feasibility verdict;
        double yield, used;
        const char *told, *word;
    } way[] = {
        {BC_NOT_FEASIBLE, 0.1, 1.3, "comes nearest to the callouts; it uses 130.", "not feasible"},
        {BC_FEASIBLE, NAN, 0.84, "the fewest that leave a tenth of the limit in hand (84.", "feasible"},
        {BC_FEASIBLE, NAN, 0.95, "uses the least of the limit (95.0 %), with less than a tenth in hand", "feasible"},
        {BC_FEASIBLE, 0.96, 0.84,
         "with which enough runs succeed, 96.0 of 100 (72.0 to 78.0; 90 asked for); it uses 84.0", "feasible"},
        {BC_MARGINAL, 0.75, 0.84, "the most runs succeed with it, 75.0 of 100", "marginal"},
    };
    offered all;
    open_offered(&all);
    all.result.verdict = way[_i].verdict;
    all.option[1].yield = way[_i].yield;
    all.option[1].limit_used = way[_i].used;
    const char *const told[] = {way[_i].told, way[_i].verdict == BC_NOT_FEASIBLE ? "<- nearest" : "<- recommended",
                                NULL};
    const char *const offers[] = {"What could be offered instead", NULL};
    expect_words(&all, told, true);
    expect_words(&all, offers, way[_i].verdict != BC_FEASIBLE);
    cJSON *root = json_of(&all);
    ck_assert_str_eq(string_of(root, "verdict"), way[_i].word);
    ck_assert_ptr_nonnull(strstr(string_of(root, "why"), way[_i].told));
    cJSON_Delete(root);
    fixture_close(&all.base);
}
END_TEST

START_TEST(what_more_materials_could_do)
{
    static const char *const normal = "The theorem is for normal incidence";
    offered all;
    cJSON *root;
    open_offered(&all);
    root = json_of(&all);
    ck_assert(says(root, "reasons", "two indices suffice") && !says(root, "reasons", normal));
    ck_assert(says(root, "reasons", "fails in 20.0 of 100 runs."));
    cJSON_Delete(root);
    all.result.materials.normal = false;
    all.result.materials.lower = &all.at_hand[1];
    all.result.materials.higher = &all.base.glass[1];
    all.result.decides_alone = true;
    all.result.fails = NULL;
    root = json_of(&all);
    ck_assert(says(root, "reasons", "Also at hand: hard and 1.62, which") && says(root, "reasons", normal));
    ck_assert(says(root, "reasons", "; were it left out, the others could be met."));
    ck_assert(!says(root, "reasons", "of 100 runs"));
    cJSON_Delete(root);
    all.result.materials.lower = NULL;
    root = json_of(&all);
    ck_assert(says(root, "reasons", "Also at hand: 1.62, which"));
    cJSON_Delete(root);
    all.result.materials = (bc_material_limit){&all.at_hand[0], &all.at_hand[1], 1.4, 1.5, &all.at_hand[0], NULL, true};
    root = json_of(&all);
    ck_assert(says(root, "reasons", "Also at hand: soft, which"));
    cJSON_Delete(root);
    all.request.other_layers = 0;
    root = json_of(&all);
    ck_assert(says(root, "reasons", "No other layer materials were considered."));
    cJSON_Delete(root);
    fixture_close(&all.base);
}
END_TEST

/* Beside the verdict, which stays; in the table of the options; nothing on the customer's page. */
START_TEST(what_is_known_of_the_process)
{
    static const char *const shaky[] = {
        "The process is known by 6 runs: that leaves a yield of 70 to 99 of 100 runs (95 % "
        "interval). The verdict goes by the process file; that 90 succeed is not certain.",
        "yield % (known)", "94.0 (70 to 99)", NULL};
    static const char *const hopeful[] = {"that fewer than 90 succeed is not certain.", NULL};
    static const char *const nothing[] = {"is known by", "(known)", "not certain", NULL};
    offered all;
    open_offered(&all);
    expect_words(&all, nothing, false);
    all.option[1].known = (bc_known_yield){6.0, 0.7, 0.99, 0.9};
    expect_words(&all, hopeful, true);
    all.result.verdict = BC_FEASIBLE;
    all.option[1].yield = 0.94;
    expect_words(&all, shaky, true);
    cJSON *root = json_of(&all);
    const cJSON *option = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "options"), 1);
    ck_assert_double_eq(number_of(option, "process_runs"), 6.0);
    ck_assert_double_eq_tol(number_of(option, "yield_known_low_percent"), 70.0, 1e-9);
    ck_assert(cJSON_IsNull(
        cJSON_GetObjectItem(cJSON_GetArrayItem(cJSON_GetObjectItem(root, "options"), 0), "yield_known_high_percent")));
    cJSON_Delete(root);
    fixture_close(&all.base);
}
END_TEST

START_TEST(each_gap_is_told)
{
    offered all;
    cJSON *root;
    open_offered(&all);
    root = json_of(&all);
    ck_assert(says(root, "missing", "no tooling for soft: its hours are those at the monitor."));
    ck_assert(says(root, "missing", "no rate_nm_per_s for hard"));
    ck_assert(!says(root, "missing", "no tooling for hard")); /* without a rate there are no hours to be wrong */
    ck_assert(says(root, "missing", "gives no index_sigma for soft"));
    ck_assert(says(root, "missing", "gives no run_thickness_sigma_percent index_sigma for hard"));
    ck_assert(says(root, "missing", "no part_pitch_extra_mm: parts are packed edge to edge."));
    ck_assert(!says(root, "missing", "does not fit"));
    cJSON_Delete(root);
    all.result.parts_per_load = 0;
    all.request.part_diameter_mm = 700.0;
    all.result.yield_known = false;
    root = json_of(&all);
    ck_assert(says(root, "missing", "A part of 700 mm does not fit into the load circle of 600 mm."));
    ck_assert(says(root, "missing", "The process file gives no errors"));
    ck_assert(!says(root, "missing", "index_sigma"));
    cJSON_Delete(root);
    all.request.part_diameter_mm = 0.0;
    root = json_of(&all);
    ck_assert(says(root, "missing", "No --part-diameter-mm") && !says(root, "missing", "part_pitch_extra_mm"));
    cJSON_Delete(root);
    all.chamber.has_load_diameter = false;
    all.request.part_diameter_mm = 30.0;
    root = json_of(&all);
    ck_assert(says(root, "missing", "no load_diameter_mm: parts per load are not known."));
    cJSON_Delete(root);
    all.request.process = NULL;
    all.request.chamber = NULL;
    all.request.quantity = 0;
    all.quote.process_path = all.quote.chamber_path = NULL;
    root = json_of(&all);
    ck_assert(says(root, "missing", "No process file") && says(root, "missing", "No chamber file"));
    ck_assert(says(root, "missing", "No --quantity") && !says(root, "missing", "rate_nm_per_s"));
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(root, "quantity")));
    cJSON_Delete(root);
    fixture_close(&all.base);
}
END_TEST

START_TEST(both_faces_are_loads_of_their_own)
{
    static const char *const told[] = {"40 parts, each face in a run of its own, take 1 load when every run is good.",
                                       "A part is good on both faces at the first pass in 56.2 of 100 cases.", NULL};
    static const char *const not_stated[] = {"on both faces", "40 parts", "With the runs that fail", "parts of 30 mm",
                                             NULL};
    offered all;
    open_offered(&all);
    all.request.both_sides = true;
    all.option[1].loads = 1;
    expect_words(&all, told, true);
    all.option[1].yield = all.option[1].loads_expected = NAN;
    all.option[1].loads = 0;
    all.result.parts_per_load = 0;
    expect_words(&all, not_stated, false);
    fixture_close(&all.base);
}
END_TEST

/* Loop: as filled in; nothing found; feasible, with no load known. */
START_TEST(a_page_says_what_the_text_says)
{
    const bc_page_options options = {.part = "P-7", .inputs = 0};
    bc_text html = {0}, text = {0};
    markup page;
    offered all;
    open_offered(&all);
    for (size_t e = 0; e < OFFERED_EXCEPTIONS && _i == 1; e++)
        all.exception[e].found = false;
    if (_i == 2) {
        all.result.verdict = BC_FEASIBLE;
        all.result.parts_per_load = all.option[1].loads = 0;
        all.option[1].loads_expected = NAN;
        all.quote.check.curved = NULL;
    }
    ck_assert_int_eq(bc_page_quote(1, &(bc_quote_surface){NULL, &all.quote, NULL}, &options, &html, NULL), BC_OK);
    page = markup_read(html.data);
    ck_assert_ptr_nonnull(strstr(page.text, _i == 2 ? "Feasible" : "Marginal"));
    ck_assert_int_eq(strstr(page.text, "one change at a time") != NULL, _i == 0);
    ck_assert_int_eq(strstr(page.text, "No single change that was tried") != NULL, _i == 1);
    ck_assert_int_eq(strstr(page.text, "aperture of 17.25 mm") != NULL, _i != 2);
    ck_assert_int_eq(strstr(page.text, "fit into one load") != NULL, _i != 2);
    ck_assert_uint_eq(page.pictures, 0);
    all.base.check.back = NULL;
    all.quote.check.callouts_path = all.quote.process_path = all.quote.chamber_path = NULL;
    ck_assert_int_eq(bc_report_quote_text(&all.quote, &text, NULL), BC_OK);
    for (char *path; (path = strstr(text.data, scratch_folder())) != NULL;)
        memset(path, '-', strlen(scratch_folder()));
    expect_numbers_of(text.data, page.text);
    free(page.text);
    bc_text_clear(&text);
    bc_text_clear(&html);
    fixture_close(&all.base);
}
END_TEST

/* Nothing of how it is made, whatever the verdict. Loop: marginal; nothing found; feasible; not feasible, for each
 * obstacle. */
START_TEST(a_page_for_the_customer_keeps_the_recipe)
{
    static const char *const never[] = {"soft",       "hard", "layer",       "yield",    "run",
                                        "hour",       "load", "process.csv", "nm thick", "125.033",
                                        "limit_used", "uses", "chamber.csv"};
    static const char *const large[] = {"Marginal: not offered as asked", "No single change", "Offered as asked",
                                        "No coating was found",           "too large",        "contradict each other",
                                        "withstand the temperature",      "controlled well"};
    const bc_page_options options = {.part = "P-7"};
    bc_text html = {0};
    markup page;
    offered all;
    open_offered(&all);
    all.option[1].known = (bc_known_yield){6.0, 0.7, 0.99, 0.9};
    if (_i == 2)
        all.result.verdict = BC_FEASIBLE;
    if (_i > 2) {
        all.result.verdict = BC_NOT_FEASIBLE;
        all.result.obstacle = (bc_obstacle)(_i - 3);
        all.result.obstacle_material = &all.at_hand[1];
    }
    for (size_t e = 0; e < OFFERED_EXCEPTIONS && _i == 1; e++)
        all.exception[e].found = false;
    ck_assert_int_eq(bc_page_offer(1, &(bc_quote_surface){NULL, &all.quote, NULL}, &options, &html, NULL), BC_OK);
    page = markup_read(html.data);
    ck_assert_msg(strstr(page.text, large[_i]) != NULL, "no '%s' in %s", large[_i], page.text);
    ck_assert_ptr_nonnull(strstr(page.text, "40 parts, one face coated"));
    ck_assert_int_eq(strstr(page.text, "Guaranteed limits") != NULL, _i == 2);
    ck_assert_int_eq(strstr(page.text, "Offered instead") != NULL, _i != 1 && _i != 2);
    ck_assert_int_eq(strstr(page.text, "another kind of coating") != NULL, _i != 1 && _i != 2);
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
        ck_assert_msg(strstr(page.text, never[i]) == NULL, "'%s' in %s", never[i], page.text);
    free(page.text);
    bc_text_clear(&html);
    /* Without a known yield nothing is guaranteed. */
    all.result.yield_known = false;
    ck_assert_int_eq(bc_page_offer(1, &(bc_quote_surface){NULL, &all.quote, NULL}, &options, &html, NULL), BC_OK);
    ck_assert_ptr_null(strstr(html.data, "Guaranteed limits"));
    bc_text_clear(&html);
    fixture_close(&all.base);
}
END_TEST

/* Every option a row, and of each material as much as its layers have; what is not known is empty. */
START_TEST(a_price_has_what_a_spreadsheet_needs)
{
    bc_text text = {0};
    char expected[400];
    double nm[2] = {0.0, 0.0};
    offered all;
    open_offered(&all);
    for (size_t i = 0; i < all.base.stack.layers; i++)
        nm[all.base.stack.layer[i].material.dispersion == all.at_hand[0].dispersion ? 0 : 1] +=
            all.base.stack.layer[i].thickness_nm;
    ck_assert_int_eq(bc_report_quotes_price_csv(1, &(bc_quote_surface){NULL, &all.quote, NULL}, &text, NULL), BC_OK);
    ck_assert_ptr_nonnull(strstr(text.data, ",blanks,"));
    ck_assert_ptr_nonnull(strstr(text.data, "\n,1,no,,40,1,0,0.000,,20,,,,,95,,,strip,,0.000,0,0.000,\n"));
    ck_assert_ptr_nonnull(strstr(text.data, "\n,2,yes,marginal,40,1,3,125.033,75,20,1.25,2,2.7,3.4,95,4,5,strip,40,"));
    /* at 3 g/cm3 on a circle of 60 cm */
    snprintf(expected, sizeof expected, ",%.3f,%.4g", nm[0], nm[0] * 1e-7 * 3.0 * 2827.4333882);
    ck_assert_ptr_nonnull(strstr(text.data, expected));
    snprintf(expected, sizeof expected, ",%.3f,\n", nm[1]);
    ck_assert_ptr_nonnull(strstr(text.data, expected));
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

Suite *quote_suite(void)
{
    Suite *suite = suite_create("quote");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, each_exception_is_told);
    tcase_add_test(tcase, each_remark_is_told);
    tcase_add_loop_test(tcase, each_verdict_has_its_reason, 0, 5);
    tcase_add_test(tcase, what_more_materials_could_do);
    tcase_add_test(tcase, what_is_known_of_the_process);
    tcase_add_test(tcase, each_gap_is_told);
    tcase_add_test(tcase, both_faces_are_loads_of_their_own);
    tcase_add_loop_test(tcase, a_page_says_what_the_text_says, 0, 3);
    tcase_add_test(tcase, a_price_has_what_a_spreadsheet_needs);
    tcase_add_loop_test(tcase, a_page_for_the_customer_keeps_the_recipe, 0, 8);
    suite_add_tcase(suite, tcase);
    return suite;
}
