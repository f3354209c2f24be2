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
/* What of the colour of R or T a callout limits: C*ab; the distance of one coordinate from a target; how far out two
 * coordinates lie, 0 at the centre of an ellipse and 1 on it; or the colour difference CIEDE2000 from a reference. */
typedef enum bc_colour_value {
    BC_NO_COLOUR,
    BC_CHROMA,
    BC_COLOUR_A,
    BC_COLOUR_B,
    BC_COLOUR_X,
    BC_COLOUR_Y,
    BC_ELLIPSE_AB, /* a*, b* */
    BC_ELLIPSE_XY, /* x, y */
    BC_COLOUR_DIFFERENCE
} bc_colour_value;
/* An ellipse in the plane of two coordinates, in their own units. */
typedef struct bc_ellipse {
    double centre[2], half_axis[2];
    double turn_rad; /* from the first coordinate's axis to the first half-axis, towards the second coordinate's */
} bc_ellipse;
typedef enum bc_sense { BC_AT_MOST, BC_AT_LEAST } bc_sense;
typedef enum bc_scope {
    BC_SCOPE_SURFACE, /* this coated surface alone */
    BC_SCOPE_PART,    /* both surfaces of a plane-parallel part and the glass between, added incoherently */
} bc_scope;

/* How far limits on a ratio s / p go. Below, one is more likely a ratio that was meant as percent; above, the ratio
 * rises so steeply from one wavelength to the next, where the light in p nears 0, that samples of the band would miss
 * its peaks. */
#define BC_RATIO_LIMIT_LEAST 0.1
#define BC_RATIO_LIMIT_MOST  10.0

typedef struct bc_callout {
    char name[BC_CALLOUT_NAME_SIZE];
    bc_quantity quantity;
    bc_statistic statistic;
    bc_sense sense;
    /* A fraction; > 0 for BC_AT_MOST, < 1 for BC_AT_LEAST. Of a colour: a hundredth. Of a ratio s / p: the ratio. */
    double limit;
    double from_nm, to_nm;           /* from <= to; equal: one wavelength */
    double aoi_from_rad, aoi_to_rad; /* from <= to, in [0, pi/2); equal: one angle */
    double
        cone_rad; /* half-angle of a cone of unpolarized light about each of these angles (cone.h); 0: parallel light */
    const bc_weight *cone_weight; /* of that cone, over the angle from its axis; NULL: uniform in solid angle */
    /* BC_POL_RATIO: R or T in s divided by the same in p, at every wavelength; an average is that of the ratios. */
    bc_polarization polarization;
    bc_scope scope;
    char substrate[BC_NAME_SIZE]; /* empty: every glass */
    long line;                    /* in the file it came from; 0: made by hand */
    /* Of an average; NULL: equal weight per nm. With bc_weight_luminous() the band is 380 to 780 nm. */
    const bc_weight *weight;
    /* Of R or T in this light to this eye. Then statistic is BC_AVERAGE, sense BC_AT_MOST, the band 380 to 780 nm,
     * weight bc_weight_tristimulus() of y. The program counts all values in hundredths, as it counts percent. */
    bc_colour_value colour;
    bc_illuminant illuminant;
    bc_observer observer;
    double target;       /* in hundredths; of one coordinate */
    bc_ellipse ellipse;  /* of BC_ELLIPSE_AB and BC_ELLIPSE_XY; a limit of 0.01 is the ellipse itself */
    double reference[3]; /* of BC_COLOUR_DIFFERENCE: L*, a* and b* under the callout's light */
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

/* Whether it limits two coordinates of a colour by an ellipse. */
bool bc_callout_is_ellipse(const bc_callout *callout);

/* Whether its value is the luminous one, see bc_weight_luminous(). */
bool bc_callout_is_luminous(const bc_callout *callout);

/* What a limit is measured from: 0 for at most and 1 for at least. A ratio s / p is best at 1, from where a limit of at
 * most more than 1 is measured, too. The share of the limit that a value uses is (value - ideal) / (limit - ideal). */
double bc_callout_ideal(const bc_callout *callout);

/* Whether its band is part of its definition: of a luminous value and of a colour. */
bool bc_callout_has_own_band(const bc_callout *callout);

/* Whether the weight covers the band and is not 0 all over it; BC_ERROR_INPUT says which. */
bc_status bc_callout_check_weight(const bc_callout *callout, bc_error *error);

BC_API_END

#endif
