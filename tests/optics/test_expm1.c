/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The kernels' exp(x) - 1 against expm1() of the C library, which is right to an ulp.
 */
#include "near.h"
#include "suites.h"

typedef double vector __attribute__((vector_size(16), may_alias));
#define LANES 2

static vector vector_exp(vector x)
{
    for (int lane = 0; lane < LANES; lane++)
        x[lane] = exp(x[lane]);
    return x;
}

#include "kernel_expm1.h"

/* From where it is x itself, over the end of the series, to where it is -1; mostly with a lane on each side of the
 * seam. */
START_TEST(as_the_library_has_it)
{
    for (double x = -1e-300; x > -50.0; x = x > -1e-6 ? 10.0 * x : x > -0.3 ? x - 1e-4 : 1.01 * x) {
        const vector several = {x, fmod(10.0 * x, 0.3)};
        const vector seen = vector_expm1(several);
        for (int lane = 0; lane < LANES; lane++)
            expect_near(seen[lane], expm1(several[lane]), 1e-15 * fabs(expm1(several[lane])));
    }
    for (int below = 0; below < 2; below++) { /* the last of the series, and the first that is none */
        const vector seam = {-SERIES_BELOW, nextafter(-SERIES_BELOW, below ? -1.0 : 0.0)};
        const vector seen = vector_expm1(seam);
        for (int lane = 0; lane < LANES; lane++)
            expect_near(seen[lane], expm1(seam[lane]), 1e-15 * fabs(expm1(seam[lane])));
    }
}
END_TEST

TCase *expm1_case(void)
{
    TCase *tests = tcase_create("expm1");
    tcase_add_test(tests, as_the_library_has_it);
    return tests;
}
