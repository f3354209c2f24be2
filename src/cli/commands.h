/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_COMMANDS_H
#define BLOOMCOAT_CLI_COMMANDS_H
/*
 * The commands, and what the help of several of them says alike.
 */
#include "session.h"

extern const cli_command cli_spectrum, cli_check, cli_draft, cli_refine, cli_quote, cli_yield, cli_deposit, cli_lens,
    cli_inspect, cli_materials, cli_callouts, cli_shop, cli_sensitivity, cli_index, cli_standard, cli_shift, cli_colour,
    cli_record, cli_process, cli_desk;

/* The command called `word`. */
bc_status cli_find_command(const char *word, const cli_command **command, bc_error *error);
/* A command from its options to its results; the exit code. */
int cli_run(cli_arguments *arguments, bc_error *error);

#define CLI_OPTION_CALLOUTS                                                                                            \
    {"callouts", "FILE", false, "the callouts of the drawing (CSV)"},                                                  \
    {                                                                                                                  \
        "callout", "TEXT", true, "a callout in the drawing's words: \"Ravg < 0.5 %, 425-675 nm, AOI 0-30 deg\""        \
    }
#define CLI_OPTION_PROCESS                                                                                             \
    {                                                                                                                  \
        "process", "FILE", false, "rates, tooling factors and errors of the chamber (CSV)"                             \
    }
#define CLI_OPTION_SUBSTRATE(instead)                                                                                  \
    {                                                                                                                  \
        "substrate", "NAME", true, "a six-digit glass code, a name or a constant index; " instead                      \
    }
#define CLI_OPTION_PART_BACK                                                                                           \
    {                                                                                                                  \
        "back", "uncoated|same|STACK", false, "the second surface, for callouts with scope part (default same)"        \
    }
#define CLI_OPTION_SUBSTRATE_MM                                                                                        \
    {                                                                                                                  \
        "substrate-mm", "MM", false, "thickness of the substrate in mm; needed where it absorbs (default 0)"           \
    }
#define CLI_OPTION_MINIMUM_NM                                                                                          \
    {                                                                                                                  \
        "minimum-nm", "NM", false,                                                                                     \
            "no layer that moves comes out thinner; a thinner one of the start grows (default 8; 0 allowed)"           \
    }
#define CLI_OPTION_MAX_TOTAL_NM                                                                                        \
    {                                                                                                                  \
        "max-total-nm", "NM", false, "largest total thickness of all layers (default: no limit)"                       \
    }
#define CLI_OPTION_SECONDS                                                                                             \
    {                                                                                                                  \
        "seconds", "S", false, "stop after S seconds with the best so far; the result then depends on the machine"     \
    }
#define CLI_OPTION_ROUGHNESS                                                                                           \
    {                                                                                                                  \
        "roughness-nm", "NM", false,                                                                                   \
            "rms roughness of the substrate: scatter is reported beside R and T (polished lenses: 0.4 to 1)"           \
    }
#define CLI_OPTION_END                                                                                                 \
    {                                                                                                                  \
        NULL, NULL, false, NULL                                                                                        \
    }

#endif
