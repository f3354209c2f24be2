/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include "many_or_few.h"
#include "markup.h"
#include "scene.h"
#include <bloomcoat/page.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>

static const bc_page_input input[] = {{"stack", "/some/body/start.csv", "0123456789abcdef"},
                                      {"callouts", "callouts.csv", "fedcba9876543210"}};

static bc_page_options options_of(bc_page_format format)
{
    return (bc_page_options){.format = format, .part = "P-7", .inputs = 2, .input = input};
}

static bc_text page_of(const bc_check_report *report, const bc_check_curves *curves, const bc_page_options *options)
{
    bc_text text = {0};
    bc_error error = {0};
    ck_assert_msg(bc_page_check(report, curves, options, &text, &error) == BC_OK, "%s", error.message);
    return text;
}

/* Verdict, then callouts, then inputs, then cautions; nothing from outside, no script, no folder of anybody. */
START_TEST(a_page_is_whole_and_in_order)
{
    const bc_page_options options = options_of(BC_PAGE_HTML);
    const char *last = NULL;
    static const char *const order[] = {"Coating check",
                                        "P-7",
                                        "Does not meet every callout",
                                        "through the whole of",
                                        "Where the indices come from",
                                        "fedcba9876543210",
                                        "Cautions",
                                        "Durability"};
    fixture all;
    bc_text text;
    markup page;
    fixture_open(&all);
    text = page_of(&all.check, NULL, &options);
    page = markup_read(text.data);
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        const char *place = strstr(page.text, order[i]);
        ck_assert_msg(place != NULL && place > last, "'%s' is missing or out of order", order[i]);
        last = place;
    }
    ck_assert_uint_eq(page.pictures, 0);
    ck_assert_uint_eq(page.scripts, 0);
    ck_assert(!page.refers_outside);
    ck_assert_ptr_null(strstr(text.data, "/some/body"));
    ck_assert_ptr_null(strstr(text.data, scratch_folder()));
    ck_assert_ptr_nonnull(strstr(page.text, bc_dispersion_sha256(all.layer[0].material.dispersion)));
    free(page.text);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(a_page_has_every_number_of_the_text)
{
    const bc_page_options options = options_of(BC_PAGE_HTML);
    fixture all;
    bc_text text = {0}, html;
    markup page;
    fixture_open(&all);
    all.check.stack_path = all.check.callouts_path = NULL;
    all.check.color = false;
    ck_assert_int_eq(bc_report_check_text(&all.check, &text, NULL), BC_OK);
    html = page_of(&all.check, NULL, &options);
    page = markup_read(html.data);
    /* The tables' paths, which the page does not tell, lie in the scratch folder. */
    for (char *path; (path = strstr(text.data, scratch_folder())) != NULL;)
        memset(path, '-', strlen(scratch_folder()));
    expect_numbers_of(text.data, page.text);
    free(page.text);
    bc_text_clear(&text);
    bc_text_clear(&html);
    fixture_close(&all);
}
END_TEST

START_TEST(an_average_is_at_no_wavelength)
{
    const bc_page_options options = options_of(BC_PAGE_HTML);
    fixture all;
    bc_text html;
    char row[400];
    fixture_open(&all);
    html = page_of(&all.check, NULL, &options);
    const char *mean = strstr(html.data, "<td>average ");
    ck_assert_ptr_nonnull(mean);
    snprintf(row, sizeof row, "%.*s", (int)(strstr(mean, "</tr>") - mean), mean);
    ck_assert_ptr_nonnull(strstr(row, "<td class=\"right\"></td>"));
    bc_text_clear(&html);
    fixture_close(&all);
}
END_TEST

START_TEST(names_from_outside_do_no_harm)
{
    bc_page_options options = options_of(BC_PAGE_HTML);
    fixture all;
    bc_text text;
    markup page;
    fixture_open(&all);
    snprintf(all.callout[0].name, sizeof all.callout[0].name, "%s", "</td><script>x</script>&amp;\"'\xFF \xD0\xB6");
    options.title = "<img src=x onerror=y>";
    text = page_of(&all.check, NULL, &options);
    page = markup_read(text.data);
    ck_assert_uint_eq(page.scripts, 0);
    ck_assert(!page.refers_outside);
    ck_assert_ptr_nonnull(strstr(page.text, "</td><script>x</script>&amp;\"'\\xFF \xD0\xB6"));
    ck_assert_ptr_nonnull(strstr(page.text, "<img src=x onerror=y>"));
    free(page.text);
    bc_text_clear(&text);
    options.format = BC_PAGE_PDF;
    text = page_of(&all.check, NULL, &options);
    bc_text_clear(&text);
    fixture_close(&all);
}
END_TEST

START_TEST(the_picture_is_in_the_page)
{
    const bc_page_options options = options_of(BC_PAGE_HTML);
    plot_scene all;
    bc_text text;
    markup page;
    plot_scene_open(&all);
    text = page_of(&all.check, &all.curves, &options);
    page = markup_read(text.data);
    ck_assert_uint_eq(page.pictures, 1);
    ck_assert(!page.refers_outside);
    ck_assert_ptr_null(strstr(text.data, "<?xml"));
    ck_assert_ptr_null(strstr(text.data, "href=\"#glyph"));
    free(page.text);
    bc_text_clear(&text);
    plot_scene_close(&all);
}
END_TEST

START_TEST(the_same_page_is_the_same_bytes)
{
    const bc_page_options options = options_of((bc_page_format)_i);
    plot_scene all;
    bc_text one, other;
    plot_scene_open(&all);
    one = page_of(&all.check, &all.curves, &options);
    other = page_of(&all.check, &all.curves, &options);
    ck_assert_uint_eq(one.length, other.length);
    ck_assert_int_eq(memcmp(one.data, other.data, one.length), 0);
    bc_text_clear(&one);
    bc_text_clear(&other);
    plot_scene_close(&all);
}
END_TEST

/* A yield has a picture where it has curves, and no memory is lost where it ends early. */
START_TEST(simulated_runs_as_a_page)
{
    const bc_page_options options = options_of(BC_PAGE_HTML);
    const bc_process process = {0};
    plot_scene all;
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    markup page;
    plot_scene_open(&all);
    bc_yield_report report = {.check = all.check, .process = &process, .callouts = &all.callouts, .result = &all.yield};
    all.fails[0] = 0.07;
    all.yield.curves = _i == 0 ? 1 : 0;
    for (long tried = 0; status != BC_OK && tried < 5000; tried++) {
        memory_lasts(tried);
        status = bc_page_yield(&report, &options, &text, NULL);
        memory_lasts(LONG_MAX);
        ck_assert(status == BC_OK || (status == BC_ERROR_MEMORY && text.data == NULL));
    }
    ck_assert_int_eq(status, BC_OK);
    page = markup_read(text.data);
    ck_assert_ptr_nonnull(strstr(page.text, "Yield 90.0 %"));
    ck_assert_ptr_nonnull(strstr(page.text, "does NOT meet its callouts"));
    ck_assert_ptr_nonnull(strstr(page.text, "7.00"));
    ck_assert_uint_eq(page.pictures, _i == 0 ? 1 : 0);
    free(page.text);
    bc_text_clear(&text);
    plot_scene_close(&all);
}
END_TEST

START_TEST(a_page_survives_every_failed_allocation)
{
    const bc_page_options options = options_of((bc_page_format)_i);
    plot_scene all;
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    long tried = 0;
    plot_scene_open(&all);
    /* Each of the first, then ever fewer: what comes late in a page is much alike, and each try draws all before it. */
    for (; status != BC_OK && tried < 5000; tried += 1 + tried / MANY_OR_FEW(30, 10)) {
        bc_error error = {0};
        memory_lasts(tried);
        status = bc_page_check(&all.check, &all.curves, &options, &text, &error);
        memory_lasts(LONG_MAX);
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "%s", error.message);
        ck_assert_int_eq(error.status, status);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    ck_assert_int_eq(status, BC_OK);
    ck_assert_int_gt(tried, 100);
    bc_text_clear(&text);
    plot_scene_close(&all);
}
END_TEST

Suite *page_suite(void)
{
    Suite *suite = suite_create("page");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, a_page_is_whole_and_in_order);
    tcase_add_test(tcase, a_page_has_every_number_of_the_text);
    tcase_add_test(tcase, an_average_is_at_no_wavelength);
    tcase_add_test(tcase, names_from_outside_do_no_harm);
    tcase_add_test(tcase, the_picture_is_in_the_page);
    tcase_add_loop_test(tcase, the_same_page_is_the_same_bytes, 0, 2);
    tcase_add_loop_test(tcase, simulated_runs_as_a_page, 0, 2);
    tcase_add_loop_test(tcase, a_page_survives_every_failed_allocation, 0, 2);
    suite_add_tcase(suite, tcase);
    return suite;
}
