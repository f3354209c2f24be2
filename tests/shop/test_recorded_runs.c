/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Simulated runs, chamber sheets, curved surfaces and single errors as they were recorded (recorded.h). In the build as
 * shipped alone: under the sanitizers fewer runs are made.
 */
#include "bowl.h"
#include "deposition.h"
#include "inquiry.h"
#include "recorded.h"
#include <bloomcoat/colour_runs.h>
#include <bloomcoat/robust.h>
#include <bloomcoat/sensitivity.h>
#include <math.h>
#include <stdio.h>

#define ROUNDING 1e-7 /* of a figure that a closed computation has */
#define SHARE    0.002
#define CURVE    1e-4 /* of a percentile: one run more or less */

static double near(double value)
{
    return isfinite(value) ? ROUNDING * fabs(value) + 1e-12 : 0.0;
}

static void record_yield(recorded *r, const bc_yield_result *result, size_t callouts)
{
    record(r, (double)result->runs, 0.0, "runs");
    record(r, result->yield, SHARE, "yield");
    record(r, result->yield_low, SHARE, "yield_low");
    record(r, result->yield_high, SHARE, "yield_high");
    record(r, result->known.runs, 0.0, "known.runs");
    record(r, result->known.low, 2.0 * SHARE, "known.low");
    record(r, result->known.high, 2.0 * SHARE, "known.high");
    record(r, result->known.average, SHARE, "known.average");
    record(r, result->limit_used, near(result->limit_used), "limit_used");
    record(r, result->influence_of_failure, 0.0, "influence_of_failure");
    for (size_t i = 0; i < result->influences; i++)
        record(r, result->influence[i].influence, SHARE, "influence.%s.%zd", result->influence[i].material,
               (ssize_t)result->influence[i].layer);
    record(r, result->scale_for_95, near(result->scale_for_95), "scale_for_95");
    record(r, (double)result->decisive, 0.0, "decisive");
    for (size_t c = 0; c < callouts; c++)
        record(r, result->fails[c], SHARE, "fails.%zu", c);
    for (size_t c = 0; c < result->curves; c++) {
        const bc_percentile_curve *curve = &result->curve[c];
        const size_t stride = curve->count / 10 + 1;
        record(r, (double)curve->count, 0.0, "curve.%zu.count", c);
        record(r, curve->aoi_rad, 1e-9, "curve.%zu.aoi", c);
        record(r, curve->polarization, 0.0, "curve.%zu.polarization", c);
        record(r, curve->zone == NULL ? 0.0 : curve->zone->radius_mm, 1e-9, "curve.%zu.zone", c);
        for (size_t i = 0; i < curve->count; i += stride)
            for (int p = 0; p < 5; p++)
                record(r, curve->value[p][i], CURVE, "curve.%zu.%.2f.%d", c, curve->wavelength_nm[i], p);
    }
    for (size_t c = 0; c < result->clouds; c++) {
        const bc_colour_scatter *scatter = &result->cloud[c].scatter;
        record(r, scatter->a_sigma, 1e-5, "cloud.%zu.a", c);
        record(r, scatter->b_sigma, 1e-5, "cloud.%zu.b", c);
        record(r, scatter->luminous_sigma, 1e-7, "cloud.%zu.luminous", c);
        record(r, scatter->from_design, 1e-3, "cloud.%zu.from_design", c);
        record(r, scatter->between, 1e-3, "cloud.%zu.between", c);
        record(r, scatter->run[result->cloud_runs - 1].L, 1e-6, "cloud.%zu.last", c);
    }
}

/* Runs of five layers of four materials with errors of every kind. */
START_TEST(a_yield_with_everything)
{
    recorded *r = begin_record();
    workshop w;
    open_five(&w);
    workshop_ask(&w, 0.13, 500.0, 600.0, 20.0)->polarization = BC_POL_EACH;
    workshop_ask(&w, 0.105, 450.0, 650.0, 0.0)->statistic = BC_AVERAGE;
    workshop_errors(&w, "1.65", 0.03, -0.01, 0.004);
    for (size_t i = 0; i < w.process.rows; i++) {
        w.row[i].run_thickness_sigma = i == 2 ? -0.01 : 0.006;
        w.row[i].index_sigma = 0.004 * (double)(i + 1);
    }
    w.options.runs = 3000;
    w.options.influence = w.options.sigma_for_yield = w.options.percentiles = true;
    bc_yield_result result = workshop_run(&w);
    record_yield(r, &result, w.callouts.count);
    bc_yield_result_clear(&result);
    workshop_close(&w);
    expect_as_recorded(r, "yield.txt");
}
END_TEST

/* Runs on a curved surface, and the colour of a single layer there, in a process known by few runs. */
START_TEST(a_yield_of_zones_and_colours)
{
    const bc_curved curved = {.radius_mm = 20.0, .clear_aperture_mm = 26.0, .concave = true, .slope_exponent = 1.0};
    bc_zone zone[6];
    recorded *r = begin_record();
    workshop w;
    open_single(&w, 0.012);
    ck_assert_int_eq(bc_curved_zones(&curved, 6, zone, NULL), BC_OK);
    w.problem.zones = 6;
    w.problem.zone = zone;
    w.callout[0].limit = 0.016;
    w.callout[0].from_nm = 500.0;
    w.callout[0].to_nm = 580.0;
    {
        bc_callout *luminous = workshop_ask(&w, 0.0151, 380.0, 780.0, 0.0);
        luminous->statistic = BC_AVERAGE;
        luminous->weight = bc_weight_luminous();
    }
    workshop_errors(&w, "*", 0.01, 0.01, 0.004);
    w.row[0].runs = (bc_process_runs){25.0, 20.0, 10.0, 12.0, 15.0};
    w.options.runs = 3000;
    w.options.known_yield = w.options.percentiles = w.options.colours = w.options.influence = true;
    bc_yield_result result = workshop_run(&w);
    record_yield(r, &result, w.callouts.count);
    bc_yield_result_clear(&result);
    workshop_close(&w);
    expect_as_recorded(r, "zones.txt");
}
END_TEST

typedef struct figure {
    const char *name;
    double value;
} figure;

static void record_figures(recorded *r, size_t count, const figure *one, size_t layer)
{
    for (size_t f = 0; f < count; f++)
        record(r, one[f].value, 10.0 * near(one[f].value), "%zu.%s", layer, one[f].name);
}

static void record_signal(recorded *r, const bc_layer_signal *s, size_t i)
{
    const figure of_signal[] = {
        {"wavelength_nm", s->wavelength_nm},
        {"n", s->n},
        {"k", s->k},
        {"quarter_waves", s->quarter_waves},
        {"start", s->start},
        {"cut", s->cut},
        {"high", s->high},
        {"swing", s->swing},
        {"error", s->error},
        {"slope_per_nm", s->slope_per_nm},
        {"linear_nm", s->linear_nm},
        {"early_nm", s->early_nm},
        {"late_nm", s->late_nm},
        {"cost_nm", s->cost_nm},
        {"cut_by", s->cut_by},
        {"cut_at_turning", s->cut_at_turning},
        {"has_next", s->has_next},
    };
    record_figures(r, sizeof of_signal / sizeof *of_signal, of_signal, i);
    for (size_t t = 0; t < s->turnings + s->has_next; t++) {
        const bc_turning *turning = t < s->turnings ? &s->turning[t] : &s->next;
        record(r, turning->monitor_nm, 1e-4, "%zu.turning.%zu.nm", i, t);
        record(r, turning->time_s, 1e-3, "%zu.turning.%zu.s", i, t);
        record(r, turning->signal, 1e-8, "%zu.turning.%zu.signal", i, t);
        record(r, turning->maximum, 0.0, "%zu.turning.%zu.maximum", i, t);
    }
}

/* The sheet of five layers. Loop: one wavelength in R; several in T through the back, oblique, with new glasses; the
 * best of a range, of a filter that is wide. */
START_TEST(sheets)
{
    static const double lines[] = {480.0, 550.0, 633.0};
    static const size_t before[] = {3, 5};
    bc_monitor monitor = monitor_at(&lines[1]);
    recorded *r = begin_record();
    char file[32];
    workshop w;
    open_five(&w);
    w.stack.layer[1].thickness_nm = 510.0;
    for (size_t i = 0; i < 2; i++) {
        w.row[i].has_rate = w.row[i].has_tooling = true;
        w.row[i].rate_nm_per_s = 0.3 + 0.5 * (double)i;
        w.row[i].tooling = i == 0 ? 1.03 : 0.98;
    }
    w.row[0].has_minimum = true;
    w.row[0].minimum_nm = 75.0;
    if (_i == 1) {
        monitor.signal = BC_T;
        monitor.glass = &w.glass[1];
        monitor.glass_back = BC_BACK_UNCOATED;
        monitor.glass_mm = 1.0;
        monitor.aoi_rad = 0.2;
        monitor.error_of = BC_ERROR_OF_CUT;
        monitor.wavelengths = 3;
        monitor.wavelength_nm = lines;
        monitor.new_glasses = 2;
        monitor.new_before = before;
    } else if (_i == 2) {
        monitor.wavelengths = 0;
        monitor.from_nm = 450.0;
        monitor.to_nm = 700.0;
        monitor.step_nm = 10.0;
        monitor.bandwidth_nm = 8.0;
    }
    bc_deposit_result sheet = deposit(&w, &w.process, &whole_chamber, &monitor);
    record(r, sheet.layer_s, near(sheet.layer_s), "layer_s");
    record(r, sheet.load_s, near(sheet.load_s), "load_s");
    record(r, (double)sheet.crystal, 0.0, "crystal");
    record(r, (double)sheet.chosen, 0.0, "chosen");
    for (size_t c = 0; c < sheet.choices; c++) {
        record(r, (double)sheet.choice[c].crystal, 0.0, "choice.%zu.crystal", c);
        record(r, sheet.choice[c].share, 10.0 * near(sheet.choice[c].share), "choice.%zu.share", c);
    }
    for (size_t i = 0; i < sheet.layers; i++) {
        const bc_sheet_layer *l = &sheet.layer[i];
        const figure of_layer[] = {
            {"layer", (double)l->layer},
            {"thickness_nm", l->thickness_nm},
            {"monitor_nm", l->monitor_nm},
            {"rate_nm_per_s", l->rate_nm_per_s},
            {"time_s", l->time_s},
            {"total_nm", l->total_nm},
            {"total_s", l->total_s},
            {"starts_s", l->starts_s},
            {"ends_s", l->ends_s},
            {"thin", l->thin},
            {"minimum_nm", l->minimum_nm},
            {"allowed_nm", l->allowed_nm},
            {"glass_number", (double)l->glass_number},
            {"best_wavelength_nm", l->best_wavelength_nm},
            {"best_cost_nm", l->best_cost_nm},
            {"best_cut_by", l->best_cut_by},
        };
        record_figures(r, sizeof of_layer / sizeof *of_layer, of_layer, i);
        record_signal(r, &l->signal, i);
        for (size_t p = 0; p < l->points; p += 16)
            record(r, l->curve_signal[p], 1e-9, "%zu.at.%.4f", i, l->curve_monitor_nm[p]);
    }
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
    snprintf(file, sizeof file, "sheet-%d.txt", _i);
    expect_as_recorded(r, file);
}
END_TEST

static void record_lens(recorded *r, const bc_lens_curve *curve, size_t zones, const char *name)
{
    for (size_t f = 0; f < curve->check.count; f++) {
        record(r, curve->area_mean[f], 1e-8, "%s.%zu.mean", name, f);
        record(r, curve->finding_aperture_mm[f], 2e-3, "%s.%zu.aperture", name, f);
        for (size_t z = 0; z < zones; z++) {
            record(r, curve->limit_used[f * zones + z], 1e-6, "%s.%zu.%zu.used", name, f, z);
            record(r, curve->at_nm[f * zones + z], 1e-2, "%s.%zu.%zu.nm", name, f, z);
            record(r, curve->at_aoi_rad[f * zones + z], 1e-6, "%s.%zu.%zu.aoi", name, f, z);
        }
    }
    record(r, curve->aperture_mm, 2e-3, "%s.aperture", name);
    record(r, (double)curve->ends, 0.0, "%s.ends", name);
}

/* A steep surface by itself. Loop: within reach of a factor, beyond it. */
START_TEST(a_lens)
{
    const bc_curved steep = {.radius_mm = 20.0, .clear_aperture_mm = 34.0, .slope_exponent = 1.3, .axial = true};
    recorded *r = begin_record();
    char file[32];
    workshop w;
    open_five(&w);
    w.stack.layer[1].thickness_nm = 20.0;
    workshop_ask(&w, _i == 0 ? 0.4 : 0.12, 480.0, 600.0, 0.0);
    workshop_ask(&w, _i == 0 ? 0.3 : 0.1, 450.0, 650.0, 10.0)->statistic = BC_AVERAGE;
    bc_lens_result lens = look(&w, &steep, 9);
    record(r, (double)lens.zones, 0.0, "zones");
    record(r, lens.factor, 1.01e-4, "factor");
    record(r, lens.reach_factor, 1.01e-4, "reach_factor");
    for (size_t z = 0; z < lens.zones; z++)
        record(r, lens.zone[z].thickness_factor, 1e-9, "zone.%.6f", lens.zone[z].radius_mm);
    record_lens(r, &lens.designed, lens.zones, "designed");
    if (lens.factor != 1.0)
        record_lens(r, &lens.scaled, lens.zones, "scaled");
    if (lens.reach_factor != 1.0)
        record_lens(r, &lens.reaching, lens.zones, "reaching");
    bc_lens_result_clear(&lens);
    workshop_close(&w);
    snprintf(file, sizeof file, "lens-%d.txt", _i);
    expect_as_recorded(r, file);
}
END_TEST

/* The ladder of yields of a draft, and single errors of what it chose. */
START_TEST(a_robust_design)
{
    const bc_draft_options drafting = {.aim = BC_AIM_BEST, .seed = 1, .effort = 0.1, .threads = 2};
    const bc_robust_options options = {.seed = 1, .runs = 2000, .threads = 2, .search_effort = 0.05};
    bc_sensitivity_result single;
    bc_robust_result robust;
    bc_draft_result draft;
    bc_check_result check;
    recorded *r = begin_record();
    inquiry q;
    open_inquiry(&q, "1.38,2.1,1.65", 5);
    q.w.problem.minimum_nm = 8.0;
    workshop_ask(&q.w, 0.003, 440.0, 670.0, 0.0);
    workshop_ask(&q.w, 0.006, 450.0, 650.0, 25.0);
    workshop_errors(&q.w, "*", 0.015, 0.007, 0.005);
    ck_assert_int_eq(bc_draft(&q.w.problem, &drafting, &draft, NULL), BC_OK);
    ck_assert_int_eq(bc_robust(&q.w.problem, &q.w.process, &draft, &options, &robust, NULL), BC_OK);
    record(r, robust.limit_used, 1e-3, "limit_used");
    record(r, robust.yield, SHARE, "yield");
    record(r, robust.sharpest_limit_used, 1e-3, "sharpest_limit_used");
    record(r, robust.sharpest_yield, SHARE, "sharpest_yield");
    record(r, robust.sharpest_low, SHARE, "sharpest_low");
    record(r, robust.sharpest_high, SHARE, "sharpest_high");
    record(r, robust.yield_low, SHARE, "yield_low");
    record(r, robust.yield_high, SHARE, "yield_high");
    record(r, (double)robust.runs, 0.0, "runs");
    record(r, (double)robust.rungs, 0.0, "rungs");
    record(r, (double)robust.chosen, 0.0, "chosen");
    for (size_t i = 0; i < robust.rungs; i++) {
        record(r, (double)robust.rung[i].layers, 0.0, "rung.%zu.layers", i);
        record(r, robust.rung[i].total_nm, 0.1, "rung.%zu.total_nm", i);
        record(r, robust.rung[i].limit_used, 1e-3, "rung.%zu.limit_used", i);
        record(r, robust.rung[i].yield, 2.0 * SHARE, "rung.%zu.yield", i);
        record(r, robust.rung[i].yield_low, 2.0 * SHARE, "rung.%zu.low", i);
    }
    for (size_t j = 0; j < robust.stack.layers; j++)
        record(r, robust.stack.layer[j].thickness_nm, 0.05, "%s.%zu", robust.stack.layer[j].material.name, j);
    ck_assert_int_eq(bc_problem_check(&q.w.problem, &robust.stack, &check, NULL), BC_OK);
    ck_assert_int_eq(bc_sensitivity(&q.w.problem, &robust.stack, &check, NULL, NULL, &single, NULL), BC_OK);
    for (size_t i = 0; i < single.layers; i++)
        for (int kind = 0; kind < BC_ERROR_KINDS; kind++)
            for (int up = 0; up < 2; up++)
                record(r, single.layer[i].limit_used[kind][up], 2e-3, "single.%zu.%d.%d", i, kind, up);
    bc_sensitivity_clear(&single);
    bc_check_result_clear(&check);
    bc_robust_result_clear(&robust);
    bc_draft_result_clear(&draft);
    workshop_close(&q.w);
    expect_as_recorded(r, "robust.txt");
}
END_TEST

TCase *recorded_runs_case(void)
{
    TCase *tests = tcase_create("recorded_runs");
    tcase_add_loop_test(tests, a_yield_with_everything, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, a_yield_of_zones_and_colours, 0, MANY_OR_FEW(1, 0));
    tcase_add_loop_test(tests, sheets, 0, MANY_OR_FEW(3, 0));
    tcase_add_loop_test(tests, a_lens, 0, MANY_OR_FEW(2, 0));
    tcase_add_loop_test(tests, a_robust_design, 0, MANY_OR_FEW(1, 0));
    return tests;
}
