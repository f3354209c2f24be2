/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONTRADICTION_H
#define BLOOMCOAT_CONTRADICTION_H
/*
 * Callouts that no coating can meet together, by arithmetic alone.
 */
#include <bloomcoat/callouts.h>

/* Whether two of the rows contradict each other: one wants at least more of a quantity than the other allows at most,
 * of the same light. R + T <= 1, so that a row on one is a bound on the other too. Only what is certain is found: same
 * polarization, scope and glass, a common angle, and bands that force a point where both are to hold. */
bool bc_callouts_contradict(const bc_callouts *callouts, size_t *one, size_t *other);

#endif
