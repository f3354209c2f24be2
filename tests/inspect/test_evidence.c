/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Scans that are no evidence, each just beyond what is let pass and just within, and what becomes of the verdict.
 */
#include "inspection.h"
#include "witness.h"
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

#define COUNT  50
#define LAYERS 2
#define ROWS   4

/* R of two layers as designed, and what an inspection has found of it. */
typedef struct scene {
    bench b;
    bc_measurement scan;
    double design[COUNT];
    bc_inspect_finding finding[ROWS];
    bc_inspect_result result;
    bc_inspection inspection;
} scene;

static double ripple(size_t i)
{
    return sin(12.9 * (double)i + 0.7 * (double)(i * i));
}

static void open_scene(scene *s)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", LAYERS, six_index, six_nm);
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, BC_MEASURED_R, 450.0, 4.0, COUNT);
    memcpy(s->design, s->scan.R.value, sizeof s->design);
    for (size_t i = 0; i < COUNT; i++)
        s->scan.R.value[i] += 1e-4 * ripple(i);
    s->b.setup.uncertainty = 4e-4;
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &s->inspection.fit, &error), BC_OK);
    bc_reading *R = &s->inspection.readings.R;
    for (size_t i = 0; i < COUNT; i++)
        R->noise[i] = 1e-4;
    s->result = (bc_inspect_result){.causes = 1,
                                    .cause = {{.kind = BC_CAUSE_RANDOM}},
                                    .count = ROWS,
                                    .finding = s->finding,
                                    .verdict = BC_ACCEPT,
                                    .R = {.count = COUNT,
                                          .wavelength_nm = s->inspection.readings.wavelength_nm,
                                          .measured = R->value,
                                          .design = s->design,
                                          .noise = R->noise,
                                          .systematic = R->systematic}};
    static const bc_verdict verdicts[ROWS] = {BC_ACCEPT, BC_REJECT, BC_UNDECIDED, BC_ACCEPT};
    for (size_t c = 0; c < ROWS; c++)
        s->finding[c] = (bc_inspect_finding){.verdict = verdicts[c], .probability = 0.5};
    s->finding[2].reason = BC_UNDECIDED_QUANTITY;
}

static void close_scene(scene *s)
{
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}

static const bc_evidence *weigh(scene *s)
{
    ck_assert_int_eq(bc_weigh_evidence(&s->inspection, NULL), BC_OK);
    return &s->result.evidence;
}

static double *values(scene *s)
{
    return s->inspection.readings.R.value;
}

/* What lies further beyond 0 or 100 % than the uncertainty and four standard deviations of the noise: of that stated,
 * or that of the values themselves where it is less. Loop: below 0 and above 1; noise stated, seen, and none at all. */
START_TEST(impossible_values)
{
    const bool above = _i % 2 == 1;
    const int way = _i / 2;
    for (int beyond = 0; beyond < 2; beyond++) {
        double bend[COUNT - 2], allowed;
        scene s;
        open_scene(&s);
        double *value = values(&s), *noise = s.inspection.readings.R.noise;
        for (size_t i = 0; i < COUNT; i++) {
            value[i] = above ? 0.99 + 1e-4 * ripple(i) : 0.01 + 1e-4 * ripple(i);
            noise[i] = way == 0 ? 2e-5 : 1e-2;
            s.inspection.readings.R.systematic[i] = way == 2 ? 0.0 : 2e-4;
        }
        for (size_t i = 0; way == 2 && i < COUNT; i++)
            value[i] = (above ? 0.99 : 0.01) + 1e-13 * ripple(i);
        value[7] = value[30] = above ? 1.0006 : -0.0006;
        for (size_t i = 1; i + 1 < COUNT; i++)
            bend[i - 1] = fabs(value[i - 1] - 2.0 * value[i] + value[i + 1]);
        gsl_sort(bend, 1, COUNT - 2);
        const double seen = gsl_stats_median_from_sorted_data(bend, 1, COUNT - 2) / (0.6745 * sqrt(6.0));
        allowed = way == 2 ? 5e-5 : 2.0 * 2e-4 + 4.0 * (way == 0 ? 2e-5 : seen);
        value[7] = value[30] = above ? 1.0 + allowed * (beyond ? 1.01 : 0.99) : -allowed * (beyond ? 1.01 : 0.99);
        const bc_evidence *evidence = weigh(&s);
        ck_assert_int_eq(evidence->held, beyond ? BC_HELD_IMPOSSIBLE : BC_HELD_NOT);
        if (beyond) {
            ck_assert(evidence->count == 2 && evidence->of == COUNT && evidence->first == 7);
            ck_assert(evidence->quantity == BC_R && evidence->value == value[7]);
            ck_assert_double_eq_tol(evidence->allowed / allowed, 1.0, 1e-3);
            ck_assert_ptr_nonnull(strstr(evidence->text, "2 of 50 values of R lie below 0 or above 100 %"));
        }
        close_scene(&s);
    }
}
END_TEST

/* One number throughout; zeros for a fifth of the scan, ten at least. */
START_TEST(one_number)
{
    static const struct {
        size_t count, from, zeros; /* zeros: COUNT: all are the same number, but not 0 */
        bool held;
    } cases[] = {{50, 12, 10, true}, {50, 12, 9, false}, {40, 3, 9, false}, {40, 30, 10, true},
                 {45, 0, 10, true},  {50, 0, 50, true},  {3, 0, 50, true},  {2, 0, 50, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        scene s;
        open_scene(&s);
        double *value = values(&s);
        bc_reading *R = &s.inspection.readings.R;
        R->count = s.result.R.count = cases[c].count;
        for (size_t i = 0; i < cases[c].count; i++) {
            value[i] = cases[c].zeros == 50                                       ? 0.02
                       : i >= cases[c].from && i < cases[c].from + cases[c].zeros ? 0.0
                                                                                  : value[i];
            s.design[i] = 1e-9; /* so that nothing is missed */
        }
        const bc_evidence *evidence = weigh(&s);
        ck_assert_msg((evidence->held == BC_HELD_CONSTANT) == cases[c].held, "case %zu: %d", c, (int)evidence->held);
        if (cases[c].held) {
            ck_assert_uint_eq(evidence->first, cases[c].zeros == 50 ? 0 : cases[c].from);
            ck_assert_uint_eq(evidence->count, cases[c].zeros == 50 ? cases[c].count : cases[c].zeros);
            ck_assert(evidence->of == cases[c].count && evidence->value == value[evidence->first]);
        }
        close_scene(&s);
    }
}
END_TEST

/* Ten values in a row that are one number, and no zero, where those beside them scatter; the longer of two such lines.
 */
START_TEST(a_reading_that_was_held)
{
    static const struct {
        size_t from, length, second;
        bool held;
    } cases[] = {{18, 10, 0, true}, {18, 9, 0, false}, {12, 10, 11, true}, {12, 11, 10, true}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        scene s;
        open_scene(&s);
        double *value = values(&s);
        const size_t count = s.inspection.readings.R.count,
                     from = cases[c].second > cases[c].length ? 30 : cases[c].from;
        ck_assert_uint_gt(count, 42);
        for (size_t i = 0; i < count; i++) {
            const bool first = i >= cases[c].from && i < cases[c].from + cases[c].length;
            const bool second = i >= 30 && i < 30 + cases[c].second;
            value[i] = first ? 0.0312 : second ? 0.0287 : 0.03 + 2e-3 * sin((double)(i * i) * 1.7);
        }
        const bc_evidence *evidence = weigh(&s);
        ck_assert_msg((evidence->held == BC_HELD_CONSTANT) == cases[c].held, "case %zu: %d", c, (int)evidence->held);
        if (cases[c].held) {
            ck_assert(evidence->quantity == BC_R && evidence->of == count && evidence->first == from);
            ck_assert(evidence->count == (cases[c].second > cases[c].length ? cases[c].second : cases[c].length));
            ck_assert_double_eq(evidence->value, from == 30 ? 0.0287 : 0.0312);
            ck_assert_ptr_nonnull(strstr(evidence->text, "of R in a row are one and the same number"));
        }
        close_scene(&s);
    }
}
END_TEST

/* A fifth of the values 0 or less, where the design has more than the uncertainty and the noise hide; an exact 0 hides
 * behind no noise. */
START_TEST(values_that_are_nothing)
{
    static const struct {
        double value, design;
        size_t of_them;
        bool held;
    } cases[] = {{-1e-6, 0.00081, 10, true}, {-1e-6, 0.00079, 10, false}, {0.0, 0.00041, 10, true},
                 {0.0, 0.00039, 10, false},  {-1e-6, 0.00081, 9, false},  {1e-6, 0.01, 10, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        scene s;
        open_scene(&s);
        double *value = values(&s);
        for (size_t i = 0; i < COUNT; i++)
            s.design[i] = value[i] = 0.01 + 1e-4 * ripple(i);
        for (size_t i = 0; i < cases[c].of_them; i++) {
            value[4 * i + 2] = cases[c].value;
            s.design[4 * i + 2] = cases[c].design;
        }
        s.inspection.readings.first = 3; /* the overlay begins there */
        const bc_evidence *evidence = weigh(&s);
        ck_assert_msg((evidence->held == BC_HELD_EMPTY) == cases[c].held, "case %zu: %d", c, (int)evidence->held);
        if (cases[c].held)
            ck_assert(evidence->first == 5 && evidence->count == 10 && evidence->of == COUNT &&
                      evidence->value == cases[c].value && evidence->quantity == BC_R);
        close_scene(&s);
    }
}
END_TEST

/* Four times as much would lie near the design; not where the uncertainty hides the difference, nor where it would not
 * lie much nearer, nor where somebody answered for the scan. */
START_TEST(another_unit)
{
    static const struct {
        double factor, other, systematic;
        bool certain, held;
    } cases[] = {{4.2, 0.0, 1e-4, false, true}, {3.9, 0.0, 1e-4, false, false}, {4.2, 0.0, 0.02, false, false},
                 {4.2, 0.0, 1e-4, true, false}, {4.2, 0.6, 1e-4, false, true},  {4.2, 1.4, 1e-4, false, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        double both = 0.0, square = 0.0, mean = 0.0, mean_design = 0.0;
        scene s;
        open_scene(&s);
        double *value = values(&s);
        s.b.setup.witness_certain = cases[c].certain;
        for (size_t i = 0; i < COUNT; i++) {
            s.design[i] = 0.03;
            value[i] = 0.03 / cases[c].factor * (1.0 + cases[c].other * (i % 2 == 0 ? 1.0 : -1.0)) + 1e-7 * ripple(i);
            value[i] = fmax(value[i], 1e-5 * (1.0 + 0.1 * ripple(i)));
            s.inspection.readings.R.systematic[i] = i == 9 ? cases[c].systematic : 0.0;
            both += value[i] * s.design[i];
            square += value[i] * value[i];
            mean += value[i] / COUNT;
            mean_design += s.design[i] / COUNT;
        }
        const bc_evidence *evidence = weigh(&s);
        const double found = both / square;
        if (cases[c].other == 0.0)
            ck_assert_msg((evidence->held == BC_HELD_UNIT) == cases[c].held, "case %zu: %d", c, (int)evidence->held);
        if (evidence->held == BC_HELD_UNIT) {
            ck_assert_double_eq_tol(evidence->found, found, 1e-9);
            ck_assert_double_eq_tol(evidence->value, mean, 1e-12);
            ck_assert_double_eq_tol(evidence->allowed, mean_design, 1e-12);
            ck_assert(evidence->count == COUNT && evidence->of == COUNT);
            ck_assert_double_gt(found, 4.0);
        }
        close_scene(&s);
    }
}
END_TEST

/* A scale of the readings that no instrument has. */
START_TEST(an_impossible_scale)
{
    static const struct {
        bc_cause_kind kind;
        double size;
        bool certain, held;
    } cases[] = {{BC_CAUSE_READING_SCALE, 0.26, false, true},
                 {BC_CAUSE_READING_SCALE, -0.26, false, true},
                 {BC_CAUSE_READING_SCALE, 0.25, false, false},
                 {BC_CAUSE_READING_SCALE, -0.5, true, false},
                 {BC_CAUSE_COMMON_FACTOR, 0.5, false, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        scene s;
        open_scene(&s);
        s.b.setup.witness_certain = cases[c].certain;
        s.result.cause[0] = (bc_cause){.kind = cases[c].kind, .size = cases[c].size};
        const bc_evidence *evidence = weigh(&s);
        ck_assert_int_eq(evidence->held, cases[c].held ? BC_HELD_WITNESS : BC_HELD_NOT);
        if (cases[c].held)
            ck_assert(evidence->found == 0.26 && evidence->allowed == 0.25 && evidence->count == COUNT);
        close_scene(&s);
    }
}
END_TEST

/* Squares of what errors of the process make of the design: each layer, all layers of a run, each index, the larger of
 * both directions; by the reference. */
static double usual_square(const scene *s, const double *layer, const double *run, const double *index)
{
    double sum = 0.0;
    for (size_t error = 0; error < 2 * LAYERS + 1; error++) {
        double R[2][COUNT];
        for (int up = 0; up < 2; up++) {
            truth t = bench_truth(&s->b);
            for (size_t j = 0; j < LAYERS; j++) {
                const double by = error == j ? layer[j] : error == LAYERS ? run[j] : 0.0;
                t.layer[j].thickness_nm *= 1.0 + (up == 1 ? by : -by);
                if (error == LAYERS + 1 + j)
                    t.layer[j].n += up == 1 ? index[j] : -index[j];
            }
            truth_spectrum(&t, COUNT, s->scan.wavelength_nm, R[up], NULL);
        }
        for (size_t i = 0; i < COUNT; i++)
            sum += fmax(pow(R[0][i] - s->design[i], 2.0), pow(R[1][i] - s->design[i], 2.0)) / COUNT;
    }
    return sum + 1e-8 + 4e-8;
}

/* Nothing explains the scan: further off than four times what is usual, or what is left is more than that. Loop: no
 * process, and one that says all. */
START_TEST(another_witness)
{
    static const double usual[LAYERS] = {0.02, 0.02}, layer[LAYERS] = {0.01, 0.03}, run[LAYERS] = {0.015, -0.015},
                        index[LAYERS] = {0.005, 0.03};
    static const struct {
        double rms, left;
        bool explained, certain, held;
    } cases[] = {{4.05, 0.5, false, false, true},  {3.95, 0.5, false, false, false}, {3.0, 1.05, false, false, true},
                 {3.0, 0.95, false, false, false}, {9.0, 9.0, true, false, false},   {9.0, 9.0, false, true, false}};
    double allowed = 0.0;
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        bc_process_row rows[LAYERS];
        const bc_process process = {.rows = LAYERS, .row = rows};
        scene s;
        open_scene(&s);
        for (size_t j = 0; j < LAYERS; j++) {
            rows[j] = (bc_process_row){.has_thickness_sigma = true,
                                       .thickness_sigma = layer[j],
                                       .has_run_thickness_sigma = true,
                                       .run_thickness_sigma = run[j],
                                       .has_index_sigma = true,
                                       .index_sigma = index[j]};
            strcpy(rows[j].material, six_index[j]);
        }
        s.b.setup.process = _i == 0 ? NULL : &process;
        s.b.setup.witness_certain = cases[c].certain;
        if (c == 0)
            allowed = sqrt(_i == 0 ? usual_square(&s, usual, usual, usual) : usual_square(&s, layer, run, index));
        s.result.cause[0].kind = cases[c].explained ? BC_CAUSE_RANDOM : BC_CAUSE_UNEXPLAINED;
        s.result.R.rms = cases[c].rms * allowed;
        s.result.R.rms_fitted = cases[c].left * allowed;
        const bc_evidence *evidence = weigh(&s);
        ck_assert_msg((evidence->held == BC_HELD_WITNESS) == cases[c].held, "case %zu", c);
        if (cases[c].held) {
            ck_assert_double_eq_tol(evidence->allowed / allowed, 1.0, 1e-6);
            ck_assert_double_eq(evidence->found, s.result.R.rms);
            ck_assert_int_eq(strstr(evidence->text, "taken as 2 %") != NULL, _i == 0);
        }
        close_scene(&s);
    }
}
END_TEST

/* A verdict that rests on no evidence: no row is accepted; one is still rejected where it may be another witness's. */
START_TEST(what_becomes_of_the_verdict)
{
    for (int way = 0; way < 3; way++) { /* nothing held, another witness, a doubt about the instrument */
        scene s;
        open_scene(&s);
        s.result.verdict = way == 1 ? BC_REJECT : BC_ACCEPT;
        if (way == 1)
            s.result.cause[0] = (bc_cause){.kind = BC_CAUSE_READING_SCALE, .size = 0.5};
        s.b.setup.instrument_doubt = way == 2 ? "the lamp is old" : NULL;
        const bc_evidence *evidence = weigh(&s);
        static const bc_verdict accept[] = {BC_ACCEPT, BC_UNDECIDED, BC_UNDECIDED};
        static const bc_verdict reject[] = {BC_REJECT, BC_REJECT, BC_UNDECIDED},
                                all[] = {BC_ACCEPT, BC_REJECT, BC_UNDECIDED};
        ck_assert_int_eq(evidence->held, way == 0 ? BC_HELD_NOT : way == 1 ? BC_HELD_WITNESS : BC_HELD_INSTRUMENT);
        for (size_t c = 0; c < ROWS; c += 3) {
            ck_assert_int_eq(s.finding[c].verdict, accept[way]);
            ck_assert_int_eq(s.finding[c].reason, way == 0 ? BC_DECIDED : BC_UNDECIDED_HELD);
            ck_assert(way == 0 ? s.finding[c].probability == 0.5
                               : isnan(s.finding[c].probability) && isnan(s.finding[c].margin) &&
                                     isnan(s.finding[c].excess_probability));
            ck_assert_int_eq(strncmp(s.finding[c].text, "held: ", 6) == 0, way > 0);
        }
        ck_assert_int_eq(s.finding[1].verdict, reject[way]);
        ck_assert(s.finding[2].verdict == BC_UNDECIDED && s.finding[2].reason == BC_UNDECIDED_QUANTITY);
        ck_assert_int_eq(s.result.verdict, all[way]);
        if (way == 2)
            ck_assert_str_eq(evidence->text, "the lamp is old");
        close_scene(&s);
    }
}
END_TEST

TCase *evidence_case(void)
{
    TCase *tests = tcase_create("evidence");
    tcase_add_loop_test(tests, impossible_values, 0, 6);
    tcase_add_test(tests, one_number);
    tcase_add_test(tests, a_reading_that_was_held);
    tcase_add_test(tests, values_that_are_nothing);
    tcase_add_test(tests, another_unit);
    tcase_add_test(tests, an_impossible_scale);
    tcase_add_loop_test(tests, another_witness, 0, 2);
    tcase_add_test(tests, what_becomes_of_the_verdict);
    return tests;
}
