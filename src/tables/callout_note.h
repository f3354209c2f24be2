/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CALLOUT_NOTE_H
#define BLOOMCOAT_CALLOUT_NOTE_H
/*
 * One note of a drawing: its limits, and the conditions (bands, angles, polarizations, surface or part) they hold
 * under.
 */
#include "callout_tokens.h"

#define BC_NOTE_MOST BC_CALLOUT_WORDS_ROWS

/* A condition, and how many limits of its note were complete where it stands. */
typedef struct bc_note_condition {
    double from, to; /* nm or degrees */
    int choice;      /* a polarization or a scope */
    size_t position, at;
} bc_note_condition;

typedef struct bc_note_conditions {
    size_t count;
    bc_note_condition item[BC_NOTE_MOST];
} bc_note_conditions;

enum { BC_NOTE_BAND, BC_NOTE_ANGLE, BC_NOTE_POLARIZATION, BC_NOTE_SCOPE, BC_NOTE_KINDS };

typedef struct bc_note_limit {
    bool has_quantity, has_polarization;
    bc_quantity quantity;
    bc_stated statistic;
    bc_stated_sense sense;
    bc_polarization polarization;
    const bc_weight *weight;
    double percent, target;                   /* of a colour in its own units */
    double centre[2], half_axis[2], turn_deg; /* of an ellipse */
    double reference[3];                      /* of a colour difference */
    size_t at, end;                           /* bytes: of its first word, of its percent sign */
} bc_note_limit;

/* One note being read. */
typedef struct bc_note {
    const char *text;
    const bc_token *token;
    size_t at; /* the next token */
    size_t limits;
    bc_note_limit limit[BC_NOTE_MOST];
    bc_note_limit head;                    /* the words of a limit whose number has not come yet */
    bool has_head, angle_announced, minus; /* minus: before a number of a colour */
    bool cone_announced;
    double cone; /* half-angle in degrees, of the note; 0: none */
    bool has_illuminant, has_observer;
    bc_illuminant illuminant;
    bc_observer observer;
    size_t light_at; /* bytes: where one of them stands */
    size_t claimed;  /* the token of a quantity that a limit before it has taken; 0: none */
    bc_note_conditions of[BC_NOTE_KINDS];
} bc_note;

/* Whether a statistic is about a colour. */
bool bc_stated_colour(bc_stated statistic);

/* Whether note->head begins a limit on the ratio s / p, whose number may be without a unit. */
bool bc_note_limits_ratio(const bc_note *note);

/* The limit that note->head begins: "a*b* 2 -3 +- 4 1.5 turned 30 deg", from its first number or minus sign on. */
bc_status bc_note_read_ellipse(bc_note *note, bc_note_limit *limit, bc_error *error);

/* The limit of a colour difference and what it is from: "3 from 21.5 1.2 -3.4", from its number on. */
bc_status bc_note_read_difference(bc_note *note, bc_note_limit *limit, bc_error *error);

/* A number, a range or a number with a tolerance, and its unit. */
typedef struct bc_note_amount {
    double from, to;
    bool is_single, is_tolerance;
    bool has_unit;
    bc_token_kind unit;
    bool comma;
    size_t at;
} bc_note_amount;

/* The amount that begins at note->at, a number. */
bc_status bc_note_read_amount(bc_note *note, bc_note_amount *amount, bc_error *error);

/* Read the note that begins at note->at, whose text and tokens are set and all else zero, up to the token that ends it.
 */
bc_status bc_note_read(bc_note *note, bc_error *error);

#endif
