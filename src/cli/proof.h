/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_PROOF_H
#define BLOOMCOAT_CLI_PROOF_H
/*
 * --prove and --seconds, of draft and quote.
 */
#include "progress.h"
#include "session.h"
#include <bloomcoat/proof.h>

#define CLI_OPTIONS_PROOF                                                                                              \
    {"prove", "N", false,                                                                                              \
     "prove how little of the limits stacks of up to N layers can use, 0 to 8 (default: for few layers, as far as "    \
     "that "                                                                                                           \
     "takes seconds; 5 and more may take hours)"},                                                                     \
    {                                                                                                                  \
        "seconds", "S", false,                                                                                         \
            "stop after S seconds with the best so far and what is proved by then; the result then depends on the "    \
            "machine"                                                                                                  \
    }

typedef struct cli_proof {
    bool asked; /* --prove was given */
    unsigned long layers;
    double seconds; /* INFINITY: as long as it takes */
    bool quiet, begun;
    cli_progress progress;
    const cli_progress *within; /* NULL, or the work whose seconds count */
} cli_proof;

/* `layers`: up to how many where --prove is not given. */
bc_status cli_read_proof(const cli_arguments *arguments, unsigned long layers, cli_proof *proof, bc_error *error);

/* Graded layers have no proof: none unless it was asked for, which is BC_ERROR_INPUT. */
bc_status cli_proof_of_graded(const bc_design_problem *problem, cli_proof *proof, bc_error *error);

/* Up to how many layers to prove where a search has looked at `looked_at`; 0: nothing. */
size_t cli_proof_layers(const cli_proof *proof, size_t looked_at);

/* With the progress of `proof`, which must outlive them; its seconds count from when the proof begins, or
 * those of `within`. What nobody
 * asked for may take no more than seconds. cli_progress_end() takes the line away. */
bc_proof_options cli_proof_options(cli_proof *proof, const cli_session *session, size_t looked_at, size_t threads);

#endif
