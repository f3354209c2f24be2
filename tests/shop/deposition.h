/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_DEPOSITION_H
#define TEST_DEPOSITION_H
/*
 * A sheet of the workshop's stack.
 */
#include "workshop.h"
#include <bloomcoat/deposit.h>

/* Every figure of it known. */
extern const bc_chamber whole_chamber;

/* R from a bare-backed glass of the part's kind at one wavelength, 0 degrees, an error of 0.5 % of the highest signal.
 */
bc_monitor monitor_at(const double *wavelength_nm);

/* 104 nm of 1.38 outside 19.4 nm of 2.1 on 1.52 (glass 1 is 517642), toolings 1.04 and 0.97, rates 0.8 and 0.25. */
void open_rates(workshop *w);

/* Five layers of 1.38, 2.1, 1.65, 2.1 and 1.46 from the outer one, on 1.52 (glass 1 is 517642, glass 2 1.80). */
void open_five(workshop *w);

/* Fails the test when there can be none. */
bc_deposit_result deposit(const workshop *w, const bc_process *process, const bc_chamber *chamber,
                          const bc_monitor *monitor);

#endif
