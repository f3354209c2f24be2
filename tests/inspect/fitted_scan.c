/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fitted_scan.h"
#include <gsl/gsl_randist.h>
#include <string.h>

const double thick_nm[LAYERS] = {92.0, 118.0, 60.0, 70.0};

void fitted_open(fitted_scan *s, unsigned what, double alike, bool instrument)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", LAYERS, six_index, thick_nm);
    if (instrument) {
        s->b.setup.uncertainty = 1e-3;
        s->b.setup.scale_uncertainty = 0.01;
        s->b.setup.fit_index = true;
    }
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, what, 400.0, 4.0, COUNT);
    double *const value[] = {s->scan.R.value, s->scan.T.value};
    for (size_t q = 0; q < 2; q++)
        for (size_t i = 0, first = 1; value[q] != NULL && i < COUNT; i++) {
            static double before;
            before = (first ? 0.0 : alike * before) + gsl_ran_gaussian(s->b.random, NOISE);
            value[q][i] += before;
            first = 0;
        }
    scan_know_noise(&s->scan, NOISE);
    s->result = (bc_inspect_result){.good_fit = true,
                                    .layers = LAYERS,
                                    .layer = s->layer,
                                    .materials = 2,
                                    .information = s->information,
                                    .pull = s->pull,
                                    .covariance = s->covariance};
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result, .dn = s->dn};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    const bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    ck_assert_int_eq(bc_fit_again(&s->inspection, &setup, &error), BC_OK);
}

void fitted_close(fitted_scan *s)
{
    bc_solution_clear(&s->inspection.solution);
    bc_fit_close(&s->inspection.fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}
