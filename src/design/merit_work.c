/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "merit_work.h"
#include "budget.h"
#include <math.h>

size_t bc_merit_threads(const bc_merit *merit, size_t threads)
{
    const double affordable = floor(BC_MOST_BYTES / bc_merit_bytes(merit));
    return affordable >= (double)threads ? threads : affordable < 1.0 ? 1 : (size_t)affordable;
}

double bc_merit_work(const bc_merit *merit, size_t layers)
{
    return (double)bc_merit_samples(merit) * (double)(layers + 1) * (double)(layers + 1);
}

double bc_merit_value_work(const bc_merit *merit, size_t layers)
{
    return (double)bc_merit_samples(merit) * (double)(layers + 1);
}

unsigned bc_merit_steps(const bc_merit *merit, size_t layers, double work, unsigned most)
{
    const double steps = floor(work / bc_merit_work(merit, layers));
    return steps >= (double)most ? most : steps < 1.0 ? 1 : (unsigned)steps;
}
