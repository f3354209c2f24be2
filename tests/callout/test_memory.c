/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of a verdict and of its curves.
 */
#include "bench.h"
#include "out_of_memory.h"
#include "suites.h"
#include <bloomcoat/cone.h>
#include <bloomcoat/curves.h>
#include <bloomcoat/zones.h>

typedef struct verdict {
    bench_stack coated;
    bc_callout row[3];
    bc_callouts callouts;
    bc_back back;
    size_t zones;
    bc_zone zone[2];
} verdict;

static bc_status judge(void *context, bc_error *error)
{
    const verdict *v = context;
    const bc_stack *stack = &v->coated.stack;
    bc_check_result result;
    bc_check_curves curves;
    bc_status status = bc_check_zones(stack, &v->callouts, 0, NULL, &v->back, v->zones, v->zone, &result, error);
    if (status != BC_OK) {
        expect_memory_error(result.finding == NULL);
        return status;
    }
    status = bc_check_curves_compute(stack, &v->back, &result, &curves, error);
    expect_memory_error(status == BC_OK || (curves.wavelength_nm == NULL && curves.light == NULL));
    bc_check_curves_clear(&curves);
    bc_check_result_clear(&result);
    return status;
}

/* Surface rows at several zones (0), a part with a bare back (1) and with a coated one (2). */
START_TEST(a_verdict)
{
    static const single_layer coating = {.incident_n = 1.0, .layer = 1.38, .substrate = 1.52, .thickness_nm = 90.0};
    verdict v = {.zones = _i == 0 ? 2 : 0,
                 .zone = {{0.0, 0.0, 1.0, false}, {5.0, 0.5, 0.9, true}},
                 .back = {.kind = _i == 0   ? BC_BACK_NONE
                                  : _i == 1 ? BC_BACK_UNCOATED
                                            : BC_BACK_OWN,
                          .substrate_mm = 1.0}};
    lay_layer(&v.coated, &coating);
    v.back.stack = &v.coated.stack;
    for (size_t i = 0; i < 3; i++) {
        v.row[i] = callout_of(450.0, 650.0);
        v.row[i].scope = _i == 0 ? BC_SCOPE_SURFACE : BC_SCOPE_PART;
    }
    v.row[1].polarization = BC_POL_EACH;
    v.row[1].aoi_to_rad = 0.3;
    v.row[2].statistic = BC_AVERAGE;
    v.row[2].cone_rad = 0.1;
    v.callouts = (bc_callouts){.count = 3, .callout = v.row};
    ck_assert_uint_gt(fail_each_allocation(judge, &v), 20);
}
END_TEST

static bc_status open_cone(void *context, bc_error *error)
{
    bc_cone cone;
    (void)context;
    return bc_cone_open(0.3, 0.1, NULL, 8, &cone, error);
}

START_TEST(a_cone)
{
    ck_assert_uint_gt(fail_each_allocation(open_cone, NULL), 4);
}
END_TEST

TCase *memory_case(void)
{
    TCase *tcase = tcase_create("memory");
    tcase_add_checked_fixture(tcase, open_bench, close_bench);
    tcase_add_loop_test(tcase, a_verdict, 0, 3);
    tcase_add_test(tcase, a_cone);
    return tcase;
}
