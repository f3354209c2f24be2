/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "measured_statements.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEAST_LIKELY_ANGLE 15.0 /* degrees; below it the number is as likely that of a run */
#define LIKELY_ANGLE_STEP  5.0

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
        bc_measured_note(&all->mode, (double)quantity, line);
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
    const char *value = bc_measured_mode_value(text);
    measured_words words;
    bc_measured_take_words(text, &words);
    bc_measured_state_angles(&words, line, &all->aoi);
    bc_measured_state_polarization(&words, false, line, &all->polarization);
    if (value != NULL)
        look_at_mode(all, value, line);
    for (int q = BC_R; q <= BC_T; q++) {
        const char *sign = strstr(words.plain, signs[q]);
        if (bc_measured_has_word(&words, full[q]) || (sign != NULL && !bc_measured_is_letter(sign[2])))
            bc_measured_note(&all->words, (double)q, line);
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
            bc_measured_take_number(&at, &value) && value < MEASURED_STEEPEST)
            bc_measured_note(&all->header_aoi, value, line);
        if (strstr(words.text, "polari") != NULL && cell.word[1] != '\0') {
            snprintf(words.text, sizeof words.text, "polarization %.60s", cell.text);
            bc_measured_take_words(words.text, &cell);
            bc_measured_state_polarization(&cell, true, line, &all->header_polarization);
        }
    }
}

/* Whether a line is words above or below the rows of the block: ahead of all, its own, or behind all. */
bool bc_measured_is_around(const measured_table *table, const measured_block *here, size_t line)
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
        if (bc_measured_is_around(table, here, line))
            look_at_line(all, line);
    for (size_t i = 0; i < all->points->choice.count; i++) {
        char both[MEASURED_WORDS_SIZE];
        measured_words words;
        const size_t line = here->header == MEASURED_NONE ? here->from : here->header;
        snprintf(both, sizeof both, "%.200s %.200s", bc_measured_header(table, here, all->points->choice.place[i]),
                 bc_measured_units(table, here, all->points->choice.place[i]));
        bc_measured_take_words(both, &words);
        bc_measured_state_angles(&words, line, &all->header_aoi);
        bc_measured_state_polarization(&words, true, line, &all->header_polarization);
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
    const statement *second =
        which->count > 1 ? &which->said[1]
        : header->count > 0 && around->count > 0 && !bc_measured_states(around, header->said[0].value)
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
        return !bc_measured_states(header, value);
    return around->count > 0 && !bc_measured_states(around, value);
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
    if (!bc_measured_take_number(&at, &number) || at[strspn(at, " %")] != '\0' || number < LEAST_LIKELY_ANGLE ||
        number >= MEASURED_STEEPEST || fmod(number, LIKELY_ANGLE_STEP) > 0.0)
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
    if (asked != NULL && which->count > 0 && !bc_measured_states(which, (double)*asked) && !meaning->names_quantity) {
        file->overruled = true;
        return all->options->overrule
                   ? BC_OK
                   : fail_quantity(all, &which->said[0], *asked == BC_R ? "--quantity R" : "--quantity T", error);
    }
    if (meaning->names_quantity) {
        const bool against = all->mode.count > 0 && !bc_measured_states(&all->mode, (double)meaning->quantity);
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
        if (line == points->block.header || bc_measured_is_around(table, &points->block, line))
            status = bc_measured_remark(table, line, line == points->block.header, options, file, error);
    if (status == BC_OK)
        status = ask_for_angle(&all, error);
    return status == BC_OK ? bc_measured_flags(table, points, options, file, error) : status;
}
