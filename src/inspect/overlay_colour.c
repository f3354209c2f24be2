/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/inspect.h>
#include <math.h>

#define WIDEST_NM 20.0
#define ROUNDING  1e-6 /* nm */

bool bc_overlay_colour(const bc_overlay *overlay, const double *value, bc_illuminant illuminant, bc_observer observer,
                       bc_colour *colour)
{
    double wavelength_nm[BC_COLOUR_ROWS], at[BC_COLOUR_ROWS];
    const double *nm = overlay->wavelength_nm;
    size_t step = 0;
    bc_colour_wavelengths(wavelength_nm);
    if (overlay->count < 2 || nm[0] > wavelength_nm[0] + ROUNDING ||
        nm[overlay->count - 1] < wavelength_nm[BC_COLOUR_ROWS - 1] - ROUNDING)
        return false;
    for (size_t i = 0; i < BC_COLOUR_ROWS; i++) {
        double share;
        while (step + 2 < overlay->count && nm[step + 1] < wavelength_nm[i])
            step++;
        if (nm[step + 1] - nm[step] > WIDEST_NM + ROUNDING)
            return false;
        share = fmin(fmax((wavelength_nm[i] - nm[step]) / (nm[step + 1] - nm[step]), 0.0), 1.0);
        at[i] = (1.0 - share) * value[step] + share * value[step + 1];
    }
    bc_colour_of(at, illuminant, observer, colour);
    return true;
}
