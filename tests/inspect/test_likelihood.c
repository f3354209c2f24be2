/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a history says of its chamber, against one normal distribution of all its layers (dense.h), and the figures made
 * of it against their formulas.
 */
#include "dense.h"
#include "learn.h"
#include "tooling.h"
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUNS 7

/* Two designs of two materials; the runs of the second lie between those of the first. */
static const double first_nm[3] = {90.0, 120.0, 40.0}, second_nm[2] = {60.0, 150.0};
static const char *const first_of[3] = {"low", "high", "low"}, *const second_of[2] = {"high", "low"};

static bc_process_row rows[2] = {{.material = "low",
                                  .tooling = 1.1,
                                  .thickness_sigma = 0.012,
                                  .run_thickness_sigma = 0.01,
                                  .has_tooling = true,
                                  .has_thickness_sigma = true,
                                  .has_run_thickness_sigma = true},
                                 {.material = "high", .index_sigma = 0.004, .has_index_sigma = true}};
static const bc_process process = {.rows = 2, .row = rows, .has_tooling = true};

typedef struct history {
    bc_learn_layer layer[RUNS][3];
    double information[RUNS][9], pull[RUNS][3];
    bc_learn_index index[RUNS];
    bc_learn_run run[RUNS];
} history;

static bool is_first(size_t r)
{
    return r % 3 != 1;
}

/* Layers as they were measured, `drift` from first to last in the first material, with made-up errors of 1 %. */
static void make(history *h, double drift)
{
    memset(h, 0, sizeof *h);
    for (size_t r = 0; r < RUNS; r++) {
        const size_t layers = is_first(r) ? 3 : 2;
        double thickness_nm[3];
        h->run[r] = (bc_learn_run){.layers = layers,
                                   .layer = h->layer[r],
                                   .information = h->information[r],
                                   .pull = h->pull[r],
                                   .of_instrument = r == 3 ? 0.002 : 0.001};
        for (size_t j = 0; j < layers; j++) {
            bc_learn_layer *layer = &h->layer[r][j];
            strcpy(layer->material, is_first(r) ? first_of[j] : second_of[j]);
            layer->design_nm = is_first(r) ? first_nm[j] : second_nm[j];
            layer->against = strcmp(layer->material, "high") == 0;
            layer->tooling = r == 2 ? 1.12 : r == 5 ? 1.09 : 0.0;
            thickness_nm[j] = layer->design_nm * (1.02 + 0.01 * sin((double)(7 * r + 3 * j * j + 1)) +
                                                  (layer->against ? 0.0 : drift * ((double)r / (RUNS - 1) - 0.5)));
        }
        for (size_t j = 0; j < layers; j++) {
            for (size_t k = 0; k < layers; k++)
                h->information[r][j * layers + k] =
                    j == k ? 4.0 + (double)j + 0.3 * (double)r : 0.8 - 0.3 * (double)(j + k);
            for (size_t k = 0; k < layers; k++)
                h->pull[r][j] += h->information[r][j * layers + k] * thickness_nm[k];
        }
    }
}

/* The same as one normal distribution: factors, lines if there are, and a column for every layer of a design. */
static void lay_out(const history *h, bool lines, dense *d)
{
    static const size_t first_column[3] = {0, 1, 2}, second_column[2] = {3, 4};
    *d = (dense){.materials = 2, .sigmas = 4, .prior_log = 1.1, .fixed = lines ? 4 : 2};
    d->unknowns = d->fixed + 5;
    d->centre[0] = log(0.012); /* of the first run's outer layer */
    d->centre[1] = d->centre[2] = log(0.01);
    d->centre[3] = log(0.003);
    for (size_t r = 0; r < RUNS; r++) {
        double shift[3], nm[3];
        const size_t at = d->count, layers = h->run[r].layers;
        for (size_t j = 0; j < layers; j++) {
            const bc_learn_layer *layer = &h->layer[r][j];
            const size_t m = layer->against ? 1 : 0, column = is_first(r) ? first_column[j] : second_column[j];
            nm[j] = layer->design_nm;
            shift[j] = layer->tooling > 0.0 ? layer->tooling / (m == 0 ? 1.1 : 1.0) - 1.0 : 0.0;
            d->material[at + j] = m;
            d->sign[at + j] = layer->against ? -1.0 : 1.0;
            d->X[at + j][m] = 1.0;
            if (lines)
                d->X[at + j][2 + m] = (double)r / (RUNS - 1) - 0.5;
            d->X[at + j][d->fixed + column] = 1.0;
        }
        dense_add(d, r, layers, nm, h->information[r], h->pull[r], shift);
    }
}

static void open_fit(const history *h, bool lines, bc_learn_fit *fit, bc_learn_result *result)
{
    *fit = (bc_learn_fit){0};
    *result = (bc_learn_result){.runs = RUNS};
    ck_assert_int_eq(bc_learn_set_up(RUNS, h->run, &process, fit, result, NULL), BC_OK);
    ck_assert_uint_eq(result->designs, 2);
    ck_assert_uint_eq(result->materials, 2);
    ck_assert(result->material[0].layers == 12 && result->material[1].layers == 7);
    ck_assert(result->material[0].runs == RUNS && result->material[1].runs == RUNS);
    ck_assert(fit->has_layers);
    fit->has_lines = lines;
    ck_assert_int_eq(bc_learn_fit_room(fit, NULL), BC_OK);
}

static void close_fit(bc_learn_fit *fit, bc_learn_result *result)
{
    bc_learn_fit_clear(fit);
    bc_learn_clear_parts(fit, RUNS);
    bc_learn_result_clear(result);
}

/* At any sigmas, but for a constant; and what is known of the factors, the lines and the layers. Loop: without lines,
 * with lines. */
START_TEST(likelihood_of_a_history)
{
    static const double at[3][4] = {{-4.3, -4.9, -4.6, -5.8}, {-3.8, -4.4, -5.3, -4.9}, {-5.0, -4.0, -4.1, -6.5}};
    static const double beyond[2] = {0.1, -14.0};
    bc_learn_fit fit;
    bc_learn_result result;
    history h;
    dense d;
    double constant = 0.0;
    gsl_vector *log_sigma = gsl_vector_alloc(4), *unit;
    make(&h, 0.03);
    lay_out(&h, _i == 1, &d);
    open_fit(&h, _i == 1, &fit, &result);
    ck_assert_uint_eq(fit.unknowns, d.unknowns);
    unit = gsl_vector_alloc(fit.unknowns);
    for (size_t t = 0; t < 3; t++) {
        double mean[DENSE_UNKNOWNS], covariance[DENSE_UNKNOWNS][DENSE_UNKNOWNS];
        for (size_t i = 0; i < 4; i++)
            gsl_vector_set(log_sigma, i, at[t][i]);
        const double away = bc_learn_objective(log_sigma, &fit) - dense_objective(&d, at[t], mean, covariance);
        constant = t == 0 ? away : constant;
        ck_assert_double_eq_tol(away, constant, 1e-7);
        for (size_t u = 0; u < fit.unknowns; u++) {
            ck_assert_double_eq_tol(gsl_vector_get(fit.shared, u), mean[u], 1e-9);
            gsl_vector_set_basis(unit, u);
            gsl_linalg_cholesky_svx(fit.normal, unit);
            for (size_t v = 0; v < fit.unknowns; v++)
                ck_assert_double_eq_tol(gsl_vector_get(unit, v), covariance[u][v], 1e-9);
        }
    }
    for (size_t i = 0; i < 8; i++) { /* no sigma is more than 1, or as good as nothing */
        const double kept = gsl_vector_get(log_sigma, i / 2);
        gsl_vector_set(log_sigma, i / 2, beyond[i % 2]);
        ck_assert_double_ge(bc_learn_objective(log_sigma, &fit), 1e300);
        gsl_vector_set(log_sigma, i / 2, kept);
    }
    gsl_vector_free(unit);
    gsl_vector_free(log_sigma);
    close_fit(&fit, &result);
}
END_TEST

/* 95 % of a sigma known with so many degrees of freedom, by chi-squared, but no wider than the prior. */
static void expect_sigma(const bc_learn_sigma *sigma, double value, double variance, bool needed)
{
    const double freedom = 0.5 / variance, widest = exp(1.959964 * 1.1);
    const double known = 0.5 * (1.0 / variance - 1.0 / (1.1 * 1.1));
    ck_assert_double_eq_tol(sigma->freedom / freedom, 1.0, 1e-6);
    ck_assert_double_eq_tol(sigma->sigma.value / value, 1.0, 1e-6);
    ck_assert_double_eq_tol(sigma->sigma.low / value,
                            fmax(1.0 / widest, sqrt(freedom / gsl_cdf_chisq_Qinv(0.025, freedom))), 1e-5);
    ck_assert_double_eq_tol(sigma->sigma.high / value, fmin(widest, sqrt(freedom / gsl_cdf_chisq_Pinv(0.025, freedom))),
                            1e-4);
    double least = 1.0;
    while (least / gsl_cdf_chisq_Pinv(0.025, least) > 1.2 * 1.2)
        least += 1.0;
    const double runs = ceil(RUNS * least / known - 1e-9);
    ck_assert_double_eq((double)sigma->runs_needed, needed && runs <= 1000.0 ? runs : 0.0);
}

static double three_digits(double runs)
{
    char text[32];
    snprintf(text, sizeof text, "%.2e", runs);
    return fmin(fmax(strtod(text, NULL), 2.0), 1e6);
}

/* What runs a material's figures are worth (Satterthwaite's degrees of freedom, of variances). */
static void expect_worth(const bc_learn_result *out, size_t m)
{
    const bc_learn_material *material = &out->material[m];
    const bc_process_row row = bc_process_for(&out->process, material->name);
    const double own = pow(material->within.sigma.value, 2.0), layers = pow(out->between_layers.sigma.value, 2.0);
    const double freedom =
        pow(own + layers, 2.0) / (own * own / material->within.freedom + layers * layers / out->between_layers.freedom);
    const double drifted = material->drift.drifts ? 0.5 * material->drift.change.value : 0.0;
    const double off =
        material->factor_variance + pow(material->factor.value - material->correction, 2.0) + drifted * drifted;
    const double run = out->between_runs.sigma.value;
    ck_assert_double_eq_tol(row.thickness_sigma, sqrt(own + layers), 1e-12);
    ck_assert_double_eq_tol(row.run_thickness_sigma, run, 1e-12);
    ck_assert_double_eq(row.runs.counted, RUNS);
    ck_assert_double_eq_tol(row.runs.tooling / three_digits((own + layers + run * run) / off), 1.0, 1e-9);
    ck_assert_double_eq_tol(row.runs.thickness_sigma / three_digits(freedom + 1.0), 1.0, 1e-9);
    ck_assert_double_eq_tol(row.runs.run_thickness_sigma / three_digits(out->between_runs.freedom + 1.0), 1.0, 1e-9);
}

/* The factor: mean and variance of the whole distribution, the instrument's part, and Student's t with as many degrees
 * of freedom as runs and layers leave. */
static void expect_factor(const dense *d, const double *best, const bc_learn_result *out, size_t m)
{
    const bc_learn_material *material = &out->material[m];
    double mean[DENSE_UNKNOWNS], covariance[DENSE_UNKNOWNS][DENSE_UNKNOWNS], none[DENSE_UNKNOWNS][DENSE_UNKNOWNS];
    const double without[4] = {best[0], best[1], best[2], log(1e-5)}, runs = RUNS - (d->fixed == 4 ? 2.0 : 1.0);
    double probability;
    dense_objective(d, best, mean, covariance);
    dense_objective(d, without, NULL, none);
    const double of_layers = fmax(0.0, covariance[m][m] - none[m][m]), variance = covariance[m][m] + 0.002 * 0.002;
    const double freedom = fmax(1.0, pow(covariance[m][m], 2.0) / (pow(none[m][m], 2.0) / runs +
                                                                   pow(of_layers, 2.0) / out->between_layers.freedom));
    const double t = gsl_cdf_tdist_Pinv(0.975, freedom);
    ck_assert_double_eq_tol(material->factor.value, 1.0 + mean[m], 1e-7);
    ck_assert_double_eq_tol(material->factor_variance / variance, 1.0, 1e-5);
    ck_assert_double_eq_tol(material->factor.high, 1.0 + mean[m] + t * sqrt(variance), 1e-6);
    ck_assert_double_eq_tol(material->factor.low, 1.0 + mean[m] - t * sqrt(variance), 1e-6);
    ck_assert_double_eq_tol(material->correction,
                            bc_tooling_correction(mean[m], variance * pow(t / 1.959964, 2.0), &probability), 1e-6);
    ck_assert_double_eq_tol(material->probability, probability, 1e-5);
    ck_assert_double_eq_tol(material->next_tooling, (m == 0 ? 1.1 : 1.0) * material->correction, 1e-12);
    ck_assert_int_eq(material->tooling_known, m == 0);
}

/* Loop: as they were made, and with a drift that is found: then all is about the lines. */
START_TEST(figures_of_a_history)
{
    double best[4], variance[4], mean[DENSE_UNKNOWNS], covariance[DENSE_UNKNOWNS][DENSE_UNKNOWNS];
    bc_learn_fit fit;
    bc_learn_result result, out;
    bc_error error = {0};
    history h;
    dense d;
    gsl_vector *log_sigma = gsl_vector_alloc(4);
    make(&h, _i == 0 ? 0.0 : 0.2);
    ck_assert_msg(bc_learn(RUNS, h.run, &process, &out, &error) == BC_OK, "%s", error.message);
    ck_assert(out.drift_known && out.about_lines == (_i == 1));
    open_fit(&h, true, &fit, &result); /* the lines first */
    ck_assert_int_eq(bc_learn_search(&fit, log_sigma, NULL), BC_OK);
    for (size_t i = 0; i < 4; i++)
        best[i] = gsl_vector_get(log_sigma, i);
    lay_out(&h, true, &d);
    dense_objective(&d, best, mean, covariance);
    for (size_t m = 0; m < 2; m++) {
        const bc_learn_drift *drift = &out.material[m].drift;
        const double sigma = sqrt(covariance[2 + m][2 + m]), t = gsl_cdf_tdist_Pinv(0.975, RUNS - 2.0);
        ck_assert_double_eq_tol(drift->change.value, mean[2 + m], 1e-7);
        ck_assert_double_eq_tol(drift->change.high, mean[2 + m] + t * sigma, 1e-6);
        ck_assert_double_eq_tol(drift->change.low, mean[2 + m] - t * sigma, 1e-6);
        ck_assert_double_eq_tol(drift->chance, 2.0 * gsl_cdf_tdist_Q(fabs(mean[2 + m]) / sigma, RUNS - 2.0), 1e-6);
        ck_assert_int_eq(drift->drifts, _i == 1 && m == 0);
    }
    if (_i == 0) {
        close_fit(&fit, &result);
        open_fit(&h, false, &fit, &result);
        ck_assert_int_eq(bc_learn_search(&fit, log_sigma, NULL), BC_OK);
        lay_out(&h, false, &d);
    }
    for (size_t i = 0; i < 4; i++)
        best[i] = gsl_vector_get(log_sigma, i);
    const double least = dense_objective(&d, best, NULL, NULL);
    for (size_t i = 0; i < 8; i++) { /* it is the minimum */
        double near[4];
        memcpy(near, best, sizeof near);
        near[i / 2] += i % 2 == 0 ? 0.02 : -0.02;
        ck_assert_double_gt(dense_objective(&d, near, NULL, NULL), least);
    }
    ck_assert_int_eq(bc_learn_variances(&fit, log_sigma, variance, NULL), BC_OK);
    for (size_t m = 0; m < 2; m++) {
        expect_sigma(&out.material[m].within, exp(best[m]), variance[m], true);
        expect_factor(&d, best, &out, m);
        expect_worth(&out, m);
    }
    expect_sigma(&out.between_runs, exp(best[2]), variance[2], true);
    expect_sigma(&out.between_layers, exp(best[3]), variance[3], false);
    ck_assert_double_eq(out.material[0].within.before, 0.012);
    ck_assert(isnan(out.material[1].within.before) && isnan(out.between_layers.before));
    ck_assert_double_eq(out.between_runs.before, 0.01);
    ck_assert_double_eq(out.material[1].index_before, 0.004);
    ck_assert(isnan(out.material[0].index_before));
    gsl_vector_free(log_sigma);
    close_fit(&fit, &result);
    bc_learn_result_clear(&out);
}
END_TEST

/* Of values known alike the restricted likelihood is that of their sum of squares: the variance of the values is tau^2
 * + s^2, and its curvature in log tau is 2 (n - 1) (tau^2 / (tau^2 + s^2))^2 (Harville, J. Am. Stat. Assoc. 72, 320
 * (1977); from memory). */
START_TEST(scatter_of_an_index)
{
    static const double value[RUNS] = {0.004, -0.009, 0.011, 0.002, -0.013, 0.007, 0.016};
    const double s = 0.003;
    bc_learn_result out;
    history h;
    make(&h, 0.0);
    for (size_t r = 0; r < RUNS; r++) {
        h.index[r] = (bc_learn_index){.dn = value[r], .dn_sigma = s};
        strcpy(h.index[r].material, r == 6 ? "low" : "high");
        h.run[r].index = &h.index[r];
        h.run[r].indices = 1;
    }
    const double square = gsl_stats_variance(value, 1, 6), tau = sqrt(square - s * s);
    const double freedom = 5.0 * pow(tau * tau / square, 2.0);
    ck_assert_int_eq(bc_learn(RUNS, h.run, &process, &out, NULL), BC_OK);
    ck_assert(out.material[0].index_runs == 1 && out.material[1].index_runs == 6);
    ck_assert_double_eq_tol(out.material[1].index_sigma.value / tau, 1.0, 0.015);
    ck_assert_double_eq_tol(out.material[1].index_freedom / freedom, 1.0, 0.05);
    ck_assert_double_eq_tol(
        out.material[1].index_sigma.high / out.material[1].index_sigma.value,
        sqrt(out.material[1].index_freedom / gsl_cdf_chisq_Pinv(0.025, out.material[1].index_freedom)), 1e-6);
    const bc_process_row low = bc_process_for(&out.process, "low"), high = bc_process_for(&out.process, "high");
    ck_assert(!low.has_index_sigma && high.has_index_sigma && out.process.has_index_sigma);
    ck_assert_double_eq(high.index_sigma, out.material[1].index_sigma.value);
    ck_assert_double_eq_tol(high.runs.index_sigma / three_digits(out.material[1].index_freedom + 1.0), 1.0, 1e-9);
    bc_learn_result_clear(&out);
}
END_TEST

/* Bayes' theorem for two normal distributions: a tooling that is right, and one that is off by 5 %. */
START_TEST(probability_of_a_tooling)
{
    static const double cases[][2] = {{0.04, 1e-4}, {-0.04, 1e-4}, {0.01, 1e-4},
                                      {0.0, 1e-5},  {0.06, 1e-3},  {0.1, 1e-3}};
    const double a = cases[_i][0], variance = cases[_i][1], usual = 0.05 * 0.05;
    const double off = gsl_ran_gaussian_pdf(a, sqrt(variance + usual)), right = gsl_ran_gaussian_pdf(a, sqrt(variance));
    const double expected = off / (off + right), shrunk = 1.0 + expected * a * usual / (usual + variance);
    double probability;
    const double correction = bc_tooling_correction(a, variance, &probability);
    ck_assert_double_eq_tol(probability, expected, 1e-9);
    ck_assert_double_eq_tol(correction, expected > 0.9 ? shrunk : 1.0, 1e-9);
}
END_TEST

TCase *likelihood_case(void)
{
    TCase *tests = tcase_create("likelihood");
    tcase_add_loop_test(tests, likelihood_of_a_history, 0, 2);
    tcase_add_loop_test(tests, figures_of_a_history, 0, 2);
    tcase_add_test(tests, scatter_of_an_index);
    tcase_add_loop_test(tests, probability_of_a_tooling, 0, 6);
    return tests;
}
