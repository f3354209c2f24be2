/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RELAX_H
#define BLOOMCOAT_RELAX_H
/*
 * Callouts made easier: one of them, or all that belong together (BC_NO_CALLOUT).
 */
#include <bloomcoat/quote.h>

/* How many steps there are from what was asked to as far as is looked; 0: it cannot be changed in this way. Bands move
 * in nm (wide ones in tens, narrow ones in fractions) until a quarter of the row that reaches farthest is left, angles
 * in tenths of a degree down to 0. */
size_t bc_relax_steps(const bc_callouts *asked, size_t which, bc_exception_kind kind);

/* The callouts at that step: no row reaches beyond the new end or angle; `changed` is [asked->count]. */
void bc_relax_to(const bc_callouts *asked, size_t which, bc_exception_kind kind, size_t step, bc_callout *changed);

/* Limits (of "at least" their distance from 100 %) times `factor`, rounded up to 3 digits. */
void bc_relax_limits(const bc_callouts *asked, size_t which, double factor, bc_callout *changed);

/* Of a curved surface's `zones` (2 at least) those that are left when the outer `step` are not looked at. */
size_t bc_relax_zones(size_t zones, size_t step);
size_t bc_relax_zone_steps(size_t zones);

#endif
