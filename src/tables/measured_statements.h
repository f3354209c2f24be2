/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MEASURED_STATEMENTS_H
#define BLOOMCOAT_MEASURED_STATEMENTS_H
/*
 * What one line of a file, or one header, states of the measurement: its angle of incidence, its polarization, its
 * quantity.
 */
#include "measured_words.h"

#define MEASURED_MOST_SAID 16
#define MEASURED_STEEPEST  90.0 /* degrees */

/* One thing that several lines of a file may say. */
typedef struct statement {
    double value; /* degrees, or a bc_polarization or bc_quantity */
    size_t line;
} statement;

typedef struct statements {
    size_t count;
    statement said[MEASURED_MOST_SAID];
    size_t unclear; /* a line that states it and cannot be read; MEASURED_NONE */
} statements;

/* Keeps `value` where none so near it was stated before. */
void bc_measured_note(statements *all, double value, size_t line);
bool bc_measured_states(const statements *all, double value);
bool bc_measured_is_letter(char byte);
/* A number that begins at *at, with a decimal point or comma; *at moves past it. */
bool bc_measured_take_number(const char **at, double *value);
/* Every "45 deg", in degrees; where the line names the incidence, its first number by itself too ("aoi,45"). */
void bc_measured_state_angles(const measured_words *all, size_t line, statements *out);
/* "Polarization: s", and lines of words such as "s-polarized light". */
void bc_measured_state_polarization(const measured_words *all, bool header, size_t line, statements *out);
/* The part after the name of a setting ("Mode: %T"), when it is one that says what was measured; NULL: it is none. */
const char *bc_measured_mode_value(const char *line);

#endif
