/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_THIN_H
#define BLOOMCOAT_THIN_H
/*
 * Thickness costs hours, stress and absorption: of designs that do equally well the thin one is wanted, and a search
 * for the lowest limit_used alone has no reason to meet it.
 */
#include "multistart.h"

/* Look for a design of as many layers as the rung has that is thinner than `most_nm` in all and uses no more than
 * `acceptable` of the limits, then for thinner ones yet; the thinnest takes the rung's place. Not from a start. */
bc_status bc_make_thinner(bc_multistart *multistart, double most_nm, double acceptable, bc_rung *rung, bool *thinner,
                          bc_error *error);

#endif
