/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"
#include <bloomcoat/quote.h>
#include <gsl/gsl_randist.h>
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

static double at_least(unsigned wanted, unsigned trials, double p)
{
    double sum = 0.0;
    for (unsigned good = wanted; good <= trials; good++)
        sum += gsl_ran_binomial_pdf(good, p, trials);
    return sum;
}

/* The number of loads is the least with which so many succeed at the confidence asked for: binomial terms, added up. */
START_TEST(loads_suffice_at_the_confidence)
{
    static const struct {
        size_t quantity, parts, runs;
        double yield, confidence;
    } order[] = {{100, 7, 1, 0.9, 0.95},  {100, 7, 2, 0.8, 0.95}, {5, 7, 1, 0.6, 0.99},  {400, 20, 1, 0.99, 0.5},
                 {20000, 1, 1, 0.9, 0.5}, {1, 1, 1, 0.5, 0.5},    {1, 1, 1, 0.001, 0.95}};
    const size_t batches = (order[_i].quantity + order[_i].parts - 1) / order[_i].parts;
    const bc_load_plan plan = bc_plan_loads(order[_i].quantity, order[_i].parts, order[_i].runs, BC_FAILED_STRIP,
                                            order[_i].yield, order[_i].confidence);
    const unsigned wanted = (unsigned)(batches * order[_i].runs);
    ck_assert_uint_eq(plan.loads, wanted);
    ck_assert_double_eq_tol(plan.expected, (double)wanted / order[_i].yield, 1e-9);
    ck_assert_uint_eq(plan.blanks, order[_i].quantity);
    ck_assert_double_ge(at_least(wanted, (unsigned)plan.at_confidence, order[_i].yield), order[_i].confidence);
    if (plan.at_confidence > wanted)
        ck_assert_double_lt(at_least(wanted, (unsigned)plan.at_confidence - 1, order[_i].yield), order[_i].confidence);
}
END_TEST

/* Of scrapped parts a failed load takes its parts with it. Expected loads of two runs: E = 1 + (1-y) E + y (1 + (1-y)
 * E) for each batch, solved here by repetition. */
START_TEST(scrapped_parts_need_blanks)
{
    const double y = 0.8;
    double expected = 0.0;
    bc_load_plan plan = bc_plan_loads(100, 7, 1, BC_FAILED_SCRAP, y, 0.95);
    ck_assert_uint_gt(plan.at_confidence, 15);
    ck_assert_uint_eq(plan.blanks, 100 + (plan.at_confidence - 15) * 7);
    ck_assert_double_ge(at_least(15, (unsigned)plan.at_confidence, y), 0.95);
    plan = bc_plan_loads(100, 7, 2, BC_FAILED_SCRAP, y, 0.95);
    for (int round = 0; round < 200; round++)
        expected = 1.0 + (1.0 - y) * expected + y * (1.0 + (1.0 - y) * expected);
    ck_assert_double_eq_tol(plan.expected, 15.0 * expected, 1e-9);
    const unsigned started = 15 + (unsigned)(plan.blanks - 100) / 7;
    ck_assert_double_ge(at_least(15, started, y * y), 0.95);
    ck_assert_double_lt(at_least(15, started - 1, y * y), 0.95);
    ck_assert_uint_ge(plan.at_confidence, 30);
    ck_assert_uint_le(plan.at_confidence, 2 * started);
    plan = bc_plan_loads(100, 7, 1, BC_FAILED_STRIP, 1.0, 0.95);
    ck_assert_uint_eq(plan.at_confidence, 15);
    plan = bc_plan_loads(100, 7, 1, BC_FAILED_STRIP, NAN, 0.95);
    ck_assert(plan.loads == 15 && isnan(plan.expected) && plan.blanks == 0);
}
END_TEST

/* Of more loads than are counted exactly, the share that suffices is the confidence but for two loads: the standard
 * deviation is sqrt(w (1 - p)) / p = 50 loads, so that one changes it by 0.8 % at most. And never fewer than are
 * wanted, however many seldom fail. */
START_TEST(many_loads_suffice_as_often_as_they_should)
{
    static const double confidence[] = {0.05, 0.5, 0.95};
    for (size_t i = 0; i < 3; i++) {
        const bc_load_plan plan = bc_plan_loads(20001, 1, 1, BC_FAILED_STRIP, 0.9, confidence[i]);
        ck_assert_double_eq_tol(at_least(20001, (unsigned)plan.at_confidence, 0.9), confidence[i], 0.016);
    }
    ck_assert_uint_eq(bc_plan_loads(30000, 1, 1, BC_FAILED_STRIP, 0.99999, 0.01).at_confidence, 30000);
    const bc_load_plan half = bc_plan_loads(20001, 1, 1, BC_FAILED_STRIP, 0.9, 0.5);
    ck_assert_double_ge((double)half.at_confidence, half.expected);
    const double most = (1e8 + 1.6448536 * sqrt(1e7)) / 0.9; /* the normal distribution itself */
    ck_assert_double_eq_tol((double)bc_plan_loads(100000000, 1, 1, BC_FAILED_STRIP, 0.9, 0.95).at_confidence, most,
                            2.0);
}
END_TEST

/* So rare a success takes its mean and a standard deviation of trials, to first order: w / p and sqrt(w) / p. */
START_TEST(hardly_ever_good_takes_very_many_blanks)
{
    const double wanted = 10000.0, trials = 1e6 * (wanted + 1.6449 * sqrt(wanted));
    const bc_load_plan plan = bc_plan_loads(10000, 1, 2, BC_FAILED_SCRAP, 0.001, 0.95);
    ck_assert_double_eq_tol((double)plan.blanks / trials, 1.0, 1e-5);
    ck_assert_uint_eq(bc_plan_loads(7, 1, 1, BC_FAILED_STRIP, 0.000999, 0.95).blanks, 0);
}
END_TEST

/* Of the lost, a share y / (1 + y) took both runs: as many as binomial terms, added up, give at the confidence. One
 * lost of two: both may have taken both runs. */
START_TEST(what_is_lost_takes_second_runs)
{
    const double y = 0.8, confidence = 0.95;
    for (unsigned batches = 100; batches <= 1000; batches += 100) {
        const bc_load_plan plan = bc_plan_loads(batches, 1, 2, BC_FAILED_SCRAP, y, confidence);
        const unsigned lost = (unsigned)plan.blanks - batches;
        unsigned second = 0;
        while (1.0 - at_least(second + 1, lost, y / (1.0 + y)) < confidence)
            second++;
        ck_assert_uint_ge(plan.at_confidence, 2 * batches + lost + second);
        ck_assert_uint_le(plan.at_confidence, 2 * batches + lost + second + 1);
    }
    const bc_load_plan lucky = bc_plan_loads(5, 1, 2, BC_FAILED_SCRAP, 0.5, 0.01); /* none took both runs */
    ck_assert_uint_gt(lucky.blanks, 5);
    ck_assert_uint_eq(lucky.at_confidence, lucky.blanks + 5);
    ck_assert_uint_eq(bc_plan_loads(1, 1, 2, BC_FAILED_SCRAP, 0.9, 0.95).at_confidence, 4);
    for (double yield = 0.05; yield < 1.0; yield += 0.05) {
        const bc_load_plan sure = bc_plan_loads(5, 1, 2, BC_FAILED_SCRAP, yield, 0.9999);
        const bc_load_plan hope = bc_plan_loads(5, 1, 2, BC_FAILED_SCRAP, yield, 0.01);
        ck_assert_uint_le(sure.at_confidence, 2 * sure.blanks);
        ck_assert_uint_ge(hope.at_confidence, hope.blanks + 5);
    }
}
END_TEST

START_TEST(what_cannot_be_counted_is_left_out)
{
    bc_load_plan plan = bc_plan_loads(0, 7, 1, BC_FAILED_STRIP, 0.9, 0.95);
    ck_assert(plan.loads == 0 && isnan(plan.expected) && plan.at_confidence == 0 && plan.blanks == 0);
    plan = bc_plan_loads(100, 0, 1, BC_FAILED_STRIP, 0.9, 0.95);
    ck_assert(plan.loads == 0 && isnan(plan.expected) && plan.at_confidence == 0 && plan.blanks == 0);
    ck_assert_uint_eq(bc_plan_loads(1000000000000000, 1, 1, BC_FAILED_STRIP, 0.9, 0.95).loads, 0);
    ck_assert_uint_eq(bc_plan_loads(999999999999999, 1, 1, BC_FAILED_STRIP, 0.9, 0.95).loads, 999999999999999);
    ck_assert_double_eq_tol(bc_plan_loads(7, 1, 1, BC_FAILED_STRIP, 0.001, 0.95).expected, 7000.0, 1e-9);
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
    tcase_add_loop_test(tests, loads_suffice_at_the_confidence, 0, 7);
    tcase_add_test(tests, scrapped_parts_need_blanks);
    tcase_add_test(tests, many_loads_suffice_as_often_as_they_should);
    tcase_add_test(tests, hardly_ever_good_takes_very_many_blanks);
    tcase_add_test(tests, what_is_lost_takes_second_runs);
    tcase_add_test(tests, what_cannot_be_counted_is_left_out);
    return tests;
}
