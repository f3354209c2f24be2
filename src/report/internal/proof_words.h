/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROOF_WORDS_H
#define BLOOMCOAT_PROOF_WORDS_H
/*
 * What a proof says, in words and in JSON. `proof` may be NULL: nothing was asked to be proved.
 */
#include "json.h"
#include <bloomcoat/proof.h>
#include <bloomcoat/report.h>

/* "No stack of up to 3 layers of these materials, ..., uses less than 0.474 of the limits: proved. ..." */
void bc_add_proof(bc_text *words, const bc_proof *proof, double minimum_nm);

/* What stands beside a design of the ladder: that it is proved to be within 1 % of the best with so many layers, or
 * nothing. */
const char *bc_proof_note(const bc_proof *proof, size_t layers, double limit_used);

/* proved {layers, ...}. */
void bc_proof_json(bc_json *json, const bc_proof *proof, double minimum_nm);

#endif
