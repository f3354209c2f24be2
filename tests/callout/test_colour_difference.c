/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "near.h"
#include "suites.h"
#include <bloomcoat/colour.h>
#include <math.h>

/* All 34 pairs of Sharma, Wu and Dalal, Color Res. Appl. 30, 21 (2005), table 1 (from memory), to its four decimals. */
static const double pairs[][7] = {
    {50.0, 2.6772, -79.7751, 50.0, 0.0, -82.7485, 2.0425},
    {50.0, 3.1571, -77.2803, 50.0, 0.0, -82.7485, 2.8615},
    {50.0, 2.8361, -74.0200, 50.0, 0.0, -82.7485, 3.4412},
    {50.0, -1.3802, -84.2814, 50.0, 0.0, -82.7485, 1.0000},
    {50.0, -1.1848, -84.8006, 50.0, 0.0, -82.7485, 1.0000},
    {50.0, -0.9009, -85.5211, 50.0, 0.0, -82.7485, 1.0000},
    {50.0, 0.0, 0.0, 50.0, -1.0, 2.0, 2.3669},
    {50.0, -1.0, 2.0, 50.0, 0.0, 0.0, 2.3669},
    {50.0, 2.4900, -0.0010, 50.0, -2.4900, 0.0009, 7.1792},
    {50.0, 2.4900, -0.0010, 50.0, -2.4900, 0.0010, 7.1792},
    {50.0, 2.4900, -0.0010, 50.0, -2.4900, 0.0011, 7.2195},
    {50.0, 2.4900, -0.0010, 50.0, -2.4900, 0.0012, 7.2195},
    {50.0, -0.0010, 2.4900, 50.0, 0.0009, -2.4900, 4.8045},
    {50.0, -0.0010, 2.4900, 50.0, 0.0010, -2.4900, 4.8045},
    {50.0, -0.0010, 2.4900, 50.0, 0.0011, -2.4900, 4.7461},
    {50.0, 2.5, 0.0, 50.0, 0.0, -2.5, 4.3065},
    {50.0, 2.5, 0.0, 73.0, 25.0, -18.0, 27.1492},
    {50.0, 2.5, 0.0, 61.0, -5.0, 29.0, 22.8977},
    {50.0, 2.5, 0.0, 56.0, -27.0, -3.0, 31.9030},
    {50.0, 2.5, 0.0, 58.0, 24.0, 15.0, 19.4535},
    {50.0, 2.5, 0.0, 50.0, 3.1736, 0.5854, 1.0000},
    {50.0, 2.5, 0.0, 50.0, 3.2972, 0.0, 1.0000},
    {50.0, 2.5, 0.0, 50.0, 1.8634, 0.5757, 1.0000},
    {50.0, 2.5, 0.0, 50.0, 3.2592, 0.3350, 1.0000},
    {60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644},
    {63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630},
    {61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731},
    {35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645},
    {22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373},
    {36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146},
    {90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441},
    {90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381},
    {6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377},
    {2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082},
};

START_TEST(the_published_pairs)
{
    const double *row = pairs[_i];
    const bc_colour one = {.L = row[0], .a = row[1], .b = row[2]}, other = {.L = row[3], .a = row[4], .b = row[5]};
    ck_assert_double_eq_tol(bc_colour_difference(&one, &other), row[6], 5.01e-5);
    ck_assert_double_eq_tol(bc_colour_difference(&other, &one), row[6], 5.01e-5);
    ck_assert_double_eq(bc_colour_difference(&one, &one), 0.0);
}
END_TEST

/* sRGB (IEC 61966-2-1): white is 1, 1, 1 in any light; a grey of Y = 0.2 is 0.4845 in each; what a screen cannot show
 * is cut; what reflects nothing is black. */
START_TEST(on_a_screen)
{
    for (int i = 0; i < 6; i++) {
        double rgb[3];
        bc_colour white;
        bc_colour_white((bc_illuminant)(i / 2), (bc_observer)(i % 2), &white);
        bc_colour_screen(&white, (bc_illuminant)(i / 2), (bc_observer)(i % 2), 1.0, rgb);
        for (int c = 0; c < 3; c++)
            ck_assert_double_eq_tol(rgb[c], 1.0, 1e-3);
        bc_colour_screen(&white, (bc_illuminant)(i / 2), (bc_observer)(i % 2), 0.2, rgb);
        for (int c = 0; c < 3; c++)
            ck_assert_double_eq_tol(rgb[c], 1.055 * pow(0.2, 1.0 / 2.4) - 0.055, 1e-3);
    }
    const bc_colour green = {.X = 1.0, .Y = 5.0, .Z = 0.5}, none = {0};
    double rgb[3];
    bc_colour_screen(&green, BC_ILLUMINANT_D65, BC_OBSERVER_2, 0.5, rgb);
    ck_assert(rgb[0] == 0.0 && rgb[1] > 0.9 && rgb[1] <= 1.0 && rgb[2] < 0.1);
    bc_colour_screen(&none, BC_ILLUMINANT_D65, BC_OBSERVER_2, 0.5, rgb);
    ck_assert(rgb[0] == 0.0 && rgb[1] == 0.0 && rgb[2] == 0.0);
}
END_TEST

TCase *colour_difference_case(void)
{
    TCase *tests = tcase_create("colour_difference");
    tcase_add_loop_test(tests, the_published_pairs, 0, sizeof pairs / sizeof *pairs);
    tcase_add_test(tests, on_a_screen);
    return tests;
}
