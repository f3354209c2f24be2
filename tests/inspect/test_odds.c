/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How likely causes are, worked out anew: every candidate fitted to its end from several starts, its marginal
 * likelihood and its prior; the order, the odds and the sizes that are told follow from these.
 */
#include "cause.h"
#include "witness.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NOISE  1e-4
#define COUNT  49
#define LAYERS 4
#define ANGLE  (2.5 * DEGREE)

static const double thick_nm[LAYERS] = {92.0, 118.0, 60.0, 70.0};
static const char *const index_of[LAYERS] = {"1.38", "2.10", "1.38", "1.70"};

typedef struct scene {
    bench b;
    bc_process_row row;
    bc_process process;
    bc_medium glass;
    bc_measurement scan;
    bc_inspect_result result, ours;
    bc_inspection inspection;
    bc_candidates all;
} scene;

/* What went wrong. */
typedef struct wrong {
    double common, third, last, high_dn, scale, offset, shift_nm, aoi_deg, stated_noise;
    bool no_process; /* then layers scatter by one per cent, as is usual */
} wrong;

static const wrong wrongs[] = {{.common = 0.01, .stated_noise = 1.0},
                               {.third = 0.02, .stated_noise = 1.0},
                               {.last = 0.03, .stated_noise = 1.0},
                               {.high_dn = 0.01, .stated_noise = 1.0},
                               {.scale = -0.01, .stated_noise = 1.0},
                               {.offset = 4e-4, .stated_noise = 1.0},
                               {.shift_nm = 1.0, .stated_noise = 1.0},
                               {.aoi_deg = 21.0, .stated_noise = 3.0},
                               {.last = 0.03, .stated_noise = 0.5},
                               {.common = 0.001, .stated_noise = 1.0},
                               {.third = 0.05, .stated_noise = 1.0, .no_process = true}};
#define WRONGS ((int)(sizeof wrongs / sizeof *wrongs))

static void open_scene(scene *s, const wrong *w)
{
    double nm[COUNT];
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", LAYERS, index_of, thick_nm);
    s->row = (bc_process_row){.material = "*", .has_thickness_sigma = true, .thickness_sigma = 0.002};
    s->process = (bc_process){.rows = 1, .row = &s->row, .has_thickness_sigma = true};
    s->b.setup.process = w->no_process ? NULL : &s->process;
    s->glass = bench_medium(&s->b, "1.54");
    s->b.setup.glasses = 1;
    s->b.setup.glass = &s->glass;
    truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, BC_MEASURED_R, 400.0, 8.0, COUNT);
    t.aoi_rad = w->aoi_deg * DEGREE;
    for (size_t j = 0; j < LAYERS; j++)
        t.layer[j].thickness_nm *= 1.0 + w->common + (j == 2 ? w->third : 0.0) + (j == 3 ? w->last : 0.0);
    t.layer[1].n += w->high_dn;
    for (size_t i = 0; i < COUNT; i++)
        nm[i] = s->scan.wavelength_nm[i] + w->shift_nm;
    truth_spectrum(&t, COUNT, nm, s->scan.R.value, NULL);
    for (size_t i = 0; i < COUNT; i++)
        s->scan.R.value[i] = (1.0 + w->scale) * s->scan.R.value[i] + w->offset;
    scan_disturb(&s->b, &s->scan, NOISE, 0.0);
    scan_know_noise(&s->scan, w->stated_noise * NOISE);
    s->result = bench_inspect(&s->b, &s->scan);
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->ours};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, NULL), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_again(&s->inspection, &setup, NULL), BC_OK);
    s->ours.scale = s->inspection.solution.scale;
    ck_assert_int_eq(bc_list_candidates(&s->inspection, &s->all, NULL), BC_OK);
}

static void close_scene(scene *s)
{
    free(s->all.candidate);
    bc_solution_clear(&s->inspection.solution);
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_inspect_result_clear(&s->result);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

static bool is_struck(const bc_fit *fit, const bc_candidate *c, size_t j)
{
    return c->cause.kind == BC_CAUSE_COMMON_FACTOR || (c->cause.kind == BC_CAUSE_LAYER && c->cause.layer[0] == j) ||
           (c->cause.kind == BC_CAUSE_MATERIAL_FACTOR && c->material == fit->simulated.material[j]);
}

/* Its size by the fit that has it, from the covariance. */
static void find_size(bc_candidate *c, bc_fit *fit, const bc_fit_point *point, const bc_stack *stack)
{
    const size_t size = bc_fit_size(fit);
    const bc_shared shared = c->cause.kind == BC_CAUSE_WAVELENGTH       ? BC_SHARED_WAVELENGTH
                             : c->cause.kind == BC_CAUSE_READING_SCALE  ? BC_SHARED_SCALE
                             : c->cause.kind == BC_CAUSE_READING_OFFSET ? BC_SHARED_CONSTANT
                                                                        : BC_SHARED_COMMON;
    double *covariance = calloc(size * size + 1, sizeof *covariance), square = 0.0, unit = 1.0;
    size_t at = bc_fit_place(fit, shared);
    ck_assert_int_eq(bc_fit_covariance(fit, point, NULL, covariance, NULL), BC_OK);
    for (size_t j = 0; j < fit->layers; j++)
        square += pow(point->thickness_nm[j] / stack->layer[j].thickness_nm - 1.0, 2.0) / (double)fit->layers;
    switch (c->cause.kind) {
    case BC_CAUSE_COMMON_FACTOR:
    case BC_CAUSE_MATERIAL_FACTOR:
        unit = 0.05;
        c->cause.size = unit * point->shared[shared];
        break;
    case BC_CAUSE_WAVELENGTH:
        unit = 3.0;
        c->cause.size = unit * point->shared[shared];
        break;
    case BC_CAUSE_READING_SCALE:
        unit = 0.1;
        c->cause.size = unit * point->shared[shared];
        break;
    case BC_CAUSE_READING_OFFSET:
        unit = 0.005;
        c->cause.size = unit * point->shared[shared];
        break;
    case BC_CAUSE_LAYER:
        at = c->cause.layer[0];
        unit = 1.0 / stack->layer[at].thickness_nm;
        c->cause.size = unit * point->thickness_nm[at] - 1.0;
        break;
    case BC_CAUSE_INDEX:
        at = fit->layers + c->material;
        c->cause.size = point->dn[c->material];
        break;
    case BC_CAUSE_RANDOM:
        c->cause.size = sqrt(square);
        unit = NAN;
        break;
    default:
        unit = c->cause.size = NAN;
    }
    c->cause.size_sigma = isnan(unit) ? NAN : unit * sqrt(covariance[at * size + at]);
    free(covariance);
}

/* The best of what is reached from the design, from the factor that suits best and from the layers as fitted freely. */
static void weigh(const scene *s, bc_candidate *c, double inflation)
{
    double thickness_nm[LAYERS] = {0.0}, dn[LAYERS] = {0.0}, least = INFINITY, best = 1.0, evidence = NAN;
    bc_fit_point point = {.thickness_nm = thickness_nm, .dn = dn};
    bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    bc_back back = s->b.setup.back;
    bc_stack stack;
    bc_fit fit;
    ck_assert_int_eq(bc_candidate_stack(&s->inspection, c, &stack, NULL), BC_OK);
    back.kind = c->cause.back;
    setup.stack = &stack;
    setup.back = &back;
    setup.aoi_rad = c->aoi_rad;
    setup.extra = &c->extra;
    setup.weak = false;
    setup.usual_scatter = 0.01;
    ck_assert_int_eq(bc_fit_open(&setup, &fit, NULL), BC_OK);
    fit.inflation = inflation;
    const bc_family family = {.free = fit.layers, .index = fit.has_index};
    for (double factor = 0.97; factor < 1.05; factor += 0.005) {
        for (size_t j = 0; j < fit.layers; j++)
            thickness_nm[j] = stack.layer[j].thickness_nm * (is_struck(&fit, c, j) ? factor : 1.0);
        const double chi_squared = bc_fit_chi_squared(&fit, thickness_nm);
        best = chi_squared < least ? factor : best;
        least = fmin(least, chi_squared);
    }
    least = INFINITY;
    for (int start = c->cause.kind == BC_CAUSE_ANGLE ? 2 : 0; start < 3; start++) {
        for (size_t j = 0; j < fit.layers; j++)
            thickness_nm[j] = start == 2 && fit.layers == LAYERS
                                  ? s->inspection.solution.point.thickness_nm[j]
                                  : stack.layer[j].thickness_nm * (start == 1 && is_struck(&fit, c, j) ? best : 1.0);
        memset(dn, 0, sizeof dn);
        memset(point.shared, 0, sizeof point.shared);
        ck_assert_int_eq(bc_fit_minimize(&fit, &family, NULL, NULL, 100, &point, NULL), BC_OK);
        if (!(point.cost < least))
            continue;
        least = point.cost;
        ck_assert_int_eq(bc_fit_evidence(&fit, &point, &evidence, NULL), BC_OK);
        c->score = c->prior + evidence;
        bc_fit_residual(&fit, &point, &c->cause.rms, &c->cause.residual);
        find_size(c, &fit, &point, &stack);
    }
    bc_fit_close(&fit);
    bc_stack_clear(&stack);
}

/* Every 2.5 degrees but beside the stated angle; a parabola through the best and its neighbours, if there are two,
 * integrated over it, of all angles up to 60 degrees. */
static void weigh_angles(const scene *s, bc_candidate *c, double inflation)
{
    double score[24];
    size_t at = 0;
    for (size_t i = 0; i < 24; i++) {
        c->aoi_rad = (double)i * ANGLE;
        score[i] = -INFINITY;
        if (i == 0)
            continue;
        weigh(s, c, inflation);
        score[i] = c->score;
        at = score[i] > score[at] ? i : at;
    }
    ck_assert(at > 0 && at < 23);
    const double bend = 2.0 * score[at] - score[at - 1] - score[at + 1];
    const double aside = at == 1 ? 0.0 : 0.5 * (score[at + 1] - score[at - 1]) / bend;
    c->aoi_rad = ((double)at + aside) * ANGLE;
    weigh(s, c, inflation);
    c->cause.size = c->aoi_rad;
    c->cause.size_sigma = at == 1 ? ANGLE : ANGLE / sqrt(bend);
    c->score += log(sqrt(2.0 * PI) * c->cause.size_sigma / (60.0 * DEGREE));
}

static int by_score(const void *one, const void *other)
{
    const double a = ((const bc_candidate *)one)->score, b = ((const bc_candidate *)other)->score;
    return (a < b) - (a > b);
}

static void weigh_all(const scene *s, double inflation)
{
    for (size_t i = 0; i < s->all.count; i++) {
        bc_candidate *c = &s->all.candidate[i];
        if (c->cause.kind == BC_CAUSE_ANGLE)
            weigh_angles(s, c, inflation);
        else
            weigh(s, c, inflation);
    }
}

/* The material of one layer alone off is that layer off. */
static bool says_the_same(const bc_cause *one, const bc_cause *other)
{
    const bool one_layer = one->kind == BC_CAUSE_LAYER && other->kind == BC_CAUSE_MATERIAL_FACTOR;
    const bool other_layer = other->kind == BC_CAUSE_LAYER && one->kind == BC_CAUSE_MATERIAL_FACTOR;
    return (one->kind == BC_CAUSE_RANDOM && other->kind == BC_CAUSE_RANDOM) ||
           ((one_layer || other_layer) && strcmp(one->material.name, other->material.name) == 0 &&
            strcmp(one->material.name, "1.38") != 0);
}

static void expect_cause(const bc_cause *found, const bc_candidate *c, double log_odds, bool settled)
{
    ck_assert_msg(found->kind == c->cause.kind && found->layers == c->cause.layers &&
                      found->layer[0] == c->cause.layer[0],
                  "%d, not %d", (int)found->kind, (int)c->cause.kind);
    ck_assert_str_eq(found->material.name, c->cause.material.name);
    ck_assert_double_eq_tol(found->log_odds, log_odds, 0.01 + 1e-3 * fabs(log_odds));
    ck_assert_double_eq_tol(found->residual / c->cause.residual, 1.0, 1e-3);
    ck_assert_double_eq_tol(found->rms / c->cause.rms, 1.0, 1e-3);
    if (!settled)
        return;
    ck_assert(isnan(found->size) == isnan(c->cause.size) && isnan(found->size_sigma) == isnan(c->cause.size_sigma));
    if (!isnan(c->cause.size))
        ck_assert_double_eq_tol(found->size, c->cause.size, 1e-3 * fabs(c->cause.size) + 1e-6);
    if (!isnan(c->cause.size_sigma))
        ck_assert_double_eq_tol(found->size_sigma / c->cause.size_sigma, 1.0, 0.01);
}

START_TEST(odds_of_the_causes)
{
    double residual = INFINITY;
    size_t kept = 0;
    scene s;
    open_scene(&s, &wrongs[_i]);
    weigh_all(&s, 1.0);
    for (size_t i = 0; i < s.all.count; i++)
        residual = fmin(residual, s.all.candidate[i].cause.residual);
    ck_assert_int_eq(residual > 1.2, wrongs[_i].stated_noise < 1.0);
    if (residual > 1.2)
        weigh_all(&s, residual);
    qsort(s.all.candidate, s.all.count, sizeof *s.all.candidate, by_score);
    for (size_t i = 0; i < s.all.count && kept < BC_CAUSES_KEPT; i++) {
        bool known = false;
        for (size_t k = 0; k < kept; k++)
            known = known || says_the_same(&s.result.cause[k], &s.all.candidate[i].cause);
        if (known)
            continue;
        expect_cause(&s.result.cause[kept], &s.all.candidate[i], s.all.candidate[i].score - s.all.candidate[0].score,
                     kept < 2);
        kept++;
    }
    ck_assert_uint_eq(s.result.causes, kept);
    ck_assert_double_eq_tol(log(s.result.cause_odds), fmin(700.0, -s.result.cause[1].log_odds), 1e-9);
    close_scene(&s);
}
END_TEST

TCase *odds_case(void)
{
    TCase *tests = tcase_create("odds");
    tcase_add_loop_test(tests, odds_of_the_causes, 0, WRONGS);
    return tests;
}
