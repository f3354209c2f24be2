/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measured_steps.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME 1e-6 /* of a wavelength: the same one */

/* What a scan covers. */
typedef struct extent {
    double from, to;
    size_t line;  /* its first row */
    size_t stamp; /* the last group that it has a point in, from 1 */
} extent;

static int compare(const void *one, const void *other)
{
    const measured_point *a = one, *b = other;
    if (a->wavelength < b->wavelength || a->wavelength > b->wavelength)
        return a->wavelength < b->wavelength ? -1 : 1;
    if (a->scan != b->scan)
        return a->scan < b->scan ? -1 : 1;
    return a->line < b->line ? -1 : a->line > b->line;
}

static void find_extents(const measured_points *points, extent *scan)
{
    for (size_t s = 0; s < points->scans; s++)
        scan[s] = (extent){INFINITY, -INFINITY, (size_t)-1, 0};
    for (size_t i = 0; i < points->count; i++) {
        const measured_point *point = &points->point[i];
        extent *here = &scan[point->scan];
        here->from = fmin(here->from, point->wavelength);
        here->to = fmax(here->to, point->wavelength);
        here->line = point->line < here->line ? point->line : here->line;
    }
}

/* The end of the group of equal wavelengths that begins at `first`. */
static size_t group_end(const measured_points *points, size_t first)
{
    const double limit = points->point[first].wavelength * (1 + SAME);
    size_t end = first + 1;
    while (end < points->count && points->point[end].wavelength <= limit)
        end++;
    return end;
}

static bool is_same(double one, double other)
{
    return fabs(one - other) <= SAME * other;
}

static bool is_gap(const measured_points *points, size_t scan, double wavelength)
{
    for (size_t i = 0; i < points->gaps; i++)
        if (points->gap[i].scan == scan && is_same(points->gap[i].wavelength, wavelength))
            return true;
    return false;
}

/* Every scan that reaches over this wavelength must have it, or say that it has no value there. */
static bc_status compare_scans(const measured_table *table, const measured_points *points, size_t first, size_t end,
                               size_t group, extent *scan, bc_error *error)
{
    const measured_point *point = &points->point[first];
    for (size_t i = first; i < end; i++)
        scan[points->point[i].scan].stamp = group;
    for (size_t s = 0; s < points->scans; s++) {
        if (scan[s].stamp == group || scan[s].from > point->wavelength * (1 + SAME) ||
            scan[s].to < point->wavelength * (1 - SAME) || is_gap(points, s, point->wavelength))
            continue;
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s:%zu: found a scan with %.10g nm, which the scan from line %zu (%.10g to %.10g nm) does not "
                       "have; expected repeats on the same wavelengths to one part in a million, or --scan with the "
                       "number of one",
                       table->path, point->line + 1, point->wavelength, scan[s].line + 1, scan[s].from, scan[s].to);
    }
    return BC_OK;
}

static void take_mean(const measured_points *points, size_t first, size_t end, bc_measured_file *file)
{
    const double n = (double)(end - first);
    const size_t at = file->count++;
    double wavelength = 0, value = 0, squares = 0, largest = 0;
    for (size_t i = first; i < end; i++) {
        wavelength += points->point[i].wavelength - points->point[first].wavelength;
        value += points->point[i].value - points->point[first].value; /* equal ones give back the same bits */
        largest = fmax(largest, points->point[i].uncertainty);
    }
    value = points->point[first].value + value / n;
    for (size_t i = first; i < end; i++)
        squares += (points->point[i].value - value) * (points->point[i].value - value);
    file->wavelength_nm[at] = points->point[first].wavelength + wavelength / n;
    file->value[at] = value;
    file->repeats[at] = end - first;
    file->line[at] = (long)points->point[first].line + 1;
    file->deviation_of_mean[at] = end - first > 1 ? sqrt(squares / (n - 1) / n) : NAN;
    if (file->uncertainty != NULL)
        file->uncertainty[at] = largest;
}

/* The mean of neighbours takes the place `at`, which is none after `first`. */
static void average(bc_measured_file *file, size_t first, size_t end, size_t at)
{
    const double n = (double)(end - first);
    double wavelength = 0.0, value = 0.0, squares = 0.0, largest = 0.0;
    for (size_t i = first; i < end; i++) {
        wavelength += file->wavelength_nm[i] - file->wavelength_nm[first];
        value += file->value[i] - file->value[first];
        squares += file->deviation_of_mean[i] * file->deviation_of_mean[i];
        largest = file->uncertainty == NULL ? 0.0 : fmax(largest, file->uncertainty[i]);
    }
    file->wavelength_nm[at] = file->wavelength_nm[first] + wavelength / n;
    file->value[at] = file->value[first] + value / n;
    file->repeats[at] = file->repeats[first];
    file->line[at] = file->line[first];
    file->deviation_of_mean[at] = sqrt(squares) / n;
    if (file->uncertainty != NULL)
        file->uncertainty[at] = largest;
}

void bc_measured_file_thin(bc_measured_file *file, size_t most)
{
    const size_t last = file->count;
    size_t kept = 0;
    if (file->count <= most || most < 2)
        return;
    file->averaged_nm = (file->wavelength_nm[file->count - 1] - file->wavelength_nm[0]) / floor((double)most / 2.0);
    for (size_t first = 0, end; first < last; first = end) {
        const double limit = file->wavelength_nm[first] + file->averaged_nm;
        end = first + 1;
        while (first > 0 && end + 1 < last && file->wavelength_nm[end] < limit)
            end++;
        average(file, first, end, kept++);
    }
    file->count = kept;
}

static bc_status make_room(const measured_points *points, bc_measured_file *file, bc_error *error)
{
    file->wavelength_nm = calloc(points->count, sizeof *file->wavelength_nm);
    file->value = calloc(points->count, sizeof *file->value);
    file->repeats = calloc(points->count, sizeof *file->repeats);
    file->line = calloc(points->count, sizeof *file->line);
    file->deviation_of_mean = calloc(points->count, sizeof *file->deviation_of_mean);
    if (points->choice.uncertainty != MEASURED_NONE)
        file->uncertainty = calloc(points->count, sizeof *file->uncertainty);
    if (file->wavelength_nm == NULL || file->value == NULL || file->repeats == NULL || file->line == NULL ||
        file->deviation_of_mean == NULL || (points->choice.uncertainty != MEASURED_NONE && file->uncertainty == NULL))
        return bc_fail_memory(error);
    return BC_OK;
}

/* Wavelengths at which no scan has a value. */
static bc_status find_missing(measured_points *points, bc_measured_file *file, bc_error *error)
{
    if (points->gaps == 0)
        return BC_OK;
    file->missing_nm = calloc(points->gaps, sizeof *file->missing_nm);
    file->missing_line = calloc(points->gaps, sizeof *file->missing_line);
    if (file->missing_nm == NULL || file->missing_line == NULL)
        return bc_fail_memory(error);
    qsort(points->gap, points->gaps, sizeof *points->gap, compare);
    for (size_t i = 0; i < points->gaps; i++) {
        const double wavelength = points->gap[i].wavelength;
        bool known = file->missing > 0 && is_same(file->missing_nm[file->missing - 1], wavelength);
        for (size_t k = 0; k < file->count && !known; k++)
            known = is_same(file->wavelength_nm[k], wavelength);
        if (known)
            continue;
        file->missing_line[file->missing] = (long)points->gap[i].line + 1;
        file->missing_nm[file->missing++] = wavelength;
    }
    return BC_OK;
}

bc_status bc_measured_merge(const measured_table *table, measured_points *points, bc_measured_file *file,
                            bc_error *error)
{
    extent *scan = calloc(points->scans, sizeof *scan);
    bc_status status = scan == NULL ? bc_fail_memory(error) : make_room(points, file, error);
    if (status == BC_OK) {
        find_extents(points, scan);
        qsort(points->point, points->count, sizeof *points->point, compare);
    }
    for (size_t first = 0, end; status == BC_OK && first < points->count; first = end) {
        end = group_end(points, first);
        status = compare_scans(table, points, first, end, file->count + 1, scan, error);
        if (status == BC_OK)
            take_mean(points, first, end, file);
    }
    if (status == BC_OK)
        status = find_missing(points, file, error);
    for (size_t s = 0; status == BC_OK && s < points->scans; s++)
        file->scans += scan[s].line != (size_t)-1;
    free(scan);
    return status;
}

static void drop_row(bc_measured_file *file, size_t i)
{
    double *const numbers[] = {file->wavelength_nm, file->value, file->deviation_of_mean, file->uncertainty};
    const size_t after = file->count - i - 1;
    for (size_t a = 0; a < sizeof numbers / sizeof *numbers; a++)
        if (numbers[a] != NULL)
            memmove(numbers[a] + i, numbers[a] + i + 1, after * sizeof(double));
    memmove(file->repeats + i, file->repeats + i + 1, after * sizeof *file->repeats);
    memmove(file->line + i, file->line + i + 1, after * sizeof *file->line);
    file->count--;
}

static void add_missing(bc_measured_file *file, double wavelength_nm, long line)
{
    size_t at = file->missing++;
    while (at > 0 && file->missing_nm[at - 1] > wavelength_nm) {
        file->missing_nm[at] = file->missing_nm[at - 1];
        file->missing_line[at] = file->missing_line[at - 1];
        at--;
    }
    file->missing_nm[at] = wavelength_nm;
    file->missing_line[at] = line;
}

/* What `other` has no value for is taken out of `file`. */
static bc_status leave_out(bc_measured_file *file, const bc_measured_file *other, bc_error *error)
{
    const size_t most = file->missing + other->missing;
    double *missing_nm = realloc(file->missing_nm, (most + 1) * sizeof *missing_nm);
    long *missing_line;
    if (missing_nm == NULL)
        return bc_fail_memory(error);
    file->missing_nm = missing_nm;
    missing_line = realloc(file->missing_line, (most + 1) * sizeof *missing_line);
    if (missing_line == NULL)
        return bc_fail_memory(error);
    file->missing_line = missing_line;
    for (size_t m = 0; m < other->missing; m++)
        for (size_t i = 0; i < file->count; i++)
            if (is_same(file->wavelength_nm[i], other->missing_nm[m])) {
                drop_row(file, i);
                add_missing(file, other->missing_nm[m], other->missing_line[m]);
                break;
            }
    return BC_OK;
}

bc_status bc_measured_file_pair(bc_measured_file *one, bc_measured_file *other, bc_error *error)
{
    const bc_status status = leave_out(one, other, error);
    return status == BC_OK ? leave_out(other, one, error) : status; /* what both miss is in neither any more */
}
