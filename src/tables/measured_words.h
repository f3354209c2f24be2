/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEASURED_WORDS_H
#define BLOOMCOAT_MEASURED_WORDS_H
/*
 * The words of a header, or of a line above the rows.
 */
#include "measured_steps.h"

#define MEASURED_WORDS_SIZE 512

/* A text in small letters, its letters of several spellings in one. In `word` signs that are no letter or digit part
 * the words; a % is a word of its own. */
typedef struct measured_words {
    char plain[MEASURED_WORDS_SIZE]; /* without blanks */
    char word[MEASURED_WORDS_SIZE];  /* " wavelength nm " */
    char text[MEASURED_WORDS_SIZE];  /* as it stands */
} measured_words;

void bc_measured_take_words(const char *text, measured_words *out);
/* `list` ends with NULL. */
bool bc_measured_has_word(const measured_words *all, const char *const *list);
bool bc_measured_find_quantity(const measured_words *all, bc_quantity *quantity);

/* What a column holds instead of a measurement ("a limit", "a dark scan"); NULL: nothing says so. */
const char *bc_measured_other(const measured_words *all);
/* What was made of R or T, so that its numbers are no percent or fractions ("decibels"); NULL: nothing. */
const char *bc_measured_transformed(const measured_words *all);
/* Whether it is the signal of an instrument before it was divided by a reference. */
bool bc_measured_is_raw(const measured_words *all);
/* Whether it is known to be neither a value nor an axis: a number of the row, a slit, a temperature. */
bool bc_measured_is_aside(const measured_words *all);

#endif
