/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The pages of an inspection and of a lens: all that their texts say, the verdict first.
 */
#include "inspected.h"
#include "markup.h"
#include <bloomcoat/page.h>
#include <limits.h>
#include <math.h>
#include <string.h>

static const bc_page_input input[] = {{"measured", "/some/body/w1.txt", "0123456789abcdef"},
                                      {"stack", "stack.csv", "fedcba9876543210"}};

static bc_page_options options_of(bc_page_format format)
{
    return (bc_page_options){.format = format, .part = "P-7", .date = "2026-11-25", .inputs = 2, .input = input};
}

/* Loop bit 0: a lot. */
static void set_lot(inspected *all, bool lot)
{
    all->report.lot = lot ? &all->lot : NULL;
    all->report.witnesses = lot ? 2 : 1;
}

static bc_text page_of(const inspected *all, bc_page_format format)
{
    const bc_page_options options = options_of(format);
    bc_text text = {0};
    bc_error error = {0};
    ck_assert_msg(bc_page_inspect(&all->report, &options, &text, &error) == BC_OK, "%s", error.message);
    return text;
}

static void expect_order(const char *page, const char *const *piece)
{
    const char *last = page;
    for (; *piece != NULL; piece++) {
        const char *place = strstr(last, *piece);
        ck_assert_msg(place != NULL, "'%s' is missing or out of order", *piece);
        last = place;
    }
}

START_TEST(one_witness_verdict_first)
{
    static const char *const order[] = {"Inspection of a witness",
                                        "P-7",
                                        "2026-11-25",
                                        "w1.txt",
                                        "Undecided",
                                        "The row is about 30 degrees",
                                        "Taken as measured on",
                                        "a: band",
                                        "UNDECIDED",
                                        "all layers off by one factor",
                                        "tooling 1.0000 (assumed) becomes 1.0200",
                                        "the mean of 3 scans",
                                        "Where the indices come from",
                                        "measured",
                                        "w1.txt",
                                        "0123456789abcdef",
                                        "fedcba9876543210",
                                        "Cautions",
                                        NULL};
    inspected all;
    bc_text text, html;
    markup page;
    open_inspected(&all);
    strcpy(all.result[0].label, "w1.txt");
    all.report.color = true; /* of a terminal, and of no page */
    html = page_of(&all, BC_PAGE_HTML);
    page = markup_read(html.data);
    expect_order(page.text, order);
    ck_assert_uint_eq(page.pictures, 1);
    ck_assert_uint_eq(page.scripts, 0);
    ck_assert(!page.refers_outside);
    ck_assert_ptr_null(strstr(html.data, "/some/body"));
    ck_assert_ptr_null(strstr(html.data, "[33m"));
    all.report.color = false;
    all.report.stack_path = all.report.callouts_path = NULL;
    text = (bc_text){0};
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, NULL), BC_OK);
    for (char *path; (path = strstr(text.data, scratch_folder())) != NULL;)
        memset(path, '-', strlen(scratch_folder()));
    expect_numbers_of(text.data, page.text);
    free(page.text);
    bc_text_clear(&text);
    bc_text_clear(&html);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_lot_verdict_first)
{
    static const char *const order[] = {"Inspection of a lot",
                                        "2 witnesses",
                                        "Undecided",
                                        "Of 2 witnesses 0 accepted",
                                        "The witnesses",
                                        "w2.txt",
                                        "Each callout on its worst witness",
                                        "Over the lot",
                                        "Spread:",
                                        "Cautions",
                                        NULL};
    inspected all;
    bc_text text = {0}, html;
    markup page;
    open_inspected(&all);
    strcpy(all.result[0].label, "w1.txt");
    set_lot(&all, true);
    html = page_of(&all, BC_PAGE_HTML);
    page = markup_read(html.data);
    expect_order(page.text, order);
    ck_assert_uint_eq(page.pictures, 1);
    ck_assert_int_eq(bc_report_inspect_text(&all.report, &text, NULL), BC_OK);
    for (char *path; (path = strstr(text.data, scratch_folder())) != NULL;)
        memset(path, '-', strlen(scratch_folder()));
    expect_numbers_of(text.data, page.text);
    free(page.text);
    bc_text_clear(&text);
    bc_text_clear(&html);
    fixture_close(&all.base);
}
END_TEST

/* The verdict's own words, as large as they are. */
START_TEST(every_verdict_has_its_word)
{
    static const char *const word[] = {
        [BC_ACCEPT] = "Accepted", [BC_REJECT] = "Rejected", [BC_UNDECIDED] = "Undecided"};
    inspected all;
    bc_text html;
    open_inspected(&all);
    all.result[0].verdict = (bc_verdict)_i;
    html = page_of(&all, BC_PAGE_HTML);
    for (int v = 0; v < 3; v++)
        ck_assert_int_eq(strstr(html.data, word[v]) != NULL, v == _i);
    bc_text_clear(&html);
    fixture_close(&all.base);
}
END_TEST

START_TEST(without_callouts_nothing_is_judged)
{
    inspected all;
    bc_text html;
    open_inspected(&all);
    all.result[0].count = 0;
    all.setup.callouts = NULL;
    html = page_of(&all, BC_PAGE_HTML);
    ck_assert_ptr_nonnull(strstr(html.data, "nothing is accepted and nothing rejected"));
    ck_assert_ptr_null(strstr(html.data, ">Callouts<"));
    bc_text_clear(&html);
    fixture_close(&all.base);
}
END_TEST

/* Loop: HTML and PDF, of one witness and of a lot. */
START_TEST(the_same_page_is_the_same_bytes)
{
    inspected all;
    bc_text one, other;
    open_inspected(&all);
    set_lot(&all, _i % 2 == 1);
    one = page_of(&all, (bc_page_format)(_i / 2));
    other = page_of(&all, (bc_page_format)(_i / 2));
    ck_assert_uint_eq(one.length, other.length);
    ck_assert_int_eq(memcmp(one.data, other.data, one.length), 0);
    bc_text_clear(&one);
    bc_text_clear(&other);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_page_survives_every_failed_allocation)
{
    const bc_page_options options = options_of(BC_PAGE_HTML);
    inspected all;
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    open_inspected(&all);
    set_lot(&all, _i % 2 == 1);
    for (; status != BC_OK && tried < 5000; tried++) {
        bc_error error = {0};
        memory_lasts(tried);
        status = bc_page_inspect(&all.report, &options, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 100);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

/* A lens whose layers grow as a profile says: all that the text says, but for the profile's folder. */
START_TEST(a_lens_from_centre_to_edge)
{
    static const char *const order[] = {"Coating of a curved surface",
                                        "Does not meet every callout",
                                        "Callouts over the whole aperture",
                                        "From the vertex to the edge",
                                        "Scatter from a roughness of 2 nm",
                                        "The surface",
                                        "p.csv",
                                        "Design, as it is",
                                        "Cautions",
                                        NULL};
    double at[] = {0.0, 18.0}, percent[] = {100.0, 62.5};
    char path[] = "/some/body/p.csv";
    const bc_profile profile = {.path = path, .rows = 2, .at = at, .percent = percent};
    const bc_curved curved = {.radius_mm = 20.0,
                              .clear_aperture_mm = 36.0,
                              .distribution = BC_DISTRIBUTION_PROFILE,
                              .profile = &profile,
                              .axial = true};
    const bc_page_options options = options_of(BC_PAGE_HTML);
    fixture all;
    bc_callouts callouts;
    bc_lens_result result;
    bc_text text = {0}, html = {0};
    markup page;
    fixture_open(&all);
    callouts = (bc_callouts){.count = 1, .callout = all.callout};
    ck_assert_int_eq(bc_lens(&all.stack, &callouts, 1, all.glass, &curved, 9, &result, NULL), BC_OK);
    bc_lens_report report = {.check = {.stack = &all.stack,
                                       .result = &result.designed.check,
                                       .curved = &curved,
                                       .zones = result.zones,
                                       .roughness_nm = 2.0},
                             .result = &result};
    ck_assert_int_eq(bc_page_lens(&report, &options, &html, NULL), BC_OK);
    ck_assert_int_eq(bc_report_lens_text(&report, &text, NULL), BC_OK);
    page = markup_read(html.data);
    expect_order(page.text, order);
    ck_assert_uint_eq(page.pictures, 1);
    ck_assert_ptr_null(strstr(html.data, "/some/body"));
    for (char *folder; (folder = strstr(text.data, scratch_folder())) != NULL;)
        memset(folder, '-', strlen(scratch_folder()));
    expect_numbers_of(text.data, page.text);
    free(page.text);
    bc_text_clear(&text);
    bc_text_clear(&html);
    bc_lens_result_clear(&result);
    fixture_close(&all);
}
END_TEST

Suite *page_inspect_suite(void)
{
    Suite *suite = suite_create("page, inspect and lens");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, one_witness_verdict_first);
    tcase_add_test(tcase, a_lot_verdict_first);
    tcase_add_loop_test(tcase, every_verdict_has_its_word, 0, 3);
    tcase_add_test(tcase, without_callouts_nothing_is_judged);
    tcase_add_loop_test(tcase, the_same_page_is_the_same_bytes, 0, 4);
    tcase_add_loop_test(tcase, a_page_survives_every_failed_allocation, 0, 2);
    tcase_add_test(tcase, a_lens_from_centre_to_edge);
    suite_add_tcase(suite, tcase);
    return suite;
}
