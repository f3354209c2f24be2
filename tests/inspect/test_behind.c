/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A design may lie in a longer array than its layers: what comes after them has no say.
 */
#include "witness.h"
#include <math.h>

#define LAYERS 3

static bc_inspect_result inspect_with(bench *b, const truth *t, const bc_medium *behind, double behind_nm)
{
    bc_layer longer[LAYERS + 2];
    bc_stack design = b->design;
    for (size_t j = 0; j < LAYERS + 2; j++)
        longer[j] = j < LAYERS ? b->design.layer[j] : (bc_layer){*behind, behind_nm, false};
    design.layer = longer;
    b->setup.design = &design;
    bc_inspect_result result = bench_scan_and_inspect(b, t, BC_MEASURED_R);
    b->setup.design = &b->design;
    return result;
}

/* The only layer of its material is off: one cause, whatever lies behind, by the same odds, and the same layers. Loop:
 * which layer is off. */
START_TEST(layers_behind_the_last_have_no_say)
{
    static const char *const index[LAYERS] = {"1.38", "2.10", "1.70"};
    static const double nm[LAYERS] = {95.0, 130.0, 70.0};
    bench b;
    bench_open(&b, "1.52", LAYERS, index, nm);
    truth t = bench_truth(&b);
    t.layer[_i].thickness_nm *= 1.04;
    bc_inspect_result plain = inspect_with(&b, &t, &b.design.incident, NAN);
    ck_assert_double_eq_tol(plain.layer[_i].fitted_nm, t.layer[_i].thickness_nm, 0.3);
    for (size_t other = 0; other < LAYERS; other++) {
        const bc_medium material = b.design.layer[other].material;
        bc_inspect_result result = inspect_with(&b, &t, &material, 100.0 + (double)other);
        ck_assert_int_eq(result.verdict, plain.verdict);
        ck_assert_int_eq(result.cause[0].kind, plain.cause[0].kind);
        ck_assert_uint_eq(result.causes, plain.causes);
        ck_assert_double_eq_tol(result.cause_odds, plain.cause_odds, 1e-9 * plain.cause_odds);
        ck_assert_double_eq(result.rms, plain.rms);
        for (size_t j = 0; j < LAYERS; j++) {
            ck_assert_double_eq(result.layer[j].fitted_nm, plain.layer[j].fitted_nm);
            ck_assert_double_eq(result.next_stack.layer[j].thickness_nm, plain.next_stack.layer[j].thickness_nm);
        }
        bc_inspect_result_clear(&result);
    }
    bc_inspect_result_clear(&plain);
    bench_close(&b);
}
END_TEST

TCase *behind_case(void)
{
    TCase *tests = tcase_create("behind");
    tcase_add_loop_test(tests, layers_behind_the_last_have_no_say, 0, LAYERS);
    return tests;
}
