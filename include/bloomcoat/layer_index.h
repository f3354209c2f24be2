/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_LAYER_INDEX_H
#define BLOOMCOAT_LAYER_INDEX_H
/*
 * The index of one layer from measured spectra: a witness piece with a single layer on a known substrate gives the
 * thickness of the layer, n and k against wavelength, and how well each is known. The result is a dispersion table of
 * the shop's own.
 *
 * MODEL. One layer by <bloomcoat/surface.h>, or on a part with two surfaces by <bloomcoat/part.h>. With x the vacuum
 * wavelength in um, n is one of
 *     constant       n = A
 *     Cauchy         n = A + B / x^2,  or with a third term C / x^4
 *     Sellmeier      n^2 = 1 + B x^2 / (x^2 - L^2), the pole L below the measured range; or with a second term whose
 * pole lies above it
 * and k is zero, K exp(b (1/x - 1/x0)) (an exponential absorption edge), K (x0 / x)^b, both falling with wavelength, or
 * K exp(b u + c u^2) with u = 1/x - 1/x0 (an edge that is bent), x0 being the middle of the range. All scans are fitted
 * together by least squares (GSL), weighted by their noise; the offset, the scale of R and the wavelength scale of the
 * instrument are fitted too, each with its stated uncertainty as prior. Models in which n rises with wavelength where
 * the layer does not absorb are left out.
 *
 * CHOICE. The models are compared by the corrected information criterion QAICc = chi2 / phi + 2 p + 2 p (p + 1) / (N -
 * p - 1), phi the misfit of the best of them where that is above the noise (Burnham and Anderson, Model Selection and
 * Multimodel Inference, 2nd ed., 2002, sect. 2.5; from memory). A layer whose index changes linearly through its
 * thickness (`gradient`), and one with a rough top (a sheet in equal parts of layer and incident medium, Bruggeman,
 * Ann. Phys. 416, 636 (1935), from memory), are each one parameter more and are judged alike.
 *
 * THE ORDER OF INTERFERENCE. A thinner layer of higher index can show nearly the same fringes. Thicknesses from 0.5 to
 * 2 times the stated one are searched with all indices from 1.2 to 4.5, and the best fit that lies in another valley is
 * reported with its distance in QAICc.
 *
 * UNCERTAINTIES are standard ones from the covariance of the fit, with the priors in it, enlarged where the residual
 * exceeds the noise or is correlated along the scan. They hold for a layer as modelled: homogeneous (or with the
 * gradient), isotropic, parallel, on a substrate whose table is right.
 */
#include <bloomcoat/callouts.h>
#include <bloomcoat/measurement.h>
#include <bloomcoat/part.h>
#include <bloomcoat/stack.h>

BC_API_BEGIN

/* One scan of the layer. */
typedef struct bc_layer_scan {
    const bc_measurement *measurement;
    double aoi_rad;
    bc_polarization polarization; /* not BC_POL_EACH */
    bc_medium incident, substrate;
    bc_back_kind back; /* BC_BACK_NONE: ground, not seen; or BC_BACK_UNCOATED */
    double substrate_mm;
    size_t piece; /* 0, 1, ...: scans of one piece share its thickness */
} bc_layer_scan;

typedef struct bc_layer_index_setup {
    size_t scans; /* >= 1 */
    const bc_layer_scan *scan;
    size_t pieces;
    const double *thickness_nm; /* [pieces] roughly, > 0 */
    /* Expanded, as in <bloomcoat/inspect.h>: absolute of R and T, relative of R, of the wavelengths in nm. */
    double uncertainty, scale_uncertainty, wavelength_uncertainty_nm;
    double coverage_factor; /* > 0 */
} bc_layer_index_setup;

typedef enum bc_n_model {
    BC_N_CONSTANT,
    BC_N_CAUCHY_2,
    BC_N_CAUCHY_3,
    BC_N_SELLMEIER_1,
    BC_N_SELLMEIER_2,
    BC_N_MODELS
} bc_n_model;

typedef enum bc_k_model { BC_K_NONE, BC_K_EXPONENTIAL, BC_K_POWER, BC_K_BENT, BC_K_MODELS } bc_k_model;

typedef enum bc_layer_shape { BC_LAYER_HOMOGENEOUS, BC_LAYER_GRADED, BC_LAYER_ROUGH, BC_LAYER_SHAPES } bc_layer_shape;

#define BC_LAYER_COEFFICIENTS 6

/* A model as fitted. */
typedef struct bc_layer_model {
    bc_n_model n;
    bc_k_model k;
    bc_layer_shape shape;
    size_t parameters;   /* without those of the instrument */
    double criterion;    /* QAICc */
    double thickness_nm; /* of the first piece */
} bc_layer_model;

/* The curve of one scan and quantity beside what was measured; arrays of `count`. */
typedef struct bc_layer_curve {
    size_t scan;
    bc_quantity quantity;
    size_t count;
    const double *wavelength_nm, *measured, *fitted, *noise; /* fractions; noise: one standard deviation */
} bc_layer_curve;

/* Wavelengths that the covariance is given at, the table's ends among them; its rows: the first piece's thickness, n at
 * each of them, k at each. */
#define BC_LAYER_POINTS     5
#define BC_LAYER_COVARIANCE (1 + 2 * BC_LAYER_POINTS)

typedef struct bc_layer_index_result {
    bc_layer_model chosen, next_model; /* next_model: the best other pair of n and k; criterion INFINITY: none */
    double other_thickness_nm;         /* of the first piece in the best other valley; NAN: none was found */
    double other_criterion;            /* of the chosen model there */
    double homogeneous_criterion;      /* of the chosen n and k in a layer without gradient or rough top */
    size_t n_coefficients, k_coefficients;
    double n_coefficient[BC_LAYER_COEFFICIENTS]; /* A, B, C; or B1, L1, B2, L2 (um) */
    double k_coefficient[BC_LAYER_COEFFICIENTS]; /* K, b, x0 (um), c */
    size_t pieces;
    double *thickness_nm, *thickness_sigma_nm; /* [pieces] standard */
    double gradient, gradient_sigma;           /* (n at the top - n at the substrate) / n; 0 unless graded */
    double rough_nm, rough_sigma_nm;           /* of the sheet; 0 unless rough */
    size_t count; /* of the table, over the range that every scan of R or T taken together covers */
    double *wavelength_nm, *n, *n_sigma, *k, *k_sigma;           /* [count] */
    double covariance[BC_LAYER_COVARIANCE][BC_LAYER_COVARIANCE]; /* standard, nm and nm^2 where thickness enters */
    double correlation; /* between n in the middle of the range and the first piece's thickness */
    double fringes;     /* 2 n d (1/first - 1/last): orders of interference within the range */
    double misfit;      /* root mean square of residual / noise; 1: as good as the noise allows */
    double residual;    /* root mean square, a fraction */
    double noise;       /* the same of the noise */
    double offset[2], scale, wavelength_shift_nm; /* of the instrument as fitted: of R and T; of R; */
    double transmitted; /* largest internal transmittance of the layer within the range; near 0: opaque */
    size_t curves;
    bc_layer_curve *curve; /* [curves] */
    void *memory;
} bc_layer_index_result;

/* The row of the table that the covariance's wavelength `point` (from 0) is. */
size_t bc_layer_point(const bc_layer_index_result *result, size_t point);

/* BC_ERROR_INPUT where the scans do not determine an index: a layer that cannot be told from the bare substrate, an
 * opaque one, too few points, or thickness and index that only their product is known of. */
bc_status bc_index_from_scans(const bc_layer_index_setup *setup, bc_layer_index_result *result, bc_error *error);
void bc_layer_index_result_clear(bc_layer_index_result *result);

BC_API_END

#endif
