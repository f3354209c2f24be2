/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/colour.h>
#include <math.h>

#define TO_25  6103515625.0 /* 25^7 */
#define DEGREE (M_PI / 180.0)

/* sqrt(C^7 / (C^7 + 25^7)) */
static double seventh(double chroma)
{
    const double power = pow(chroma, 7.0);
    return sqrt(power / (power + TO_25));
}

/* In degrees, 0 to below 360; 0 of grey. */
static double hue_of(double a, double b)
{
    const double degrees = a == 0.0 && b == 0.0 ? 0.0 : atan2(b, a) / DEGREE;
    return degrees < 0.0 ? degrees + 360.0 : degrees;
}

/* The mean of two hues, on the shorter arc; of a grey the other's. */
static double mean_hue(double one, double other, bool any_grey)
{
    if (any_grey)
        return one + other;
    if (fabs(one - other) <= 180.0)
        return 0.5 * (one + other);
    return one + other < 360.0 ? 0.5 * (one + other + 360.0) : 0.5 * (one + other - 360.0);
}

double bc_colour_difference(const bc_colour *one, const bc_colour *other)
{
    const double stretch = 1.0 + 0.5 * (1.0 - seventh(0.5 * (hypot(one->a, one->b) + hypot(other->a, other->b))));
    const double a1 = stretch * one->a, a2 = stretch * other->a;
    const double C1 = hypot(a1, one->b), C2 = hypot(a2, other->b), C = 0.5 * (C1 + C2), L = 0.5 * (one->L + other->L);
    const double h1 = hue_of(a1, one->b), h2 = hue_of(a2, other->b);
    const bool any_grey = C1 * C2 == 0.0;
    const double turn = any_grey           ? 0.0
                        : h2 - h1 > 180.0  ? h2 - h1 - 360.0
                        : h2 - h1 < -180.0 ? h2 - h1 + 360.0
                                           : h2 - h1;
    const double h = mean_hue(h1, h2, any_grey);
    const double T = 1.0 - 0.17 * cos((h - 30.0) * DEGREE) + 0.24 * cos(2.0 * h * DEGREE) +
                     0.32 * cos((3.0 * h + 6.0) * DEGREE) - 0.20 * cos((4.0 * h - 63.0) * DEGREE);
    const double from_50 = (L - 50.0) * (L - 50.0);
    const double dL = (other->L - one->L) / (1.0 + 0.015 * from_50 / sqrt(20.0 + from_50));
    const double dC = (C2 - C1) / (1.0 + 0.045 * C);
    const double dH = 2.0 * sqrt(C1 * C2) * sin(0.5 * turn * DEGREE) / (1.0 + 0.015 * C * T);
    const double rotation = -2.0 * seventh(C) * sin(60.0 * exp(-pow((h - 275.0) / 25.0, 2.0)) * DEGREE);
    return sqrt(dL * dL + dC * dC + dH * dH + rotation * dC * dH);
}

void bc_colour_screen(const bc_colour *colour, bc_illuminant illuminant, bc_observer observer, double Y, double rgb[3])
{
    static const double to_rgb[3][3] = {
        {3.2406, -1.5372, -0.4986}, {-0.9689, 1.8758, 0.0415}, {0.0557, -0.2040, 1.0570}};
    static const double screen_white[3] = {0.9505, 1.0, 1.0890};
    const double value[3] = {colour->X, colour->Y, colour->Z};
    bc_colour white;
    bc_colour_white(illuminant, observer, &white);
    const double of_white[3] = {white.X, white.Y, white.Z};
    for (int c = 0; c < 3; c++) {
        double linear = 0.0;
        for (int k = 0; k < 3 && colour->Y > 0.0; k++)
            linear += to_rgb[c][k] * screen_white[k] * value[k] / of_white[k] * Y * white.Y / colour->Y;
        linear = fmin(fmax(linear, 0.0), 1.0);
        rgb[c] = linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1.0 / 2.4) - 0.055;
    }
}
