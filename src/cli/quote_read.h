/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CLI_QUOTE_READ_H
#define CLI_QUOTE_READ_H
/*
 * What a quote is worked out from, read from the options of one surface and the files they name.
 */
#include "proof.h"
#include "session.h"
#include <bloomcoat/proof.h>
#include <bloomcoat/quote.h>
#include <bloomcoat/standard.h>

typedef struct cli_quote_inputs {
    bc_design_problem problem;
    bc_medium *layers, *other_layer, *other_glass;
    bc_quote_request request; /* points into these inputs and into the session */
    bc_standards standards;
    cli_proof wanted;
    bc_proof_options proof;
} cli_quote_inputs;

/* Fills all but `proof` and what request says of progress. The session is open; the inputs are zero. */
bc_status cli_read_quote_inputs(cli_session *session, cli_quote_inputs *inputs, bc_error *error);
void cli_quote_inputs_clear(cli_quote_inputs *inputs);

#endif
