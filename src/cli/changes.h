/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_CHANGES_H
#define BLOOMCOAT_CLI_CHANGES_H
/*
 * What if: --set, --scale, --replace, --insert and --remove change the stack that was read, --changed-stack keeps it.
 */
#include "session.h"

/* For a command's table of options. */
#define CLI_OPTIONS_CHANGES                                                                                            \
    {"set", "LAYER=NM", true,                                                                                          \
     "what if: thickness of a layer, 2=110, 2+1%, 2-3 (nm); layer 1 is next to the substrate"},                        \
        {"scale", "FACTOR", true, "what if: all thicknesses times 1.02, or those of one material: MgF2=0.99"},         \
        {"replace", "LAYER=NAME", true, "what if: another material for a layer, its thickness kept: 2=HfO2"},          \
        {"insert", "LAYER=NAME:NM", true, "what if: add a layer, which takes that number: 2=SiO2:20"},                 \
    {                                                                                                                  \
        "remove", "LAYER", true, "what if: one layer less"                                                             \
    }
#define CLI_OPTION_CHANGED_STACK                                                                                       \
    {                                                                                                                  \
        "changed-stack", "FILE", false, "write the stack as it was changed"                                            \
    }

/* Apply them to session->stack one after the other, as the command line has them, and say so on standard error; numbers
 * are those of the moment. Without any nothing happens. */
bc_status cli_change_stack(cli_session *session, bc_error *error);

/* --changed-stack, once the result is made. */
bc_status cli_write_changed(const cli_session *session, bc_error *error);

#endif
