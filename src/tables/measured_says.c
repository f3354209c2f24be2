/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "measured_words.h"
#include "number.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define MOST_SAID          16
#define DEGREES            57.295779513082321
#define SAME_ANGLE         0.05 /* degrees */
#define STEEPEST           90.0
#define LEAST_LIKELY_ANGLE 15.0 /* degrees; below it the number is as likely that of a run */
#define LIKELY_ANGLE_STEP  5.0
#define NUMBER_LENGTH      40

/* One thing that several lines of a file may say. */
typedef struct statement {
    double value; /* degrees, or a bc_polarization or bc_quantity */
    size_t line;
} statement;

typedef struct statements {
    size_t count;
    statement said[MOST_SAID];
    size_t unclear; /* a line that states it and cannot be read; MEASURED_NONE */
} statements;

static void note(statements *all, double value, size_t line)
{
    for (size_t i = 0; i < all->count; i++)
        if (fabs(all->said[i].value - value) <= SAME_ANGLE)
            return;
    if (all->count < MOST_SAID)
        all->said[all->count++] = (statement){value, line};
}

static bool says(const statements *all, double value)
{
    for (size_t i = 0; i < all->count; i++)
        if (fabs(all->said[i].value - value) <= SAME_ANGLE)
            return true;
    return false;
}

/* A number that begins at *at, with a decimal point or comma; *at moves past it. */
static bool take_number(const char **at, double *value)
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

static bool is_letter(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte & 0x80) != 0;
}

/* 1 for degrees after a number, DEGREES for radians, 0 for neither; a temperature is none. */
static double angle_unit(const char *at)
{
    at += strspn(at, " \t-_");
    if (strncmp(at, "rad", 3) == 0 && (!is_letter(at[3]) || strncmp(at, "radian", 6) == 0))
        return DEGREES;
    if (strncmp(at, "deg", 3) != 0)
        return 0.0;
    at += strspn(at, "degrs");
    const char *next = at + strspn(at, " \t.");
    const bool temperature = (next[0] == 'c' || next[0] == 'f' || next[0] == 'k') && !is_letter(next[1]);
    return temperature || strncmp(next, "celsius", 7) == 0 || is_letter(*at) ? 0.0 : 1.0;
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

/* Every "45 deg"; where the line names the incidence, its first number by itself too ("aoi,45"). */
static void look_for_angles(const measured_words *all, size_t line, statements *out)
{
    const bool named = names_incidence(all);
    bool any = false, first = true;
    double alone = NAN;
    if (is_other_angle(all) && !named)
        return;
    for (const char *at = all->text; *at != '\0';) {
        double value;
        const bool inside_word = at > all->text && (is_letter(at[-1]) || at[-1] == '.');
        if (!take_number(&at, &value)) {
            at++;
            continue;
        }
        const double unit = angle_unit(at);
        if (unit > 0.0 && value * unit < STEEPEST) {
            note(out, value * unit, line);
            any = true;
        }
        if (first && !inside_word)
            alone = value;
        first = false;
    }
    if (!any && named && alone < STEEPEST && !is_other_angle(all))
        note(out, alone, line);
    else if (!any && strstr(all->text, "normal incidence") != NULL && strstr(all->text, "near") == NULL)
        note(out, 0.0, line);
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
        is_s = is_s || (at != NULL && (at == all->text || !is_letter(at[-1])) &&
                        !is_letter(s_pieces[i][0] == 's' ? '.' : at[strlen(s_pieces[i])]));
        at = strstr(all->text, p_pieces[i]);
        is_p = is_p || (at != NULL && (at == all->text || !is_letter(at[-1])) &&
                        !is_letter(p_pieces[i][0] == 'p' ? '.' : at[strlen(p_pieces[i])]));
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

/* "Polarization: s", and lines of words such as "s-polarized light". */
static void look_for_polarization(const measured_words *all, bool header, size_t line, statements *out)
{
    static const char *const planes[] = {"s", "p", NULL}, *const s[] = {"s", NULL}, *const none[] = {"none",   "mean",
                                                                                                     "off",    "no",
                                                                                                     "random", NULL};
    const char *named = strstr(all->text, "polari");
    bc_polarization polarization;
    if (read_polarization(all, &polarization)) {
        if (header || strstr(all->text, "pol") != NULL)
            note(out, (double)polarization, line);
        return;
    }
    if (named == NULL && !bc_measured_has_word(all, (const char *const[]){"pol", NULL}))
        return;
    if (bc_measured_has_word(all, planes) && !bc_measured_has_word(all, none))
        note(out, (double)(bc_measured_has_word(all, s) ? BC_POL_S : BC_POL_P), line);
    else if (bc_measured_has_word(all, none))
        note(out, (double)BC_POL_UNPOLARIZED, line);
    else
        out->unclear = line;
}

/* The part after the name of a setting ("Mode: %T"), when it is one that says what was measured. */
static const char *mode_value(const char *line)
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

typedef struct lookout {
    const measured_table *table;
    const measured_points *points;
    const bc_measured_options *options;
    statements header_aoi, aoi, header_polarization, polarization;
    statements mode, words; /* of the quantity: by a setting, and in passing */
    size_t transformed_line;
    const char *transformed;
} lookout;

static void look_at_mode(lookout *all, const char *value, size_t line)
{
    static const char *const absorbance[] = {"abs", "absorbance", "od", "a", NULL};
    measured_words words;
    bc_quantity quantity;
    bc_measured_take_words(value, &words);
    const char *transformed = bc_measured_transformed(&words);
    if (transformed == NULL && bc_measured_has_word(&words, absorbance))
        transformed = "absorbance";
    if (transformed != NULL) {
        all->transformed = transformed;
        all->transformed_line = line;
    } else if (bc_measured_find_quantity(&words, &quantity)) {
        note(&all->mode, (double)quantity, line);
    }
}

static void look_at_line(lookout *all, size_t line)
{
    static const char *const full[][6] = {
        [BC_R] = {"reflectance", "reflection", "reflectivity", NULL},
        [BC_T] = {"transmittance", "transmission", "transmissivity", NULL},
    };
    static const char *const signs[] = {[BC_R] = "%r", [BC_T] = "%t"};
    const char *text = all->table->lines->line[line];
    const char *value = mode_value(text);
    measured_words words;
    bc_measured_take_words(text, &words);
    look_for_angles(&words, line, &all->aoi);
    look_for_polarization(&words, false, line, &all->polarization);
    if (value != NULL)
        look_at_mode(all, value, line);
    for (int q = BC_R; q <= BC_T; q++) {
        const char *sign = strstr(words.plain, signs[q]);
        if (bc_measured_has_word(&words, full[q]) || (sign != NULL && !is_letter(sign[2])))
            note(&all->words, (double)q, line);
    }
}

/* A column beside the values, whose cells say it ("aoi_deg"). */
static void look_at_columns(lookout *all)
{
    const measured_block *block = &all->points->block;
    const size_t line = all->points->point[0].line;
    const size_t names = block->header == MEASURED_NONE ? 0 : bc_measured_width(all->table, block->header);
    for (size_t place = 0; place < names; place++) {
        measured_words words, cell;
        double value;
        bc_measured_take_words(bc_measured_header(all->table, block, place), &words);
        bc_measured_take_words(bc_measured_cell(all->table, line, place), &cell);
        const char *at = cell.text;
        if (bc_measured_has_word(&words, (const char *const[]){"aoi", "angle", "incidence", NULL}) &&
            take_number(&at, &value) && value < STEEPEST)
            note(&all->header_aoi, value, line);
        if (strstr(words.text, "polari") != NULL && cell.word[1] != '\0') {
            snprintf(words.text, sizeof words.text, "polarization %.60s", cell.text);
            bc_measured_take_words(words.text, &cell);
            look_for_polarization(&cell, true, line, &all->header_polarization);
        }
    }
}

/* Whether a line is words above or below the rows of the block: ahead of all, its own, or behind all. */
static bool is_around(const measured_table *table, const measured_block *here, size_t line)
{
    const size_t last = table->block[table->blocks - 1].to;
    size_t before = 0;
    for (size_t b = 0; b < table->blocks && table->block[b].from < here->from; b++)
        before = table->block[b].to;
    const bool ahead = line < table->block[0].from, own = line >= before && line < here->from, behind = line >= last;
    if (table->kind[line] == KIND_BLANK || table->kind[line] == KIND_ROW || line == here->header ||
        line == here->units || !(ahead || own || behind))
        return false;
    for (size_t b = 0; b < table->blocks; b++)
        if (line == table->block[b].header || line == table->block[b].units)
            return false;
    return true;
}

static void look_around(lookout *all)
{
    const measured_table *table = all->table;
    const measured_block *here = &all->points->block;
    for (size_t line = 0; line < table->lines->count; line++)
        if (is_around(table, here, line))
            look_at_line(all, line);
    for (size_t i = 0; i < all->points->choice.count; i++) {
        char both[MEASURED_WORDS_SIZE];
        measured_words words;
        const size_t line = here->header == MEASURED_NONE ? here->from : here->header;
        snprintf(both, sizeof both, "%.200s %.200s", bc_measured_header(table, here, all->points->choice.place[i]),
                 bc_measured_units(table, here, all->points->choice.place[i]));
        bc_measured_take_words(both, &words);
        look_for_angles(&words, line, &all->header_aoi);
        look_for_polarization(&words, true, line, &all->header_polarization);
    }
    look_at_columns(all);
}

static const char *shown_line(const lookout *all, size_t line, char shown[BC_ESCAPED_SIZE])
{
    return bc_escaped(all->table->lines->line[line], shown);
}

/* The one thing the file says: what the header of the column says, else what the lines around the rows say. NULL:
 * nothing. Fails where it says several and no option chooses. */
static bc_status settle(const lookout *all, const statements *header, const statements *around, bool stated,
                        const char *what, const char *option, const statement **said, bc_error *error)
{
    const statements *which = header->count > 0 ? header : around;
    char shown[BC_ESCAPED_SIZE], other[BC_ESCAPED_SIZE];
    *said = which->count > 0 ? &which->said[0] : NULL;
    if (stated || all->options->overrule)
        return BC_OK;
    const statement *second = which->count > 1 ? &which->said[1]
                              : header->count > 0 && around->count > 0 && !says(around, header->said[0].value)
                                  ? &around->said[0]
                                  : NULL;
    if (second != NULL)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: found '%s', and '%s' in line %zu: two %s; expected %s",
                       all->table->path, (*said)->line + 1, shown_line(all, (*said)->line, shown),
                       shown_line(all, second->line, other), second->line + 1, what, option);
    if (which->count == 0 && around->unclear != MEASURED_NONE)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: found '%s', which does not say which %s; expected %s",
                       all->table->path, around->unclear + 1, shown_line(all, around->unclear, shown), what, option);
    return BC_OK;
}

/* An option that nothing in the file agrees with, where it says something. */
static bool contradicts(const statements *header, const statements *around, double value)
{
    if (header->count > 0)
        return !says(header, value);
    return around->count > 0 && !says(around, value);
}

/* "R_45", "R(45)", "%R 45": the number may be an angle, or that of a run. */
static bc_status ask_for_angle(const lookout *all, bc_error *error)
{
    const measured_block *block = &all->points->block;
    const measured_choice *choice = &all->points->choice;
    char where[MEASURED_PLACE_SIZE];
    if (all->options->aoi_deg != NULL || all->options->overrule || all->header_aoi.count > 0 || all->aoi.count > 0 ||
        choice->count != 1)
        return BC_OK;
    measured_words words;
    bc_measured_take_words(bc_measured_header(all->table, block, choice->place[0]), &words);
    const char *at = words.word + strspn(words.word, " %");
    double number;
    if ((*at != 'r' && *at != 't') || strchr(" sp", at[1]) == NULL)
        return BC_OK;
    at += strcspn(at, " ");
    at += strspn(at, " ");
    if (!take_number(&at, &number) || at[strspn(at, " %")] != '\0' || number < LEAST_LIKELY_ANGLE ||
        number >= STEEPEST || fmod(number, LIKELY_ANGLE_STEP) > 0.0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%zu: %s: found the number %g, which may be an angle of incidence; expected --aoi with the angle "
                   "of this measurement",
                   all->table->path, block->header + 1, bc_measured_place(all->table, block, choice->place[0], where),
                   number);
}

static bc_status settle_angle(lookout *all, bc_measured_file *file, bc_error *error)
{
    const bc_measured_options *options = all->options;
    const bool stated = options->aoi_deg != NULL;
    const statement *said;
    char shown[BC_ESCAPED_SIZE];
    bc_status status = settle(all, &all->header_aoi, &all->aoi, stated, "angles of incidence",
                              "--aoi with the one of this measurement", &said, error);
    if (status != BC_OK || said == NULL)
        return status;
    if (stated && contradicts(&all->header_aoi, &all->aoi, *options->aoi_deg)) {
        file->overruled = true;
        return options->overrule
                   ? BC_OK
                   : bc_fail(error, BC_ERROR_INPUT,
                             "%s:%zu: found '%s', an angle of %g degrees, and --aoi %g; expected one angle of "
                             "incidence (leave --aoi out, or add --overrule where the file is wrong)",
                             all->table->path, said->line + 1, shown_line(all, said->line, shown), said->value,
                             *options->aoi_deg);
    }
    file->has_aoi = true;
    file->aoi_deg = stated ? *options->aoi_deg : said->value;
    file->aoi_line = (long)said->line + 1;
    return BC_OK;
}

static bc_status settle_polarization(lookout *all, bc_measured_file *file, bc_error *error)
{
    static const char *const names[] = {[BC_POL_UNPOLARIZED] = "unpolarized", [BC_POL_S] = "s", [BC_POL_P] = "p"};
    const bc_measured_options *options = all->options;
    const bool stated = options->polarization != NULL;
    const statement *said;
    char shown[BC_ESCAPED_SIZE];
    bc_status status = settle(all, &all->header_polarization, &all->polarization, stated, "polarizations",
                              "--polarization unpolarized, s or p", &said, error);
    if (status != BC_OK || said == NULL)
        return status;
    if (stated && contradicts(&all->header_polarization, &all->polarization, (double)*options->polarization)) {
        file->overruled = true;
        return options->overrule
                   ? BC_OK
                   : bc_fail(error, BC_ERROR_INPUT,
                             "%s:%zu: found '%s', polarization %s, and --polarization %s; expected one polarization "
                             "(leave --polarization out, or add --overrule where the file is wrong)",
                             all->table->path, said->line + 1, shown_line(all, said->line, shown),
                             names[(int)said->value], names[*options->polarization]);
    }
    file->has_polarization = true;
    file->polarization = stated ? *options->polarization : (bc_polarization)said->value;
    file->polarization_line = (long)said->line + 1;
    return BC_OK;
}

static bc_status fail_quantity(const lookout *all, const statement *said, const char *against, bc_error *error)
{
    char shown[BC_ESCAPED_SIZE];
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%zu: found '%s', and %s; expected reflectance or transmittance, one of them (--quantity with "
                   "--overrule where the file's words are wrong)",
                   all->table->path, said->line + 1, shown_line(all, said->line, shown), against);
}

/* The header of the column comes first; lines around it say it where the header does not. */
static bc_status settle_quantity(lookout *all, bc_measured_file *file, bc_error *error)
{
    const measured_meaning *meaning = &all->points->choice.value_meaning;
    const bc_quantity *asked = all->options->quantity;
    const statements *which = all->mode.count > 0 ? &all->mode : &all->words;
    char shown[BC_ESCAPED_SIZE];
    if (all->transformed != NULL && !all->options->overrule)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found '%s', %s; expected reflectance or transmittance itself (or --overrule where this "
                       "line is not about these values)",
                       all->table->path, all->transformed_line + 1, shown_line(all, all->transformed_line, shown),
                       all->transformed);
    if (asked != NULL && which->count > 0 && !says(which, (double)*asked) && !meaning->names_quantity) {
        file->overruled = true;
        return all->options->overrule
                   ? BC_OK
                   : fail_quantity(all, &which->said[0], *asked == BC_R ? "--quantity R" : "--quantity T", error);
    }
    if (meaning->names_quantity) {
        const bool against = all->mode.count > 0 && !says(&all->mode, (double)meaning->quantity);
        file->overruled = file->overruled || against;
        return against && asked == NULL && !all->options->overrule
                   ? fail_quantity(all, &all->mode.said[0],
                                   meaning->quantity == BC_R ? "a column of reflectance" : "a column of transmittance",
                                   error)
                   : BC_OK;
    }
    if (asked == NULL && all->mode.count > 1 && !all->options->overrule)
        return fail_quantity(all, &all->mode.said[0], "another line that says otherwise", error);
    if (asked != NULL || which->count != 1)
        return BC_OK;
    file->has_quantity = true;
    file->quantity = (bc_quantity)which->said[0].value;
    file->quantity_stated = BC_STATED_WORDS;
    file->quantity_line = (long)which->said[0].line + 1;
    return BC_OK;
}

bc_status bc_measured_conditions(const measured_table *table, const measured_points *points,
                                 const bc_measured_options *options, bc_measured_file *file, bc_error *error)
{
    lookout all = {.table = table, .points = points, .options = options};
    statements *const every[] = {&all.header_aoi,   &all.aoi,  &all.header_polarization,
                                 &all.polarization, &all.mode, &all.words};
    bc_status status;
    for (size_t i = 0; i < sizeof every / sizeof every[0]; i++)
        every[i]->unclear = MEASURED_NONE;
    look_around(&all);
    status = settle_quantity(&all, file, error);
    if (status == BC_OK)
        status = settle_angle(&all, file, error);
    if (status == BC_OK)
        status = settle_polarization(&all, file, error);
    for (size_t line = 0; status == BC_OK && line < table->lines->count; line++)
        if (is_around(table, &points->block, line))
            status = bc_measured_remark(table, line, options, file, error);
    if (status == BC_OK)
        status = ask_for_angle(&all, error);
    return status == BC_OK ? bc_measured_flags(table, points, options, file, error) : status;
}
