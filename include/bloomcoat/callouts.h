/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CALLOUTS_H
#define BLOOMCOAT_CALLOUTS_H
/*
 * Callouts: what a drawing asks of a coating, row by row. Plain data; every row must hold.
 */
#include <bloomcoat/polarization.h>
#include <bloomcoat/weight.h>

BC_API_BEGIN

#define BC_CALLOUT_NAME_SIZE 128

typedef enum bc_quantity { BC_R, BC_T, BC_A } bc_quantity;
typedef enum bc_statistic {
    BC_EXTREME, /* the limit holds at every wavelength of the band */
    BC_AVERAGE, /* the band mean, weighted where the callout has a weight, else with equal weight per nm */
} bc_statistic;
/* What of the colour of R or T a callout limits. Of all but chroma it is the distance from a target. */
typedef enum bc_colour_value {
    BC_NO_COLOUR,
    BC_CHROMA,
    BC_COLOUR_A,
    BC_COLOUR_B,
    BC_COLOUR_X,
    BC_COLOUR_Y
} bc_colour_value;
typedef enum bc_sense { BC_AT_MOST, BC_AT_LEAST } bc_sense;
typedef enum bc_scope {
    BC_SCOPE_SURFACE, /* this coated surface alone */
    BC_SCOPE_PART,    /* both surfaces of a plane-parallel part and the glass between, added incoherently */
} bc_scope;

typedef struct bc_callout {
    char name[BC_CALLOUT_NAME_SIZE];
    bc_quantity quantity;
    bc_statistic statistic;
    bc_sense sense;
    double limit;                    /* a fraction; > 0 for BC_AT_MOST, < 1 for BC_AT_LEAST. Of a colour: a hundredth */
    double from_nm, to_nm;           /* from <= to; equal: one wavelength */
    double aoi_from_rad, aoi_to_rad; /* from <= to, in [0, pi/2); equal: one angle */
    bc_polarization polarization;
    bc_scope scope;
    char substrate[BC_NAME_SIZE]; /* empty: every glass */
    long line;                    /* in the file it came from; 0: made by hand */
    /* Of an average; NULL: equal weight per nm. With bc_weight_luminous() the band is 380 to 780 nm. */
    const bc_weight *weight;
    /* Chroma C*ab, or the distance of a*, b*, x or y from `target`, of R or T in this light to this eye. Then statistic
     * is BC_AVERAGE, sense BC_AT_MOST, the band 380 to 780 nm, weight bc_weight_tristimulus() of y. The program counts
     * all values in hundredths, as it counts percent. */
    bc_colour_value colour;
    bc_illuminant illuminant;
    bc_observer observer;
    double target; /* in hundredths */
} bc_callout;

typedef struct bc_callouts {
    size_t count;
    bc_callout *callout;
    bool exported; /* the file was not written as its format says, but as a spreadsheet or a person writes: show it */
    char sha256[BC_SHA256_SIZE]; /* of the file it was read from; empty: made by hand */
} bc_callouts;

/* Read a callouts file. On success *callouts must be released with bc_callouts_clear(). A substrate that is named in a
 * row must exist in `materials` (a misspelt glass would silently switch its row off). */
bc_status bc_callouts_read(const char *path, bc_materials *materials, bc_callouts *callouts, bc_error *error);
void bc_callouts_clear(bc_callouts *callouts);

/* Whether a callout is for the substrate of this name. */
bool bc_callout_applies(const bc_callout *callout, const char *substrate);

/* Whether its value is the luminous one, see bc_weight_luminous(). */
bool bc_callout_is_luminous(const bc_callout *callout);

/* Whether its band is part of its definition: of a luminous value and of a colour. */
bool bc_callout_has_own_band(const bc_callout *callout);

/* Whether the weight covers the band and is not 0 all over it; BC_ERROR_INPUT says which. */
bc_status bc_callout_check_weight(const bc_callout *callout, bc_error *error);

BC_API_END

#endif
