/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The signal against the engine's spectrum of the finished layers, closed forms, and what its definitions demand.
 */
#include "deposition.h"
#include <bloomcoat/spectrum.h>
#include <math.h>

#define EXACT 1e-12

/* What the spectrum says of layers [first, first + layers) of the stack, in order of deposition, with thicknesses of
 * their own, on `glass`. */
static double spectrum_of(const bc_stack *stack, const bc_medium *glass, size_t first, size_t layers,
                          const double *thickness_nm, bc_back_kind kind, const bc_monitor *monitor)
{
    const bc_back back = {.kind = kind, .substrate_mm = monitor->glass_mm};
    bc_stack grown;
    bc_spectrum spectrum;
    double value;
    ck_assert_int_eq(bc_stack_alloc(layers, &grown, NULL), BC_OK);
    grown.incident = stack->incident;
    grown.substrate = *glass;
    for (size_t i = 0; i < layers; i++) {
        grown.layer[layers - 1 - i] = stack->layer[stack->layers - 1 - first - i];
        grown.layer[layers - 1 - i].thickness_nm = thickness_nm[i];
    }
    ck_assert_int_eq(
        bc_spectrum_compute(&grown, &back, 1, monitor->wavelength_nm, monitor->aoi_rad, BC_PATH_AUTO, &spectrum, NULL),
        BC_OK);
    value = (monitor->signal == BC_R ? spectrum.R : spectrum.T)[BC_POL_UNPOLARIZED][0];
    bc_spectrum_clear(&spectrum);
    bc_stack_clear(&grown);
    return value;
}

/* Layer by layer, the sheet ends where the finished stack begins; and each layer starts where the last one was cut. */
START_TEST(the_last_cut_is_the_finished_stack)
{
    bc_monitor monitor = monitor_at(&(double){523.0});
    const double designed[] = {71.9, 12.4, 160.2, 55.1, 97.3};
    workshop w;
    bc_deposit_result sheet;
    open_five(&w);
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert_double_eq_tol(sheet.layer[4].signal.cut,
                            spectrum_of(&w.stack, &w.glass[0], 0, 5, designed, BC_BACK_NONE, &monitor), EXACT);
    ck_assert_double_eq_tol(sheet.layer[0].signal.start, pow((1.52 - 1.0) / (1.52 + 1.0), 2.0), EXACT);
    for (size_t order = 1; order < 5; order++)
        ck_assert_double_eq_tol(sheet.layer[order].signal.start, sheet.layer[order - 1].signal.cut, EXACT);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* With tooling the monitor glass carries the thicknesses at the monitor; on another glass, at an angle, through the
 * glass. */
START_TEST(the_monitor_glass_carries_the_thickness_at_the_monitor)
{
    const double toolings[2] = {1.04, 0.91};
    bc_monitor monitor = monitor_at(&(double){523.0});
    double grown[5];
    workshop w;
    open_five(&w);
    w.row[0].tooling = toolings[0];
    w.row[1].tooling = toolings[1];
    for (size_t order = 0; order < 5; order++) {
        const bc_layer *layer = &w.stack.layer[4 - order];
        grown[order] = layer->thickness_nm / toolings[order == 1 || order == 3];
    }
    for (int round = 0; round < 8; round++) {
        const bc_medium *glass = round & 1 ? &w.glass[1] : &w.glass[2];
        const bc_back_kind kind = round & 2 ? BC_BACK_UNCOATED : BC_BACK_NONE;
        bc_deposit_result sheet;
        monitor.glass = glass;
        monitor.glass_back = kind;
        monitor.signal = round & 4 ? BC_T : BC_R;
        monitor.aoi_rad = round >= 3 ? 0.4 : 0.0;
        sheet = deposit(&w, &w.process, NULL, &monitor);
        for (size_t order = 0; order < 5; order++) {
            ck_assert_double_eq_tol(sheet.layer[order].monitor_nm, grown[order], 1e-12);
            ck_assert_double_eq_tol(sheet.layer[order].signal.cut,
                                    spectrum_of(&w.stack, glass, 0, order + 1, grown, kind, &monitor), EXACT);
        }
        grown[4] += 0.01;
        const double later = spectrum_of(&w.stack, glass, 0, 5, grown, kind, &monitor);
        grown[4] -= 0.02;
        const double earlier = spectrum_of(&w.stack, glass, 0, 5, grown, kind, &monitor);
        grown[4] += 0.01;
        ck_assert_double_eq_tol(sheet.layer[4].signal.slope_per_nm, (later - earlier) / 0.02, 1e-9);
        bc_deposit_result_clear(&sheet);
    }
    workshop_close(&w);
}
END_TEST

/* Whatever the coating is met from in use, the chamber is empty. */
START_TEST(the_signal_is_met_from_vacuum)
{
    bc_monitor monitor = monitor_at(&(double){523.0});
    workshop w;
    bc_deposit_result dry, wet;
    open_five(&w);
    dry = deposit(&w, NULL, NULL, &monitor);
    w.stack.incident = w.glass[0];
    wet = deposit(&w, NULL, NULL, &monitor);
    ck_assert_double_eq(dry.layer[4].signal.cut, wet.layer[4].signal.cut);
    bc_deposit_result_clear(&dry);
    bc_deposit_result_clear(&wet);
    workshop_close(&w);
}
END_TEST

START_TEST(a_new_monitor_glass_begins_bare)
{
    static const size_t before[] = {4, 2};
    bc_monitor monitor = monitor_at(&(double){523.0});
    const double designed[] = {12.4, 160.2};
    static const size_t expected[] = {1, 2, 2, 3, 3};
    workshop w;
    bc_deposit_result sheet;
    open_five(&w);
    monitor.new_glasses = 2;
    monitor.new_before = before;
    sheet = deposit(&w, NULL, NULL, &monitor);
    for (size_t order = 0; order < 5; order++)
        ck_assert_uint_eq(sheet.layer[order].glass_number, expected[order]);
    ck_assert_double_eq_tol(sheet.layer[1].signal.start, pow(0.52 / 2.52, 2.0), EXACT);
    ck_assert_double_eq_tol(sheet.layer[3].signal.start, pow(0.52 / 2.52, 2.0), EXACT);
    ck_assert_double_eq_tol(sheet.layer[2].signal.cut,
                            spectrum_of(&w.stack, &w.glass[0], 1, 2, designed, BC_BACK_NONE, &monitor), EXACT);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

static void open_one(workshop *w, const char *material, double thickness_nm)
{
    workshop_open(w, "air", material, "1.52");
    w->stack.layer[0].thickness_nm = thickness_nm;
    workshop_errors(w, "*", 0.0, 0.0, 0.0);
}

/* 2.75 quarter waves of 2.1 at 600 nm turn after one and after two, by closed form at bare glass and at the quarter
 * wave's R; a layer of 0.5 nm/s gets there in twice its nm. */
START_TEST(turning_points_of_one_layer_are_exact)
{
    const double quarter_nm = 600.0 / (4.0 * 2.1), quarter_R = pow((1.52 - 2.1 * 2.1) / (1.52 + 2.1 * 2.1), 2.0);
    bc_monitor monitor = monitor_at(&(double){600.0});
    workshop w;
    bc_deposit_result sheet;
    const bc_layer_signal *seen;
    open_one(&w, "2.1", 2.75 * quarter_nm);
    w.row[0].has_rate = true;
    w.row[0].rate_nm_per_s = 0.5;
    sheet = deposit(&w, &w.process, NULL, &monitor);
    seen = &sheet.layer[0].signal;
    ck_assert_double_eq_tol(seen->quarter_waves, 2.75, 1e-13);
    ck_assert_uint_eq(seen->turnings, 2);
    ck_assert_double_eq_tol(seen->turning[0].monitor_nm, quarter_nm, 1e-9);
    ck_assert_double_eq_tol(seen->turning[0].time_s, 2.0 * quarter_nm, 1e-8);
    ck_assert_double_eq_tol(seen->turning[0].signal, quarter_R, EXACT);
    ck_assert(seen->turning[0].maximum);
    ck_assert_double_eq_tol(seen->turning[1].monitor_nm, 2.0 * quarter_nm, 1e-9);
    ck_assert_double_eq_tol(seen->turning[1].signal, pow(0.52 / 2.52, 2.0), EXACT);
    ck_assert(!seen->turning[1].maximum && !seen->cut_at_turning && seen->has_next && seen->next.maximum);
    ck_assert_double_eq_tol(seen->next.monitor_nm, 3.0 * quarter_nm, 1e-9);
    ck_assert_double_eq_tol(seen->high, quarter_R, EXACT);
    ck_assert_double_eq_tol(seen->swing, (seen->cut - seen->start) / (quarter_R - seen->start), 1e-11);
    ck_assert_double_eq_tol(seen->error, 0.005 * quarter_R, EXACT);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* Through a falling swing the share counts from its top. */
START_TEST(swing_counts_from_the_last_turning_point)
{
    const double quarter_nm = 600.0 / (4.0 * 2.1);
    bc_monitor monitor = monitor_at(&(double){600.0});
    workshop w;
    bc_deposit_result sheet;
    open_one(&w, "2.1", 1.5 * quarter_nm);
    sheet = deposit(&w, NULL, NULL, &monitor);
    const bc_layer_signal *seen = &sheet.layer[0].signal;
    ck_assert_double_eq_tol(seen->swing,
                            (seen->turning[0].signal - seen->cut) / (seen->turning[0].signal - seen->start), 1e-11);
    ck_assert_double_gt(seen->swing, 0.4);
    ck_assert_double_lt(seen->swing, 0.6);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* By definition: at the costs the signal is off by its error, and nowhere nearer. Cuts before, at and behind turning
 * points, by Airy's closed form of one layer. */
START_TEST(the_cost_is_where_the_signal_is_off_by_its_error)
{
    static const double quarters[] = {0.3, 0.75, 0.9, 0.99, 1.0, 1.01, 1.02, 1.6, 2.0, 2.97};
    const double quarter_nm = 600.0 / (4.0 * 2.1);
    for (size_t i = 0; i < sizeof quarters / sizeof quarters[0]; i++) {
        bc_monitor monitor = monitor_at(&(double){600.0});
        const double cut_nm = quarters[i] * quarter_nm;
        workshop w;
        bc_deposit_result sheet;
        const bc_layer_signal *seen;
        double at_cut;
        open_one(&w, "2.1", cut_nm);
        sheet = deposit(&w, NULL, NULL, &monitor);
        seen = &sheet.layer[0].signal;
        at_cut = one_layer(2.1, 1.52, cut_nm, 600.0);
        ck_assert_double_eq_tol(fabs(one_layer(2.1, 1.52, cut_nm - seen->early_nm, 600.0) - at_cut), seen->error,
                                1e-12);
        ck_assert_double_eq_tol(fabs(one_layer(2.1, 1.52, cut_nm + seen->late_nm, 600.0) - at_cut), seen->error, 1e-12);
        for (double share = 0.01; share < 0.995; share += 0.01) {
            ck_assert_double_lt(fabs(one_layer(2.1, 1.52, cut_nm - share * seen->early_nm, 600.0) - at_cut),
                                seen->error);
            ck_assert_double_lt(fabs(one_layer(2.1, 1.52, cut_nm + share * seen->late_nm, 600.0) - at_cut),
                                seen->error);
        }
        ck_assert_double_eq(seen->cost_nm, fmax(seen->early_nm, seen->late_nm));
        ck_assert(seen->cut_at_turning == (quarters[i] == 1.0 || quarters[i] == 2.0));
        ck_assert(!seen->cut_at_turning || seen->swing > 1.0 - 1e-6);
        bc_deposit_result_clear(&sheet);
        workshop_close(&w);
    }
}
END_TEST

/* Far from a turning point a small error costs error / |slope|, on the part: times the tooling. The slope is held
 * against differences of Airy's closed form. */
START_TEST(the_cost_of_a_small_error_is_the_slope)
{
    const double n = 2.1, glass_n = 1.52, nm = 90.0 / 0.9, wavelength_nm = 600.0, step_nm = 1e-3;
    const double slope =
        (one_layer(n, glass_n, nm + step_nm, wavelength_nm) - one_layer(n, glass_n, nm - step_nm, wavelength_nm)) /
        (2.0 * step_nm);
    bc_monitor monitor = monitor_at(&wavelength_nm);
    workshop w;
    bc_deposit_result sheet;
    const bc_layer_signal *seen;
    open_one(&w, "2.1", 90.0);
    w.row[0].has_tooling = true;
    w.row[0].tooling = 0.9;
    monitor.error = 1e-6;
    monitor.error_of = BC_ERROR_OF_CUT;
    sheet = deposit(&w, &w.process, NULL, &monitor);
    seen = &sheet.layer[0].signal;
    ck_assert_double_eq_tol(seen->error, 1e-6 * seen->cut, 1e-18);
    ck_assert_double_eq_tol(seen->slope_per_nm, slope, 1e-9);
    ck_assert_double_eq_tol(seen->linear_nm / (0.9 * seen->error / fabs(slope)), 1.0, 1e-6);
    ck_assert_double_eq_tol(seen->early_nm / seen->linear_nm, 1.0, 1e-4);
    ck_assert_double_eq_tol(seen->late_nm / seen->linear_nm, 1.0, 1e-4);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* A layer of the glass's own index shows nothing at all; one that is hardly begun has not moved by the error yet. */
START_TEST(a_signal_that_does_not_move_is_said_to_be_flat)
{
    bc_monitor monitor = monitor_at(&(double){600.0});
    workshop w;
    bc_deposit_result sheet;
    open_one(&w, "1.52", 100.0);
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert_int_eq(sheet.layer[0].signal.cut_by, BC_CUT_FLAT);
    ck_assert(isinf(sheet.layer[0].signal.early_nm) && isinf(sheet.layer[0].signal.late_nm));
    ck_assert(isnan(sheet.layer[0].signal.swing));
    ck_assert_uint_eq(sheet.layer[0].signal.turnings, 0);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
    open_one(&w, "2.1", 0.1);
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert_int_eq(sheet.layer[0].signal.cut_by, BC_CUT_FLAT);
    ck_assert(isinf(sheet.layer[0].signal.early_nm) && isfinite(sheet.layer[0].signal.late_nm));
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* Against a fine quadrature of Airy's closed form over the whole Gaussian; what lies beyond 4 standard deviations is
 * 6.3e-5 of it. */
START_TEST(a_wide_filter_averages)
{
    const double middle_nm = 600.0, width_nm = 30.0, nm = 310.0, sigma_nm = width_nm / sqrt(8.0 * log(2.0));
    bc_monitor monitor = monitor_at(&middle_nm);
    double sum = 0.0, weights = 0.0;
    workshop w;
    bc_deposit_result sheet;
    open_one(&w, "2.1", nm);
    monitor.bandwidth_nm = width_nm;
    sheet = deposit(&w, NULL, NULL, &monitor);
    for (int i = -4000; i <= 4000; i++) {
        const double at = (double)i * 0.002, weight = exp(-0.5 * at * at);
        sum += weight * one_layer(2.1, 1.52, nm, middle_nm + at * sigma_nm);
        weights += weight;
    }
    ck_assert_double_eq_tol(sheet.layer[0].signal.cut, sum / weights, 6.3e-5 * 0.2);
    ck_assert_double_gt(fabs(one_layer(2.1, 1.52, nm, middle_nm) - sum / weights), 1e-3); /* it does matter */
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* A metal's signal dies away, and nothing turns for ever. */
START_TEST(a_metal_fades)
{
    bc_monitor monitor = monitor_at(&(double){600.0});
    workshop w;
    bc_deposit_result sheet;
    open_one(&w, "0.2-3.4i", 400.0);
    monitor.signal = BC_T;
    sheet = deposit(&w, NULL, NULL, &monitor);
    ck_assert_double_lt(sheet.layer[0].signal.cut, 1e-10);
    ck_assert_double_eq(sheet.layer[0].signal.k, 3.4);
    ck_assert_int_eq(sheet.layer[0].signal.cut_by, BC_CUT_FLAT);
    ck_assert(isinf(sheet.layer[0].signal.late_nm));
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* The curve runs from start to cut, and every point of it is the spectrum of what has grown. */
START_TEST(the_curve_is_the_signal)
{
    bc_monitor monitor = monitor_at(&(double){523.0});
    double grown[] = {71.9, 12.4, 0.0};
    workshop w;
    bc_deposit_result sheet;
    const bc_sheet_layer *layer;
    open_five(&w);
    sheet = deposit(&w, NULL, NULL, &monitor);
    layer = &sheet.layer[2];
    ck_assert_double_eq(layer->curve_monitor_nm[0], 0.0);
    ck_assert_double_eq(layer->curve_monitor_nm[layer->points - 1], 160.2);
    ck_assert_double_eq(layer->curve_signal[0], layer->signal.start);
    ck_assert_double_eq(layer->curve_signal[layer->points - 1], layer->signal.cut);
    ck_assert_double_ge((double)(layer->points - 1), 32.0 * layer->signal.quarter_waves);
    for (size_t i = 1; i < layer->points; i += 7) {
        grown[2] = layer->curve_monitor_nm[i];
        ck_assert_double_gt(layer->curve_monitor_nm[i], layer->curve_monitor_nm[i - 1]);
        ck_assert_double_eq_tol(layer->curve_signal[i],
                                spectrum_of(&w.stack, &w.glass[0], 0, 3, grown, BC_BACK_NONE, &monitor), EXACT);
    }
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* The signal when the third layer, of 1.65 and 160.2 nm, has grown to so much. */
static double partly_grown(workshop *w, double gradient, double thickness_nm, const bc_monitor *monitor)
{
    const double share = thickness_nm / 160.2, mean = 1.0 - 0.5 * gradient + 0.5 * gradient * share;
    const double grown[] = {71.9, 12.4, thickness_nm};
    const bc_medium kept = w->stack.layer[2].material;
    bc_dispersion *constant, *graded;
    double seen;
    ck_assert_int_eq(bc_dispersion_constant("grown", 1.65 * mean, 0.0, &constant, NULL), BC_OK);
    ck_assert_int_eq(bc_dispersion_graded(constant, gradient * share / mean, &graded, NULL), BC_OK);
    w->stack.layer[2].material.dispersion = graded;
    seen = spectrum_of(&w->stack, &w->glass[0], 0, 3, grown, monitor->glass_back, monitor);
    w->stack.layer[2].material = kept;
    bc_dispersion_free(graded);
    bc_dispersion_free(constant);
    return seen;
}

/* A graded layer grows with its index: what has grown of it is a thinner graded layer that begins with the same index,
 * rises by as much in a nanometre, and is no more than that. */
START_TEST(a_graded_layer_grows)
{
    static const double gradients[] = {0.06, -0.2};
    bc_monitor monitor = monitor_at(&(double){523.0});
    for (size_t g = 0; g < 2; g++) {
        const double gradient = gradients[g];
        workshop w;
        bc_deposit_result sheet;
        const bc_sheet_layer *layer;
        bc_layer *third;
        open_five(&w);
        third = &w.stack.layer[2];
        monitor.signal = g == 0 ? BC_R : BC_T;
        monitor.glass_back = g == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED;
        ck_assert_int_eq(
            bc_materials_graded(w.materials, third->material.dispersion, gradient, &third->material.dispersion, NULL),
            BC_OK);
        sheet = deposit(&w, NULL, NULL, &monitor);
        layer = &sheet.layer[2];
        ck_assert_double_eq_tol(sheet.layer[3].signal.start, layer->signal.cut, EXACT);
        for (size_t i = 1; i < layer->points; i += 5)
            ck_assert_double_eq_tol(layer->curve_signal[i],
                                    partly_grown(&w, gradient, layer->curve_monitor_nm[i], &monitor), 1e-6);
        ck_assert_double_eq_tol(
            layer->signal.slope_per_nm,
            (partly_grown(&w, gradient, 160.21, &monitor) - partly_grown(&w, gradient, 160.19, &monitor)) / 0.02, 1e-6);
        bc_deposit_result_clear(&sheet);
        workshop_close(&w);
    }
}
END_TEST

TCase *signal_case(void)
{
    TCase *tests = tcase_create("signal");
    tcase_add_test(tests, the_last_cut_is_the_finished_stack);
    tcase_add_test(tests, the_monitor_glass_carries_the_thickness_at_the_monitor);
    tcase_add_test(tests, the_signal_is_met_from_vacuum);
    tcase_add_test(tests, a_new_monitor_glass_begins_bare);
    tcase_add_test(tests, turning_points_of_one_layer_are_exact);
    tcase_add_test(tests, swing_counts_from_the_last_turning_point);
    tcase_add_test(tests, the_cost_is_where_the_signal_is_off_by_its_error);
    tcase_add_test(tests, the_cost_of_a_small_error_is_the_slope);
    tcase_add_test(tests, a_signal_that_does_not_move_is_said_to_be_flat);
    tcase_add_test(tests, a_wide_filter_averages);
    tcase_add_test(tests, a_metal_fades);
    tcase_add_test(tests, the_curve_is_the_signal);
    tcase_add_test(tests, a_graded_layer_grows);
    return tests;
}
