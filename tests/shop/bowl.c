/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bowl.h"
#include <math.h>

void open_single(workshop *w, double limit)
{
    workshop_open(w, "air", "1.38", "1.62");
    w->stack.layer[0].thickness_nm = QUARTER;
    workshop_ask(w, limit, WAVE_NM, WAVE_NM, 0.0);
}

bc_lens_result look(const workshop *w, const bc_curved *curved, size_t zones)
{
    bc_lens_result result;
    bc_error error;
    ck_assert_msg(bc_lens(&w->stack, &w->callouts, 0, NULL, curved, zones, &result, &error) == BC_OK, "%s",
                  error.message);
    return result;
}

const bc_curved bowl = {.radius_mm = 20.0, .clear_aperture_mm = 28.0, .concave = true, .slope_exponent = 1.0};

double R_at_slope(double slope_rad, double vertex_nm)
{
    return one_layer(INDEX, GLASS, vertex_nm * cos(slope_rad), WAVE_NM);
}
