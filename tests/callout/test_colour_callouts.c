/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Callouts on a colour against the colour itself, which test_colour.c holds against what the CIE publishes.
 */
#include "bench.h"
#include "near.h"
#include "suites.h"
#include <bloomcoat/colour.h>
#include <bloomcoat/sampling.h>
#include <math.h>

static const single_layer layer = {1.0, 1.38, 1.52, 112.0};

static bc_callout colour_callout(bc_colour_value colour, bc_illuminant illuminant, bc_observer observer)
{
    bc_callout callout = callout_of(BC_CIE_FROM_NM, BC_CIE_TO_NM);
    callout.statistic = BC_AVERAGE;
    callout.weight = bc_weight_tristimulus(illuminant, observer, 1);
    callout.colour = colour;
    callout.illuminant = illuminant;
    callout.observer = observer;
    return callout;
}

static const bc_ellipse ellipse = {{0.4, -0.2}, {3.0, 0.7}, 0.5};

/* In which direction from the centre the point lies, and how far the ellipse reaches there: its polar equation. */
static double out_of(double x, double y)
{
    const double away = hypot(x - ellipse.centre[0], y - ellipse.centre[1]);
    const double turn = atan2(y - ellipse.centre[1], x - ellipse.centre[0]) - ellipse.turn_rad;
    const double p = ellipse.half_axis[0], q = ellipse.half_axis[1];
    return away * hypot(q * cos(turn), p * sin(turn)) / (p * q);
}

/* The function is held against the table of Sharma, Wu and Dalal in test_colour_difference.c. */
static const bc_colour reference = {.L = 9.0, .a = 2.0, .b = -1.5};

static double part_of(const bc_colour *colour, bc_colour_value value)
{
    switch (value) {
    case BC_NO_COLOUR:
        break;
    case BC_CHROMA:
        return colour->chroma;
    case BC_COLOUR_A:
        return colour->a;
    case BC_COLOUR_B:
        return colour->b;
    case BC_COLOUR_X:
        return colour->x;
    case BC_COLOUR_Y:
        return colour->y;
    case BC_ELLIPSE_AB:
        return out_of(colour->a, colour->b);
    case BC_ELLIPSE_XY:
        return out_of(colour->x, colour->y);
    case BC_COLOUR_DIFFERENCE:
        return bc_colour_difference(&reference, colour);
    }
    return NAN;
}

/* Every value in every light to every eye, in s, p and unpolarized light. */
START_TEST(is_the_colour)
{
    bench_stack bench;
    lay_layer(&bench, &layer);
    for (int i = 0; i < BC_ILLUMINANTS * BC_OBSERVERS * 8 * 3; i++) {
        const bc_illuminant illuminant = (bc_illuminant)(i % 3);
        const bc_observer observer = (bc_observer)(i / 3 % 2);
        const bc_colour_value value = (bc_colour_value)(BC_CHROMA + i / 6 % 8);
        bc_callout callout = colour_callout(value, illuminant, observer);
        bc_colour colour;
        callout.polarization = (bc_polarization)(i / 48);
        callout.ellipse = ellipse;
        callout.reference[0] = reference.L;
        callout.reference[1] = reference.a;
        callout.reference[2] = reference.b;
        callout.target = value >= BC_COLOUR_A && value <= BC_COLOUR_Y ? 0.007 : 0.0;
        callout.aoi_from_rad = callout.aoi_to_rad = 0.6;
        ck_assert_int_eq(
            bc_colour_compute(&bench.stack, NULL, 0.6, callout.polarization, illuminant, observer, &colour, NULL),
            BC_OK);
        expect_near(100.0 * find(&bench.stack, &callout, NULL).value,
                    fabs(part_of(&colour, value) - 100.0 * callout.target), 1e-10);
    }
}
END_TEST

/* Over a range of angles the worst, between the samples too. */
START_TEST(is_the_worst_angle)
{
    bench_stack bench;
    double worst = 0.0, at = 0.0;
    bc_callout callout = colour_callout(BC_CHROMA, BC_ILLUMINANT_D65, BC_OBSERVER_2);
    lay_layer(&bench, &layer);
    callout.aoi_to_rad = 1.2;
    for (int i = 0; i <= 2400; i++) {
        bc_colour colour;
        ck_assert_int_eq(bc_colour_compute(&bench.stack, NULL, 5e-4 * i, BC_POL_UNPOLARIZED, BC_ILLUMINANT_D65,
                                           BC_OBSERVER_2, &colour, NULL),
                         BC_OK);
        if (colour.chroma > worst) {
            worst = colour.chroma;
            at = 5e-4 * i;
        }
    }
    const bc_finding finding = find(&bench.stack, &callout, NULL);
    expect_near(100.0 * finding.value, worst, 1e-5);
    expect_near(finding.at_aoi_rad, at, 2e-3);
}
END_TEST

/* Grey has an a* and b* of 0: at that target there is no slope. */
START_TEST(no_slope_at_the_target)
{
    static const double grey[3] = {0.05, 0.05, 0.05};
    bc_callout callout = colour_callout(_i == 0 ? BC_COLOUR_A : BC_COLOUR_B, BC_ILLUMINANT_D65, BC_OBSERVER_2);
    double slope[3] = {NAN, NAN, NAN};
    ck_assert(bc_colour_callout_value(&callout, grey, slope) == 0.0);
    ck_assert(slope[0] == 0.0 && slope[1] == 0.0 && slope[2] == 0.0);
}
END_TEST

/* Below and above the straight piece of CIELAB (R of 0.9 %), and where nothing is reflected. */
START_TEST(slopes_agree_with_differences)
{
    static const double shares[][3] = {{0.004, 0.0031, 0.0052}, {0.04, 0.05, 0.06}, {0.2, 0.004, 0.03}};
    const bc_colour_value value = (bc_colour_value)(BC_CHROMA + _i);
    bc_callout callout = colour_callout(value, BC_ILLUMINANT_D65, BC_OBSERVER_10);
    callout.ellipse = ellipse;
    callout.reference[0] = 12.0;
    callout.reference[1] = 4.0;
    callout.target = value >= BC_COLOUR_A && value <= BC_COLOUR_Y ? 0.0033 : 0.0;
    for (size_t s = 0; s < 3; s++) {
        double slope[3];
        bc_colour_callout_value(&callout, shares[s], slope);
        for (int c = 0; c < 3; c++) {
            const double step = 1e-6 * shares[s][c];
            double more[3] = {shares[s][0], shares[s][1], shares[s][2]}, less[3] = {more[0], more[1], more[2]};
            more[c] += step;
            less[c] -= step;
            const double difference =
                (bc_colour_callout_value(&callout, more, NULL) - bc_colour_callout_value(&callout, less, NULL)) /
                (2.0 * step);
            expect_near(slope[c], difference, 1e-6 * fmax(fabs(difference), 1.0));
        }
    }
    const double nothing[3] = {0.0, 0.0, 0.0};
    double slope[3];
    const double unseen = bc_colour_callout_value(&callout, nothing, slope);
    ck_assert(value == BC_COLOUR_X || value == BC_COLOUR_Y ? unseen < 1e-15 : unseen >= 0.0);
    ck_assert(isfinite(slope[0]) && isfinite(slope[1]) && isfinite(slope[2]));
}
END_TEST

/* A white surface has no chroma, whatever the sampling: the three means of 1 are 1. */
START_TEST(white_has_no_chroma)
{
    static double nm[81], rule[81], weight[3 * 81];
    const bc_callout callout = colour_callout(BC_CHROMA, BC_ILLUMINANT_A, BC_OBSERVER_10);
    double mean[3] = {0.0, 0.0, 0.0};
    bc_sampling_set(&callout, 81, nm, NULL);
    for (int i = 0; i < 81; i++)
        rule[i] = 1.0 + 0.1 * i;
    bc_sampling_colour(&callout, 81, nm, rule, weight);
    for (int i = 0; i < 3 * 81; i++)
        mean[i / 81] += weight[i];
    for (int c = 0; c < 3; c++)
        expect_near(mean[c], 1.0, 1e-13);
    expect_near(bc_colour_callout_value(&callout, mean, NULL), 0.0, 1e-12);
}
END_TEST

TCase *colour_callouts_case(void)
{
    TCase *tests = tcase_create("colour_callouts");
    tcase_add_checked_fixture(tests, open_bench, close_bench);
    tcase_add_test(tests, is_the_colour);
    tcase_add_test(tests, is_the_worst_angle);
    tcase_add_loop_test(tests, no_slope_at_the_target, 0, 2);
    tcase_add_loop_test(tests, slopes_agree_with_differences, 0, 8);
    tcase_add_test(tests, white_has_no_chroma);
    return tests;
}
