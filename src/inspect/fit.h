/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FIT_H
#define BLOOMCOAT_FIT_H
/*
 * Thicknesses fitted to what was measured.
 *
 * Least squares of (model - value) / s over all points with GSL's trust-region Levenberg-Marquardt
 * (gsl_multifit_nlinear) on the engine's analytic derivative. Besides the layers there is in the model what the
 * instrument and the materials may do, each with a prior of its own, so that the covariance has all of it:
 *
 *     (1 + g u_scale) R(wavelength + w u_wavelength; n + dn) + b u(wavelength) + constant
 *
 * g, w and b being normal numbers of mean 0 and standard deviation 1, b one for each of R and T, g for R alone. dn has
 * the index_sigma of its material. Layers carry what the process says, c_j (1 + bias_j c) with standard deviation
 * sigma_j c_j and one common normal number c; where it says nothing a weak one, a quarter of the thickness and 2 nm,
 * which only keeps layers the data do not see from wandering. What else a cause would do (bc_extra) widens one of
 * these priors. s is taken as at least 1e-5, which no spectrophotometer resolves.
 *
 * Between the measured wavelengths the model is interpolated (cubic, through the four nearest), which a scan that
 * shows its fringes allows.
 */
#include "model_spectrum.h"
#include "readings.h"
#include <bloomcoat/inspect.h>

#define BC_LEAST_NOISE 1e-5

/* Width of the weak prior: a share of the thickness, and some nm. */
#define BC_WEAK_SHARE 0.25
#define BC_WEAK_NM    2.0

/* Numbers that all points or all layers share. */
typedef enum bc_shared {
    BC_SHARED_FIRST,      /* b of the first reading, */
    BC_SHARED_SECOND,     /* of the second */
    BC_SHARED_SCALE,      /* g */
    BC_SHARED_WAVELENGTH, /* w */
    BC_SHARED_CONSTANT,   /* of the readings, in units of its width */
    BC_SHARED_RUN,        /* c of the process */
    BC_SHARED_COMMON,     /* c of a cause */
    BC_SHARED
} bc_shared;

/* What one cause would do: 0 where it does nothing. Standard deviations. */
typedef struct bc_extra {
    double scatter;    /* of every layer, a share; in place of what the process says */
    double layer;      /* of one layer, a share */
    size_t layer_at;   /* which */
    double common;     /* that layers share, a share; */
    size_t material;   /* SIZE_MAX: all layers; else those of this material, which is also that of: */
    double index;      /* of the material */
    double scale;      /* of R, relative */
    double wavelength; /* nm */
    double constant;   /* fraction */
} bc_extra;

typedef struct bc_fit_setup {
    const bc_stack *stack;
    const bc_back *back; /* NULL once the fit is open */
    double aoi_rad;
    bc_polarization polarization;
    size_t readings;
    const bc_reading *reading[2];
    bc_quantity seen_as[2]; /* what the model makes of it */
    size_t first, count;    /* the points of the readings that are used */
    const bc_process *process;
    bool fit_index;                          /* of every material, whether the process says something of it or not */
    double wavelength_sigma_nm, scale_sigma; /* of the instrument */
    const bc_extra *extra;                   /* or NULL, as it is once the fit is open */
    bool weak;                               /* whatever the process says of thicknesses */
    double usual_scatter;                    /* of a layer of which the process says nothing; 0: the weak prior */
    double usual_index;                      /* of a material of which it says nothing; 0: its table is right */
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
    double shared[BC_SHARED];
    double cost;        /* the sum of squares that was minimized, priors and all */
    double chi_squared; /* of the data and the instrument alone */
} bc_fit_point;

typedef struct bc_fit {
    bc_fit_setup setup;
    bc_arena arena;
    bc_model_spectrum simulated;
    size_t layers, materials, rows, variables;  /* at most: of residuals, of what is fitted */
    double inflation;                           /* noise is taken to be this many times what it is */
    double *prior_nm, *prior_sigma;             /* [layers] centre, width */
    double *prior_bias[2];                      /* [layers] slope on BC_SHARED_RUN and BC_SHARED_COMMON */
    double *index_sigma;                        /* [materials] */
    bool has_index, has[BC_SHARED];             /* what is fitted besides the layers */
    double width[BC_SHARED];                    /* of one standard deviation, where it is not in the readings */
    double *weight[2];                          /* [count] of the points, 0: left out */
    double *model[2];                           /* [count] what the last look saw, by reading */
    double *along[2];                           /* [count] its slope in wavelength */
    double *slope;                              /* [variables * rows] of the model, in thickness and dn */
    double *scratch, *stencil;                  /* [count], [4 * count] */
    size_t *stencil_at;                         /* [count] */
    double *thickness_nm, *dn, *sign, shift_nm; /* where the model was looked at */
    bc_fit_point trial;                         /* memory of the point under trial */
    double *x;                                  /* [variables] */
    size_t fits;
} bc_fit;

bc_status bc_fit_open(const bc_fit_setup *setup, bc_fit *fit, bc_error *error);
void bc_fit_close(bc_fit *fit);
/* The model at these thicknesses, `shift_nm` beyond the nominal wavelengths; fit->model[] and fit->along[] have it, and
 * with `gradient` fit->slope. dn may be NULL. */
void bc_fit_look(bc_fit *fit, const double *thickness_nm, const double *dn, double shift_nm, bool gradient);

/* What the reading should be at a point, instrument and all, from the model as last looked at. */
double bc_fit_expected(const bc_fit *fit, const double *shared, size_t reading, size_t i);

/* Noise of one point as the fit takes it; of a point left out it is beyond all bounds. */
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

/* value - what it should be, of one reading at a point; `out` [count]. */
void bc_fit_remainder(bc_fit *fit, const bc_fit_point *point, size_t reading, double *out);

/* The variables in order: layers, dn of every material when has_index, then what is shared and fitted. Both matrices
 * are [size * size]. `information`, which may be NULL, is that of the data alone; the covariance has the priors in it.
 */
size_t bc_fit_size(const bc_fit *fit);
size_t bc_fit_place(const bc_fit *fit, bc_shared shared);
bc_status bc_fit_covariance(bc_fit *fit, const bc_fit_point *point, double *information, double *covariance,
                            bc_error *error);

/* The problem that was minimized at a point: `f` [rows + size] (model - value) / noise and what the priors add, `J`
 * [(rows + size) * size] its slopes. */
bc_status bc_fit_linearize(bc_fit *fit, const bc_fit_point *point, double *J, double *f, bc_error *error);

/* The logarithm of the marginal likelihood about a minimum, by Laplace's approximation and less what only the data
 * decide: - cost / 2 + log det(covariance) / 2 - sum log(widths of the priors) (Kass and Raftery, J. Am. Stat. Assoc.
 * 90, 773 (1995); from memory). */
bc_status bc_fit_evidence(bc_fit *fit, const bc_fit_point *point, double *evidence, bc_error *error);

#endif
