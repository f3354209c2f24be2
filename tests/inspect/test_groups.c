/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "inspection.h"
#include "witness.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

#define NOISE 2e-4

/* Two neighbours of near equal index look like one layer of their optical thickness together. */
static const char *const twin_index[] = {"1.38", "2.10", "1.62", "1.625", "2.10", "1.38"};
static const double twin_nm[] = {90.0, 60.0, 50.0, 60.0, 40.0, 30.0};

/* The pair is a group whose sum is known, and neither is claimed to be known. Part of the sum's error is how the two
 * divide it, on which the weak prior has the last word, so that 68 % is the least to be expected of one standard error.
 */
START_TEST(twins)
{
    const size_t draws = MANY_OR_FEW(60, 8);
    size_t hits = 0, grouped = 0;
    double sum;
    bench b;
    truth t;
    bc_measurement exact;
    bench_open(&b, "1.52", 6, twin_index, twin_nm);
    t = bench_truth(&b);
    t.layer[2].thickness_nm += 3.0;
    sum = 1.62 * t.layer[2].thickness_nm + 1.625 * t.layer[3].thickness_nm;
    exact = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    for (size_t d = 0; d < draws; d++) {
        bc_measurement scan = scan_copy(&exact);
        bc_inspect_result result;
        scan_disturb(&b, &scan, NOISE, 0.0);
        scan_know_noise(&scan, NOISE);
        result = bench_inspect(&b, &scan);
        if (result.groups == 1 && result.group[0].count == 2 && result.group[0].is_sum) {
            const bc_layer_group *group = &result.group[0];
            grouped++;
            ck_assert_uint_eq(group->layer[0], 2);
            ck_assert_uint_eq(group->layer[1], 3);
            ck_assert(!result.layer[2].known && !result.layer[3].known);
            ck_assert(!result.layer[2].off && !result.layer[3].off);
            ck_assert_uint_eq(result.layer[2].group, 0);
            ck_assert_double_le(group->sigma_nm, 1.0);
            ck_assert_double_ge(result.layer[2].sigma_nm, 5.0);
            ck_assert_double_eq_tol(group->design_optical_nm, 1.62 * 50.0 + 1.625 * 60.0, 1e-9);
            hits += fabs(group->optical_nm - sum) <= group->sigma_nm;
        }
        ck_assert(result.layer[0].known && result.layer[0].group == SIZE_MAX);
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
    ck_assert_uint_ge(grouped, draws - 2);
    expect_at_most(grouped - hits, grouped, 1.0 - 0.6827);
    bc_measurement_clear(&exact);
    bench_close(&b);
}
END_TEST

/* Well-separated layers make no groups. */
START_TEST(no_groups)
{
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 6, six_index, six_nm);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    scan_disturb(&b, &scan, NOISE, 0.0);
    result = bench_inspect(&b, &scan);
    ck_assert_uint_eq(result.groups, 0);
    for (size_t j = 0; j < 6; j++)
        ck_assert(result.layer[j].known);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* A layer of the glass' own index is not seen at all: not known, and in no group that claims otherwise. */
START_TEST(unseen_layer)
{
    static const char *const index[] = {"1.38", "2.10", "1.52"};
    static const double nm[] = {95.0, 120.0, 80.0};
    bench b;
    truth t;
    bc_measurement scan;
    bc_inspect_result result;
    bench_open(&b, "1.52", 3, index, nm);
    t = bench_truth(&b);
    scan = bench_scan(&t, BC_MEASURED_R, 400.0, 4.0, 101);
    scan_disturb(&b, &scan, NOISE, 0.0);
    result = bench_inspect(&b, &scan);
    ck_assert(result.layer[0].known && result.layer[1].known && !result.layer[2].known);
    ck_assert_double_ge(result.layer[2].sigma_nm, 10.0);
    ck_assert_uint_eq(result.groups, 0);
    bc_inspect_result_clear(&result);
    bc_measurement_clear(&scan);
    bench_close(&b);
}
END_TEST

/* Three layers of which two are known together alone: of their optical thicknesses the combination 1 : `ratio` to
 * 0.2 nm, the one across it to 10 nm. Those are the eigenvectors of the 2 x 2 covariance, so the group is known. */
START_TEST(two_known_together)
{
    static const double ratio[] = {0.6, 0.95, -0.6}, n[] = {1.5, 2.0};
    static const double wavelength_nm[] = {500.0, 550.0, 600.0};
    const double r = ratio[_i], along = 0.2, across = 10.0, norm = 1.0 + r * r, of[] = {1.5, 2.0, 1.5};
    const double first[] = {1.0, r, 0.0}, second[] = {-r, 1.0, 0.0};
    double covariance[9], weight[3], curve[2][3];
    size_t member[3];
    unsigned material[] = {0, 1, 0};
    bc_layer_estimate layer[3] = {0};
    bc_layer_group group[4] = {{.layer = member, .weight = weight}};
    bc_index index[2] = {{.n = curve[0]}, {.n = curve[1]}};
    const bc_reading reading = {.wavelength_nm = wavelength_nm};
    bc_inspect_result result = {.layers = 3, .layer = layer, .group = group, .covariance = covariance};
    bc_inspection inspection = {.result = &result};
    for (size_t m = 0; m < 2; m++)
        curve[m][0] = curve[m][2] = 9.0, curve[m][1] = n[m]; /* the middle of the scan counts */
    for (size_t j = 0; j < 3; j++)
        for (size_t k = 0; k < 3; k++)
            covariance[3 * j + k] = (along * along * first[j] * first[k] + across * across * second[j] * second[k]) /
                                    norm / (of[j] * of[k]);
    covariance[8] = 0.1 * 0.1;
    for (size_t j = 0; j < 3; j++)
        layer[j] = (bc_layer_estimate){.design_nm = 60.0 + 10.0 * (double)j,
                                       .fitted_nm = 62.0 + 9.0 * (double)j,
                                       .sigma_nm = sqrt(covariance[4 * j]),
                                       .group = SIZE_MAX,
                                       .off = true};
    inspection.fit.simulated.index = index;
    inspection.fit.simulated.material = material;
    inspection.fit.setup.count = 3;
    inspection.fit.setup.reading[0] = &reading;
    ck_assert_int_eq(bc_tell_groups(&inspection, NULL), BC_OK);
    ck_assert_uint_eq(result.groups, 1);
    ck_assert_uint_eq(group[0].count, 2);
    ck_assert(group[0].layer[0] == 0 && group[0].layer[1] == 1);
    ck_assert(layer[0].group == 0 && layer[1].group == 0 && layer[2].group == SIZE_MAX);
    ck_assert(!layer[0].off && !layer[1].off && layer[2].off);
    /* 0.95 is near enough to the plain sum, whose error is a little of either */
    const bool sum = _i == 1;
    const double other = sum ? 1.0 : r;
    ck_assert_int_eq(group[0].is_sum, sum);
    ck_assert_double_eq_tol(group[0].weight[0], 1.0, 1e-9);
    ck_assert_double_eq_tol(group[0].weight[1], other, 1e-9);
    ck_assert_double_eq_tol(group[0].sigma_nm,
                            sqrt((pow(along * (1.0 + r * other), 2.0) + pow(across * (other - r), 2.0)) / norm), 1e-9);
    ck_assert_double_eq_tol(group[0].design_optical_nm, 1.5 * 60.0 + other * 2.0 * 70.0, 1e-9);
    ck_assert_double_eq_tol(group[0].optical_nm, 1.5 * 62.0 + other * 2.0 * 71.0, 1e-9);
    ck_assert_double_eq(group[0].at_nm, 550.0);
}
END_TEST

/* Of two layers of one index, by the variances of their sum and their difference, over 2. */
typedef struct pair {
    double covariance[4], weight[2], n[1];
    size_t member[2];
    bc_layer_estimate layer[2];
    bc_layer_group group[3];
    bc_inspect_result result;
} pair;

static void tell_pair(pair *p, double along, double across, double ratio, double sigma_nm)
{
    static const double nm[1] = {500.0};
    unsigned material[2] = {0, 0};
    const double first[2] = {1.0, ratio}, second[2] = {-ratio, 1.0}, norm = 1.0 + ratio * ratio;
    bc_index index = {.n = p->n};
    const bc_reading reading = {.wavelength_nm = nm};
    bc_inspection inspection = {.result = &p->result};
    memset(p, 0, sizeof *p);
    p->n[0] = 1.5;
    p->group[0] = (bc_layer_group){.layer = p->member, .weight = p->weight};
    p->result = (bc_inspect_result){.layers = 2, .layer = p->layer, .group = p->group, .covariance = p->covariance};
    for (size_t j = 0; j < 2; j++) {
        for (size_t k = 0; k < 2; k++)
            p->covariance[2 * j + k] =
                (along * along * first[j] * first[k] + across * across * second[j] * second[k]) / norm;
        p->layer[j] =
            (bc_layer_estimate){.design_nm = 72.0, .fitted_nm = 70.0, .sigma_nm = sigma_nm, .group = SIZE_MAX};
    }
    inspection.fit.simulated.index = &index;
    inspection.fit.simulated.material = material;
    inspection.fit.setup.count = 1;
    inspection.fit.setup.reading[0] = &reading;
    ck_assert_int_eq(bc_tell_groups(&inspection, NULL), BC_OK);
}

/* Each bound from both sides: a combination known no better than a tenth of a quarter of 72 nm and 2 nm belongs
 * together; a layer that counts three tenths of the other in it; four times better known than each alone; a weight
 * within a tenth of one, the sum known to three times. */
START_TEST(bounds_of_a_group)
{
    static const struct {
        double along, across, ratio, sigma_nm;
        size_t groups;
        bool is_sum;
    } cases[] = {{0.1, 2.001, 1.0, 9.0, 1, true},   {0.1, 1.999, 1.0, 9.0, 0, false}, {0.1, 9.0, 0.301, 9.0, 1, false},
                 {0.1, 9.0, 0.299, 9.0, 0, false},  {0.2, 9.0, 0.6, 0.933, 1, false}, {0.2, 9.0, 0.6, 0.932, 0, false},
                 {0.9, 9.0, 0.901, 9.0, 1, true},   {0.9, 9.0, 0.899, 9.0, 1, false}, {0.2, 12.0, 0.915, 9.0, 1, true},
                 {0.2, 12.0, 0.913, 9.0, 1, false}, {0.9, 9.0, -0.95, 9.0, 1, false}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        pair p;
        tell_pair(&p, cases[c].along, cases[c].across, cases[c].ratio, cases[c].sigma_nm);
        ck_assert_msg(p.result.groups == cases[c].groups && p.group[0].is_sum == cases[c].is_sum, "case %zu: %zu, %d",
                      c, p.result.groups, p.group[0].is_sum);
        ck_assert_uint_eq(p.layer[0].group, cases[c].groups == 1 ? 0 : SIZE_MAX);
    }
}
END_TEST

TCase *groups_case(void)
{
    TCase *tests = tcase_create("groups");
    tcase_add_test(tests, twins);
    tcase_add_test(tests, no_groups);
    tcase_add_test(tests, unseen_layer);
    tcase_add_loop_test(tests, two_known_together, 0, 3);
    tcase_add_test(tests, bounds_of_a_group);
    return tests;
}
