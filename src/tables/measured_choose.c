/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "measured_words.h"
#include "number.h"
#include "utf8.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define LIST_SIZE 700

/* What the choice is made from. */
typedef struct chooser {
    const measured_table *table;
    const measured_block *block;
    const bc_measured_options *options;
    size_t columns;
    measured_meaning *meaning; /* [columns] */
    bool *empty;               /* [columns] no cell in any row */
    int rank;                  /* of the candidates */
} chooser;

static const char *const quantity_name[] = {[BC_R] = "reflectance", [BC_T] = "transmittance", [BC_A] = "absorptance"};
static const char *const quantity_letter[] = {[BC_R] = "R", [BC_T] = "T", [BC_A] = "A"};

/* The line that a message about the columns points to. */
static size_t stated_in(const measured_block *block)
{
    return (block->header == MEASURED_NONE ? block->from : block->header) + 1;
}

static bc_status look(chooser *all, bc_error *error)
{
    const measured_table *table = all->table;
    const measured_block *block = all->block;
    all->meaning = calloc(all->columns, sizeof *all->meaning);
    all->empty = calloc(all->columns, sizeof *all->empty);
    if (all->meaning == NULL || all->empty == NULL)
        return bc_fail_memory(error);
    for (size_t place = 0; place < all->columns; place++) {
        const char *header = bc_measured_header(table, block, place);
        const char *units = bc_measured_units(table, block, place);
        if (block->names_axis)
            all->meaning[place] = bc_measured_meaning(header, units);
        all->empty[place] = true;
        for (size_t line = block->from; line < block->to && all->empty[place]; line++)
            all->empty[place] = table->kind[line] != KIND_ROW || bc_measured_cell(table, line, place)[0] == '\0';
    }
    return BC_OK;
}

/* Bytes of the characters that fit into `most` of them. */
static int whole_characters(const char *text, size_t most)
{
    const size_t length = strlen(text);
    size_t bytes = 0, taken;
    while (bytes < length && (taken = bc_utf8_decode(text + bytes, length - bytes, NULL)) > 0 && bytes + taken <= most)
        bytes += taken;
    return (int)bytes;
}

/* The columns of values in words: "2 'R1', 3 'R2'". */
static const char *list_values(const chooser *all, bool (*wanted)(const chooser *, size_t), char out[LIST_SIZE])
{
    out[0] = '\0';
    for (size_t place = 0; place < all->columns; place++) {
        char shown[BC_ESCAPED_SIZE];
        const size_t used = strlen(out);
        if (!wanted(all, place))
            continue;
        if (used > LIST_SIZE - 120)
            return memcpy(out + used, ", ...", sizeof ", ..."), out;
        const char *header = bc_escaped(bc_measured_header(all->table, all->block, place), shown);
        snprintf(out + used, LIST_SIZE - used - 8, "%s%zu%s%.*s%s", used == 0 ? "" : ", ", place + 1,
                 header[0] == '\0' ? "" : " '", whole_characters(header, 60), header, header[0] == '\0' ? "" : "'");
    }
    return out;
}

/* A reference or a dark scan is read, which a header may call so. */
static bool is_aside(const bc_measured_options *options)
{
    return options->signal == BC_SIGNAL_REFERENCE || options->signal == BC_SIGNAL_DARK;
}

/* How likely a column holds the values when nobody says which: 0 never, and of the others the highest there is. */
static int rank_of(const chooser *all, size_t place)
{
    const measured_meaning *meaning = &all->meaning[place];
    if (all->empty[place] || (!all->block->names_axis && place == 0))
        return 0;
    switch (meaning->about) {
    case ABOUT_UNKNOWN:
    case ABOUT_VALUE:
        return meaning->transformed == NULL ? 3 : 2;
    case ABOUT_RAW:
        return all->options->signal != BC_SIGNAL_NOT ? 3 : 0;
    case ABOUT_ABSORBANCE:
        return 2;
    case ABOUT_ASIDE:
        return 1;
    case ABOUT_OTHER: /* beside a sample's column: both are asked about */
        return is_aside(all->options) ? 3 : 0;
    default:
        return 0;
    }
}

static bool is_candidate(const chooser *all, size_t place)
{
    return rank_of(all, place) == all->rank && all->rank > 0;
}

static bool is_any(const chooser *all, size_t place)
{
    return !all->empty[place];
}

static bool names(const chooser *all, size_t place, const bc_quantity *quantity)
{
    const measured_meaning *meaning = &all->meaning[place];
    return is_candidate(all, place) && meaning->names_quantity && (quantity == NULL || meaning->quantity == *quantity);
}

/* How many candidates name the quantity (NULL: any); *place: the last of them. */
static size_t count_named(const chooser *all, const bc_quantity *quantity, size_t *place)
{
    size_t count = 0;
    for (size_t i = 0; i < all->columns; i++) {
        if (!names(all, i, quantity))
            continue;
        *place = i;
        count++;
    }
    return count;
}

/* Of several that name the quantity the one whose header names the polarization that is sought too. */
static size_t count_polarized(const chooser *all, const bc_quantity *quantity, size_t *place)
{
    size_t count = 0;
    for (size_t i = 0; all->options->polarization != NULL && i < all->columns; i++) {
        bc_polarization polarization;
        if (!names(all, i, quantity) ||
            !bc_measured_says_polarization(bc_measured_header(all->table, all->block, i), &polarization) ||
            polarization != *all->options->polarization)
            continue;
        *place = i;
        count++;
    }
    return count;
}

/* Whether the numbers of a column could be a spectrum: not one number throughout, no count of the rows, few below 0. */
static bool looks_like_spectrum(const chooser *all, size_t place)
{
    size_t numbers = 0, filled = 0, below = 0, steps = 0, same = 0;
    double before = NAN;
    for (size_t line = all->block->from; line < all->block->to; line++) {
        const char *cell = bc_measured_cell(all->table, line, place);
        double value;
        if (all->table->kind[line] != KIND_ROW || cell[0] == '\0')
            continue;
        filled++;
        if (!bc_measured_number(all->table->decimal, cell, 0, &value, NULL))
            continue;
        numbers++;
        below += value < 0.0;
        steps += fabs(value - before - 1.0) < 1e-9;
        same += fabs(value - before) < 1e-12;
        before = value;
        if (value > 110.0)
            return false;
    }
    return numbers > 1 && 5 * numbers >= 4 * filled && 3 * below <= numbers && steps + 1 < numbers &&
           same + 1 < numbers;
}

/* Another column beside the one that names the quantity, which may as well be what was measured. */
static size_t find_rival(const chooser *all, size_t chosen)
{
    for (size_t i = 0; i < all->columns; i++)
        if (i != chosen && is_candidate(all, i) && all->meaning[i].about == ABOUT_UNKNOWN &&
            looks_like_spectrum(all, i))
            return i;
    return MEASURED_NONE;
}

static bc_status fail_no_measurement(const chooser *all, bc_error *error)
{
    char where[MEASURED_PLACE_SIZE];
    for (size_t i = 0; i < all->columns; i++) {
        const measured_about about = all->meaning[i].about;
        if (all->empty[i] || (about != ABOUT_OTHER && about != ABOUT_RAW))
            continue;
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found %s and no measured R or T beside it; expected a column of measured values",
                       all->table->path, stated_in(all->block), bc_measured_place(all->table, all->block, i, where),
                       about == ABOUT_RAW ? "the signal of an instrument" : all->meaning[i].other);
    }
    return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: found no column of values beside the wavelengths; expected one",
                   all->table->path, stated_in(all->block));
}

static bc_status choose_alone(chooser *all, size_t *place, bc_error *error)
{
    static const char *const column_option[] = {[BC_SIGNAL_NOT] = "--column",
                                                [BC_SIGNAL_SAMPLE] = "--column",
                                                [BC_SIGNAL_REFERENCE] = "--reference-column",
                                                [BC_SIGNAL_DARK] = "--dark-column"};
    const bc_quantity *sought[] = {all->options->quantity, all->options->preferred, NULL};
    char list[LIST_SIZE];
    size_t candidates = 0;
    for (size_t i = 0; i < all->columns; i++)
        all->rank = rank_of(all, i) > all->rank ? rank_of(all, i) : all->rank;
    for (size_t i = 0; i < all->columns; i++) {
        if (!is_candidate(all, i))
            continue;
        *place = i;
        candidates++;
    }
    if (candidates == 0)
        return fail_no_measurement(all, error);
    if (candidates == 1)
        return BC_OK;
    for (size_t i = is_aside(all->options) ? 3 : 0; i < 3; i++) {
        if (i < 2 && sought[i] == NULL)
            continue;
        const size_t count = count_named(all, sought[i], place);
        if ((count == 1 || (count > 1 && count_polarized(all, sought[i], place) == 1)) &&
            find_rival(all, *place) == MEASURED_NONE)
            return BC_OK;
        if (count >= 1)
            break;
    }
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%zu: found %zu columns of values (%s); expected %s with the name or the number of one of "
                   "them%s",
                   all->table->path, stated_in(all->block), candidates, list_values(all, is_candidate, list),
                   column_option[all->options->signal],
                   is_aside(all->options) ? "" : " (given several times: repeats, which are averaged)");
}

/* A column by its header as it stands, else by its header in any case, else by its number. */
static bc_status find_named(const chooser *all, const char *option, const char *name, size_t *place, bc_error *error)
{
    char list[LIST_SIZE], shown[BC_ESCAPED_SIZE];
    double number = 0;
    for (int any_case = 0; any_case < 2; any_case++) {
        size_t count = 0;
        for (size_t i = 0; i < all->columns; i++) {
            const char *header = bc_measured_header(all->table, all->block, i);
            if ((any_case ? strcasecmp(header, name) : strcmp(header, name)) != 0 || header[0] == '\0')
                continue;
            *place = i;
            count++;
        }
        if (count == 1)
            return BC_OK;
        if (count > 1)
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%zu: found %zu columns called '%s'; expected %s with a column's number (%s)",
                           all->table->path, stated_in(all->block), count, bc_escaped(name, shown), option,
                           list_values(all, is_any, list));
    }
    if (name[strspn(name, "0123456789")] == '\0' && bc_number_parse(name, 0, &number) == BC_NUMBER_OK && number >= 1 &&
        number <= (double)all->columns) {
        *place = (size_t)number - 1;
        return BC_OK;
    }
    return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: found no column '%s' for %s; expected one of %s", all->table->path,
                   stated_in(all->block), bc_escaped(name, shown), option, list_values(all, is_any, list));
}

/* The wavelengths of a column: the nearest column of wavelengths to its left, else the only one. */
static bc_status find_wavelengths(const chooser *all, size_t value, size_t *place, bc_error *error)
{
    char where[MEASURED_PLACE_SIZE];
    size_t count = 0, left = MEASURED_NONE, last = 0;
    *place = 0;
    if (!all->block->names_axis)
        return BC_OK;
    for (size_t i = 0; i < all->columns; i++) {
        if (all->meaning[i].about == ABOUT_NO_WAVELENGTH)
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%zu: %s: found another scale than wavelength; expected wavelengths in nm or um (a "
                           "wavenumber in cm-1 is 10000000 / wavelength in nm)",
                           all->table->path, stated_in(all->block),
                           bc_measured_place(all->table, all->block, i, where));
        if (all->meaning[i].about != ABOUT_WAVELENGTH)
            continue;
        count++;
        last = i;
        left = i < value ? i : left;
    }
    *place = left != MEASURED_NONE ? left : last;
    if (left == MEASURED_NONE && count != 1)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found no column of wavelengths to its left and %zu to its right; expected one",
                       all->table->path, stated_in(all->block), bc_measured_place(all->table, all->block, value, where),
                       count);
    return BC_OK;
}

static bc_status refuse_meaning(const chooser *all, size_t place, bc_error *error)
{
    const measured_meaning *meaning = &all->meaning[place];
    const bc_quantity *quantity = all->options->quantity;
    char where[MEASURED_PLACE_SIZE];
    bc_measured_place(all->table, all->block, place, where);
    if (meaning->transformed != NULL && all->options->signal == BC_SIGNAL_NOT)
        return bc_fail(
            error, BC_ERROR_INPUT,
            "%s:%zu: %s: found %s; expected reflectance or transmittance itself, in percent or as a fraction",
            all->table->path, stated_in(all->block), where, meaning->transformed);
    if (meaning->about == ABOUT_OTHER && !is_aside(all->options) && !all->options->overrule)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found %s; expected a column of measured values (or --overrule, where its name is "
                       "wrong)",
                       all->table->path, stated_in(all->block), where, meaning->other);
    if (meaning->about == ABOUT_RAW && all->options->signal == BC_SIGNAL_NOT && !all->options->overrule)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found the signal of an instrument; expected reflectance or transmittance (or "
                       "--reference-scan, to divide it by)",
                       all->table->path, stated_in(all->block), where);
    if (meaning->about == ABOUT_ABSORBANCE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: %s: found absorbance, the logarithm of a transmittance; expected reflectance or "
                       "transmittance",
                       all->table->path, stated_in(all->block), where);
    if (meaning->about == ABOUT_WAVELENGTH)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: %s: found wavelengths; expected a column of values",
                       all->table->path, stated_in(all->block), where);
    if (quantity != NULL && meaning->names_quantity && meaning->quantity != *quantity && !all->options->overrule)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: %s: found %s; expected %s (%s)", all->table->path,
                       stated_in(all->block), where, quantity_name[meaning->quantity], quantity_name[*quantity],
                       quantity_letter[*quantity]);
    return BC_OK;
}

/* Columns that are averaged must be of one kind. */
static bc_status compare_meanings(const chooser *all, const measured_choice *choice, bc_error *error)
{
    const measured_meaning *first = &all->meaning[choice->place[0]];
    char where[MEASURED_PLACE_SIZE];
    for (size_t i = 1; i < choice->count; i++) {
        const measured_meaning *other = &all->meaning[choice->place[i]];
        bc_measured_place(all->table, all->block, choice->place[i], where);
        for (size_t j = 0; j < i; j++)
            if (choice->place[j] == choice->place[i])
                return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: %s: found twice among --column; expected each once",
                               all->table->path, stated_in(all->block), where);
        bc_polarization planes[2];
        const bool said[] = {
            bc_measured_says_polarization(bc_measured_header(all->table, all->block, choice->place[0]), &planes[0]),
            bc_measured_says_polarization(bc_measured_header(all->table, all->block, choice->place[i]), &planes[1])};
        if (said[0] != said[1] || (said[0] && planes[0] != planes[1]))
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%zu: %s: found another polarization than in column %zu; expected repeats of one "
                           "measurement",
                           all->table->path, stated_in(all->block), where, choice->place[0] + 1);
        if (other->names_quantity != first->names_quantity || other->unit != first->unit ||
            (first->names_quantity && other->quantity != first->quantity))
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%zu: %s: found another quantity or unit than in column %zu; expected repeats of one "
                           "measurement",
                           all->table->path, stated_in(all->block), where, choice->place[0] + 1);
        if (all->meaning[choice->wavelength[i]].wavelength_unit != all->meaning[choice->wavelength[0]].wavelength_unit)
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s:%zu: %s: found its wavelengths in another unit than those of column %zu; expected one "
                           "unit",
                           all->table->path, stated_in(all->block), where, choice->place[0] + 1);
    }
    return BC_OK;
}

static bc_status choose(chooser *all, measured_choice *choice, bc_error *error)
{
    const bc_measured_options *options = all->options;
    bc_status status = BC_OK;
    choice->count = options->columns == 0 ? 1 : options->columns;
    choice->uncertainty = MEASURED_NONE;
    choice->place = calloc(choice->count, sizeof *choice->place);
    choice->wavelength = calloc(choice->count, sizeof *choice->wavelength);
    if (choice->place == NULL || choice->wavelength == NULL)
        return bc_fail_memory(error);
    if (options->columns == 0)
        status = choose_alone(all, &choice->place[0], error);
    for (size_t i = 0; status == BC_OK && i < options->columns; i++)
        status = find_named(all, "--column", options->column[i], &choice->place[i], error);
    for (size_t i = 0; status == BC_OK && i < choice->count; i++) {
        status = refuse_meaning(all, choice->place[i], error);
        if (status == BC_OK)
            status = find_wavelengths(all, choice->place[i], &choice->wavelength[i], error);
        if (status == BC_OK && choice->place[i] == choice->wavelength[i])
            status = bc_fail(error, BC_ERROR_INPUT,
                             "%s:%zu: column %zu: found the wavelengths (without a header that says otherwise they are "
                             "the first column); expected a column of values for --column",
                             all->table->path, stated_in(all->block), choice->place[i] + 1);
    }
    if (status == BC_OK && options->uncertainty_column != NULL)
        status = find_named(all, "--uncertainty-column", options->uncertainty_column, &choice->uncertainty, error);
    if (status == BC_OK)
        status = compare_meanings(all, choice, error);
    if (status != BC_OK)
        return status;
    choice->value_meaning = all->meaning[choice->place[0]];
    choice->wavelength_meaning = all->meaning[choice->wavelength[0]];
    return BC_OK;
}

bc_status bc_measured_choose(const measured_table *table, const measured_block *block,
                             const bc_measured_options *options, measured_choice *choice, bc_error *error)
{
    const size_t names = block->header == MEASURED_NONE ? 0 : bc_measured_width(table, block->header);
    chooser all = {
        .table = table, .block = block, .options = options, .columns = names > block->width ? names : block->width};
    bc_status status = look(&all, error);
    *choice = (measured_choice){0};
    if (status == BC_OK)
        status = choose(&all, choice, error);
    free(all.meaning);
    free(all.empty);
    return status;
}

void bc_measured_choice_clear(measured_choice *choice)
{
    free(choice->place);
    free(choice->wavelength);
    *choice = (measured_choice){0};
}
