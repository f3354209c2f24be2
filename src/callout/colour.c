/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/colour.h>
#include <float.h>
#include <math.h>
#include <string.h>

#define STRAIGHT_BELOW  (216.0 / 24389.0) /* (6/29)^3, of CIELAB */
#define STRAIGHT_SLOPE  (24389.0 / 27.0)  /* (29/3)^3 */
#define A_FACTOR        500.0
#define B_FACTOR        200.0
#define DIFFERENCE_STEP 1e-5
#define GREY            1e-9 /* chroma below which there is no hue */

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

/* L*, a* and b* of X/Xn, Y/Yn and Z/Zn. */
static bc_colour lab_of(const double share[3])
{
    const double f[3] = {lightness(share[0]), lightness(share[1]), lightness(share[2])};
    return (bc_colour){.L = 116.0 * f[1] - 16.0, .a = A_FACTOR * (f[0] - f[1]), .b = B_FACTOR * (f[1] - f[2])};
}

void bc_colour_of(const double *R, bc_illuminant illuminant, bc_observer observer, bc_colour *colour)
{
    double value[3], white[3], share[3], photopic[3], sum;
    tristimulus(R, illuminant, observer, value);
    tristimulus(NULL, illuminant, observer, white);
    tristimulus(R, illuminant, BC_OBSERVER_2, photopic);
    for (int c = 0; c < 3; c++)
        share[c] = value[c] / white[c];
    sum = value[0] + value[1] + value[2];
    *colour = lab_of(share);
    colour->X = value[0];
    colour->Y = value[1];
    colour->Z = value[2];
    colour->x = value[0] / sum; /* 0 / 0 is NAN */
    colour->y = value[1] / sum;
    colour->luminous = photopic[1] / 100.0;
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

static double lightness_slope(double share)
{
    return share > STRAIGHT_BELOW ? 1.0 / (3.0 * pow(cbrt(share), 2.0)) : STRAIGHT_SLOPE / 116.0;
}

/* a* (first 0) or b* (first 1), and its slopes. */
static double opponent(const double share[3], int first, double factor, double slope[3])
{
    memset(slope, 0, 3 * sizeof *slope);
    slope[first] = factor * lightness_slope(share[first]);
    slope[first + 1] = -factor * lightness_slope(share[first + 1]);
    return factor * (lightness(share[first]) - lightness(share[first + 1]));
}

/* x (which 0) or y (which 1), and its slopes. Where nothing is reflected no colour is seen, and none is wrong:
 * `unseen`. */
static double chromaticity(const bc_callout *callout, const double share[3], int which, double unseen, double slope[3])
{
    double white[3], sum = 0.0;
    tristimulus(NULL, callout->illuminant, callout->observer, white);
    memset(slope, 0, 3 * sizeof *slope);
    for (int c = 0; c < 3; c++)
        sum += white[c] * share[c];
    if (!(sum > DBL_MIN))
        return unseen;
    for (int c = 0; c < 3; c++)
        slope[c] = white[c] / sum * ((c == which) - white[which] * share[which] / sum);
    return white[which] * share[which] / sum;
}

/* How far out of an ellipse's centre: the root of (u/p)^2 + (v/q)^2 along its half-axes p and q. */
static double out_of_ellipse(const bc_callout *callout, const double share[3], double slope[3])
{
    const bc_ellipse *ellipse = &callout->ellipse;
    const double c = cos(ellipse->turn_rad), s = sin(ellipse->turn_rad);
    const double p = ellipse->half_axis[0], q = ellipse->half_axis[1];
    double at[2], of[2][3];
    for (int k = 0; k < 2; k++)
        at[k] = (callout->colour == BC_ELLIPSE_AB ? opponent(share, k, k == 0 ? A_FACTOR : B_FACTOR, of[k])
                                                  : chromaticity(callout, share, k, ellipse->centre[k], of[k])) -
                ellipse->centre[k];
    const double u = (c * at[0] + s * at[1]) / p, v = (c * at[1] - s * at[0]) / q, out = hypot(u, v);
    for (int k = 0; slope != NULL && k < 3; k++)
        slope[k] = out > 0.0
                       ? (u * (c * of[0][k] + s * of[1][k]) / p + v * (c * of[1][k] - s * of[0][k]) / q) / out / 100.0
                       : 0.0;
    return out / 100.0;
}

/* CIEDE2000 from the reference. Its slopes are differences over so small a step that what they miss lies below what
 * rounding leaves of them. */
static double from_reference(const bc_callout *callout, const double share[3], double slope[3])
{
    const bc_colour reference = {.L = callout->reference[0], .a = callout->reference[1], .b = callout->reference[2]};
    const bc_colour here = lab_of(share);
    for (int c = 0; slope != NULL && c < 3; c++) {
        const double step = DIFFERENCE_STEP * fmax(share[c], STRAIGHT_BELOW);
        double up[3] = {share[0], share[1], share[2]}, down[3] = {share[0], share[1], share[2]};
        up[c] += step;
        down[c] -= step;
        const bc_colour above = lab_of(up), below = lab_of(down);
        slope[c] =
            (bc_colour_difference(&above, &reference) - bc_colour_difference(&below, &reference)) / (200.0 * step);
    }
    return bc_colour_difference(&here, &reference) / 100.0;
}

double bc_colour_callout_value(const bc_callout *callout, const double share[3], double slope[3])
{
    double a_slope[3], b_slope[3], value = 0.0, away;
    switch (callout->colour) {
    case BC_NO_COLOUR:
        break;
    case BC_CHROMA: {
        const double a = opponent(share, 0, A_FACTOR, a_slope), b = opponent(share, 1, B_FACTOR, b_slope);
        value = hypot(a, b);
        for (int c = 0; slope != NULL && c < 3; c++)
            slope[c] = value > 0.0 ? (a * a_slope[c] + b * b_slope[c]) / value / 100.0 : 0.0;
        return value / 100.0;
    }
    case BC_ELLIPSE_AB:
    case BC_ELLIPSE_XY:
        return out_of_ellipse(callout, share, slope);
    case BC_COLOUR_DIFFERENCE:
        return from_reference(callout, share, slope);
    case BC_COLOUR_A:
        value = opponent(share, 0, A_FACTOR, a_slope);
        break;
    case BC_COLOUR_B:
        value = opponent(share, 1, B_FACTOR, a_slope);
        break;
    case BC_COLOUR_X:
        value = chromaticity(callout, share, 0, 100.0 * callout->target, a_slope);
        break;
    case BC_COLOUR_Y:
        value = chromaticity(callout, share, 1, 100.0 * callout->target, a_slope);
        break;
    }
    away = value / 100.0 - callout->target;
    for (int c = 0; slope != NULL && c < 3; c++)
        slope[c] = (away > 0.0 ? 1.0 : away < 0.0 ? -1.0 : 0.0) * a_slope[c] / 100.0;
    return fabs(away);
}
