/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which loss was found, what a part's back may be, and what a fitted index adds to a prediction's doubt.
 */
#include "cause.h"
#include "witness.h"
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

/* Losses of 8 % put into T: at long wavelengths (0) and at all (1). */
START_TEST(where_the_loss_is)
{
    const double from_nm = _i == 0 ? 650.0 : 0.0, lost = 0.08;
    double most = 0.0;
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 400.0, 4.0, 101);
    for (size_t i = 0; i < scan.count; i++)
        if (scan.wavelength_nm[i] > from_nm) {
            most = fmax(most, lost * scan.T.value[i]);
            scan.T.value[i] *= 1.0 - lost;
        }
    scan_disturb(&b, &scan, 1e-4, 0.0);
    result = bench_inspect(&b, &scan);
    ck_assert(result.absorption.judged);
    ck_assert_int_eq(result.absorption.shape, _i == 0 ? BC_ABSORPTION_ABOVE : BC_ABSORPTION_EVERYWHERE);
    ck_assert_double_eq_tol(result.absorption.most, most, 0.1 * most);
    if (_i == 0)
        ck_assert(result.absorption.edge_nm > 640.0 && result.absorption.edge_nm < 660.0);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

typedef enum other_back { SAME_LAYERS, THICKER_LAYER, OTHER_MATERIAL, OTHER_SIDE, FEWER_LAYERS, BACKS } other_back;

/* The part rows' back is a stack of its own, and so is that of the part measured: the same layers are the same back,
 * wherever they are described; another layer, medium or thickness makes another part. */
START_TEST(the_same_back_is_the_same_layers)
{
    static const char *const index[] = {"1.38", "1.70"};
    static const double nm[] = {100.0, 80.0};
    bench b, seen, meant;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    bench_open(&seen, "1.52", 2, index, nm);
    bench_open(&meant, "1.52", 2, index, nm);
    if (_i == THICKER_LAYER)
        meant.design.layer[1].thickness_nm += 1.0;
    if (_i == OTHER_MATERIAL)
        meant.design.layer[1].material = bench_medium(&meant, "1.71");
    if (_i == OTHER_SIDE)
        meant.design.incident = bench_medium(&meant, "1.33");
    if (_i == FEWER_LAYERS)
        meant.design.layers = 1;
    b.setup.back = (bc_back){BC_BACK_OWN, &seen.design, 2.0};
    b.setup.part_back = (bc_back){BC_BACK_OWN, &meant.design, 2.0};
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.9, 450.0, 650.0)->scope = BC_SCOPE_PART;
    t = bench_truth(&b);
    t.back_layers = 2;
    t.back_layer[0] = (reference_layer){1.38, 0.0, nm[0]};
    t.back_layer[1] = (reference_layer){1.70, 0.0, nm[1]};
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.finding[0].reason, _i == SAME_LAYERS ? BC_DECIDED : BC_UNDECIDED_SCOPE);
    ck_assert_int_eq(result.verdict, _i == SAME_LAYERS ? BC_ACCEPT : BC_UNDECIDED);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
    bench_close(&seen);
    bench_close(&meant);
}
END_TEST

/* A row about a glass that is not at hand: nothing measured speaks of it, and nothing can be predicted. */
START_TEST(a_glass_that_is_not_at_hand)
{
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    b.setup.from_fit = true;
    strcpy(bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0)->substrate, "1.90");
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.finding[0].verdict, BC_UNDECIDED);
    ck_assert_int_eq(result.finding[0].reason, BC_UNDECIDED_GLASS);
    ck_assert(isnan(result.finding[0].predicted));
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* An index that is fitted as well is one thing more that is not known: the predicted value is the same, its doubt is
 * not smaller. */
START_TEST(a_fitted_index_adds_to_the_doubt)
{
    double predicted[2], doubt[2], true_T;
    const double nm = 550.0;
    bench b;
    truth t;
    bc_measurement scan;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    bench_ask(&b, BC_EXTREME, BC_AT_LEAST, 0.1, nm, nm)->quantity = BC_T;
    b.callouts.callout[0].aoi_from_rad = b.callouts.callout[0].aoi_to_rad = PI / 4.0;
    b.setup.from_fit = true;
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    scan_disturb(&b, &scan, 1e-3, 0.0);
    scan_know_noise(&scan, 1e-3);
    t.aoi_rad = PI / 4.0;
    truth_spectrum(&t, 1, &nm, NULL, &true_T);
    for (int fitted = 0; fitted < 2; fitted++) {
        bc_inspect_result result;
        b.setup.fit_index = fitted == 1;
        result = bench_inspect(&b, &scan);
        ck_assert(result.finding[0].from_fit);
        predicted[fitted] = result.finding[0].predicted;
        doubt[fitted] = result.finding[0].predicted_uncertainty;
        ck_assert_double_eq_tol(predicted[fitted], true_T, 4.0 * doubt[fitted]);
        bc_inspect_result_clear(&result);
    }
    ck_assert_double_ge(doubt[1], doubt[0]);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Glass that absorbs, its back left bare and taken out of the readings: R of the part is made by hand from R of the
 * front by the reference (no layer absorbs: R from inside is the same, T = 1 - R), R of bare glass and the
 * transmittance t = exp(-4 pi k d / nm) of a crossing, added incoherently: R = Rf + (1 - Rf)^2 Rb t^2 / (1 - Rf Rb
 * t^2). */
START_TEST(a_back_seen_through_glass_that_absorbs)
{
    const double k = 2e-6, glass_nm = 2e6, bare = pow(0.52 / 2.52, 2.0);
    double worst = 0.0;
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52-2e-6i", 2, six_index, six_nm);
    b.setup.back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 2.0};
    bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0);
    t = bench_truth(&b);
    t.glass_n = 1.52;
    t.back = BC_BACK_NONE;
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 2.0, 201);
    for (size_t i = 0; i < scan.count; i++) {
        const double front = scan.R.value[i], crossing = exp(-4.0 * PI * k * glass_nm / scan.wavelength_nm[i]);
        if (scan.wavelength_nm[i] >= 450.0 && scan.wavelength_nm[i] <= 650.0)
            worst = fmax(worst, front);
        scan.R.value[i] +=
            (1.0 - front) * (1.0 - front) * bare * crossing * crossing / (1.0 - front * bare * crossing * crossing);
    }
    result = bench_inspect(&b, &scan);
    ck_assert_int_eq(result.verdict, BC_ACCEPT);
    ck_assert(result.finding[0].back_removed);
    ck_assert_double_eq_tol(result.finding[0].value, worst, 1e-5);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* An average of a well known stack is as good as linear in what is not known of it: then the probability is that of a
 * normal number, to much less than the draws by themselves would scatter (1 % at 1000 of them). Every other row asks
 * for at least as much. */
START_TEST(probability_of_what_is_linear)
{
    static const double steps[] = {-2.0, -1.3, -0.8, -0.3, 0.2, 0.7, 1.2, 1.7};
    bench b;
    truth t;
    bc_measurement scan;
    bc_callout *row;
    double value = 0.0, sigma = 0.0;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    row = bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.5, 450.0, 650.0);
    row->aoi_from_rad = row->aoi_to_rad = 40.0 * DEGREE;
    b.setup.from_fit = true;
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    scan_disturb(&b, &scan, 1e-4, 0.0);
    for (size_t i = 0; i <= sizeof steps / sizeof *steps; i++) {
        bc_inspect_result result;
        row->sense = i % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST;
        row->limit = i == 0 ? 0.5 : value + (i % 2 == 0 ? steps[i - 1] : -steps[i - 1]) * sigma;
        result = bench_inspect(&b, &scan);
        ck_assert_int_eq(result.finding[0].judged, BC_JUDGED_FIT);
        ck_assert(result.finding[0].covered_from_nm >= 446.0 && result.finding[0].covered_from_nm <= 454.0);
        ck_assert(result.finding[0].covered_to_nm >= 646.0 && result.finding[0].covered_to_nm <= 654.0);
        value = result.finding[0].value;
        sigma = result.finding[0].systematic;
        if (i > 0)
            ck_assert_double_eq_tol(result.finding[0].probability, gsl_cdf_ugaussian_P(steps[i - 1]), 0.005);
        bc_inspect_result_clear(&result);
    }
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* A row of 0 to 20 degrees, measured at 0 with the back seen: what is said of it is the fit's, nothing of the readings
 * that could not decide it is left. Loop: a maximum, an average, a limit too near to tell, one that is broken. */
START_TEST(a_row_decided_by_the_fit)
{
    static const bc_statistic statistic[] = {BC_EXTREME, BC_AVERAGE, BC_EXTREME, BC_EXTREME};
    static const bc_verdict verdict[] = {BC_ACCEPT, BC_ACCEPT, BC_UNDECIDED, BC_REJECT};
    bench b;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    b.setup.from_fit = true;
    b.setup.back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 1.0};
    bc_callout *row = bench_ask(&b, statistic[_i], BC_AT_MOST, _i == 3 ? 0.5 : 0.9, 450.0, 650.0);
    row->aoi_to_rad = 20.0 * DEGREE;
    row->quantity = _i == 3 ? BC_T : BC_R; /* which was not measured: R at 0 would reject by itself */
    row->sense = _i == 3 ? BC_AT_LEAST : BC_AT_MOST;
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    scan_disturb(&b, &scan, 1e-4, 0.0);
    bc_inspect_result result = bench_inspect(&b, &scan);
    for (int again = 0; _i >= 2 && again < 2; again++) { /* the limit by what was predicted; then it is found */
        row->limit = result.finding[0].predicted * (_i == 2 ? 1.0 : 1.01);
        bc_inspect_result_clear(&result);
        result = bench_inspect(&b, &scan);
    }
    const bc_inspect_finding *finding = &result.finding[0];
    ck_assert(finding->from_fit && finding->judged == BC_JUDGED_FIT && finding->points_because == BC_POINTS_NOT);
    ck_assert_int_eq(finding->verdict, verdict[_i]);
    ck_assert_int_eq(finding->reason, _i == 2 ? BC_UNDECIDED_UNCERTAINTY : BC_DECIDED);
    ck_assert(!finding->back_removed && !finding->angle_corrected && finding->random == 0.0);
    ck_assert(isnan(finding->margin) && isnan(finding->excess_probability));
    ck_assert_double_eq(finding->value, finding->predicted);
    ck_assert_double_eq(finding->systematic, finding->predicted_uncertainty);
    ck_assert_double_eq_tol(finding->limit_used, bc_limit_used(row, finding->value), 1e-12);
    ck_assert(finding->samples == 50 || finding->samples == 51);
    ck_assert_double_eq(finding->widest_step_nm, 4.0);
    double square = 0.0;
    for (size_t p = 0; p < BC_PARTS; p++)
        square += finding->part[p] * finding->part[p];
    ck_assert_double_eq_tol(sqrt(square) / finding->systematic, 1.0, 1e-6);
    if (_i != 2)
        ck_assert_double_eq(finding->probability, _i == 3 ? 0.0 : 1.0);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

typedef struct account_case {
    bc_cause_kind likeliest, other;
    double behind; /* of the logarithms */
    size_t accounts;
} account_case;

/* A verdict from the fit rests on the likeliest cause, and on a run as the process makes it as long as that has 5 %. */
static const account_case account_cases[] = {
    {BC_CAUSE_RANDOM, BC_CAUSE_WAVELENGTH, 0.1, 1},   {BC_CAUSE_AS_DESIGNED, BC_CAUSE_INDEX, 0.1, 1},
    {BC_CAUSE_WAVELENGTH, BC_CAUSE_RANDOM, 0.7, 2},   {BC_CAUSE_INDEX, BC_CAUSE_AS_DESIGNED, 2.9, 2},
    {BC_CAUSE_WAVELENGTH, BC_CAUSE_RANDOM, 3.0, 1},   {BC_CAUSE_SWAPPED, BC_CAUSE_RANDOM, 0.1, 0},
    {BC_CAUSE_LAYER, BC_CAUSE_READING_SCALE, 0.1, 1},
};

#define ACCOUNT_CASES ((int)(sizeof account_cases / sizeof *account_cases))

START_TEST(accounts_of_a_run)
{
    const account_case *of = &account_cases[_i];
    const bc_inspect_setup setup = {.confidence = 0.95};
    bc_inspection inspection = {.setup = &setup};
    bc_candidate candidate[] = {
        {.cause.kind = of->likeliest, .extra = {.wavelength = 3.0, .scatter = 5e-4}, .score = -20.0},
        {.cause.kind = BC_CAUSE_RANDOM, .score = -20.0, .failed = true},
        {.cause.kind = of->other, .extra.scatter = 0.25, .score = -20.0 - of->behind}};
    bc_keep_accounts(&inspection, &(bc_candidates){candidate, 3, 3});
    bc_keep_accounts(&inspection, &(bc_candidates){candidate, 3, 3}); /* in place of those before */
    ck_assert_uint_eq(inspection.accounts, of->accounts);
    if (of->accounts > 0) {
        ck_assert_double_eq(inspection.account[0].wavelength, 3.0);
        ck_assert_double_eq(inspection.account[0].scatter, 0.03);
    }
    if (of->accounts > 1) {
        ck_assert_double_eq(inspection.account[1].wavelength, 0.0);
        ck_assert_double_eq(inspection.account[1].scatter, 0.25);
    }
}
END_TEST

TCase *prediction_case(void)
{
    TCase *tests = tcase_create("prediction");
    tcase_add_loop_test(tests, where_the_loss_is, 0, 2);
    tcase_add_loop_test(tests, the_same_back_is_the_same_layers, 0, BACKS);
    tcase_add_test(tests, a_fitted_index_adds_to_the_doubt);
    tcase_add_test(tests, a_back_seen_through_glass_that_absorbs);
    tcase_add_test(tests, a_glass_that_is_not_at_hand);
    tcase_add_test(tests, probability_of_what_is_linear);
    tcase_add_loop_test(tests, a_row_decided_by_the_fit, 0, 4);
    tcase_add_loop_test(tests, accounts_of_a_run, 0, ACCOUNT_CASES);
    return tests;
}
