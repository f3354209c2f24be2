/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "values.h"
#include <string.h>

void bc_callout_values(const bc_spectrum *spectrum, bc_quantity quantity, bc_polarization plane, double *value)
{
    double *const *of = quantity == BC_R ? spectrum->R : quantity == BC_T ? spectrum->T : spectrum->A;
    if (plane != BC_POL_RATIO) {
        memcpy(value, of[plane], spectrum->count * sizeof *value);
        return;
    }
    for (size_t i = 0; i < spectrum->count; i++)
        value[i] = bc_ratio_s_p(of[BC_POL_S][i], of[BC_POL_P][i]);
}
