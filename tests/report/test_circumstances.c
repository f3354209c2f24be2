/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Rarer circumstances of an inspection, a draft and a picture of runs: each has its words, and no other has them.
 */
#include "inspected.h"
#include "offered.h"
#include "plot_words.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

static void one_line(bc_text *text)
{
    expect_tidy(text->data);
    for (char *end = text->data; (end = strchr(end, '\n')) != NULL;)
        *end = ' ';
}

static void expect_words(const bc_text *text, const char *piece, bool there)
{
    ck_assert_msg((strstr(text->data, piece) != NULL) == there, "'%s' %s: %.2000s", piece,
                  there ? "is missing" : "is there", text->data);
}

static void expect_inspected(const inspected *all, const char *piece, bool there)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_inspect_text(&all->report, &text, NULL), BC_OK);
    one_line(&text);
    expect_words(&text, piece, there);
    bc_text_clear(&text);
}

START_TEST(each_hypothesis_has_its_words)
{
    static const struct {
        bc_hypothesis_kind kind;
        bc_back_kind back;
        const char *told;
    } way[] = {{BC_OTHER_BACK, BC_BACK_NONE, "a ground or blackened back (0.010 %"},
               {BC_OTHER_BACK, BC_BACK_UNCOATED, "an uncoated, polished back (0.010 %"},
               {BC_OTHER_BACK, BC_BACK_SAME, "a back coated as the front (0.010 %"},
               {BC_OTHER_BACK, BC_BACK_OWN, "the back's own coating (0.010 %"},
               {BC_BARE_GLASS, BC_BACK_NONE, "bare glass without the coating, its back ground (0.010 %"},
               {BC_BARE_GLASS, BC_BACK_UNCOATED, "bare glass without the coating, its back polished (0.010 %"},
               {BC_REVERSED, BC_BACK_NONE, "the layers in reverse order (0.010 %"},
               {BC_R_FOR_T, BC_BACK_NONE, "the columns R and T taken for each other (0.010 %"},
               {BC_AS_SAID, BC_BACK_NONE, "the design as it was said to be measured (0.010 %"}};
    inspected all;
    open_inspected(&all);
    all.result[0].run = BC_RUN_NO_FIT;
    all.result[0].good_fit = false;
    all.result[0].hypotheses = 2;
    all.result[0].explained_by = 1;
    all.hypothesis[1].kind = way[_i].kind;
    all.hypothesis[1].back = way[_i].back;
    expect_inspected(&all, way[_i].told, true);
    all.result[0].explained_by = 0;
    expect_inspected(&all, "Nor do another back, bare glass", true);
    all.hypothesis[0].fits = true;
    expect_inspected(&all, "Nor do another back", false);
    expect_inspected(&all, "Only layers far from the design would explain the scan", true);
    fixture_close(&all.base);
}
END_TEST

START_TEST(layers_that_the_scan_does_not_tell_apart)
{
    inspected all;
    open_inspected(&all);
    all.group.is_sum = false;
    all.weight[1] = -0.4;
    expect_inspected(&all,
                     "layer 1 (soft) and 2 (hard); it determines only the sum of optical thicknesses -0.40 x layer 1 "
                     "+1.00 x layer 2: 102.0 nm",
                     true);
    all.weight[1] = 0.4;
    expect_inspected(&all, "0.40 x layer 1 +1.00 x layer 2: 102.0", true);
    all.group.count = 1;
    all.group.is_sum = true;
    expect_inspected(&all, "layer 2 (hard) from the noise; it determines only their optical thickness: 102.0", true);
    fixture_close(&all.base);
}
END_TEST

START_TEST(what_else_is_said_of_an_inspection)
{
    inspected all;
    open_inspected(&all);
    all.result[0].scale = 0.985;
    all.result[0].scale_sigma = INFINITY;
    expect_inspected(&all, "they came out 1.50 % thinner than designed.", true);
    all.result[0].run = BC_RUN_ONE_LAYER;
    all.result[0].others_within = INFINITY;
    expect_inspected(&all, "those are off by", false);
    all.result[0].outside = 12;
    expect_inspected(&all, "12 wavelengths lie beyond a table of the stack and were not compared.", true);
    all.result[0].absorption = (bc_absorption){true, BC_ABSORPTION_ABOVE, 0.012, 0.001, 690, 670};
    expect_inspected(&all, "(absorption or scatter), above 670 nm: 1.20 % more at 690 nm", true);
    all.result[0].absorption.shape = BC_ABSORPTION_NONE;
    expect_inspected(&all, "absorption or scatter", false);
    all.setup.back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 1.5};
    expect_inspected(&all, ", glass 1.5 mm thick.", true);
    all.setup.back.substrate_mm = 0.0;
    expect_inspected(&all, "mm thick", false);
    all.finding[0].back_removed = true;
    expect_inspected(&all, "\"band\": the share of the uncoated back was taken out.", true);
    all.file.rows_left_out = 2;
    expect_inspected(&all, "2 rows at the ends without a value left out", true);
    all.setup.from_fit = true;
    expect_inspected(&all, "With --from-fit such rows", false);
    all.result[0].verdict = BC_REJECT;
    all.report.color = true;
    expect_inspected(&all, "\x1b[", true);
    fixture_close(&all.base);
}
END_TEST

/* A witness that fits no design has no layers to take the mean of, and a row that none was measured for no value. */
START_TEST(a_lot_without_figures)
{
    inspected all;
    bc_text text = {0};
    open_inspected(&all);
    all.report.witnesses = 2;
    all.report.lot = &all.lot;
    expect_inspected(&all, "layer 1 (soft) nm", true);
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        all.spread[i] = (bc_spread){0, NAN, NAN, NAN, NAN};
    all.result[1].count = 0;
    expect_inspected(&all, "layer 1 (soft) nm", false);
    ck_assert_int_eq(bc_report_inspect_json(&all.report, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    const cJSON *layer = cJSON_GetObjectItem(root, "layers")->child;
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(layer, "fitted_nm")) &&
              cJSON_IsNull(cJSON_GetObjectItem(layer, "deviation_nm")));
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(cJSON_GetObjectItem(root, "callouts")->child, "value_percent")));
    cJSON_Delete(root);
    bc_text_clear(&text);
    fixture_close(&all.base);
}
END_TEST

static void expect_drafted(const fixture *all, const char *piece, bool there)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_design_text(&all->draft, &text, NULL), BC_OK);
    for (char *end = text.data; (end = strchr(end, '\n')) != NULL;)
        *end = ' ';
    expect_words(&text, piece, there);
    bc_text_clear(&text);
}

START_TEST(what_else_is_said_of_a_draft)
{
    const bc_robust_result robust = {.yield = 0.93,
                                     .yield_low = 0.91,
                                     .yield_high = 0.95,
                                     .sharpest_limit_used = 0.71,
                                     .sharpest_yield = 0.62,
                                     .sharpest_low = 0.6,
                                     .sharpest_high = 0.64,
                                     .designs = 14};
    fixture all;
    fixture_open(&all);
    expect_drafted(&all, "4 of 10 independent searches ended at the best design", true);
    expect_drafted(&all, "Outer layer: soft gave the lowest limit_used (best found with hard outside: 4.500", true);
    expect_drafted(&all, "Nearly as good, with fewer layers (limit_used 1.300):", true);
    all.drafted.alternative_has = BC_THICKER_LAYERS;
    expect_drafted(&all, "Nearly as good, with no layer as thin (limit_used 1.300):", true);
    all.outer[1].limit_used = INFINITY;
    expect_drafted(&all, "(best found with hard outside: none)", true);
    all.drafted.searches = 1;
    expect_drafted(&all, "independent searches", false);
    all.drafted.starts = 1;
    all.draft.thin_layers = 2;
    expect_drafted(&all, "Search: 1 start, seed 7", true);
    expect_drafted(&all, "2 layers of the start were thinner than the minimum of 8 nm", true);
    all.draft.robust = &robust;
    expect_drafted(
        &all,
        "Chosen from 14 designs for its yield in simulated runs: 93.0 % of runs will meet the callouts (95 % "
        "interval 91.0 to 95.0). The design marked in the list, limit_used 0.710, would in 62.0 % (60.0 to "
        "64.0).",
        true);
    expect_drafted(&all, "<- sharpest", true);
    expect_drafted(&all, "<- chosen", false);
    expect_drafted(&all, "Outer layer", false);
    expect_drafted(&all, "Nearly as good", false);
    all.stack.layers = 0;
    expect_drafted(&all, "No layers: the bare substrate.", true);
    fixture_close(&all);
}
END_TEST

static size_t panels_of(const offered *all, char heading[BC_CHART_TEXT])
{
    const bc_plot_options plain = {0};
    bc_chart chart;
    bc_chart_open(&chart, &plain);
    bc_plot_yield_panels(&chart, &all->yield);
    ck_assert(!chart.failed);
    const size_t panels = chart.panels;
    strcpy(heading, chart.panel[0].heading);
    bc_chart_clear(&chart);
    return panels;
}

/* Two curves of one light are one panel when the one has all of the other's band. */
START_TEST(a_band_within_a_band_has_no_panel)
{
    bc_percentile_curve curve[2];
    char heading[BC_CHART_TEXT];
    offered all;
    open_offered(&all);
    all.callouts.count = 1;
    all.base.callout[2].limit = all.base.callout[0].limit;
    curve[0] = curve[1] = all.curve;
    all.runs.curve = curve;
    all.runs.curves = 2;
    ck_assert_uint_eq(panels_of(&all, heading), 1); /* the same twice */
    ck_assert_str_eq(heading, "Normal incidence, on 1.52");
    curve[0].count = 2;
    ck_assert_uint_eq(panels_of(&all, heading), 1); /* the first in the second */
    curve[1].wavelength_nm += 1;
    curve[1].count = 2;
    ck_assert_uint_eq(panels_of(&all, heading), 2); /* they overlap */
    curve[1] = all.curve;
    curve[1].substrate = &all.base.glass[1];
    ck_assert_uint_eq(panels_of(&all, heading), 2);
    curve[1] = all.curve;
    curve[0].aoi_rad = M_PI / 6.0;
    ck_assert_uint_eq(panels_of(&all, heading), 2);
    ck_assert_str_eq(heading, "30°, unpolarized, on 1.52");
    curve[1].aoi_rad = M_PI / 6.0;
    curve[0].polarization = BC_POL_S;
    curve[1].polarization = BC_POL_P;
    ck_assert_uint_eq(panels_of(&all, heading), 2);
    ck_assert_str_eq(heading, "30°, s, on 1.52");
    curve[1].polarization = BC_POL_S;
    ck_assert_uint_eq(panels_of(&all, heading), 1);
    curve[1].callout = &all.base.callout[1]; /* T of a part */
    ck_assert_uint_eq(panels_of(&all, heading), 2);
    curve[0].callout = curve[1].callout;
    ck_assert_uint_eq(panels_of(&all, heading), 1);
    ck_assert_str_eq(heading, "30°, s, whole part, on 1.52");
    all.base.result.count = FIXTURE_CALLOUTS; /* one glass needs no name */
    ck_assert_uint_eq(panels_of(&all, heading), 1);
    ck_assert_str_eq(heading, "30°, s, whole part");
    fixture_close(&all.base);
}
END_TEST

/* Where the limits leave no doubt they choose the axis; values alone choose it from 0, unless they are far from it. */
START_TEST(how_far_an_axis_reaches)
{
    const bc_callout below = {.limit = 0.6}, above = {.sense = BC_AT_LEAST, .limit = 0.4};
    bc_plot_limits window = BC_PLOT_NO_LIMITS;
    bc_chart_range range;
    bc_plot_add_limit(&window, &below);
    bc_plot_add_limit(&window, &above);
    window.values = (bc_plot_extent){0.45, 0.55};
    range = bc_plot_range_with_limits(&window);
    ck_assert_double_le(range.from, 24.1); /* 0.8 of the window beside it */
    ck_assert_double_ge(range.from, 15.0);
    ck_assert_double_ge(range.to, 75.9);
    ck_assert_double_le(range.to, 85.0);
    range = bc_plot_range((bc_plot_extent){1.3, 1.5}); /* no R, but a figure beyond 1 may come */
    ck_assert(range.from >= 100.0 && range.from <= 130.0 && range.to >= 150.0 && range.to <= 180.0);
    range = bc_plot_range((bc_plot_extent){0.2, 1.5});
    ck_assert(range.from == 0.0 && range.to >= 150.0);
    range = bc_plot_range((bc_plot_extent){0.2, 0.99});
    ck_assert(range.from == 0.0 && range.to == 100.0);
    range = bc_plot_range((bc_plot_extent){0.0, 0.0});
    ck_assert(range.from == 0.0 && range.to == 1.0);
}
END_TEST

Suite *circumstances_suite(void)
{
    Suite *suite = suite_create("circumstances");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, each_hypothesis_has_its_words, 0, 9);
    tcase_add_test(tcase, layers_that_the_scan_does_not_tell_apart);
    tcase_add_test(tcase, what_else_is_said_of_an_inspection);
    tcase_add_test(tcase, a_lot_without_figures);
    tcase_add_test(tcase, what_else_is_said_of_a_draft);
    tcase_add_test(tcase, a_band_within_a_band_has_no_panel);
    tcase_add_test(tcase, how_far_an_axis_reaches);
    suite_add_tcase(suite, tcase);
    return suite;
}
