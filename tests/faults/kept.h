/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_KEPT_H
#define BLOOMCOAT_TEST_KEPT_H
/*
 * What a line does when nothing fails, and whether another run did the same. The files that may be written hold "as it
 * was" before.
 */
#include "program.h"

#define KEPT_OUTPUTS 3

typedef struct kept {
    int code;
    char *out, *err;
    char *file[KEPT_OUTPUTS];
} kept;

kept keep(const outcome *run);
void kept_clear(kept *usual);

bool kept_same(const kept *usual, const outcome *run);
/* Every file is as it was, or as it is when nothing fails. */
bool kept_whole(const kept *usual);
/* Every file is as it was. */
bool kept_untouched(void);
void kept_restore(void);

#endif
