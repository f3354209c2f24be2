/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Reports in which no figure is 0, 1 or left out, so that a factor or a sign that is wrong shows, against expected/.
 */
#include "expected.h"
#include "inspected.h"
#include "offered.h"
#include <bloomcoat/page.h>
#include <math.h>
#include <string.h>

static void expect_inspection(const char *text_name, const char *json_name, const bc_inspect_report *report)
{
    bc_text text = {0};
    ck_assert_int_eq(bc_report_inspect_text(report, &text, NULL), BC_OK);
    expect_written(text_name, &text);
    ck_assert_int_eq(bc_report_inspect_json(report, &text, NULL), BC_OK);
    expect_written(json_name, &text);
}

/* Different from all others, so that no figure can be printed for another. */
static double next_figure(void)
{
    static unsigned made;
    return 0.00123 + 0.00371 * (double)(++made % 97);
}

static void fill_parts(double part[BC_PARTS])
{
    for (int p = 0; p < BC_PARTS; p++)
        part[p] = next_figure();
}

static void fill_every_figure(inspected *seen, bc_inspect_result *result)
{
    for (size_t i = 0; i < FIXTURE_CALLOUTS; i++) {
        bc_inspect_finding *finding = &seen->finding[i];
        fill_parts(finding->part);
        finding->judged = (bc_judged)(BC_JUDGED_AVERAGE + i % 3);
        finding->points_because = finding->judged == BC_JUDGED_POINTS ? BC_POINTS_FEW : BC_POINTS_NOT;
        finding->covered_from_nm = 420.0 + (double)i;
        finding->covered_to_nm = 640.0 + (double)i;
        finding->rest = next_figure();
        finding->widest_step_nm = 2.5;
        finding->step_limit_nm = 7.5;
        finding->doubt_nm = 431.0;
        finding->doubt_value = next_figure();
        finding->predicted = next_figure();
        finding->predicted_uncertainty = next_figure();
        finding->back_removed = i == 0;
    }
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        fill_parts(seen->layer[i].part_nm);
    seen->material[0].dn = next_figure();
    seen->material[0].dn_sigma = next_figure();
    seen->material[0].tooling_known = seen->material[1].tooling_known = true;
    result->evidence = (bc_evidence){.held = BC_HELD_IMPOSSIBLE, .count = 2, .of = 3, .first = 1, .value = -0.02};
    strcpy(result->evidence.text, "two values of three are below 0");
    result->outliers = 1;
    result->outlier[0] = (bc_outlier){BC_R, 500.0, 0.031, 0.027, 9.3};
    result->outside = 4;
    result->standard_uncertainty = next_figure();
    result->noise_T = (bc_noise){BC_NOISE_SCAN, 0.00037, 11};
    result->T = result->R;
    result->T.rms = 0.0021;
    result->T.worst = 0.0033;
    result->T.worst_nm = 600.0;
    result->R.offset = 0.0007;
    result->R.offset_sigma = 0.0003;
    result->R.offset_prior = 0.0005;
    result->scale_rms = next_figure();
    result->causes = 4;
    result->cause[0] = (bc_cause){.kind = BC_CAUSE_MATERIAL_FACTOR,
                                  .layers = 2,
                                  .layer = {0, 2},
                                  .material = seen->material[0].material,
                                  .size = 0.031,
                                  .size_sigma = 0.004,
                                  .rms = 0.0004,
                                  .residual = 1.3};
    result->cause[1] = (bc_cause){.kind = BC_CAUSE_LAYER,
                                  .layers = 1,
                                  .layer = {1, 0},
                                  .material = seen->material[1].material,
                                  .size = -0.08,
                                  .size_sigma = 0.01,
                                  .log_odds = -2.0};
    result->cause[2] = (bc_cause){.kind = BC_CAUSE_ANGLE, .size = 0.11, .size_sigma = 0.02, .log_odds = -3.5};
    result->cause[3] = (bc_cause){.kind = BC_CAUSE_WAVELENGTH, .size = 1.7, .size_sigma = 0.3, .log_odds = -4.5};
    result->cause_odds = 7.4;
    result->differ_at_45 = 0.0123;
    result->differ_in_range = 0.0234;
    result->wider_from_nm = 360.0;
    result->wider_to_nm = 810.0;
    result->residual = 1.7;
    result->absorption = (bc_absorption){true, BC_ABSORPTION_BELOW, 0.012, 0.003, 402.0, 433.0};
}

START_TEST(an_inspection_with_every_figure)
{
    inspected seen;
    bc_inspect_report report;
    open_inspected(&seen);
    for (int w = 0; w < 2; w++)
        fill_every_figure(&seen, &seen.result[w]);
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        seen.spread[i] = (bc_spread){3, 0.5 + (double)i, next_figure(), next_figure(), next_figure()};
    seen.lot.scale = (bc_spread){3, 1.02, 0.0031, -0.0042, 0.0007};
    seen.lot.accepted = 3;
    seen.lot.rejected = 4;
    report = seen.report;
    report.setup = &seen.setup;
    seen.setup.coverage_factor = 3.0;
    seen.setup.wavelength_uncertainty_nm = 0.3;
    seen.setup.scale_uncertainty = 0.004;
    expect_inspection("figures.txt", "figures.json", &report);
    report.lot = &seen.lot;
    report.witnesses = 2;
    expect_inspection("figures-lot.txt", "figures-lot.json", &report);
    fixture_close(&seen.base);
}
END_TEST

static void fill_process(offered *all)
{
    for (int i = 0; i < 2; i++) {
        bc_process_row *row = &all->row[i];
        row->has_rate = row->has_tooling = row->has_index_sigma = row->has_minimum = row->has_process_c =
            row->has_run_thickness_sigma = true;
        row->rate_nm_per_s = 0.5 + 0.3 * i;
        row->tooling = 1.07 + 0.1 * i;
        row->run_thickness_sigma = 0.004 + 0.003 * i;
        row->index_sigma = 0.0023 + 0.001 * i;
        row->minimum_nm = 6.5 + i;
        row->process_c = 230.0 + 40.0 * i;
        row->runs = (bc_process_runs){21.0, 22.0 + i, 23.0 + i, 24.0 + i, 25.0 + i};
    }
    all->process.has_tooling = all->process.has_run_thickness_sigma = all->process.has_index_sigma =
        all->process.has_minimum = all->process.has_process_c = true;
    all->chamber = (bc_chamber){.has_load_diameter = true,
                                .has_part_pitch_extra = true,
                                .has_pump_down = true,
                                .has_heat = true,
                                .has_cool_vent = true,
                                .has_between_layers = true,
                                .load_diameter_mm = 600.0,
                                .part_pitch_extra_mm = 2.5,
                                .pump_down_min = 71.0,
                                .heat_min = 17.0,
                                .cool_vent_min = 43.0,
                                .between_layers_s = 36.0};
}

/* Oblique light in a cone on a curved surface that layers grow on from a point. */
static void fill_light(fixture *base, bc_curved *curved)
{
    static const bc_zone zone[2] = {{.radius_mm = 3.7}, {.radius_mm = 11.3}};
    base->callout[0].cone_rad = 0.07;
    base->callout[0].aoi_from_rad = 0.1;
    base->callout[0].aoi_to_rad = 0.35;
    for (size_t i = 0; i < FIXTURE_FINDINGS; i++) {
        base->finding[i].at_nm = 490.25 + 10.0 * (double)i;
        base->finding[i].zone = &zone[i % 2];
        base->finding[i].at_aoi_rad = 0.1 + 0.05 * (double)i;
    }
    *curved = (bc_curved){.radius_mm = 21.0,
                          .concave = true,
                          .clear_aperture_mm = 30.0,
                          .distribution = BC_DISTRIBUTION_SOURCE,
                          .source_distance_mm = 480.0,
                          .point_source = true,
                          .axial = true,
                          .one_angle = true,
                          .axial_angle_rad = 0.12};
}

START_TEST(runs_with_every_figure)
{
    offered all;
    bc_text text = {0};
    open_offered(&all);
    fill_process(&all);
    fill_light(&all.base, &all.curved);
    all.runs.known = (bc_known_yield){21.0, 0.61, 0.83, 0.74};
    all.runs.asked = 900;
    all.runs.left_out = true;
    all.runs.limit_used = 0.93;
    all.curve.aoi_rad = 0.23;
    all.curve.polarization = BC_POL_S;
    all.yield.check.curved = &all.curved;
    all.yield.check.zones = 7;
    ck_assert_int_eq(bc_report_yield_text(&all.yield, &text, NULL), BC_OK);
    expect_written("figures-yield.txt", &text);
    ck_assert_int_eq(bc_report_yield_json(&all.yield, &text, NULL), BC_OK);
    expect_written("figures-yield.json", &text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_quote_with_every_figure)
{
    const bc_standard standard = {.name = "AR-1", .stacks = 1};
    bc_standard_offer offer[2];
    offered all;
    bc_text text = {0};
    open_offered(&all);
    fill_process(&all);
    fill_light(&all.base, &all.curved);
    for (int o = 0; o < 2; o++)
        offer[o] = (bc_standard_offer){.standard = &standard,
                                       .made_for = &all.base.glass[o],
                                       .refined = o == 1,
                                       .moved_nm = 2.7 * o,
                                       .does = true,
                                       .option = all.option[1]};
    all.option[0] = all.option[1];
    all.option[0].standard = &offer[1];
    all.option[0].yield = 0.66;
    for (int o = 0; o < 2; o++) {
        all.option[o].known = (bc_known_yield){21.0, 0.61 + 0.1 * o, 0.83 + 0.1 * o, 0.74 + 0.1 * o};
        all.option[o].predicted_runs = 4000 + (size_t)o;
    }
    all.result.standards = 2;
    all.result.standard = offer;
    all.result.predicted_runs = 3100;
    all.result.contradicted = true;
    all.result.contradiction[1] = 2;
    for (size_t e = 0; e < OFFERED_EXCEPTIONS; e++) {
        bc_exception *one = &all.exception[e];
        one->factor = 1.0 + 0.13 * (double)(e + 1);
        one->limit_used = 0.9 + 0.01 * (double)e;
        one->yield = 0.9 + 0.011 * (double)e;
        one->yield_low = one->yield - 0.02;
        one->yield_high = one->yield + 0.01;
        one->offered.aoi_from_rad = 0.03;
    }
    all.request.yield = 0.87;
    all.request.confidence = 0.83;
    all.request.effort = 1.7;
    all.quote.check.zones = 7;
    ck_assert_int_eq(bc_report_quote_text(&all.quote, &text, NULL), BC_OK);
    expect_written("figures-quote.txt", &text);
    ck_assert_int_eq(bc_report_quote_json(&all.quote, &text, NULL), BC_OK);
    expect_written("figures-quote.json", &text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_robust_draft_with_every_figure)
{
    bc_yield_rung rung[2];
    bc_robust_result robust;
    offered all;
    bc_design_report report;
    bc_text text = {0};
    open_offered(&all);
    for (int r = 0; r < 2; r++)
        rung[r] = (bc_yield_rung){.layers = 2 + (size_t)r,
                                  .total_nm = 93.7 + 31.3 * r,
                                  .limit_used = 0.71 + 0.12 * r,
                                  .yield = 0.81 + 0.1 * r,
                                  .yield_low = 0.79 + 0.1 * r,
                                  .yield_high = 0.84 + 0.1 * r};
    robust = (bc_robust_result){.stack = all.base.stack,
                                .limit_used = 0.83,
                                .yield = 0.913,
                                .yield_low = 0.897,
                                .yield_high = 0.931,
                                .sharpest_limit_used = 0.61,
                                .sharpest_yield = 0.713,
                                .sharpest_low = 0.697,
                                .sharpest_high = 0.731,
                                .designs = 47,
                                .runs = 5300,
                                .rungs = 2,
                                .rung = rung,
                                .chosen = 1};
    report = all.base.draft;
    report.robust = &robust;
    ck_assert_int_eq(bc_report_design_text(&report, &text, NULL), BC_OK);
    expect_written("figures-design.txt", &text);
    ck_assert_int_eq(bc_report_design_json(&report, &text, NULL), BC_OK);
    expect_written("figures-design.json", &text);
    ck_assert_int_eq(bc_report_design_csv(&report, &text, NULL), BC_OK);
    expect_written("figures-design.csv", &text);
    fixture_close(&all.base);
}
END_TEST

/* Loop: what stands in the way, of parts that are not counted; and that nothing does. */
START_TEST(a_quote_of_uncounted_parts)
{
    static const char *const name[][2] = {{"obstacle-none.txt", "obstacle-none.html"},
                                          {"obstacle-size.txt", "obstacle-size.html"},
                                          {"obstacle-contradiction.txt", "obstacle-contradiction.html"},
                                          {"obstacle-heat.txt", "obstacle-heat.html"},
                                          {"obstacle-thin.txt", "obstacle-thin.html"},
                                          {"feasible.txt", "feasible.html"}};
    const bc_page_options page = {.format = BC_PAGE_HTML, .title = "Camera window"};
    offered all;
    const bc_quote_surface surface[] = {{"S1", &all.quote, NULL}, {"S2", &all.quote, NULL}};
    bc_text text = {0};
    open_offered(&all);
    all.request.quantity = 0;
    all.result.verdict = _i == 5 ? BC_FEASIBLE : BC_NOT_FEASIBLE;
    all.result.obstacle = _i == 5 ? BC_NO_OBSTACLE : (bc_obstacle)_i;
    all.result.obstacle_material = _i == BC_OBSTACLE_HEAT || _i == BC_OBSTACLE_THIN ? &all.at_hand[1] : NULL;
    all.result.obstacle_at = 71.5;
    all.result.obstacle_limit = 61.5;
    all.result.contradicted = _i == BC_OBSTACLE_CONTRADICTION;
    all.result.contradiction[1] = 2;
    if (_i == 5)
        all.option[1].yield = all.option[1].yield_low = all.option[1].yield_high = 0.97;
    ck_assert_int_eq(bc_report_quote_text(&all.quote, &text, NULL), BC_OK);
    expect_written(name[_i][0], &text);
    ck_assert_int_eq(bc_page_offer(_i == 5 ? 2 : 1, surface, &page, &text, NULL), BC_OK);
    expect_written(name[_i][1], &text);
    fixture_close(&all.base);
}
END_TEST

START_TEST(a_run_sheet_with_every_figure)
{
    static const double nm[] = {500.0, 560.0};
    static const size_t new_before[] = {3};
    const bc_monitor monitor = {.signal = BC_T,
                                .glass_back = BC_BACK_UNCOATED,
                                .glass_mm = 1.5,
                                .aoi_rad = 0.2,
                                .bandwidth_nm = 3.0,
                                .error = 0.004,
                                .wavelengths = 2,
                                .wavelength_nm = nm,
                                .new_glasses = 1,
                                .new_before = new_before};
    bc_deposit_result sheet;
    bc_deposit_report report;
    offered all;
    bc_text text = {0};
    open_offered(&all);
    fill_process(&all);
    all.base.layer[0].thickness_nm = 291.4;
    all.base.layer[1].thickness_nm = 77.3;
    report = (bc_deposit_report){.stack_path = "stack.csv",
                                 .process_path = "process.csv",
                                 .chamber_path = "chamber.csv",
                                 .stack = &all.base.stack,
                                 .process = &all.process,
                                 .chamber = &all.chamber,
                                 .monitor = &monitor,
                                 .result = &sheet};
    ck_assert_int_eq(bc_deposit(report.stack, report.process, report.chamber, &monitor, &sheet, NULL), BC_OK);
    ck_assert_int_eq(bc_report_deposit_text(&report, &text, NULL), BC_OK);
    expect_written("figures-deposit.txt", &text);
    ck_assert_int_eq(bc_report_deposit_json(&report, &text, NULL), BC_OK);
    expect_written("figures-deposit.json", &text);
    ck_assert_int_eq(bc_report_deposit_csv(&report, &text, NULL), BC_OK);
    expect_written("figures-deposit.csv", &text);
    bc_deposit_result_clear(&sheet);
    fixture_close(&all.base);
}
END_TEST

START_TEST(learned_figures)
{
    const bc_learn_sigma between = {
        .sigma = {0.0123, 0.0081, 0.0147}, .freedom = 41, .runs_needed = 33, .before = 0.017};
    const bc_learn_sigma within = {
        .sigma = {0.0213, 0.0181, 0.0247}, .freedom = 37, .runs_needed = 29, .before = 0.027};
    bc_learn_material material[2];
    bc_learn_result result;
    bc_learn_report report;
    offered all;
    bc_text text = {0};
    open_offered(&all);
    for (int m = 0; m < 2; m++)
        material[m] = (bc_learn_material){.layers = 40,
                                          .runs = 20,
                                          .tooling_known = true,
                                          .tooling = 1.08,
                                          .factor = {1.021, 1.013, 1.034},
                                          .probability = 0.97,
                                          .correction = 0.983,
                                          .next_tooling = 1.103,
                                          .within = within,
                                          .drift = {{0.021, -0.011, 0.033}, 0.0013, m == 1},
                                          .index_runs = 9,
                                          .index_sigma = {0.0043, 0.0032, 0.0061},
                                          .index_freedom = 7.0,
                                          .index_before = 0.0057};
    strcpy(material[0].name, "soft");
    strcpy(material[1].name, "hard");
    result = (bc_learn_result){.runs = 20,
                               .designs = 2,
                               .between_runs = between,
                               .between_layers = within,
                               .layers_known = true,
                               .drift_known = true,
                               .about_lines = true,
                               .materials = 2,
                               .material = material,
                               .process = all.process};
    report = (bc_learn_report){.result = &result, .left_out = 3, .older = 2};
    ck_assert_int_eq(bc_report_learn_text(&report, &text, NULL), BC_OK);
    expect_written("figures-learn.txt", &text);
    ck_assert_int_eq(bc_report_learn_json(&report, &text, NULL), BC_OK);
    expect_written("figures-learn.json", &text);
    fixture_close(&all.base);
}
END_TEST

Suite *every_figure_suite(void)
{
    Suite *suite = suite_create("every figure");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, an_inspection_with_every_figure);
    tcase_add_test(tcase, runs_with_every_figure);
    tcase_add_test(tcase, a_quote_with_every_figure);
    tcase_add_test(tcase, a_robust_draft_with_every_figure);
    tcase_add_loop_test(tcase, a_quote_of_uncounted_parts, 0, 6);
    tcase_add_test(tcase, a_run_sheet_with_every_figure);
    tcase_add_test(tcase, learned_figures);
    suite_add_tcase(suite, tcase);
    return suite;
}
