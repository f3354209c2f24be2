/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "suites.h"
#include <bloomcoat/callout_words.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A text, and the rows it asks for: "R max <= 0.5 425..675 nm 0..30 deg unpolarized surface", joined by " | ". Where it
 * is `note` that stands behind, every row has it. */
typedef struct phrasing {
    const char *text;
    const char *rows;
} phrasing;

#define AT_NORMAL " 0 deg unpol surface"

static const phrasing understood[] = {
    {"Ravg <= 0.5 % and Rmax <= 1 %, 425-675 nm, AOI 0-30 deg, unpolarized",
     "R avg <= 0.5 425..675 nm 0..30 deg unpol surface | R max <= 1 425..675 nm 0..30 deg unpol surface"},
    {"R < 0.25 % @ 1064 nm, 0\xC2\xB0; R < 0,5 % @ 532 nm",
     "R max <= 0.25 1064 nm" AT_NORMAL " | R max <= 0.5 532 nm" AT_NORMAL},
    {"Tavg > 98 % per part 8-12 um", "T avg >= 98 8000..12000 nm 0 deg unpol part"},
    {"R < 0.5 % average, 425-675 nm, 0-30 deg, both surfaces", "R avg <= 0.5 425..675 nm 0..30 deg unpol surface"},
    {"R < 0.5 % 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R<0.5%,400-700nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"r.avg", NULL},
    {"Ravg < 0,35 %; 420 to 680 nm", NULL},
    {"Ravg < 0,35 % 420 to 680 nm", "R avg <= 0.35 420..680 nm" AT_NORMAL},
    {"R avg < 0.5 % from 400 to 700 nm", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"R_avg \xE2\x89\xA4 0.5 %, 400\xE2\x80\x93"
     "700 nm",
     "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"R(avg) < 0.5 %, 400..700 nm", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"average R < 0.5 %, 400-700 nm", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"mean reflectance less than 0.5 percent, 400-700 nm", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"reflectance at most 0.5 % at 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"Reflection not to exceed 1 % at 633 nm", "R max <= 1 633 nm" AT_NORMAL},
    {"residual reflectance below 0.3 % 500-600 nm", "R max <= 0.3 500..600 nm" AT_NORMAL},
    {"Rmax 0.5 % 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R max = 0.5 %, 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R 0.5 % max, 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R <= 0.5 % max, 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"peak R < 1 %, 400-700 nm", "R max <= 1 400..700 nm" AT_NORMAL},
    {"Rabs < 0.5 % 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R < 0.5 % at every wavelength 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"Rv < 0.5 %", "R lum <= 0.5 380..780 nm" AT_NORMAL},
    {"\xCF\x81_v < 0.5 % 380-780 nm", "R lum <= 0.5 380..780 nm" AT_NORMAL},
    {"tau_v >= 98 %, 0.38-0.78 um, per part", "T lum >= 98 380..780 nm 0 deg unpol part"},
    {"luminous reflectance < 0.5 %", "R lum <= 0.5 380..780 nm" AT_NORMAL},
    {"Rmax < 1 %, Rv < 0.5 %, 425-675 nm", "R max <= 1 425..675 nm" AT_NORMAL " | R lum <= 0.5 380..780 nm" AT_NORMAL},
    {"Rmax < 1 % 425-675 nm, Rv < 0.5 %", "R max <= 1 425..675 nm" AT_NORMAL " | R lum <= 0.5 380..780 nm" AT_NORMAL},
    {"Ravg < 0.5 % 425-675 nm weighted by photopic*A", "R avg A*photopic <= 0.5 425..675 nm" AT_NORMAL},
    {"R average weight: D65 <= 0.5 %, 425-675 nm", "R avg D65 <= 0.5 425..675 nm" AT_NORMAL},
    {"Ravg < 0.5 % 425-675 nm, AOI 20 deg, cone 10 deg", "R avg <= 0.5 425..675 nm 20 cone 10 deg unpol surface"},
    {"R < 0.5 % 633 nm cone half-angle 12.5", "R max <= 0.5 633 nm 0 cone 12.5 deg unpol surface"},
    {"chroma <= 8, 0-30 deg", "R chroma D65 2 <= 8 380..780 nm 0..30 deg unpol surface"},
    {"C*ab < 8, Rmax < 1 % 425-675 nm",
     "R chroma D65 2 <= 8 380..780 nm" AT_NORMAL " | R max <= 1 425..675 nm" AT_NORMAL},
    {"a* -2 +- 4, b* = 3 \xC2\xB1 1.5, 10 deg, illuminant A, 10 deg observer",
     "R a* A 10 -2 <= 4 380..780 nm 10 deg unpol surface | R b* A 10 3 <= 1.5 380..780 nm 10 deg unpol surface"},
    {"chromaticity x 0.31 +- 0.02 D50", "R x D50 2 0.31 <= 0.02 380..780 nm" AT_NORMAL},
    {"a*b* 2, -3 +- 4, 1.5 turned -30 deg, 10 deg, D50",
     "R ab D50 2 (2 -3 4 1.5 -30) <= 1 380..780 nm 10 deg unpol surface"},
    {"T chromaticity xy within 0.3 0.32 \xC2\xB1 0.02 0.01 and a*b* -1 -2 +- 3 3",
     "T xy D65 2 (0.3 0.32 0.02 0.01 0) <= 1 380..780 nm" AT_NORMAL
     " | R ab D65 2 (-1 -2 3 3 0) <= 1 380..780 nm" AT_NORMAL},
    {"dE00 <= 3 from 21.5 1.2 -3.4, 10 deg", "R dE00 D65 2 (21.5 1.2 -3.4) <= 3 380..780 nm 10 deg unpol surface"},
    {"T \xCE\x94"
     "E00 < 2.5 from 80, -1, 2, D50",
     "T dE00 D50 2 (80 -1 2) <= 2.5 380..780 nm" AT_NORMAL},
    {"CIEDE2000 not more than 1 from 5 0 0", "R dE00 D65 2 (5 0 0) <= 1 380..780 nm" AT_NORMAL},
    {"T chroma <= 3 per part", "T chroma D65 2 <= 3 380..780 nm 0 deg unpol part"},
    {"Rv < 0.5 % D65", "R lum <= 0.5 380..780 nm" AT_NORMAL},
    {"rho < 0.5 % 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"\xCF\x81 \xE2\x89\xA4 0.5 % 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"\xCF\x84 \xE2\x89\xA5 99 % 400-700 nm", "T min >= 99 400..700 nm" AT_NORMAL},
    {"tau > 98 % 1550 nm", "T min >= 98 1550 nm" AT_NORMAL},
    {"T > 99 % 1064 nm", "T min >= 99 1064 nm" AT_NORMAL},
    {"Tmin 99 % 1030-1090 nm", "T min >= 99 1030..1090 nm" AT_NORMAL},
    {"transmission at least 97 % per part, 400-700 nm", "T min >= 97 400..700 nm 0 deg unpol part"},
    {"transmittance better than 98 % 633 nm", "T min >= 98 633 nm" AT_NORMAL},
    {"R better than 0.5 % 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"A < 0.1 % 1064 nm", "A max <= 0.1 1064 nm" AT_NORMAL},
    {"absorption below 0.2 % 10.6 um", "A max <= 0.2 10600 nm" AT_NORMAL},
    {"R < 1 % 0.4-0.7 \xC2\xB5m", "R max <= 1 400..700 nm" AT_NORMAL},
    {"R < 1 % 0.4-0.7 \xCE\xBCm", "R max <= 1 400..700 nm" AT_NORMAL},
    {"R < 1 % 3 to 5 microns", "R max <= 1 3000..5000 nm" AT_NORMAL},
    {"R < 1 % 400 nm - 700 nm", "R max <= 1 400..700 nm" AT_NORMAL},
    {"R < 1 % 400 nm to 0.7 um", "R max <= 1 400..700 nm" AT_NORMAL},
    {"R < 1 % 700-400 nm", "R max <= 1 400..700 nm" AT_NORMAL},
    {"R < 0.25 % 1064 \xC2\xB1 5 nm", "R max <= 0.25 1059..1069 nm" AT_NORMAL},
    {"R < 0.25 % 1064 nm +/- 5 nm", "R max <= 0.25 1059..1069 nm" AT_NORMAL},
    {"R < 0.2 % @ 532, 1064 nm", "R max <= 0.2 532 nm" AT_NORMAL " | R max <= 0.2 1064 nm" AT_NORMAL},
    {"R < 0.2 % @ 532 nm and 1064 nm", "R max <= 0.2 532 nm" AT_NORMAL " | R max <= 0.2 1064 nm" AT_NORMAL},
    {"R < 1 % 633 nm AOI 45", "R max <= 1 633 nm 45 deg unpol surface"},
    {"R < 1 % 633 nm, AOI = 0-30\xC2\xB0", "R max <= 1 633 nm 0..30 deg unpol surface"},
    {"R < 1 % 633 nm, angle of incidence: 0 to 30 degrees", "R max <= 1 633 nm 0..30 deg unpol surface"},
    {"R < 1 % 633 nm, 30 \xC2\xB1 5 deg", "R max <= 1 633 nm 25..35 deg unpol surface"},
    {"R < 1 % 633 nm, 0 \xC2\xB1 15 deg", "R max <= 1 633 nm 0..15 deg unpol surface"},
    {"R < 1 % 633 nm at normal incidence", "R max <= 1 633 nm" AT_NORMAL},
    {"R < 1 % 633 nm, AOI 0, 45", "R max <= 1 633 nm" AT_NORMAL " | R max <= 1 633 nm 45 deg unpol surface"},
    {"R < 1 % 633 nm 45 deg s-pol", "R max <= 1 633 nm 45 deg s surface"},
    {"R < 1 % 633 nm 45 deg p-polarized", "R max <= 1 633 nm 45 deg p surface"},
    {"R < 1 % 633 nm 45 deg, s and p", "R max <= 1 633 nm 45 deg each surface"},
    {"R < 1 % 633 nm 45 deg, s, p", "R max <= 1 633 nm 45 deg each surface"},
    {"Rs < 1 % and Rp < 0.5 %, 633 nm, 45 deg",
     "R max <= 1 633 nm 45 deg s surface | R max <= 0.5 633 nm 45 deg p surface"},
    {"Rsavg < 1 %, 600-700 nm, 45 deg", "R avg <= 1 600..700 nm 45 deg s surface"},
    {"R < 1 % 633 nm random polarization", "R max <= 1 633 nm" AT_NORMAL},
    {"425-675 nm: Ravg < 0.4 %, Rmax < 0.9 %",
     "R avg <= 0.4 425..675 nm" AT_NORMAL " | R max <= 0.9 425..675 nm" AT_NORMAL},
    {"Rmax < 0.9 %, avg < 0.4 %, 425-675 nm",
     "R max <= 0.9 425..675 nm" AT_NORMAL " | R avg <= 0.4 425..675 nm" AT_NORMAL},
    {"R < 0.25 % @ 1064 nm and R < 0.5 % @ 532 nm",
     "R max <= 0.25 1064 nm" AT_NORMAL " | R max <= 0.5 532 nm" AT_NORMAL},
    {"Ravg < 0.5 % and Tavg > 98 % per surface, 400-700 nm",
     "R avg <= 0.5 400..700 nm" AT_NORMAL " | T avg >= 98 400..700 nm" AT_NORMAL},
    {"AR coating: R < .5 % 400-700 nm\nR < 1 % 1064 nm",
     "R max <= 0.5 400..700 nm" AT_NORMAL " | R max <= 1 1064 nm" AT_NORMAL},
    {"R < 0.5\xC2\xA0% 400-700\xC2\xA0nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R less than or equal to 0.5 % @ \xCE\xBB = 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    /* what an adversary tried next */
    {"average reflectance over 400-700 nm shall not exceed 0.5 %", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"A reflectance of 0.5 % max", NULL},
    {"a reflectance of less than 0.5 % at 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"reflectance must be no greater than 0.5 % across 400 to 700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R < 0.3 % between 0.5 and 0.6 um", "R max <= 0.3 500..600 nm" AT_NORMAL},
    {"AR coat, R < 0.3 % between 500 nm and 600 nm, between 0 and 30 deg",
     "R max <= 0.3 500..600 nm 0..30 deg unpol surface"},
    {"R < 0.3 % for wavelengths between 500 - 600 nm and at 850 nm",
     "R max <= 0.3 500..600 nm 0 deg unpol surface | R max <= 0.3 850 nm" AT_NORMAL},
    {"avg R < 0.5 % throughout 400-700 nm; R < 1 % everywhere, 400-700 nm",
     "R avg <= 0.5 400..700 nm 0 deg unpol surface | R max <= 1 400..700 nm" AT_NORMAL},
    {"BBAR 400-700 nm Ravg<0.5%", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"V-coat, R<0.2% @ 532nm", "R max <= 0.2 532 nm" AT_NORMAL},
    {"R<1.0% 8-12 microns avg", "R avg <= 1 8000..12000 nm" AT_NORMAL},
    {"R < 0.5 % 400 - 700nm avg., 0 - 30 deg", "R avg <= 0.5 400..700 nm 0..30 deg unpol surface"},
    {"R < 0.5 % 400-700 nm avg, T > 98 % 1064 nm",
     "R avg <= 0.5 400..700 nm" AT_NORMAL " | T min >= 98 1064 nm" AT_NORMAL},
    {"R<0.5%, T>98%, 400-700 nm avg", NULL},
    {"R < 0.5 % 400-700 nm, avg < 0.3 %", NULL},
    {"R <0.5% (avg) <1.0% (max) 400-700 nm",
     "R avg <= 0.5 400..700 nm" AT_NORMAL " | R max <= 1 400..700 nm" AT_NORMAL},
    {"no more than 0.5 % R 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"no more than 0.5 % R 400-700 nm and 1 % R 900 nm", NULL},
    {"0.5 % max reflectance 400-700 nm", "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"<0.5 % R average 400-700 nm", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"<0.5 % R 1064 nm T", NULL},
    {"Ravg(400-700 nm) < 0.5 %", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"R(1064 nm) < 0.2 %, R(532 nm) < 0.5 %", "R max <= 0.2 1064 nm" AT_NORMAL " | R max <= 0.5 532 nm" AT_NORMAL},
    {"R(\xCE\xB8=45\xC2\xB0, 633nm) < 1 %", "R max <= 1 633 nm 45 deg unpol surface"},
    {"R(\xCE\xBB = 400 - 700 nm) < 1 %", "R max <= 1 400..700 nm" AT_NORMAL},
    {"T > 99% 1064nm R 532nm < 1%", "T min >= 99 1064 nm" AT_NORMAL " | R max <= 1 532 nm" AT_NORMAL},
    {"R(1064 nm) < 0.2 %, T > 99 %", NULL},
    {"R 45 deg < 1 %, T > 98 %, 633 nm", NULL},
    {"R<0.5% 633nm, AOI<30\xC2\xB0", "R max <= 0.5 633 nm 0..30 deg unpol surface"},
    {"R<0.5% 633nm, AOI <= 30", "R max <= 0.5 633 nm 0..30 deg unpol surface"},
    {"R<0.5% 633nm, up to 30 deg", "R max <= 0.5 633 nm 0..30 deg unpol surface"},
    {"R up to 0.5 % 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"R < 0.5 % 400\xE2\x80\x93"
     "700nm, angle 0\xE2\x80\x93"
     "30\xC2\xB0",
     "R max <= 0.5 400..700 nm 0..30 deg unpol surface"},
    {"R < 0.5 % from 400 to 700 nm at an angle of incidence of 0 to 30 degrees",
     "R max <= 0.5 400..700 nm 0..30 deg unpol surface"},
    {"R avg. < 0.5 % [400-700 nm] per surf.", "R avg <= 0.5 400..700 nm" AT_NORMAL},
    {"R < 0.5 % each face 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"R_max < 0.5% @ 400\xC3\xB7"
     "700 nm",
     "R max <= 0.5 400..700 nm" AT_NORMAL},
    {"R \xE2\x89\xA6 0.5 % 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"R \xEF\xBC\x9C 0.5\xEF\xBC\x85 633 nm", "R max <= 0.5 633 nm" AT_NORMAL},
    {"R < 0.5% 1064nm, T > 99% 532nm AOI 45 p",
     "R max <= 0.5 1064 nm 45 deg p surface | T min >= 99 532 nm 45 deg p surface"},
};

static void describe(const bc_callouts *callouts, char *out, size_t size)
{
    static const char *const quantity[] = {"R", "T", "A"}, *const pol[] = {"unpol", "s", "p", "each"};
    static const char *const colour[] = {"", "chroma", "a*", "b*", "x", "y", "ab", "xy", "dE00"}, *const lamp[] = {
                                                                                                      "D65", "A",
                                                                                                      "D50"};
    out[0] = '\0';
    for (size_t i = 0; i < callouts->count; i++) {
        const bc_callout *c = &callouts->callout[i];
        const double from = c->aoi_from_rad * 180 / M_PI, to = c->aoi_to_rad * 180 / M_PI;
        const char *weight = c->weight == NULL || bc_callout_has_own_band(c) ? NULL : bc_weight_name(c->weight);
        char nm[64], deg[64], target[128] = "", light[160] = "";
        snprintf(nm, sizeof nm, c->from_nm == c->to_nm ? "%.9g" : "%.9g..%.9g", c->from_nm, c->to_nm);
        snprintf(deg, sizeof deg, from == to ? "%.9g" : "%.9g..%.9g", from, to);
        if (c->cone_rad > 0)
            snprintf(deg + strlen(deg), sizeof deg - strlen(deg), " cone %.9g", c->cone_rad * 180 / M_PI);
        if (bc_callout_is_ellipse(c))
            snprintf(target, sizeof target, " (%.9g %.9g %.9g %.9g %.9g)", c->ellipse.centre[0], c->ellipse.centre[1],
                     c->ellipse.half_axis[0], c->ellipse.half_axis[1], c->ellipse.turn_rad * 180 / M_PI);
        else if (c->colour == BC_COLOUR_DIFFERENCE)
            snprintf(target, sizeof target, " (%.9g %.9g %.9g)", c->reference[0], c->reference[1], c->reference[2]);
        else if (c->colour > BC_CHROMA)
            snprintf(target, sizeof target, " %.9g", 100 * c->target);
        if (c->colour != BC_NO_COLOUR)
            snprintf(light, sizeof light, " %s %s%s", lamp[c->illuminant], c->observer == BC_OBSERVER_2 ? "2" : "10",
                     target);
        snprintf(out + strlen(out), size - strlen(out), "%s%s %s%s%s%s %s %.9g %s nm %s deg %s %s", i == 0 ? "" : " | ",
                 quantity[c->quantity],
                 c->colour != BC_NO_COLOUR    ? colour[c->colour]
                 : bc_callout_is_luminous(c)  ? "lum"
                 : c->statistic == BC_AVERAGE ? "avg"
                 : c->sense == BC_AT_MOST     ? "max"
                                              : "min",
                 light, weight == NULL ? "" : " ", weight == NULL ? "" : weight,
                 c->sense == BC_AT_MOST ? "<=" : ">=", 100 * c->limit, nm, deg, pol[c->polarization],
                 c->scope == BC_SCOPE_PART ? "part" : "surface");
    }
}

START_TEST(words_of_drawings_are_understood)
{
    const phrasing *phrase = &understood[_i];
    bc_callouts callouts = {0};
    bc_error error = {0};
    char rows[1024];
    const bc_status status = bc_callouts_parse(phrase->text, &callouts, NULL, &error);
    describe(&callouts, rows, sizeof rows);
    if (phrase->rows == NULL)
        ck_assert_msg(status == BC_ERROR_INPUT, "'%s' was read as %s", phrase->text, rows);
    else
        ck_assert_msg(status == BC_OK && strcmp(rows, phrase->rows) == 0, "'%s' is\n  %s, not\n  %s%s", phrase->text,
                      rows, phrase->rows, error.message);
    bc_callouts_clear(&callouts);
}
END_TEST

/* A text, what the sentence says, and the characters before the caret. */
static const struct {
    const char *text, *sentence;
    int caret;
} asked[] = {
    {"", "no callout here", 0},
    {";;", "no callout here", 0},
    {"coating", "no limit between the semicolons", 0},
    {"R < 0.5 %", "no band or wavelength", 0},
    {"Ravg < 0.5 % and Rmax < 1 %", "no band or wavelength", 0},
    {"R < 0.5, 400-700 nm", "a limit without '%'", 4},
    {"R < 0.005 400-700 nm", "a limit without '%'", 4},
    {"R < 0.5 % 400-700", "a number without a unit", 10},
    {"R < 0.5 % 400 nm - 700", "a unit (nm, um, deg) after the second number", 19},
    {"R < 0.5 % 400-700 deg", "angles of incidence from 0 to below 90", 10},
    {"R < 0.5 % 400 nm - 30 deg", "two kinds of unit", 22},
    {"R < 0.5-1 % 400-700 nm", "a range or a tolerance as a limit", 4},
    {"R = 0.5 % 400-700 nm", "highest or a lowest value", 0},
    {"Ravg 0.5 % 400-700 nm", "highest or a lowest value", 0},
    {"Ravg < 0.5 % 550 nm", "an average over one wavelength", 13},
    {"Rmax > 4 % 400-700 nm", "a maximum with '>='", 0},
    {"Rmin < 4 % 400-700 nm", "a minimum with '<='", 0},
    {"R avg max < 4 % 400-700 nm", "two statistics", 6},
    {"R < 1,064 % 400-700 nm", "a decimal comma, or one that parts", 4},
    {"R < 1 % 1,064 nm", "a decimal comma, or one that parts", 8},
    {"R < 1 % 532,1064 nm", "a decimal comma, or one that parts", 8},
    {"R < 1 % 400-700 nm 0,30,45 deg", "more than one comma or point", 19},
    {"R < 1 % 400-700 nm 0,5 deg", "the comma may be decimal", 19},
    {"R < 1.5.2 % 400-700 nm", "more than one comma or point", 4},
    {"R < 0 % 400-700 nm", "no real coating meets 0 percent", 0},
    {"T > 100 % 400-700 nm", "no real coating meets 100 percent", 0},
    {"R < 120 % 400-700 nm", "from 0 to 100 percent", 0},
    {"< 0.5 % 400-700 nm", "a limit without a quantity;", 0},
    {"Rv < 0.5 %, 425-675 nm", "the band of a luminous value or a colour is 380-780 nm", 12},
    {"Rs < 1 % 633 nm, cone 10 deg", "s or p over a cone", 0},
    {"R < 1 % 633 nm, 80 deg, cone 10 deg", "stay below 90 degrees", 0},
    {"R < 1 % 633 nm, cone 0 deg", "expected one half-angle", 21},
    {"R<1% 633nm cone 5 deg cone 9 deg", "expected one half-angle", 27},
    {"chroma <= 8 %", "a unit behind the limit of a colour", 10},
    {"chroma >= 8", "a lowest value of a colour", 0},
    {"chroma 8", "highest or a lowest value", 0},
    {"chroma <= 0", "expected a limit above 0", 0},
    {"chroma <= 8 +- 1", "expected one number above 0", 10},
    {"a* <= 5", "expected a value with a tolerance", 6},
    {"a*b* <= 5", "expected an ellipse, as in", 9},
    {"dE00 <= 3", "expected a colour difference and the L*, a*, b* it is from", 9},
    {"dE00 <= 3 from 2 1, 20 deg", "expected a number before it", 23},
    {"dE00 3 from 2 1 1", "highest or a lowest value", 0},
    {"dE00 >= 3 from 2 1 1", "a lowest value of a colour", 0},
    {"dE00 <= 3 from 101 1 1", "expected an L* from 0 to 100", 0},
    {"a*b* 2 -3 4 1.5", "expected +- and two half-axes", 10},
    {"a*b* 2 -3 +- 4, 20 deg", "expected a number before it", 19},
    {"a*b* 2 -3 +- 0 1", "half-axes from 0.000001 to 200 of the ellipse", 0},
    {"a*b* 2 -3 +- 4 1.5 turned 30, 20 deg", "expected degrees behind the turn", 28},
    {"a*b* 2,5 -3 +- 4 1.5", "the comma may be decimal", 5},
    {"chroma <= 8, 425-675 nm", "the band of a luminous value or a colour is 380-780 nm", 13},
    {"Rmax < 1 % 425-675 nm, D65", "an illuminant or an observer without a colour", 23},
    {"chroma <= 8, D65, illuminant A", "expected one illuminant", 18},
    {"Rvis < 0.5 %", "'Rvis' is not among the words", 0},
    {"Rv max < 0.5 %", "two statistics", 3},
    {"Rmax < 0.5 % weighted by D65, 400-700 nm", "a weight without an average", 0},
    {"Rv < 0.5 % weighted by D65", "a weight without an average", 0},
    {"Ravg < 0.5 % weighted by D66, 400-700 nm", "expected a weight: photopic", 25},
    {"Ravg weight A, weight D65 < 0.5 %, 400-700 nm", "two weights for one limit", 15},
    {"Ravg < 0.5 % weighted by photopic, 400-800 nm", "the weight 'photopic' is there from 380 to 780 nm", 0},
    {"R < 0.5 % VIS", "'VIS' is not among the words", 10},
    {"R < 0.5 dB 400-700 nm", "'dB' is not among the words", 8},
    {"R < 0.5 \xE2\x80\xB0 400-700 nm", "is not among the words", 8},
    {"Ravg <= 0.5 % 425-675 nm, Rmax <= 1 %", "which band does this limit hold for", 26},
    {"Rmax <= 1 %, 0 deg, Ravg <= 0.5 %, 425-675 nm", "which angle of incidence", 20},
    {"400-700 nm Ravg <= 0.5 % 425-675 nm, Rmax <= 1 %", "does this band hold for every limit", 0},
    {"R T < 1 % 400-700 nm", "has no limit yet", 2},
    {"R < 1 % < 2 % 400-700 nm", NULL, 0},
    {"R < 1 % between 400, 700 nm", "'between' needs two wavelengths", 8},
    {"R between 400 nm < 1 %", "'between' needs two wavelengths", 2},
    {"R < 1 % 400-700 nm between", "'between' needs two wavelengths", 19},
    {"R < < 2 % 400-700 nm", "a second comparison", 4},
    {"R < 400-700 nm", "a limit without '%'", 4},
    {"R < nm", "expected a number before it", 4},
    {"R 400-700 nm", "a limit without its number", 0},
    {"R < 1 % 400- nm", "a number after the '-'", 11},
    {"R < 1 % 633 nm s unpol", "unpolarized light and a polarization", 17},
    {"R < 1 % 633 nm per surface per part", "for one limit", 27},
    {"R < 1 % 633 nm 95 deg", "angles of incidence from 0 to below 90", 15},
    {"R < 1 % 633 nm 85 \xC2\xB1 10 deg", "angles of incidence from 0 to below 90", 15},
    {"R < 1 % 0 nm", "wavelengths from 0.001", 8},
    {"R < 1 % 633 nm \xE2\x98\x83", "is not among the words", 15},
    {"AOI 0-30 deg", "no limit between the semicolons", 0},
    {"R < 0.5% at 633 nm, not 532 nm", "'not' is not among the words", 20},
    {"R not < 0.5 % 633 nm", "'not' is not among the words", 2},
    {"R < 0.5 % 400-700 nm except 589 nm", "'except' is not among the words", 21},
    {"R between 0.2 % and 0.5 % at 633 nm", "'between' needs two wavelengths", 2},
    {"R <= 0.5 % 400-700 nm at 20\xC2\xB0"
     "C",
     "'C' is not among the words", 28},
    {"Ravg < 0.5 % (95 % confidence) 400-700 nm", "'confidence' is not among the words", 19},
    {"R < 1.5 % total, 633 nm", "'total' is not among the words", 10},
    {"R < 0.5 % 1064 nm (S1), R < 1 % 1064 nm (S2)", "a number without a unit", 20},
    {"R<0.5% for wavelengths > 400 nm and < 700 nm", "a limit without '%'", 25},
    {"R<0.5% 633nm, AOI < 0-30 deg", "a range after a comparison", 20},
    {"R<0.5% 633nm, < 30 deg, > 10 deg", "a limit without '%'", 26},
    {"R<0.5% 633 nm 45 deg avg of s and p", "a limit without its number", 21},
    {"R < 5e-3 633 nm", "'e' is not among the words", 5},
    {"R<0.5% 4000-7000 \xC3\x85", "is not among the words", 17},
    {"R<0.5% typ. 400-700 nm", "'typ' is not among the words", 7},
    {"R < 0.5 % 532 nm, 30\xC2\xB0 in glass", "'glass' is not among the words", 25},
};

START_TEST(what_is_left_open_is_asked)
{
    bc_callouts callouts = {0};
    bc_error error = {0};
    char caret[128];
    const bc_status status = bc_callouts_parse(asked[_i].text, &callouts, NULL, &error);
    if (asked[_i].sentence == NULL) { /* the control: two limits for one quantity can be read */
        ck_assert_int_eq(status, BC_OK);
        ck_assert_uint_eq(callouts.count, 2);
        bc_callouts_clear(&callouts);
        return;
    }
    ck_assert_msg(status == BC_ERROR_INPUT, "'%s' was read", asked[_i].text);
    ck_assert_uint_eq(callouts.count, 0);
    ck_assert_msg(strstr(error.message, asked[_i].sentence) != NULL, "'%s': %s", asked[_i].text, error.message);
    snprintf(caret, sizeof caret, "\n    %*s^", asked[_i].caret, "");
    const char *last = strrchr(error.message, '\n');
    ck_assert_msg(last != NULL && strcmp(last, caret) == 0, "'%s': %s", asked[_i].text, error.message);
    bc_callouts_clear(&callouts);
}
END_TEST

START_TEST(assumptions_are_reported)
{
    static const struct {
        const char *text;
        unsigned bits;
    } cases[] = {
        {"Ravg <= 1 %, 400-700 nm, 0 deg, unpol, per surface", 0},
        {"Ravg <= 1 %, 400-700 nm, unpol, per surface", BC_ASSUMED_ANGLE},
        {"Ravg <= 1 %, 400-700 nm, 0 deg, per surface", BC_ASSUMED_POLARIZATION},
        {"Rs <= 1 %, 633 nm, 0 deg, per surface", 0},
        {"Ravg <= 1 %, 400-700 nm, 0 deg, unpol", BC_ASSUMED_SURFACE},
        {"R <= 1 %, 400-700 nm, 0 deg, unpol, per part", BC_ASSUMED_EXTREME},
        {"chroma <= 8, 0 deg, unpol, per part, D50", BC_ASSUMED_OBSERVER},
        {"chroma <= 8, 0 deg, unpol, per part, 10 deg observer", BC_ASSUMED_ILLUMINANT},
        {"Rv <= 1 % and chroma <= 8, 0 deg, unpol, per part, D50, 2 deg observer", BC_SAID_ANOTHER_LIGHT},
        {"Rv <= 1 % and chroma <= 8, 0 deg, unpol, per part, D65, 2 deg observer", 0},
        {"R <= 1 %, 633 nm, 0 deg, unpol, per part", 0},
        {"Ravg < 1 %, 400-700 nm, 0 deg, unpol, both sides", BC_SAID_BOTH_SURFACES | BC_SAID_STRICTLY},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bc_callouts callouts = {0};
        bc_error error = {0};
        unsigned bits = 0;
        ck_assert_msg(bc_callouts_parse(cases[i].text, &callouts, &bits, &error) == BC_OK, "%s", error.message);
        ck_assert_msg(bits == cases[i].bits, "'%s': %u", cases[i].text, bits);
        bc_callouts_clear(&callouts);
    }
}
END_TEST

/* Texts add up; names differ; and a text that is refused leaves what was there. */
START_TEST(texts_add_up)
{
    bc_callouts callouts = {0};
    bc_error error = {0};
    ck_assert_int_eq(bc_callouts_parse("R < 1 % 633 nm, 0 deg; R < 1 % 633 nm, 30 deg", &callouts, NULL, &error),
                     BC_OK);
    ck_assert_int_eq(bc_callouts_parse("Rs < 1 % 633 nm", &callouts, NULL, &error), BC_OK);
    ck_assert_uint_eq(callouts.count, 3);
    ck_assert_str_eq(callouts.callout[0].name, "Rmax 633 nm");
    ck_assert_str_eq(callouts.callout[1].name, "Rmax 633 nm (2)");
    ck_assert_str_eq(callouts.callout[2].name, "Rmax 633 nm s");
    ck_assert_int_eq(bc_callouts_parse("R < 1 % 633 nm; R < 2 %", &callouts, NULL, &error), BC_ERROR_INPUT);
    ck_assert_uint_eq(callouts.count, 3);
    bc_callouts_clear(&callouts);
}
END_TEST

START_TEST(what_is_no_text_is_refused)
{
    static char longer[BC_CALLOUT_WORDS_SIZE + 1];
    bc_callouts callouts = {0};
    bc_error error = {0};
    memset(longer, ' ', BC_CALLOUT_WORDS_SIZE);
    ck_assert_int_eq(bc_callouts_parse(longer, &callouts, NULL, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "found 2048 bytes"));
    ck_assert_int_eq(bc_callouts_parse("R < 1 % \xFF", &callouts, NULL, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "byte 9: found byte 0xFF"));
    ck_assert_int_eq(bc_callouts_parse("R < 1 % \x1B[2J", &callouts, NULL, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "a control character"));
    /* what would turn the reading order round is written out */
    ck_assert_int_eq(bc_callouts_parse("R < 1 % \xE2\x80\xAE nm", &callouts, NULL, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "\\u{202E}"));
    ck_assert_ptr_null(strstr(error.message, "\xE2\x80\xAE"));
    bc_callouts_clear(&callouts);
}
END_TEST

Suite *callout_words_suite(void)
{
    Suite *suite = suite_create("callout_words");
    TCase *all = tcase_create("all");
    tcase_add_loop_test(all, words_of_drawings_are_understood, 0, sizeof understood / sizeof understood[0]);
    tcase_add_loop_test(all, what_is_left_open_is_asked, 0, sizeof asked / sizeof asked[0]);
    tcase_add_test(all, assumptions_are_reported);
    tcase_add_test(all, texts_add_up);
    tcase_add_test(all, what_is_no_text_is_refused);
    suite_add_tcase(suite, all);
    return suite;
}
