/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random.h"
#include "workshop.h"
#include <math.h>
#include <stdint.h>

#define COUNT 200000

static gsl_rng *open_random(void)
{
    gsl_rng *random;
    ck_assert_int_eq(bc_random_alloc(&random, NULL), BC_OK);
    return random;
}

/* The first outputs of SplitMix64 for the seed 1234567, as commonly given with it (from memory); the generator hands
 * out their upper halves. */
START_TEST(the_generator_is_splitmix64)
{
    static const uint64_t expected[] = {6457827717110365317U, 3203168211198807973U, 9817491932198370423U,
                                        4593380528125082431U, 16408922859458223821U};
    gsl_rng *random = open_random();
    gsl_rng_set(random, 1234567UL);
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++)
        ck_assert_uint_eq(gsl_rng_get(random), expected[i] >> 32);
    gsl_rng_free(random);
}
END_TEST

START_TEST(a_stream_is_where_it_is)
{
    gsl_rng *random = open_random();
    double first[4], again[4], other[4];
    bc_random_begin(random, 7, BC_FOR_YIELD, 123);
    bc_random_normal(random, 4, first);
    bc_random_begin(random, 7, BC_FOR_YIELD, 5);
    bc_random_normal(random, 4, other);
    bc_random_begin(random, 7, BC_FOR_YIELD, 123);
    bc_random_normal(random, 4, again);
    ck_assert_mem_eq(first, again, sizeof first);
    ck_assert_mem_ne(first, other, sizeof first);
    bc_random_begin(random, 8, BC_FOR_YIELD, 123);
    bc_random_normal(random, 4, other);
    ck_assert_mem_ne(first, other, sizeof first);
    bc_random_begin(random, 7, BC_FOR_INFLUENCE, 123);
    bc_random_normal(random, 4, other);
    ck_assert_mem_ne(first, other, sizeof first);
    gsl_rng_free(random);
}
END_TEST

/* Moments of the normal distribution, and no likeness between neighbours: the first two numbers of successive runs,
 * runs of successive seeds, and the two sets that influences compare. */
START_TEST(numbers_of_many_streams_are_normal_and_unrelated)
{
    gsl_rng *random = open_random();
    double sum[4] = {0}, within = 0.0, neighbours = 0.0, before = 0.0;
    const double root = sqrt(COUNT);
    for (size_t run = 0; run < COUNT; run++) {
        double x[2], power = 1.0;
        if (_i == 0)
            bc_random_begin(random, 1, BC_FOR_YIELD, run);
        else if (_i == 1)
            bc_random_begin(random, (unsigned long)run, BC_FOR_YIELD, 0);
        else
            bc_random_begin(random, 3, run % 2 == 0 ? BC_FOR_INFLUENCE : BC_FOR_INFLUENCE_ANEW, run / 2);
        bc_random_normal(random, 2, x);
        for (int k = 0; k < 4; k++)
            sum[k] += power *= x[0];
        within += x[0] * x[1];
        neighbours += x[0] * before;
        before = x[0];
    }
    /* the variances of x, x^2, x^3, x^4, and of the product of two are 1, 2, 15, 96, and 1 */
    ck_assert_double_eq_tol(sum[0] / root, 0.0, 4.0);
    ck_assert_double_eq_tol((sum[1] - COUNT) / root, 0.0, 4.0 * sqrt(2.0));
    ck_assert_double_eq_tol(sum[2] / root, 0.0, 4.0 * sqrt(15.0));
    ck_assert_double_eq_tol((sum[3] - 3.0 * COUNT) / root, 0.0, 4.0 * sqrt(96.0));
    ck_assert_double_eq_tol(within / root, 0.0, 4.0);
    ck_assert_double_eq_tol(neighbours / root, 0.0, 4.0);
    gsl_rng_free(random);
}
END_TEST

TCase *random_case(void)
{
    TCase *tests = tcase_create("random");
    tcase_add_test(tests, the_generator_is_splitmix64);
    tcase_add_test(tests, a_stream_is_where_it_is);
    tcase_add_loop_test(tests, numbers_of_many_streams_are_normal_and_unrelated, 0, 3);
    return tests;
}
