/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_COLOUR_H
#define BLOOMCOAT_COLOUR_H
/*
 * The colour of residual reflection, and luminous reflectance: sums of R over 380 to 780 nm every 5 nm, weighted by an
 * illuminant and the eye.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/spectrum.h>

BC_API_BEGIN

#define BC_COLOUR_ROWS BC_CIE_ROWS

typedef struct bc_colour {
    double X, Y, Z;     /* tristimulus values; Y is 100 where all light is reflected */
    double x, y;        /* chromaticity; NAN where nothing is reflected */
    double L, a, b;     /* CIELAB, white: all light of the illuminant reflected */
    double chroma, hue; /* C*ab, and hab in radians, 0 to below 2 pi (NAN below a chroma of 1e-9) */
    double luminous;    /* fraction: R weighted by the illuminant and V(lambda), whatever the observer */
} bc_colour;

/* The BC_COLOUR_ROWS wavelengths, in nm. */
void bc_colour_wavelengths(double *wavelength_nm);

/* Of R (fractions) at these wavelengths. Tristimulus values by summation, CIE 015:2018, section 7.1; CIELAB from X/Xn,
 * Y/Yn, Z/Zn by cube roots with the straight piece below (6/29)^3, section 8.2.1 (ISO/CIE 11664-4). With D65,
 * `luminous` is the luminous reflectance of spectacle optics (ISO 13666, from memory). */
void bc_colour_of(const double *R, bc_illuminant illuminant, bc_observer observer, bc_colour *colour);

/* The colour difference CIEDE2000 of two colours under the same light (kL = kC = kH = 1): Sharma, Wu and Dalal, Color
 * Res. Appl. 30, 21 (2005); CIE 142. Only L, a and b are read. */
double bc_colour_difference(const bc_colour *one, const bc_colour *other);

/* How a screen shows it (sRGB, IEC 61966-2-1; each 0 to 1), made as bright as a surface of luminous reflectance `Y`: an
 * approximation. The light's white becomes the screen's by scaling X, Y and Z; what a screen cannot show is cut. */
void bc_colour_screen(const bc_colour *colour, bc_illuminant illuminant, bc_observer observer, double Y, double rgb[3]);

/* A callout's value from X/Xn, Y/Yn and Z/Zn, in hundredths: C*ab, the distance from the target, how far out of an
 * ellipse's centre, or CIEDE2000 from the reference. slope[] (may be NULL) is its derivative with each; at the target
 * itself, where there is none, 0. */
double bc_colour_callout_value(const bc_callout *callout, const double share[3], double slope[3]);

/* The white point: of R = 1. */
void bc_colour_white(bc_illuminant illuminant, bc_observer observer, bc_colour *white);

/* The colour of a stack's reflection at one angle (radians, in the incident medium); `polarization` is not BC_POL_EACH.
 * `back` as for bc_spectrum_compute(), with its errors: tables must reach from 380 to 780 nm. */
bc_status bc_colour_compute(const bc_stack *stack, const bc_back *back, double aoi_rad, bc_polarization polarization,
                            bc_illuminant illuminant, bc_observer observer, bc_colour *colour, bc_error *error);

BC_API_END

#endif
