/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CALLOUT_TOKENS_H
#define BLOOMCOAT_CALLOUT_TOKENS_H
/*
 * A drawing's callout cut into tokens: numbers, the words of the trade, and the marks between them.
 */
#include <bloomcoat/callout_words.h>

typedef enum bc_token_kind {
    BC_TOKEN_NUMBER,
    BC_TOKEN_QUANTITY,  /* value: a bc_quantity */
    BC_TOKEN_STATISTIC, /* value: a bc_stated */
    BC_TOKEN_SENSE,     /* value: a bc_stated_sense */
    BC_TOKEN_PERCENT,
    BC_TOKEN_LENGTH, /* value: nm in the unit */
    BC_TOKEN_DEGREE,
    BC_TOKEN_TO, /* a dash, "to", ".." */
    BC_TOKEN_PLUS_MINUS,
    BC_TOKEN_TURNED,       /* "turned": of an ellipse */
    BC_TOKEN_POLARIZATION, /* value: a bc_polarization */
    BC_TOKEN_SCOPE,        /* value: a bc_stated_scope */
    BC_TOKEN_WEIGHT,       /* weight: what the name behind it stands for */
    BC_TOKEN_ILLUMINANT,   /* value: a bc_illuminant */
    BC_TOKEN_OBSERVER,     /* value: a bc_observer */
    BC_TOKEN_ANGLE,        /* "AOI" */
    BC_TOKEN_CONE,         /* "cone": its half-angle follows */
    BC_TOKEN_NORMAL,       /* "normal incidence" */
    BC_TOKEN_AND,          /* "and", a comma, a colon: what parts items */
    BC_TOKEN_FILLER,       /* words without meaning of their own: "for", "over", "band"; or BC_FILLER_BETWEEN */
    BC_TOKEN_NOTE_END,     /* a semicolon, a line end, the end of the text */
} bc_token_kind;

/* The choice of the filler "between", whose "and" is that of a range. */
#define BC_FILLER_BETWEEN 1

typedef enum bc_stated {
    BC_STATED_NOTHING,
    BC_STATED_MAX,
    BC_STATED_MIN,
    BC_STATED_AVERAGE,
    BC_STATED_EVERY,
    BC_STATED_LUMINOUS,
    BC_STATED_CHROMA, /* and on: in the order of bc_colour_value */
    BC_STATED_COLOUR_A,
    BC_STATED_COLOUR_B,
    BC_STATED_COLOUR_X,
    BC_STATED_COLOUR_Y,
    BC_STATED_ELLIPSE_AB,
    BC_STATED_ELLIPSE_XY,
    BC_STATED_DIFFERENCE
} bc_stated;

typedef enum bc_stated_sense {
    BC_STATED_NO_SENSE,
    BC_STATED_AT_MOST,
    BC_STATED_BELOW,
    BC_STATED_AT_LEAST,
    BC_STATED_ABOVE,
    BC_STATED_BETTER, /* below for R and A, above for T */
    BC_STATED_EQUAL,
} bc_stated_sense;

typedef enum bc_stated_scope { BC_STATED_SURFACE, BC_STATED_BOTH_SURFACES, BC_STATED_PART } bc_stated_scope;

typedef struct bc_token {
    bc_token_kind kind;
    int choice;   /* of the enumeration that belongs to the kind */
    double value; /* of a number, or of a length in nm */
    bool comma;   /* the number has a decimal comma */
    const bc_weight *weight;
    size_t at, length; /* bytes of the text */
} bc_token;

#define BC_TOKENS_MOST (BC_CALLOUT_WORDS_SIZE + 1)

/* Cut `text` into at most BC_TOKENS_MOST tokens, the last one the end of the last note. */
bc_status bc_callout_tokens(const char *text, bc_token *token, size_t *count, bc_error *error);

/* The sentence, and below it the text with a caret under byte `at`. */
bc_status bc_callout_ask(const char *text, size_t at, bc_error *error, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#endif
