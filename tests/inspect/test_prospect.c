/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a row's value would be of any layers, against the 256-bit reference.
 */
#include "inspection.h"
#include "witness.h"
#include <bloomcoat/colour.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#define BAND 101

static const char *const index_of[3] = {"1.38", "2.10-0.01i", "1.60"};
static const double nm_of[3] = {92.0, 118.0, 60.0};

typedef struct row_case {
    bc_quantity quantity;
    bc_statistic statistic;
    bc_sense sense;
    double from_deg, to_deg;
    bc_polarization polarization;
    bc_scope scope;
    const char *weight;
} row_case;

static const row_case row_cases[] = {
    {BC_R, BC_EXTREME, BC_AT_MOST, 0.0, 30.0, BC_POL_EACH, BC_SCOPE_SURFACE, NULL},
    {BC_R, BC_EXTREME, BC_AT_LEAST, 0.0, 30.0, BC_POL_EACH, BC_SCOPE_SURFACE, NULL},
    {BC_T, BC_EXTREME, BC_AT_LEAST, 20.0, 20.0, BC_POL_UNPOLARIZED, BC_SCOPE_SURFACE, NULL},
    {BC_A, BC_EXTREME, BC_AT_MOST, 0.0, 30.0, BC_POL_P, BC_SCOPE_SURFACE, NULL},
    {BC_R, BC_AVERAGE, BC_AT_MOST, 0.0, 30.0, BC_POL_EACH, BC_SCOPE_SURFACE, NULL},
    {BC_T, BC_AVERAGE, BC_AT_LEAST, 0.0, 30.0, BC_POL_RATIO, BC_SCOPE_SURFACE, NULL},
    {BC_R, BC_EXTREME, BC_AT_MOST, 30.0, 30.0, BC_POL_RATIO, BC_SCOPE_SURFACE, NULL},
    {BC_R, BC_AVERAGE, BC_AT_MOST, 10.0, 10.0, BC_POL_UNPOLARIZED, BC_SCOPE_SURFACE, "A*photopic"},
    {BC_R, BC_EXTREME, BC_AT_MOST, 0.0, 0.0, BC_POL_UNPOLARIZED, BC_SCOPE_PART, NULL},
};
#define ROW_CASES ((int)(sizeof row_cases / sizeof *row_cases))

static void true_values(truth *t, const row_case *row, double aoi_deg, bc_polarization polarization, size_t count,
                        const double *nm, double *value)
{
    double R[BAND], T[BAND];
    t->aoi_rad = aoi_deg * DEGREE;
    t->polarization = polarization;
    truth_spectrum(t, count, nm, R, T);
    for (size_t i = 0; i < count; i++)
        value[i] = row->quantity == BC_R ? R[i] : row->quantity == BC_T ? T[i] : 1.0 - R[i] - T[i];
}

/* At one angle in one plane (of a ratio: s over p): the worst over 450 to 650 nm, or the average. */
static double over_the_band(truth *t, const row_case *row, double aoi_deg, bc_polarization polarization)
{
    const bc_weight *weight = row->weight == NULL ? NULL : bc_weight_shipped(row->weight);
    const bool ratio = polarization == BC_POL_RATIO;
    double worst = row->sense == BC_AT_MOST ? -INFINITY : INFINITY, sum = 0.0, weights = 0.0;
    double nm[BAND], value[BAND], p[BAND];
    for (size_t i = 0; i < BAND; i++)
        nm[i] = 450.0 + 2.0 * (double)i;
    true_values(t, row, aoi_deg, ratio ? BC_POL_S : polarization, BAND, nm, value);
    if (ratio)
        true_values(t, row, aoi_deg, BC_POL_P, BAND, nm, p);
    for (size_t i = 0; i < BAND; i++) {
        const double w = (i == 0 || i == BAND - 1 ? 0.5 : 1.0) * (weight == NULL ? 1.0 : bc_weight_at(weight, nm[i]));
        value[i] /= ratio ? p[i] : 1.0;
        worst = row->sense == BC_AT_MOST ? fmax(worst, value[i]) : fmin(worst, value[i]);
        sum += w * value[i];
        weights += w;
    }
    return row->statistic == BC_AVERAGE ? sum / weights : worst;
}

static double worst_of_all(truth *t, const row_case *row)
{
    const bool each = row->polarization == BC_POL_EACH;
    double worst = row->sense == BC_AT_MOST ? -INFINITY : INFINITY;
    for (double deg = row->from_deg; deg <= row->to_deg; deg += 30.0)
        for (int plane = 0; plane < (each ? 2 : 1); plane++) {
            const double value =
                over_the_band(t, row, deg, each ? (plane == 0 ? BC_POL_S : BC_POL_P) : row->polarization);
            worst = row->sense == BC_AT_MOST ? fmax(worst, value) : fmin(worst, value);
        }
    return worst;
}

static truth made_truth(const bench *b, const double *dn)
{
    truth t = bench_truth(b);
    t.layer[1].k = 0.01;
    for (size_t j = 0; j < 3; j++) {
        t.layer[j].thickness_nm *= 1.0 + 0.02 * (double)j;
        t.layer[j].n += dn[j];
    }
    return t;
}

START_TEST(value_of_a_row)
{
    static const double dn[3] = {0.01, -0.02, 0.03};
    const row_case *row = &row_cases[_i];
    double thickness_nm[3], at_nm = 0.0;
    bc_prospect *prospect = NULL;
    bench b;
    bench_open(&b, "1.52", 3, index_of, nm_of);
    b.setup.part_back = (bc_back){.kind = BC_BACK_UNCOATED, .substrate_mm = 1.0};
    bc_callout *callout = bench_ask(&b, row->statistic, row->sense, 0.5, 450.0, 650.0);
    callout->quantity = row->quantity;
    callout->aoi_from_rad = row->from_deg * DEGREE;
    callout->aoi_to_rad = row->to_deg * DEGREE;
    callout->polarization = row->polarization;
    callout->scope = row->scope;
    callout->weight = row->weight == NULL ? NULL : bc_weight_shipped(row->weight);
    truth t = made_truth(&b, dn);
    t.back = row->scope == BC_SCOPE_PART ? BC_BACK_UNCOATED : BC_BACK_NONE;
    for (size_t j = 0; j < 3; j++)
        thickness_nm[j] = t.layer[j].thickness_nm;
    ck_assert_int_eq(bc_prospect_open(&b.setup, callout, &prospect, NULL), BC_OK);
    ck_assert_ptr_nonnull(prospect);
    const double value = bc_prospect_value(prospect, thickness_nm, dn, &at_nm), worst = worst_of_all(&t, row);
    ck_assert_double_eq_tol(value, worst, (row->weight == NULL ? 1e-3 : 5e-3) * fmax(0.05, worst));
    if (row->statistic == BC_EXTREME && row->from_deg == row->to_deg && row->polarization != BC_POL_RATIO) {
        double there;
        true_values(&t, row, row->from_deg, row->polarization, 1, &at_nm, &there);
        ck_assert_double_eq_tol(there, value, 1e-10);
    }
    bc_prospect_close(prospect);
    bench_close(&b);
}
END_TEST

/* The chroma of the reflected light is that of the spectrum at the wavelengths of the CIE. */
START_TEST(value_of_a_colour)
{
    static const double dn[3] = {0.01, -0.02, 0.03};
    double nm[BC_COLOUR_ROWS], R[BC_COLOUR_ROWS], thickness_nm[3], at_nm;
    bc_prospect *prospect = NULL;
    bc_colour colour;
    bench b;
    bench_open(&b, "1.52", 3, index_of, nm_of);
    bc_callout *callout = bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.5, 380.0, 780.0);
    callout->colour = BC_CHROMA;
    callout->weight = bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1);
    const truth t = made_truth(&b, dn);
    for (size_t j = 0; j < 3; j++)
        thickness_nm[j] = t.layer[j].thickness_nm;
    bc_colour_wavelengths(nm);
    truth_spectrum(&t, BC_COLOUR_ROWS, nm, R, NULL);
    bc_colour_of(R, BC_ILLUMINANT_D65, BC_OBSERVER_2, &colour);
    ck_assert_int_eq(bc_prospect_open(&b.setup, callout, &prospect, NULL), BC_OK);
    ck_assert_double_eq_tol(100.0 * bc_prospect_value(prospect, thickness_nm, dn, &at_nm), colour.chroma, 1e-8);
    bc_prospect_close(prospect);
    bench_close(&b);
}
END_TEST

/* Another glass at hand serves; what cannot be computed has no value, and that is no error: a glass that is not there,
 * a cone of light, a part whose back nobody knows, a band beyond a table. */
START_TEST(rows_that_cannot_be_computed)
{
    static const double table_nm[2] = {500.0, 900.0}, n[2] = {1.38, 1.38};
    bc_dispersion *table = NULL;
    bench b;
    bench_open(&b, "1.52", 3, index_of, nm_of);
    const bc_medium glass[] = {bench_medium(&b, "1.70"), bench_medium(&b, "1.80")};
    b.setup.glasses = 2;
    b.setup.glass = glass;
    ck_assert_int_eq(bc_dispersion_table("short", 2, table_nm, n, NULL, &table, NULL), BC_OK);
    for (int way = 0; way < 6; way++) {
        bc_prospect *prospect = NULL;
        bc_callout row = {
            .quantity = BC_R, .limit = 0.1, .from_nm = 550.0, .to_nm = 550.0, .polarization = BC_POL_UNPOLARIZED};
        if (way <= 1)
            strcpy(row.substrate, way == 0 ? "1.80" : "1.90");
        row.cone_rad = way == 2 ? 0.1 : 0.0;
        row.scope = way == 3 ? BC_SCOPE_PART : BC_SCOPE_SURFACE;
        b.design.layer[0].material.dispersion = way >= 4 ? table : b.design.layer[0].material.dispersion;
        row.from_nm = way == 4 ? 450.0 : 550.0;
        ck_assert_int_eq(bc_prospect_open(&b.setup, &row, &prospect, NULL), BC_OK);
        ck_assert_int_eq(prospect != NULL, way == 0 || way == 5);
        if (way == 0) {
            double R, at_nm, thickness_nm[3];
            const double none[3] = {0.0}, nm = 550.0;
            truth t = bench_truth(&b);
            t.layer[1].k = 0.01;
            t.glass_n = 1.80;
            memcpy(thickness_nm, nm_of, sizeof thickness_nm);
            truth_spectrum(&t, 1, &nm, &R, NULL);
            ck_assert_double_eq_tol(bc_prospect_value(prospect, thickness_nm, none, &at_nm), R, 1e-12);
            ck_assert_double_eq(at_nm, 550.0);
        }
        bc_prospect_close(prospect);
    }
    bc_dispersion_free(table);
    bench_close(&b);
}
END_TEST

/* Of two accounts of what happened, one of which says nothing, none is relied on. */
START_TEST(accounts_that_say_nothing)
{
    bc_error error = {0};
    bc_prediction least, most;
    bench b;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    bc_callout *row = bench_ask(&b, BC_EXTREME, BC_AT_MOST, 0.5, 450.0, 650.0);
    b.setup.from_fit = true;
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 8.0, 51);
    scan_disturb(&b, &scan, 1e-4, 0.0);
    bc_inspect_result result = {.good_fit = true};
    double dn[2] = {0.0, 0.0};
    bc_inspection inspection = {.setup = &b.setup, .result = &result, .dn = dn, .accounts = 2};
    for (size_t k = 0; k < 2; k++)
        inspection.account[k] = (bc_extra){.scatter = 0.03, .material = SIZE_MAX};
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&inspection);
    ck_assert_int_eq(bc_fit_again(&inspection, &setup, &error), BC_OK);
    bc_beliefs beliefs;
    ck_assert_int_eq(bc_believe(&inspection, &beliefs, &error), BC_OK);
    ck_assert_uint_eq(beliefs.count, 2);
    ck_assert_int_eq(bc_predict_believing(&inspection, &beliefs, row, 50, &least, &most, &error), BC_OK);
    ck_assert(least.share == 1.0 && most.share == 1.0 && least.value == most.value);
    for (size_t k = 0; k < 2; k++) { /* no covariance of the one, then of the other */
        double *first = &beliefs.belief[k].solution.covariance[0], kept = *first;
        *first = -1.0;
        ck_assert_int_eq(bc_predict_believing(&inspection, &beliefs, row, 50, &least, &most, &error), BC_OK);
        ck_assert(isnan(least.value) && isnan(most.value) && isnan(least.share) && isnan(most.share));
        *first = kept;
    }
    bc_beliefs_clear(&beliefs);
    bc_solution_clear(&inspection.solution);
    bc_fit_close(&inspection.fit);
    bc_readings_close(&inspection.readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Without a slope the probability is the share of the draws that meet the row: of a value as good as normal, that of a
 * normal number, to what 4000 draws scatter. */
START_TEST(share_of_the_draws)
{
    static const double step[] = {-1.3, -0.3, 0.7, 1.6};
    bc_error error = {0};
    bc_prediction prediction;
    bench b;
    bench_open(&b, "1.52", 2, six_index, six_nm);
    bc_callout *row = bench_ask(&b, BC_AVERAGE, BC_AT_MOST, 0.5, 450.0, 650.0);
    const truth t = bench_truth(&b);
    bc_measurement scan = bench_scan(&t, BC_MEASURED_R, 400.0, 8.0, 51);
    scan_disturb(&b, &scan, 1e-4, 0.0);
    bc_inspect_result result = {.good_fit = true};
    double dn[2] = {0.0, 0.0};
    bc_inspection inspection = {.setup = &b.setup, .result = &result, .dn = dn};
    ck_assert_int_eq(bc_readings_open(&scan, &b.setup, &inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&inspection);
    ck_assert_int_eq(bc_fit_again(&inspection, &setup, &error), BC_OK);
    ck_assert_int_eq(bc_predict(&inspection, row, 4000, &prediction, &error), BC_OK);
    const double value = prediction.value, sigma = prediction.sigma;
    ck_assert_double_eq(prediction.share, 1.0);
    ck_assert_double_gt(sigma, 0.0);
    for (size_t i = 0; i < sizeof step / sizeof *step; i++)
        for (int sense = 0; sense < 2; sense++) {
            row->sense = sense == 0 ? BC_AT_MOST : BC_AT_LEAST;
            row->limit = value + step[i] * sigma;
            ck_assert_int_eq(bc_predict(&inspection, row, 4000, &prediction, &error), BC_OK);
            ck_assert_double_eq(prediction.sigma, sigma);
            ck_assert_double_eq_tol(prediction.share, gsl_cdf_ugaussian_P(sense == 0 ? step[i] : -step[i]), 0.03);
        }
    bc_solution_clear(&inspection.solution);
    bc_fit_close(&inspection.fit);
    bc_readings_close(&inspection.readings);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

TCase *prospect_case(void)
{
    TCase *tests = tcase_create("prospect");
    tcase_add_loop_test(tests, value_of_a_row, 0, ROW_CASES);
    tcase_add_test(tests, value_of_a_colour);
    tcase_add_test(tests, rows_that_cannot_be_computed);
    tcase_add_test(tests, accounts_that_say_nothing);
    tcase_add_test(tests, share_of_the_draws);
    return tests;
}
