/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "measured_words.h"
#include "number.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KEY_END       ":=,;\t"
#define NUMBER_LENGTH 40

/* Whether every word of the text is on one of two lists. */
static bool has_only(const measured_words *all, const char *const *first, const char *const *second)
{
    size_t words = 0;
    for (const char *at = all->word; *(at += strspn(at, " ")) != '\0';) {
        const size_t length = strcspn(at, " ");
        bool listed = false;
        for (int i = 0; i < 2; i++)
            for (const char *const *word = i == 0 ? first : second; *word != NULL && !listed; word++)
                listed = strlen(*word) == length && strncmp(*word, at, length) == 0;
        if (!listed)
            return false;
        words++;
        at += length;
    }
    return words > 0;
}

/* The part of a line after the name of a setting, where the name is on the list; NULL. */
static const char *value_of(const char *line, const char *const *keys)
{
    const size_t length = strcspn(line, KEY_END);
    char key[NUMBER_LENGTH];
    measured_words words;
    if (line[length] == '\0' || length >= sizeof key)
        return NULL;
    snprintf(key, sizeof key, "%.*s", (int)length, line);
    bc_measured_take_words(key, &words);
    for (; *keys != NULL; keys++) {
        char framed[NUMBER_LENGTH];
        snprintf(framed, sizeof framed, "%s ", *keys);
        const char *at = words.word + strspn(words.word, " ");
        at += strncmp(at, "# ", 2) == 0 ? 2 : 0;
        if (strncmp(at, framed, strlen(framed)) == 0 && at[strspn(at + strlen(framed), " ") + strlen(framed)] == '\0')
            return line + length + 1;
    }
    return NULL;
}

/* "Simulated spectrum", "Sample: reference mirror". Only lines that say nothing besides: a reference that is named in
 * "Reference: mirror" or "Baseline: 100 % line" belongs to a measurement. */
static const char *not_a_sample(const char *line)
{
    static const char *const keys[] = {"sample", "sample name", "sample id", "specimen",  "data",  "data type", "scan",
                                       "type",   "scan type",   "title",     "measurand", "trace", "measured",  NULL};
    static const char *const nouns[] = {
        "spectrum", "spectra", "curve",      "data",         "scan", "values",        "r",    "reflectance",
        "t",        "%",       "reflection", "transmission", "none", "transmittance", "line", "only",
        "standard", "mirror",  "sample",     "of",           "the",  "this",          "is",   NULL};
    static const char *const made[] = {"simulated",   "simulation", "calculated", "computed", "modelled", "modeled",
                                       "theoretical", "theory",     "predicted",  "diffuse",  "haze",     NULL};
    static const char *const used[] = {"simulated",  "simulation", "calculated", "computed",  "modelled", "modeled",
                                       "diffuse",    "haze",       "predicted",  "theory",    "dark",     "theoretical",
                                       "background", "baseline",   "reference",  "autozero",  "blank",    "base",
                                       "100",        "0",          "zero",       "scattered", NULL};
    static const char *const bare[] = {"bare", "uncoated", NULL};
    static const char *const pieces[] = {"substrate", "glass", "blank", "witness", "piece", "disc",   "disk", "part",
                                         "a",         "the",   "only",  "this",    "is",    "sample", NULL};
    const char *value = value_of(line, keys);
    measured_words words;
    if (value == NULL && line[strcspn(line, KEY_END)] != '\0')
        return NULL;
    bc_measured_take_words(value == NULL ? line : value, &words);
    if (value != NULL && bc_measured_has_word(&words, bare) && has_only(&words, bare, pieces))
        return "a piece without a coating";
    if (!has_only(&words, nouns, used) || (value == NULL && !bc_measured_has_word(&words, made)))
        return NULL;
    return bc_measured_other(&words);
}

/* What spoils a scan, unless the line says that it did not happen. */
static const char *spoiled(const char *line, bool dark)
{
    static const char *const denials[] = {"no",    "not", "none", "never",   "0",         "00", "false",
                                          "avoid", "off", "if",   "without", "corrected", "n",  NULL};
    static const char *const lamp[] = {"lamp", "source", "light source", NULL};
    const char *value = value_of(line, lamp);
    measured_words words;
    bc_measured_take_words(line, &words);
    if (strstr(words.word, " do not use ") != NULL)
        return "a scan not to be used";
    if (value != NULL && !dark) {
        measured_words state;
        bc_measured_take_words(value, &state);
        if (strcmp(state.word + strspn(state.word, " "), "off ") == 0)
            return "a scan with the lamp off";
    }
    if (bc_measured_has_word(&words, denials))
        return NULL;
    if (bc_measured_has_word(&words, (const char *const[]){"aborted", NULL}))
        return "a scan that was aborted";
    return bc_measured_has_word(&words, (const char *const[]){"saturated", "overloaded", NULL})
               ? "a detector beyond its range"
               : NULL;
}

/* "Ordinate scale: 0.1", "multiplied by 0.5"; not 1, not 100 for percent, and no range such as "0 - 100". */
static bool is_part_multiplied(const char *line)
{
    static const char *const before[] = {
        "multiplied by", "divided by", "scale factor", "ordinate scale", "ordinate factor", "yfactor", NULL};
    static const char *const other[] = {"wavelength", "x", "dark", "gain", "integration", "reference", NULL};
    measured_words words;
    bc_measured_take_words(line, &words);
    if (bc_measured_has_word(&words, other))
        return false;
    for (size_t i = 0; before[i] != NULL; i++) {
        const char *at = strstr(words.text, before[i]);
        char digits[NUMBER_LENGTH];
        double factor;
        if (at == NULL)
            continue;
        at += strlen(before[i]);
        at += strspn(at, " \t:=,;");
        const size_t length = strspn(at, "0123456789.");
        if (length == 0 || length >= sizeof digits)
            continue;
        memcpy(digits, at, length);
        digits[length] = '\0';
        at += length + strspn(at + length, " \t");
        if (bc_number_parse(digits, 0, &factor) == BC_NUMBER_OK && (*at == '\0' || strchr("-%", *at) == NULL) &&
            strncmp(at, "to ", 3) != 0 && (factor < 1.0 || factor > 1.0) && (factor < 100.0 || factor > 100.0))
            return true;
    }
    return false;
}

static bool is_multiplied(const char *line)
{
    char part[MEASURED_WORDS_SIZE];
    for (;; line++) {
        const size_t length = strcspn(line, ";");
        snprintf(part, sizeof part, "%.*s", (int)(length < sizeof part ? length : sizeof part - 1), line);
        if (is_part_multiplied(part))
            return true;
        line += length;
        if (*line == '\0')
            return false;
    }
}

/* "Unit: fraction" around values that were read as percent. */
static bool is_other_unit(const char *line, bc_measured_unit unit)
{
    static const char *const keys[] = {"unit",   "units",    "y unit",        "y units",
                                       "yunits", "ordinate", "ordinate unit", NULL};
    const char *value = value_of(line, keys);
    if (value == NULL)
        return false;
    const bc_measured_unit said = bc_measured_meaning(value, "").unit;
    return said != BC_UNIT_UNTOLD && said != unit;
}

bc_status bc_measured_remark(const measured_table *table, size_t line, bool header, const bc_measured_options *options,
                             bc_measured_file *file, bc_error *error)
{
    const char *text = table->lines->line[line];
    const bool measured = options->signal == BC_SIGNAL_NOT;
    const char *what = header ? NULL : spoiled(text, options->signal == BC_SIGNAL_DARK);
    char shown[BC_ESCAPED_SIZE];
    if (what == NULL && measured && !header)
        what = not_a_sample(text);
    if (what == NULL && measured && is_multiplied(text))
        what = "values that were multiplied";
    if (what == NULL && measured && !header && is_other_unit(text, file->unit))
        what = file->unit == BC_UNIT_PERCENT ? "fractions, around values in percent"
                                             : "percent, around values in fractions";
    if (what == NULL)
        return BC_OK;
    file->overruled = true;
    return options->overrule ? BC_OK
                             : bc_fail(error, BC_ERROR_INPUT,
                                       "%s:%zu: found '%s': %s; expected measured reflectance or transmittance itself "
                                       "(or --overrule where this line is not about these values)",
                                       table->path, line + 1, bc_escaped(text, shown), what);
}

/* A cell of a column of flags that says the value beside it is none. */
static bool is_flagged(const char *header, const char *cell)
{
    static const char *const flags[] = {"flag", "flags", "status", "state", "quality", "remark", NULL};
    static const char *const valid[] = {"valid", NULL}, *const invalid[] = {"0", "false", "no", "n", NULL};
    static const char *const bad[] = {"sat",   "saturated", "overflow", "overload", "overrange", "bad",
                                      "error", "invalid",   "failed",   "aborted",  NULL};
    static const char *const none[] = {NULL};
    measured_words name, words;
    bc_measured_take_words(header, &name);
    bc_measured_take_words(cell, &words);
    return (bc_measured_has_word(&name, flags) && has_only(&words, bad, none)) ||
           (bc_measured_has_word(&name, valid) && has_only(&words, invalid, none));
}

bc_status bc_measured_flags(const measured_table *table, const measured_points *points,
                            const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    const measured_block *block = &points->block;
    const size_t names = block->header == MEASURED_NONE ? 0 : bc_measured_width(table, block->header);
    char where[MEASURED_PLACE_SIZE], shown[BC_ESCAPED_SIZE];
    for (size_t place = 0; place < names; place++) {
        const char *header = bc_measured_header(table, block, place);
        for (size_t i = 0; i < points->count; i++) {
            const char *cell = bc_measured_cell(table, points->point[i].line, place);
            if (place == points->point[i].place || !is_flagged(header, cell))
                continue;
            file->overruled = true;
            if (!options->overrule)
                return bc_fail(error, BC_ERROR_INPUT,
                               "%s:%zu: %s: found '%s', which marks the value of this row as none; expected valid "
                               "values (or --overrule where the column is wrong)",
                               table->path, points->point[i].line + 1, bc_measured_place(table, block, place, where),
                               bc_escaped(cell, shown));
        }
    }
    return BC_OK;
}
