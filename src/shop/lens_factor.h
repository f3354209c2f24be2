/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LENS_FACTOR_H
#define BLOOMCOAT_LENS_FACTOR_H
/*
 * Common factors of all thicknesses, found on the verdict's samples by the engine that the optimizers use.
 */
#include "lens_curve.h"

/* The factor that makes the largest limit_used over result->zones smallest, and the one with which all callouts hold
 * farthest out. Rounded to the decimals of a run sheet. */
bc_status bc_lens_factors(const bc_lens_question *question, const bc_lens_result *result, double *balances,
                          double *reaches, bc_error *error);

#endif
