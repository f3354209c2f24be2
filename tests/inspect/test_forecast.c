/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a correction gains, and what is corrected: against the 256-bit reference and the best linear prediction worked
 * out here.
 */
#include "cause.h"
#include "forecast.h"
#include "witness.h"
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LAYERS 4
static const double thick_nm[LAYERS] = {92.0, 118.0, 60.0, 70.0};

/* An inspection whose cause was found, its layers as a test says. */
typedef struct scene {
    bench b;
    bc_process_row row[2];
    bc_process process;
    bc_measurement scan;
    double dn[2];
    bc_layer_estimate layer[LAYERS];
    bc_material_found material[2];
    bc_inspect_result result;
    bc_inspection inspection;
} scene;

static void open_scene(scene *s, double scatter)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", LAYERS, six_index, thick_nm);
    bench_ask(&s->b, BC_EXTREME, BC_AT_MOST, 0.05, 450.0, 650.0);
    bench_ask(&s->b, BC_AVERAGE, BC_AT_MOST, 0.01, 450.0, 650.0);
    for (size_t m = 0; m < 2; m++) {
        s->row[m] = (bc_process_row){.tooling = m == 0 ? 1.1 : 1.0,
                                     .has_tooling = m == 0,
                                     .has_thickness_sigma = true,
                                     .thickness_sigma = scatter};
        strcpy(s->row[m].material, six_index[m]);
        s->material[m].tooling = s->row[m].tooling;
        s->material[m].factor = 1.0;
        s->material[m].factor_sigma = 1e-3;
        s->material[m].material = s->b.design.layer[m].material;
    }
    s->process = (bc_process){.rows = 2, .row = s->row, .has_tooling = true, .has_thickness_sigma = true};
    s->b.setup.process = &s->process;
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, BC_MEASURED_R, 450.0, 10.0, 21);
    for (size_t j = 0; j < LAYERS; j++)
        s->layer[j] = (bc_layer_estimate){
            .design_nm = thick_nm[j], .fitted_nm = thick_nm[j], .sigma_nm = 0.002 * thick_nm[j], .known = true};
    s->result = (bc_inspect_result){
        .good_fit = true, .layers = LAYERS, .layer = s->layer, .materials = 2, .material = s->material, .causes = 1};
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result, .dn = s->dn};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &s->inspection.fit, &error), BC_OK);
}

static void close_scene(scene *s)
{
    bc_stack_clear(&s->result.fitted);
    bc_stack_clear(&s->result.next_stack);
    bc_process_clear(&s->result.next_process);
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

/* Largest share of a limit, and distance from the design's spectrum, of layers times `factor`, by the reference. */
static void look(const scene *s, const double *factor, double *used, double *rms)
{
    const truth design = bench_truth(&s->b);
    truth t = design;
    double nm[101], one[101], other[101], worst = 0.0, sum = 0.0, square = 0.0;
    for (size_t j = 0; j < LAYERS; j++)
        t.layer[j].thickness_nm *= factor[j];
    for (size_t i = 0; i < 101; i++)
        nm[i] = 450.0 + 2.0 * (double)i;
    truth_spectrum(&t, 101, nm, one, NULL);
    truth_spectrum(&design, 101, nm, other, NULL);
    for (size_t i = 0; i < 101; i++) {
        worst = fmax(worst, one[i]);
        sum += one[i] * (i == 0 || i == 100 ? 0.5 : 1.0) / 100.0;
        square += i % 5 == 0 ? (one[i] - other[i]) * (one[i] - other[i]) / 21.0 : 0.0; /* where it was measured */
    }
    *used = fmax(worst / 0.05, sum / 0.01);
    *rms = sqrt(square);
}

/* Nothing scatters and all is known: each run is the one forecast, or the other by its weight. */
START_TEST(gain_where_nothing_scatters)
{
    static double first[LAYERS] = {1.05, 0.95, 1.02, 1.0}, second[LAYERS] = {0.9, 1.0, 1.0, 1.1}, none[LAYERS] = {0.0};
    static const double correction[LAYERS] = {1.05, 0.95, 1.0, 1.0};
    const bc_forecast forecast[2] = {{_i == 0 ? 1.0 : 0.9, first, none, none},
                                     {_i == 0 ? 0.0 : 0.6, second, none, none}};
    double used[2][2], rms[2][2], corrected[LAYERS];
    bc_next_gain gain;
    scene s;
    open_scene(&s, 1e-12);
    for (int which = 0; which < 2; which++) {
        const double *factor = which == 0 ? first : second;
        for (size_t j = 0; j < LAYERS; j++)
            corrected[j] = factor[j] / correction[j];
        look(&s, factor, &used[which][0], &rms[which][0]);
        look(&s, corrected, &used[which][1], &rms[which][1]);
    }
    ck_assert_int_eq(bc_expect_gain(&s.inspection, forecast, correction, 0.0, &gain, NULL), BC_OK);
    ck_assert(gain.weighed);
    const double share = (gain.rms_as_it_was - rms[1][0]) / (rms[0][0] - rms[1][0]);
    ck_assert_double_eq_tol(share, _i == 0 ? 1.0 : 0.6, _i == 0 ? 1e-9 : 0.13);
    const double rest = 1.0 - share;
    ck_assert_double_eq_tol(gain.rms_corrected, share * rms[0][1] + rest * rms[1][1], 1e-9);
    ck_assert_double_eq_tol(gain.used_as_it_was, share * used[0][0] + rest * used[1][0], 2e-3);
    ck_assert_double_eq_tol(gain.used_corrected, share * used[0][1] + rest * used[1][1], 2e-3);
    const double better = share * (used[0][1] < used[0][0]) + rest * (used[1][1] < used[1][0]);
    ck_assert_double_eq_tol(gain.better, better, 1e-9);
    s.b.setup.callouts = NULL; /* then the spectrum counts */
    ck_assert_int_eq(bc_expect_gain(&s.inspection, forecast, correction, 0.0, &gain, NULL), BC_OK);
    ck_assert(isnan(gain.used_as_it_was) && isnan(gain.used_corrected));
    ck_assert_double_eq_tol(gain.better, share * (rms[0][1] < rms[0][0]) + rest * (rms[1][1] < rms[1][0]), 1e-9);
    close_scene(&s);
}
END_TEST

/* Of small errors the distance from the design is as good as linear in them: its mean square is the sum of squares of
 * what each layer adds, or the square of the sum where all share one number. Loop: what is not known of each layer, of
 * all together, the scatter of the process, of its run. */
START_TEST(gain_of_what_scatters)
{
    static double one[LAYERS] = {1.0, 1.0, 1.0, 1.0}, none[LAYERS] = {0.0};
    static double error[LAYERS] = {0.004, 0.004, 0.004, 0.004};
    double apart = 0.0, together = 0.0, slope[LAYERS][21];
    const bc_forecast forecast[2] = {{1.0, one, _i == 1 ? error : none, _i == 0 ? error : none},
                                     {0.0, one, none, none}};
    bc_next_gain gain;
    scene s;
    open_scene(&s, _i == 2 ? 0.004 : 1e-12);
    for (size_t m = 0; m < 2; m++) {
        s.row[m].has_run_thickness_sigma = true;
        s.row[m].run_thickness_sigma = _i == 3 ? (m == 0 ? 0.004 : -0.004) : 0.0;
    }
    for (size_t j = 0; j < LAYERS; j++) {
        double side[2][21];
        for (int up = 0; up < 2; up++) {
            truth t = bench_truth(&s.b);
            t.layer[j].thickness_nm *= 1.0 + (up == 1 ? 1e-4 : -1e-4);
            truth_spectrum(&t, 21, s.scan.wavelength_nm, side[up], NULL);
        }
        for (int i = 0; i <= 20; i++)
            slope[j][i] = (side[1][i] - side[0][i]) / 2e-4 * 0.004;
    }
    for (int i = 0; i <= 20; i++) {
        double sum = 0.0;
        for (size_t j = 0; j < LAYERS; j++) {
            apart += slope[j][i] * slope[j][i] / 21.0;
            sum += slope[j][i] * (_i == 3 && j % 2 == 1 ? -1.0 : 1.0);
        }
        together += sum * sum / 21.0;
    }
    ck_assert_int_eq(bc_expect_gain(&s.inspection, forecast, one, 0.0, &gain, NULL), BC_OK);
    /* the average of one normal number's size is sqrt(2 / pi) of its root mean square; of several it is nearer to 1 */
    if (_i % 2 == 1)
        ck_assert_double_eq_tol(gain.rms_as_it_was / sqrt(2.0 / PI * together), 1.0, 0.15);
    else
        ck_assert(gain.rms_as_it_was > 0.8 * sqrt(apart) && gain.rms_as_it_was < 1.05 * sqrt(apart));
    ck_assert_double_eq(gain.rms_corrected, gain.rms_as_it_was);
    ck_assert_double_eq(gain.better, 0.0);
    close_scene(&s);
}
END_TEST

/* The same runs drawn again: which cause, what all layers share, what the run does, then each layer by itself. */
START_TEST(runs_drawn_again)
{
    static double first[LAYERS] = {1.05, 0.95, 1.02, 1.0}, second[LAYERS] = {0.9, 1.0, 1.0, 1.1};
    static double common[LAYERS] = {0.02, 0.01, 0.0, 0.03}, own[LAYERS] = {0.01, 0.0, 0.03, 0.02};
    static const double correction[LAYERS] = {1.05, 0.95, 1.0, 1.0};
    const bc_forecast forecast[2] = {{0.9, first, common, own}, {0.6, second, own, common}};
    const double scatter = 0.02, run_scatter[2] = {0.3, -0.2};
    double design[21], nm[LAYERS], sum[2] = {0.0, 0.0}, better = 0.0;
    bc_next_gain gain;
    scene s;
    open_scene(&s, scatter);
    s.b.setup.callouts = NULL;
    for (size_t m = 0; m < 2; m++) {
        s.row[m].has_run_thickness_sigma = true;
        s.row[m].run_thickness_sigma = run_scatter[m];
    }
    ck_assert_int_eq(bc_expect_gain(&s.inspection, forecast, correction, 0.0, &gain, NULL), BC_OK);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, 314159);
    bc_fit_look(&s.inspection.fit, thick_nm, NULL, 0.0, false);
    memcpy(design, s.inspection.fit.model[0], sizeof design);
    for (int draw = 0; draw < 200; draw++) {
        const bc_forecast *of = &forecast[gsl_rng_uniform(random) < 0.6 ? 0 : 1];
        const double shared = gsl_ran_ugaussian(random), run = gsl_ran_ugaussian(random);
        double made[LAYERS], rms[2] = {0.0, 0.0};
        for (size_t j = 0; j < LAYERS; j++) {
            const double by_itself = gsl_ran_ugaussian(random), scattered = gsl_ran_ugaussian(random);
            made[j] = (of->factor[j] + shared * of->common[j] + by_itself * of->own[j]) *
                      (1.0 + run * run_scatter[j % 2] + scattered * scatter);
        }
        for (int way = 0; way < 2; way++) {
            for (size_t j = 0; j < LAYERS; j++)
                nm[j] = fmax(0.0, thick_nm[j] * made[j] / (way == 1 ? correction[j] : 1.0));
            bc_fit_look(&s.inspection.fit, nm, NULL, 0.0, false);
            for (size_t i = 0; i < 21; i++)
                rms[way] += pow(s.inspection.fit.model[0][i] - design[i], 2.0) / 21.0;
            sum[way] += sqrt(rms[way]) / 200.0;
        }
        better += rms[1] < rms[0] ? 1.0 / 200.0 : 0.0;
    }
    gsl_rng_free(random);
    ck_assert_double_eq_tol(gain.rms_as_it_was / sum[0], 1.0, 1e-9);
    ck_assert_double_eq_tol(gain.rms_corrected / sum[1], 1.0, 1e-9);
    ck_assert_double_eq_tol(gain.better, better, 1e-9);
    close_scene(&s);
}
END_TEST

typedef enum story { ALL, OF_MATERIAL, ONE_LAYER, SCATTERED, MATERIAL_OFF, FAR_OFF, FAR_BELOW, STORIES } story;

/* What each layer will again come out as, by the best linear prediction (Henderson, Biometrics 31, 423 (1975); from
 * memory), and the factor of its material. */
static void predict(const scene *s, story what, double scatter, double *factor, double *tooling)
{
    double variance = 0.0;
    const double of_two = scatter * scatter / 2.0 + 1e-6, share = 0.0025 / (0.0025 + of_two);
    for (size_t j = 0; j < LAYERS; j++) {
        factor[j] = tooling[j] = what == ALL                          ? 1.06
                                 : what == OF_MATERIAL && j % 2 == 1  ? 0.95
                                 : what == MATERIAL_OFF && j % 2 == 1 ? 1.0 + share * 0.05
                                 : what == FAR_OFF                    ? 2.0
                                 : what == FAR_BELOW                  ? 0.5
                                                                      : 1.0;
        const double away = s->layer[j].fitted_nm / (thick_nm[j] * factor[j]) - 1.0;
        variance += (away * away - scatter * scatter - 4e-6) / LAYERS;
    }
    for (size_t j = 0; j < LAYERS; j++) {
        const double usual = pow(0.1 + 2.0 / thick_nm[j], 2.0), of_noise = 4e-6;
        const double away = s->layer[j].fitted_nm / (thick_nm[j] * factor[j]) - 1.0;
        if (what == ONE_LAYER && j == 2)
            factor[j] = 1.0 + 0.2 * usual / (usual + scatter * scatter);
        if (what == SCATTERED || what == MATERIAL_OFF)
            factor[j] *= 1.0 + away * variance / (variance + scatter * scatter + of_noise);
    }
}

START_TEST(what_is_corrected)
{
    static const bc_cause_kind kind[STORIES] = {
        BC_CAUSE_COMMON_FACTOR, BC_CAUSE_MATERIAL_FACTOR, BC_CAUSE_LAYER,        BC_CAUSE_RANDOM,
        BC_CAUSE_RANDOM,        BC_CAUSE_COMMON_FACTOR,   BC_CAUSE_COMMON_FACTOR};
    static const double size[STORIES] = {0.06, -0.05, 0.2, 0.0, 0.0, 1.5, -0.7};
    static const double errors[LAYERS] = {1.05, 0.94, 1.07, 0.93};
    const story what = (story)_i;
    const double scatter = 0.004;
    double factor[LAYERS], tooling[LAYERS];
    scene s;
    open_scene(&s, scatter);
    s.result.cause[0] = (bc_cause){.kind = kind[_i],
                                   .size = size[_i],
                                   .size_sigma = 1e-3,
                                   .layer = {2, 0},
                                   .material = s.b.design.layer[1].material};
    for (size_t j = 0; j < LAYERS; j++) {
        s.layer[j].fitted_nm *= what == SCATTERED || what == MATERIAL_OFF ? errors[j] : 1.0;
        s.layer[j].fitted_nm *= what == MATERIAL_OFF && j % 2 == 1 ? 1.1 : 1.0;
    }
    s.material[1].off = what == MATERIAL_OFF;
    s.material[1].factor = what == MATERIAL_OFF ? 1.05 : 1.0;
    s.b.setup.callouts = NULL; /* the distance from the design counts */
    predict(&s, what, scatter, factor, tooling);
    ck_assert_int_eq(bc_set_next_run(&s.inspection, NULL), BC_OK);
    ck_assert(s.result.next_gain.weighed);
    ck_assert_int_eq(s.result.next_because, s.result.corrected ? BC_NEXT_CORRECTED : BC_NEXT_NO_GAIN);
    ck_assert_int_eq(s.result.corrected, s.result.next_gain.rms_corrected < s.result.next_gain.rms_as_it_was &&
                                             s.result.next_gain.better >= 0.8);
    if (what < FAR_OFF)
        ck_assert(s.result.corrected);
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_double_eq_tol(s.result.next_stack.layer[j].thickness_nm * (s.result.corrected ? factor[j] : 1.0),
                                thick_nm[j], 1e-9);
        ck_assert_double_eq(s.result.fitted.layer[j].thickness_nm, s.layer[j].fitted_nm);
    }
    for (size_t m = 0; m < 2 && what < FAR_OFF; m++) {
        const bool changes = s.result.tooling_corrected && tooling[m] != 1.0;
        const bc_process_row row = bc_process_for(&s.result.next_process, six_index[m]);
        ck_assert_double_eq_tol(s.material[m].next_tooling, s.material[m].tooling * (changes ? tooling[m] : 1.0),
                                1e-12);
        ck_assert_double_eq(row.tooling, s.material[m].next_tooling);
        ck_assert_int_eq(row.has_tooling, m == 0 || changes);
    }
    if (what == ALL || what == OF_MATERIAL || what == ONE_LAYER) { /* what is not known of the prediction counts */
        const double usual = pow(0.1 + 2.0 / thick_nm[2], 2.0);
        double common[LAYERS], own[LAYERS] = {0.0};
        bc_next_gain gain;
        for (size_t j = 0; j < LAYERS; j++)
            common[j] = what == ALL || (what == OF_MATERIAL && j % 2 == 1) ? 1e-3 : 0.0;
        if (what == ONE_LAYER)
            own[2] = sqrt(usual / (usual + scatter * scatter) * scatter * scatter + 1e-6);
        const bc_forecast forecast[2] = {{1.0, factor, common, own}, {0.0, factor, common, own}};
        ck_assert_int_eq(bc_expect_gain(&s.inspection, forecast, factor, 0.0, &gain, NULL), BC_OK);
        ck_assert_double_eq_tol(gain.rms_as_it_was / s.result.next_gain.rms_as_it_was, 1.0, 1e-9);
        ck_assert_double_eq_tol(gain.rms_corrected / s.result.next_gain.rms_corrected, 1.0, 1e-9);
    }
    if (what == ALL || what == OF_MATERIAL || what == MATERIAL_OFF)
        ck_assert(s.result.tooling_gain.weighed);
    else if (what < FAR_OFF)
        ck_assert(!s.result.tooling_corrected && !s.result.tooling_gain.weighed);
    close_scene(&s);
}
END_TEST

/* Nothing to correct, and why. */
START_TEST(nothing_is_corrected)
{
    static const struct {
        bc_cause_kind kind;
        bc_next_reason because;
    } cases[] = {{BC_CAUSE_AS_DESIGNED, BC_NEXT_AS_DESIGNED}, {BC_CAUSE_INDEX, BC_NEXT_INDEX},
                 {BC_CAUSE_WAVELENGTH, BC_NEXT_READING},      {BC_CAUSE_READING_SCALE, BC_NEXT_READING},
                 {BC_CAUSE_READING_OFFSET, BC_NEXT_READING},  {BC_CAUSE_RANDOM, BC_NEXT_CHANCE},
                 {BC_CAUSE_RANDOM, BC_NEXT_CHANCE_ASSUMED},   {BC_CAUSE_RANDOM, BC_NEXT_NO_FIT}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        scene s;
        open_scene(&s, 0.01);
        s.row[1].thickness_sigma = cases[i].because == BC_NEXT_CHANCE_ASSUMED ? 0.0 : 0.01;
        s.result.good_fit = cases[i].because != BC_NEXT_NO_FIT;
        s.result.cause[0] = (bc_cause){.kind = cases[i].kind, .size = 0.02, .size_sigma = 1e-3};
        for (size_t j = 0; j < LAYERS; j++) /* as far off as the process scatters */
            s.layer[j].fitted_nm *= j % 2 == 0 ? 1.012 : 0.988;
        ck_assert_int_eq(bc_set_next_run(&s.inspection, NULL), BC_OK);
        ck_assert_int_eq(s.result.next_because, cases[i].because);
        ck_assert(!s.result.corrected && !s.result.tooling_corrected && !s.result.next_gain.weighed);
        for (size_t j = 0; j < LAYERS; j++)
            ck_assert_double_eq(s.result.next_stack.layer[j].thickness_nm, thick_nm[j]);
        ck_assert(s.material[0].next_tooling == 1.1 && s.material[1].next_tooling == 1.0);
        close_scene(&s);
    }
}
END_TEST

TCase *forecast_case(void)
{
    TCase *tests = tcase_create("forecast");
    tcase_add_loop_test(tests, gain_where_nothing_scatters, 0, 2);
    tcase_add_loop_test(tests, gain_of_what_scatters, 0, 4);
    tcase_add_test(tests, runs_drawn_again);
    tcase_add_loop_test(tests, what_is_corrected, 0, STORIES);
    tcase_add_test(tests, nothing_is_corrected);
    return tests;
}
