/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CALLOUT_COLUMNS_H
#define BLOOMCOAT_CALLOUT_COLUMNS_H
/*
 * The columns of a callouts file, and what is read of a colour.
 */
#include "csv_file.h"
#include <bloomcoat/callouts.h>

enum {
    NAME,
    QUANTITY,
    STATISTIC,
    LIMIT_PERCENT,
    FROM_NM,
    TO_NM,
    AOI_DEG,
    POLARIZATION,
    SCOPE,
    SUBSTRATE,
    FROM_UM, /* in place of FROM_NM and TO_NM */
    TO_UM,
    WEIGHT,
    LIMIT, /* of a colour, in place of LIMIT_PERCENT */
    ILLUMINANT,
    OBSERVER,
    COLUMNS,
};

/* A word of a list, in any case; an optional column may be left empty, which means the first word. */
bc_status bc_callout_read_word(const bc_csv *csv, size_t row, size_t column, size_t count, const char *const *word,
                               size_t *choice, bool *exported, bc_error *error);

/* Without the blanks at the end of `text`, and without one of the words there, in any case; whether there was one. */
bool bc_callout_cut_word(char *text, size_t words, const char *const *word);

/* One angle, or `0..30`, each with or without a cone about it, whose weight may be one of the materials' folders. */
bc_status bc_callout_read_angles(const bc_csv *csv, size_t row, bc_materials *materials, bc_callout *callout,
                                 bool *exported, bc_error *error);

/* What of a colour a row limits, by its statistic; BC_NO_COLOUR: it limits none. */
bc_colour_value bc_callout_read_colour_word(const bc_csv *csv, size_t row);

/* The limit, the light and the eye of a colour; callout->colour is set. */
bc_status bc_callout_read_colour(const bc_csv *csv, size_t row, bc_callout *callout, bool *exported, bc_error *error);

/* The ellipse of a callout, whose limit becomes the ellipse itself; what is expected where a number is out of range,
 * else NULL. */
const char *bc_callout_set_ellipse(const double centre[2], const double half_axis[2], double turn_deg,
                                   bc_callout *callout);

/* The reference of a colour difference and its limit, in its own units; what is expected where a number is out of
 * range, else NULL. */
const char *bc_callout_set_reference(double limit, const double reference[3], bc_callout *callout);

/* What a ratio s / p expects in place of what the callout says, and in which column; NULL: nothing. */
const char *bc_callout_ratio_fault(const bc_callout *callout, size_t *column);

/* The columns of a colour are empty in every other row. */
bc_status bc_callout_refuse_colour(const bc_csv *csv, size_t row, bc_error *error);

#endif
