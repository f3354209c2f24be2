/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "index_model.h"
#include <math.h>

#define POLE_BELOW   0.97 /* of the range's first wavelength, at most */
#define POLE_ABOVE   1.03 /* of its last, at least */
#define LEAST_N      1.0
#define MOST_N       8.0
#define LEAST_K      1e-12
#define MOST_K       20.0
#define HARDLY_K     0.01
#define RISE_ALLOWED 0.002 /* of a fit to noise */
#define CHECKED      60

static double squared(double value)
{
    return value * value;
}

/* From 0 to 1, smoothly, for any variable. */
static double share(double variable)
{
    return variable > 0.0 ? 1.0 / (1.0 + exp(-variable)) : exp(variable) / (1.0 + exp(variable));
}

static double per_square(double x_um)
{
    return 1.0 / (x_um * x_um);
}

size_t bc_n_variables(bc_n_model model)
{
    static const size_t variables[BC_N_MODELS] = {1, 2, 3, 2, 4};
    return variables[model];
}

size_t bc_k_variables(bc_k_model model)
{
    static const size_t variables[BC_K_MODELS] = {0, 2, 2, 3};
    return variables[model];
}

void bc_n_start(bc_n_model model, double n, double *variable)
{
    variable[0] = n;
    for (size_t i = 1; i < bc_n_variables(model); i++)
        variable[i] = 0.0;
    /* Of most oxides, fluorides and semiconductors, roughly: the higher the index, the steeper. */
    if (model == BC_N_CAUCHY_2 || model == BC_N_CAUCHY_3)
        variable[1] = fmin(0.001 + 0.018 * pow(fmax(n - 1.0, 0.0), 4.0), 0.5);
    if (model == BC_N_SELLMEIER_1 || model == BC_N_SELLMEIER_2)
        variable[1] = -2.0;
    if (model == BC_N_SELLMEIER_2) {
        variable[2] = 0.01;
        variable[3] = -2.0;
    }
}

void bc_k_start(bc_k_model model, double k, double *variable)
{
    if (model == BC_K_NONE)
        return;
    variable[0] = log(fmax(k, LEAST_K));
    variable[1] = 1.0;
    if (model == BC_K_BENT)
        variable[2] = 0.0;
}

/* The squares of the poles, and the strength of the first that gives n in the middle. */
typedef struct sellmeier {
    double B1, L1_squared, B2, per_L2_squared;
} sellmeier;

static double second_term(const sellmeier *s, double x_um)
{
    /* B2 x^2 / (x^2 - L2^2) with 1 / L2^2, which may be 0 */
    const double q = x_um * x_um * s->per_L2_squared;
    return s->B2 * q / (q - 1.0);
}

static sellmeier sellmeier_of(bc_n_model model, const double *variable, const bc_index_range *range)
{
    const double middle = squared(range->middle_um);
    sellmeier s = {.L1_squared = squared(POLE_BELOW * range->from_um) * share(variable[1])};
    if (model == BC_N_SELLMEIER_2) {
        s.per_L2_squared = share(variable[3]) / squared(POLE_ABOVE * range->to_um);
        s.B2 = fabs(variable[2]);
    }
    s.B1 = (squared(variable[0]) - 1.0 - second_term(&s, range->middle_um)) * (middle - s.L1_squared) / middle;
    return s;
}

void bc_n_curve(bc_n_model model, const double *variable, const bc_index_range *range, size_t count, const double *x_um,
                double *n)
{
    const double middle = per_square(range->middle_um);
    const double B = model == BC_N_CONSTANT ? 0.0 : variable[1], C = model == BC_N_CAUCHY_3 ? variable[2] : 0.0;
    if (model == BC_N_SELLMEIER_1 || model == BC_N_SELLMEIER_2) {
        const sellmeier s = sellmeier_of(model, variable, range);
        for (size_t i = 0; i < count; i++) {
            const double square = x_um[i] * x_um[i];
            n[i] = sqrt(fmax(1.0 + s.B1 * square / (square - s.L1_squared) + second_term(&s, x_um[i]), LEAST_N));
        }
    } else
        for (size_t i = 0; i < count; i++) {
            const double u = per_square(x_um[i]) - middle;
            n[i] = variable[0] + (B + C * u) * u;
        }
    for (size_t i = 0; i < count; i++)
        n[i] = fmin(fmax(n[i], LEAST_N), MOST_N);
}

void bc_k_curve(bc_k_model model, const double *variable, const bc_index_range *range, size_t count, const double *x_um,
                double *k)
{
    for (size_t i = 0; i < count; i++) {
        double exponent;
        if (model == BC_K_NONE) {
            k[i] = 0.0;
            continue;
        }
        if (model == BC_K_POWER) {
            exponent = fabs(variable[1]) * log(range->middle_um / x_um[i]);
        } else {
            const double u = 1.0 / x_um[i] - 1.0 / range->middle_um;
            exponent = (fabs(variable[1]) + (model == BC_K_BENT ? variable[2] * u : 0.0)) * u;
        }
        k[i] = exp(fmin(fmax(variable[0] + exponent, log(LEAST_K)), log(MOST_K)));
    }
}

double bc_n_at(bc_n_model model, const double *variable, const bc_index_range *range, double x_um)
{
    double n;
    bc_n_curve(model, variable, range, 1, &x_um, &n);
    return n;
}

double bc_k_at(bc_k_model model, const double *variable, const bc_index_range *range, double x_um)
{
    double k;
    bc_k_curve(model, variable, range, 1, &x_um, &k);
    return k;
}

size_t bc_n_coefficients(bc_n_model model, const double *variable, const bc_index_range *range, double *coefficient)
{
    const double u = per_square(range->middle_um);
    if (model == BC_N_SELLMEIER_1 || model == BC_N_SELLMEIER_2) {
        const sellmeier s = sellmeier_of(model, variable, range);
        coefficient[0] = s.B1;
        coefficient[1] = sqrt(s.L1_squared);
        coefficient[2] = s.B2;
        coefficient[3] = s.per_L2_squared > 0.0 ? 1.0 / sqrt(s.per_L2_squared) : INFINITY;
        return model == BC_N_SELLMEIER_1 ? 2 : 4;
    }
    coefficient[0] = variable[0];
    if (model == BC_N_CONSTANT)
        return 1;
    coefficient[1] = variable[1] - (model == BC_N_CAUCHY_3 ? 2.0 * variable[2] * u : 0.0);
    coefficient[2] = model == BC_N_CAUCHY_3 ? variable[2] : 0.0;
    coefficient[0] = variable[0] - variable[1] * u + coefficient[2] * u * u;
    return model == BC_N_CAUCHY_2 ? 2 : 3;
}

size_t bc_k_coefficients(bc_k_model model, const double *variable, const bc_index_range *range, double *coefficient)
{
    if (model == BC_K_NONE)
        return 0;
    coefficient[0] = exp(variable[0]);
    coefficient[1] = fabs(variable[1]);
    coefficient[2] = range->middle_um;
    coefficient[3] = model == BC_K_BENT ? variable[2] : 0.0;
    return model == BC_K_BENT ? 4 : 3;
}

bool bc_n_is_normal(bc_n_model n, bc_k_model k, const double *n_variable, const double *k_variable,
                    const bc_index_range *range)
{
    double least = INFINITY;
    for (int i = 0; i <= CHECKED; i++) {
        const double x = range->from_um + (range->to_um - range->from_um) * i / CHECKED;
        const double here = bc_n_at(n, n_variable, range, x);
        if (bc_k_at(k, k_variable, range, x) > HARDLY_K)
            continue;
        if (here > least + RISE_ALLOWED)
            return false;
        least = fmin(least, here);
    }
    return true;
}
