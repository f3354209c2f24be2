/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_model.h"
#include "out_of_memory.h"
#include "witness.h"
#include <bloomcoat/layer_index.h>
#include <gsl/gsl_randist.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define POINTS 101

typedef struct single {
    double A, B, K, edge; /* n = A + B / x^2, k = K exp(edge (1/x - 1/0.55)), x in um */
    double nm, grading;   /* n at the top is higher by this share than at the substrate */
    double noise, offset, shift_nm;
    double ripple; /* of R and T, a period of 14 points */
    double substrate_n;
    double from_nm, to_nm;
    bc_back_kind back;
} single;

static const single oxide = {
    .A = 2.05, .B = 0.02, .nm = 431.0, .noise = 2e-4, .substrate_n = 1.46, .from_nm = 400.0, .to_nm = 1000.0};

static double n_of(const single *s, double nm)
{
    return s->A + s->B * 1e6 / (nm * nm);
}

static double k_of(const single *s, double nm)
{
    return s->K * exp(s->edge * (1000.0 / nm - 1.0 / 0.55));
}

/* The 256-bit reference; a graded layer in 15 sheets. */
static void scan_single(const single *s, gsl_rng *random, double *nm, double *R, double *T)
{
    enum { SHEETS = 15 };
    truth t = {.glass_n = s->substrate_n, .back = s->back, .layers = s->grading == 0.0 ? 1 : SHEETS};
    for (size_t i = 0; i < POINTS; i++) {
        double r, tr;
        nm[i] = s->from_nm + (s->to_nm - s->from_nm) * (double)i / (POINTS - 1);
        const double at = nm[i] + s->shift_nm;
        for (size_t j = 0; j < t.layers; j++) {
            const double up = 0.5 - ((double)j + 0.5) / (double)t.layers;
            t.layer[j] =
                (reference_layer){n_of(s, at) * (1.0 + s->grading * up), k_of(s, at), s->nm / (double)t.layers};
        }
        truth_spectrum(&t, 1, &at, &r, &tr);
        const double ripple = s->ripple * sin(2.0 * PI * (double)i / 14.0);
        R[i] = r + s->offset + ripple + gsl_ran_gaussian(random, s->noise);
        T[i] = tr + s->offset + ripple + gsl_ran_gaussian(random, s->noise);
    }
}

typedef struct fitted {
    bench b;
    double nm[POINTS], R[POINTS], T[POINTS];
    bc_status status;
    bc_error error;
    bc_layer_index_result result;
} fitted;

static void fit_as(const single *s, bc_back_kind stated, bool with_T, double about_nm, fitted *f)
{
    static const char *const index[] = {"1.9"};
    static const double thickness[] = {100.0};
    char glass[16];
    snprintf(glass, sizeof glass, "%g", s->substrate_n);
    bench_open(&f->b, glass, 1, index, thickness);
    scan_single(s, f->b.random, f->nm, f->R, f->T);
    const bc_measurement measurement = {
        .count = POINTS, .wavelength_nm = f->nm, .R.value = f->R, .T.value = with_T ? f->T : NULL};
    const bc_layer_scan scan = {.measurement = &measurement,
                                .incident = f->b.design.incident,
                                .substrate = f->b.design.substrate,
                                .back = stated};
    const bc_layer_index_setup setup = {.scans = 1,
                                        .scan = &scan,
                                        .pieces = 1,
                                        .thickness_nm = &about_nm,
                                        .uncertainty = 5e-4,
                                        .scale_uncertainty = 5e-3,
                                        .wavelength_uncertainty_nm = 0.3,
                                        .coverage_factor = 2.0};
    f->status = bc_index_from_scans(&setup, &f->result, &f->error);
}

static void fit(const single *s, bool with_T, double about_nm, fitted *f)
{
    fit_as(s, s->back, with_T, about_nm, f);
}

static void done(fitted *f)
{
    bc_layer_index_result_clear(&f->result);
    bench_close(&f->b);
}

/* Thickness, n and k within three standard uncertainties, which are small. */
static void expect_truth(const single *s, const fitted *f, double most_n_sigma)
{
    const bc_layer_index_result *result = &f->result;
    ck_assert_msg(f->status == BC_OK, "%s", f->error.message);
    ck_assert_double_le(fabs(result->thickness_nm[0] - s->nm), 3.0 * result->thickness_sigma_nm[0]);
    for (size_t i = 0; i < result->count; i += 15) {
        const double nm = result->wavelength_nm[i];
        ck_assert_double_le(fabs(result->n[i] - n_of(s, nm)), 3.0 * result->n_sigma[i]);
        ck_assert_double_le(result->n_sigma[i], most_n_sigma);
        ck_assert_double_le(fabs(result->k[i] - k_of(s, nm)), 3.0 * result->k_sigma[i] + 3e-4);
    }
}

/* The diagonal is the variances of the table; nothing is correlated by more than 1; and with thickness as n in the
 * middle is. */
static void expect_covariance(const bc_layer_index_result *result)
{
    double sigma[BC_LAYER_COVARIANCE];
    sigma[0] = result->thickness_sigma_nm[0];
    for (size_t p = 0; p < BC_LAYER_POINTS; p++) {
        const size_t row = bc_layer_point(result, p);
        sigma[1 + p] = result->n_sigma[row];
        sigma[1 + BC_LAYER_POINTS + p] = result->k_sigma[row];
    }
    ck_assert_uint_eq(bc_layer_point(result, 0), 0);
    ck_assert_uint_eq(bc_layer_point(result, BC_LAYER_POINTS - 1), result->count - 1);
    for (size_t a = 0; a < BC_LAYER_COVARIANCE; a++)
        for (size_t b = 0; b < BC_LAYER_COVARIANCE; b++) {
            const double product = sigma[a] * sigma[b], found = result->covariance[a][b];
            ck_assert_double_eq_tol(found, result->covariance[b][a], 1e-12 * product);
            ck_assert_double_le(fabs(found), product * (1.0 + 1e-9));
            if (a == b)
                ck_assert_double_eq_tol(found, product, 1e-9 * product);
        }
    ck_assert_double_eq_tol(result->covariance[0][3], result->correlation * sigma[0] * sigma[3],
                            1e-3 * sigma[0] * sigma[3]);
}

/* The criterion is QAICc (Burnham and Anderson, Model Selection and Multimodel Inference, 2nd ed., 2.5; from memory),
 * its misfit that of white noise here; what was not chosen is worse. */
static void expect_choice(const bc_layer_index_result *result)
{
    static const double prior[] = {2.5e-4, 2.5e-4, 2.5e-3, 0.15};
    const double instrument[] = {result->offset[0], result->offset[1], result->scale, result->wavelength_shift_nm};
    const size_t n[] = {1, 2, 3, 2, 4}, k[] = {0, 2, 2, 3};
    const bc_layer_model *chosen = &result->chosen, *next = &result->next_model;
    const bool plain = chosen->shape == BC_LAYER_HOMOGENEOUS;
    double chi2 = 0.0, points = 0.0;
    for (size_t c = 0; c < result->curves; c++)
        for (size_t i = 0; i < result->curve[c].count; i++, points += 1.0)
            chi2 += pow((result->curve[c].measured[i] - result->curve[c].fitted[i]) / result->curve[c].noise[i], 2.0);
    for (size_t i = 0; i < 4; i++)
        chi2 += pow(instrument[i] / prior[i], 2.0);
    ck_assert_uint_eq(chosen->parameters, result->pieces + n[chosen->n] + k[chosen->k] + (plain ? 0 : 1));
    const double p = (double)chosen->parameters, penalty = 2.0 * p + 2.0 * p * (p + 1.0) / (points - p - 1.0);
    ck_assert(chosen->criterion <= chi2 + penalty + 1e-6 && chosen->criterion >= chi2 / 1.6 + penalty);
    ck_assert_double_eq(chosen->thickness_nm, result->thickness_nm[0]);
    ck_assert(isfinite(next->criterion) && next->criterion >= chosen->criterion);
    ck_assert(next->n != chosen->n || next->k != chosen->k);
    ck_assert_double_eq_tol(next->thickness_nm / result->thickness_nm[0], 1.0, 0.05);
    if (plain)
        ck_assert_double_eq(result->homogeneous_criterion, chosen->criterion);
    else
        ck_assert_double_gt(result->homogeneous_criterion, chosen->criterion + 4.0);
    if (isfinite(result->other_criterion)) {
        ck_assert_double_gt(result->other_criterion, chosen->criterion);
        ck_assert_double_gt(fabs(result->other_thickness_nm / result->thickness_nm[0] - 1.0), 0.02);
    }
}

START_TEST(a_clear_layer)
{
    fitted f;
    single s = oxide;
    s.offset = 2e-4;
    s.shift_nm = 0.12;
    fit(&s, _i == 1, 500.0, &f);
    expect_truth(&s, &f, 0.003);
    ck_assert_int_eq(f.result.chosen.k, BC_K_NONE);
    ck_assert_int_eq(f.result.chosen.shape, BC_LAYER_HOMOGENEOUS);
    ck_assert_double_gt(f.result.other_criterion - f.result.chosen.criterion, 10.0);
    ck_assert_double_eq_tol(f.result.misfit, 1.0, 0.25);
    expect_choice(&f.result);
    done(&f);
}
END_TEST

/* What no model explains and neighbours share counts as more than so much noise. With noise s and a ripple a sin() the
 * residual is 1 + a^2 / (2 s^2) times the variance, and as many points are worth one as 1 + 2 times the sum of the
 * autocorrelations up to a quarter of the period: the standard uncertainty grows by the root of the product. */
START_TEST(a_ripple_makes_the_thickness_less_sure)
{
    double sigma_nm[2], length = 1.0;
    for (size_t way = 0; way < 2; way++) {
        single s = oxide;
        fitted f;
        s.ripple = way == 0 ? 0.0 : 2.0 * s.noise;
        fit(&s, true, 430.0, &f);
        ck_assert_msg(f.status == BC_OK, "%s", f.error.message);
        sigma_nm[way] = f.result.thickness_sigma_nm[0];
        done(&f);
    }
    for (int lag = 1; lag <= 3; lag++)
        length += 2.0 * 2.0 / 3.0 * cos(2.0 * PI * lag / 14.0) * (1.0 - lag / (double)POINTS);
    ck_assert_double_eq_tol(sigma_nm[1] / sigma_nm[0], sqrt(3.0 * length), 0.5);
}
END_TEST

START_TEST(an_absorbing_layer)
{
    fitted f;
    single s = oxide;
    s.K = 0.003;
    s.edge = 8.0;
    fit(&s, true, 380.0, &f);
    expect_truth(&s, &f, 0.003);
    expect_covariance(&f.result);
    expect_choice(&f.result);
    ck_assert_int_ne(f.result.chosen.k, BC_K_NONE);
    done(&f);
}
END_TEST

/* R. Swanepoel, J. Phys. E: Sci. Instrum. 16, 1214 (1983), simulated layer (from memory): n = 2.6 + 3e5 / nm^2,
 * log10(alpha nm) = -8 + 1.5e6 / nm^2, 1000 nm on s = 1.51; k = alpha nm / (4 pi). His envelope, from the same source:
 * for a clear layer the minima of T reach Tm = 4 n^2 s / (n^4 + n^2 (s^2 + 1) + s^2). */
START_TEST(a_published_layer)
{
    fitted f;
    single s = {.A = 2.6,
                .B = 0.3,
                .nm = 1000.0,
                .noise = 2e-4,
                .substrate_n = 1.51,
                .from_nm = 640.0,
                .to_nm = 900.0,
                .back = BC_BACK_UNCOATED};
    double least = 1.0, n, expected;
    fit(&s, true, 900.0, &f);
    expect_truth(&s, &f, 0.01);
    size_t at = 0;
    for (size_t i = 0; i < POINTS; i++)
        if (f.T[i] < least && f.nm[i] > 760.0) {
            least = f.T[i];
            at = i;
        }
    n = n_of(&s, f.nm[at]);
    expected = 4.0 * n * n * 1.51 / (pow(n, 4.0) + n * n * (1.51 * 1.51 + 1.0) + 1.51 * 1.51);
    ck_assert_double_eq_tol(least, expected, 2e-3);
    done(&f);
}
END_TEST

START_TEST(a_graded_layer)
{
    fitted f;
    single s = oxide;
    s.grading = _i == 0 ? 0.04 : -0.04;
    fit(&s, true, 450.0, &f);
    ck_assert_msg(f.status == BC_OK, "%s", f.error.message);
    ck_assert_int_eq(f.result.chosen.shape, BC_LAYER_GRADED);
    ck_assert_double_eq_tol(f.result.gradient, s.grading, 4.0 * f.result.gradient_sigma);
    ck_assert_double_lt(f.result.gradient_sigma, 0.005);
    ck_assert_double_eq_tol(f.result.thickness_nm[0], s.nm, 1.0);
    expect_choice(&f.result);
    done(&f);
}
END_TEST

static void expect_refusal(const single *s, const char *words)
{
    fitted f;
    fit(s, false, s->nm, &f);
    ck_assert_int_eq(f.status, BC_ERROR_INPUT);
    ck_assert_msg(strstr(f.error.message, words) != NULL, "%s", f.error.message);
    done(&f);
}

START_TEST(what_leaves_the_index_open_is_refused)
{
    single s = oxide;
    s.A = 1.46; /* as the substrate */
    s.B = 0.0;
    expect_refusal(&s, "do not differ from the bare substrate");
    s = oxide;
    s.K = 2.0;
    s.edge = 0.0;
    s.nm = 800.0;
    expect_refusal(&s, "opaque");
}
END_TEST

/* A back that is seen where it was said not to be, and the other way round. */
START_TEST(another_back_than_stated_is_refused)
{
    fitted f;
    single s = oxide;
    s.back = _i == 0 ? BC_BACK_UNCOATED : BC_BACK_NONE;
    fit_as(&s, _i == 0 ? BC_BACK_NONE : BC_BACK_UNCOATED, false, s.nm, &f);
    ck_assert_int_eq(f.status, BC_ERROR_INPUT);
    ck_assert_msg(strstr(f.error.message, _i == 0 ? "expected --back uncoated" : "expected --back none") != NULL, "%s",
                  f.error.message);
    done(&f);
}
END_TEST

/* Two thicknesses of one material, fitted together. */
START_TEST(two_pieces)
{
    fitted f;
    double R2[POINTS], T2[POINTS], about[] = {460.0, 200.0};
    static const char *const index[] = {"1.9"};
    static const double thickness[] = {100.0};
    single first = oxide, second = oxide;
    second.nm = 215.0;
    bench_open(&f.b, "1.46", 1, index, thickness);
    scan_single(&first, f.b.random, f.nm, f.R, f.T);
    scan_single(&second, f.b.random, f.nm, R2, T2);
    const bc_measurement measurement[] = {{.count = POINTS, .wavelength_nm = f.nm, .R.value = f.R},
                                          {.count = POINTS, .wavelength_nm = f.nm, .R.value = R2}};
    bc_layer_scan scan[2];
    for (size_t i = 0; i < 2; i++)
        scan[i] = (bc_layer_scan){.measurement = &measurement[i],
                                  .incident = f.b.design.incident,
                                  .substrate = f.b.design.substrate,
                                  .piece = i};
    const bc_layer_index_setup setup = {.scans = 2,
                                        .scan = scan,
                                        .pieces = 2,
                                        .thickness_nm = about,
                                        .uncertainty = 5e-4,
                                        .scale_uncertainty = 5e-3,
                                        .wavelength_uncertainty_nm = 0.3,
                                        .coverage_factor = 2.0};
    f.status = bc_index_from_scans(&setup, &f.result, &f.error);
    expect_truth(&first, &f, 0.003);
    ck_assert_double_eq_tol(f.result.thickness_nm[1], 215.0, 3.0 * f.result.thickness_sigma_nm[1]);
    done(&f);
}
END_TEST

static bc_status fit_in_scarce_memory(void *context, bc_error *error)
{
    const bc_layer_index_setup *setup = context;
    bc_layer_index_result result;
    const bc_status status = bc_index_from_scans(setup, &result, error);
    expect_memory_error(status == BC_OK || result.memory == NULL);
    bc_layer_index_result_clear(&result);
    return status;
}

START_TEST(memory_runs_out)
{
    fitted f;
    fit(&oxide, false, 440.0, &f);
    const bc_measurement measurement = {.count = 25, .wavelength_nm = f.nm + 40, .R.value = f.R + 40};
    const bc_layer_scan scan = {
        .measurement = &measurement, .incident = f.b.design.incident, .substrate = f.b.design.substrate};
    const double about = 440.0;
    bc_layer_index_setup setup = {
        .scans = 1, .scan = &scan, .pieces = 1, .thickness_nm = &about, .coverage_factor = 2.0};
    fail_each_allocation(fit_in_scarce_memory, &setup);
    done(&f);
}
END_TEST

/* The formulas as they are published, from the variables that a descent moves. */
START_TEST(formulas)
{
    const bc_index_range range = {0.4, 0.7, 1.0};
    const double cauchy[] = {1.95, 0.012, 0.0008}, sellmeier[] = {1.9, -1.0, 0.05, -1.5};
    const double bent[] = {-6.0, 3.0, 0.8};
    double c[BC_LAYER_COEFFICIENTS];
    ck_assert_uint_eq(bc_n_coefficients(BC_N_CAUCHY_3, cauchy, &range, c), 3);
    for (double x = 0.4; x < 1.0; x += 0.1)
        ck_assert_double_eq_tol(bc_n_at(BC_N_CAUCHY_3, cauchy, &range, x), c[0] + c[1] / (x * x) + c[2] / pow(x, 4.0),
                                1e-12);
    ck_assert_uint_eq(bc_n_coefficients(BC_N_SELLMEIER_2, sellmeier, &range, c), 4);
    ck_assert_double_lt(c[1], 0.4);
    ck_assert_double_gt(c[3], 1.0);
    for (double x = 0.4; x < 1.0; x += 0.1)
        ck_assert_double_eq_tol(pow(bc_n_at(BC_N_SELLMEIER_2, sellmeier, &range, x), 2.0),
                                1.0 + c[0] * x * x / (x * x - c[1] * c[1]) + c[2] * x * x / (x * x - c[3] * c[3]),
                                1e-12);
    ck_assert_double_eq_tol(bc_n_at(BC_N_SELLMEIER_2, sellmeier, &range, 0.7), 1.9, 1e-12);
    ck_assert_uint_eq(bc_k_variables(BC_K_BENT), 3);
    ck_assert_uint_eq(bc_k_coefficients(BC_K_BENT, bent, &range, c), 4);
    for (double x = 0.4; x < 1.0; x += 0.1) {
        const double u = 1.0 / x - 1.0 / c[2];
        ck_assert_double_eq_tol(bc_k_at(BC_K_BENT, bent, &range, x), c[0] * exp(c[1] * u + c[3] * u * u), 1e-12);
    }
    ck_assert_double_eq_tol(bc_k_at(BC_K_BENT, bent, &range, 0.7), exp(-6.0), 1e-12);
    ck_assert_uint_eq(bc_k_coefficients(BC_K_POWER, bent, &range, c), 3);
    for (double x = 0.4; x < 1.0; x += 0.1)
        ck_assert_double_eq_tol(bc_k_at(BC_K_POWER, bent, &range, x), c[0] * pow(c[2] / x, c[1]), 1e-12);
    ck_assert_uint_eq(bc_k_coefficients(BC_K_EXPONENTIAL, bent, &range, c), 3);
    for (double x = 0.4; x < 1.0; x += 0.1)
        ck_assert_double_eq_tol(bc_k_at(BC_K_EXPONENTIAL, bent, &range, x), c[0] * exp(c[1] * (1.0 / x - 1.0 / c[2])),
                                1e-12);
}
END_TEST

TCase *layer_index_case(void)
{
    TCase *tcase = tcase_create("layer index");
    tcase_set_timeout(tcase, 120.0);
    tcase_add_loop_test(tcase, a_clear_layer, 0, 2);
    tcase_add_test(tcase, a_ripple_makes_the_thickness_less_sure);
    tcase_add_test(tcase, an_absorbing_layer);
    tcase_add_test(tcase, a_published_layer);
    tcase_add_loop_test(tcase, a_graded_layer, 0, 2);
    tcase_add_test(tcase, what_leaves_the_index_open_is_refused);
    tcase_add_loop_test(tcase, another_back_than_stated_is_refused, 0, 2);
    tcase_add_test(tcase, two_pieces);
    tcase_add_test(tcase, memory_runs_out);
    tcase_add_test(tcase, formulas);
    return tcase;
}
