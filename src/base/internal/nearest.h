/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_NEAREST_H
#define BLOOMCOAT_NEAREST_H
/*
 * What a misspelt word was probably meant to be.
 */
#include <stddef.h>

/* Letters put in, left out, changed or swapped with their neighbour to turn one word into the other (the optimal string
 * alignment distance), upper and lower case (ASCII) being the same. Only the first 63 bytes are looked at. */
size_t bc_word_distance(const char *one, const char *other);

/* Order of two words: digits before letters, upper and lower case (ASCII) together. */
int bc_word_compare(const char *one, const char *other);

/* Up to `most` of the words that are near enough to be meant, the nearest first; returns how many. */
size_t bc_nearest(const char *word, size_t count, const char *const *choice, size_t most, const char **nearest);

#endif
