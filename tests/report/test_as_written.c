/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Reports whose parts are all there, against expected/: what was stated of the light, a reference scan, the bare
 * substrate, runs, a sampling plan; callouts of every kind; standard coatings; spectra of rough surfaces and side by
 * side.
 */
#include "expected.h"
#include "inspected.h"
#include "scene.h"
#include <bloomcoat/callout_words.h>
#include <bloomcoat/weight.h>
#include <math.h>
#include <string.h>

#define DEG (M_PI / 180.0)

static void expect_inspection(const char *text_name, const char *json_name, const bc_inspect_report *report)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_inspect_text(report, &text, NULL), BC_OK);
    expect_written(text_name, &text);
    ck_assert_int_eq(bc_report_inspect_json(report, &text, NULL), BC_OK);
    expect_written(json_name, &text);
}

static bc_correction by_index(void)
{
    return (bc_correction){.quantity = BC_R,
                           .name = "517642",
                           .from_index = true,
                           .reference = {.path = "shelf/ref.csv", .count = 3},
                           .dark = {.path = "shelf/dark.csv", .count = 3},
                           .known_from = 0.041,
                           .known_to = 0.044,
                           .sample_noise = 0.0002,
                           .reference_noise = 0.00013,
                           .dark_noise = 0.00007};
}

static bc_runs of_runs(const inspected *seen, bc_runs_material *material)
{
    material[0] = (bc_runs_material){.material = seen->base.layer[0].material,
                                     .layers = 2,
                                     .tooling_known = true,
                                     .tooling = 1.1,
                                     .factor = {1.02, 1.01, 1.03},
                                     .probability = 0.97,
                                     .correction = 0.98,
                                     .next_tooling = 1.078,
                                     .sigma = {0.012, 0.009, 0.017},
                                     .sigma_before = 0.01};
    material[1] = (bc_runs_material){.material = seen->base.layer[1].material,
                                     .layers = 1,
                                     .tooling = 1.0,
                                     .factor = {1.0, 0.98, 1.02},
                                     .probability = 0.12,
                                     .correction = 1.0,
                                     .next_tooling = 1.0,
                                     .sigma = {0.02, 0.01, 0.04},
                                     .sigma_before = NAN};
    return (bc_runs){
        .runs = 5, .left_out = 1, .run_sigma = {0.004, 0.002, 0.009}, .materials = 2, .material = material};
}

START_TEST(an_inspection_with_all_its_parts)
{
    const bc_bare_check bare = {.quantity = BC_R,
                                .count = 3,
                                .measured = 0.0427,
                                .expected = 0.0426,
                                .off = 0.0023,
                                .allowed = 0.005,
                                .worst = 0.0009,
                                .worst_allowed = 0.0005,
                                .worst_nm = 450.0};
    const bc_acceptance_plan plan = {.lot = 280,
                                     .limit_percent = 1.0,
                                     .sample = 32,
                                     .accept = 1,
                                     .accepted_at_limit = 0.96,
                                     .accepted_one_in_ten = 0.116};
    inspected seen;
    bc_runs_material material[2];
    bc_runs runs;
    bc_correction correction = by_index();
    bc_inspect_report report;
    bc_text text = {0};
    open_inspected(&seen);
    runs = of_runs(&seen, material);
    report = seen.report;
    report.correction = &correction;
    report.bare_path = "shelf/bare.csv";
    report.bare = &bare;
    report.runs = &runs;
    report.plan = &plan;
    report.lot = &seen.lot;
    report.witnesses = 2;
    expect_inspection("whole-lot.txt", "whole-lot.json", &report);
    ck_assert_int_eq(bc_report_runs_csv(&runs, &text, NULL), BC_OK);
    expect_written("runs.csv", &text);
    fixture_close(&seen.base);
}
END_TEST

/* An empty beam, no dark scan, a bare substrate beyond its uncertainty, a sample that is the lot, too few runs. */
START_TEST(an_inspection_with_the_other_sentences)
{
    const bc_bare_check bare = {.quantity = BC_T,
                                .count = 3,
                                .measured = 0.93,
                                .expected = 0.92,
                                .off = 0.0109,
                                .allowed = 0.005,
                                .worst = 0.02,
                                .worst_allowed = 0.005,
                                .worst_nm = 450.0,
                                .within = false};
    const bc_acceptance_plan plan = {.lot = 5,
                                     .limit_percent = 2.5,
                                     .sample = 5,
                                     .accept = 0,
                                     .every = true,
                                     .accepted_at_limit = 1.0,
                                     .accepted_one_in_ten = 0.2};
    const bc_runs few = {.runs = 1, .left_out = 1};
    inspected seen;
    bc_correction correction = by_index();
    bc_inspect_report report;
    open_inspected(&seen);
    correction.quantity = BC_T;
    correction.from_index = false;
    correction.dark.count = 0;
    correction.known_from = correction.known_to = 1.0;
    correction.sample_noise = NAN;
    strcpy(correction.name, "empty beam");
    report = seen.report;
    report.correction = &correction;
    report.bare_path = "bare.csv";
    report.bare = &bare;
    report.runs = &few;
    report.plan = &plan;
    expect_inspection("beam.txt", "beam.json", &report);
    strcpy(correction.name, "mirror.csv");
    correction.states = true;
    correction.share_stated = 0.003;
    report.runs = NULL;
    report.plan = NULL;
    report.bare = NULL;
    report.bare_path = NULL;
    expect_inspection("mirror.txt", "mirror.json", &report);
    fixture_close(&seen.base);
}
END_TEST

#define KINDS 9

static bc_callouts of_every_kind(bc_callout row[KINDS])
{
    const bc_callout plain = {.name = "plain",
                              .limit = 0.005,
                              .from_nm = 425.0,
                              .to_nm = 675.0,
                              .aoi_to_rad = 30.0 * DEG,
                              .polarization = BC_POL_EACH};
    for (int i = 0; i < KINDS; i++)
        row[i] = plain;
    strcpy(row[0].name, "laser, \"red\"");
    row[0].to_nm = row[0].from_nm = 632.8;
    row[0].aoi_from_rad = row[0].aoi_to_rad = 45.0 * DEG;
    row[0].polarization = BC_POL_S;
    row[0].limit = 0.0000001;
    strcpy(row[1].name, "through");
    row[1].quantity = BC_T;
    row[1].statistic = BC_AVERAGE;
    row[1].sense = BC_AT_LEAST;
    row[1].limit = 0.985;
    row[1].scope = BC_SCOPE_PART;
    row[1].cone_rad = 10.0 * DEG;
    row[1].aoi_from_rad = row[1].aoi_to_rad = 20.0 * DEG;
    row[1].polarization = BC_POL_UNPOLARIZED;
    strcpy(row[1].substrate, "1.52");
    strcpy(row[2].name, "luminous");
    row[2].statistic = BC_AVERAGE;
    row[2].weight = bc_weight_luminous();
    row[2].from_nm = 380.0;
    row[2].to_nm = 780.0;
    row[4] = row[5] = row[3] = row[2];
    strcpy(row[3].name, "pale");
    row[3].colour = BC_CHROMA;
    row[3].limit = 0.03;
    row[3].observer = BC_OBSERVER_10;
    row[4].colour = BC_COLOUR_B;
    row[4].illuminant = BC_ILLUMINANT_A;
    row[4].target = -0.02;
    row[4].limit = 0.01;
    strcpy(row[4].name, "blue");
    row[5].colour = BC_COLOUR_X;
    row[5].illuminant = BC_ILLUMINANT_D50;
    row[5].target = 0.0031;
    row[5].limit = 0.0001;
    strcpy(row[5].name, "x");
    row[6] = row[3];
    row[6].colour = BC_ELLIPSE_AB;
    row[6].ellipse = (bc_ellipse){{2.0, -3.0}, {4.0, 1.5}, M_PI / 6.0};
    row[6].limit = 0.012; /* as where it is relaxed */
    strcpy(row[6].name, "ellipse");
    row[7] = row[3];
    row[7].colour = BC_COLOUR_DIFFERENCE;
    row[7].reference[0] = 21.5;
    row[7].reference[1] = 1.25;
    row[7].reference[2] = -3.0;
    strcpy(row[7].name, "as the master");
    row[KINDS - 1] = row[0];
    row[KINDS - 1].polarization = BC_POL_RATIO;
    row[KINDS - 1].limit = 1.02;
    strcpy(row[KINDS - 1].name, "s over p");
    for (int i = 3; i < KINDS - 1; i++)
        row[i].weight = bc_weight_tristimulus(row[i].illuminant, row[i].observer, 1);
    return (bc_callouts){.count = KINDS, .callout = row};
}

START_TEST(callouts_of_every_kind)
{
    bc_callout row[KINDS];
    const bc_callouts all = of_every_kind(row);
    const bc_callouts first = {.count = 1, .callout = row};
    const unsigned half = BC_ASSUMED_ANGLE | BC_ASSUMED_SURFACE | BC_SAID_BOTH_SURFACES | BC_ASSUMED_ILLUMINANT;
    bc_text text = {0};
    ck_assert_int_eq(bc_report_callouts_text(&all, 511, &text, NULL), BC_OK);
    expect_written("callouts.txt", &text);
    ck_assert_int_eq(bc_report_callouts_csv(&all, half, &text, NULL), BC_OK);
    expect_written("callouts.csv", &text);
    ck_assert_int_eq(bc_report_callouts_csv(&first, 0, &text, NULL), BC_OK);
    expect_written("callouts-plain.csv", &text);
    ck_assert_int_eq(bc_report_callouts_json(&all, 511 & ~half, &text, NULL), BC_OK);
    expect_written("callouts.json", &text);
}
END_TEST

static void expect_standards(const char *text_name, const char *json_name, const bc_standards_report *report)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_standards_text(report, &text, NULL), BC_OK);
    expect_written(text_name, &text);
    if (json_name == NULL)
        return;
    ck_assert_int_eq(bc_report_standards_json(report, &text, NULL), BC_OK);
    expect_written(json_name, &text);
}

START_TEST(standard_coatings)
{
    fixture base;
    bc_stack many[7];
    bc_standard standard[2] = {{.name = "AR-1"}, {.name = "AR-2"}};
    bc_standards standards = {.count = 2, .standard = standard};
    bc_standards_report report = {.folder = "shop/standard", .standards = &standards, .yield = 0.9, .stacks = true};
    bc_standard_state state[3];
    fixture_open(&base);
    for (int i = 0; i < 7; i++)
        many[i] = base.stack;
    many[1].substrate = base.glass[1];
    standard[0].callouts = (bc_callouts){.count = 2, .callout = base.callout};
    standard[0].stacks = 2;
    standard[0].stack = many;
    standard[1].callouts = (bc_callouts){.count = 1, .callout = base.callout};
    standard[1].stacks = 7;
    standard[1].stack = many;
    expect_standards("standards.txt", "standards.json", &report);
    state[0] = (bc_standard_state){&standard[0], 0, 0.8, 0.95, 0.93, 0.97, 0.99, true};
    state[1] = (bc_standard_state){&standard[0], 1, 0.9, 0.7, 0.65, 0.75, NAN, false};
    state[2] = (bc_standard_state){&standard[1], 1, 1.2, NAN, NAN, NAN, NAN, false};
    report.states = 3;
    report.state = state;
    report.process_path = "process.csv";
    report.stacks = false;
    expect_standards("standards-checked.txt", "standards-checked.json", &report);
    report.process_path = NULL;
    expect_standards("standards-paper.txt", NULL, &report);
    standards.count = report.states = 0;
    expect_standards("standards-none.txt", NULL, &report);
    fixture_close(&base);
}
END_TEST

START_TEST(spectra_rough_and_side_by_side)
{
    static double nm[] = {500.0, 600.0}, s[] = {0.02, 0.03}, p[] = {0.01, 0.015}, u[] = {0.015, 0.0225};
    static double s_T[] = {0.97, 0.96}, p_T[] = {0.985, 0.98}, u_T[] = {0.9775, 0.97}, nothing[] = {0.01, 0.005};
    static const double aoi[] = {0.0, M_PI / 6.0};
    static const char *const path[] = {"one.csv", "two.csv"};
    const bc_spectrum one = {2, nm, {s, p, u}, {s_T, p_T, u_T}, {nothing, nothing, nothing}, NULL};
    const bc_spectrum two = {2, nm, {p, u, s}, {p_T, u_T, s_T}, {nothing, s, nothing}, NULL};
    const bc_spectrum ones[] = {one, two}, twos[] = {two, one};
    bc_spectrum_report report[2] = {{2, aoi, ones, BC_POL_EACH, NULL, 0.0}, {2, aoi, twos, BC_POL_EACH, NULL, 0.0}};
    fixture base;
    bc_text text = {0};
    fixture_open(&base);
    ck_assert_int_eq(bc_report_spectra_csv(2, report, &text, NULL), BC_OK);
    expect_written("spectra.csv", &text);
    ck_assert_int_eq(bc_report_spectra_json(2, report, path, &text, NULL), BC_OK);
    expect_written("spectra.json", &text);
    report[0].stack = &base.stack;
    report[0].roughness_nm = 2.0;
    ck_assert_int_eq(bc_report_spectrum_csv(report, &text, NULL), BC_OK);
    expect_written("rough.csv", &text);
    ck_assert_int_eq(bc_report_spectrum_json(report, &text, NULL), BC_OK);
    expect_written("rough.json", &text);
    fixture_close(&base);
}
END_TEST

START_TEST(pictures)
{
    static const char *const name[PLOT_SCENES] = {"check.png", "design.png", "spectrum.png", "yield.png",
                                                  "material.png"};
    const bc_plot_options options = {.format = BC_PLOT_PNG, .width_mm = 120.0, .dpi = 96.0, .title = "Camera window"};
    plot_scene all;
    bc_text png = {0};
    plot_scene_open(&all);
    ck_assert_int_eq(plot_scene_draw(&all, _i, &options, &png, NULL), BC_OK);
    expect_drawn(name[_i], &png);
    plot_scene_close(&all);
}
END_TEST

Suite *as_written_suite(void)
{
    Suite *suite = suite_create("as written");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, an_inspection_with_all_its_parts);
    tcase_add_test(tcase, an_inspection_with_the_other_sentences);
    tcase_add_test(tcase, callouts_of_every_kind);
    tcase_add_test(tcase, standard_coatings);
    tcase_add_test(tcase, spectra_rough_and_side_by_side);
    tcase_add_loop_test(tcase, pictures, 0, PLOT_SCENES);
    suite_add_tcase(suite, tcase);
    return suite;
}
