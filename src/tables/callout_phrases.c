/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The words and signs of drawings, each with what it means.
 */
#include "callout_phrases.h"
#include <ctype.h>
#include <string.h>

static const bc_phrase phrases[] = {
    {"reflectance", BC_TOKEN_QUANTITY, BC_R, 0},
    {"reflection", BC_TOKEN_QUANTITY, BC_R, 0},
    {"reflectivity", BC_TOKEN_QUANTITY, BC_R, 0},
    {"residual reflectance", BC_TOKEN_QUANTITY, BC_R, 0},
    {"residual reflection", BC_TOKEN_QUANTITY, BC_R, 0},
    {"rho", BC_TOKEN_QUANTITY, BC_R, 0},
    {"\xCF\x81", BC_TOKEN_QUANTITY, BC_R, 0}, /* Greek rho */
    {"transmittance", BC_TOKEN_QUANTITY, BC_T, 0},
    {"transmission", BC_TOKEN_QUANTITY, BC_T, 0},
    {"tau", BC_TOKEN_QUANTITY, BC_T, 0},
    {"\xCF\x84", BC_TOKEN_QUANTITY, BC_T, 0}, /* Greek tau */
    {"absorptance", BC_TOKEN_QUANTITY, BC_A, 0},
    {"absorption", BC_TOKEN_QUANTITY, BC_A, 0},
    {"avg", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"ave", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"average", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"averaged", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"on average", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"mean", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"luminous", BC_TOKEN_STATISTIC, BC_STATED_LUMINOUS, 0},
    {"chroma", BC_TOKEN_STATISTIC, BC_STATED_CHROMA, 0},
    {"C*", BC_TOKEN_STATISTIC, BC_STATED_CHROMA, 0},
    {"C*ab", BC_TOKEN_STATISTIC, BC_STATED_CHROMA, 0},
    {"a*", BC_TOKEN_STATISTIC, BC_STATED_COLOUR_A, 0},
    {"b*", BC_TOKEN_STATISTIC, BC_STATED_COLOUR_B, 0},
    {"chromaticity x", BC_TOKEN_STATISTIC, BC_STATED_COLOUR_X, 0},
    {"chromaticity y", BC_TOKEN_STATISTIC, BC_STATED_COLOUR_Y, 0},
    {"a*b*", BC_TOKEN_STATISTIC, BC_STATED_ELLIPSE_AB, 0},
    {"a* b*", BC_TOKEN_STATISTIC, BC_STATED_ELLIPSE_AB, 0},
    {"chromaticity xy", BC_TOKEN_STATISTIC, BC_STATED_ELLIPSE_XY, 0},
    {"chromaticity", BC_TOKEN_STATISTIC, BC_STATED_ELLIPSE_XY, 0},
    {"dE00", BC_TOKEN_STATISTIC, BC_STATED_DIFFERENCE, 0},
    {"\xCE\x94"
     "E00",
     BC_TOKEN_STATISTIC, BC_STATED_DIFFERENCE, 0}, /* Greek Delta */
    {"CIEDE2000", BC_TOKEN_STATISTIC, BC_STATED_DIFFERENCE, 0},
    {"turned", BC_TOKEN_TURNED, 0, 0},
    {"illuminant D65", BC_TOKEN_ILLUMINANT, BC_ILLUMINANT_D65, 0},
    {"D65", BC_TOKEN_ILLUMINANT, BC_ILLUMINANT_D65, 0},
    {"illuminant A", BC_TOKEN_ILLUMINANT, BC_ILLUMINANT_A, 0},
    {"illuminant D50", BC_TOKEN_ILLUMINANT, BC_ILLUMINANT_D50, 0},
    {"D50", BC_TOKEN_ILLUMINANT, BC_ILLUMINANT_D50, 0},
    {"observer 2", BC_TOKEN_OBSERVER, BC_OBSERVER_2, 0},
    {"observer 2 deg", BC_TOKEN_OBSERVER, BC_OBSERVER_2, 0},
    {"2 deg observer", BC_TOKEN_OBSERVER, BC_OBSERVER_2, 0},
    {"2 degree observer", BC_TOKEN_OBSERVER, BC_OBSERVER_2, 0},
    {"2\xC2\xB0 observer", BC_TOKEN_OBSERVER, BC_OBSERVER_2, 0},
    {"observer 10", BC_TOKEN_OBSERVER, BC_OBSERVER_10, 0},
    {"observer 10 deg", BC_TOKEN_OBSERVER, BC_OBSERVER_10, 0},
    {"10 deg observer", BC_TOKEN_OBSERVER, BC_OBSERVER_10, 0},
    {"10 degree observer", BC_TOKEN_OBSERVER, BC_OBSERVER_10, 0},
    {"10\xC2\xB0 observer", BC_TOKEN_OBSERVER, BC_OBSERVER_10, 0},
    {"weight", BC_TOKEN_WEIGHT, 0, 0},
    {"weighted", BC_TOKEN_WEIGHT, 0, 0},
    {"weighted by", BC_TOKEN_WEIGHT, 0, 0},
    {"weighted with", BC_TOKEN_WEIGHT, 0, 0},
    {"max", BC_TOKEN_STATISTIC, BC_STATED_MAX, 0},
    {"maximum", BC_TOKEN_STATISTIC, BC_STATED_MAX, 0},
    {"peak", BC_TOKEN_STATISTIC, BC_STATED_MAX, 0},
    {"min", BC_TOKEN_STATISTIC, BC_STATED_MIN, 0},
    {"minimum", BC_TOKEN_STATISTIC, BC_STATED_MIN, 0},
    {"abs", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"absolute", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"every wavelength", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"at every wavelength", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"at all wavelengths", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"everywhere", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"each wavelength", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"<=", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"=<", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"\xE2\x89\xA4", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0}, /* less-than or equal to */
    {"\xE2\xA9\xBD", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0}, /* the same, slanted */
    {"\xE2\x89\xA6", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0}, /* over two lines */
    {"\xEF\xBC\x9C", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},   /* full width, of an Asian keyboard */
    {"<", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"less than", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"less than or equal to", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"below", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"under", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"lower than", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"at most", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not more than", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"no more than", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not to exceed", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not exceeding", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not exceed", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not greater than", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"no greater than", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"up to", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {">=", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"=>", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"\xE2\x89\xA5", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0}, /* greater-than or equal to */
    {"\xE2\xA9\xBE", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"\xE2\x89\xA7", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"\xEF\xBC\x9E", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {">", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"greater than", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"greater than or equal to", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"more than", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"above", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"over", BC_TOKEN_FILLER, 0, 0},
    {"at least", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"not less than", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"no less than", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"better than", BC_TOKEN_SENSE, BC_STATED_BETTER, 0},
    {"=", BC_TOKEN_SENSE, BC_STATED_EQUAL, 0},
    {"%", BC_TOKEN_PERCENT, 0, 0},
    {"percent", BC_TOKEN_PERCENT, 0, 0},
    {"per cent", BC_TOKEN_PERCENT, 0, 0},
    {"\xEF\xBC\x85", BC_TOKEN_PERCENT, 0, 0}, /* full width */
    {"nm", BC_TOKEN_LENGTH, 0, 1},
    {"nanometers", BC_TOKEN_LENGTH, 0, 1},
    {"nanometres", BC_TOKEN_LENGTH, 0, 1},
    {"um", BC_TOKEN_LENGTH, 0, 1000},
    {"\xC2\xB5m", BC_TOKEN_LENGTH, 0, 1000}, /* micro sign */
    {"\xCE\xBCm", BC_TOKEN_LENGTH, 0, 1000}, /* Greek mu */
    {"micron", BC_TOKEN_LENGTH, 0, 1000},
    {"microns", BC_TOKEN_LENGTH, 0, 1000},
    {"micrometers", BC_TOKEN_LENGTH, 0, 1000},
    {"micrometres", BC_TOKEN_LENGTH, 0, 1000},
    {"deg", BC_TOKEN_DEGREE, 0, 0},
    {"degs", BC_TOKEN_DEGREE, 0, 0},
    {"degree", BC_TOKEN_DEGREE, 0, 0},
    {"degrees", BC_TOKEN_DEGREE, 0, 0},
    {"\xC2\xB0", BC_TOKEN_DEGREE, 0, 0}, /* degree sign */
    {"\xC2\xBA", BC_TOKEN_DEGREE, 0, 0}, /* the ordinal sign of some keyboards */
    {"-", BC_TOKEN_TO, 0, 0},
    {"\xE2\x80\x93", BC_TOKEN_TO, 0, 0}, /* en dash */
    {"\xE2\x80\x94", BC_TOKEN_TO, 0, 0}, /* em dash */
    {"\xE2\x80\x90", BC_TOKEN_TO, 0, 0}, /* hyphen */
    {"\xE2\x80\x91", BC_TOKEN_TO, 0, 0}, /* no-break hyphen */
    {"\xE2\x88\x92", BC_TOKEN_TO, 0, 0}, /* minus sign */
    {"..", BC_TOKEN_TO, 0, 0},
    {"...", BC_TOKEN_TO, 0, 0},
    {"\xE2\x80\xA6", BC_TOKEN_TO, 0, 0}, /* ellipsis */
    {"to", BC_TOKEN_TO, 0, 0},
    {"through", BC_TOKEN_TO, 0, 0},
    {"\xC3\xB7", BC_TOKEN_TO, 0, 0}, /* the sign of a range in some countries: nothing is divided here */
    {"\xC2\xB1", BC_TOKEN_PLUS_MINUS, 0, 0},
    {"+-", BC_TOKEN_PLUS_MINUS, 0, 0},
    {"+/-", BC_TOKEN_PLUS_MINUS, 0, 0},
    {"s pol", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"s polarized", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"s polarization", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"s", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"p pol", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"p polarized", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"p polarization", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"p", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"s and p each", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"each of s and p", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"each polarization", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"both polarizations", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s and p", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s & p", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s and p polarization", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s and p pol", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s/p", BC_TOKEN_POLARIZATION, BC_POL_RATIO, 0},
    {"s / p", BC_TOKEN_POLARIZATION, BC_POL_RATIO, 0},
    {"ratio s/p", BC_TOKEN_POLARIZATION, BC_POL_RATIO, 0},
    {"s/p ratio", BC_TOKEN_POLARIZATION, BC_POL_RATIO, 0},
    {"unpol", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"unpolarized", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"unpolarised", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"unpolarized light", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"random", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"random polarization", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"randomly polarized", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"per surface", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"per side", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"per surf", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"per face", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"one face", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"one side", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"one surface", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"single surface", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"each surface", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"each side", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"each surf", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"each face", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"both faces", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"both surfaces", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"both sides", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"per part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"of the part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"through the part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"whole part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"aoi", BC_TOKEN_ANGLE, 0, 0},
    {"angle of incidence", BC_TOKEN_ANGLE, 0, 0},
    {"angles of incidence", BC_TOKEN_ANGLE, 0, 0},
    {"incidence angle", BC_TOKEN_ANGLE, 0, 0},
    {"incident angle", BC_TOKEN_ANGLE, 0, 0},
    {"angle", BC_TOKEN_ANGLE, 0, 0},
    {"theta", BC_TOKEN_ANGLE, 0, 0},
    {"\xCE\xB8", BC_TOKEN_ANGLE, 0, 0}, /* Greek theta */
    {"angles", BC_TOKEN_ANGLE, 0, 0},
    {"cone", BC_TOKEN_CONE, 0, 0},
    {"cone half angle", BC_TOKEN_CONE, 0, 0},
    {"half cone angle", BC_TOKEN_CONE, 0, 0},
    {"cone of half angle", BC_TOKEN_CONE, 0, 0},
    {"normal incidence", BC_TOKEN_NORMAL, 0, 0},
    {"at normal incidence", BC_TOKEN_NORMAL, 0, 0},
    {"normal", BC_TOKEN_NORMAL, 0, 0},
    {"and", BC_TOKEN_AND, 0, 0},
    {"&", BC_TOKEN_AND, 0, 0},
    {",", BC_TOKEN_AND, 0, 0},
    {":", BC_TOKEN_AND, 0, 0},
    {"(", BC_TOKEN_AND, 0, 0},
    {")", BC_TOKEN_AND, 0, 0},
    {"[", BC_TOKEN_AND, 0, 0},
    {"]", BC_TOKEN_AND, 0, 0},
    {"@", BC_TOKEN_FILLER, 0, 0},
    {"at", BC_TOKEN_FILLER, 0, 0},
    {"between", BC_TOKEN_FILLER, BC_FILLER_BETWEEN, 0},
    {"for", BC_TOKEN_FILLER, 0, 0},
    {"from", BC_TOKEN_FILLER, 0, 0},
    {"in", BC_TOKEN_FILLER, 0, 0},
    {"is", BC_TOKEN_FILLER, 0, 0},
    {"of", BC_TOKEN_FILLER, 0, 0},
    {"the", BC_TOKEN_FILLER, 0, 0},
    {"with", BC_TOKEN_FILLER, 0, 0},
    {"a", BC_TOKEN_FILLER, 0, 0},
    {"an", BC_TOKEN_FILLER, 0, 0},
    {"be", BC_TOKEN_FILLER, 0, 0},
    {"to be", BC_TOKEN_FILLER, 0, 0},
    {"shall", BC_TOKEN_FILLER, 0, 0},
    {"must", BC_TOKEN_FILLER, 0, 0},
    {"across", BC_TOKEN_FILLER, 0, 0},
    {"throughout", BC_TOKEN_FILLER, 0, 0},
    {"within", BC_TOKEN_FILLER, 0, 0},
    {"range", BC_TOKEN_FILLER, 0, 0},
    {"band", BC_TOKEN_FILLER, 0, 0},
    {"incidence", BC_TOKEN_FILLER, 0, 0},
    {"light", BC_TOKEN_FILLER, 0, 0},
    {"wavelength", BC_TOKEN_FILLER, 0, 0},
    {"wavelengths", BC_TOKEN_FILLER, 0, 0},
    {"spectral range", BC_TOKEN_FILLER, 0, 0},
    {"lambda", BC_TOKEN_FILLER, 0, 0},
    {"\xCE\xBB", BC_TOKEN_FILLER, 0, 0}, /* Greek lambda */
    {"ar coating", BC_TOKEN_FILLER, 0, 0},
    {"ar coat", BC_TOKEN_FILLER, 0, 0},
    {"coat", BC_TOKEN_FILLER, 0, 0},
    {"bbar", BC_TOKEN_FILLER, 0, 0},
    {"v coat", BC_TOKEN_FILLER, 0, 0},
    {"v coating", BC_TOKEN_FILLER, 0, 0},
    {"antireflection", BC_TOKEN_FILLER, 0, 0},
    {"anti reflection", BC_TOKEN_FILLER, 0, 0},
    {"coating", BC_TOKEN_FILLER, 0, 0},
    {"ar", BC_TOKEN_FILLER, 0, 0},
    {";", BC_TOKEN_NOTE_END, 0, 0},
    {"\n", BC_TOKEN_NOTE_END, 0, 0},
};

bool bc_is_letter(char byte)
{
    return isalpha((unsigned char)byte) && (unsigned char)byte < 0x80;
}

/* Bytes of blanks at the start: ASCII ones but the line end, and the no-break, thin and narrow spaces. */
size_t bc_blank_length(const char *text)
{
    static const char *const spaces[] = {"\xC2\xA0", "\xE2\x80\x89", "\xE2\x80\xAF", " ", "\t", "\r"};
    for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++)
        if (strncmp(text, spaces[i], strlen(spaces[i])) == 0)
            return strlen(spaces[i]);
    return 0;
}

static size_t gap_length(const char *text)
{
    size_t length = 0, more = 1;
    while (more > 0) {
        more = text[length] == '-' ? 1 : bc_blank_length(text + length);
        length += more;
    }
    return length;
}

/* Bytes of `text` that are the phrase; 0 when it is another. A word ends where no letter follows. */
static size_t phrase_length(const char *text, const char *words)
{
    size_t at = 0;
    char last = '\0';
    for (; *words != '\0'; words++) {
        if (*words == ' ') {
            const size_t gap = gap_length(text + at);
            if (gap == 0)
                return 0;
            at += gap;
            continue;
        }
        if (tolower((unsigned char)text[at]) != tolower((unsigned char)*words) || text[at] == '\0')
            return 0;
        last = text[at++];
    }
    return bc_is_letter(last) && bc_is_letter(text[at]) ? 0 : at;
}

const bc_phrase *bc_longest_phrase(const char *text, size_t *length)
{
    const bc_phrase *found = NULL;
    *length = 0;
    for (size_t i = 0; i < sizeof phrases / sizeof phrases[0]; i++) {
        const size_t taken = phrase_length(text, phrases[i].words);
        if (taken > *length) {
            *length = taken;
            found = &phrases[i];
        }
    }
    return found;
}
