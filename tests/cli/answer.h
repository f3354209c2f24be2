/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_ANSWER_H
#define TEST_ANSWER_H
/*
 * Reading what the program answered. Everything here fails the test when it is not as expected.
 */
#include "program.h"
#include <cjson/cJSON.h>

/* One JSON value and nothing behind it; to be deleted with cJSON_Delete(). */
cJSON *parse(const char *text);
const cJSON *item_of(const cJSON *object, const char *name);
double number_of(const cJSON *object, const char *name);
const char *string_of(const cJSON *object, const char *name);
const cJSON *array_of(const cJSON *object, const char *name);
/* Whether a string of the array contains the piece. */
bool any_says(const cJSON *array, const char *piece);

/* No line of text is wider than 80 columns, but for a path that cannot be broken. */
void expect_narrow(const char *text);
/* The words are there, wherever the lines are broken and however far the next is indented; and the text is narrow. */
void expect_piece(const outcome *result, const char *piece);

#endif
