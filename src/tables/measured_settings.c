/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "measured_statements.h"
#include <math.h>
#include <string.h>

/* A slit or a mean over neighbours that is wider evens out the maxima of a coating: a fringe 150 nm wide loses 1.6 % of
 * its swing to a Gaussian slit of this width at half maximum, exp(-(pi 10 / 150)^2 / (4 ln 2)); common practice, no
 * source. */
#define WIDEST_NM 10.0

#define SLACK 1e-9 /* of an uncertainty: the same one */

/* What one line says that the values cannot be used as they are; NULL: nothing. */
typedef struct setting {
    const bc_measured_options *options;
    const bc_measured_file *file;
    measured_words words;
} setting;

static const char *const denials[] = {"no", "not", "none", "never", "off", "false", "uncoated", "without", "n", NULL};

/* One blank between words. */
static void close_up(char *word)
{
    char *to = word;
    for (const char *at = word; *at != '\0'; at++)
        if (*at != ' ' || to == word || to[-1] != ' ')
            *to++ = *at;
    *to = '\0';
}

/* The first number of the line after one of the words, and what follows it; NULL: there is none. */
static const char *number_after(const measured_words *words, const char *const *list, double *number)
{
    for (; *list != NULL; list++) {
        const char *at = strstr(words->text, *list);
        if (at == NULL || (at > words->text && bc_measured_is_letter(at[-1])))
            continue;
        for (at += strlen(*list); *at != '\0'; at++)
            if (bc_measured_take_number(&at, number))
                return at + strspn(at, " \t");
    }
    return NULL;
}

static bool is_nm(const char *unit)
{
    return strncmp(unit, "nm", 2) == 0 && !bc_measured_is_letter(unit[2]);
}

/* "Slit width: 40 nm", "Bandwidth (nm): 40". */
static bool has_wide_slit(const setting *s)
{
    static const char *const slits[] = {"slit width", "slit", "sbw", "spectral bandwidth", "bandwidth", NULL};
    static const char *const other[] = {"um", "mm", "height", "filter", NULL};
    double width;
    const char *unit = number_after(&s->words, slits, &width);
    const bool in_nm = unit != NULL && (is_nm(unit) || strstr(s->words.text, "(nm)") != NULL);
    return in_nm && !bc_measured_has_word(&s->words, other) && width > WIDEST_NM;
}

/* "Smoothing: 51 points", "Moving average: on"; a mean over a few neighbours of a fine scan is none. */
static bool is_smoothed(const setting *s)
{
    static const char *const words[] = {"smoothing",       "smoothed", "smooth",         "moving average",
                                        "running average", "savitzky", "boxcar average", NULL};
    static const char *const pieces[] = {"smoothing", "smoothed", "smooth", "average", "savitzky", NULL};
    const bc_measured_file *file = s->file;
    double number, step = 0.0;
    if (!bc_measured_has_word(&s->words, words) || bc_measured_has_word(&s->words, denials))
        return false;
    const char *unit = number_after(&s->words, pieces, &number);
    if (unit == NULL)
        return true;
    if (file->count > 1)
        step = (file->wavelength_nm[file->count - 1] - file->wavelength_nm[0]) / (double)(file->count - 1);
    return number * (is_nm(unit) ? 1.0 : step) > WIDEST_NM;
}

/* "Both sides coated", "Back: coated". */
static bool is_coated_twice(const setting *s)
{
    static const char *const both[] = {"both sides coated",
                                       "both surfaces coated",
                                       "both faces coated",
                                       "coated both sides",
                                       "coated on both sides",
                                       "coated on both surfaces",
                                       "coated on both faces",
                                       "coating both sides",
                                       "coating on both sides",
                                       "two sides coated",
                                       "coated on two sides",
                                       "2 sides coated",
                                       "coated on 2 sides",
                                       "coated sides 2",
                                       "coated sides both",
                                       "sides coated 2",
                                       "sides coated both",
                                       "double sided coating",
                                       "double side coated",
                                       "double sided coated",
                                       "back coated",
                                       "back side coated",
                                       "back surface coated",
                                       "rear coated",
                                       "rear side coated",
                                       "rear surface coated",
                                       "second side coated",
                                       "second surface coated",
                                       NULL};
    return s->options->one_side_coated && bc_measured_has_word(&s->words, both) &&
           !bc_measured_has_word(&s->words, denials);
}

/* "Uncertainty: 1 %", where the caller takes less. One that is a share of the value, or of the wavelength, is none. */
static bool is_less_certain(const setting *s)
{
    static const char *const words[] = {"uncertainty", NULL};
    static const char *const other[] = {"wavelength",  "nm",        "relative", "reading", "value",
                                        "temperature", "thickness", "angle",    "index",   NULL};
    const double *known = s->options->uncertainty;
    if (known == NULL || s->options->uncertainty_column != NULL || !bc_measured_has_word(&s->words, words) ||
        bc_measured_has_word(&s->words, other))
        return false;
    for (const char *at = strstr(s->words.text, "uncertainty"); *at != '\0';) {
        double number;
        const bool counts = strchr("0123456789", *at) != NULL && (bc_measured_is_letter(at[-1]) || at[-1] == '.');
        if (!bc_measured_take_number(&at, &number)) {
            at++;
            continue;
        }
        at += strspn(at, " \t");
        if (!counts && (*at == '%' || strncmp(at, "percent", 7) == 0) && number > 100.0 * *known + SLACK)
            return true;
    }
    return false;
}

static const char *doubt_of(const setting *s, bool header)
{
    static const char *const twice =
        "light from both coatings, where the command takes the back for uncoated or unseen (--back same)";
    if (header)
        return is_coated_twice(s) ? twice : NULL;
    if (has_wide_slit(s))
        return "a slit wider than 10 nm, which evens out what the layers make";
    if (is_smoothed(s))
        return "values smoothed over more than 10 nm, or nobody says over how many";
    if (is_coated_twice(s))
        return twice;
    return is_less_certain(s) ? "a larger uncertainty than the command's (--uncertainty-percent)" : NULL;
}

static bc_status judge_line(const measured_table *table, size_t line, bool header, const bc_measured_options *options,
                            bc_measured_file *file, bc_error *error)
{
    setting s = {.options = options, .file = file};
    char shown[BC_ESCAPED_SIZE];
    bc_measured_take_words(table->lines->line[line], &s.words);
    close_up(s.words.word);
    const char *doubt = doubt_of(&s, header);
    if (doubt == NULL)
        return BC_OK;
    file->overruled = true;
    return options->overrule ? BC_OK
                             : bc_fail(error, BC_ERROR_INPUT,
                                       "%s:%zu: found '%s': %s; expected a measurement as the command says (or "
                                       "--overrule where this line is not about these values)",
                                       table->path, line + 1, bc_escaped(table->lines->line[line], shown), doubt);
}

/* A larger uncertainty in a column of the block; MEASURED_NONE: none. */
static size_t larger_uncertainty(const measured_table *table, const measured_points *points, size_t place,
                                 const bc_measured_options *options, const bc_measured_file *file)
{
    static const char *const expanded[] = {"uncertainty", "unc", "u", "u95", NULL};
    const char *header = bc_measured_header(table, &points->block, place);
    const measured_meaning meaning = bc_measured_meaning(header, bc_measured_units(table, &points->block, place));
    const bc_measured_unit unit = meaning.unit == BC_UNIT_UNTOLD ? file->unit : meaning.unit;
    measured_words words;
    bc_measured_take_words(header, &words);
    if (meaning.about != ABOUT_UNCERTAINTY || !bc_measured_has_word(&words, expanded))
        return MEASURED_NONE;
    for (size_t i = 0; i < points->count; i++) {
        const char *cell = bc_measured_cell(table, points->point[i].line, place);
        double value;
        if (bc_measured_number(table->decimal, cell, 0, &value, NULL) &&
            value * (unit == BC_UNIT_PERCENT ? 0.01 : 1.0) > *options->uncertainty + 0.01 * SLACK)
            return points->point[i].line;
    }
    return MEASURED_NONE;
}

static bc_status judge_columns(const measured_table *table, const measured_points *points,
                               const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    const measured_block *block = &points->block;
    const size_t names = block->header == MEASURED_NONE ? 0 : bc_measured_width(table, block->header);
    char where[MEASURED_PLACE_SIZE], shown[BC_ESCAPED_SIZE];
    for (size_t place = 0; options->uncertainty != NULL && options->uncertainty_column == NULL && place < names;
         place++) {
        const size_t line = larger_uncertainty(table, points, place, options, file);
        if (line == MEASURED_NONE)
            continue;
        file->overruled = true;
        if (!options->overrule)
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%zu: %s: found '%s', a larger uncertainty than the command's (--uncertainty-percent); "
                           "expected --uncertainty-column for this column (or --overrule where it is not about the "
                           "values)",
                           table->path, line + 1, bc_measured_place(table, block, place, where),
                           bc_escaped(bc_measured_cell(table, line, place), shown));
    }
    return BC_OK;
}

bc_status bc_measured_settings(const measured_table *table, const measured_points *points,
                               const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    const measured_block *block = &points->block;
    bc_status status = BC_OK;
    if (options->signal != BC_SIGNAL_NOT)
        return BC_OK;
    for (size_t line = 0; status == BC_OK && line < table->lines->count; line++)
        if (line == block->header || bc_measured_is_around(table, block, line))
            status = judge_line(table, line, line == block->header, options, file, error);
    return status == BC_OK ? judge_columns(table, points, options, file, error) : status;
}
