/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef WITNESSES_WORLD_H
#define WITNESSES_WORLD_H
/*
 * Simulated witnesses: what a chamber really made and how an instrument really looked at it. Spectra come from the
 * 256-bit reference of tests/reference, never from the engine that is tried; only the tables of n and k are shared.
 */
#include "reference.h"
#include <bloomcoat/inspect.h>
#include <gsl/gsl_rng.h>

#define MOST_LAYERS 8
#define DESIGNS     4 /* of 3, 4, 6 and 8 layers */

/* The scan: 400 to 780 nm in steps of 2 nm. */
#define POINTS  191
#define FROM_NM 400.0
#define STEP_NM 2.0

/* The band of the callout. */
#define BAND_FROM_NM 425.0
#define BAND_TO_NM   675.0

enum { MGF2, AL2O3, SIO2, HFO2, TA2O5, AT_HAND };
enum { DESIGN_GLASS, OTHER_GLASS, THIRD_GLASS, GLASSES };

typedef struct world {
    bc_materials *materials;
    bc_medium medium[AT_HAND], glass[GLASSES];
    bc_stack design[DESIGNS];
    reference *engine;
    gsl_rng *random;
    const char *only;   /* rows of a table whose name has this in it */
    double noise;       /* standard deviation of a value, fraction */
    double uncertainty; /* expanded, k = 2: the offset is drawn from it */
} world;

/* What was made and how it was looked at. */
typedef struct made {
    size_t layers;
    const bc_dispersion *material[MOST_LAYERS]; /* from the outer layer */
    double nm[MOST_LAYERS], dn[MOST_LAYERS];
    const bc_dispersion *glass;
    bool back_seen;
    double aoi_rad;
    double offset, scale, shift_nm; /* of the instrument: value = scale R(wavelength + shift) + offset */
} made;

void world_open(world *w);
void world_close(world *w);
double world_normal(world *w, double sigma);
double world_between(world *w, double from, double to);
size_t world_pick(world *w, size_t count);

made made_as_designed(const world *w, size_t design);
/* An error of its own for every layer, a fraction. */
void made_scatter(world *w, made *m, double sigma);

/* The true R at one wavelength and angle, unpolarized. */
double true_R(const world *w, const made *m, double nm, double aoi_rad);
/* The largest true R over the band at an angle, to 1 nm. */
double true_worst(const world *w, const made *m, double aoi_rad);

/* What the instrument would write without noise, [POINTS]. */
void scan_exact(const world *w, const made *m, double *value);
bc_measurement scan_of(world *w, const double *exact);

/* Stops the program when the inspection fails. */
bc_inspect_result look(const bc_measurement *scan, const bc_inspect_setup *setup);

void table_cause(world *w, size_t runs);
void table_coverage(world *w, size_t runs);
void table_verdict(world *w, size_t runs);
void table_oblique(world *w, size_t runs);
void table_next(world *w, size_t runs);
void table_index(world *w, size_t runs);
void table_process(world *w, size_t lots);

#endif
