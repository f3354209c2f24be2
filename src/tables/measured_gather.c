/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "grow.h"
#include "measured_words.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define SAME      1e-6 /* of a wavelength: the same one */
#define MOST_RUNS 1000
#define ONE_IN    20  /* values may be missing */
#define WAY_BACK  1.5 /* steps: the first one of the way back; a farther leap begins another scan */

typedef struct gatherer {
    const measured_table *table;
    const measured_block *block;
    const bc_measured_options *options;
    measured_shifts shifts;
    measured_points *points;
    size_t runs;       /* in the blocks before this one */
    size_t block_runs; /* in this one */
    bool any_value;
    size_t unsaid; /* the line where a scan begins that nothing says is a repeat; MEASURED_NONE */
} gatherer;

static bc_status fail_cell(const gatherer *all, size_t line, size_t place, const char *expected, bc_error *error)
{
    const measured_table *table = all->table;
    const char *cell = bc_measured_cell(table, line, place);
    const bool comma = strchr(cell, ',') != NULL, point = strchr(cell, '.') != NULL;
    char where[MEASURED_PLACE_SIZE], shown[BC_ESCAPED_SIZE];
    const char *remark = "";
    if (bc_measured_like_number(cell) && comma && point)
        remark = " (a thousands separator is not read)";
    else if (bc_measured_like_number(cell) && comma && table->decimal == BC_DECIMAL_POINT)
        remark = " (the decimal sign of the other numbers is a point)";
    else if (bc_measured_like_number(cell) && point && table->decimal == BC_DECIMAL_COMMA)
        remark = " (the decimal sign of the other numbers is a comma)";
    return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: %s: found '%s'%s; expected %s", table->path, line + 1,
                   bc_measured_place(table, all->block, place, where), bc_escaped(cell, shown), remark, expected);
}

static bool has_number(const measured_table *table, size_t line, size_t place)
{
    return bc_measured_number(table->decimal, bc_measured_cell(table, line, place), 0, NULL, NULL);
}

/* The rows of a column from the first to the last one with a value. What lies beyond holds no value: words or nothing.
 */
static void find_ends(const gatherer *all, size_t place, size_t *from, size_t *to)
{
    const measured_table *table = all->table;
    *from = all->block->from;
    *to = all->block->to;
    while (*from < *to &&
           (table->kind[*from] != KIND_ROW || !bc_measured_like_number(bc_measured_cell(table, *from, place))))
        (*from)++;
    while (*to > *from &&
           (table->kind[*to - 1] != KIND_ROW || !bc_measured_like_number(bc_measured_cell(table, *to - 1, place))))
        (*to)--;
}

static bc_status add_point(gatherer *all, size_t line, size_t column, double wavelength, bc_error *error)
{
    measured_points *points = all->points;
    const measured_choice *choice = &points->choice;
    const size_t place = choice->place[column];
    measured_point *moved = bc_grow(points->point, &points->capacity, points->count, sizeof *points->point);
    bool percent = false;
    if (moved == NULL)
        return bc_fail_memory(error);
    points->point = moved;
    measured_point *point = &points->point[points->count++];
    *point = (measured_point){.wavelength = wavelength, .uncertainty = NAN, .line = line, .place = place};
    if (!bc_measured_number(all->table->decimal, bc_measured_cell(all->table, line, place), all->shifts.value,
                            &point->value, &percent))
        return fail_cell(all, line, place, "a number (rows without a value may only stand at the ends of a scan)",
                         error);
    if (all->any_value && percent != points->percent)
        return fail_cell(all, line, place, "a % after every value or after none", error);
    all->any_value = true;
    points->percent = percent;
    if (choice->uncertainty != MEASURED_NONE &&
        (!bc_measured_number(all->table->decimal, bc_measured_cell(all->table, line, choice->uncertainty),
                             all->shifts.value, &point->uncertainty, NULL) ||
         point->uncertainty < 0))
        return fail_cell(all, line, choice->uncertainty, "an uncertainty, 0 or more, in the unit of the values", error);
    return BC_OK;
}

/* What an instrument writes where it has no value. A word may mean another thing: "over". */
static bool is_missing(const char *cell)
{
    return strcasecmp(cell, "nan") == 0 || cell[strspn(cell, "*")] == '\0';
}

static bc_status add_gap(gatherer *all, size_t line, size_t column, double wavelength, size_t scan, bc_error *error)
{
    measured_points *points = all->points;
    measured_point *moved = bc_grow(points->gap, &points->gap_capacity, points->gaps, sizeof *points->gap);
    if (moved == NULL)
        return bc_fail_memory(error);
    points->gap = moved;
    points->gap[points->gaps++] = (measured_point){.wavelength = wavelength,
                                                   .value = NAN,
                                                   .uncertainty = NAN,
                                                   .scan = scan,
                                                   .line = line,
                                                   .place = points->choice.place[column]};
    return BC_OK;
}

static bool is_blank_between(const measured_table *table, size_t line, size_t row)
{
    while (++line < row)
        if (table->kind[line] == KIND_BLANK)
            return true;
    return false;
}

/* Wavelengths that turn back begin another run: the scan that follows, or the way back of the same. */
static bc_status gather_column(gatherer *all, size_t column, bc_error *error)
{
    const measured_table *table = all->table;
    measured_points *points = all->points;
    const measured_choice *choice = &points->choice;
    const size_t wanted = all->options->scan;
    size_t run = 0, from, to;
    double before = NAN, last_step = 0.0;
    size_t last = MEASURED_NONE;
    int direction = 0;
    find_ends(all, choice->place[column], &from, &to);
    for (size_t line = from; line < to; line++) {
        double wavelength = 0;
        if (table->kind[line] != KIND_ROW)
            continue;
        if (!bc_measured_number(table->decimal, bc_measured_cell(table, line, choice->wavelength[column]),
                                all->shifts.wavelength, &wavelength, NULL))
            return fail_cell(all, line, choice->wavelength[column], "a wavelength", error);
        const double step = wavelength - before;
        const int turn = fabs(step) <= SAME * fabs(wavelength) ? 0 : step > 0 ? 1 : step < 0 ? -1 : 0;
        const bool turned = direction != 0 && turn != 0 && turn != direction;
        run += turned;
        if (turned && all->unsaid == MEASURED_NONE &&
            (fabs(step) > WAY_BACK * fabs(last_step) || is_blank_between(table, last, line)))
            all->unsaid = line;
        last_step = turn != 0 ? step : last_step;
        last = turn != 0 || last == MEASURED_NONE ? line : last; /* the same wavelength is no way back yet */
        direction = turned ? 0 : turn != 0 ? turn : direction;
        before = wavelength;
        if (all->runs + run >= MOST_RUNS)
            return fail_cell(all, line, choice->wavelength[column],
                             "wavelengths that rise or fall from row to row (they turned a thousand times)", error);
        if (wanted != 0 && wanted != BC_SCAN_ALL && wanted != all->runs + run + 1)
            continue;
        const size_t scan = (all->runs + run) * choice->count + column;
        const bool missing = is_missing(bc_measured_cell(table, line, choice->place[column]));
        const bc_status status = missing ? add_gap(all, line, column, wavelength, scan, error)
                                         : add_point(all, line, column, wavelength, error);
        if (status != BC_OK)
            return status;
        if (!missing)
            points->point[points->count - 1].scan = scan;
    }
    if (to > from && run + 1 > all->block_runs)
        all->block_runs = run + 1;
    return BC_OK;
}

static size_t count_left_out(const gatherer *all)
{
    const measured_choice *choice = &all->points->choice;
    size_t count = 0;
    for (size_t line = all->block->from; line < all->block->to; line++) {
        bool any = all->table->kind[line] != KIND_ROW;
        for (size_t gap = 0; gap < all->points->gaps && !any; gap++)
            any = all->points->gap[gap].line == line;
        for (size_t column = 0; column < choice->count && !any; column++)
            any = has_number(all->table, line, choice->place[column]);
        count += !any;
    }
    return count;
}

static bool same_cells(const measured_table *table, size_t one, size_t other)
{
    if (bc_measured_width(table, one) != bc_measured_width(table, other))
        return false;
    for (size_t place = 0; place < bc_measured_width(table, one); place++)
        if (strcmp(bc_measured_cell(table, one, place), bc_measured_cell(table, other, place)) != 0)
            return false;
    return true;
}

/* Whether words do no more than number the scans: "Scan 2". */
static bool counts_scans(const char *text)
{
    static const char *const known[] = {"scan", "repeat", "scan no", "repeat no"};
    char letters[16] = "";
    size_t used = 0;
    for (; *text != '\0'; text++) {
        const bool letter = (*text >= 'a' && *text <= 'z') || (*text >= 'A' && *text <= 'Z');
        const bool blank = *text == ' ' && used > 0 && letters[used - 1] != ' ';
        if ((*text & 0x80) != 0 || used + 1 == sizeof letters)
            return false;
        if (letter || blank)
            letters[used++] = letter ? (char)(*text | 0x20) : ' ';
    }
    while (used > 0 && letters[used - 1] == ' ')
        used--;
    letters[used] = '\0';
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strcmp(letters, known[i]) == 0)
            return true;
    return false;
}

/* Whether a line between two blocks says that the second repeats the first: its scan's number, or the same sample. */
static bool says_repeat(const measured_table *table, size_t block)
{
    static const char *const sample[] = {"sample", "witness", "part", "specimen", "serial"};
    const measured_block *here = &table->block[block];
    for (size_t line = table->block[block - 1].to; line < here->from; line++) {
        const char *text = table->lines->line[line];
        bool same = false;
        if (table->kind[line] != KIND_WORDS || line == here->header || line == here->units)
            continue;
        for (size_t first = 0; first < table->block[0].from && !same; first++)
            same = strcmp(table->lines->line[first], text) == 0;
        for (size_t i = 0; same && i < sizeof sample / sizeof sample[0]; i++)
            if (strncasecmp(text, sample[i], strlen(sample[i])) == 0)
                return true;
        if (counts_scans(text))
            return true;
    }
    return false;
}

/* "3 scans", "Repeats: 3" ahead of the rows. */
static bool counts_ahead(const measured_table *table, size_t runs)
{
    static const char *const words[] = {"scans", "repeats", "repeat scans", NULL};
    char number[40];
    const char *const counted[] = {number, NULL};
    snprintf(number, sizeof number, "%zu", runs);
    for (size_t line = 0; line < table->block[0].from; line++) {
        measured_words all;
        if (table->kind[line] == KIND_ROW || table->kind[line] == KIND_BLANK)
            continue;
        bc_measured_take_words(table->lines->line[line], &all);
        if (bc_measured_has_word(&all, words) && bc_measured_has_word(&all, counted))
            return true;
    }
    return false;
}

/* Words between two blocks that may mean another sample: neither there ahead of the first, nor a scan's number. */
static size_t find_new_words(const measured_table *table, size_t block)
{
    const measured_block *here = &table->block[block];
    for (size_t line = table->block[block - 1].to; line < here->from; line++) {
        bool known = table->kind[line] != KIND_WORDS || line == here->header || line == here->units ||
                     counts_scans(table->lines->line[line]);
        for (size_t first = 0; first < table->block[0].from && !known; first++)
            known = strcmp(table->lines->line[first], table->lines->line[line]) == 0;
        if (!known)
            return line;
    }
    return MEASURED_NONE;
}

static bc_status compare_with_first(const gatherer *all, size_t block, bc_error *error)
{
    const measured_table *table = all->table;
    const measured_block *first = &table->block[0], *here = &table->block[block];
    char shown[BC_ESCAPED_SIZE];
    if (here->header != MEASURED_NONE &&
        (first->header == MEASURED_NONE || !same_cells(table, here->header, first->header)))
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found '%s', another header than that of the rows in line %zu; expected --scan with the "
                       "number of one scan (1 is the first)",
                       table->path, here->header + 1, bc_escaped(table->lines->line[here->header], shown),
                       first->from + 1);
    const size_t words = all->options->scan == BC_SCAN_ALL ? MEASURED_NONE : find_new_words(table, block);
    if (words != MEASURED_NONE)
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found '%s' between two scans, which may mean another sample; expected --scan all "
                       "(repeats, which are averaged) or --scan with the number of one",
                       table->path, words + 1, bc_escaped(table->lines->line[words], shown));
    return BC_OK;
}

static bc_status gather_block(gatherer *all, size_t block, bc_error *error)
{
    const measured_table *table = all->table;
    measured_points *points = all->points;
    const size_t wanted = all->options->scan;
    const size_t before = points->count;
    bc_status status = BC_OK;
    all->block = &table->block[block];
    all->block_runs = 0;
    if (block > 0 && (wanted == 0 || wanted == BC_SCAN_ALL))
        status = compare_with_first(all, block, error);
    if (status == BC_OK && (block == 0 || all->block->header != MEASURED_NONE)) {
        bc_measured_choice_clear(&points->choice);
        status = bc_measured_choose(table, all->block, all->options, &points->choice, error);
        points->block = *all->block;
    }
    for (size_t column = 0; status == BC_OK && column < points->choice.count; column++)
        status = gather_column(all, column, error);
    if (status == BC_OK && points->count > before)
        points->left_out += count_left_out(all);
    if (status == BC_OK && block > 0 && all->block_runs > 0 && all->unsaid == MEASURED_NONE &&
        !says_repeat(table, block))
        all->unsaid = all->block->from;
    all->runs += all->block_runs;
    return status;
}

bc_status bc_measured_gather(const measured_table *table, const bc_measured_options *options, measured_shifts shifts,
                             measured_points *points, bc_error *error)
{
    const bool one = options->scan != 0 && options->scan != BC_SCAN_ALL;
    gatherer all = {.table = table, .options = options, .shifts = shifts, .points = points, .unsaid = MEASURED_NONE};
    bc_status status = BC_OK;
    *points = (measured_points){0};
    for (size_t block = 0; status == BC_OK && block < table->blocks; block++) {
        status = gather_block(&all, block, error);
        if (one && points->count > 0)
            break;
    }
    if (status != BC_OK)
        return status;
    if (points->count == 0 && one && all.runs > 0)
        return bc_fail(error, BC_ERROR_INPUT, "%s: found %zu scan%s; expected one of them for --scan, not %zu",
                       table->path, all.runs, all.runs == 1 ? "" : "s", options->scan);
    if (points->count == 0)
        return bc_fail(error, BC_ERROR_INPUT, "%s:%zu: found no value in column %zu; expected numbers", table->path,
                       table->block[0].from + 1, points->choice.place[0] + 1);
    if (options->scan == 0 && all.unsaid != MEASURED_NONE && !counts_ahead(table, all.runs)) {
        char shown[BC_ESCAPED_SIZE];
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found '%s', where another scan begins, and nothing that calls it a repeat; it may be "
                       "another sample; expected --scan all (repeats, which are averaged) or --scan with the number of "
                       "one (of %zu)",
                       table->path, all.unsaid + 1, bc_escaped(table->lines->line[all.unsaid], shown), all.runs);
    }
    if (points->gaps * ONE_IN > points->count)
        return fail_cell(
            &all, points->gap[0].line, points->gap[0].place,
            "a number (rows without a value may stand at the ends of a scan; within it one value in twenty "
            "may be missing)",
            error);
    for (size_t i = 0; one && i < points->gaps; i++)
        points->gap[i].scan %= points->choice.count;
    for (size_t i = 0; i < points->count; i++) {
        if (one)
            points->point[i].scan %= points->choice.count;
        if (points->point[i].scan + 1 > points->scans)
            points->scans = points->point[i].scan + 1;
    }
    return BC_OK;
}

void bc_measured_points_clear(measured_points *points)
{
    free(points->point);
    free(points->gap);
    bc_measured_choice_clear(&points->choice);
    *points = (measured_points){0};
}
