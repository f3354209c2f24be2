/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DIFFER_H
#define BLOOMCOAT_DIFFER_H
/*
 * Which further scan would separate the two likeliest causes: R of the stack each of them stands for, at 45 degrees
 * and over a wider range.
 */
#include "inspection.h"

/* Keep the stack that a cause stands for, `which` 0 or 1. */
bc_status bc_differ_keep(bc_inspection *inspection, const bc_stack *stack, const bc_fit_point *point, size_t materials,
                         size_t which, bc_error *error);
void bc_differ_clear(bc_inspection *inspection);

/* result->differ_at_45 and its like. */
bc_status bc_differ(bc_inspection *inspection, bc_error *error);

#endif
