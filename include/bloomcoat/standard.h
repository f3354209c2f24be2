/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STANDARD_H
#define BLOOMCOAT_STANDARD_H
/*
 * The standard coatings of a shop: those it makes already, each in a folder of its own.
 *
 *     standard/NAME/callouts.csv           what it is sold by
 *     standard/NAME/stack.csv              its stack; or one for each substrate, as
 *     standard/NAME/stacks/SUBSTRATE.csv
 *     standard/NAME/process.csv            the process of the day it was added; may be missing
 *
 * Names hold letters, digits, `-`, `_`, `+` and `.`, begin with a letter or a digit, and differ in more than upper and
 * lower case. Plain data.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/stack.h>

BC_API_BEGIN

typedef struct bc_standard {
    char name[BC_NAME_SIZE];
    char *folder, *callouts_path;
    char *process_path; /* NULL: there is none */
    bc_callouts callouts;
    size_t stacks; /* >= 1; by substrate, in the order of names */
    bc_stack *stack;
    char **path; /* [stacks] */
} bc_standard;

typedef struct bc_standards {
    size_t count; /* in the order of names */
    bc_standard *standard;
} bc_standards;

/* Read every standard coating of `folder` (a shop's standard/). With `substrate` (may be NULL) the stack for it alone
 * is read where a coating has stacks for each substrate and one for this. `only` (may be NULL): this coating alone.
 * BC_ERROR_INPUT for a file that is missing or wrong, a stack file that is for another substrate than its name says,
 * two coatings of one name, or no coating called `only`. Release it with bc_standards_clear(). */
bc_status bc_standards_read(const char *folder, const char *only, const char *substrate, bc_materials *materials,
                            bc_standards *standards, bc_error *error);
void bc_standards_clear(bc_standards *standards);

/* Whether a standard coating can be called so. */
bool bc_standard_is_name(const char *name);

BC_API_END

#endif
