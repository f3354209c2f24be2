/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OPTICS_NEAR_H
#define OPTICS_NEAR_H
#include <check.h>
#include <math.h>

/* As ck_assert_double_eq_tol(), which however reports every comparison to the runner: with a hundred thousand of them
 * that takes longer than the optics. A NaN is near nothing. */
#define expect_near(seen, expected, tolerance)                                                                         \
    do {                                                                                                               \
        const double near_seen = (seen), near_expected = (expected), near_tolerance = (tolerance);                     \
        if (!(fabs(near_seen - near_expected) <= near_tolerance))                                                      \
            ck_abort_msg("%s is %.17g, expected %.17g within %g", #seen, near_seen, near_expected, near_tolerance);    \
    } while (0)

#define expect_true(condition)                                                                                         \
    do {                                                                                                               \
        if (!(condition))                                                                                              \
            ck_abort_msg("%s does not hold", #condition);                                                              \
    } while (0)

#endif
