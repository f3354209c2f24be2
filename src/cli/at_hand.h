/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_AT_HAND_H
#define BLOOMCOAT_CLI_AT_HAND_H
/*
 * Materials that may have been taken by mistake: those of the process, those that --at-hand names, and every substrate
 * there is a table of.
 */
#include "session.h"
#include <bloomcoat/inspect.h>

typedef struct cli_at_hand {
    size_t layers, substrates;
    bc_medium *layer, *substrate;
} cli_at_hand;

#define CLI_OPTION_AT_HAND                                                                                             \
    {                                                                                                                  \
        "at-hand", "NAME,..", false,                                                                                   \
            "more materials that may have been taken by mistake, besides those of the process and the substrates "     \
            "known"                                                                                                    \
    }

bc_status cli_read_at_hand(cli_session *session, cli_at_hand *at_hand, bc_error *error);
void cli_at_hand_clear(cli_at_hand *at_hand);

#endif
