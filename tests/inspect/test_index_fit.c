/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The least squares behind an index from scans: curves against the 256-bit reference, the covariance against
 * differences, and what is told of a fit against what its covariance says.
 */
#include "index_fit.h"
#include "layer_index.h"
#include "witness.h"
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

#define FIRST  41
#define SECOND 30
#define MOST   64

/* Two pieces of one material: R and T of the first, R in p of the second, whose back is seen. */
typedef struct scene {
    bench b;
    double nm[2][FIRST], R[2][FIRST], T[FIRST], R_noise[2][FIRST], T_noise[FIRST], own[FIRST];
    bc_measurement measurement[2];
    bc_layer_scan scan[2];
    double about_nm[2];
    bc_layer_index_setup setup;
    bc_index_data data;
    bc_index_fit fit;
} scene;

static void open_scene(scene *s, size_t most)
{
    bc_error error = {0};
    memset(s, 0, sizeof *s);
    bench_open(&s->b, "1.46", 1, six_index, six_nm);
    for (size_t i = 0; i < 2; i++) {
        const size_t count = i == 0 ? FIRST : SECOND;
        for (size_t k = 0; k < count; k++) {
            s->nm[i][k] = i == 0 ? 420.0 + 10.0 * (double)k : 450.0 + 15.0 * (double)k;
            s->R[i][k] = 0.12 + 0.05 * sin(s->nm[i][k] / 40.0 + (double)i);
            s->R_noise[i][k] = 3e-4;
            s->T_noise[k] = 5e-4;
            s->own[k] = k == 3 ? 4e-4 : NAN;
        }
        s->measurement[i] = (bc_measurement){.count = count,
                                             .repeats = 100000,
                                             .wavelength_nm = s->nm[i],
                                             .R = {.value = s->R[i], .deviation = s->R_noise[i]}};
        s->scan[i] = (bc_layer_scan){.measurement = &s->measurement[i],
                                     .aoi_rad = i == 0 ? 0.3 : 0.5,
                                     .polarization = i == 0 ? BC_POL_UNPOLARIZED : BC_POL_P,
                                     .incident = s->b.design.incident,
                                     .substrate = s->b.design.substrate,
                                     .back = i == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED,
                                     .substrate_mm = 1.0,
                                     .piece = i};
    }
    for (size_t k = 0; k < FIRST; k++)
        s->T[k] = 0.88 - 0.05 * sin(s->nm[0][k] / 40.0);
    s->measurement[0].T = (bc_measured){.value = s->T, .deviation = s->T_noise};
    s->measurement[0].R.uncertainty = s->own;
    s->about_nm[0] = 300.0;
    s->about_nm[1] = 150.0;
    s->setup = (bc_layer_index_setup){.scans = 2,
                                      .scan = s->scan,
                                      .pieces = 2,
                                      .thickness_nm = s->about_nm,
                                      .uncertainty = 2e-3,
                                      .scale_uncertainty = 0.01,
                                      .wavelength_uncertainty_nm = 0.6,
                                      .coverage_factor = 2.0};
    ck_assert_int_eq(bc_index_data_open(&s->setup, most, &s->data, &error), BC_OK);
    ck_assert_int_eq(bc_index_fit_alloc(&s->data, &s->fit, &error), BC_OK);
}

static void close_scene(scene *s)
{
    bc_index_fit_free(&s->fit);
    bc_index_data_close(&s->data);
    bench_close(&s->b);
}

/* As many points as asked for, evenly taken; noise and a value's own uncertainty in quadrature. */
START_TEST(points_that_are_fitted)
{
    const size_t most = _i == 0 ? 2000 : 11;
    scene s;
    open_scene(&s, most);
    ck_assert_uint_eq(s.data.entries, 3);
    ck_assert_uint_eq(s.data.points, _i == 0 ? 2 * FIRST + SECOND : 3 * 11);
    ck_assert_double_eq_tol(s.data.range.from_um, 0.42, 1e-12);
    ck_assert_double_eq_tol(s.data.range.to_um, 0.45 + 0.015 * (SECOND - 1), 1e-12);
    ck_assert_double_eq_tol(s.data.range.middle_um, 0.5 * (0.42 + 0.45 + 0.015 * (SECOND - 1)), 1e-12);
    ck_assert(s.data.prior[0] == 1e-3 && s.data.prior[1] == 1e-3 && s.data.prior[2] == 5e-3 && s.data.prior[3] == 0.3);
    for (size_t e = 0; e < 3; e++) {
        const bc_index_entry *entry = &s.data.entry[e];
        const size_t scan = e == 2 ? 1 : 0, all = scan == 0 ? FIRST : SECOND;
        ck_assert(entry->which == scan && entry->scan == &s.scan[scan] && entry->quantity == (e == 1 ? BC_T : BC_R));
        ck_assert_uint_eq(entry->count, _i == 0 ? all : 11);
        for (size_t i = 0; i < entry->count; i++) {
            const size_t from = _i == 0 ? i : i * (all - 1) / 10;
            const double noise = e == 1 ? 5e-4 : 3e-4;
            ck_assert_double_eq(entry->wavelength_nm[i], s.nm[scan][from]);
            ck_assert_double_eq(entry->value[i], e == 1 ? s.T[from] : s.R[scan][from]);
            ck_assert_double_eq_tol(entry->noise[i], e == 0 && from == 3 ? 5e-4 : noise, 1e-12);
            ck_assert(entry->n0[i] == 1.0 && entry->ns[i] == 1.46 && entry->ks[i] == 0.0);
        }
    }
    close_scene(&s);
}
END_TEST

typedef struct model {
    bc_n_model n;
    bc_k_model k;
    bc_layer_shape shape;
    double of_n[4], of_k[3], of_shape;
} model;

static const model models[] = {
    {BC_N_CAUCHY_3, BC_K_EXPONENTIAL, BC_LAYER_ROUGH, {2.05, 0.02, 0.001}, {-6.0, 1.5}, 6.0},
    {BC_N_SELLMEIER_2, BC_K_BENT, BC_LAYER_GRADED, {2.05, -1.0, 0.02, -1.5}, {-5.5, 1.2, 0.4}, 0.06},
    {BC_N_CAUCHY_2, BC_K_POWER, BC_LAYER_HOMOGENEOUS, {2.05, 0.02}, {-5.0, 2.0}, 0.0},
    {BC_N_SELLMEIER_1, BC_K_NONE, BC_LAYER_ROUGH, {2.05, -1.0}, {0.0}, 4.0},
    {BC_N_CONSTANT, BC_K_NONE, BC_LAYER_HOMOGENEOUS, {2.05}, {0.0}, 0.0},
};
#define MODELS ((int)(sizeof models / sizeof *models))

static const double thickness_nm[2] = {310.0, 140.0}, instrument[BC_INSTRUMENT] = {8e-4, -6e-4, 3e-3, 0.25};

static void set(scene *s, const model *of)
{
    bc_index_fit *fit = &s->fit;
    double *v = fit->variable;
    fit->n = of->n;
    fit->k = of->k;
    fit->shape = of->shape;
    fit->rough = false;
    fit->variables = bc_index_fit_variables(&s->data, of->n, of->k, of->shape);
    memcpy(v, thickness_nm, sizeof thickness_nm);
    memcpy(v + bc_index_n_from(fit), of->of_n, bc_n_variables(of->n) * sizeof *v);
    memcpy(v + bc_index_n_from(fit) + bc_n_variables(of->n), of->of_k, bc_k_variables(of->k) * sizeof *v);
    if (of->shape != BC_LAYER_HOMOGENEOUS)
        v[bc_index_shape_from(fit)] = of->of_shape;
    memcpy(v + bc_index_instrument_from(fit), instrument, sizeof instrument);
    ck_assert_uint_eq(bc_index_instrument_from(fit), bc_index_shape_from(fit) + (of->shape != BC_LAYER_HOMOGENEOUS));
}

/* Bruggeman's effective medium of two in equal parts (Ann. Phys. 24, 636 (1935); from memory), found by halving. */
static double equal_parts(double a, double b)
{
    double low = fmin(a, b), high = fmax(a, b);
    for (int i = 0; i < 100; i++) {
        const double e = 0.5 * (low + high);
        if ((a - e) / (a + 2.0 * e) + (b - e) / (b + 2.0 * e) > 0.0)
            low = e;
        else
            high = e;
    }
    return 0.5 * (low + high);
}

/* What a right instrument would show, by the reference, where this one says `nm`. */
static void true_values(const model *of, const bc_index_range *range, size_t piece, double at_nm, double *R, double *T)
{
    const double n = bc_n_at(of->n, of->of_n, range, at_nm / 1000.0),
                 k = bc_k_at(of->k, of->of_k, range, at_nm / 1000.0);
    truth t = {.glass_n = 1.46,
               .layers = of->shape == BC_LAYER_GRADED ? 16 : 1,
               .back = piece == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED,
               .aoi_rad = piece == 0 ? 0.3 : 0.5,
               .polarization = piece == 0 ? BC_POL_UNPOLARIZED : BC_POL_P};
    for (size_t j = 0; j < t.layers; j++) {
        const double up = t.layers == 1 ? 0.0 : 0.5 - ((double)j + 0.5) / 16.0;
        t.layer[j] = (reference_layer){n * (1.0 + of->of_shape * up), k, thickness_nm[piece] / (double)t.layers};
    }
    if (of->shape == BC_LAYER_ROUGH) {
        t.layer[1] = (reference_layer){n, k, thickness_nm[piece]};
        t.layer[0] = (reference_layer){sqrt(equal_parts(n * n, 1.0)), 0.5 * k, of->of_shape};
        t.layers = 2;
    }
    truth_spectrum(&t, 1, &at_nm, R, T);
}

START_TEST(curves_of_every_shape)
{
    const model *of = &models[_i];
    double chi2 = 0.0;
    scene s;
    open_scene(&s, 11);
    set(&s, of);
    ck_assert_int_eq(bc_index_evaluate(&s.data, &s.fit, NULL), BC_OK);
    for (size_t e = 0; e < 3; e++)
        for (size_t i = 0; i < 11; i++) {
            const bc_index_entry *entry = &s.data.entry[e];
            double R, T;
            true_values(of, &s.data.range, entry->which, entry->wavelength_nm[i] + 0.25, &R, &T);
            ck_assert_double_eq_tol(entry->fitted[i], e == 1 ? T - 6e-4 : R * 1.003 + 8e-4, 1e-10);
            ck_assert_double_eq_tol(entry->curve[i], e == 1 ? T : R, 1e-10);
            chi2 += pow((entry->fitted[i] - entry->value[i]) / entry->noise[i], 2.0);
        }
    for (size_t p = 0; p < BC_INSTRUMENT; p++)
        chi2 += pow(instrument[p] / s.data.prior[p], 2.0);
    ck_assert_double_eq_tol(s.fit.chi2 / chi2, 1.0, 1e-9);
    close_scene(&s);
}
END_TEST

/* What is measured is what the model shows, so that a descent ends near it. */
static void measure(scene *s, const model *of)
{
    set(s, of);
    ck_assert_int_eq(bc_index_evaluate(&s->data, &s->fit, NULL), BC_OK);
    for (size_t e = 0; e < 3; e++)
        for (size_t i = 0; i < s->data.entry[e].count; i++)
            s->data.entry[e].value[i] = s->data.entry[e].fitted[i] + 2e-4 * sin((double)(5 * i + e));
}

/* All rows of the least squares, at the variables as they are. */
static size_t rows_of(scene *s, double *f)
{
    size_t row = 0;
    ck_assert_int_eq(bc_index_compute(&s->data, &s->fit, NULL), BC_OK);
    for (size_t e = 0; e < 3; e++)
        for (size_t i = 0; i < s->data.entry[e].count; i++) {
            const bc_index_entry *entry = &s->data.entry[e];
            f[row++] = (entry->fitted[i] - entry->value[i]) / entry->noise[i];
        }
    for (size_t p = 0; p < BC_INSTRUMENT; p++)
        f[row++] =
            s->data.prior[p] > 0.0 ? s->fit.variable[bc_index_instrument_from(&s->fit) + p] / s->data.prior[p] : 0.0;
    return row;
}

/* J^T J and J^T f of the variables `of` by central differences. */
static void differentiate(scene *s, size_t variables, const size_t *of, gsl_matrix *square, double *pull)
{
    enum { ROWS = 3 * 21 + BC_INSTRUMENT };
    static double J[MOST][ROWS], side[2][ROWS], f[ROWS];
    rows_of(s, f);
    for (size_t v = 0; v < variables; v++) {
        double *variable = &s->fit.variable[of[v]];
        const double kept = *variable, step = 1e-5 * fmax(fabs(kept), 0.01);
        for (int up = 0; up < 2; up++) {
            *variable = kept + (up == 1 ? step : -step);
            rows_of(s, side[up]);
        }
        *variable = kept;
        for (size_t row = 0; row < ROWS; row++)
            J[v][row] = (side[1][row] - side[0][row]) / (2.0 * step);
    }
    for (size_t v = 0; v < variables; v++) {
        pull[v] = 0.0;
        for (size_t row = 0; row < ROWS; row++)
            pull[v] += J[v][row] * f[row];
        for (size_t w = 0; w < variables; w++) {
            double sum = 0.0;
            for (size_t row = 0; row < ROWS; row++)
                sum += J[v][row] * J[w][row];
            gsl_matrix_set(square, v, w, sum);
        }
    }
}

/* Loop: every model, with the instrument free, held, and with a scale and an offset of R that are right. */
START_TEST(a_descent_ends_at_the_minimum)
{
    const model *of = &models[_i / 3];
    double pull[MOST];
    size_t chosen[MOST], variables = 0;
    scene s;
    open_scene(&s, 21);
    measure(&s, of);
    s.fit.rough = _i % 3 == 1;
    if (_i % 3 == 2 && of->shape != BC_LAYER_ROUGH) /* then a rough top would be looked for on both sides of none */
        s.data.prior[0] = s.data.prior[2] = 0.0;
    s.fit.variable[0] *= 1.004;
    s.fit.variable[1] *= 0.997;
    s.fit.variable[2] += 0.005;
    ck_assert_int_eq(bc_index_descend(&s.data, &s.fit, 60, NULL), BC_OK);
    const size_t all = s.fit.variables, instrument_from = all - BC_INSTRUMENT;
    for (size_t v = 0; v < all; v++) {
        if (v < instrument_from || (_i % 3 != 1 && s.data.prior[v - instrument_from] > 0.0)) {
            chosen[variables++] = v;
            continue;
        }
        ck_assert_double_eq(s.fit.variable[v], 0.0);
        ck_assert(s.fit.covariance[v * all + v] == 0.0 && s.fit.covariance[v] == 0.0);
    }
    gsl_matrix *square = gsl_matrix_alloc(variables, variables);
    differentiate(&s, variables, chosen, square, pull);
    for (size_t v = 0; v < variables; v++)
        ck_assert_double_lt(fabs(pull[v]) / sqrt(gsl_matrix_get(square, v, v)), 0.1);
    gsl_linalg_cholesky_decomp1(square);
    gsl_linalg_cholesky_invert(square);
    for (size_t v = 0; v < variables; v++)
        for (size_t w = 0; w < variables; w++)
            ck_assert_double_eq_tol(s.fit.covariance[chosen[v] * all + chosen[w]], gsl_matrix_get(square, v, w),
                                    0.02 * sqrt(gsl_matrix_get(square, v, v) * gsl_matrix_get(square, w, w)));
    gsl_matrix_free(square);
    close_scene(&s);
}
END_TEST

/* What is told of a fit follows from its variables and their covariance, here made up. */
START_TEST(what_is_told_of_a_fit)
{
    const model *of = &models[_i];
    const double spread = 1.7;
    double row[BC_LAYER_COVARIANCE][MOST], weighted = 0.0, plain = 0.0, noise = 0.0, transmitted = 0.0;
    bc_layer_index_result result = {0};
    scene s;
    open_scene(&s, 11);
    measure(&s, of);
    const size_t all = s.fit.variables, from = bc_index_n_from(&s.fit), k_from = from + bc_n_variables(of->n);
    double *v = s.fit.variable, *C = s.fit.covariance;
    for (size_t a = 0; a < all; a++)
        for (size_t b = 0; b < all; b++)
            C[a * all + b] = (a == b ? 1.0 : 0.3 / (1.0 + fabs((double)a - (double)b))) * 1e-4 * (1.0 + (double)a) *
                             (1.0 + (double)b);
    ck_assert_int_eq(bc_layer_index_fill(&s.data, &s.fit, (bc_layer_model){.parameters = 7}, spread, &result, NULL),
                     BC_OK);
    ck_assert(result.count == 61 && result.pieces == 2 && result.curves == 3 && result.chosen.parameters == 7);
    for (size_t i = 0; i < 61; i++) {
        const double x = s.data.range.from_um + (s.data.range.to_um - s.data.range.from_um) * (double)i / 60.0;
        ck_assert_double_eq_tol(result.wavelength_nm[i], 1000.0 * x, 1e-9);
        ck_assert_double_eq_tol(result.n[i], bc_n_at(of->n, v + from, &s.data.range, x), 1e-12);
        ck_assert_double_eq_tol(result.k[i], bc_k_at(of->k, v + k_from, &s.data.range, x), 1e-15);
        transmitted = fmax(transmitted, exp(-4.0 * PI * result.k[i] * thickness_nm[0] / (1000.0 * x)));
    }
    memset(row, 0, sizeof row);
    row[0][0] = 1.0;
    for (size_t p = 0; p < BC_LAYER_POINTS; p++)
        for (size_t a = from; a < bc_index_shape_from(&s.fit); a++) {
            const double x = result.wavelength_nm[15 * p] / 1000.0, kept = v[a], step = 1e-5;
            double n[2], k[2];
            for (int up = 0; up < 2; up++) {
                v[a] = kept + (up == 1 ? step : -step);
                n[up] = bc_n_at(of->n, v + from, &s.data.range, x);
                k[up] = bc_k_at(of->k, v + k_from, &s.data.range, x);
            }
            v[a] = kept;
            row[1 + p][a] = (n[1] - n[0]) / (2.0 * step);
            row[1 + BC_LAYER_POINTS + p][a] = (k[1] - k[0]) / (2.0 * step);
        }
    for (size_t a = 0; a < BC_LAYER_COVARIANCE; a++)
        for (size_t b = 0; b < BC_LAYER_COVARIANCE; b++) {
            double sum = 0.0;
            for (size_t i = 0; i < all; i++)
                for (size_t j = 0; j < all; j++)
                    sum += spread * row[a][i] * C[i * all + j] * row[b][j];
            ck_assert_double_eq_tol(result.covariance[a][b], sum, 1e-6 * fabs(sum) + 1e-12);
        }
    for (size_t p = 0; p < BC_LAYER_POINTS; p++) {
        ck_assert_double_eq_tol(pow(result.n_sigma[15 * p], 2.0) / result.covariance[1 + p][1 + p], 1.0, 1e-9);
        const size_t of_k = 1 + BC_LAYER_POINTS + p;
        ck_assert_double_eq_tol(pow(result.k_sigma[15 * p], 2.0), result.covariance[of_k][of_k], 1e-12);
    }
    ck_assert_double_eq_tol(result.correlation,
                            result.covariance[0][3] / sqrt(result.covariance[0][0] * result.covariance[3][3]), 1e-9);
    for (size_t p = 0; p < 2; p++) {
        ck_assert_double_eq(result.thickness_nm[p], thickness_nm[p]);
        ck_assert_double_eq_tol(result.thickness_sigma_nm[p], sqrt(spread * C[p * all + p]), 1e-12);
    }
    const size_t at = bc_index_shape_from(&s.fit);
    const double of_shape = of->shape == BC_LAYER_HOMOGENEOUS ? 0.0 : sqrt(spread * C[at * all + at]);
    ck_assert_double_eq(result.gradient, of->shape == BC_LAYER_GRADED ? of->of_shape : 0.0);
    ck_assert_double_eq(result.rough_nm, of->shape == BC_LAYER_ROUGH ? of->of_shape : 0.0);
    ck_assert_double_eq_tol(result.gradient_sigma, of->shape == BC_LAYER_GRADED ? of_shape : 0.0, 1e-12);
    ck_assert_double_eq_tol(result.rough_sigma_nm, of->shape == BC_LAYER_ROUGH ? of_shape : 0.0, 1e-12);
    for (size_t e = 0; e < 3; e++)
        for (size_t i = 0; i < 11; i++) {
            const bc_layer_curve *curve = &result.curve[e];
            const double off = curve->measured[i] - curve->fitted[i];
            weighted += off * off / (curve->noise[i] * curve->noise[i]) / 33.0;
            plain += off * off / 33.0;
            noise += curve->noise[i] * curve->noise[i] / 33.0;
            ck_assert_double_eq(curve->wavelength_nm[i], s.data.entry[e].wavelength_nm[i]);
        }
    ck_assert_double_eq_tol(result.misfit, sqrt(weighted), 1e-12);
    ck_assert_double_eq_tol(result.residual, sqrt(plain), 1e-12);
    ck_assert_double_eq_tol(result.noise, sqrt(noise), 1e-12);
    ck_assert_double_eq_tol(result.transmitted, transmitted, 1e-12);
    ck_assert_double_eq_tol(
        result.fringes, 2.0 * result.n[30] * 310.0 * (1.0 / result.wavelength_nm[0] - 1.0 / result.wavelength_nm[60]),
        1e-9);
    ck_assert(result.offset[0] == 8e-4 && result.offset[1] == -6e-4 && result.scale == 3e-3 &&
              result.wavelength_shift_nm == 0.25);
    bc_layer_index_result_clear(&result);
    close_scene(&s);
}
END_TEST

TCase *index_fit_case(void)
{
    TCase *tests = tcase_create("index_fit");
    tcase_add_loop_test(tests, points_that_are_fitted, 0, 2);
    tcase_add_loop_test(tests, curves_of_every_shape, 0, MODELS);
    tcase_add_loop_test(tests, a_descent_ends_at_the_minimum, 0, 3 * MODELS);
    tcase_add_loop_test(tests, what_is_told_of_a_fit, 0, MODELS);
    return tests;
}
