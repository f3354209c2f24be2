/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What an error of one layer alone does: against the closed form of one layer, and against checks of stacks that were
 * put off by hand.
 */
#include "workshop.h"
#include <bloomcoat/sensitivity.h>
#include <math.h>
#include <string.h>

static bc_check_result check_of(const workshop *w, const bc_stack *stack)
{
    bc_check_result check;
    bc_error error;
    ck_assert_msg(bc_problem_check(&w->problem, stack, &check, &error) == BC_OK, "%s", error.message);
    return check;
}

static bc_sensitivity_result sensitivity_of(const workshop *w, bc_progress progress, void *context)
{
    bc_check_result check = check_of(w, &w->stack);
    bc_sensitivity_result result;
    bc_error error;
    ck_assert_msg(bc_sensitivity(&w->problem, &w->stack, &check, progress, context, &result, &error) == BC_OK, "%s",
                  error.message);
    bc_check_result_clear(&check);
    return result;
}

/* One layer at one wavelength: thickness off by 1 %, by 1 nm, index off by 0.01, in R by the closed form (Born and
 * Wolf, Principles of Optics, ch. 1.6.4). Loop: 80 nm, and 0.4 nm, of which not more than all can be missing. */
START_TEST(one_layer_by_its_closed_form)
{
    const double nm = _i == 0 ? 80.0 : 0.4, limit = 0.05, at_nm = 500.0;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, limit, at_nm, at_nm, 0.0);
    w.stack.layer[0].thickness_nm = nm;
    bc_sensitivity_result result = sensitivity_of(&w, NULL, NULL);
    ck_assert_uint_eq(result.layers, 1);
    ck_assert_uint_eq(result.findings, 1);
    ck_assert_uint_eq(result.decisive, 0);
    for (int up = 0; up < 2; up++) {
        const double sign = up ? 1.0 : -1.0;
        const double R[] = {[BC_ERROR_PERCENT] = one_layer(1.38, 1.52, nm * (1.0 + 0.01 * sign), at_nm),
                            [BC_ERROR_NM] = one_layer(1.38, 1.52, fmax(0.0, nm + sign), at_nm),
                            [BC_ERROR_INDEX] = one_layer(1.38 + 0.01 * sign, 1.52, nm, at_nm)};
        for (int kind = 0; kind < BC_ERROR_KINDS; kind++) {
            ck_assert_double_eq_tol(result.layer[0].value[kind][up][0], R[kind], 1e-12);
            ck_assert_double_eq_tol(result.layer[0].limit_used[kind][up], R[kind] / limit, 1e-10);
        }
    }
    bc_sensitivity_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Layers come from the substrate out, each with the verdicts of the stack that has it alone put off; the decisive one
 * is the one whose 1 % makes the verdict worst. Loop: constant indices, and a table among them. */
START_TEST(each_layer_alone)
{
    static const double nm[] = {95.0, 125.0, 30.0, 60.0};
    enum { LAYERS = sizeof nm / sizeof nm[0] };
    double most = -INFINITY;
    size_t decisive = LAYERS;
    workshop w;
    workshop_open(&w, "air", _i == 0 ? "1.38,2.1,1.38,1.7" : "1.38,TiO2,1.38,1.7", "1.52");
    workshop_ask(&w, 0.02, 450.0, 650.0, 0.0);
    workshop_ask(&w, 0.03, 480.0, 600.0, 30.0);
    for (size_t j = 0; j < LAYERS; j++)
        w.stack.layer[j].thickness_nm = nm[j];
    bc_check_result plain = check_of(&w, &w.stack);
    bc_sensitivity_result result = sensitivity_of(&w, NULL, NULL);
    ck_assert_uint_eq(result.layers, LAYERS);
    ck_assert_uint_eq(result.findings, plain.count);
    for (size_t order = 0; order < LAYERS; order++) {
        const bc_layer_sensitivity *seen = &result.layer[order];
        bc_layer *layer = &w.stack.layer[LAYERS - 1 - order];
        const bc_layer kept = *layer;
        double worst = -INFINITY;
        ck_assert_uint_eq(seen->layer, LAYERS - 1 - order);
        for (int kind = 0; kind < BC_ERROR_INDEX; kind++)
            for (int up = 0; up < 2; up++) {
                const double sign = up ? 1.0 : -1.0;
                layer->thickness_nm =
                    kind == BC_ERROR_PERCENT ? kept.thickness_nm * (1.0 + 0.01 * sign) : kept.thickness_nm + sign;
                bc_check_result off = check_of(&w, &w.stack);
                ck_assert_double_eq_tol(seen->limit_used[kind][up], off.limit_used, 1e-12);
                for (size_t f = 0; f < off.count; f++)
                    ck_assert_double_eq_tol(seen->value[kind][up][f], off.finding[f].value, 1e-14);
                worst = kind == BC_ERROR_PERCENT ? fmax(worst, off.limit_used) : worst;
                bc_check_result_clear(&off);
                *layer = kept;
            }
        ck_assert_double_eq_tol(seen->worst, worst - plain.limit_used, 1e-12);
        ck_assert(seen->limit_used[BC_ERROR_INDEX][0] != seen->limit_used[BC_ERROR_INDEX][1]);
        if (seen->worst > most) {
            most = seen->worst;
            decisive = order;
        }
    }
    ck_assert_uint_eq(result.decisive, decisive);
    bc_sensitivity_clear(&result);
    bc_check_result_clear(&plain);
    workshop_close(&w);
}
END_TEST

static bool stop_after_two(void *context, double fraction, double limit_used)
{
    double *last = context;
    ck_assert_double_gt(fraction, *last);
    ck_assert_double_gt(limit_used, 0.0);
    *last = fraction;
    return fraction < 0.5;
}

/* Stopped after two layers of four: those are there. Without layers there is nothing to be off. */
START_TEST(stopped_and_bare)
{
    double last = 0.0;
    workshop w;
    workshop_open(&w, "air", "1.38,2.1,1.38,2.1", "1.52");
    workshop_ask(&w, 0.02, 450.0, 650.0, 0.0);
    bc_sensitivity_result result = sensitivity_of(&w, stop_after_two, &last);
    ck_assert_uint_eq(result.layers, 2);
    ck_assert_double_eq(last, 0.5);
    bc_sensitivity_clear(&result);
    workshop_close(&w);
    workshop_open(&w, "air", "", "1.52");
    workshop_ask(&w, 0.02, 450.0, 650.0, 0.0);
    result = sensitivity_of(&w, NULL, NULL);
    ck_assert_uint_eq(result.layers, 0);
    ck_assert_uint_eq(result.decisive, 0);
    bc_sensitivity_clear(&result);
    workshop_close(&w);
}
END_TEST

TCase *sensitivity_case(void)
{
    TCase *tests = tcase_create("sensitivity");
    tcase_add_loop_test(tests, one_layer_by_its_closed_form, 0, 2);
    tcase_add_loop_test(tests, each_layer_alone, 0, 2);
    tcase_add_test(tests, stopped_and_bare);
    return tests;
}
