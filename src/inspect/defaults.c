/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/inspect.h>

bc_inspect_setup bc_inspect_defaults(const bc_stack *design)
{
    const bc_inspect_setup setup = {
        .design = design, .polarization = BC_POL_UNPOLARIZED, .coverage_factor = 2.0, .confidence = 0.95};
    return setup;
}
