/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_EXPLORATION_H
#define BLOOMCOAT_EXPLORATION_H
/*
 * What all searches found, together: the neighbours of every good design are looked at, best first and each only once,
 * so that a narrow valley beside one that most searches end in is found.
 */
#include "multistart.h"

typedef struct bc_pool_limits {
    size_t extras; /* designs explored */
    double work;   /* of the whole search (bc_search_work()) at which it ends */
} bc_pool_limits;

/* Explore designs of `layers` layers, and of one less, until none is left within reach or a limit is met. */
bc_status bc_explore_pool(bc_multistart *multistart, bc_exploration *exploration, size_t layers,
                          const bc_pool_limits *limits);
void bc_exploration_clear(bc_exploration *exploration);

#endif
