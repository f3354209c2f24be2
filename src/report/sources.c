/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/parts.h"
#include "internal/table.h"
#include <stdlib.h>
#include <string.h>

#define LASER_BAND_NM 5.0 /* a callout on a narrower band is about a laser line */
#define NAME_COLUMN   14

void bc_media_add(bc_media *all, const bc_medium *medium)
{
    for (size_t i = 0; i < all->count; i++)
        if (bc_dispersion_base(all->medium[i]->dispersion) == bc_dispersion_base(medium->dispersion))
            return;
    all->medium[all->count++] = medium;
}

static void add_stack(bc_media *all, const bc_stack *stack)
{
    bc_media_add(all, &stack->incident);
    for (size_t layer = 0; layer < stack->layers; layer++)
        bc_media_add(all, &stack->layer[layer].material);
}

bool bc_media_collect(const bc_check_report *report, size_t more, bc_media *all)
{
    const bc_stack *back = report->back != NULL && report->back->kind == BC_BACK_OWN ? report->back->stack : NULL;
    const size_t most = report->stack->layers + report->result->count + (back == NULL ? 0 : back->layers) + 2 + more;
    const bc_medium *glass = NULL;
    all->count = 0;
    all->medium = calloc(most, sizeof(const bc_medium *));
    if (all->medium == NULL)
        return false;
    add_stack(all, report->stack);
    while ((glass = bc_next_glass(report->result, glass)) != NULL)
        bc_media_add(all, glass);
    if (back != NULL)
        add_stack(all, back);
    return true;
}

void bc_media_clear(bc_media *all)
{
    free(all->medium);
    *all = (bc_media){0};
}

const char *bc_source_words(const bc_dispersion *dispersion)
{
    const char *source = bc_dispersion_note(dispersion, "source");
    return bc_dispersion_is_constant(dispersion) ? "constant, no dispersion"
           : source == NULL                      ? "no source given"
                                                 : source;
}

/* Whether a medium's table stands for the first time in a list. */
static bool is_first(const bc_medium *const *medium, size_t which)
{
    for (size_t i = 0; i < which; i++)
        if (bc_dispersion_base(medium[i]->dispersion) == bc_dispersion_base(medium[which]->dispersion))
            return false;
    return true;
}

static void source_text(const bc_medium *medium, bc_text *out)
{
    const bc_dispersion *dispersion = medium->dispersion;
    const size_t taken = bc_text_width(medium->name) + 4;
    const size_t indent = taken > NAME_COLUMN ? taken : NAME_COLUMN;
    bc_text words = {0};
    if (bc_dispersion_is_constant(dispersion)) {
        bc_text_add(&words, "%s", bc_source_words(dispersion));
    } else {
        double from_nm, to_nm;
        bc_dispersion_range(dispersion, &from_nm, &to_nm);
        bc_text_add(&words, "%g..%g nm; %s", from_nm, to_nm, bc_source_words(dispersion));
        if (bc_dispersion_path(dispersion) != NULL) {
            bc_text_add(&words, "; ");
            bc_text_add_plain(&words, bc_dispersion_path(dispersion));
        }
    }
    bc_text_add(out, "  %s", medium->name);
    bc_text_pad(out, indent - taken + 2);
    if (words.failed)
        out->failed = true;
    else
        bc_text_wrap(out, indent, indent, words.data);
    bc_text_clear(&words);
}

void bc_media_sources_text(size_t count, const bc_medium *const *medium, bc_text *out)
{
    bc_text_add(out, "Index data:\n");
    for (size_t i = 0; i < count; i++)
        if (is_first(medium, i))
            source_text(medium[i], out);
}

void bc_sources_text(const bc_check_report *report, bc_text *out)
{
    bc_media all;
    if (!bc_media_collect(report, 0, &all)) {
        out->failed = true;
        return;
    }
    bc_media_sources_text(all.count, all.medium, out);
    bc_media_clear(&all);
}

void bc_media_sources_json(size_t count, const bc_medium *const *medium, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, "index_data");
    for (size_t i = 0; i < count; i++) {
        const bc_dispersion *dispersion = medium[i]->dispersion;
        cJSON *row;
        double from_nm, to_nm;
        if (!is_first(medium, i))
            continue;
        row = bc_json_object(json, array, NULL);
        bc_dispersion_range(dispersion, &from_nm, &to_nm);
        bc_json_string(json, row, "material", medium[i]->name);
        bc_json_bool(json, row, "constant", bc_dispersion_is_constant(dispersion));
        bc_json_number(json, row, "from_nm", from_nm, 12);
        bc_json_number(json, row, "to_nm", to_nm, 12);
        bc_json_string(json, row, "source", bc_dispersion_note(dispersion, "source"));
        bc_json_string(json, row, "table", bc_dispersion_path(dispersion));
    }
}

void bc_sources_json(const bc_check_report *report, bc_json *json)
{
    bc_media all;
    if (!bc_media_collect(report, 0, &all)) {
        json->failed = true;
        return;
    }
    bc_media_sources_json(all.count, all.medium, json);
    bc_media_clear(&all);
}

static bool any_laser_band(const bc_check_result *result)
{
    for (size_t i = 0; i < result->count; i++)
        if (result->finding[i].callout->to_nm - result->finding[i].callout->from_nm < LASER_BAND_NM)
            return true;
    return false;
}

void bc_media_cautions(size_t count, const bc_medium *const *medium, bc_text *lines)
{
    for (size_t i = 0; i < count; i++) {
        const char *caution = bc_dispersion_note(medium[i]->dispersion, "caution");
        bool said = caution == NULL || !is_first(medium, i);
        for (size_t j = 0; j < i && !said; j++) {
            const char *earlier = bc_dispersion_note(medium[j]->dispersion, "caution");
            said = earlier != NULL && strcmp(earlier, caution) == 0;
        }
        if (said)
            continue;
        bc_text_add(lines, "%s", medium[i]->name);
        for (size_t j = i + 1; j < count; j++) {
            const char *other = bc_dispersion_note(medium[j]->dispersion, "caution");
            if (other != NULL && is_first(medium, j) && strcmp(other, caution) == 0)
                bc_text_add(lines, ", %s", medium[j]->name);
        }
        bc_text_add(lines, ": %s\n", caution);
    }
}

void bc_add_cautions(bc_text *lines, const bc_check_report *report)
{
    bc_media all;
    if (!bc_media_collect(report, 0, &all)) {
        lines->failed = true;
        return;
    }
    bc_text_add(lines,
                "A predicted spectrum is not a measurement. Indices depend on the process: use tables of "
                "your own, coat a witness and measure it.\n"
                "Durability (adhesion, abrasion, humidity) and laser damage are not predicted: each needs its own "
                "standard test.\n");
    if (any_laser_band(report->result))
        bc_text_add(lines,
                    "A band this narrow belongs to a laser line: what the surface still reflects of the beam is an "
                    "eye hazard.\n");
    bc_media_cautions(all.count, all.medium, lines);
    bc_text_add(lines, "Follow local codes; they and licensed practitioners have the last word.\n");
    bc_media_clear(&all);
}

/* Cut the next line off `lines`; NULL when there is none. */
static char *next_line(char **lines)
{
    char *line = *lines;
    char *end = line == NULL ? NULL : strchr(line, '\n');
    if (end == NULL)
        return NULL;
    *end = '\0';
    *lines = end + 1;
    return line;
}

void bc_lines_text(const char *heading, bc_text *lines, bc_text *out)
{
    char *rest = lines->data, *line;
    if (lines->length > 0)
        bc_text_add(out, "%s:\n", heading);
    while ((line = next_line(&rest)) != NULL) {
        bc_text_add(out, "  - ");
        bc_text_wrap(out, 4, 4, line);
    }
    out->failed = out->failed || lines->failed;
    bc_text_clear(lines);
}

void bc_lines_json(const char *name, bc_text *lines, bc_json *json)
{
    cJSON *array = bc_json_array(json, json->root, name);
    char *rest = lines->data, *line;
    while ((line = next_line(&rest)) != NULL)
        bc_json_string(json, array, NULL, line);
    json->failed = json->failed || lines->failed;
    bc_text_clear(lines);
}

void bc_drop_repeated(bc_text *lines)
{
    char *to = lines->data;
    for (const char *line = lines->data; line != NULL && *line != '\0';) {
        const size_t length = strcspn(line, "\n") + (line[strcspn(line, "\n")] == '\n');
        bool said = false;
        for (const char *before = lines->data; before < to && !said; before += strcspn(before, "\n") + 1)
            said = strncmp(before, line, length) == 0;
        if (!said) {
            memmove(to, line, length);
            to += length;
        }
        line += length;
    }
    if (lines->data != NULL) {
        *to = '\0';
        lines->length = (size_t)(to - lines->data);
    }
}

static void add_cautions_of_all(bc_text *lines, size_t count, const bc_check_report *reports)
{
    for (size_t i = 0; i < count; i++)
        bc_add_cautions(lines, &reports[i]);
    if (!lines->failed)
        bc_drop_repeated(lines);
}

void bc_cautions_text(size_t count, const bc_check_report *reports, bc_text *out)
{
    bc_text lines = {0};
    add_cautions_of_all(&lines, count, reports);
    bc_lines_text("Cautions", &lines, out);
}

void bc_cautions_json(size_t count, const bc_check_report *reports, bc_json *json)
{
    bc_text lines = {0};
    add_cautions_of_all(&lines, count, reports);
    bc_lines_json("cautions", &lines, json);
}
