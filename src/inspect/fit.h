/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FIT_H
#define BLOOMCOAT_FIT_H
/*
 * Thicknesses fitted to what was measured.
 *
 * Least squares of (model - value + b u) / s over all points, b being one normal number for each of R and T, with GSL's
 * trust-region Levenberg-Marquardt (gsl_multifit_nlinear) on the engine's analytic derivative. Layers carry a prior:
 * what the process says, c_j (1 + bias_j c) with standard deviation sigma_j c_j and one common normal number c; where
 * it says nothing a weak one, a quarter of the thickness and 2 nm, which only keeps layers the data do not see from
 * wandering. s is taken as at least 1e-5, which no spectrophotometer resolves.
 */
#include "readings.h"
#include "sight.h"
#include <bloomcoat/inspect.h>

#define BC_LEAST_NOISE 1e-5

/* Width of the weak prior: a share of the thickness, and some nm. */
#define BC_WEAK_SHARE 0.25
#define BC_WEAK_NM    2.0

typedef struct bc_fit_setup {
    const bc_stack *stack;
    const bc_back *back;
    double aoi_rad;
    bc_polarization polarization;
    size_t readings;
    const bc_reading *reading[2];
    bc_quantity seen_as[2]; /* what the model makes of it */
    size_t first, count;    /* the points of the readings that are used */
    const bc_process *process;
    bool fit_index;
} bc_fit_setup;

/* Which thicknesses a fit may choose: base + map theta, or each layer by itself. */
typedef struct bc_family {
    size_t free;        /* number of theta */
    const double *base; /* [layers] */
    const double *map;  /* [layers * free]; NULL: theta are the thicknesses, under their prior */
    bool index;         /* dn of every material too */
} bc_family;

typedef struct bc_fit_point {
    double *thickness_nm; /* [layers] */
    double *dn;           /* [materials] */
    double offset[2];     /* b of each reading */
    double cost;          /* the sum of squares that was minimized, priors and all */
    double chi_squared;   /* of the data and the offsets alone */
} bc_fit_point;

typedef struct bc_fit {
    bc_fit_setup setup;
    bc_arena arena;
    bc_sight sight;
    size_t layers, materials, rows, variables;   /* at most: of residuals, of what is fitted */
    double inflation;                            /* noise is taken to be this many times what it is */
    double *prior_nm, *prior_sigma, *prior_bias; /* [layers] centre, width, slope on the common number */
    double *index_sigma;                         /* [materials] */
    bool has_bias, has_offset[2];
    double *model[2];                 /* [count] what the last look saw, by reading */
    double *slope;                    /* [variables * rows] of the data, in thickness, dn and b */
    double *thickness_nm, *dn, *sign; /* where the model was looked at */
    bc_fit_point trial;               /* memory of the point under trial */
    double *x;                        /* [variables] */
    size_t fits;
} bc_fit;

bc_status bc_fit_open(const bc_fit_setup *setup, bc_fit *fit, bc_error *error);
void bc_fit_close(bc_fit *fit);
/* From now on with weak priors alone. */
void bc_fit_forget_process(bc_fit *fit);
/* The model at these thicknesses; fit->model[] has it, and with `gradient` fit->slope. dn may be NULL. */
void bc_fit_look(bc_fit *fit, const double *thickness_nm, const double *dn, bool gradient);

/* Noise of one point as the fit takes it. */
double bc_fit_noise(const bc_fit *fit, size_t reading, size_t i);

/* Data alone at these thicknesses, each reading at the offset that suits it best. */
double bc_fit_chi_squared(bc_fit *fit, const double *thickness_nm);

/* Minimize from `point` (thicknesses, dn, offsets; of a family with a map from `theta`, [free]); the result takes their
 * place. At most `steps`. `theta_sigma` (may be NULL) [free]: standard errors of theta if the noise is what it is taken
 * for. */
bc_status bc_fit_minimize(bc_fit *fit, const bc_family *family, double *theta, double *theta_sigma, unsigned steps,
                          bc_fit_point *point, bc_error *error);

/* Data residuals at a point: root mean square in fractions, and in units of the noise. */
void bc_fit_residual(bc_fit *fit, const bc_fit_point *point, double *rms, double *in_noise);

/* value - model - b u of one reading at a point; `out` [count]. */
void bc_fit_remainder(bc_fit *fit, const bc_fit_point *point, size_t reading, double *out);

/* The variables in order: layers, dn of every material when fitted, offsets, the common number. Both matrices are
 * [size * size] and may be NULL. `information` is that of the data alone; the covariance has the priors in it. `size`
 * is that of fit_variables(). */
size_t bc_fit_size(const bc_fit *fit);
bc_status bc_fit_covariance(bc_fit *fit, const bc_fit_point *point, double *information, double *covariance,
                            bc_error *error);

#endif
