/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_columns.h"
#include "number.h"
#include <math.h>
#include <string.h>
#include <strings.h>

#define LEAST_COLOUR 1e-6
#define MOST_COLOUR  200.0

static const struct {
    const char *word;
    bc_colour_value colour;
} colours[] = {
    {"chroma", BC_CHROMA}, {"a", BC_COLOUR_A},    {"b", BC_COLOUR_B},    {"x", BC_COLOUR_X},
    {"y", BC_COLOUR_Y},    {"ab", BC_ELLIPSE_AB}, {"xy", BC_ELLIPSE_XY}, {"difference", BC_COLOUR_DIFFERENCE}};
static const char *const illuminants[] = {"D65", "A", "D50"};
static const char *const observers[] = {"2", "10"};

bc_colour_value bc_callout_read_colour_word(const bc_csv *csv, size_t row)
{
    for (size_t i = 0; i < sizeof colours / sizeof colours[0]; i++)
        if (strcasecmp(bc_csv_text(csv, row, STATISTIC), colours[i].word) == 0)
            return colours[i].colour;
    return BC_NO_COLOUR;
}

static bc_status read_chroma_limit(const bc_csv *csv, size_t row, bc_callout *callout, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, LIMIT);
    double most;
    const size_t sign = strncmp(text, "<=", 2) == 0 ? 2 : 0;
    if (sign == 0 || bc_number_parse(text + sign + strspn(text + sign, " \t"), 0, &most) != BC_NUMBER_OK ||
        !(most >= LEAST_COLOUR && most <= MOST_COLOUR))
        return bc_csv_fail(csv, row, LIMIT, error, "a chroma C*ab written as '<= 8', up to 200");
    callout->limit = most / 100.0;
    return BC_OK;
}

static bc_status read_colour_range(const bc_csv *csv, size_t row, bc_callout *callout, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, LIMIT), *part = strstr(text, "..");
    char first[64];
    double from = 0.0, to = 0.0;
    if (part == NULL || (size_t)(part - text) >= sizeof first)
        return bc_csv_fail(csv, row, LIMIT, error, "a range written as '-3..5'");
    memcpy(first, text, (size_t)(part - text));
    first[part - text] = '\0';
    if (bc_number_parse(first, 0, &from) != BC_NUMBER_OK || bc_number_parse(part + 2, 0, &to) != BC_NUMBER_OK ||
        fabs(from) > MOST_COLOUR || fabs(to) > MOST_COLOUR || !(to - from >= LEAST_COLOUR))
        return bc_csv_fail(csv, row, LIMIT, error, "a range that rises, written as '-3..5', within -200 and 200");
    callout->target = 0.5 * (from + to) / 100.0;
    callout->limit = 0.5 * (to - from) / 100.0;
    return BC_OK;
}

/* The number at *text, behind blanks; false: there is none. */
static bool next_number(const char **text, double *number)
{
    char *end;
    *text += strspn(*text, " \t");
    *number = bc_number_read(*text, &end);
    const bool found = end != *text && isfinite(*number);
    *text = end;
    return found;
}

/* Whether the word is next, behind blanks; then *text is behind it. */
static bool next_word(const char **text, const char *word)
{
    const char *at = *text + strspn(*text, " \t");
    if (strncasecmp(at, word, strlen(word)) != 0)
        return false;
    *text = at + strlen(word);
    return true;
}

const char *bc_callout_set_ellipse(const double centre[2], const double half_axis[2], double turn_deg,
                                   bc_callout *callout)
{
    for (int k = 0; k < 2; k++) {
        if (!(fabs(centre[k]) <= MOST_COLOUR))
            return "a centre within -200 and 200";
        if (!(half_axis[k] >= LEAST_COLOUR && half_axis[k] <= MOST_COLOUR))
            return "half-axes from 0.000001 to 200";
        callout->ellipse.centre[k] = centre[k];
        callout->ellipse.half_axis[k] = half_axis[k];
    }
    if (!(fabs(turn_deg) <= 180.0))
        return "a turn from -180 to 180 degrees";
    callout->ellipse.turn_rad = turn_deg * (M_PI / 180.0);
    callout->limit = 0.01;
    return NULL;
}

/* "2 -3 +- 4 1.5 turned 30" */
static bc_status read_ellipse(const bc_csv *csv, size_t row, bc_callout *callout, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, LIMIT);
    double centre[2], half_axis[2], turn_deg = 0.0;
    bool good = next_number(&text, &centre[0]) && next_number(&text, &centre[1]) &&
                (next_word(&text, "+-") || next_word(&text, "\xC2\xB1")) && next_number(&text, &half_axis[0]) &&
                next_number(&text, &half_axis[1]);
    if (good && next_word(&text, "turned"))
        good = next_number(&text, &turn_deg);
    if (!good || text[strspn(text, " \t")] != '\0')
        return bc_csv_fail(
            csv, row, LIMIT, error,
            "an ellipse written as '2 -3 +- 4 1.5', or '2 -3 +- 4 1.5 turned 30': centre, half-axes, and "
            "degrees from the first axis");
    const char *expected = bc_callout_set_ellipse(centre, half_axis, turn_deg, callout);
    return expected == NULL ? BC_OK : bc_csv_fail(csv, row, LIMIT, error, "%s", expected);
}

const char *bc_callout_set_reference(double limit, const double reference[3], bc_callout *callout)
{
    if (!(limit >= LEAST_COLOUR && limit <= 100.0))
        return "a colour difference from 0.000001 to 100";
    if (!(reference[0] >= 0.0 && reference[0] <= 100.0))
        return "an L* from 0 to 100";
    for (int k = 0; k < 3; k++) {
        if (!(fabs(reference[k]) <= MOST_COLOUR))
            return "an a* and a b* within -200 and 200";
        callout->reference[k] = reference[k];
    }
    callout->limit = limit / 100.0;
    return NULL;
}

/* "<= 3 from 21.5 1.2 -3.4" */
static bc_status read_difference(const bc_csv *csv, size_t row, bc_callout *callout, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, LIMIT);
    double limit, reference[3];
    const bool good = next_word(&text, "<=") && next_number(&text, &limit) && next_word(&text, "from") &&
                      next_number(&text, &reference[0]) && next_number(&text, &reference[1]) &&
                      next_number(&text, &reference[2]);
    if (!good || text[strspn(text, " \t")] != '\0')
        return bc_csv_fail(csv, row, LIMIT, error,
                           "a colour difference CIEDE2000 and the L*, a* and b* it is from, written as "
                           "'<= 3 from 21.5 1.2 -3.4'");
    const char *expected = bc_callout_set_reference(limit, reference, callout);
    return expected == NULL ? BC_OK : bc_csv_fail(csv, row, LIMIT, error, "%s", expected);
}

bc_status bc_callout_read_colour(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error)
{
    size_t illuminant, observer;
    bc_status status = BC_OK;
    callout->sense = BC_AT_MOST;
    callout->statistic = BC_AVERAGE;
    if (bc_csv_text(csv, row, LIMIT_PERCENT)[0] != '\0')
        return bc_csv_fail(csv, row, LIMIT_PERCENT, error,
                           "nothing: a colour is not in percent, its limit is in the column limit");
    status = callout->colour == BC_CHROMA              ? read_chroma_limit(csv, row, callout, error)
             : callout->colour == BC_COLOUR_DIFFERENCE ? read_difference(csv, row, callout, error)
             : bc_callout_is_ellipse(callout)          ? read_ellipse(csv, row, callout, error)
                                                       : read_colour_range(csv, row, callout, error);
    if (status == BC_OK)
        status = bc_callout_read_word(csv, row, ILLUMINANT, 3, illuminants, &illuminant, exported, error);
    if (status == BC_OK)
        status = bc_callout_read_word(csv, row, OBSERVER, 2, observers, &observer, exported, error);
    if (status != BC_OK)
        return status;
    callout->illuminant = (bc_illuminant)illuminant;
    callout->observer = (bc_observer)observer;
    callout->weight = bc_weight_tristimulus(callout->illuminant, callout->observer, 1);
    return BC_OK;
}

bc_status bc_callout_refuse_colour(const bc_csv *csv, size_t row, bc_error *error)
{
    static const size_t only[] = {LIMIT, ILLUMINANT, OBSERVER};
    for (size_t i = 0; i < 3; i++)
        if (bc_csv_text(csv, row, only[i])[0] != '\0')
            return bc_csv_fail(
                csv, row, only[i], error,
                "nothing: the column belongs to the statistics chroma, a, b, x, y, ab, xy and difference");
    return BC_OK;
}
