/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <bloomcoat/quote.h>
#include <math.h>

/* How many equal circles a circle of so many diameters holds, where the best packing is a piece of the hexagonal
 * lattice: 1, 2, 3, 7 and 19 (elementary: three touching circles lie in one of 1 + 2/sqrt(3) diameters). */
START_TEST(small_loads_are_counted_by_hand)
{
    static const struct {
        double diameters;
        size_t parts;
    } known[] = {{0.99, 0}, {1.0, 1}, {1.99, 1}, {2.0, 2}, {2.1547005384, 3}, {3.0, 7}, {5.0, 19}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        ck_assert_uint_eq(bc_parts_per_load(10.0 * known[i].diameters, 10.0, 0.0), known[i].parts);
    ck_assert_uint_eq(bc_parts_per_load(2.15 * 10.0, 10.0, 0.0), 2);
    ck_assert_uint_eq(bc_parts_per_load(100.0, 0.0, 5.0), 0);
}
END_TEST

/* The extra widens the pitch, not the room at the edge: seven parts of 8 mm, 2 mm apart, lie in 28 mm. */
START_TEST(the_extra_lies_between_parts)
{
    ck_assert_uint_eq(bc_parts_per_load(28.0, 8.0, 2.0), 7);
    ck_assert_uint_lt(bc_parts_per_load(27.9, 8.0, 2.0), 7);
}
END_TEST

/* No packing of equal circles is denser than pi / sqrt(12) (Thue; Fejes Toth, 1940). */
START_TEST(no_load_is_denser_than_can_be)
{
    for (double part = 3.0; part < 300.0; part *= 1.37) {
        const double count = (double)bc_parts_per_load(640.0, part, 0.0);
        ck_assert_double_le(count * part * part, 640.0 * 640.0 * M_PI / sqrt(12.0));
        if (part < 20.0)
            ck_assert_double_gt(count * part * part, 0.8 * 640.0 * 640.0 * M_PI / sqrt(12.0));
    }
}
END_TEST

static void open_shop(workshop *w)
{
    workshop_open(w, "air", "1.38,2.1", "1.52");
    w->stack.layer[0].thickness_nm = 104.0;
    w->stack.layer[1].thickness_nm = 19.4;
    workshop_errors(w, "1.38", 0.0, 0.0, 0.0);
    workshop_errors(w, "2.1", 0.0, 0.0, 0.0);
    w->row[0].has_rate = w->row[1].has_rate = true;
    w->row[0].has_tooling = w->row[1].has_tooling = true;
    w->row[0].rate_nm_per_s = 0.8;
    w->row[0].tooling = 1.04;
    w->row[1].rate_nm_per_s = 0.25;
    w->row[1].tooling = 0.97;
}

/* 104 / (1.04 * 0.8) = 125 s and 19.4 / (0.97 * 0.25) = 80 s; 40 s between them; 70 + 45 + 80 min. */
START_TEST(hours_are_those_by_hand)
{
    const bc_chamber chamber = {.pump_down_min = 70, .heat_min = 45, .cool_vent_min = 80, .between_layers_s = 40};
    workshop w;
    open_shop(&w);
    ck_assert_double_eq_tol(bc_layer_hours(&w.stack, &w.process), 205.0 / 3600.0, 1e-14);
    ck_assert_double_eq_tol(bc_hours_per_load(&w.stack, &w.process, &chamber), (205.0 + 40.0 + 195.0 * 60.0) / 3600.0,
                            1e-14);
    workshop_close(&w);
}
END_TEST

START_TEST(what_is_not_known_gives_no_hours)
{
    const bc_chamber chamber = {.pump_down_min = 70};
    workshop w;
    open_shop(&w);
    ck_assert(isnan(bc_hours_per_load(&w.stack, &w.process, NULL)));
    ck_assert(isnan(bc_hours_per_load(&w.stack, NULL, &chamber)));
    w.row[1].has_rate = false;
    ck_assert(isnan(bc_layer_hours(&w.stack, &w.process)));
    workshop_close(&w);
}
END_TEST

TCase *load_case(void)
{
    TCase *tests = tcase_create("load");
    tcase_add_test(tests, small_loads_are_counted_by_hand);
    tcase_add_test(tests, the_extra_lies_between_parts);
    tcase_add_test(tests, no_load_is_denser_than_can_be);
    tcase_add_test(tests, hours_are_those_by_hand);
    tcase_add_test(tests, what_is_not_known_gives_no_hours);
    return tests;
}
