/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random.h"

static uint64_t next(random_source *random)
{
    random->state ^= random->state >> 12;
    random->state ^= random->state << 25;
    random->state ^= random->state >> 27;
    return random->state * UINT64_C(0x2545f4914f6cdd1d);
}

double uniform(random_source *random, double from, double to)
{
    return from + (to - from) * ((double)(next(random) >> 11) * 0x1p-53);
}

size_t below(random_source *random, size_t count)
{
    return (size_t)((next(random) >> 16) % count);
}

bool chance(random_source *random, double probability)
{
    return uniform(random, 0.0, 1.0) < probability;
}
