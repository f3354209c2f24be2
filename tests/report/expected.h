/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_EXPECTED_H
#define TEST_EXPECTED_H
/*
 * What a writer writes, word for word and figure for figure, against a file of expected/, whose texts were read when
 * they were made. After a change of words BC_RENEW=yes writes them anew, and `git diff` shows what there is to read.
 */
#include "fixture.h"

/* Compares the text with expected/NAME, but for pictures and the style sheet in it and the scratch folder's name, and
 * clears it. */
void expect_written(const char *name, bc_text *text);

/* The same of a picture as PNG, by the average grey of small blocks. */
void expect_drawn(const char *name, bc_text *png);

#endif
