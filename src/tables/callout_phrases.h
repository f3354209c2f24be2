/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CALLOUT_PHRASES_H
#define BLOOMCOAT_CALLOUT_PHRASES_H
#include "callout_tokens.h"

/* A phrase of drawings. A blank in it stands for blanks or hyphens, any number of them; letters in either case. */
typedef struct bc_phrase {
    const char *words;
    bc_token_kind kind;
    int choice;
    double value;
} bc_phrase;

/* The longest phrase that the text begins with, and its bytes; NULL: none. */
const bc_phrase *bc_longest_phrase(const char *text, size_t *length);

bool bc_is_letter(char byte);
/* Bytes of one blank at the start; 0: there is none. */
size_t bc_blank_length(const char *text);

#endif
