/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measured_statements.h"
#include "number.h"
#include <math.h>
#include <string.h>

#define DEGREES       57.295779513082321
#define SAME_ANGLE    0.05 /* degrees */
#define NUMBER_LENGTH 40

void bc_measured_note(statements *all, double value, size_t line)
{
    for (size_t i = 0; i < all->count; i++)
        if (fabs(all->said[i].value - value) <= SAME_ANGLE)
            return;
    if (all->count < MEASURED_MOST_SAID)
        all->said[all->count++] = (statement){value, line};
}

bool bc_measured_states(const statements *all, double value)
{
    for (size_t i = 0; i < all->count; i++)
        if (fabs(all->said[i].value - value) <= SAME_ANGLE)
            return true;
    return false;
}

bool bc_measured_take_number(const char **at, double *value)
{
    char digits[NUMBER_LENGTH];
    size_t length = strspn(*at, "0123456789");
    if (length == 0 || length > NUMBER_LENGTH / 3)
        return false;
    if (((*at)[length] == '.' || (*at)[length] == ',') && strchr("0123456789", (*at)[length + 1]) != NULL &&
        (*at)[length + 1] != '\0')
        length += 1 + strspn(*at + length + 1, "0123456789");
    if (length >= NUMBER_LENGTH)
        return false;
    memcpy(digits, *at, length);
    digits[length] = '\0';
    for (char *byte = digits; *byte != '\0'; byte++)
        *byte = *byte == ',' ? '.' : *byte;
    *at += length;
    return bc_number_parse(digits, 0, value) == BC_NUMBER_OK;
}

bool bc_measured_is_letter(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte & 0x80) != 0;
}

/* 1 for degrees after a number, DEGREES for radians, 0 for neither; a temperature is none. */
static double angle_unit(const char *at)
{
    at += strspn(at, " \t-_");
    if (strncmp(at, "rad", 3) == 0 && (!bc_measured_is_letter(at[3]) || strncmp(at, "radian", 6) == 0))
        return DEGREES;
    if (strncmp(at, "deg", 3) != 0)
        return 0.0;
    at += strspn(at, "degrs");
    const char *next = at + strspn(at, " \t.");
    const bool temperature = (next[0] == 'c' || next[0] == 'f' || next[0] == 'k') && !bc_measured_is_letter(next[1]);
    return temperature || strncmp(next, "celsius", 7) == 0 || bc_measured_is_letter(*at) ? 0.0 : 1.0;
}

/* Angles of something else than the incidence. */
static bool is_other_angle(const measured_words *all)
{
    static const char *const other[] = {"azimuth",    "wedge",    "cone",    "half",      "acceptance",
                                        "opening",    "rotation", "rotated", "polarizer", "polariser",
                                        "divergence", "prism",    "slope",   NULL};
    return bc_measured_has_word(all, other) || strstr(all->text, "polari") != NULL;
}

static bool names_incidence(const measured_words *all)
{
    static const char *const words[] = {"aoi", "incidence", "incident", "angle", "theta", NULL};
    return bc_measured_has_word(all, words);
}

void bc_measured_state_angles(const measured_words *all, size_t line, statements *out)
{
    const bool named = names_incidence(all);
    bool any = false, first = true;
    double alone = NAN;
    if (is_other_angle(all) && !named)
        return;
    for (const char *at = all->text; *at != '\0';) {
        double value;
        const bool inside_word = at > all->text && (bc_measured_is_letter(at[-1]) || at[-1] == '.');
        if (!bc_measured_take_number(&at, &value)) {
            at++;
            continue;
        }
        const double unit = angle_unit(at);
        if (unit > 0.0 && value * unit < MEASURED_STEEPEST) {
            bc_measured_note(out, value * unit, line);
            any = true;
        }
        if (first && !inside_word)
            alone = value;
        first = false;
    }
    if (!any && named && alone < MEASURED_STEEPEST && !is_other_angle(all))
        bc_measured_note(out, alone, line);
    else if (!any && strstr(all->text, "normal incidence") != NULL && strstr(all->text, "near") == NULL)
        bc_measured_note(out, 0.0, line);
}

static bool read_polarization(const measured_words *all, bc_polarization *polarization)
{
    static const char *const s[] = {"spol", "te", "rs", "ts", NULL}, *const p[] = {"ppol", "tm", "rp", "tp", NULL},
                             *const none[] = {"unpolarized", "unpolarised",  "depolarized",
                                              "depolarised", "nonpolarized", NULL},
                             *const s_pieces[] = {"s-pol", "s pol", "s_pol", "pol s", "pol. s", "pol=s", "pol:s", NULL},
                             *const p_pieces[] = {"p-pol", "p pol", "p_pol", "pol p", "pol. p", "pol=p", "pol:p", NULL};
    bool is_s = bc_measured_has_word(all, s), is_p = bc_measured_has_word(all, p);
    const bool is_none = bc_measured_has_word(all, none);
    for (size_t i = 0; s_pieces[i] != NULL; i++) {
        const char *at = strstr(all->text, s_pieces[i]);
        is_s = is_s || (at != NULL && (at == all->text || !bc_measured_is_letter(at[-1])) &&
                        !bc_measured_is_letter(s_pieces[i][0] == 's' ? '.' : at[strlen(s_pieces[i])]));
        at = strstr(all->text, p_pieces[i]);
        is_p = is_p || (at != NULL && (at == all->text || !bc_measured_is_letter(at[-1])) &&
                        !bc_measured_is_letter(p_pieces[i][0] == 'p' ? '.' : at[strlen(p_pieces[i])]));
    }
    if ((int)is_s + (int)is_p + (int)is_none != 1)
        return false;
    *polarization = is_s ? BC_POL_S : is_p ? BC_POL_P : BC_POL_UNPOLARIZED;
    return true;
}

bool bc_measured_says_polarization(const char *text, bc_polarization *polarization)
{
    measured_words all;
    bc_measured_take_words(text, &all);
    return read_polarization(&all, polarization);
}

void bc_measured_state_polarization(const measured_words *all, bool header, size_t line, statements *out)
{
    static const char *const planes[] = {"s", "p", NULL}, *const s[] = {"s", NULL}, *const none[] = {"none",   "mean",
                                                                                                     "off",    "no",
                                                                                                     "random", NULL};
    const char *named = strstr(all->text, "polari");
    bc_polarization polarization;
    if (read_polarization(all, &polarization)) {
        if (header || strstr(all->text, "pol") != NULL)
            bc_measured_note(out, (double)polarization, line);
        return;
    }
    if (named == NULL && !bc_measured_has_word(all, (const char *const[]){"pol", NULL}))
        return;
    if (bc_measured_has_word(all, planes) && !bc_measured_has_word(all, none))
        bc_measured_note(out, (double)(bc_measured_has_word(all, s) ? BC_POL_S : BC_POL_P), line);
    else if (bc_measured_has_word(all, none))
        bc_measured_note(out, (double)BC_POL_UNPOLARIZED, line);
    else
        out->unclear = line;
}

const char *bc_measured_mode_value(const char *line)
{
    static const char *const keys[] = {
        "mode",          "data mode", "photometric mode", "measuring mode", "measurement mode", "quantity",
        "ordinate",      "y",         "y axis",           "yaxis",          "y-axis",           "y unit",
        "yunits",        "y units",   "data type",        "scan mode",      "measurement",      "measurement type",
        "ordinate mode", "y mode",    "display",          "type",           "function",         NULL};
    measured_words all;
    bc_measured_take_words(line, &all);
    const char *text = all.text + strspn(all.text, "# \t\"");
    const size_t length = strcspn(text, ":=,;\t");
    if (text[length] == '\0')
        return NULL;
    for (size_t i = 0; keys[i] != NULL; i++) {
        size_t used = length;
        while (used > 0 && strchr(" \t\"", text[used - 1]) != NULL)
            used--;
        if (strlen(keys[i]) == used && strncmp(text, keys[i], used) == 0)
            return line + strcspn(line, ":=,;\t") + 1;
    }
    return NULL;
}
