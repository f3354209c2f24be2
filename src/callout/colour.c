/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/colour.h>
#include <math.h>

#define STRAIGHT_BELOW (216.0 / 24389.0) /* (6/29)^3, of CIELAB */
#define STRAIGHT_SLOPE (24389.0 / 27.0)  /* (29/3)^3 */
#define GREY           1e-9              /* chroma below which there is no hue */

void bc_colour_wavelengths(double *wavelength_nm)
{
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        wavelength_nm[i] = BC_CIE_FROM_NM + BC_CIE_STEP_NM * i;
}

/* X, Y and Z of R, or (NULL) of a surface that reflects all; Y of the latter is 100. */
static void tristimulus(const double *R, bc_illuminant illuminant, bc_observer observer, double value[3])
{
    double sum[3] = {0.0, 0.0, 0.0}, white = 0.0;
    for (int i = 0; i < BC_COLOUR_ROWS; i++) {
        const bc_cie_row *row = &bc_cie_table[i];
        const double light = row->illuminant[illuminant];
        for (int c = 0; c < 3; c++)
            sum[c] += (R == NULL ? 1.0 : R[i]) * light * row->observer[observer][c];
        white += light * row->observer[observer][1];
    }
    for (int c = 0; c < 3; c++)
        value[c] = 100.0 * sum[c] / white;
}

static double lightness(double share)
{
    return share > STRAIGHT_BELOW ? cbrt(share) : (STRAIGHT_SLOPE * share + 16.0) / 116.0;
}

void bc_colour_of(const double *R, bc_illuminant illuminant, bc_observer observer, bc_colour *colour)
{
    double value[3], white[3], f[3], photopic[3], sum;
    tristimulus(R, illuminant, observer, value);
    tristimulus(NULL, illuminant, observer, white);
    tristimulus(R, illuminant, BC_OBSERVER_2, photopic);
    for (int c = 0; c < 3; c++)
        f[c] = lightness(value[c] / white[c]);
    sum = value[0] + value[1] + value[2];
    *colour = (bc_colour){
        .X = value[0],
        .Y = value[1],
        .Z = value[2],
        .x = value[0] / sum, /* 0 / 0 is NAN */
        .y = value[1] / sum,
        .L = 116.0 * f[1] - 16.0,
        .a = 500.0 * (f[0] - f[1]),
        .b = 200.0 * (f[1] - f[2]),
        .luminous = photopic[1] / 100.0,
    };
    colour->chroma = hypot(colour->a, colour->b);
    colour->hue = colour->chroma < GREY ? NAN : fmod(atan2(colour->b, colour->a) + 2.0 * M_PI, 2.0 * M_PI);
}

void bc_colour_white(bc_illuminant illuminant, bc_observer observer, bc_colour *white)
{
    double R[BC_COLOUR_ROWS];
    for (int i = 0; i < BC_COLOUR_ROWS; i++)
        R[i] = 1.0;
    bc_colour_of(R, illuminant, observer, white);
}

bc_status bc_colour_compute(const bc_stack *stack, const bc_back *back, double aoi_rad, bc_polarization polarization,
                            bc_illuminant illuminant, bc_observer observer, bc_colour *colour, bc_error *error)
{
    double wavelength_nm[BC_COLOUR_ROWS];
    bc_spectrum spectrum;
    bc_status status;
    bc_colour_wavelengths(wavelength_nm);
    status = bc_spectrum_compute(stack, back, BC_COLOUR_ROWS, wavelength_nm, aoi_rad, BC_PATH_AUTO, &spectrum, error);
    if (status != BC_OK)
        return status;
    bc_colour_of(spectrum.R[polarization], illuminant, observer, colour);
    bc_spectrum_clear(&spectrum);
    return BC_OK;
}
