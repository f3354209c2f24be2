/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Causes: which are tried and how likely each is beforehand, the stack each stands for, the size that is found, and
 * what another scan would show of the two likeliest.
 */
#include "cause.h"
#include "differ.h"
#include "witness.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define NOISE 1e-4

static const char *const index_of[4] = {"1.38", "2.10", "1.60", "1.60"};
static const double nm_of[4] = {92.0, 118.0, 60.0, 25.0};

/* An inspection that has come as far as its causes. */
typedef struct scene {
    bench b;
    bc_measurement scan;
    bc_inspect_result result;
    bc_inspection inspection;
    bc_medium glass[3], layer_media[3], substrate_media[2];
} scene;

static void open_scene(scene *s, size_t layers, unsigned what, bc_back_kind back)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", layers, index_of, nm_of);
    s->glass[0] = bench_medium(&s->b, "1.52");
    s->glass[1] = s->glass[2] = s->substrate_media[0] = bench_medium(&s->b, "1.80");
    s->substrate_media[1] = bench_medium(&s->b, "1.90");
    s->layer_media[0] = bench_medium(&s->b, "1.38");
    s->layer_media[1] = s->layer_media[2] = bench_medium(&s->b, "1.70");
    s->b.setup.glasses = 3;
    s->b.setup.glass = s->glass;
    s->b.setup.layer_media = 3;
    s->b.setup.layer_medium = s->layer_media;
    s->b.setup.substrate_media = 2;
    s->b.setup.substrate_medium = s->substrate_media;
    s->b.setup.back = (bc_back){.kind = back, .substrate_mm = 1.0};
    s->b.setup.aoi_rad = 0.2;
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, what, 450.0, 10.0, 21);
    s->result.scale = 1.04;
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &s->inspection.fit, &error), BC_OK);
}

static void close_scene(scene *s)
{
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

typedef struct list_case {
    size_t layers;
    unsigned what;
    bc_back_kind back;
    size_t count[BC_CAUSES];
} list_case;

/* By kind: as designed, random, common, material, layer, index, wavelengths, scale, offset, angle, swapped, reversed,
 * missing, other material, other substrate, back, bare. */
static const list_case lists[] = {
    {4, BC_MEASURED_R, BC_BACK_NONE, {1, 3, 1, 3, 4, 3, 1, 1, 1, 1, 2, 1, 4, 12, 2, 2, 2}},
    {2, BC_MEASURED_T, BC_BACK_UNCOATED, {1, 3, 1, 2, 2, 2, 1, 0, 1, 1, 1, 1, 2, 4, 2, 2, 2}},
    {1, BC_MEASURED_R, BC_BACK_SAME, {1, 3, 1, 0, 0, 1, 1, 1, 1, 1, 0, 0, 0, 1, 2, 2, 2}},
    {0, BC_MEASURED_R, BC_BACK_NONE, {1, 3, 1, 0, 0, 0, 1, 1, 1, 1, 0, 0, 0, 0, 2, 1, 0}},
};
#define LISTS ((int)(sizeof lists / sizeof *lists))

/* Nothing is tried but what its kind is; a kind's probability is shared out evenly. */
static void expect_extra(const bc_candidate *c)
{
    const bc_cause_kind kind = c->cause.kind;
    const bool of_material = kind == BC_CAUSE_MATERIAL_FACTOR || kind == BC_CAUSE_INDEX;
    ck_assert_double_eq(c->extra.common,
                        kind == BC_CAUSE_COMMON_FACTOR || kind == BC_CAUSE_MATERIAL_FACTOR ? 0.05 : 0.0);
    ck_assert_double_eq(c->extra.layer, kind == BC_CAUSE_LAYER ? 0.1 : 0.0);
    ck_assert_double_eq(c->extra.index, kind == BC_CAUSE_INDEX ? 0.04 : 0.0);
    ck_assert_double_eq(c->extra.wavelength, kind == BC_CAUSE_WAVELENGTH ? 3.0 : 0.0);
    ck_assert_double_eq(c->extra.scale, kind == BC_CAUSE_READING_SCALE ? 0.1 : 0.0);
    ck_assert_double_eq(c->extra.constant, kind == BC_CAUSE_READING_OFFSET ? 0.005 : 0.0);
    ck_assert_double_eq(c->start, kind == BC_CAUSE_COMMON_FACTOR ? 1.04 : 1.0);
    ck_assert_int_eq(c->extra.material != SIZE_MAX, of_material);
    ck_assert_uint_eq(c->material, c->extra.material);
    ck_assert(isnan(c->cause.size) && isnan(c->cause.size_sigma) && c->aoi_rad == 0.2 && !c->failed);
    if (kind == BC_CAUSE_AS_DESIGNED)
        ck_assert_double_eq(c->extra.scatter, 5e-4);
    else if (kind != BC_CAUSE_RANDOM)
        ck_assert_double_eq(c->extra.scatter, 0.0);
}

START_TEST(what_is_tried)
{
    const list_case *of = &lists[_i];
    size_t count[BC_CAUSES] = {0};
    double share[BC_CAUSES] = {0.0};
    bc_candidates all;
    scene s;
    open_scene(&s, of->layers, of->what, of->back);
    ck_assert_int_eq(bc_list_candidates(&s.inspection, &all, NULL), BC_OK);
    for (size_t i = 0; i < all.count; i++) {
        const bc_candidate *c = &all.candidate[i];
        count[c->cause.kind]++;
        share[c->cause.kind] += exp(c->prior);
        ck_assert_double_eq_tol(exp(c->prior) * (double)of->count[c->cause.kind],
                                c->cause.kind <= BC_CAUSE_RANDOM  ? 5.0
                                : c->cause.kind == BC_CAUSE_ANGLE ? 0.1
                                                                  : 1.0,
                                1e-12);
        expect_extra(c);
        if (c->cause.kind == BC_CAUSE_BACK_SEEN)
            ck_assert(c->cause.back != of->back);
        else if (c->cause.kind != BC_CAUSE_BARE)
            ck_assert_int_eq(c->cause.back, of->back);
        if (c->cause.kind == BC_CAUSE_OTHER_MATERIAL)
            ck_assert_str_ne(c->cause.material.name, index_of[c->cause.layer[0]]);
    }
    for (size_t kind = 0; kind < BC_CAUSES; kind++)
        ck_assert_msg(count[kind] == of->count[kind], "kind %zu: %zu, not %zu", kind, count[kind], of->count[kind]);
    free(all.candidate);
    close_scene(&s);
}
END_TEST

/* The layers of each candidate, written from the outer one as name and thickness. */
static void expect_stack(const scene *s, const bc_candidate *c, size_t layers, const size_t *from)
{
    bc_stack stack;
    ck_assert_int_eq(bc_candidate_stack(&s->inspection, c, &stack, NULL), BC_OK);
    ck_assert_uint_eq(stack.layers, layers);
    for (size_t j = 0; j < layers; j++) {
        const bool other = c->cause.kind == BC_CAUSE_OTHER_MATERIAL && c->cause.layer[0] == j;
        ck_assert_str_eq(stack.layer[j].material.name, other ? c->cause.material.name : index_of[from[j]]);
        ck_assert_double_eq(stack.layer[j].thickness_nm, nm_of[from[j]]);
    }
    ck_assert_str_eq(stack.substrate.name, c->cause.kind == BC_CAUSE_OTHER_SUBSTRATE ? c->cause.material.name : "1.52");
    bc_stack_clear(&stack);
}

START_TEST(stacks_of_the_causes)
{
    static const size_t as_it_is[] = {0, 1, 2, 3}, reversed[] = {3, 2, 1, 0};
    static const size_t swapped[2][4] = {{1, 0, 2, 3}, {0, 2, 1, 3}};
    static const size_t missing[4][3] = {{1, 2, 3}, {0, 2, 3}, {0, 1, 3}, {0, 1, 2}};
    bc_candidates all;
    scene s;
    open_scene(&s, 4, BC_MEASURED_R, BC_BACK_NONE);
    ck_assert_int_eq(bc_list_candidates(&s.inspection, &all, NULL), BC_OK);
    for (size_t i = 0; i < all.count; i++) {
        const bc_candidate *c = &all.candidate[i];
        const size_t at = c->cause.layer[0];
        if (c->cause.kind == BC_CAUSE_SWAPPED) {
            ck_assert(c->cause.layers == 2 && c->cause.layer[1] == at + 1);
            expect_stack(&s, c, 4, swapped[at]);
        } else if (c->cause.kind == BC_CAUSE_MISSING) {
            ck_assert(c->cause.layers == 1);
            ck_assert_str_eq(c->cause.material.name, index_of[at]);
            expect_stack(&s, c, 3, missing[at]);
        } else {
            expect_stack(&s, c, c->cause.kind == BC_CAUSE_BARE ? 0 : 4,
                         c->cause.kind == BC_CAUSE_REVERSED ? reversed : as_it_is);
        }
        if (c->cause.kind == BC_CAUSE_LAYER)
            ck_assert(c->cause.layers == 1 && c->extra.layer_at == at &&
                      strcmp(c->cause.material.name, index_of[at]) == 0);
        ck_assert_int_eq(bc_keeps_layers(c->cause.kind), c->cause.kind < BC_CAUSE_ANGLE);
    }
    free(all.candidate);
    close_scene(&s);
}
END_TEST

typedef struct size_case {
    bc_cause_kind kind;
    double size, most_sigma;
} size_case;

static const size_case sizes[] = {{BC_CAUSE_COMMON_FACTOR, 0.03, 1.3e-3},
                                  {BC_CAUSE_MATERIAL_FACTOR, -0.04, 1.8e-3},
                                  {BC_CAUSE_LAYER, 0.06, 1.6e-4},
                                  {BC_CAUSE_INDEX, 0.05, 1.6e-4},
                                  {BC_CAUSE_WAVELENGTH, 4.0, 0.16},
                                  {BC_CAUSE_READING_SCALE, -0.07, 9e-4},
                                  {BC_CAUSE_READING_OFFSET, 5e-3, 1.7e-4},
                                  {BC_CAUSE_ANGLE, 26.0 * DEGREE, 7e-3},
                                  {BC_CAUSE_RANDOM, 0.0, 0.0},
                                  {BC_CAUSE_MISSING, 0.0, 0.0},
                                  {BC_CAUSE_OTHER_SUBSTRATE, 0.0, 0.0}};
#define SIZES ((int)(sizeof sizes / sizeof *sizes))

static bc_measurement go_wrong(bench *b, const size_case *of, double *random)
{
    static const double away[4] = {1.05, 0.94, 1.08, 0.93};
    const double aoi_rad = of->kind == BC_CAUSE_ANGLE ? of->size : 0.0;
    double square = 0.0;
    truth t = bench_truth(b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 7.0, 58);
    double at[58];
    t.aoi_rad = aoi_rad;
    if (of->kind == BC_CAUSE_OTHER_SUBSTRATE)
        t.glass_n = 1.80;
    for (size_t j = 0; j < t.layers; j++) {
        if (of->kind == BC_CAUSE_COMMON_FACTOR || (of->kind == BC_CAUSE_MATERIAL_FACTOR && j % 2 == 1) ||
            (of->kind == BC_CAUSE_LAYER && j == 2))
            t.layer[j].thickness_nm *= 1.0 + of->size;
        t.layer[j].n += of->kind == BC_CAUSE_INDEX && j % 2 == 1 ? of->size : 0.0;
        t.layer[j].thickness_nm *= of->kind == BC_CAUSE_RANDOM ? away[j] : 1.0;
        square += pow(away[j] - 1.0, 2.0) / (double)t.layers;
    }
    *random = sqrt(square);
    if (of->kind == BC_CAUSE_MISSING) {
        t.layers--;
        memmove(t.layer + 1, t.layer + 2, 2 * sizeof *t.layer);
    }
    for (size_t i = 0; i < scan.count; i++)
        at[i] = scan.wavelength_nm[i] + (of->kind == BC_CAUSE_WAVELENGTH ? of->size : 0.0);
    truth_spectrum(&t, scan.count, at, scan.R.value, NULL);
    for (size_t i = 0; i < scan.count; i++) {
        scan.R.value[i] *= of->kind == BC_CAUSE_READING_SCALE ? 1.0 + of->size : 1.0;
        scan.R.value[i] += of->kind == BC_CAUSE_READING_OFFSET ? of->size : 0.0;
    }
    scan_disturb(b, &scan, NOISE, 0.0);
    return scan;
}

/* Each is named, and its size is the true one within what is known of it: of a factor of layers that scatter by 0.2 %
 * that over the root of their number. The causes that are reported are in order, each once. */
START_TEST(size_of_a_cause)
{
    static const double thick_nm[4] = {92.0, 118.0, 60.0, 70.0};
    const size_case *of = &sizes[_i];
    bc_process_row row = {.material = "*", .has_thickness_sigma = true, .thickness_sigma = 0.002};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    double random;
    bench b;
    bench_open(&b, "1.52", 4, six_index, thick_nm);
    const bc_medium glass = bench_medium(&b, "1.80");
    b.setup.glasses = 1;
    b.setup.glass = &glass;
    b.setup.process = &process;
    bc_measurement scan = go_wrong(&b, of, &random);
    bc_inspect_result result = bench_inspect(&b, &scan);
    const bc_cause *cause = &result.cause[0];
    ck_assert_msg(cause->kind == of->kind, "%d, not %d", (int)cause->kind, (int)of->kind);
    ck_assert(of->most_sigma > 0.0 ? cause->size_sigma > 0.0 : isnan(cause->size_sigma));
    if (of->most_sigma > 0.0) {
        ck_assert(cause->size_sigma > 0.5 * of->most_sigma && cause->size_sigma < of->most_sigma);
        ck_assert_double_le(fabs(cause->size - of->size), 4.0 * cause->size_sigma);
    }
    if (of->kind == BC_CAUSE_RANDOM)
        ck_assert_double_eq_tol(cause->size, random, 2e-3);
    if (of->kind == BC_CAUSE_MISSING || of->kind == BC_CAUSE_OTHER_SUBSTRATE)
        ck_assert(isnan(cause->size) && !result.good_fit);
    if (of->kind == BC_CAUSE_LAYER)
        ck_assert(cause->layers == 1 && cause->layer[0] == 2);
    if (of->kind == BC_CAUSE_MISSING)
        ck_assert(cause->layers == 1 && cause->layer[0] == 1);
    if (of->kind == BC_CAUSE_MATERIAL_FACTOR || of->kind == BC_CAUSE_INDEX)
        ck_assert_str_eq(cause->material.name, "2.10");
    ck_assert_double_eq(cause->log_odds, 0.0);
    ck_assert_double_eq_tol(cause->residual, 1.0, 0.35);
    ck_assert_double_eq_tol(cause->rms, NOISE, 0.35 * NOISE);
    for (size_t k = 1, randoms = cause->kind == BC_CAUSE_RANDOM; k < result.causes; k++) {
        ck_assert_double_le(result.cause[k].log_odds, result.cause[k - 1].log_odds);
        randoms += result.cause[k].kind == BC_CAUSE_RANDOM;
        ck_assert_uint_le(randoms, 1);
    }
    ck_assert_uint_eq(result.causes, BC_CAUSES_KEPT);
    ck_assert_double_eq_tol(log(result.cause_odds), fmin(700.0, -result.cause[1].log_odds), 1e-9);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Noise that was stated as half of what it is makes no cause surer: what the best of them leaves is taken for the
 * noise. */
START_TEST(noise_stated_too_small)
{
    static const double thick_nm[4] = {92.0, 118.0, 60.0, 70.0};
    const size_case scale = {BC_CAUSE_READING_SCALE, -0.01, 0.0};
    bc_process_row row = {.material = "*", .has_thickness_sigma = true, .thickness_sigma = 0.002};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    bc_inspect_result result[2];
    double random;
    bench b;
    bench_open(&b, "1.52", 4, six_index, thick_nm);
    b.setup.process = &process;
    bc_measurement scan = go_wrong(&b, &scale, &random);
    for (size_t way = 0; way < 2; way++) {
        scan_know_noise(&scan, way == 0 ? NOISE : NOISE / 2.0);
        result[way] = bench_inspect(&b, &scan);
        ck_assert_int_eq(result[way].cause[0].kind, BC_CAUSE_READING_SCALE);
        ck_assert_double_eq_tol(result[way].cause[0].residual, way == 0 ? 1.0 : 2.0, way == 0 ? 0.2 : 0.4);
    }
    ck_assert_int_eq(result[1].cause[1].kind, result[0].cause[1].kind);
    ck_assert_double_gt(result[0].cause[1].residual, 1.3);
    ck_assert_double_eq_tol(result[1].cause[1].log_odds / result[0].cause[1].log_odds, 1.0, 0.25);
    bc_inspect_result_clear(&result[0]);
    bc_inspect_result_clear(&result[1]);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Beside the angle that was stated no parabola is laid through three: the step itself is how well it is known. */
START_TEST(an_angle_beside_the_stated_one)
{
    bc_process_row row = {.material = "*", .has_thickness_sigma = true, .thickness_sigma = 0.001};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true};
    bench b;
    bench_open(&b, "1.52", 3, six_index, nm_of);
    b.setup.process = &process;
    b.setup.aoi_rad = 44.9 * DEGREE;
    b.setup.polarization = BC_POL_P;
    truth t = bench_truth(&b);
    t.aoi_rad = 47.5 * DEGREE;
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 400.0, 8.0, 51);
    scan_disturb(&b, &scan, 3e-5, 0.0);
    bc_inspect_result result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.cause[0].kind, BC_CAUSE_ANGLE);
    ck_assert_double_eq_tol(result.cause[0].size, 47.5 * DEGREE, 1e-9);
    ck_assert_double_eq_tol(result.cause[0].size_sigma, 2.5 * DEGREE, 1e-9);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Two stacks, indices and all: the root of the mean square of what R differs by, in s at 45 degrees over the scan, and
 * at normal incidence from three quarters of its first wavelength to half as much again as its last, as far as tables
 * reach. Loop: tables that reach beyond that, less far, and hardly further than the scan. */
START_TEST(what_another_scan_would_show)
{
    static const double reach[][2] = {{200.0, 2000.0}, {420.0, 1500.0}, {445.0, 655.0}};
    const double n[2] = {1.60, 1.60}, first = 450.0, last = 650.0;
    const double from_nm = fmax(0.75 * first, reach[_i][0]), to_nm = fmin(1.5 * last, reach[_i][1]);
    double nm[121], R[2][2][121], square[2] = {0.0, 0.0};
    const double dn[2][3] = {{0.01, 0.0, 0.0}, {0.0, -0.02, 0.03}};
    bc_dispersion *table = NULL;
    scene s;
    open_scene(&s, 4, BC_MEASURED_R, BC_BACK_NONE);
    ck_assert_int_eq(bc_dispersion_table("short", 2, reach[_i], n, NULL, &table, NULL), BC_OK);
    for (size_t which = 0; which < 2; which++) {
        double thickness_nm[4], of_dn[3];
        bc_fit_point point = {.thickness_nm = thickness_nm, .dn = of_dn};
        bc_stack stack = s.b.design;
        bc_layer layer[4];
        truth t = bench_truth(&s.b);
        memcpy(layer, stack.layer, sizeof layer);
        layer[2].material.dispersion = which == 1 ? table : layer[2].material.dispersion;
        layer[3].material.dispersion = layer[2].material.dispersion;
        stack.layer = layer;
        memcpy(of_dn, dn[which], sizeof of_dn);
        for (size_t j = 0; j < 4; j++) {
            thickness_nm[j] = t.layer[j].thickness_nm = nm_of[j] * (which == 0 ? 1.03 : 0.98);
            t.layer[j].n += dn[which][j < 3 ? j : 2];
        }
        ck_assert_int_eq(bc_differ_keep(&s.inspection, &stack, &point, 3, which, NULL), BC_OK);
        t.polarization = BC_POL_S;
        for (int scan = 0; scan < 2; scan++) {
            t.aoi_rad = scan == 0 ? 45.0 * DEGREE : 0.0;
            for (size_t i = 0; i < 121; i++)
                nm[i] = scan == 0 ? first + (last - first) * (double)i / 120.0
                                  : from_nm + (to_nm - from_nm) * (double)i / 120.0;
            truth_spectrum(&t, 121, nm, R[which][scan], NULL);
        }
    }
    for (int scan = 0; scan < 2; scan++)
        for (size_t i = 0; i < 121; i++)
            square[scan] += pow(R[0][scan][i] - R[1][scan][i], 2.0) / 121.0;
    ck_assert_int_eq(bc_differ(&s.inspection, NULL), BC_OK);
    ck_assert_double_eq_tol(s.result.wider_from_nm, from_nm, 1e-9);
    ck_assert_double_eq_tol(s.result.wider_to_nm, to_nm, 1e-9);
    ck_assert_double_eq_tol(s.result.differ_at_45, sqrt(square[0]), 1e-10);
    if (_i < 2)
        ck_assert_double_eq_tol(s.result.differ_in_range, sqrt(square[1]), 1e-10);
    else
        ck_assert(isnan(s.result.differ_in_range));
    bc_differ_clear(&s.inspection);
    bc_dispersion_free(table);
    close_scene(&s);
}
END_TEST

TCase *causes_case(void)
{
    TCase *tests = tcase_create("causes");
    tcase_add_loop_test(tests, what_is_tried, 0, LISTS);
    tcase_add_test(tests, stacks_of_the_causes);
    tcase_add_loop_test(tests, size_of_a_cause, 0, SIZES);
    tcase_add_test(tests, noise_stated_too_small);
    tcase_add_test(tests, an_angle_beside_the_stated_one);
    tcase_add_loop_test(tests, what_another_scan_would_show, 0, 3);
    return tests;
}
