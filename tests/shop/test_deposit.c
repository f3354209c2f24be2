/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The sheet: order, thickness, time, and what is not known.
 */
#include "deposition.h"
#include <bloomcoat/quote.h>
#include <math.h>
#include <string.h>

/* 19.4 / 0.97 = 20 nm at 0.25 nm/s are 80 s; 104 / 1.04 = 100 nm at 0.8 nm/s are 125 s. The door was closed 70 + 45
 * minutes before the first layer. */
START_TEST(order_thickness_and_time_are_those_by_hand)
{
    const bc_chamber chamber = {.pump_down_min = 70, .heat_min = 45, .cool_vent_min = 80, .between_layers_s = 40};
    const bc_monitor monitor = monitor_at(&(double){550.0});
    workshop w;
    bc_deposit_result sheet;
    open_rates(&w);
    sheet = deposit(&w, &w.process, &chamber, &monitor);
    ck_assert_uint_eq(sheet.layers, 2);
    ck_assert_uint_eq(sheet.layer[0].layer, 1);
    ck_assert_str_eq(sheet.layer[0].material->name, "2.1");
    ck_assert_double_eq(sheet.layer[0].thickness_nm, 19.4);
    ck_assert_double_eq_tol(sheet.layer[0].monitor_nm, 20.0, 1e-13);
    ck_assert_double_eq_tol(sheet.layer[0].time_s, 80.0, 1e-12);
    ck_assert_double_eq_tol(sheet.layer[0].starts_s, 6900.0, 1e-9);
    ck_assert_double_eq_tol(sheet.layer[0].ends_s, 6980.0, 1e-9);
    ck_assert_str_eq(sheet.layer[1].material->name, "1.38");
    ck_assert_double_eq_tol(sheet.layer[1].monitor_nm, 100.0, 1e-13);
    ck_assert_double_eq_tol(sheet.layer[1].total_nm, 123.4, 1e-12);
    ck_assert_double_eq_tol(sheet.layer[1].total_s, 205.0, 1e-12);
    ck_assert_double_eq_tol(sheet.layer[1].starts_s, 7020.0, 1e-9);
    ck_assert_double_eq_tol(sheet.layer[1].ends_s, 7145.0, 1e-9);
    ck_assert_double_eq_tol(sheet.layer_s, 205.0, 1e-12);
    ck_assert_double_eq_tol(sheet.load_s, 7145.0 + 4800.0, 1e-9);
    ck_assert_double_eq_tol(sheet.layer[0].signal.quarter_waves, 4.0 * 2.1 * 20.0 / 550.0, 1e-14);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

START_TEST(what_is_not_known_is_not_made_up)
{
    const bc_chamber chamber = {.pump_down_min = 70};
    const bc_monitor monitor = monitor_at(&(double){550.0});
    workshop w;
    bc_deposit_result sheet;
    open_rates(&w);
    sheet = deposit(&w, NULL, &chamber, &monitor);
    for (size_t order = 0; order < 2; order++) {
        ck_assert(!sheet.layer[order].has_rate && !sheet.layer[order].has_tooling && !sheet.layer[order].thin);
        ck_assert(isnan(sheet.layer[order].time_s) && isnan(sheet.layer[order].total_s));
        ck_assert(isnan(sheet.layer[order].ends_s));
        ck_assert_double_eq(sheet.layer[order].monitor_nm, sheet.layer[order].thickness_nm);
        ck_assert_double_eq(sheet.layer[order].allowed_nm, BC_ALLOWED_SHARE * sheet.layer[order].thickness_nm);
    }
    ck_assert(isnan(sheet.layer_s) && isnan(sheet.load_s));
    bc_deposit_result_clear(&sheet);
    w.row[0].thickness_sigma = 0.004; /* of the other the file says 0, which no cut keeps */
    sheet = deposit(&w, &w.process, &chamber, &monitor);
    ck_assert_double_eq(sheet.layer[0].allowed_nm, BC_ALLOWED_SHARE * 19.4);
    ck_assert_double_eq_tol(sheet.layer[1].allowed_nm, 0.004 * 104.0, 1e-12);
    bc_deposit_result_clear(&sheet);
    w.row[0].has_rate = false; /* the outer layer's: what comes before it is known */
    sheet = deposit(&w, &w.process, NULL, &monitor);
    ck_assert_double_eq_tol(sheet.layer[0].total_s, 80.0, 1e-12);
    ck_assert(isnan(sheet.layer[1].time_s) && isnan(sheet.layer[1].total_s) && isnan(sheet.layer_s));
    ck_assert(isnan(sheet.layer[0].ends_s) && isnan(sheet.load_s));
    ck_assert_double_eq_tol(sheet.layer[1].monitor_nm, 100.0, 1e-13);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

START_TEST(a_layer_below_the_minimum_is_thin)
{
    const bc_monitor monitor = monitor_at(&(double){550.0});
    workshop w;
    bc_deposit_result sheet;
    open_rates(&w);
    w.row[0].has_minimum = w.row[1].has_minimum = true;
    w.row[0].minimum_nm = 104.0;
    w.row[1].minimum_nm = 19.5;
    sheet = deposit(&w, &w.process, NULL, &monitor);
    ck_assert(sheet.layer[0].thin); /* 20 nm at the monitor, and 19.4 nm on the part */
    ck_assert(!sheet.layer[1].thin);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* What the cuts cost of the layers, no cut counted for more than is allowed, or where all are by crystal, for more than
 * the layer. */
static double share_of(const bc_deposit_result *sheet)
{
    double squares = 0.0;
    for (size_t order = 0; order < sheet->layers; order++) {
        const bc_sheet_layer *layer = &sheet->layer[order];
        const double most_nm = sheet->crystal == sheet->layers ? layer->thickness_nm : layer->allowed_nm;
        squares += pow(fmin(layer->signal.cost_nm, most_nm) / layer->thickness_nm, 2.0);
    }
    return sqrt(squares / (double)sheet->layers);
}

/* A cut may cost what the process itself is wrong by. */
START_TEST(crystal_is_advised_where_the_cut_costs_more_than_the_process)
{
    bc_monitor monitor = monitor_at(&(double){550.0});
    workshop w;
    bc_deposit_result sheet;
    double cost_nm;
    open_rates(&w);
    sheet = deposit(&w, &w.process, NULL, &monitor);
    cost_nm = sheet.layer[0].signal.cost_nm;
    bc_deposit_result_clear(&sheet);
    for (int less = 0; less < 2; less++) {
        w.row[1].thickness_sigma = cost_nm / 19.4 * (less ? 0.99 : 1.01);
        sheet = deposit(&w, &w.process, NULL, &monitor);
        ck_assert_double_eq_tol(sheet.layer[0].allowed_nm, w.row[1].thickness_sigma * 19.4, 1e-12);
        ck_assert_int_eq(sheet.layer[0].signal.cut_by, less ? BC_CUT_COARSE : BC_CUT_OPTICAL);
        ck_assert_uint_eq(sheet.crystal, (less ? 1u : 0u) + (sheet.layer[1].signal.cut_by != BC_CUT_OPTICAL));
        ck_assert_double_eq_tol(sheet.choice[0].share, share_of(&sheet), 1e-12);
        bc_deposit_result_clear(&sheet);
    }
    workshop_close(&w);
}
END_TEST

typedef void (*spoiler)(workshop *w, bc_monitor *monitor);

#define SPOILER(name, ...)                                                                                             \
    static void name(workshop *w, bc_monitor *monitor)                                                                 \
    {                                                                                                                  \
        (void)w;                                                                                                       \
        (void)monitor;                                                                                                 \
        __VA_ARGS__;                                                                                                   \
    }

static const double no_wavelength[] = {0.0}, infinite_wavelength[] = {INFINITY}, far_wavelength[] = {9000.0},
                    edge_wavelength[] = {305.0};
static double endless_list[10001];
static const size_t first_layer[] = {1}, third_layer[] = {3};

SPOILER(no_layers, w->stack.layers = 0)
SPOILER(no_thickness, w->stack.layer[1].thickness_nm = 0.0)
SPOILER(negative_thickness, w->stack.layer[0].thickness_nm = -1.0)
SPOILER(endless_thickness, w->stack.layer[0].thickness_nm = 1e9)
SPOILER(absorption_as_signal, monitor->signal = BC_A)
SPOILER(coated_back, monitor->glass_back = BC_BACK_SAME)
SPOILER(negative_glass, monitor->glass_back = BC_BACK_UNCOATED; monitor->glass_mm = -1.0)
SPOILER(grazing, monitor->aoi_rad = 0.5 * PI)
SPOILER(negative_bandwidth, monitor->bandwidth_nm = -1.0)
SPOILER(wide_bandwidth, monitor->bandwidth_nm = 400.0)
SPOILER(no_error, monitor->error = 0.0)
SPOILER(whole_error, monitor->error = 1.0)
SPOILER(zero_nm, monitor->wavelength_nm = no_wavelength)
SPOILER(infinite_nm, monitor->wavelength_nm = infinite_wavelength)
SPOILER(beyond_the_table, monitor->wavelength_nm = far_wavelength; w->stack.substrate = w->glass[1])
SPOILER(filter_beyond_the_table, monitor->wavelength_nm = edge_wavelength; monitor->bandwidth_nm = 5.0;
        w->stack.substrate = w->glass[1])
SPOILER(backwards, monitor->wavelengths = 0; monitor->from_nm = 700.0; monitor->to_nm = 400.0)
SPOILER(no_step, monitor->wavelengths = 0; monitor->step_nm = 0.0)
SPOILER(too_many, monitor->wavelengths = 0; monitor->step_nm = 1e-6)
SPOILER(too_many_named, monitor->wavelengths = 10001; monitor->wavelength_nm = endless_list;
        for (size_t i = 0; i < 10001; i++) endless_list[i] = 500.0)
/* As many as there may be, the last of which is none. */
SPOILER(most_named, monitor->wavelengths = 10000; monitor->wavelength_nm = endless_list;
        for (size_t i = 0; i < 9999; i++) endless_list[i] = 500.0; endless_list[9999] = -1.0)
SPOILER(new_before_the_first, monitor->new_glasses = 1; monitor->new_before = first_layer)
SPOILER(new_after_the_last, monitor->new_glasses = 1; monitor->new_before = third_layer)

static const struct {
    spoiler spoil;
    const char *says;
} refusals[] = {{no_layers, "no layer"},
                {no_thickness, "layer 1 from the substrate (2.1): found a thickness of 0 nm"},
                {negative_thickness, "layer 2 from the substrate (1.38): found a thickness of -1 nm"},
                {endless_thickness, "quarter waves"},
                {absorption_as_signal, "R or T"},
                {coated_back, "back"},
                {negative_glass, "-1 mm"},
                {grazing, "angle"},
                {negative_bandwidth, "bandwidth -1 nm"},
                {wide_bandwidth, "400 nm wide at 550 nm"},
                {no_error, "signal error 0 %"},
                {whole_error, "signal error 100 %"},
                {zero_nm, "wavelength 0 nm"},
                {infinite_nm, "wavelength inf nm"},
                {beyond_the_table, "9000"},
                {filter_beyond_the_table, "517642"},
                {backwards, "from 700 to 400 nm"},
                {no_step, "steps of 0 nm"},
                {too_many, "more than 10000"},
                {too_many_named, "10001 monitor wavelengths; expected 10000 at most"},
                {most_named, "wavelength -1 nm"},
                {new_before_the_first, "before layer 1"},
                {new_after_the_last, "before layer 3"}};

START_TEST(what_cannot_be_is_refused)
{
    bc_monitor monitor = monitor_at(&(double){550.0});
    workshop w;
    bc_deposit_result sheet;
    bc_error error = {0};
    open_rates(&w);
    refusals[_i].spoil(&w, &monitor);
    ck_assert_int_eq(bc_deposit(&w.stack, NULL, NULL, &monitor, &sheet, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, refusals[_i].says) != NULL, "no '%s' in '%s'", refusals[_i].says,
                  error.message);
    ck_assert_ptr_null(sheet.layer);
    ck_assert_uint_eq(sheet.layers, 0);
    w.stack.layers = 2;
    workshop_close(&w);
}
END_TEST

/* A new monitor glass before layers 2 and 4, and once more the same: layers count the glasses before them. */
START_TEST(layers_count_their_monitor_glasses)
{
    static const double nm = 550.0;
    static const size_t before[] = {4, 2, 4}, number[] = {1, 2, 2, 3, 3};
    bc_monitor monitor = monitor_at(&nm);
    workshop w;
    open_five(&w);
    monitor.new_glasses = sizeof before / sizeof before[0];
    monitor.new_before = before;
    bc_deposit_result sheet = deposit(&w, &w.process, NULL, &monitor);
    ck_assert_uint_eq(sheet.layers, 5);
    for (size_t order = 0; order < 5; order++)
        ck_assert_uint_eq(sheet.layer[order].glass_number, number[order]);
    bc_deposit_result_clear(&sheet);
    monitor.new_glasses = 0;
    sheet = deposit(&w, &w.process, NULL, &monitor);
    for (size_t order = 0; order < 5; order++)
        ck_assert_uint_eq(sheet.layer[order].glass_number, 1);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

/* A cut within a ten-thousandth of a quarter wave of a turning point is one at it, whichever side it lies on. */
START_TEST(a_cut_hardly_off_a_turning_point)
{
    static const struct {
        double off; /* quarter waves */
        size_t turnings;
        bool at;
    } known[] = {{-2e-4, 0, false}, {-0.5e-4, 1, true}, {0.5e-4, 1, true}, {2e-4, 1, false}};
    const double nm = 600.0, quarter_nm = nm / (4.0 * 2.1);
    const bc_monitor monitor = monitor_at(&nm);
    workshop w;
    workshop_open(&w, "air", "2.1", "1.52");
    w.stack.layer[0].thickness_nm = (1.0 + known[_i].off) * quarter_nm;
    workshop_errors(&w, "*", 0.0, 0.0, 0.0);
    w.row[0].has_rate = true;
    w.row[0].rate_nm_per_s = 0.4;
    bc_deposit_result sheet = deposit(&w, &w.process, NULL, &monitor);
    const bc_layer_signal *seen = &sheet.layer[0].signal;
    ck_assert_uint_eq(seen->turnings, known[_i].turnings);
    ck_assert(seen->cut_at_turning == known[_i].at && seen->has_next);
    ck_assert_double_eq_tol(seen->next.monitor_nm, (double)(known[_i].turnings + 1) * quarter_nm, 1e-6);
    ck_assert_double_eq(seen->next.time_s, seen->next.monitor_nm / 0.4);
    bc_deposit_result_clear(&sheet);
    workshop_close(&w);
}
END_TEST

TCase *deposit_case(void)
{
    TCase *tests = tcase_create("deposit");
    tcase_add_test(tests, order_thickness_and_time_are_those_by_hand);
    tcase_add_test(tests, what_is_not_known_is_not_made_up);
    tcase_add_test(tests, a_layer_below_the_minimum_is_thin);
    tcase_add_test(tests, crystal_is_advised_where_the_cut_costs_more_than_the_process);
    tcase_add_test(tests, layers_count_their_monitor_glasses);
    tcase_add_loop_test(tests, a_cut_hardly_off_a_turning_point, 0, 4);
    tcase_add_loop_test(tests, what_cannot_be_is_refused, 0, (int)(sizeof refusals / sizeof refusals[0]));
    return tests;
}
