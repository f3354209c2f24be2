/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MERIT_H
#define BLOOMCOAT_MERIT_H
/*
 * The merit of a thickness vector: limit_used at every sample of every callout on every glass, and its derivatives.
 *
 * A constraint is one number u that should be as small as it can be: the limit_used of one wavelength (statistic every)
 * or of one band mean, at one angle, for one plane or the mean of both. The designer's goal is the smallest max(u).
 *
 * The Hessian of sum(z u) is Gauss-Newton's: |rho|^2 is a sum of two squares whose derivatives are known, so
 * 2 Re(conj(d rho) d rho) stands for it; where a quantity is no such square (part, T or A of an absorbing stack, "at
 * least" rows of R) u itself is taken as the square of sqrt(u).
 */
#include <bloomcoat/design.h>
#include <bloomcoat/sampling.h>

typedef enum bc_density {
    BC_DENSITY_SEARCH,  /* few samples, evenly spaced in wave number: to compare designs by the thousand */
    BC_DENSITY_POLISH,  /* a verdict's wavelengths at few angles: the others are asked for where they matter */
    BC_DENSITY_VERDICT, /* the samples a verdict takes */
} bc_density;

typedef struct bc_merit bc_merit;

/* A place to be looked at besides those of the density. */
typedef struct bc_extra_sample {
    const bc_callout *callout;
    size_t glass;        /* of the problem's substrates */
    const bc_zone *zone; /* NULL: a plane surface */
    double aoi_rad;
} bc_extra_sample;

/* Engines and arrays, for the callouts' own angles and for spots besides, for stacks of up to `max_layers` layers of
 * the problem's materials. `fringes` are the narrowest the verdict's sampling must resolve. BC_ERROR_INPUT for callouts
 * that no engine can be set up for, or only with more than BC_MOST_BYTES of memory (budget.h). */
bc_status bc_merit_alloc_spots(const bc_design_problem *problem, bc_density density, size_t max_layers,
                               bc_fringes fringes, size_t extra_samples, const bc_extra_sample *extra_sample,
                               bc_merit **out, bc_error *error);
void bc_merit_free(bc_merit *merit);
double bc_merit_bytes(const bc_merit *merit); /* of memory, counted (budget.h) */

/* Without spots. */
static inline bc_status bc_merit_alloc(const bc_design_problem *problem, bc_density density, size_t max_layers,
                                       bc_fringes fringes, bc_merit **out, bc_error *error)
{
    return bc_merit_alloc_spots(problem, density, max_layers, fringes, 0, NULL, out, error);
}

/* Where no slope will be asked for: layers then take no memory. */
bc_status bc_merit_alloc_values(const bc_design_problem *problem, bc_density density, size_t max_layers,
                                bc_fringes fringes, bc_merit **out, bc_error *error);

/* The same with several scenarios: errors of a run under which the design is to hold as well. Each has engines of its
 * own, and its constraints follow those of the one before; the first is meant to be the design itself, without error.
 */
bc_status bc_merit_alloc_scenarios(const bc_design_problem *problem, bc_density density, size_t max_layers,
                                   bc_fringes fringes, size_t scenarios, bc_merit **out, bc_error *error);

/* In this scenario layer j comes out (1 + error[j]) times as thick, and n of material m is dn[m] higher. */
void bc_merit_set_scenario(bc_merit *merit, size_t scenario, size_t layers, const double *error, size_t materials,
                           const double *dn);

/* Over all scenarios. */
size_t bc_merit_constraints(const bc_merit *merit);
/* What an evaluation takes the light at, for every row: as many as constraints but for averages and colours, which make
 * one of all their wavelengths. */
size_t bc_merit_samples(const bc_merit *merit);

/* Until the next call n of `material` is its table's plus `dn` on every engine: bc_surface_shift_index(). */
void bc_merit_shift_index(bc_merit *merit, unsigned material, double dn);

/* Compute u of every constraint and, when asked, its slope with every layer. */
void bc_merit_evaluate(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                       bool slopes);

/* The same where only what comes near the largest u counts, as in a descent whose constraints are u <= `level`: where
 * the design has moved little since all samples were last evaluated with slopes, those that lay far below the level are
 * not evaluated again. Their u is then what its slopes foretell, and their slopes are those of before. What is
 * left out lies below nine tenths of the level, to second order. No insertion can be asked for after it. */
void bc_merit_evaluate_near(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                            bool slopes, double level);
bool bc_merit_is_near(const bc_merit *merit); /* whether the last evaluation left any sample out */

const double *bc_merit_u(const bc_merit *merit);                   /* [constraints] */
const double *bc_merit_slope(const bc_merit *merit, size_t layer); /* [constraints], per nm */
double bc_merit_largest(const bc_merit *merit);                    /* max u: limit_used on these samples */

/* How the constraints are laid out (segments.h), and the quantity that row number `row` of it asks about, at every
 * wavelength of its segment, in the last evaluation; for a mean, before the mean is taken. */
const struct bc_segments *bc_merit_segments(const bc_merit *merit);
void bc_merit_curve(const bc_merit *merit, size_t row, double *value);

/* Add the Gauss-Newton Hessian of sum(z u) over the layers of the last evaluation to hessian[layers * layers]. */
void bc_merit_add_hessian(bc_merit *merit, const double *z, double *hessian);

/* d sum(z u) / d thickness of a layer of `material` inserted on the incident side of layer `before` of the last
 * evaluation, which was bc_merit_evaluate(). Rows of a part count with the front's reflectance only: a guide where to
 * try, not a derivative. */
double bc_merit_insertion(bc_merit *merit, const double *z, size_t before, unsigned material);

size_t bc_merit_evaluations(const bc_merit *merit);

#endif
