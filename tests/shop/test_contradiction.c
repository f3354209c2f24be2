/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Callouts that exclude each other: found where arithmetic is certain of it, and nowhere else.
 */
#include "contradiction.h"
#include "workshop.h"
#include <string.h>

static bool contradict(bc_callout one, bc_callout other)
{
    bc_callout rows[3] = {{.quantity = BC_A, .limit = 1.0, .from_nm = 100.0, .to_nm = 9000.0}, one, other};
    const bc_callouts callouts = {.count = 3, .callout = rows};
    size_t first = 9, second = 9;
    const bool found = bc_callouts_contradict(&callouts, &first, &second);
    ck_assert(!found || (first == 1 && second == 2));
    return found;
}

static bc_callout row(bc_quantity quantity, bc_sense sense, double limit, double from_nm, double to_nm)
{
    return (bc_callout){.quantity = quantity,
                        .sense = sense,
                        .limit = limit,
                        .from_nm = from_nm,
                        .to_nm = to_nm,
                        .polarization = BC_POL_UNPOLARIZED};
}

/* Whether some spectrum holds both rows. Tried is every one that is 0 or 1 at 400, 410, ... 450 nm: an average is to be
 * 0.6 or more and 0.4 or less, what is no average 1 and 0 throughout. */
static bool some_spectrum_holds(const bc_callout *least, const bc_callout *most)
{
    enum { POINTS = 6 };
    for (int spectrum = 0; spectrum < 1 << POINTS; spectrum++) {
        int ones[2] = {0, 0}, all[2] = {0, 0};
        for (int i = 0; i < POINTS; i++)
            for (int r = 0; r < 2; r++) {
                const bc_callout *at = r == 0 ? least : most;
                const double nm = 400.0 + 10.0 * i;
                all[r] += nm >= at->from_nm && nm <= at->to_nm;
                ones[r] += nm >= at->from_nm && nm <= at->to_nm && (spectrum >> i & 1);
            }
        if ((least->statistic == BC_EXTREME ? ones[0] == all[0] : ones[0] >= 0.6 * all[0]) &&
            (most->statistic == BC_EXTREME ? ones[1] == 0 : ones[1] <= 0.4 * all[1]))
            return true;
    }
    return false;
}

/* What is called a contradiction no spectrum holds, whatever the bands; and with one row on every wavelength, or both
 * on the same band, nothing that no spectrum holds is missed. Loop: which of the two are averages. */
START_TEST(no_spectrum_holds_what_contradicts)
{
    size_t found = 0;
    for (int band = 0; band < 36 * 36; band++) {
        bc_callout least = row(BC_R, BC_AT_LEAST, 0.6, 400.0 + 10.0 * (band % 6), 400.0 + 10.0 * (band / 6 % 6));
        bc_callout most = row(BC_R, BC_AT_MOST, 0.4, 400.0 + 10.0 * (band / 36 % 6), 400.0 + 10.0 * (band / 216));
        const bool same = least.from_nm == most.from_nm && least.to_nm == most.to_nm;
        if (least.from_nm > least.to_nm || most.from_nm > most.to_nm)
            continue;
        least.statistic = _i % 2 == 0 ? BC_EXTREME : BC_AVERAGE;
        most.statistic = _i / 2 == 0 ? BC_EXTREME : BC_AVERAGE;
        if (contradict(least, most)) {
            found++;
            ck_assert(!some_spectrum_holds(&least, &most));
        } else
            ck_assert(some_spectrum_holds(&least, &most) || (_i > 0 && !same));
    }
    ck_assert_uint_ge(found, 21); /* every band against itself */
}
END_TEST

/* R + T + A = 1: where R is high, T and A are low. */
START_TEST(what_is_reflected_is_not_transmitted)
{
    const bc_callout high = row(BC_R, BC_AT_LEAST, 0.7, 400.0, 500.0);
    ck_assert(contradict(high, row(BC_T, BC_AT_LEAST, 0.31, 450.0, 600.0)));
    ck_assert(contradict(row(BC_A, BC_AT_LEAST, 0.31, 450.0, 600.0), high));
    ck_assert(!contradict(high, row(BC_T, BC_AT_LEAST, 0.3, 450.0, 600.0)));
    ck_assert(!contradict(high, row(BC_T, BC_AT_LEAST, 0.31, 501.0, 600.0)));
    ck_assert(!contradict(high, row(BC_T, BC_AT_MOST, 0.1, 450.0, 600.0)));
    ck_assert(!contradict(high, row(BC_R, BC_AT_LEAST, 0.9, 450.0, 600.0)));
}
END_TEST

/* Of another light, part or glass a row says nothing about this one. */
START_TEST(other_light_is_no_contradiction)
{
    const bc_callout high = row(BC_R, BC_AT_LEAST, 0.7, 400.0, 500.0);
    bc_callout low = row(BC_R, BC_AT_MOST, 0.1, 400.0, 500.0), on_glass = high;
    strcpy(on_glass.substrate, "1.52");
    ck_assert(contradict(high, low));
    low.aoi_from_rad = 0.2;
    low.aoi_to_rad = 0.5;
    ck_assert(!contradict(high, low));
    low.aoi_from_rad = 0.0; /* the normal is in both */
    ck_assert(contradict(high, low));
    low.cone_rad = 0.1;
    ck_assert(!contradict(high, low));
    low.cone_rad = 0.0;
    low.polarization = BC_POL_P;
    ck_assert(!contradict(high, low));
    low.polarization = BC_POL_UNPOLARIZED;
    low.scope = BC_SCOPE_PART;
    ck_assert(!contradict(high, low));
    low.scope = high.scope;
    strcpy(low.substrate, "1.62");
    ck_assert(contradict(high, low)); /* a row on every glass */
    ck_assert(!contradict(on_glass, low));
    strcpy(low.substrate, "1.52");
    ck_assert(contradict(on_glass, low));
}
END_TEST

/* Ratios s / p do not add up to anything; of one and the same, a least above a most is one. */
START_TEST(ratios_of_r_and_t)
{
    bc_callout T = row(BC_T, BC_AT_LEAST, 0.98, 400.0, 500.0), R = row(BC_R, BC_AT_LEAST, 0.9, 400.0, 500.0), most = T;
    T.polarization = R.polarization = most.polarization = BC_POL_RATIO;
    ck_assert(!contradict(T, R));
    most.sense = BC_AT_MOST;
    most.limit = 1.02;
    ck_assert(!contradict(T, most));
    most.limit = 0.97;
    ck_assert(contradict(T, most));
}
END_TEST

/* Rows that contradict each other, the second of which is none of those that are asked about. */
START_TEST(rows_behind_the_last_count_for_nothing)
{
    bc_callout rows[2];
    const bc_callouts one = {.count = 1, .callout = rows}, both = {.count = 2, .callout = rows};
    size_t first = 9, second = 9;
    rows[_i] = row(BC_R, BC_AT_LEAST, 0.9, 400.0, 500.0);
    rows[1 - _i] = row(BC_R, BC_AT_MOST, 0.1, 400.0, 500.0);
    ck_assert(!bc_callouts_contradict(&one, &first, &second));
    ck_assert(first == 9 && second == 9);
    ck_assert(bc_callouts_contradict(&both, &first, &second));
    ck_assert(first == 0 && second == 1);
}
END_TEST

TCase *contradiction_case(void)
{
    TCase *tests = tcase_create("contradiction");
    tcase_add_loop_test(tests, no_spectrum_holds_what_contradicts, 0, 4);
    tcase_add_test(tests, what_is_reflected_is_not_transmitted);
    tcase_add_test(tests, other_light_is_no_contradiction);
    tcase_add_test(tests, ratios_of_r_and_t);
    tcase_add_loop_test(tests, rows_behind_the_last_count_for_nothing, 0, 2);
    return tests;
}
