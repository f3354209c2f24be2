/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The colour of a measured curve against the colour of the stack it is made from (tests/callout/test_colour.c holds
 * that against what the CIE publishes).
 */
#include "witness.h"
#include <bloomcoat/colour.h>
#include <math.h>

#define MOST 801

typedef struct scan {
    double nm[MOST], value[MOST];
    bc_overlay overlay;
} scan;

/* A fringe from `from_nm` in steps. */
static void make(scan *s, double from_nm, double to_nm, double step_nm)
{
    *s = (scan){.overlay = {.count = (size_t)lround((to_nm - from_nm) / step_nm) + 1}};
    s->overlay.wavelength_nm = s->nm;
    s->overlay.measured = s->value;
    for (size_t i = 0; i < s->overlay.count; i++) {
        s->nm[i] = from_nm + step_nm * (double)i;
        s->value[i] = 0.006 + 0.005 * cos(1e-2 * (s->nm[i] - 520.0));
    }
}

static bool find(const scan *s, bc_colour *colour)
{
    return bc_overlay_colour(&s->overlay, s->overlay.measured, BC_ILLUMINANT_A, BC_OBSERVER_10, colour);
}

START_TEST(is_that_of_the_curve)
{
    double nm[BC_COLOUR_ROWS], value[BC_COLOUR_ROWS];
    bc_colour exact, colour;
    scan s;
    bc_colour_wavelengths(nm);
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        value[i] = 0.006 + 0.005 * cos(1e-2 * (nm[i] - 520.0));
    bc_colour_of(value, BC_ILLUMINANT_A, BC_OBSERVER_10, &exact);
    make(&s, 380.0, 780.0, 5.0);
    ck_assert(find(&s, &colour));
    ck_assert_double_eq_tol(colour.a, exact.a, 1e-10);
    ck_assert_double_eq_tol(colour.luminous, exact.luminous, 1e-12);
    make(&s, 378.0, 784.0, 0.7); /* a straight line errs by 0.005 * 1e-4 * h^2 / 8 at most: 3e-8 of R */
    ck_assert(find(&s, &colour));
    ck_assert_double_eq_tol(colour.b, exact.b, 1e-3);
    make(&s, 380.0, 780.0, 20.0);
    ck_assert(find(&s, &colour));
    ck_assert_double_eq_tol(colour.b, exact.b, 0.5);
}
END_TEST

START_TEST(what_was_not_seen_has_none)
{
    bc_colour colour;
    scan s;
    make(&s, 385.0, 785.0, 5.0);
    ck_assert(!find(&s, &colour));
    make(&s, 375.0, 775.0, 5.0);
    ck_assert(!find(&s, &colour));
    make(&s, 380.0, 780.0, 25.0);
    ck_assert(!find(&s, &colour));
    make(&s, 380.0, 780.0, 5.0);
    for (size_t i = 40; i + 5 < s.overlay.count; i++)
        s.nm[i] = s.nm[i + 5];
    s.overlay.count -= 5; /* a gap of 30 nm */
    ck_assert(!find(&s, &colour));
    s.overlay.count = 0;
    ck_assert(!find(&s, &colour));
}
END_TEST

TCase *overlay_colour_case(void)
{
    TCase *tests = tcase_create("overlay_colour");
    tcase_add_test(tests, is_that_of_the_curve);
    tcase_add_test(tests, what_was_not_seen_has_none);
    return tests;
}
