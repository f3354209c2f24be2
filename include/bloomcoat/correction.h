/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CORRECTION_H
#define BLOOMCOAT_CORRECTION_H
/*
 * From the signals of an instrument to R or T:
 *     R = (S - D) / (F - D) R_F
 * with S the sample's signal, F that of a reference of known reflectance R_F, D the dark signal (0 where there is no
 * such scan), all on the same wavelengths and on one scale; T alike, where an empty beam has T_F = 1. Common practice
 * of spectrophotometry, no source.
 *
 * UNCERTAINTY (GUM, JCGM 100:2008, 5.1.2, from memory). With q = R_F / (F - D) the noise adds
 *     s_R^2 = q^2 (s_S^2 + (R / R_F)^2 s_F^2 + (1 - R / R_F)^2 s_D^2),
 * each independent from wavelength to wavelength. Where no signal was scanned repeatedly, a scan's own noise is
 * estimated from R, which has all three in it. What the reference's certificate states is common to all wavelengths:
 * u_R = R u_F / R_F.
 */
#include <bloomcoat/measurement.h>
#include <bloomcoat/reference.h>
#include <bloomcoat/spectrum.h>

BC_API_BEGIN

/* A scan as the instrument wrote it. */
typedef struct bc_raw_scan {
    const char *path; /* fit to be shown */
    size_t count;
    const double *wavelength_nm; /* [count] strictly rising */
    const double *value;         /* [count] in any unit */
    const double *deviation;     /* [count] of the value, from repeats; NULL, or NAN: not known */
    const long *line;            /* [count] of the file */
} bc_raw_scan;

typedef struct bc_correction {
    /* Set by the caller. */
    bc_quantity quantity;        /* BC_R or BC_T */
    char name[256];              /* of the reference: a material, "empty beam", a table's file name without folders */
    bool from_index;             /* R_F is computed from an index table */
    bool plate;                  /* and of a plate with two polished faces */
    bool states;                 /* a certificate states an uncertainty */
    bc_raw_scan reference, dark; /* dark.count 0: none */
    /* Filled by bc_correct(), over all scans corrected so far: fractions. */
    size_t scans;
    double known_from, known_to;        /* R_F */
    double share_stated;                /* the largest u_F / R_F stated, expanded; 0: none */
    double sample_noise;                /* standard deviation of R by the sample's repeats, rms; NAN: no repeats */
    double reference_noise, dark_noise; /* what these two scans add to it, rms; NAN: not known */
} bc_correction;

/* Correct one scan in place. `known` [count] and `stated` [count] (NULL: none): R_F and its expanded uncertainty.
 * `deviation` [count]: that of the signal, becomes that of R; may be NULL. `uncertainty` [count] of the signal alike.
 * BC_ERROR_INPUT, with the files' lines, for scans on other wavelengths, a reference that is not brighter than the dark
 * (or drowns in its noise), a sample darker than the dark for the most part, and values no part can have. */
bc_status bc_correct(bc_correction *correction, const bc_raw_scan *sample, const double *known, const double *stated,
                     double *value, double *deviation, double *uncertainty, bc_error *error);

/* R or T of a bare glass or metal: one polished face (`plate` false), or a plate of `substrate_mm` with both faces. */
bc_status bc_bare_value(const bc_medium *incident, const bc_medium *glass, bool plate, double substrate_mm,
                        bc_quantity quantity, double aoi_rad, bc_polarization polarization, size_t count,
                        const double *wavelength_nm, double *value, bc_error *error);

/* A scan of the bare substrate against what its index table says: a check of the instrument. */
typedef struct bc_bare_check {
    bc_quantity quantity;
    size_t count;
    double measured, expected;             /* means over the scan, fractions */
    double off;                            /* measured / expected - 1 */
    double allowed;                        /* what the uncertainties make of `off`, expanded, a share of `expected` */
    double worst, worst_allowed, worst_nm; /* the difference that passes what is allowed there the most, fractions */
    double noise;                          /* of the scan, fraction */
    bool within;                           /* at every wavelength, and on the average */
} bc_bare_check;

/* An index table's own uncertainty: melts of one glass differ by about so much (common practice, no source). */
#define BC_BARE_INDEX 0.001

/* `uncertainty` (absolute) and `scale` (a share of R; of T it is 0) expanded. The noise of the scan counts four
 * standard deviations at a single wavelength, two standard errors in the mean. */
bc_status bc_check_bare(bc_quantity quantity, size_t count, const double *wavelength_nm, const double *measured,
                        const double *expected, double index, double uncertainty, double scale, bc_bare_check *check,
                        bc_error *error);

BC_API_END

#endif
