/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_columns.h"
#include "escaped.h"
#include "number.h"
#include "utf8.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/cie.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const bc_csv_column columns[COLUMNS] = {
    {"name", true},     {"quantity", true},   {"statistic", true},   {"limit_percent", true},
    {"from_nm", false}, {"to_nm", false},     {"aoi_deg", true},     {"polarization", true},
    {"scope", false},   {"substrate", false}, {"from_um", false},    {"to_um", false},
    {"weight", false},  {"limit", false},     {"illuminant", false}, {"observer", false},
};
static const bc_csv_schema schema = {"name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization",
                                     COLUMNS, columns};

/* In the order of the enumerations in the public header. */
static const char *const quantities[] = {"R", "T", "A"};
static const char *const polarizations[] = {"unpolarized", "s", "p", "each", "s/p"};

/* Every word read for the statistic, and the senses of a limit that it can stand with. */
static const struct {
    const char *word;
    bc_statistic statistic;
    bool at_most, at_least, luminous;
} statistics[] = {
    {"max", BC_EXTREME, true, false, false},    {"min", BC_EXTREME, false, true, false},
    {"average", BC_AVERAGE, true, true, false}, {"luminous", BC_AVERAGE, true, true, true},
    {"every", BC_EXTREME, true, true, false},   {"abs", BC_EXTREME, true, true, false},
    {"peak", BC_EXTREME, true, false, false},   {"mean", BC_AVERAGE, true, true, false},
    {"avg", BC_AVERAGE, true, true, false},
};
static const char *const scopes[] = {"surface", "part"};

static const bc_csv_range range_nm = {0.001, false, 1e9, 0, "a wavelength in nm from 0.001 to 1000000000"};
static const bc_csv_range range_um = {0.001, false, 1e9, 3, "a wavelength in um from 0.000001 to 1000000"};

/* Percent that a limit may come near to the ideal of 0 or 100: no coating and no spectrophotometer goes there. */
#define MARGIN_PERCENT 1e-6

static bc_status read_name(const bc_csv *csv, size_t row, char name[BC_CALLOUT_NAME_SIZE], bc_error *error)
{
    const char *text = bc_csv_text(csv, row, NAME);
    size_t length = strlen(text);
    if (length == 0 || length >= BC_CALLOUT_NAME_SIZE)
        return bc_csv_fail(csv, row, NAME, error, "a name of 1 to %d bytes, which results refer to",
                           BC_CALLOUT_NAME_SIZE - 1);
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)text[i] < 0x20 || text[i] == 0x7F)
            return bc_csv_fail(csv, row, NAME, error, "a name without control characters");
    memcpy(name, text, length + 1);
    return BC_OK;
}

static bc_status fail_ideal(const bc_csv *csv, size_t row, bc_sense sense, bc_error *error)
{
    if (sense == BC_AT_MOST)
        return bc_csv_fail(csv, row, LIMIT_PERCENT, error,
                           "'<= 0.000001' or more: no real coating meets 0 percent exactly");
    return bc_csv_fail(csv, row, LIMIT_PERCENT, error,
                       "'>= 99.999999' or less: no real coating meets 100 percent exactly");
}

/* The signs of a limit, and how long they are. The first two are those of the file format. */
static const struct {
    const char *sign;
    bc_sense sense;
} senses[] = {{"<=", BC_AT_MOST}, {">=", BC_AT_LEAST}, {"=<", BC_AT_MOST},           {"=>", BC_AT_LEAST},
              {"<", BC_AT_MOST},  {">", BC_AT_LEAST},  {"\xE2\x89\xA4", BC_AT_MOST}, {"\xE2\x89\xA5", BC_AT_LEAST}};
#define STRICT 2

/* `<= 0.5` or `>= 99`; also as a spreadsheet has it: the signs for "at most" and "at least", a % after the number. */
static bc_status read_limit(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error)
{
    static const char *const percent_words[] = {"%", "percent"};
    const char *text = bc_csv_text(csv, row, LIMIT_PERCENT);
    char number[64];
    double percent = 0;
    size_t i = 0;
    while (i < sizeof senses / sizeof senses[0] && strncmp(text, senses[i].sign, strlen(senses[i].sign)) != 0)
        i++;
    if (i == sizeof senses / sizeof senses[0])
        return bc_csv_fail(csv, row, LIMIT_PERCENT, error, "a limit in percent written as '<= 0.5' or '>= 99'");
    callout->sense = senses[i].sense;
    text += strlen(senses[i].sign);
    text += strspn(text, " \t");
    snprintf(number, sizeof number, "%s", text);
    const bool has_word = bc_callout_cut_word(number, 2, percent_words);
    *exported = *exported || i >= STRICT || has_word;
    if (strlen(text) >= sizeof number || bc_number_parse(number, 0, &percent) != BC_NUMBER_OK)
        return bc_csv_fail(csv, row, LIMIT_PERCENT, error, "a number of percent after '%s', as in '<= 0.5' or '>= 99'",
                           senses[i].sign);
    callout->limit = percent / 100;
    if (callout->polarization == BC_POL_RATIO)
        return BC_OK; /* bc_callout_ratio_fault() */
    if (percent < 0 || percent > 100)
        return bc_csv_fail(csv, row, LIMIT_PERCENT, error, "a limit from 0 to 100 percent");
    if (callout->sense == BC_AT_MOST ? percent < MARGIN_PERCENT : percent > 100 - MARGIN_PERCENT)
        return fail_ideal(csv, row, callout->sense, error);
    return BC_OK;
}

/* The band is in nm or in um, in the whole file. */
static bc_status check_band_columns(const bc_csv *csv, bc_error *error)
{
    const bool from_nm = bc_csv_has(csv, FROM_NM), to_nm = bc_csv_has(csv, TO_NM);
    const bool from_um = bc_csv_has(csv, FROM_UM), to_um = bc_csv_has(csv, TO_UM);
    if (from_nm == to_nm && from_um == to_um && from_nm != from_um)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT,
                   "%s:%ld: found %s%s%s%s%sfor the band; expected the columns from_nm and to_nm, or from_um and to_um",
                   csv->path, csv->header_line, from_nm ? "from_nm " : "", to_nm ? "to_nm " : "",
                   from_um ? "from_um " : "", to_um ? "to_um " : "",
                   from_nm || to_nm || from_um || to_um ? "" : "no column ");
}

static bc_status read_band(const bc_csv *csv, size_t row, bc_callout *callout, bc_error *error)
{
    const bool in_um = bc_csv_has(csv, FROM_UM);
    const bc_csv_range *range = in_um ? &range_um : &range_nm;
    const size_t from = in_um ? FROM_UM : FROM_NM, to = in_um ? TO_UM : TO_NM;
    char shown[BC_ESCAPED_SIZE];
    if (bc_callout_has_own_band(callout) && bc_csv_text(csv, row, from)[0] == '\0' &&
        bc_csv_text(csv, row, to)[0] == '\0') { /* there is no other band it could mean */
        callout->from_nm = BC_CIE_FROM_NM;
        callout->to_nm = BC_CIE_TO_NM;
        return BC_OK;
    }
    bc_status status = bc_csv_number(csv, row, from, range, &callout->from_nm, error);
    if (status == BC_OK)
        status = bc_csv_number(csv, row, to, range, &callout->to_nm, error);
    if (status != BC_OK)
        return status;
    if (callout->to_nm < callout->from_nm)
        return bc_csv_fail(csv, row, to, error, "a wavelength not below %s, which is '%s'", columns[from].name,
                           bc_escaped(bc_csv_text(csv, row, from), shown));
    if (bc_callout_has_own_band(callout) && callout->from_nm != BC_CIE_FROM_NM)
        return bc_csv_fail(csv, row, from, error,
                           "380 nm, or nothing: the band of a luminous value or a colour is 380 to 780 nm");
    if (bc_callout_has_own_band(callout) && callout->to_nm != BC_CIE_TO_NM)
        return bc_csv_fail(csv, row, to, error,
                           "780 nm, or nothing: the band of a luminous value or a colour is 380 to 780 nm");
    return BC_OK;
}

/* A weight goes with an average, and must be there all over its band. */
static bc_status read_weight(const bc_csv *csv, size_t row, bc_materials *materials, bc_callout *callout,
                             bc_error *error)
{
    const char *name = bc_csv_text(csv, row, WEIGHT);
    char where[BC_CSV_WHERE_SIZE];
    bc_error inner = {0};
    if (name[0] == '\0')
        return BC_OK;
    if (callout->statistic != BC_AVERAGE || callout->colour != BC_NO_COLOUR)
        return bc_csv_fail(csv, row, WEIGHT, error, "nothing: a weight goes with the statistic average");
    if (bc_callout_is_luminous(callout))
        return bc_csv_fail(csv, row, WEIGHT, error, "nothing: a luminous value has the weight D65*photopic");
    const bc_status status =
        bc_materials_weight(materials, name, bc_csv_where(csv, row, WEIGHT, where), &callout->weight, error);
    if (status != BC_OK)
        return status;
    if (bc_weight_is_of_angle(callout->weight))
        return bc_csv_fail(csv, row, WEIGHT, error, "a weight over wavelength: '%s' is one over angle", name);
    if (bc_callout_check_weight(callout, &inner) != BC_OK)
        return bc_fail(error, BC_ERROR_INPUT, "%s: %s", where, inner.message);
    return BC_OK;
}

bc_status bc_callout_read_word(const bc_csv *csv, size_t row, size_t column, size_t count, const char *const *word,
                               size_t *choice, bool *exported, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, column);
    *choice = 0;
    if (!columns[column].required && text[0] == '\0')
        return BC_OK;
    for (size_t i = 0; i < count; i++)
        if (strcasecmp(text, word[i]) == 0) {
            *exported = *exported || strcmp(text, word[i]) != 0;
            *choice = i;
            return BC_OK;
        }
    return bc_csv_choice(csv, row, column, count, word, choice, error);
}

/* Without the hint of a nearest word: between maximum and average it would change what the drawing says. */
static bc_status read_statistic(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, STATISTIC);
    for (size_t i = 0; i < sizeof statistics / sizeof statistics[0]; i++) {
        if (strcasecmp(text, statistics[i].word) != 0)
            continue;
        *exported = *exported || strcmp(text, statistics[i].word) != 0;
        callout->statistic = statistics[i].statistic;
        callout->weight = statistics[i].luminous ? bc_weight_luminous() : NULL;
        if (callout->sense == BC_AT_MOST ? statistics[i].at_most : statistics[i].at_least)
            return BC_OK;
        return bc_csv_fail(csv, row, STATISTIC, error,
                           callout->sense == BC_AT_MOST ? "'max' with a limit '<=': '%s' goes with '>='"
                                                        : "'min' with a limit '>=': '%s' goes with '<='",
                           text);
    }
    return bc_csv_fail(csv, row, STATISTIC, error,
                       "'max' (with <=), 'min' (with >=), 'average', 'luminous', or of the colour 'chroma', 'a', 'b', "
                       "'x', 'y', 'ab', 'xy' or 'difference'");
}

/* Without the hint of a nearest word, as for the statistic: 's' in place of 'p/s' would be another callout. */
static bc_status read_polarization(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error)
{
    const char *text = bc_csv_text(csv, row, POLARIZATION);
    callout->polarization = BC_POL_UNPOLARIZED;
    if (strcasecmp(text, "mean") == 0) /* another word for unpolarized */
        return BC_OK;
    for (size_t i = 0; i < sizeof polarizations / sizeof polarizations[0]; i++)
        if (strcasecmp(text, polarizations[i]) == 0) {
            *exported = *exported || strcmp(text, polarizations[i]) != 0;
            callout->polarization = (bc_polarization)i;
            return BC_OK;
        }
    return bc_csv_fail(csv, row, POLARIZATION, error, "'unpolarized', 's', 'p', 'each' or 's/p'%s",
                       strcasecmp(text, "p/s") == 0 ? ": p/s of at most L is s/p of at least 1/L" : "");
}

static bc_status read_words(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error)
{
    size_t quantity, scope;
    bc_status status = bc_callout_read_word(csv, row, QUANTITY, 3, quantities, &quantity, exported, error);
    if (status == BC_OK)
        status = read_polarization(csv, row, callout, exported, error);
    if (status == BC_OK)
        status = bc_callout_read_word(csv, row, SCOPE, 2, scopes, &scope, exported, error);
    if (status != BC_OK)
        return status;
    callout->quantity = (bc_quantity)quantity;
    callout->scope = (bc_scope)scope;
    return BC_OK;
}

static bc_status read_substrate(const bc_csv *csv, size_t row, bc_materials *materials, bc_callout *callout,
                                bc_error *error)
{
    const char *name = bc_csv_text(csv, row, SUBSTRATE);
    char where[BC_CSV_WHERE_SIZE];
    const bc_dispersion *glass;
    if (name[0] == '\0')
        return BC_OK;
    bc_status status = bc_materials_find(materials, name, bc_csv_where(csv, row, SUBSTRATE, where), &glass, error);
    if (status == BC_OK && bc_dispersion_rows(glass) > 0 && bc_dispersion_path(glass) == NULL) /* estimated */
        return bc_csv_fail(csv, row, SUBSTRATE, error,
                           "a glass with a table: a code without one could be misspelt, and switch its row off");
    if (status == BC_OK)
        memcpy(callout->substrate, name, strlen(name) + 1); /* found, so no longer than a material's name can be */
    return status;
}

/* The limit and the statistic of a row that is not about a colour. */
static bc_status read_plain(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error)
{
    bc_status status = bc_callout_refuse_colour(csv, row, error);
    if (status == BC_OK)
        status = read_limit(csv, row, callout, exported, error);
    if (status == BC_OK)
        status = read_statistic(csv, row, callout, exported, error);
    return status;
}

static bc_status check_ratio(const bc_csv *csv, size_t row, const bc_callout *callout, bc_error *error)
{
    size_t column;
    const char *expected = callout->polarization == BC_POL_RATIO ? bc_callout_ratio_fault(callout, &column) : NULL;
    return expected == NULL ? BC_OK : bc_csv_fail(csv, row, column, error, "%s", expected);
}

static bc_status read_row(const bc_csv *csv, size_t row, bc_materials *materials, bc_callout *callout, bool *exported,
                          bc_error *error)
{
    callout->line = csv->line[row];
    bc_status status = read_name(csv, row, callout->name, error);
    if (status == BC_OK)
        status = read_words(csv, row, callout, exported, error);
    callout->colour = bc_callout_read_colour_word(csv, row);
    if (status == BC_OK && callout->colour != BC_NO_COLOUR)
        status = bc_callout_read_colour(csv, row, callout, exported, error);
    else if (status == BC_OK)
        status = read_plain(csv, row, callout, exported, error);
    if (status == BC_OK)
        status = read_band(csv, row, callout, error);
    if (status == BC_OK)
        status = read_weight(csv, row, materials, callout, error);
    if (status == BC_OK)
        status = bc_callout_read_angles(csv, row, materials, callout, exported, error);
    if (status == BC_OK)
        status = check_ratio(csv, row, callout, error);
    if (status == BC_OK)
        status = read_substrate(csv, row, materials, callout, error);
    return status;
}

static int compare(const void *one, const void *other)
{
    const bc_callout *a = *(const bc_callout *const *)one, *b = *(const bc_callout *const *)other;
    int order = strcmp(a->name, b->name);
    return order != 0 ? order : a->line < b->line ? -1 : 1;
}

static bc_status check_names(const bc_csv *csv, const bc_callouts *callouts, bc_error *error)
{
    bc_status status = BC_OK;
    const bc_callout **sorted = malloc(callouts->count * sizeof(bc_callout *));
    if (sorted == NULL)
        return bc_fail_memory(error);
    for (size_t i = 0; i < callouts->count; i++)
        sorted[i] = &callouts->callout[i];
    qsort(sorted, callouts->count, sizeof(bc_callout *), compare);
    for (size_t i = 1; i < callouts->count && status == BC_OK; i++)
        if (strcmp(sorted[i]->name, sorted[i - 1]->name) == 0)
            status = bc_csv_fail(csv, (size_t)(sorted[i] - callouts->callout), NAME, error,
                                 "another name than that of line %ld, since results refer to callouts by name",
                                 sorted[i - 1]->line);
    free(sorted);
    return status;
}

static bc_status read_rows(const bc_csv *csv, bc_materials *materials, bc_callouts *callouts, bc_error *error)
{
    bc_status status = BC_OK;
    callouts->callout = calloc(csv->rows, sizeof *callouts->callout);
    if (callouts->callout == NULL)
        return bc_fail_memory(error);
    callouts->count = csv->rows;
    callouts->exported = csv->separator != ',' || csv->decimal_comma;
    for (size_t row = 0; row < csv->rows && status == BC_OK; row++)
        status = read_row(csv, row, materials, &callouts->callout[row], &callouts->exported, error);
    return status == BC_OK ? check_names(csv, callouts, error) : status;
}

bc_status bc_callouts_read(const char *path, bc_materials *materials, bc_callouts *callouts, bc_error *error)
{
    bc_csv *csv = NULL;
    *callouts = (bc_callouts){0};
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    status = check_band_columns(csv, error);
    if (status == BC_OK)
        status = read_rows(csv, materials, callouts, error);
    memcpy(callouts->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        bc_callouts_clear(callouts);
    return status;
}
