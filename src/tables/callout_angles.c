/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_columns.h"
#include "number.h"
#include <math.h>
#include <string.h>
#include <strings.h>

#define WEIGHT_LOOKS 1000

bool bc_callout_cut_word(char *text, size_t words, const char *const *word)
{
    size_t length = strlen(text);
    while (length > 0 && strchr(" \t", text[length - 1]) != NULL)
        text[--length] = '\0';
    for (size_t i = 0; i < words; i++) {
        const size_t size = strlen(word[i]);
        if (length <= size || strcasecmp(text + length - size, word[i]) != 0)
            continue;
        length -= size;
        while (length > 0 && strchr(" \t", text[length - 1]) != NULL)
            length--;
        text[length] = '\0';
        return true;
    }
    return false;
}

/* An angle in the first `length` bytes of `text`, with or without blanks and a unit around it. */
static bool read_angle(const char *text, size_t length, double *degrees, bool *exported)
{
    static const char *const degree_words[] = {"\xC2\xB0", "degrees", "degree", "deg"};
    char copy[64];
    while (length > 0 && strchr(" \t", text[0]) != NULL) {
        text++;
        length--;
    }
    if (length >= sizeof copy)
        return false;
    memcpy(copy, text, length);
    copy[length] = '\0';
    const bool has_word = bc_callout_cut_word(copy, 4, degree_words);
    *exported = *exported || has_word;
    return bc_number_parse(copy, 0, degrees) == BC_NUMBER_OK && *degrees >= 0 && *degrees < 90;
}

/* Where a range is parted, and how long the sign there is: `..`, or as a spreadsheet has it a dash or "to". */
static const char *find_range(const char *text, size_t *length, bool *exported)
{
    static const char *const parts[] = {"..", "-", "\xE2\x80\x93", "to", "TO"};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        const char *found = strstr(text, parts[i]);
        if (found == NULL || found == text || (i > 0 && (found[-1] | 0x20) == 'e'))
            continue;
        *length = strlen(parts[i]);
        *exported = *exported || i > 0;
        return found;
    }
    return NULL;
}

/* The half-angle, and behind `weighted` the name of the weight, which ends the text. */
static bool read_cone(const char *text, double *half, const char **weight, bool *exported)
{
    const char *word = strcasestr(text, "weighted");
    const size_t length = word == NULL ? strlen(text) : (size_t)(word - text);
    if (word != NULL) {
        *weight = word + 8 + strspn(word + 8, " \t");
        if (**weight == '\0' || *weight == word + 8)
            return false;
    }
    return read_angle(text, length, half, exported) && *half > 0.0;
}

/* What stands before `cone`, and what behind it; half 0: there is none. */
static bool cut_cone(const char *cell, char text[128], double *half, const char **weight, bool *exported)
{
    const char *word = strcasestr(cell, "cone");
    const size_t length = word == NULL ? strlen(cell) : (size_t)(word - cell);
    *half = 0.0;
    *weight = NULL;
    if (length >= 128)
        return false;
    memcpy(text, cell, length);
    text[length] = '\0';
    return word == NULL || read_cone(word + 4, half, weight, exported);
}

/* The weight of a cone is one over angle, and there all over it. */
static bc_status read_cone_weight(const bc_csv *csv, size_t row, const char *name, double half, bc_materials *materials,
                                  bc_callout *callout, bc_error *error)
{
    char where[BC_CSV_WHERE_SIZE];
    double from, to;
    bool any = false;
    bc_status status =
        bc_materials_weight(materials, name, bc_csv_where(csv, row, AOI_DEG, where), &callout->cone_weight, error);
    if (status != BC_OK)
        return status;
    if (!bc_weight_is_of_angle(callout->cone_weight))
        return bc_csv_fail(csv, row, AOI_DEG, error,
                           "a weight over angle: NAME for a NAME.csv with angle_deg,weight in a folder of tables");
    bc_weight_range(callout->cone_weight, &from, &to);
    if (from > 0.0 || to < half)
        return bc_csv_fail(csv, row, AOI_DEG, error,
                           "a weight that covers the cone, 0 to %g degrees: '%s' is there from %g to %g", half, name,
                           from, to);
    for (int i = 0; i <= WEIGHT_LOOKS; i++)
        any = any || bc_weight_at(callout->cone_weight, half * i / WEIGHT_LOOKS) > 0.0;
    return any ? BC_OK : bc_csv_fail(csv, row, AOI_DEG, error, "a weight above 0 somewhere in the cone");
}

bc_status bc_callout_read_angles(const bc_csv *csv, size_t row, bc_materials *materials, bc_callout *callout,
                                 bool *exported, bc_error *error)
{
    char text[128];
    size_t size = 0;
    double from = 0, to = 0, half = 0;
    const char *weight;
    bool good = cut_cone(bc_csv_text(csv, row, AOI_DEG), text, &half, &weight, exported);
    const char *part = find_range(text, &size, exported);
    if (!good)
        return bc_csv_fail(
            csv, row, AOI_DEG, error,
            "a cone's half-angle in degrees above 0 and below 90 behind the angle, as in '20 cone 10', or "
            "'20 cone 10 weighted NAME'");
    if (part == NULL) {
        good = read_angle(text, strlen(text), &from, exported);
        to = from;
    } else { /* a third dot could belong to either number */
        good = part[size] != '.' && read_angle(text, (size_t)(part - text), &from, exported) &&
               read_angle(part + size, strlen(part + size), &to, exported);
    }
    if (!good)
        return bc_csv_fail(csv, row, AOI_DEG, error,
                           "an angle in degrees from 0 to below 90, such as 0, or a range of them, such as 0..30");
    if (to < from)
        return bc_csv_fail(csv, row, AOI_DEG, error, "a range of angles that rises, such as 0..30");
    if (half > 0 && callout->polarization != BC_POL_UNPOLARIZED)
        return bc_csv_fail(csv, row, AOI_DEG, error,
                           "one angle or a range: over a cone the planes of s and p differ from ray to ray, so its "
                           "light is unpolarized");
    if (to + half >= 90)
        return bc_csv_fail(csv, row, AOI_DEG, error,
                           "an angle and a half-angle of the cone that stay below 90 degrees");
    callout->cone_rad = half * (M_PI / 180);
    callout->aoi_from_rad = from * (M_PI / 180);
    callout->aoi_to_rad = to * (M_PI / 180);
    return weight == NULL ? BC_OK : read_cone_weight(csv, row, weight, half, materials, callout, error);
}
