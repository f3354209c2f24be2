/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Derivatives with respect to every thickness against differences of the values.
 *
 * The step is 0.02 nm, under a thousandth of a wave in any film here. Five points leave an error of h^4/30 times the
 * fifth derivative. Values carry a few 1e-16 each, which the division by the step turns into 1e-13 per nm; derivatives
 * run to 1e-2 per nm.
 */
#include "specimen.h"
#include "suites.h"
#include <check.h>
#include <math.h>

#define TRIALS 60
#define STEP_NM 0.02
#define ROUNDING 2e-12 /* per nm */

typedef struct slope {
    double R, T, rho_re, rho_im;
} slope;

static slope weighted(const response *all[4], const double weight[4], int p, size_t i)
{
    slope sum = {0.0, 0.0, 0.0, 0.0};
    for (int k = 0; k < 4; k++) {
        sum.R += weight[k] * all[k]->R[p][i];
        sum.T += weight[k] * all[k]->T[p][i];
        sum.rho_re += weight[k] * all[k]->rho_re[p][i];
        sum.rho_im += weight[k] * all[k]->rho_im[p][i];
    }
    return sum;
}

/* The values with one film at -2, -1, 1 and 2 steps. */
static void step_through(bc_surface *surface, specimen *stack, size_t film, response at[4])
{
    static const double steps[4] = {-2.0, -1.0, 1.0, 2.0};
    const double thickness_nm = stack->thickness_nm[film];
    for (int k = 0; k < 4; k++) {
        stack->thickness_nm[film] = thickness_nm + steps[k] * STEP_NM;
        evaluate(surface, stack, BC_WANT_VALUES);
        at[k] = read_response(surface);
    }
    stack->thickness_nm[film] = thickness_nm;
}

static slope read_slope(const bc_surface *surface, bc_plane p, size_t film, size_t i)
{
    return (slope){bc_surface_dR(surface, p, film)[i], bc_surface_dT(surface, p, film)[i],
                   bc_surface_drho_re(surface, p, film)[i], bc_surface_drho_im(surface, p, film)[i]};
}

static double error_of(slope seen, slope differences)
{
    return fmax(fmax(fabs(seen.R - differences.R), fabs(seen.T - differences.T)),
                fmax(fabs(seen.rho_re - differences.rho_re), fabs(seen.rho_im - differences.rho_im)));
}

/* What the differences themselves are worth: the rougher formula on the double step errs 16 times as much or more. */
static double doubt(slope fine, slope coarse)
{
    return ROUNDING + 0.25 * error_of(fine, coarse);
}

static void compare_film(const bc_surface *slopes, const response at[4], const specimen *stack, size_t film,
                         size_t *compared, size_t *doubtful)
{
    static const double five[4] = {1.0 / 12.0, -8.0 / 12.0, 8.0 / 12.0, -1.0 / 12.0};
    static const double three[4] = {0.0, -0.5, 0.5, 0.0};
    const response *all[4] = {&at[0], &at[1], &at[2], &at[3]};
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < stack->wavelengths; i++) {
            slope fine = weighted(all, five, p, i), coarse = weighted(all, three, p, i);
            const slope seen = read_slope(slopes, (bc_plane)p, film, i);
            double allowed;
            fine = (slope){fine.R / STEP_NM, fine.T / STEP_NM, fine.rho_re / STEP_NM, fine.rho_im / STEP_NM};
            coarse = (slope){coarse.R / STEP_NM, coarse.T / STEP_NM, coarse.rho_re / STEP_NM, coarse.rho_im / STEP_NM};
            allowed = doubt(fine, coarse);
            printf("ERR %g %g %g\n", error_of(seen, fine), error_of(fine, coarse), fabs(seen.R));
            *compared += 1;
            *doubtful += allowed > 1e-7;
        }
    }
}
