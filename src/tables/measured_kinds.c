/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measured_words.h"
#include <ctype.h>
#include <string.h>

#define MOST_WORDS 16

typedef struct kind {
    const char *what;
    const char *word[MOST_WORDS];
} kind;

static const kind others[] = {
    {"a design", {"design", "designed", "nominal", NULL}},
    {"a limit",
     {"limit", "limits", "lim", "max", "min", "rmax", "rmin", "tmax", "tmin", "upper", "lower", "usl", "lsl",
      "tolerance", "tol", NULL}},
    {"a specification", {"spec", "specs", "specification", "specified", "callout", "required", "requirement", NULL}},
    {"a target", {"target", "goal", NULL}},
    {"a theoretical curve", {"theory", "theoretical", "theor", "ideal", "expected", NULL}},
    {"a simulated curve",
     {"simulated", "simulation", "sim", "calculated", "calc", "computed", "model", "modelled", "modeled", "fit",
      "fitted", "predicted", "prediction", NULL}},
    {"noise", {"noise", NULL}},
    {"scattered light", {"diffuse", "haze", "scatter", "scattered", "tis", NULL}},
    {"a dark scan", {"dark", "background", "bkg", "bg", NULL}},
    {"a baseline", {"baseline", "baselines", "blank", "autozero", NULL}},
    {"a zero line", {"zeroline", "zero", NULL}},
    {"a reference", {"reference", "ref", "refs", "rref", NULL}},
    {"a 100 % line", {"100line", NULL}},
};

/* "0 %R line", "100 % T line", "base line". */
static const char *line_kind(const measured_words *all)
{
    static const char *const line[] = {"line", NULL}, *const nought[] = {"0", "00", NULL},
                             *const whole[] = {"100", NULL}, *const base[] = {"base", NULL};
    if (!bc_measured_has_word(all, line))
        return NULL;
    return bc_measured_has_word(all, nought)  ? "a zero line"
           : bc_measured_has_word(all, whole) ? "a 100 % line"
           : bc_measured_has_word(all, base)  ? "a baseline"
                                              : NULL;
}

const char *bc_measured_other(const measured_words *all)
{
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        if (bc_measured_has_word(all, others[i].word))
            return others[i].what;
    return line_kind(all);
}

static bool has_any_piece(const measured_words *all, const char *const *list)
{
    for (; *list != NULL; list++)
        if (strstr(all->plain, *list) != NULL)
            return true;
    return false;
}

static bool is_letter(char c)
{
    return isalpha((unsigned char)c) != 0;
}

static bool is_digit(char c)
{
    return isdigit((unsigned char)c) != 0;
}

/* "R/2", "R*10", "R^2", "Rx10", "10 x R": R or T by itself, times or over a number. */
static bool is_multiple(const char *plain)
{
    static const char *const behind[] = {")x10", ")*10", "]x10", "]*10", NULL};
    for (const char *at = plain; *at != '\0'; at++) {
        const size_t place = (size_t)(at - plain);
        if (*at != 'r' && *at != 't')
            continue;
        if (at[1] != '\0' && strchr("*/^x", at[1]) != NULL && is_digit(at[2]) &&
            (place == 0 || !is_letter(plain[place - 1])))
            return true;
        if (place >= 2 && strchr("*x", plain[place - 1]) != NULL && is_digit(plain[place - 2]) && !is_letter(at[1]))
            return true;
    }
    for (size_t i = 0; behind[i] != NULL; i++)
        if (strstr(plain, behind[i]) != NULL)
            return true;
    return false;
}

const char *bc_measured_transformed(const measured_words *all)
{
    static const kind made[] = {
        {"decibels", {"db", "decibel", "decibels", NULL}},
        {"per mille", {"permille", "promille", "permil", NULL}},
        {"parts per million", {"ppm", NULL}},
        {"a difference",
         {"delta", "difference", "diff", "differences", "change", "dr", "dt", "deltar", "deltat", NULL}},
        {"a logarithm", {"log", "log10", "ln", "logarithm", NULL}},
        {"a ratio to a reference", {"ratio", "relative", "rel", "normalized", "normalised", NULL}},
        {"a derivative", {"derivative", "deriv", "slope", NULL}},
        {"a root", {"sqrt", NULL}},
        {"a square", {"squared", NULL}},
    };
    static const char *const complement[] = {"100-r", "100-t",  "100%-r", "100%-t", "(1-r",
                                             "(1-t",  "100-%r", "100-%t", NULL},
                             *const difference[] = {"r-r", "t-t", "r1-r2", "r2-r1", NULL},
                             *const ratio[] = {"r/r", "t/t", "i/i0", "s/ref", NULL};
    for (size_t i = 0; i < sizeof made / sizeof made[0]; i++)
        if (bc_measured_has_word(all, made[i].word))
            return made[i].what;
    if (has_any_piece(all, complement) || strncmp(all->plain, "1-r", 3) == 0 || strncmp(all->plain, "1-t", 3) == 0)
        return "what is left of 100 %";
    if (has_any_piece(all, ratio))
        return "a ratio to a reference";
    if (is_multiple(all->plain))
        return "a multiple or a power";
    return has_any_piece(all, difference) ? "a difference" : NULL;
}

bool bc_measured_is_raw(const measured_words *all)
{
    static const char *const words[] = {"raw",         "counts", "count", "intensity", "signal", "volts", "voltage",
                                        "uncorrected", "arb",    "au",    "cts",       "mv",     NULL};
    return bc_measured_has_word(all, words);
}

bool bc_measured_is_aside(const measured_words *all)
{
    static const char *const words[] = {
        "no",     "nr",           "index",       "point", "row",      "flag",    "status", "gain",        "slit",
        "lamp",   "speed",        "temperature", "temp",  "humidity", "time",    "date",   "energy",      "detector",
        "remark", "valid",        "comment",     "note",  "celsius",  "channel", "filter", "integration", "aoi",
        "angle",  "polarization", "pol",         "x",     "n",        "#",       NULL};
    return bc_measured_has_word(all, words);
}
