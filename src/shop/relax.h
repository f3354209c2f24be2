/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_RELAX_H
#define BLOOMCOAT_RELAX_H
/*
 * A callout made easier, one change at a time.
 */
#include <bloomcoat/quote.h>

#define BC_RELAX_STEPS 32 /* from what was asked to as far as is looked */

/* Whether the callout can be changed in this way at all. */
bool bc_relax_applies(const bc_callout *asked, bc_exception_kind kind);

/* Step 0 is the callout as asked, step BC_RELAX_STEPS as far as is looked: a limit (for "at least" its distance from
 * 100 %) 6 times as large, in equal factors, rounded up to 3 digits; a band of a quarter of its width, in whole nm
 * where it is wider than 20; an angle of 0, in tenths of a degree. */
bc_callout bc_relax(const bc_callout *asked, bc_exception_kind kind, size_t step);

/* How many of a curved surface's `zones` (2 at least) are left at that step: all at 0, at the last those out to a
 * quarter of them. */
size_t bc_relax_zones(size_t zones, size_t step);

#endif
