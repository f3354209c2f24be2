/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How far off a reading must lie to be an outlier, where what the others leave is known exactly.
 */
#include "fitted_scan.h"
#include "outliers.h"
#include <math.h>
#include <string.h>

#define AT 50

/* Six times the spread of the others: the noise, or 1.4826 times their median where that is more; and they must be
 * explained to twice the noise. */
START_TEST(how_far_is_far)
{
    static const struct {
        double others, outlier; /* times the noise */
        bool found;
    } cases[] = {{0.0, 6.1, true},   {0.0, 5.9, false},  {0.0, -6.1, true},  {0.5, 6.1, true},
                 {0.5, 5.9, false},  {1.0, 9.0, true},   {1.0, 8.8, false},  {1.5, 13.45, true},
                 {1.5, 13.2, false}, {1.97, 30.0, true}, {2.03, 30.0, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        bool found = !cases[c].found;
        fitted_scan s;
        fitted_open(&s, BC_MEASURED_R, 0.0, false);
        bc_readings *readings = &s.inspection.readings;
        bc_fit *fit = &s.inspection.fit;
        bc_fit_look(fit, thick_nm, NULL, 0.0, false);
        memcpy(s.inspection.solution.point.thickness_nm, thick_nm, sizeof thick_nm);
        for (size_t i = 0; i < COUNT; i++)
            readings->R.value[i] = fit->model[0][i] + NOISE * cases[c].others * (i % 2 == 0 ? 1.0 : -1.0);
        readings->R.value[AT] = fit->model[0][AT] + NOISE * cases[c].outlier;
        fit->inflation = 2.5;
        ck_assert_int_eq(bc_find_outliers(&s.inspection, &found, NULL), BC_OK);
        ck_assert_msg(found == cases[c].found, "case %zu", c);
        for (size_t i = 0; i < COUNT; i++) {
            ck_assert_int_eq(readings->R.outlier[i], found && i == AT);
            ck_assert_double_eq(fit->weight[0][i], 1.0);
        }
        ck_assert_double_eq(fit->inflation, 2.5);
        ck_assert(memcmp(s.inspection.solution.point.thickness_nm, thick_nm, sizeof thick_nm) == 0);
        fitted_close(&s);
    }
}
END_TEST

/* What is told of each: eight at most, R before T. */
START_TEST(what_is_told_of_outliers)
{
    double nm[COUNT], measured[2][COUNT], away[2][COUNT], noise[2][COUNT];
    bool outlier[2][COUNT + 2] = {{false}};
    bc_inspect_result result = {.outliers = 3};
    bc_inspection inspection = {.result = &result};
    bc_overlay *const overlay[2] = {&result.R, &result.T};
    inspection.readings = (bc_readings){.count = COUNT + 2, .first = 1, .inside = COUNT};
    for (size_t q = 0; q < 2; q++) {
        for (size_t i = 0; i < COUNT; i++) {
            nm[i] = 400.0 + (double)i;
            measured[q][i] = 0.1 * (double)(q + 1) + 1e-3 * (double)i;
            away[q][i] = 1e-2 * (double)(i + 1);
            noise[q][i] = i % 2 == 0 ? 1e-3 : 1e-6;
        }
        *overlay[q] = (bc_overlay){
            .count = COUNT, .wavelength_nm = nm, .measured = measured[q], .from_fitted = away[q], .noise = noise[q]};
        for (size_t k = 0; k < 5; k++)
            outlier[q][10 * k + 2 + q] = true; /* the first reading is beyond the tables */
        (q == 0 ? &inspection.readings.R : &inspection.readings.T)->outlier = outlier[q];
        (q == 0 ? &inspection.readings.R : &inspection.readings.T)->quantity = q == 0 ? BC_R : BC_T;
    }
    bc_tell_outliers(&inspection);
    ck_assert_uint_eq(result.outliers, 8);
    for (size_t k = 0; k < 8; k++) {
        const size_t q = k / 5, i = 10 * (k % 5) + 1 + q;
        const bc_outlier *told = &result.outlier[k];
        ck_assert(told->quantity == (q == 0 ? BC_R : BC_T) && told->wavelength_nm == nm[i] &&
                  told->value == measured[q][i] && told->away == away[q][i]);
        ck_assert_double_eq_tol(told->in_noise, away[q][i] / (i % 2 == 0 ? 1e-3 : 1e-5), 1e-9 * told->in_noise);
    }
}
END_TEST

TCase *far_case(void)
{
    TCase *tests = tcase_create("far");
    tcase_add_test(tests, how_far_is_far);
    tcase_add_test(tests, what_is_told_of_outliers);
    return tests;
}
