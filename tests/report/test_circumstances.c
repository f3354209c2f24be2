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

START_TEST(each_cause_has_its_words)
{
    static const struct {
        bc_cause cause;
        const char *told;
    } way[] = {
        {{.kind = BC_CAUSE_AS_DESIGNED, .size = NAN}, "Likeliest cause: the layers as designed. 150 times"},
        {{.kind = BC_CAUSE_RANDOM, .size = 0.012}, "random errors of the layers, of 1.2 % rms. As a whole"},
        {{.kind = BC_CAUSE_COMMON_FACTOR, .size = 0.02, .size_sigma = 0.001}, "by one factor, by +2.00 % (+- 0.2)"},
        {{.kind = BC_CAUSE_MATERIAL_FACTOR, .size = -0.02, .size_sigma = NAN},
         "Likeliest cause: layer 2 (hard) off, by -2.00 %."},
        {{.kind = BC_CAUSE_LAYER, .layers = 1, .layer = {0, 0}, .size = 0.05, .size_sigma = NAN},
         "layer 3 (hard) off, by"},
        {{.kind = BC_CAUSE_INDEX, .size = 0.03, .size_sigma = 0.001}, "the index of hard off, by +0.0300 (+- 0.002)"},
        {{.kind = BC_CAUSE_WAVELENGTH, .size = 2.0, .size_sigma = 0.1}, "written 2.00 nm too short (+- 0.2)"},
        {{.kind = BC_CAUSE_READING_SCALE, .size = 0.1, .size_sigma = NAN},
         "the scale of the readings off, by +10.00 %"},
        {{.kind = BC_CAUSE_READING_OFFSET, .size = 0.002, .size_sigma = NAN}, "by the same amount, by +0.20 %"},
        {{.kind = BC_CAUSE_ANGLE, .size = 0.5, .size_sigma = NAN}, "measured at another angle, of about 28.6 degrees"},
        {{.kind = BC_CAUSE_SWAPPED, .layers = 2, .layer = {0, 1}, .size = NAN}, "layers 2 and 3 swapped"},
        {{.kind = BC_CAUSE_REVERSED, .size = NAN}, "the layers in reverse order"},
        {{.kind = BC_CAUSE_MISSING, .layers = 1, .layer = {2, 0}, .size = NAN}, "layer 1 (hard) missing"},
        {{.kind = BC_CAUSE_OTHER_MATERIAL, .layers = 1, .layer = {1, 0}, .size = NAN}, "layer 2 of hard"},
        {{.kind = BC_CAUSE_OTHER_SUBSTRATE, .size = NAN}, "another substrate, hard"},
        {{.kind = BC_CAUSE_BACK_SEEN, .back = BC_BACK_UNCOATED, .size = NAN},
         "another second surface, polished and uncoated"},
        {{.kind = BC_CAUSE_BARE, .back = BC_BACK_NONE, .size = NAN},
         "no coating, the second surface ground or blackened"},
        {{.kind = BC_CAUSE_UNEXPLAINED, .size = NAN}, "No cause explains the scan"}};
    inspected all;
    open_inspected(&all);
    all.result[0].cause[0] = way[_i].cause;
    strcpy(all.result[0].cause[0].material.name, "hard");
    expect_inspected(&all, way[_i].told, true);
    fixture_close(&all.base);
}
END_TEST

/* Two causes that the scan does not tell apart, and what would. */
START_TEST(a_doubtful_cause_says_what_would_tell)
{
    inspected all;
    open_inspected(&all);
    all.result[0].cause_odds = 3.0;
    all.result[0].differ_at_45 = 0.002;
    all.result[0].differ_in_range = NAN;
    expect_inspected(&all, "Not certain: only 3.0 times likelier", true);
    expect_inspected(&all, "R at 45 degrees in s may decide: the two differ there by 0.2 % rms, ", true);
    all.result[0].differ_in_range = 0.004;
    all.result[0].wider_from_nm = 300.0;
    all.result[0].wider_to_nm = 900.0;
    expect_inspected(&all, "A scan from 300 to 900 nm may decide", true);
    expect_inspected(&all, "errors of the R scale, wavelength and index are not counted in that", true);
    all.result[0].differ_at_45 = all.result[0].differ_in_range = 1e-5;
    expect_inspected(&all, "Neither R at 45 degrees in s nor a wider range would decide", true);
    expect_inspected(&all, "less than 3 times the noise", true);
    expect_inspected(&all, "are not counted in that", false);
    all.result[0].differ_in_range = NAN;
    expect_inspected(&all, "R at 45 degrees in s would not decide", true);
    all.result[0].cause_odds = 1e9;
    expect_inspected(&all, "More than 10,000 times likelier", true);
    expect_inspected(&all, "may hide", false);
    all.result[0].cause[0] = (bc_cause){.kind = BC_CAUSE_MATERIAL_FACTOR, .size = 0.02, .rms = 5e-4, .residual = 3.0};
    strcpy(all.result[0].cause[0].material.name, "soft");
    expect_inspected(&all, "all layers of soft off by one factor", true);
    expect_inspected(&all, "It leaves 0.05 % rms, 3 times the noise: another cause may hide in that.", true);
    expect_inspected(&all,
                     "Corrected, the next run is expected to use 0.6 of the limit that it comes nearest to, "
                     "instead of 0.9, and to be the better one in about 90 % of runs.",
                     true);
    expect_inspected(&all, "By the tooling instead", false);
    all.result[0].tooling_gain.better = 0.7;
    all.result[0].tooling_corrected = false;
    expect_inspected(&all, "in about 70 % of runs; so it stays.", true);
    all.result[0].next_gain.used_corrected = NAN;
    expect_inspected(&all, "the next run is expected 0.04 % rms away from the design's spectrum, instead of 0.2 %",
                     true);
    all.result[0].corrected = false;
    all.result[0].next_because = BC_NEXT_NO_GAIN;
    expect_inspected(&all, "No correction is worth it: corrected, the next run", true);
    all.result[0].next_because = BC_NEXT_CHANCE_ASSUMED;
    all.result[0].next_gain.weighed = all.result[0].tooling_gain.weighed = false;
    expect_inspected(&all, "Nothing to correct in the next run: a scatter of 1 % of each layer (assumed", true);
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
    all.result[0].cause[0].kind = BC_CAUSE_RANDOM;
    expect_inspected(&all, "Whether they are thicker or thinner as a whole is not known.", true);
    all.result[0].scale_sigma = 0.001;
    expect_inspected(&all, "they came out 1.50 % thinner than designed (+- 0.2).", true);
    all.result[0].scale_sigma = 0.01;
    expect_inspected(&all, "they are as thick as designed, to 2 %.", true);
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

/* How often such a search misses is said of one that came to rest, and where it was like those counted. */
START_TEST(how_often_a_search_misses)
{
    static const char missed[] = " Of 141 searches of effort 1 that ended in such agreement, in random problems of one "
                                 "to three bands and up to 8 layers, 5 missed a design better by over 1 %.";
    static const char others[] =
        " Of 59 searches of effort 1 that ended without agreement, in random problems of one to "
        "three bands and up to 8 layers, 6 missed a design better by over 1 %.";
    fixture all;
    fixture_open(&all);
    all.draft.check.stack_path = NULL;
    expect_drafted(&all, missed, false);
    expect_drafted(&all, others, true);
    all.draft.stop = BC_STOP_CONVERGED;
    expect_drafted(&all, others, false);
    expect_drafted(&all, missed, true);
    all.draft.effort = 0.2;
    expect_drafted(&all, "random problems", false);
    all.draft.effort = 1.0;
    all.draft.stop = BC_STOP_GOOD;
    expect_drafted(&all, "random problems", false);
    all.draft.stop = BC_STOP_CONVERGED;
    all.drafted.allowed = 6;
    expect_drafted(&all, missed, false);
    all.drafted.allowed = all.drafted.looked_at = BC_TRIED_LAYERS + 1;
    expect_drafted(&all, missed, false);
    all.drafted.allowed = all.drafted.looked_at = BC_TRIED_LAYERS;
    expect_drafted(&all, missed, true);
    all.draft.check.stack_path = "start.csv";
    expect_drafted(&all, missed, false);
    fixture_close(&all);
}
END_TEST

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
    expect_drafted(&all, "4 of 10 independent searches at 5 layers ended at the best design", true);
    expect_drafted(&all, "Outer layer: soft uses the least of the limit (best found with hard outside: 450.0 %", true);
    expect_drafted(&all, "Nearly as good, with fewer layers (130.0 % of the limit used):", true);
    all.drafted.alternative_has = BC_THICKER_LAYERS;
    expect_drafted(&all, "Nearly as good, with no layer as thin (130.0 % of the limit used):", true);
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
        "Chosen from 14 designs for its yield in simulated runs, with the fewest layers within 2 points of the "
        "highest: 93.0 % of runs will meet the callouts (95 % "
        "interval 91.0 to 95.0). The design marked in the list, which uses 71.0 % of the limit, would in 62.0 % (60.0 "
        "to "
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
    range = bc_plot_range((bc_plot_extent){0.5, 0.5}); /* a flat curve */
    ck_assert(range.from < 50.0 && range.to > 50.0 && range.to - range.from < 1.0);
    range = bc_plot_range((bc_plot_extent){0.0, 0.0});
    ck_assert(range.from == 0.0 && range.to == 1.0);
}
END_TEST

Suite *circumstances_suite(void)
{
    Suite *suite = suite_create("circumstances");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, each_cause_has_its_words, 0, 18);
    tcase_add_test(tcase, a_doubtful_cause_says_what_would_tell);
    tcase_add_test(tcase, layers_that_the_scan_does_not_tell_apart);
    tcase_add_test(tcase, what_else_is_said_of_an_inspection);
    tcase_add_test(tcase, a_lot_without_figures);
    tcase_add_test(tcase, how_often_a_search_misses);
    tcase_add_test(tcase, what_else_is_said_of_a_draft);
    tcase_add_test(tcase, a_band_within_a_band_has_no_panel);
    tcase_add_test(tcase, how_far_an_axis_reaches);
    suite_add_tcase(suite, tcase);
    return suite;
}
