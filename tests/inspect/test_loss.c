/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Losses beyond the tables, put into a scan: how large they are and where they end.
 */
#include "fitted_scan.h"
#include <math.h>
#include <string.h>

/* A loss put into T between two wavelengths: averaged over five points, told with its uncertainty and where it ends. */
START_TEST(where_a_loss_ends)
{
    static const struct {
        double from_nm, to_nm, lost;
        bc_absorption_shape shape;
        double edge_nm;
    } cases[] = {{400.0, 500.0, 0.02, BC_ABSORPTION_BELOW, 508.0},
                 {600.0, 800.0, 0.02, BC_ABSORPTION_ABOVE, 592.0},
                 {400.0, 800.0, 0.02, BC_ABSORPTION_EVERYWHERE, 800.0},
                 {400.0, 800.0, 0.0009, BC_ABSORPTION_NONE, 0.0},
                 {400.0, 800.0, 0.0011, BC_ABSORPTION_EVERYWHERE, 800.0}};
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_R | BC_MEASURED_T, 0.0, false);
    bc_readings *readings = &s.inspection.readings;
    bc_fit_look(&s.inspection.fit, thick_nm, NULL, 0.0, false);
    for (size_t i = 0; i < COUNT; i++) {
        const double nm = readings->wavelength_nm[i];
        readings->R.value[i] = s.inspection.fit.model[0][i];
        readings->T.value[i] = s.inspection.fit.model[1][i];
        if (nm >= cases[_i].from_nm && nm <= cases[_i].to_nm)
            readings->T.value[i] -= cases[_i].lost;
        readings->R.noise[i] = 1e-4;
        readings->T.noise[i] = 2e-4;
        readings->R.systematic[i] = 3e-5;
        readings->T.systematic[i] = 4e-5;
    }
    memcpy(s.inspection.solution.point.thickness_nm, thick_nm, sizeof thick_nm);
    ck_assert_int_eq(bc_find_absorption(&s.inspection, NULL), BC_OK);
    const bc_absorption *found = &s.result.absorption;
    ck_assert(found->judged);
    ck_assert_int_eq(found->shape, cases[_i].shape);
    if (found->shape != BC_ABSORPTION_NONE) {
        ck_assert_double_eq_tol(found->most, cases[_i].lost, 1e-9);
        ck_assert_double_eq_tol(found->edge_nm, cases[_i].edge_nm, 1e-9);
        /* at an end the average is over three points */
        const double averaged =
            hypot(1e-4, 2e-4) / sqrt(found->most_nm <= 400.0 || found->most_nm >= 800.0 ? 3.0 : 5.0);
        if (found->most_nm != 404.0 && found->most_nm != 796.0)
            ck_assert_double_eq_tol(found->most_sigma, hypot(averaged, 5e-5), 1e-9);
    }
    fitted_close(&s);
}
END_TEST

static double shape_at(int which, size_t i)
{
    const double along = (double)i / (COUNT - 1);
    return which == 2 ? 1.0 : exp(-(which == 0 ? along : 1.0 - along) / 0.25);
}

/* T alone, with a loss that falls from the short end, rises to the long end, or is the same all over: its size, where
 * it is a tenth, and the layers come out as without it. */
START_TEST(a_loss_in_T_alone)
{
    static const bc_absorption_shape shape[] = {BC_ABSORPTION_BELOW, BC_ABSORPTION_ABOVE, BC_ABSORPTION_EVERYWHERE};
    const double size = 0.06, tenth = 0.25 * log(10.0); /* of exp(-x / 0.25) over the scan */
    double value[COUNT], systematic[COUNT];
    fitted_scan s;
    fitted_open(&s, BC_MEASURED_T, 0.0, false);
    for (size_t i = 0; i < COUNT; i++)
        s.inspection.readings.T.value[i] -= size * shape_at(_i, i);
    s.inspection.without_loss.value = value;
    s.inspection.without_loss.systematic = systematic;
    const bc_fit_setup setup = bc_fit_setup_of(&s.inspection);
    ck_assert_int_eq(bc_fit_again(&s.inspection, &setup, NULL), BC_OK);
    bc_find_most_left(&s.inspection);
    ck_assert_int_eq(bc_find_absorption(&s.inspection, NULL), BC_OK);
    const bc_absorption *found = &s.result.absorption;
    ck_assert(found->judged);
    ck_assert_int_eq(found->shape, shape[_i]);
    ck_assert_double_eq_tol(found->most, size, fmin(4.0 * found->most_sigma, 5e-3));
    ck_assert_double_eq_tol(found->edge_nm, _i == 0 ? 400.0 + 400.0 * tenth : 800.0 - (_i == 1 ? 400.0 * tenth : 0.0),
                            4.1);
    if (_i < 2)
        ck_assert_double_eq(found->most_nm, _i == 0 ? 400.0 : 800.0);
    for (size_t j = 0; j < LAYERS; j++)
        ck_assert_double_eq_tol(s.inspection.solution.point.thickness_nm[j], thick_nm[j], 1.0);
    for (size_t i = 0; i < COUNT; i += 20) {
        ck_assert_double_eq_tol(value[i], s.inspection.readings.T.value[i] + found->most * shape_at(_i, i), 1e-9);
        ck_assert_double_eq(systematic[i], 0.0);
    }
    fitted_close(&s);
}
END_TEST

TCase *loss_case(void)
{
    TCase *tests = tcase_create("loss");
    tcase_add_loop_test(tests, where_a_loss_ends, 0, 5);
    tcase_add_loop_test(tests, a_loss_in_T_alone, 0, 3);
    return tests;
}
