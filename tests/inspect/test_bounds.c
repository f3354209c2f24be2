/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where a setup is still one and a fit is good, what a measurement may be taken for, and how far an inspection says it
 * is.
 */
#include "index_fit.h"
#include "reasons.h"
#include "witness.h"
#include <math.h>
#include <string.h>

/* Each figure at its bounds, and just beyond. */
START_TEST(bounds_of_a_setup)
{
    static const double aoi[][2] = {{0.0, 1}, {89.9 * DEGREE, 1}, {90.0 * DEGREE, 0}, {-0.01, 0}, {NAN, 0}};
    static const double uncertainty[][2] = {{0.0, 1}, {0.999, 1}, {1.0, 0}, {-1e-9, 0}, {NAN, 0}};
    static const double wavelength[][2] = {{0.0, 1}, {100.0, 1}, {100.1, 0}, {-1e-9, 0}, {NAN, 0}};
    static const double scale[][2] = {{0.0, 1}, {0.999, 1}, {1.0, 0}, {-1e-9, 0}, {NAN, 0}};
    static const double coverage[][2] = {{1e-3, 1}, {2.0, 1}, {0.0, 0}, {INFINITY, 0}, {-1.0, 0}};
    static const double confidence[][2] = {{0.5, 1}, {0.999, 1}, {0.499, 0}, {1.0, 0}, {NAN, 0}};
    const double(*const cases[])[2] = {aoi, uncertainty, wavelength, scale, coverage, confidence};
    bench b;
    bench_open(&b, "1.52", 0, NULL, NULL);
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 40.0, 5);
    for (size_t i = 0; i < 5; i++) {
        bc_inspect_setup setup = b.setup;
        double *const figure[] = {&setup.aoi_rad,           &setup.uncertainty,     &setup.wavelength_uncertainty_nm,
                                  &setup.scale_uncertainty, &setup.coverage_factor, &setup.confidence};
        bc_inspect_result result;
        *figure[_i] = cases[_i][i][0];
        const bc_status status = bc_inspect(&scan, &setup, &result, NULL);
        ck_assert_msg((status == BC_OK) == (cases[_i][i][1] > 0.0), "figure %d, case %zu", _i, i);
        bc_inspect_result_clear(&result);
    }
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* A good fit leaves twice the noise at most, or 0.01 %, or as much as the instrument is uncertain by, but no more than
 * most_left; and no offset of more than four standard uncertainties, unless there is a loss. */
START_TEST(what_is_a_good_fit)
{
    static const struct {
        double residual, rms, systematic, most_left, offset[2];
        bool loss, good;
    } cases[] = {
        {1.99, 9.0, 0.0, 1.0, {0.0, 0.0}, false, true},      {2.01, 9.9e-5, 0.0, 0.0, {0.0, 0.0}, false, true},
        {2.01, 1.01e-4, 0.0, 1.0, {0.0, 0.0}, false, false}, {2.01, 1.9e-3, 2e-3, 1.0, {0.0, 0.0}, false, true},
        {2.01, 2.1e-3, 2e-3, 1.0, {0.0, 0.0}, false, false}, {2.01, 1.9e-3, 2e-3, 1e-3, {0.0, 0.0}, false, false},
        {2.01, 0.9e-3, 2e-3, 1e-3, {0.0, 0.0}, false, true}, {1.0, 1e-5, 0.0, 1.0, {4.1, 0.0}, false, false},
        {1.0, 1e-5, 0.0, 1.0, {0.0, -4.1}, false, false},    {1.0, 1e-5, 0.0, 1.0, {3.9, -3.9}, false, true},
        {1.0, 1e-5, 0.0, 1.0, {4.1, 0.0}, true, true},       {2.0, 9.0, 0.0, 1.0, {4.0, -4.0}, false, true},
        {2.01, 1e-4, 0.0, 1.0, {0.0, 0.0}, false, true},     {2.01, 2e-3, 2e-3, 1.0, {0.0, 0.0}, false, true}};
    for (size_t q = 0; q < 2; q++)
        for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
            double systematic[2][5] = {{9.0, 0.0, 0.0, 0.0, 9.0}, {9.0, 0.0, 0.0, 0.0, 9.0}}; /* beyond the tables */
            bc_inspect_result result = {.absorption.shape = cases[c].loss ? BC_ABSORPTION_BELOW : BC_ABSORPTION_NONE};
            bc_inspection inspection = {.result = &result, .most_left = cases[c].most_left};
            bc_solution solution = {.residual = cases[c].residual, .rms = cases[c].rms};
            systematic[q][3] = cases[c].systematic;
            inspection.readings = (bc_readings){
                .count = 5, .first = 1, .inside = 3, .R.systematic = systematic[0], .T.systematic = systematic[1]};
            memcpy(solution.point.shared, cases[c].offset, sizeof cases[c].offset);
            ck_assert_msg(bc_is_good_fit(&inspection, &solution) == cases[c].good, "case %zu", c);
        }
}
END_TEST

/* Half of the scan's rms about its mean, or a twentieth of its level: R, or what T lacks. */
START_TEST(most_that_may_be_left)
{
    double R[4] = {9.0, 0.02, 0.04, 9.0}, T[4] = {9.0, 0.90, 0.96, 9.0};
    const bc_reading of_R = {.value = R}, of_T = {.value = T};
    bc_inspection inspection = {0};
    inspection.fit.setup = (bc_fit_setup){.readings = 2, .reading = {&of_R, &of_T}, .first = 1, .count = 2};
    inspection.fit.rows = 4;
    bc_find_most_left(&inspection);
    ck_assert_double_eq_tol(inspection.most_left, 0.5 * sqrt((2.0 * 1e-4 + 2.0 * 9e-4) / 4.0), 1e-12);
    R[1] = R[2] = 0.4;
    T[1] = T[2] = 0.7;
    bc_find_most_left(&inspection);
    ck_assert_double_eq_tol(inspection.most_left, 0.05 * sqrt((0.16 + 0.09) / 2.0), 1e-12);
}
END_TEST

/* Of an index from scans: a scan, a piece of some thickness, a coverage factor and twenty points. */
START_TEST(bounds_of_an_index)
{
    static const double thick[] = {300.0, 150.0}, none[] = {300.0, 0.0}, endless[] = {INFINITY, 150.0};
    for (int way = 0; way < 9; way++) {
        const bc_measurement few[2] = {{.count = 10}, {.count = way == 7 ? 9 : 10}};
        const bc_layer_scan scan[2] = {{.measurement = &few[0]}, {.measurement = &few[1], .piece = 1}};
        const bc_layer_index_setup setup = {.scans = way == 1 ? 0 : 2,
                                            .scan = scan,
                                            .pieces = way == 2   ? 0
                                                      : way == 8 ? 1
                                                                 : 2,
                                            .coverage_factor = way == 3   ? 0.0
                                                               : way == 4 ? NAN
                                                                          : 0.5,
                                            .thickness_nm = way == 5   ? none
                                                            : way == 6 ? endless
                                                                       : thick};
        ck_assert_int_eq(bc_index_refuse_setup(&setup, NULL), way == 0 ? BC_OK : BC_ERROR_INPUT);
    }
}
END_TEST

/* Values of -200 to 200 %, uncertainties of 0 or more, wavelengths that rise: what a measurement may hold. */
START_TEST(bounds_of_a_measurement)
{
    static const struct {
        double value, uncertainty, second_nm;
        bool fine;
    } cases[] = {{2.0, 0.0, 410.0, true},     {-2.0, 0.0, 410.0, true},    {2.001, 0.0, 410.0, false},
                 {-2.001, 0.0, 410.0, false}, {0.1, -1e-9, 410.0, false},  {0.1, INFINITY, 410.0, false},
                 {0.1, NAN, 410.0, true},     {0.1, 3e-3, 410.0, true},    {0.1, 0.0, 400.0, false},
                 {0.1, 0.0, 400.001, true},   {0.1, 0.0, INFINITY, false}, {NAN, 0.0, 410.0, false}};
    bench b;
    bench_open(&b, "1.52", 0, NULL, NULL);
    b.setup.uncertainty = 8e-3;
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        double nm[2] = {400.0, cases[c].second_nm}, value[2] = {0.1, cases[c].value},
               own[2] = {0.0, cases[c].uncertainty};
        const bc_measured measured = {.value = value, .uncertainty = own};
        const bool of_T = c % 2 == 1;
        const bc_measurement scan = {.count = 2,
                                     .repeats = 1,
                                     .wavelength_nm = nm,
                                     .R = of_T ? (bc_measured){0} : measured,
                                     .T = of_T ? measured : (bc_measured){0}};
        bc_readings readings;
        const bc_status status = bc_readings_open(&scan, &b.setup, &readings, NULL);
        ck_assert_msg((status == BC_OK) == cases[c].fine, "case %zu", c);
        if (status != BC_OK)
            continue;
        const bc_reading *reading = of_T ? &readings.T : &readings.R;
        ck_assert(readings.R.measured != of_T && readings.T.measured == of_T &&
                  reading->quantity == (of_T ? BC_T : BC_R));
        ck_assert_double_eq_tol(reading->systematic[0], 4e-3, 1e-15);
        ck_assert_double_eq_tol(reading->systematic[1], hypot(4e-3, c == 7 ? 3e-3 : 0.0), 1e-15);
        bc_readings_close(&readings);
    }
    bench_close(&b);
}
END_TEST

/* The part of a scan that every table reaches, its ends with it; a back of its own has tables, too. */
START_TEST(within_the_tables)
{
    static const double reach[][2] = {{420.0, 460.0}, {421.0, 459.0}, {300.0, 500.0}, {430.0, 900.0}};
    static const size_t first[] = {2, 3, 0, 3}, inside[] = {5, 3, 9, 6};
    static const double n[2] = {1.4, 1.4};
    for (size_t which = 0; which < 5; which++) /* layer, substrate, incident medium, a layer of the back, its medium */
        for (size_t c = 0; c < 4; c++) {
            bc_dispersion *table = NULL;
            bc_readings readings;
            bench b, behind;
            bench_open(&b, "1.52", 2, six_index, six_nm);
            bench_open(&behind, "1.52", 1, six_index, six_nm);
            ck_assert_int_eq(bc_dispersion_table("short", 2, reach[c], n, NULL, &table, NULL), BC_OK);
            const truth t = bench_truth(&b);
            bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 10.0, 9);
            b.setup.back = (bc_back){.kind = which < 3 ? BC_BACK_NONE : BC_BACK_OWN, .stack = &behind.design};
            bc_medium *const medium[] = {&b.design.layer[1].material, &b.design.substrate, &b.design.incident,
                                         &behind.design.layer[0].material, &behind.design.incident};
            medium[which]->dispersion = table;
            ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &readings, NULL), BC_OK);
            ck_assert_uint_eq(readings.first, first[c]);
            ck_assert_uint_eq(readings.inside, inside[c]);
            bc_readings_close(&readings);
            bc_dispersion_free(table);
            bc_measurement_clear(&scan);
            bench_close(&behind);
            bench_close(&b);
        }
}
END_TEST

static void hear(void *context, double fraction)
{
    *(double *)context = fraction;
}

/* The stages end at 4, 50, 80 and 100 %, and what is over of one counts in between. */
START_TEST(progress_of_the_stages)
{
    static const double end[] = {0.0, 0.04, 0.5, 0.8, 1.0};
    double heard = -1.0;
    bc_inspect_setup setup = {.progress = hear, .progress_context = &heard};
    const bc_inspection inspection = {.setup = &setup};
    for (int stage = 0; stage < BC_STAGES; stage++)
        for (double share = 0.0; share <= 1.0; share += 0.25) {
            bc_say_progress(&inspection, (bc_inspect_stage)stage, share);
            ck_assert_double_eq_tol(heard, end[stage] + share * (end[stage + 1] - end[stage]), 1e-12);
        }
    setup.progress = NULL; /* nobody waits */
    bc_say_progress(&inspection, BC_STAGE_FIT, 1.0);
    ck_assert_double_eq(heard, 1.0);
}
END_TEST

/* How something was measured, and what is asked. */
typedef struct sight_case {
    double at_deg;
    bc_polarization in;
    bc_back_kind back, part_back;
    bool R, T, good;
    bc_quantity quantity;
    double from_deg, to_deg, cone_deg;
    bc_polarization polarization;
    bc_scope scope;
    bc_undecided reason;
    bool speaks, remove_back, correct_angle;
    const char *text;
} sight_case;

#define UN      BC_POL_UNPOLARIZED
#define SURFACE BC_SCOPE_SURFACE
#define PART    BC_SCOPE_PART
#define NONE    BC_BACK_NONE
#define BARE    BC_BACK_UNCOATED
#define SAME    BC_BACK_SAME

static const sight_case matches[] = {
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_DECIDED, 1, 0, 0, ""},
    {0, UN, NONE, NONE, 0, 1, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_QUANTITY, 0, 0, 0, "R was not measured"},
    {0, UN, NONE, NONE, 1, 0, 1, BC_T, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_QUANTITY, 0, 0, 0, "T was not measured"},
    {0, UN, NONE, NONE, 1, 0, 1, BC_A, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_QUANTITY, 0, 0, 0, "A was not measured"},
    {0, UN, NONE, NONE, 1, 1, 1, BC_A, 0, 0, 0, UN, SURFACE, BC_DECIDED, 1, 0, 0, ""},
    {0, UN, BARE, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_DECIDED, 1, 1, 0, ""},
    {20, UN, BARE, NONE, 1, 0, 0, BC_R, 20, 20, 0, UN, SURFACE, BC_UNDECIDED_SCOPE, 0, 1, 0,
     "asked of the surface alone, measured with an uncoated back, whose share cannot be taken out without a good fit"},
    {0, UN, BARE, NONE, 1, 0, 0, BC_R, 0, 0, 0, UN, SURFACE, BC_DECIDED, 1, 1, 0, ""},
    {0, UN, BARE, NONE, 1, 1, 1, BC_A, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_SCOPE, 0, 0, 0,
     "asked of the surface alone, measured with an uncoated back"},
    {0, UN, SAME, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_SCOPE, 0, 0, 0,
     "asked of the surface alone, measured with the same coating on its back"},
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, PART, BC_UNDECIDED_SCOPE, 0, 0, 0,
     "asked of a part, measured with a ground back"},
    {0, UN, SAME, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, PART, BC_DECIDED, 1, 0, 0, ""},
    {0, UN, SAME, BARE, 1, 0, 1, BC_R, 0, 0, 0, UN, PART, BC_UNDECIDED_SCOPE, 0, 0, 0,
     "asked of a part with an uncoated back, measured with the same coating on its back"},
    {8, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_DECIDED, 1, 0, 1, ""},
    {15, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_DECIDED, 1, 0, 1, ""},
    {15.1, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_ANGLE, 0, 0, 0,
     "asked at 0 degrees, measured at 15.1 degrees"},
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 15, 15, 0, UN, SURFACE, BC_DECIDED, 1, 0, 1, ""},
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 15.1, 15.1, 0, UN, SURFACE, BC_UNDECIDED_ANGLE, 0, 0, 0,
     "asked at 15.1 degrees, measured at 0 degrees"},
    {8, UN, NONE, NONE, 1, 0, 0, BC_R, 0, 0, 0, UN, SURFACE, BC_UNDECIDED_ANGLE, 0, 0, 0,
     "asked at 0 degrees, measured at 8 degrees; no fit is good enough to correct for that"},
    {8, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, BC_POL_EACH, SURFACE, BC_DECIDED, 1, 0, 1, ""},
    {8, UN, NONE, NONE, 1, 0, 1, BC_R, 5, 5, 0, BC_POL_EACH, SURFACE, BC_UNDECIDED_ANGLE, 0, 0, 0,
     "asked at 5 degrees, measured at 8 degrees; no fit is good enough to correct for that"},
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 0.04, 0.04, 0, UN, SURFACE, BC_DECIDED, 1, 0, 0, ""},
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 20, 0, UN, SURFACE, BC_UNDECIDED_ANGLE, 1, 0, 0,
     "asked from 0 to 20 degrees, measured at 0 degrees only"},
    {30, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 20, 0, UN, SURFACE, BC_UNDECIDED_ANGLE, 0, 0, 0,
     "asked from 0 to 20 degrees, measured at 30 degrees only"},
    {0, UN, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 10, UN, SURFACE, BC_UNDECIDED_ANGLE, 0, 0, 0,
     "asked over a cone of light of half-angle 10 degrees, measured at 0 degrees"},
    {45, BC_POL_S, NONE, NONE, 1, 0, 1, BC_R, 45, 45, 0, BC_POL_S, SURFACE, BC_DECIDED, 1, 0, 0, ""},
    {45, BC_POL_S, NONE, NONE, 1, 0, 1, BC_R, 45, 45, 0, BC_POL_P, SURFACE, BC_UNDECIDED_POLARIZATION, 0, 0, 0,
     "asked in p, measured in s"},
    {45, BC_POL_P, NONE, NONE, 1, 0, 1, BC_R, 45, 45, 0, BC_POL_EACH, SURFACE, BC_UNDECIDED_POLARIZATION, 1, 0, 0,
     "asked in s and p each, measured in p"},
    {45, UN, NONE, NONE, 1, 0, 1, BC_R, 45, 45, 0, BC_POL_RATIO, SURFACE, BC_UNDECIDED_POLARIZATION, 0, 0, 0,
     "asked of the ratio s/p, measured in unpolarized light"},
    {0, BC_POL_S, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, BC_POL_P, SURFACE, BC_DECIDED, 1, 0, 0, ""},
    {0, BC_POL_S, NONE, NONE, 1, 0, 1, BC_R, 0, 0, 0, BC_POL_RATIO, SURFACE, BC_UNDECIDED_POLARIZATION, 0, 0, 0,
     "asked of the ratio s/p, measured in s"},
};
#define MATCHES ((int)(sizeof matches / sizeof *matches))

START_TEST(what_a_scan_serves_for)
{
    const sight_case *m = &matches[_i];
    bc_error error = {0};
    bc_inspect_result result = {.good_fit = m->good};
    bench b;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    b.setup.aoi_rad = m->at_deg * DEGREE;
    b.setup.polarization = m->in;
    b.setup.back = (bc_back){.kind = m->back, .substrate_mm = 1.0};
    b.setup.part_back = (bc_back){.kind = m->part_back, .substrate_mm = 1.0};
    bc_callout *callout = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.1, 450.0, 650.0);
    callout->quantity = m->quantity;
    callout->aoi_from_rad = m->from_deg * DEGREE;
    callout->aoi_to_rad = m->to_deg * DEGREE;
    callout->cone_rad = m->cone_deg * DEGREE;
    callout->polarization = m->polarization;
    callout->scope = m->scope;
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, (m->R ? BC_MEASURED_R : 0u) | (m->T ? BC_MEASURED_T : 0u), 400.0, 80.0, 6);
    bc_inspection inspection = {.setup = &b.setup, .result = &result};
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&inspection);
    ck_assert_int_eq(bc_fit_open(&setup, &inspection.fit, &error), BC_OK);
    const bc_match match = bc_match_callout(&inspection, callout);
    bc_inspect_finding finding = {.callout = callout, .reason = match.reason};
    bc_explain_reason(&inspection, &finding);
    ck_assert_msg(match.reason == m->reason && match.speaks == m->speaks && match.remove_back == m->remove_back &&
                      match.correct_angle == m->correct_angle,
                  "reason %d, %d %d %d", (int)match.reason, match.speaks, match.remove_back, match.correct_angle);
    ck_assert_str_eq(finding.text, m->text);
    bc_fit_close(&inspection.fit);
    bc_readings_close(&inspection.readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* The other reasons in words. */
START_TEST(reasons_in_words)
{
    bench b;
    bench_open(&b, "1.52", 0, NULL, NULL);
    bc_callout *callout = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.1, 450.0, 650.0);
    strcpy(callout->substrate, "1.80");
    const bc_inspection inspection = {.setup = &b.setup};
    const struct {
        bc_inspect_finding finding;
        const char *text;
    } cases[] = {
        {{.reason = BC_DECIDED, .rest = 0.002, .covered_from_nm = 400.0, .covered_to_nm = 700.0},
         "measured from 400 to 700 nm; the rest of the band has 0.2 % of the weight, and the limit is met whatever is "
         "there"},
        {{.reason = BC_DECIDED}, ""},
        {{.reason = BC_UNDECIDED_HELD}, ""},
        {{.reason = BC_UNDECIDED_UNCERTAINTY, .probability = 0.734},
         "too near the limit to tell: it is met with a probability of 73.4 %"},
        {{.reason = BC_UNDECIDED_UNCERTAINTY, .probability = 0.5, .judged = BC_JUDGED_FIT},
         "too near the limit to tell: it is met with a probability of 50 % at least"},
        {{.reason = BC_UNDECIDED_STEPS, .widest_step_nm = 12.0, .step_limit_nm = 5.5},
         "measured in steps of up to 12 nm, where 5.5 nm at most show every fringe"},
        {{.reason = BC_UNDECIDED_NOT_COVERED, .covered_from_nm = NAN}, "nothing was measured from 450 to 650 nm"},
        {{.reason = BC_UNDECIDED_NOT_COVERED, .covered_from_nm = 460.0, .covered_to_nm = 640.0},
         "asked from 450 to 650 nm, measured from 460 to 640 nm only"},
        {{.reason = BC_UNDECIDED_OUTLIER, .doubt_nm = 512.0, .doubt_value = 0.0345},
         "the reading at 512 nm, 3.45 %, was left out of the fit as an outlier and would not be accepted if it were "
         "true: "
         "measure again"},
        {{.reason = BC_UNDECIDED_MISSING, .doubt_nm = 512.0, .at_nm = 516.0},
         "the value at 512 nm is missing, beside the worst one at 516 nm: measure again"},
        {{.reason = BC_UNDECIDED_GLASS}, "asked on 1.80, measured on 1.52"},
    };
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        bc_inspect_finding finding = cases[c].finding;
        finding.callout = callout;
        bc_explain_reason(&inspection, &finding);
        ck_assert_str_eq(finding.text, cases[c].text);
    }
    bench_close(&b);
}
END_TEST

TCase *bounds_case(void)
{
    TCase *tests = tcase_create("bounds");
    tcase_add_loop_test(tests, bounds_of_a_setup, 0, 6);
    tcase_add_test(tests, bounds_of_an_index);
    tcase_add_test(tests, bounds_of_a_measurement);
    tcase_add_test(tests, within_the_tables);
    tcase_add_test(tests, what_is_a_good_fit);
    tcase_add_test(tests, most_that_may_be_left);
    tcase_add_test(tests, progress_of_the_stages);
    tcase_add_loop_test(tests, what_a_scan_serves_for, 0, MATCHES);
    tcase_add_test(tests, reasons_in_words);
    return tests;
}
