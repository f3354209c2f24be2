/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_STANDARD_CHECK_H
#define BLOOMCOAT_STANDARD_CHECK_H
/*
 * Whether a standard coating still does what it is sold by, on the process as it is today.
 */
#include <bloomcoat/design.h>
#include <bloomcoat/process.h>
#include <bloomcoat/standard.h>

BC_API_BEGIN

/* One stack of a standard coating against the coating's own callouts, on the substrate it is for. */
typedef struct bc_standard_state {
    const bc_standard *standard;
    size_t stack;
    double limit_used;
    double yield, yield_low, yield_high; /* fractions, on today's process; NAN: it gives no errors, or is not known */
    double yield_when_added;             /* on the process of the day it was added; NAN likewise */
    bool pass;                           /* callouts met, by the share of runs asked for where that is known */
} bc_standard_state;

/* `today` and `when_added` may be NULL: not known. `asked`: the share of runs, in (0, 1]. Rows with scope part take the
 * same coating on the back, and a substrate that does not absorb. Yields are those of bc_quote(): the same errors
 * whatever the design, and no seed. */
bc_status bc_standard_check(const bc_standard *standard, size_t stack, const bc_process *today,
                            const bc_process *when_added, double asked, size_t threads, bc_standard_state *state,
                            bc_error *error);

BC_API_END

#endif
