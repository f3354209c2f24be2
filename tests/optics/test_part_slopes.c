/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The slopes of a part's R and T with each thickness against differences of the values.
 */
#include "near.h"
#include "plate.h"
#include "suites.h"
#include <check.h>
#include <math.h>

#define TRIALS 120

/* The values' own rounding over the step, and what five points leave of the steepest slope. */
#define STEP_NM  0.002
#define ROUNDING 5e-12
#define RELATIVE 1e-9

static void read_values(bc_part *made, plate *part, size_t layer, double offset_nm, response *at)
{
    const double thickness_nm = part->front.thickness_nm[layer];
    part->front.thickness_nm[layer] = thickness_nm + offset_nm;
    evaluate_plate(made, part, false);
    part->front.thickness_nm[layer] = thickness_nm;
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < part->front.wavelengths; i++) {
            at->R[p][i] = bc_part_R(made, (bc_plane)p)[i];
            at->T[p][i] = bc_part_T(made, (bc_plane)p)[i];
        }
    }
}

static double five_points(double lower2, double lower1, double upper1, double upper2)
{
    return (lower2 - 8.0 * lower1 + 8.0 * upper1 - upper2) / (12.0 * STEP_NM);
}

static double steepest(const bc_part *slopes, bc_plane p, size_t layers, size_t i)
{
    double largest = 0.0;
    for (size_t j = 0; j < layers; j++)
        largest = fmax(largest, fmax(fabs(bc_part_dR(slopes, p, j)[i]), fabs(bc_part_dT(slopes, p, j)[i])));
    return largest;
}

static void compare_layer(const bc_part *slopes, const plate *part, size_t layer, const response at[4])
{
    for (int q = BC_S; q <= BC_P; q++) {
        const bc_plane p = (bc_plane)q;
        for (size_t i = 0; i < part->front.wavelengths; i++) {
            const double allowed = ROUNDING + RELATIVE * steepest(slopes, p, part->front.layers, i);
            expect_near(bc_part_dR(slopes, p, layer)[i],
                        five_points(at[0].R[q][i], at[1].R[q][i], at[2].R[q][i], at[3].R[q][i]), allowed);
            expect_near(bc_part_dT(slopes, p, layer)[i],
                        five_points(at[0].T[q][i], at[1].T[q][i], at[2].T[q][i], at[3].T[q][i]), allowed);
        }
    }
}

static void compare_slopes(plate *part)
{
    static const double offsets[4] = {-2.0, -1.0, 1.0, 2.0};
    bc_part *slopes = open_plate(part), *values = open_plate(part);
    evaluate_plate(slopes, part, true);
    for (size_t j = 0; j < part->front.layers; j++) {
        response at[4];
        for (int k = 0; k < 4; k++)
            read_values(values, part, j, offsets[k] * STEP_NM, &at[k]);
        compare_layer(slopes, part, j, at);
    }
    bc_part_free(slopes);
    bc_part_free(values);
}

/* Clear and absorbing layers on clear and absorbing glass. */
START_TEST(slopes)
{
    random_source random = {87};
    for (int trial = 0; trial < TRIALS; trial++) {
        const double glass_k = trial % 4 < 2 ? 0.0 : pow(10.0, uniform(&random, -9.0, -6.0));
        plate part = random_plate(&random, trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS, plate_backs[_i], glass_k);
        compare_slopes(&part);
    }
}
END_TEST

TCase *part_slopes_case(void)
{
    TCase *tests = tcase_create("part slopes");
    tcase_add_loop_test(tests, slopes, 0, BACKS);
    return tests;
}
