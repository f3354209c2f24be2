/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A lens on two glasses in every way it can be told.
 */
#include "fixture.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct lens {
    fixture all;
    bc_callout row[2];
    bc_callouts callouts;
    bc_curved curved;
    bc_lens_result result;
    bc_lens_report report;
} lens;

static void lens_open(lens *l, double limit)
{
    bc_error error;
    fixture_open(&l->all);
    l->row[0] = l->all.callout[0];
    l->row[1] = l->all.callout[2];
    l->row[0].limit = l->row[1].limit = limit;
    l->callouts = (bc_callouts){.count = 2, .callout = l->row};
    l->curved = (bc_curved){.radius_mm = 20.0, .clear_aperture_mm = 36.0, .slope_exponent = 1.0, .axial = true};
    ck_assert_msg(bc_lens(&l->all.stack, &l->callouts, 2, l->all.glass, &l->curved, 9, &l->result, &error) == BC_OK,
                  "%s", error.message);
    l->report = (bc_lens_report){.check = l->all.check, .result = &l->result};
    l->report.check.result = &l->result.designed.check;
    l->report.check.back = NULL;
    l->report.check.curved = &l->curved;
    l->report.check.zones = l->result.zones;
    l->report.check.roughness_nm = 2.0;
}

static void lens_close(lens *l)
{
    bc_lens_result_clear(&l->result);
    fixture_close(&l->all);
}

/* Met everywhere, met at the centre alone, met nowhere. */
START_TEST(text_and_json_say_the_same)
{
    static const double limit[] = {0.5, 0.03, 1e-4};
    lens l;
    bc_text text = {0}, json = {0};
    cJSON *root;
    lens_open(&l, limit[_i]);
    ck_assert_int_eq(bc_report_lens_text(&l.report, &text, NULL), BC_OK);
    ck_assert_int_eq(bc_report_lens_json(&l.report, &json, NULL), BC_OK);
    expect_tidy(text.data);
    root = parse(&json);
    ck_assert_ptr_nonnull(strstr(text.data, _i == 0 ? "Every callout is met over" : "Not every callout is met over"));
    ck_assert_ptr_nonnull(strstr(text.data, "Caution: beyond 17.3205 mm"));
    ck_assert_ptr_nonnull(strstr(text.data, "range finder on 1.62"));
    ck_assert_int_eq(cJSON_IsTrue(cJSON_GetObjectItem(root, "pass")), _i == 0);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "curves")), 4);
    ck_assert_int_eq(cJSON_GetArraySize(cJSON_GetObjectItem(root, "scatter")), 4);
    ck_assert_double_eq_tol(number_of(root, "holds_to_mm"), l.result.designed.aperture_mm, 1e-9);
    ck_assert_double_ge(number_of(root, "reach_mm"), number_of(root, "holds_to_mm"));
    ck_assert_double_eq_tol(number_of(cJSON_GetObjectItem(root, "balance"), "factor"), l.result.factor, 1e-12);
    ck_assert_double_eq_tol(number_of(cJSON_GetObjectItem(root, "surface"), "edge_slope_deg"),
                            asin(0.9) * 180.0 / acos(-1.0), 1e-9);
    cJSON_Delete(root);
    bc_text_clear(&text);
    bc_text_clear(&json);
    lens_close(&l);
}
END_TEST

/* A maximum is at a wavelength, an average at none, in the table and in each curve. */
START_TEST(an_average_is_at_no_wavelength)
{
    bc_text text = {0}, json = {0};
    size_t averages = 0, f = 0;
    const cJSON *curve, *nm;
    lens l;
    lens_open(&l, 0.03);
    l.row[1].statistic = BC_AVERAGE;
    ck_assert_int_eq(bc_report_lens_json(&l.report, &json, NULL), BC_OK);
    cJSON *root = parse(&json);
    for (curve = cJSON_GetObjectItem(root, "curves")->child; curve != NULL; curve = curve->next, f++) {
        const bool average = l.result.designed.check.finding[f].callout == &l.row[1];
        const cJSON *at_nm = cJSON_GetObjectItem(curve, "at_nm");
        averages += average;
        ck_assert_uint_eq((size_t)cJSON_GetArraySize(at_nm), l.result.zones);
        for (nm = at_nm->child; nm != NULL; nm = nm->next)
            ck_assert(average ? cJSON_IsNull(nm) : cJSON_IsNumber(nm));
        for (size_t zone = 0; zone < l.result.zones; zone++) {
            l.result.designed.at_nm[f * l.result.zones + zone] = average ? 1234.5 : 555.5;
            l.result.designed.limit_used[f * l.result.zones + zone] = average == (zone % 2 == 0) ? 0.75 : 0.5;
        }
    }
    ck_assert_uint_eq(2 * averages, f);
    ck_assert_int_eq(bc_report_lens_text(&l.report, &text, NULL), BC_OK);
    expect_tidy(text.data);
    ck_assert_ptr_nonnull(strstr(text.data, "555.5"));
    ck_assert_ptr_null(strstr(text.data, "1234.5"));
    cJSON_Delete(root);
    bc_text_clear(&json);
    bc_text_clear(&text);
    lens_close(&l);
}
END_TEST

/* Every way layers may grow and light may come, in words that fit the line. */
START_TEST(every_surface_is_told)
{
    double at[2] = {0.0, 18.0}, percent[2] = {100.0, 62.5};
    char path[] = "measured.csv";
    const bc_profile profile = {.path = path, .rows = 2, .at = at, .percent = percent};
    const bc_curved told[4] = {
        {20.0, true, 36.0, BC_DISTRIBUTION_SLOPE, 1.0, .axial = false},
        {20.0, true, 36.0, BC_DISTRIBUTION_SLOPE, 0.5, .axial = true, .one_angle = true, .axial_angle_rad = 0.1},
        {20.0, true, 36.0, BC_DISTRIBUTION_SOURCE, .source_distance_mm = 40.0},
        {20.0, false, 36.0, BC_DISTRIBUTION_PROFILE, .profile = &profile}};
    static const char *const words[4] = {"small-area", "Light: at 5.72958 deg to the axis",
                                         "small-area source on the axis, 40 mm", "at the edge 62.5 % of them"};
    lens l;
    bc_text text = {0};
    lens_open(&l, 0.03);
    l.report.check.curved = &told[_i];
    ck_assert_int_eq(bc_report_lens_text(&l.report, &text, NULL), BC_OK);
    expect_tidy(text.data);
    for (char *end = text.data; (end = strchr(end, '\n')) != NULL;)
        *end = ' ';
    ck_assert_int_eq(strstr(text.data, words[_i]) != NULL, _i != 0);
    bc_text_clear(&text);
    lens_close(&l);
}
END_TEST

/* A point source, and no factor that betters anything. */
START_TEST(a_point_source_in_json)
{
    const bc_curved curved = {
        20.0, true, 36.0, BC_DISTRIBUTION_SOURCE, .source_distance_mm = 40.0, .point_source = true};
    bc_text json = {0}, text = {0};
    lens l;
    lens_open(&l, 0.03);
    l.report.check.curved = &curved;
    l.result.factor = l.result.reach_factor = 1.0;
    ck_assert_int_eq(bc_report_lens_json(&l.report, &json, NULL), BC_OK);
    cJSON *root = parse(&json);
    const cJSON *surface = cJSON_GetObjectItem(root, "surface");
    ck_assert_str_eq(string_of(surface, "source"), "point");
    ck_assert_double_eq(number_of(surface, "source_distance_mm"), 40.0);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(surface, "slope_exponent")));
    ck_assert_ptr_null(cJSON_GetObjectItem(cJSON_GetObjectItem(root, "balance"), "curves"));
    cJSON_Delete(root);
    ck_assert_int_eq(bc_report_lens_text(&l.report, &text, NULL), BC_OK);
    expect_tidy(text.data);
    for (char *end = text.data; (end = strchr(end, '\n')) != NULL;)
        *end = ' ';
    ck_assert_ptr_nonnull(strstr(text.data, "from a point source on the axis, 40 mm"));
    bc_text_clear(&json);
    bc_text_clear(&text);
    lens_close(&l);
}
END_TEST

static long allowed;

static void *scarce(size_t size)
{
    return allowed-- > 0 ? malloc(size) : NULL;
}

START_TEST(json_survives_every_failed_allocation)
{
    cJSON_Hooks hooks = {scarce, free};
    bc_status status = BC_ERROR_MEMORY;
    bc_text text = {0};
    lens l;
    lens_open(&l, 0.03);
    cJSON_InitHooks(&hooks);
    for (long tried = 0; status != BC_OK && tried < 100000; tried += 1 + tried / 50) {
        bc_error error = {0};
        allowed = tried;
        status = bc_report_lens_json(&l.report, &text, &error);
        ck_assert_int_eq(error.status, status);
        ck_assert(status == BC_OK || text.data == NULL);
    }
    cJSON_InitHooks(NULL);
    ck_assert_int_eq(status, BC_OK);
    bc_text_clear(&text);
    lens_close(&l);
}
END_TEST

Suite *lens_suite(void)
{
    Suite *suite = suite_create("lens");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, text_and_json_say_the_same, 0, 3);
    tcase_add_test(tcase, an_average_is_at_no_wavelength);
    tcase_add_loop_test(tcase, every_surface_is_told, 0, 4);
    tcase_add_test(tcase, a_point_source_in_json);
    tcase_add_test(tcase, json_survives_every_failed_allocation);
    suite_add_tcase(suite, tcase);
    return suite;
}
