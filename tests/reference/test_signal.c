/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The optical signal of the growing layers. Figures are in percent and asserted to half a unit of their last digit.
 */
#include "support.h"
#include <bloomcoat/deposit.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define MOST_LAYERS 6
#define SCAN_POINTS 400

typedef struct chamber_run {
    bc_materials *materials;
    bc_stack stack;
    bc_deposit_result sheet;
} chamber_run;

static void find(chamber_run *run, const char *name, bc_medium *medium)
{
    ck_assert_int_eq(bc_medium_find(run->materials, name, NULL, medium, NULL), BC_OK);
}

/* Layers from the outer one, of constant index, on a glass of constant index. */
static void grow(chamber_run *run, const reference_stack *stack, bc_quantity signal)
{
    const bc_monitor monitor = {.signal = signal,
                                .error = 0.005,
                                .aoi_rad = stack->aoi_rad,
                                .wavelengths = 1,
                                .wavelength_nm = &stack->wavelength_nm};
    char name[BC_NAME_SIZE];
    bc_error error;
    ck_assert_int_eq(bc_materials_alloc(&run->materials, NULL), BC_OK);
    ck_assert_int_eq(bc_stack_alloc(stack->layers, &run->stack, NULL), BC_OK);
    find(run, "air", &run->stack.incident);
    snprintf(name, sizeof name, "%.17g", stack->substrate_n);
    find(run, name, &run->stack.substrate);
    for (size_t j = 0; j < stack->layers; j++) {
        snprintf(name, sizeof name, "%.17g-%.17gi", stack->layer[j].n, stack->layer[j].k);
        if (stack->layer[j].k == 0.0)
            *strchr(name, '-') = '\0';
        find(run, name, &run->stack.layer[j].material);
        run->stack.layer[j].thickness_nm = stack->layer[j].thickness_nm;
    }
    ck_assert_msg(bc_deposit(&run->stack, NULL, NULL, &monitor, &run->sheet, &error) == BC_OK, "%s", error.message);
}

static void end(chamber_run *run)
{
    bc_deposit_result_clear(&run->sheet);
    bc_stack_clear(&run->stack);
    bc_materials_free(run->materials);
}

/* The signal of one layer on bare glass starts at Fresnel's R = ((n0 - ns)/(n0 + ns))^2 (Born and Wolf, Principles of
 * Optics, ch. 1.5), turns at each quarter wave (Knittl, Optics of Thin Films, 1976), at
 * ((n0 ns - n1^2)/(n0 ns + n1^2))^2, and comes back to the bare glass at each half wave (Born and Wolf, ch. 1.6.4). */
START_TEST(one_layer_turns_at_each_quarter_wave)
{
    static const struct {
        double n1, ns;
        double bare_percent, bare_digit, turn_percent, turn_digit;
    } known[] = {{1.38, 1.52, 4.25799949609, 1e-11, 1.26007902146, 1e-11},
                 {1.38, 1.80, 8.16326530612, 1e-11, 0.0794264672411, 1e-13}, /* (0.8/2.8)^2 = 4/49 */
                 {2.2, 4.0, 36.0, 1e-11, 0.90292991544, 1e-11}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        const double quarter_nm = 550.0 / (4.0 * known[i].n1);
        const reference_layer layer = {known[i].n1, 0.0, 4.5 * quarter_nm};
        const reference_stack stack = coated(known[i].ns, 1, &layer, 550.0);
        chamber_run run;
        grow(&run, &stack, BC_R);
        const bc_layer_signal *seen = &run.sheet.layer[0].signal;
        ck_assert_double_eq_tol(100.0 * seen->start, known[i].bare_percent, 0.51 * known[i].bare_digit);
        ck_assert_uint_eq(seen->turnings, 4);
        for (size_t turn = 0; turn < 4; turn++) {
            const bool half = turn % 2 == 1;
            ck_assert_double_eq_tol(seen->turning[turn].monitor_nm, (double)(turn + 1) * quarter_nm, 1e-9);
            ck_assert_double_eq_tol(100.0 * seen->turning[turn].signal,
                                    half ? known[i].bare_percent : known[i].turn_percent,
                                    0.51 * (half ? known[i].bare_digit : known[i].turn_digit));
            ck_assert(seen->turning[turn].maximum == half);
        }
        end(&run);
    }
}
END_TEST

/* Cut at the quarter wave, at the half wave: the same figures, at the cut. (As above) */
START_TEST(cuts_at_quarter_and_half_wave)
{
    for (int half = 0; half < 2; half++) {
        const reference_layer layer = {1.38, 0.0, (half ? 2.0 : 1.0) * 550.0 / (4.0 * 1.38)};
        const reference_stack stack = coated(1.52, 1, &layer, 550.0);
        chamber_run run;
        grow(&run, &stack, BC_R);
        ck_assert_double_eq_tol(100.0 * run.sheet.layer[0].signal.cut, half ? 4.25799949609 : 1.26007902146, 0.51e-11);
        ck_assert(run.sheet.layer[0].signal.cut_at_turning);
        ck_assert_double_eq_tol(run.sheet.layer[0].signal.slope_per_nm, 0.0, 1e-14);
        end(&run);
    }
}
END_TEST

/* A stack of quarter waves, monitored at its own wavelength, is cut at a turning point layer by layer, and its R after
 * each pair is (HL)^N H's closed form: Born and Wolf, ch. 1.6.5. */
START_TEST(quarter_wave_stack_is_cut_at_its_turning_points)
{
    static const double percent[] = {67.21533371, 87.24316954};
    const reference_layer high = quarter_wave(2.3, 550.0), low = quarter_wave(1.35, 550.0);
    const reference_layer layers[] = {high, low, high, low, high};
    const reference_stack stack = coated(1.52, 5, layers, 550.0);
    chamber_run run;
    grow(&run, &stack, BC_R);
    for (size_t order = 0; order < 5; order++) {
        const bc_layer_signal *seen = &run.sheet.layer[order].signal;
        ck_assert(seen->cut_at_turning);
        ck_assert_uint_eq(seen->turnings, 1);
        ck_assert(seen->turning[0].maximum == (order % 2 == 0));
        if (order == 2 || order == 4)
            ck_assert_double_eq_tol(100.0 * seen->cut, percent[order / 2 - 1], 0.51e-8);
    }
    end(&run);
}
END_TEST

/* The layers grown up to `thickness_nm` of layer `order`, in MPC. */
static double reference_signal(reference *engine, const reference_stack *stack, size_t order, double thickness_nm,
                               bc_quantity signal)
{
    reference_stack grown = *stack;
    reference_layer layer[MOST_LAYERS];
    reference_value value[2];
    grown.layers = order + 1;
    grown.layer = layer;
    memcpy(layer, stack->layer + stack->layers - 1 - order, grown.layers * sizeof *layer);
    layer[0].thickness_nm = thickness_nm;
    reference_evaluate(engine, &grown, value);
    return signal == BC_R ? 0.5 * (value[0].R + value[1].R) : 0.5 * (value[0].T + value[1].T);
}

/* A dense scan of one layer by the reference: its inner extremes are the sheet's turning points, each between the
 * scan's neighbours, of the reference's value there, and passed by no point of the scan beside it. */
static void compare_layer(reference *engine, const reference_stack *stack, const bc_deposit_result *sheet, size_t order,
                          bc_quantity signal)
{
    const bc_layer_signal *seen = &sheet->layer[order].signal;
    const double step_nm = sheet->layer[order].monitor_nm / SCAN_POINTS;
    double value[SCAN_POINTS + 1];
    size_t found = 0;
    for (size_t i = 0; i <= SCAN_POINTS; i++)
        value[i] = reference_signal(engine, stack, order, (double)i * step_nm, signal);
    ck_assert_double_eq_tol(seen->start, value[0], 1e-12);
    ck_assert_double_eq_tol(seen->cut, value[SCAN_POINTS], 1e-12);
    for (size_t i = 1; i < SCAN_POINTS; i++) {
        const double sign = value[i] > value[i - 1] ? 1.0 : -1.0;
        const bc_turning *turning = &seen->turning[found];
        if (sign * (value[i + 1] - value[i]) >= 0.0)
            continue;
        ck_assert_uint_lt(found++, seen->turnings);
        ck_assert(turning->maximum == (sign > 0.0));
        ck_assert_double_eq_tol(turning->monitor_nm, (double)i * step_nm, step_nm);
        ck_assert_double_eq_tol(turning->signal, reference_signal(engine, stack, order, turning->monitor_nm, signal),
                                1e-12);
        ck_assert_double_ge(sign * turning->signal, sign * value[i] - 1e-12);
    }
    /* One within the scan's last step, or at the cut, is an end of the scan and no extreme of it. */
    ck_assert_uint_le(found, seen->turnings);
    for (; found < seen->turnings; found++)
        ck_assert(seen->turning[found].monitor_nm < step_nm ||
                  seen->turning[found].monitor_nm > sheet->layer[order].monitor_nm - step_nm);
}

/* Random stacks against the independent 256-bit reference (its sources: reference.h), clear and absorbing, upright and
 * slanted, R and T. */
START_TEST(turning_points_of_random_stacks)
{
    random_source random = {2301};
    reference *engine = reference_alloc(REFERENCE_BITS, MOST_LAYERS);
    ck_assert_ptr_nonnull(engine);
    for (int which = 0; which < 8; which++) {
        const bc_quantity signal = which % 2 == 0 ? BC_R : BC_T;
        reference_layer layer[MOST_LAYERS];
        chamber_run run;
        reference_stack stack = coated(uniform(&random, 1.4, 2.0), 2 + below(&random, MOST_LAYERS - 1), layer,
                                       uniform(&random, 400.0, 900.0));
        stack.aoi_rad = which % 4 < 2 ? 0.0 : uniform(&random, 0.1, 0.6);
        for (size_t j = 0; j < stack.layers; j++) {
            layer[j] = random_layer(&random, which < 4 ? CLEAR_LAYER : WEAK_LAYER);
            layer[j].k = fmin(layer[j].k, 0.02);
            layer[j].thickness_nm += 20.0;
        }
        grow(&run, &stack, signal);
        for (size_t order = 0; order < stack.layers; order++)
            compare_layer(engine, &stack, &run.sheet, order, signal);
        end(&run);
    }
    reference_free(engine);
}
END_TEST

TCase *signal_case(void)
{
    TCase *tests = tcase_create("signal");
    tcase_set_timeout(tests, 120.0);
    tcase_add_test(tests, one_layer_turns_at_each_quarter_wave);
    tcase_add_test(tests, cuts_at_quarter_and_half_wave);
    tcase_add_test(tests, quarter_wave_stack_is_cut_at_its_turning_points);
    tcase_add_test(tests, turning_points_of_random_stacks);
    return tests;
}
