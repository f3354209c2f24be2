/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_qrng.h>
#include <gsl/gsl_randist.h>
#include <stdint.h>

#define MOST_DIMENSIONS 40                           /* of gsl_qrng_sobol */
#define GOLDEN_GAMMA    UINT64_C(0x9e3779b97f4a7c15) /* 2^64 / the golden ratio, odd */

/* The finalizer of SplitMix64: every bit of the argument reaches every bit of the result. */
static uint64_t mix(uint64_t z)
{
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static void set(void *state, unsigned long seed)
{
    *(uint64_t *)state = seed;
}

static unsigned long get(void *state)
{
    uint64_t *counter = state;
    *counter += GOLDEN_GAMMA;
    return (unsigned long)(mix(*counter) >> 32);
}

static double get_double(void *state)
{
    return (double)get(state) / 4294967296.0;
}

static const gsl_rng_type splitmix = {"splitmix64", 0xffffffffUL, 0, sizeof(uint64_t), set, get, get_double};

bc_status bc_random_alloc(gsl_rng **out, bc_error *error)
{
    gsl_set_error_handler_off(); /* GSL would abort the program when memory runs out */
    *out = gsl_rng_alloc(&splitmix);
    return *out == NULL ? bc_fail_memory(error) : BC_OK;
}

void bc_random_begin(gsl_rng *random, unsigned long seed, bc_purpose purpose, size_t run)
{
    const uint64_t stream = mix(mix(seed + GOLDEN_GAMMA) + (uint64_t)purpose * GOLDEN_GAMMA);
    *(uint64_t *)gsl_rng_state(random) = mix(stream + (uint64_t)run * GOLDEN_GAMMA);
}

void bc_random_normal(gsl_rng *random, size_t count, double *value)
{
    for (size_t i = 0; i < count; i++)
        value[i] = gsl_ran_gaussian_ziggurat(random, 1.0);
}

bc_status bc_random_even(gsl_rng *random, size_t count, size_t numbers, double *value, bc_error *error)
{
    const unsigned dimensions = numbers < MOST_DIMENSIONS ? (unsigned)numbers : MOST_DIMENSIONS;
    gsl_qrng *sequence = gsl_qrng_alloc(gsl_qrng_sobol, dimensions);
    double point[MOST_DIMENSIONS];
    if (sequence == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < count; i++, value += numbers) {
        gsl_qrng_get(sequence, point);
        for (unsigned d = 0; d < dimensions; d++)
            value[d] = gsl_cdf_ugaussian_Pinv(point[d]);
        bc_random_normal(random, numbers - dimensions, value + dimensions);
    }
    gsl_qrng_free(sequence);
    return BC_OK;
}
