/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <bloomcoat/layer_index.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/*
 * Single layers of known n, k and thickness on glass and silica, seen by an instrument with offset, scale and
 * wavelength errors. Dispersion formulas are written out here; the spectra are those of the 256-bit reference.
 */

#define SCAN_POINTS 301
#define LAYERS      5

typedef struct kind {
    const char *name;
    double A, B;    /* n = A + B / x^2, x in um */
    double K, edge; /* k = K exp(edge (1/x - 1/0.55)) */
    double least_nm, most_nm;
    double from_nm, to_nm;
} kind;

static const kind kinds[LAYERS] = {
    {"low", 1.375, 0.0022, 0.0, 0.0, 300.0, 900.0, 400.0, 1000.0},
    {"middle", 1.62, 0.0060, 0.0, 0.0, 200.0, 800.0, 400.0, 1000.0},
    {"high", 2.08, 0.0210, 0.0, 0.0, 150.0, 700.0, 400.0, 1000.0},
    {"absorbing", 2.25, 0.0350, 0.002, 8.0, 200.0, 600.0, 400.0, 1000.0},
    /* R. Swanepoel, J. Phys. E 16, 1214 (1983): n = 2.6 + 3e5 / nm^2, log10(alpha nm) = -8 + 1.5e6 / nm^2, 1000 nm
       (from memory); k = alpha nm / (4 pi) is written out in true_index(). */
    {"semiconductor", 2.6, 0.3, 0.0, 0.0, 900.0, 1100.0, 560.0, 900.0},
};

static void true_index(const kind *of, double nm, double *n, double *k)
{
    const double x = nm / 1000.0;
    *n = of->A + of->B / (x * x);
    *k = of->B == 0.3 ? pow(10.0, -8.0 + 1.5e6 / (nm * nm)) * nm / (4.0 * M_PI)
                      : of->K * exp(of->edge * (1.0 / x - 1.0 / 0.55));
}

/* R and T of the coated face alone. */
static void look_once(const world *w, const kind *of, double thickness_nm, double glass_n, double nm, double *R,
                      double *T)
{
    reference_layer layer = {.thickness_nm = thickness_nm};
    reference_value value[2];
    true_index(of, nm, &layer.n, &layer.k);
    const reference_stack stack = {.wavelength_nm = nm,
                                   .invariant_n = 1.0,
                                   .incident_n = 1.0,
                                   .substrate_n = glass_n,
                                   .layers = 1,
                                   .layer = &layer};
    reference_evaluate(w->engine, &stack, value);
    *R = 0.5 * (value[0].R + value[1].R);
    *T = 0.5 * (value[0].T + value[1].T);
}

typedef struct tally {
    size_t fits, refused, wrong_order, thickness, n, n_points, k, k_points, gradient;
    double n_error, n_sigma, seconds;
} tally;

static void count(const kind *of, double thickness_nm, const bc_layer_index_result *result, tally *all)
{
    all->fits++;
    if (fabs(result->thickness_nm[0] - thickness_nm) > 0.05 * thickness_nm)
        all->wrong_order++;
    all->thickness += fabs(result->thickness_nm[0] - thickness_nm) <= 2.0 * result->thickness_sigma_nm[0];
    all->gradient += result->chosen.shape != BC_LAYER_HOMOGENEOUS;
    for (size_t i = 0; i < result->count; i += 10) {
        double n, k;
        true_index(of, result->wavelength_nm[i], &n, &k);
        all->n += fabs(result->n[i] - n) <= 2.0 * result->n_sigma[i];
        all->n_points++;
        all->n_error += fabs(result->n[i] - n);
        all->n_sigma += result->n_sigma[i];
        /* where no k was found, an error below what shows in T is none */
        all->k += fabs(result->k[i] - k) <= 2.0 * result->k_sigma[i] + 2e-4;
        all->k_points++;
    }
}

static void one_layer(world *w, const kind *of, bool with_T, bool instrument_off, tally *all)
{
    static double nm[SCAN_POINTS];
    static double value[2][SCAN_POINTS];
    const double thickness = world_between(w, of->least_nm, of->most_nm),
                 about = thickness * world_between(w, 0.85, 1.15);
    const bool silica = of->A < 1.5;
    bc_materials *materials = w->materials;
    bc_layer_scan scan = {.polarization = BC_POL_UNPOLARIZED};
    bc_measurement measurement = {.count = SCAN_POINTS, .wavelength_nm = nm};
    bc_layer_index_result result;
    bc_error error;
    const double offset = instrument_off ? world_normal(w, 2.5e-4) : 0.0;
    const double scale = instrument_off ? 1.0 + world_normal(w, 2.5e-3) : 1.0;
    const double shift = instrument_off ? world_normal(w, 0.15) : 0.0;
    const clock_t began = clock();
    bc_medium_find(materials, "air", "here", &scan.incident, &error);
    bc_medium_find(materials, silica ? "1.75" : "1.46", "here", &scan.substrate, &error);
    for (size_t i = 0; i < SCAN_POINTS; i++) {
        nm[i] = of->from_nm + (of->to_nm - of->from_nm) * (double)i / (SCAN_POINTS - 1);
        look_once(w, of, thickness, silica ? 1.75 : 1.46, nm[i] + shift, &value[0][i], &value[1][i]);
        value[0][i] = scale * value[0][i] + offset + world_normal(w, 3e-4);
        value[1][i] += offset + world_normal(w, 3e-4);
    }
    measurement.R.value = value[0];
    measurement.T.value = with_T ? value[1] : NULL;
    scan.measurement = &measurement;
    const bc_layer_index_setup setup = {.scans = 1,
                                        .scan = &scan,
                                        .pieces = 1,
                                        .thickness_nm = &about,
                                        .uncertainty = 5e-4,
                                        .scale_uncertainty = 5e-3,
                                        .wavelength_uncertainty_nm = 0.3,
                                        .coverage_factor = 2.0};
    if (bc_index_from_scans(&setup, &result, &error) != BC_OK) {
        all->refused++;
        fprintf(stderr, "%s, %.0f nm: %s\n", of->name, thickness, error.message);
        return;
    }
    all->seconds += (double)(clock() - began) / CLOCKS_PER_SEC;
    count(of, thickness, &result, all);
    if (getenv("BC_EACH") != NULL)
        fprintf(stderr,
                "%s %.1f: %.2f +- %.2f, n model %d, k model %d, shape %d, misfit %.2f, next %d/%d +%.1f, other %.1f "
                "+%.0f, n mid %.4f+-%.4f\n",
                of->name, thickness, result.thickness_nm[0], result.thickness_sigma_nm[0], (int)result.chosen.n,
                (int)result.chosen.k, (int)result.chosen.shape, result.misfit, (int)result.next_model.n,
                (int)result.next_model.k, result.next_model.criterion - result.chosen.criterion,
                result.other_thickness_nm, result.other_criterion - result.chosen.criterion, result.n[30],
                result.n_sigma[30]);
    bc_layer_index_result_clear(&result);
}

void table_index(world *w, size_t runs)
{
    printf(
        "n, k and thickness of single layers; %zu layers of each kind, noise 0.03 %%, R alone or R and T; the offset,\n"
        "the scale of R and the wavelengths of the instrument off as stated (standard 0.025 %%, 0.25 %%, 0.15 nm), or\n"
        "right. Shares within two standard uncertainties; k within 0.0002 besides.\n"
        "%-14s %-4s %-5s  order wrong  refused  graded  d in 2u  n in 2u  k in 2u  |dn| mean  u(n) mean  s each\n",
        runs, "layer", "scan", "instr.");
    for (size_t m = 0; m < LAYERS; m++)
        for (int variant = 0; variant < 4 && strstr(kinds[m].name, w->only) != NULL; variant++) {
            tally all = {0};
            for (size_t r = 0; r < runs; r++)
                one_layer(w, &kinds[m], variant % 2 == 1, variant >= 2, &all);
            const double fits = all.fits > 0 ? (double)all.fits : 1.0,
                         points = all.n_points > 0 ? (double)all.n_points : 1.0;
            printf("%-14s %-4s %-5s  %11zu  %7zu  %6zu  %5.0f %%  %5.0f %%  %5.0f %%  %9.5f  %9.5f  %6.2f\n",
                   kinds[m].name, variant % 2 == 1 ? "R, T" : "R", variant >= 2 ? "off" : "right", all.wrong_order,
                   all.refused, all.gradient, 100.0 * (double)all.thickness / fits, 100.0 * (double)all.n / points,
                   100.0 * (double)all.k / points, all.n_error / points, all.n_sigma / points, all.seconds / fits);
            fflush(stdout);
        }
}
