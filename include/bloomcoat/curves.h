/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CURVES_H
#define BLOOMCOAT_CURVES_H
/*
 * The curves a verdict is about, for showing.
 */
#include <bloomcoat/colour_path.h>

BC_API_BEGIN

typedef struct bc_light_curve {
    const bc_medium *substrate;
    double aoi_rad;
    const struct bc_zone *zone; /* of a curved surface: where the callout is worst; NULL: its vertex, or a plane */
    bc_polarization plane;
    double *value; /* [count of bc_check_curves] fractions, of the callout's quantity */
} bc_light_curve;

/* Callouts that ask about the same light. */
typedef struct bc_light {
    const bc_callout *callout; /* the first of them */
    size_t curves;
    bc_light_curve *curve; /* by glass, zone, angle, plane */
} bc_light;

typedef struct bc_check_curves {
    size_t count;
    double *wavelength_nm; /* all bands together and a little beyond, as far as every table reaches */
    size_t lights;
    bc_light *light; /* in the order of the callouts */
    bc_colour_paths colours;
} bc_check_curves;

/* Same quantity, scope, polarization, angles and glass: a curve that one of the two is held against is one for the
 * other as well, whatever their bands and limits. */
bool bc_same_light(const bc_callout *one, const bc_callout *other);

/* Compute the curves of `stack` on every glass of `result` (which bc_check() made of the same stack and back): for an
 * angle range its ends and its worst angle; the worst angle alone where many glasses would make a thicket of it. Of a
 * curved surface (bc_check_zones()): its vertex in the callout's own light, and the zone and angle where it is worst.
 * At most 4001 wavelengths, no further apart than bc_sampling_wavelengths() has them where that is enough. */
bc_status bc_check_curves_compute(const bc_stack *stack, const bc_back *back, const bc_check_result *result,
                                  bc_check_curves *curves, bc_error *error);
void bc_check_curves_clear(bc_check_curves *curves);

BC_API_END

#endif
