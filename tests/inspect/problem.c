/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "problem.h"
#include <string.h>

/* Everything that can be uncertain is. */
static const bc_extra everything = {.layer = 0.1,
                                    .layer_at = 2,
                                    .common = 0.05,
                                    .material = 1,
                                    .index = 0.04,
                                    .scale = 0.1,
                                    .wavelength = 0.9,
                                    .constant = 0.005};

void problem_open(problem *s, const sight *look, bool all)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.52", LAYERS, six_index, six_nm);
    s->row = (bc_process_row){.material = "*",
                              .has_thickness_sigma = true,
                              .thickness_sigma = 0.02,
                              .has_run_thickness_sigma = true,
                              .run_thickness_sigma = -0.03,
                              .has_index_sigma = true,
                              .index_sigma = 0.01};
    s->process = (bc_process){.rows = 1, .row = &s->row};
    s->b.setup.process = &s->process;
    s->b.setup.uncertainty = 2e-3;
    s->b.setup.scale_uncertainty = 0.02;
    s->b.setup.wavelength_uncertainty_nm = 0.6;
    s->b.setup.aoi_rad = look->aoi_deg * DEGREE;
    s->b.setup.polarization = look->polarization;
    s->b.setup.back = (bc_back){.kind = look->back, .substrate_mm = 1.0};
    const truth t = bench_truth(&s->b);
    s->scan = bench_scan(&t, BC_MEASURED_R | BC_MEASURED_T, 450.0, STEP_NM, COUNT);
    scan_disturb(&s->b, &s->scan, NOISE, 1e-3);
    scan_know_noise(&s->scan, NOISE);
    s->inspection = (bc_inspection){.setup = &s->b.setup, .result = &s->result};
    ck_assert_int_eq(bc_readings_open(&s->scan, &s->b.setup, &s->inspection.readings, &error), BC_OK);
    s->inspection.readings.T.outlier[7] = true;
    bc_fit_setup setup = bc_fit_setup_of(&s->inspection);
    setup.weak = false;
    setup.extra = all ? &everything : NULL;
    ck_assert_int_eq(bc_fit_open(&setup, &s->fit, &error), BC_OK);
    s->fit.inflation = 1.5;
}

void problem_close(problem *s)
{
    bc_fit_close(&s->fit);
    bc_readings_close(&s->inspection.readings);
    bc_measurement_clear(&s->scan);
    bench_close(&s->b);
}
