/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Which wavelength the monitor is set to: what is chosen, against every wavelength looked at alone.
 */
#include "deposition.h"
#include "signal.h"
#include <math.h>

static bool is_better(const bc_layer_signal *one, const bc_layer_signal *other)
{
    return one->cut_by != other->cut_by ? one->cut_by < other->cut_by : one->cost_nm < other->cost_nm;
}

/* Of several wavelengths each layer has the one at which, looked at alone, it is surest. */
START_TEST(each_layer_has_the_surest_of_several_wavelengths)
{
    static const double all[] = {450.0, 523.0, 700.0};
    bc_monitor monitor = monitor_at(all);
    workshop w;
    bc_deposit_result sheet, alone[3];
    open_five(&w);
    for (size_t i = 0; i < 3; i++) {
        const bc_monitor one = monitor_at(&all[i]);
        alone[i] = deposit(&w, NULL, NULL, &one);
    }
    monitor.wavelengths = 3;
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert(!sheet.swept);
    ck_assert_uint_eq(sheet.choices, 3);
    for (size_t order = 0; order < 5; order++) {
        const bc_layer_signal *seen = &sheet.layer[order].signal;
        bool found = false;
        for (size_t i = 0; i < 3; i++) {
            ck_assert(!is_better(&alone[i].layer[order].signal, seen));
            found = found || (all[i] == seen->wavelength_nm && alone[i].layer[order].signal.cost_nm == seen->cost_nm);
        }
        ck_assert(found);
        ck_assert_double_eq(sheet.layer[order].best_wavelength_nm, seen->wavelength_nm);
    }
    for (size_t i = 0; i < 3; i++)
        bc_deposit_result_clear(&alone[i]);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* The wavelength that is found is as good as any of the grid, looked at alone; and what is told of each layer's best is
 * the best of the grid. */
START_TEST(the_wavelength_for_the_whole_run_is_the_best_of_the_range)
{
    bc_monitor monitor = monitor_at(NULL);
    workshop w;
    bc_deposit_result sheet;
    size_t fewest = 5;
    open_five(&w);
    monitor.wavelengths = 0;
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert(sheet.swept && sheet.has_signal);
    ck_assert_uint_eq(sheet.choices, 81);
    for (size_t i = 0; i < sheet.choices; i++) {
        const bc_monitor one = monitor_at(&sheet.choice[i].wavelength_nm);
        bc_deposit_result alone = deposit(&w, NULL, NULL, &one);
        ck_assert_double_eq(sheet.choice[i].wavelength_nm, 400.0 + 5.0 * (double)i);
        ck_assert_uint_eq(sheet.choice[i].crystal, alone.crystal);
        fewest = alone.crystal < fewest ? alone.crystal : fewest;
        for (size_t order = 0; order < 5; order++)
            ck_assert(alone.layer[order].signal.cut_by > sheet.layer[order].best_cut_by ||
                      alone.layer[order].signal.cost_nm >= sheet.layer[order].best_cost_nm);
        bc_deposit_result_clear(&alone);
    }
    ck_assert_uint_eq(sheet.crystal, fewest);
    for (size_t i = 0; i < sheet.choices; i++)
        ck_assert(sheet.choice[i].crystal > fewest || sheet.choice[i].share >= sheet.choice[sheet.chosen].share);
    ck_assert_double_eq(sheet.layer[0].signal.wavelength_nm, sheet.choice[sheet.chosen].wavelength_nm);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* The table of 517642 begins at 350 nm; TiO2 absorbs at its short end; a metal is clear nowhere. */
START_TEST(the_range_is_clipped_to_where_layers_are_known_and_clear)
{
    bc_monitor monitor = monitor_at(NULL);
    workshop w;
    bc_deposit_result sheet;
    workshop_open(&w, "air", "TiO2", "517642");
    monitor.wavelengths = 0;
    monitor.from_nm = 300.0;
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert(sheet.has_signal);
    ck_assert_double_ge(sheet.choice[0].wavelength_nm, 350.0);
    for (size_t i = 0; i < sheet.choices; i++) {
        double n, k;
        ck_assert_int_eq(
            bc_dispersion_index(w.stack.layer[0].material.dispersion, 1, &sheet.choice[i].wavelength_nm, &n, &k, NULL),
            BC_OK);
        ck_assert_double_le(k, BC_MONITOR_CLEAR);
    }
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
    workshop_open(&w, "air", "0.2-3.4i", "517642");
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert(!sheet.has_signal && sheet.swept);
    ck_assert_uint_eq(sheet.choices, 0);
    ck_assert_uint_eq(sheet.layer[0].points, 0);
    ck_assert_double_eq(sheet.layer[0].monitor_nm, 100.0);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* A quarter wave is that of |N|, n2 + k2, at the angle inside. */
START_TEST(the_quarter_wave_of_a_metal)
{
    static const double monitor_nm[] = {100.0};
    bc_monitor monitor = monitor_at(&(double){600.0});
    bc_signal *signal;
    workshop w;
    workshop_open(&w, "air", _i == 0 ? "0.2-3.4i" : "1.38", "517642");
    monitor.aoi_rad = 0.5;
    ck_assert_int_eq(bc_signal_alloc(&w.stack, &monitor, 600.0, monitor_nm, &signal, NULL), BC_OK);
    bc_signal_grow(signal, 0, 0);
    ck_assert_double_eq_tol(bc_signal_quarter_nm(signal),
                            150.0 / sqrt((_i == 0 ? 0.04 + 11.56 : 1.9044) - pow(sin(0.5), 2.0)), 1e-9);
    ck_assert_double_eq(bc_signal_largest_k(signal), _i == 0 ? 3.4 : 0.0);
    bc_signal_free(signal);
    workshop_close(&w);
}
END_TEST

TCase *monitor_case(void)
{
    TCase *tests = tcase_create("monitor");
    tcase_add_test(tests, each_layer_has_the_surest_of_several_wavelengths);
    tcase_add_test(tests, the_wavelength_for_the_whole_run_is_the_best_of_the_range);
    tcase_add_test(tests, the_range_is_clipped_to_where_layers_are_known_and_clear);
    tcase_add_loop_test(tests, the_quarter_wave_of_a_metal, 0, 2);
    return tests;
}
