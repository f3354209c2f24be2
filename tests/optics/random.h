/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OPTICS_RANDOM_H
#define OPTICS_RANDOM_H
/*
 * Seeded random numbers, the same on every machine: xorshift64* (Vigna, ACM Trans. Math. Softw. 42, 30 (2016);
 * constants from memory). Only their spread over the cases matters.
 */
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct random_source {
    uint64_t state; /* any seed but 0 */
} random_source;

double uniform(random_source *random, double from, double to);
size_t below(random_source *random, size_t count); /* 0 .. count - 1 */
bool chance(random_source *random, double probability);

#endif
