/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optimizer.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <string.h>

#define TO_BOUNDARY     0.995 /* share of the way to a bound that one step may go */
#define SUFFICIENT      1e-4  /* Armijo's constant */
#define MOST_BACKTRACKS 12
#define LIFT            0.3 /* slack of the worst constraint, as a share of the one before, when t is lifted */
#define DUAL_TRUST      1e8 /* how far z may stray from mu / slack */
#define DAMP_UP         8.0
#define DAMP_DOWN       0.3
#define LEAST_DAMPING   1e-2
#define INSIDE_NM       0.02 /* where a layer that starts on its bound is put */

/* The iterate: everything else follows from it. */
typedef struct iterate {
    double t, mu;
    double damping; /* Levenberg's, as a share of the Hessian's diagonal */
    double *x;      /* [n] thickness of the layers that move */
    double *y;      /* [n] multipliers of the lower bounds */
    double *z;      /* [constraints] */
    double total;   /* multiplier of the bound on the sum */
} iterate;

static double room_for_total(const bc_optimizer *o, const double *x)
{
    double sum = o->fixed_nm;
    for (size_t j = 0; j < o->moving; j++)
        sum += x[j];
    return o->limits.most_nm - sum;
}

/* t - mu (sum of the logarithms of every slack): what a step must lower. INFINITY outside. */
static double barrier(const bc_optimizer *o, bc_merit *merit, const double *x, double t, double mu)
{
    const double *u = bc_merit_u(merit);
    double product = 1.0, logs = 0.0;
    for (size_t c = 0; c < o->constraints; c++) {
        const double slack = t - u[c];
        if (!(slack > 0.0))
            return INFINITY;
        product *= slack;
        if (product < 1e-250 || product > 1e250) { /* one logarithm for many factors */
            logs += log(product);
            product = 1.0;
        }
    }
    for (size_t j = 0; j < o->moving; j++)
        logs += log(x[j] - o->limits.lower_nm);
    if (isfinite(o->limits.most_nm))
        logs += log(room_for_total(o, x));
    return t - mu * (logs + log(product));
}

static void evaluate(bc_optimizer *o, bc_merit *merit, bc_recipe *recipe, const double *x, bool slopes)
{
    for (size_t j = 0; j < o->moving; j++)
        recipe->thickness_nm[o->layer[j]] = x[j];
    bc_merit_evaluate(merit, recipe->layers, recipe->material, recipe->thickness_nm, slopes);
}

/* The same where only what comes near t counts. */
static void evaluate_near(bc_optimizer *o, bc_merit *merit, bc_recipe *recipe, const iterate *at, bool slopes)
{
    for (size_t j = 0; j < o->moving; j++)
        recipe->thickness_nm[o->layer[j]] = at->x[j];
    bc_merit_evaluate_near(merit, recipe->layers, recipe->material, recipe->thickness_nm, slopes, at->t);
}

/* The Newton matrix of (x, t) and its right-hand side, into o->system and o->rhs. */
static void assemble(bc_optimizer *o, bc_merit *merit, const iterate *at)
{
    const size_t n = o->moving, size = n + 1;
    const double *u = bc_merit_u(merit);
    double sum_ratio = 0.0, sum_mu = 0.0, ridge, damp = 0.0;
    bc_optimizer_hessian(o, merit, at->z);
    for (size_t j = 0; j < n; j++)
        damp = fmax(damp, at->damping * o->system[j * size + j]);
    for (size_t c = 0; c < o->constraints; c++) {
        const double slack = at->t - u[c];
        o->ratio[c] = at->z[c] / slack;
        o->push[c] = at->mu / slack;
        sum_ratio += o->ratio[c];
        sum_mu += o->push[c];
    }
    bc_optimizer_add_slopes(o, merit, o->ratio);
    ridge = 1e-12;
    for (size_t j = 0; j < n; j++)
        ridge = fmax(ridge, 1e-12 * o->system[j * size + j]);
    bc_optimizer_pull(o, merit, o->ratio, o->coupling);
    bc_optimizer_pull(o, merit, o->push, o->pull);
    for (size_t j = 0; j < n; j++) {
        const double bound = at->x[j] - o->limits.lower_nm;
        o->system[j * size + n] = o->system[n * size + j] = -o->coupling[j];
        o->system[j * size + j] += at->y[j] / bound + ridge + damp;
        o->rhs[j] = -o->pull[j] + at->mu / bound;
    }
    if (isfinite(o->limits.most_nm)) {
        const double room = room_for_total(o, at->x);
        for (size_t j = 0; j < n; j++) {
            for (size_t k = 0; k < n; k++)
                o->system[j * size + k] += at->total / room;
            o->rhs[j] -= at->mu / room;
        }
    }
    o->system[n * size + n] = sum_ratio * (1.0 + 1e-13);
    o->rhs[n] = sum_mu - 1.0;
}

/* The longest step, up to 1, that keeps x inside its bounds and moves no layer too far. */
static double longest_step(const bc_optimizer *o, const iterate *at)
{
    double step = 1.0, falling = 0.0, farthest = 0.0;
    for (size_t j = 0; j < o->moving; j++) {
        const double bound = at->x[j] - o->limits.lower_nm;
        if (o->rhs[j] < 0.0)
            step = fmin(step, -TO_BOUNDARY * bound / o->rhs[j]);
        farthest = fmax(farthest, fabs(o->rhs[j]));
        falling += o->rhs[j];
    }
    if (step * farthest > o->limits.step_nm)
        step = o->limits.step_nm / farthest;
    if (isfinite(o->limits.most_nm) && falling > 0.0)
        step = fmin(step, TO_BOUNDARY * room_for_total(o, at->x) / falling);
    return step;
}

/* Newton's multipliers for the step found, kept positive and near mu / slack (as the method's proofs want them). */
static void step_multipliers(bc_optimizer *o, bc_merit *merit, iterate *at)
{
    const size_t n = o->moving;
    const double *u = bc_merit_u(merit);
    double total_move = 0.0, share = 1.0;
    bc_optimizer_along(o, merit, o->rhs, o->along);
    for (size_t c = 0; c < o->constraints; c++) {
        o->push[c] = at->mu / (at->t - u[c]) - at->z[c] - o->ratio[c] * (o->rhs[n] - o->along[c]);
        if (o->push[c] < 0.0)
            share = fmin(share, -TO_BOUNDARY * at->z[c] / o->push[c]);
    }
    for (size_t c = 0; c < o->constraints; c++)
        at->z[c] += share * o->push[c];
    for (size_t j = 0; j < n; j++) {
        const double bound = at->x[j] - o->limits.lower_nm;
        const double move = at->mu / bound - at->y[j] - at->y[j] / bound * o->rhs[j];
        at->y[j] += move < 0.0 ? fmin(1.0, -TO_BOUNDARY * at->y[j] / move) * move : move;
        total_move += o->rhs[j];
    }
    if (isfinite(o->limits.most_nm)) {
        const double room = room_for_total(o, at->x);
        const double move = at->mu / room - at->total + at->total / room * total_move;
        at->total += move < 0.0 ? fmin(1.0, -TO_BOUNDARY * at->total / move) * move : move;
    }
}

static double clamp(double value, double low, double high)
{
    return value < low ? low : value > high ? high : value;
}

static void keep_multipliers_near(const bc_optimizer *o, bc_merit *merit, iterate *at)
{
    const double *u = bc_merit_u(merit);
    for (size_t c = 0; c < o->constraints; c++) {
        const double central = at->mu / (at->t - u[c]);
        at->z[c] = clamp(at->z[c], central / DUAL_TRUST, central * DUAL_TRUST);
    }
    for (size_t j = 0; j < o->moving; j++) {
        const double central = at->mu / (at->x[j] - o->limits.lower_nm);
        at->y[j] = clamp(at->y[j], central / DUAL_TRUST, central * DUAL_TRUST);
    }
    if (isfinite(o->limits.most_nm)) {
        const double central = at->mu / room_for_total(o, at->x);
        at->total = clamp(at->total, central / DUAL_TRUST, central * DUAL_TRUST);
    }
}

static double complementarity(const bc_optimizer *o, bc_merit *merit, const iterate *at)
{
    const double *u = bc_merit_u(merit);
    double gap = 0.0;
    for (size_t c = 0; c < o->constraints; c++)
        gap += at->z[c] * (at->t - u[c]);
    for (size_t j = 0; j < o->moving; j++)
        gap += at->y[j] * (at->x[j] - o->limits.lower_nm);
    if (isfinite(o->limits.most_nm))
        gap += at->total * room_for_total(o, at->x);
    return gap;
}

/* Slope of the barrier function along the step, for Armijo's test; o->push and o->pull are those of assemble(). */
static double slope_along(const bc_optimizer *o, const iterate *at)
{
    const size_t n = o->moving;
    double sum = o->rhs[n], total_move = 0.0;
    for (size_t c = 0; c < o->constraints; c++)
        sum -= o->push[c] * o->rhs[n];
    for (size_t j = 0; j < n; j++) {
        sum += (o->pull[j] - at->mu / (at->x[j] - o->limits.lower_nm)) * o->rhs[j];
        total_move += o->rhs[j];
    }
    if (isfinite(o->limits.most_nm))
        sum += at->mu / room_for_total(o, at->x) * total_move;
    return sum;
}

/* Move along the step until the barrier falls. Returns the share of the step taken, 0 when none does. */
static double line_search(bc_optimizer *o, bc_merit *merit, bc_recipe *recipe, iterate *at)
{
    const double slope = slope_along(o, at);
    const double start = barrier(o, merit, at->x, at->t, at->mu);
    const double largest_before = bc_merit_largest(merit);
    double step = longest_step(o, at);
    memcpy(o->saved, at->x, o->moving * sizeof(double));
    step_multipliers(o, merit, at);
    for (int tries = 0; tries < MOST_BACKTRACKS; tries++) {
        double t, largest;
        for (size_t j = 0; j < o->moving; j++)
            at->x[j] = o->saved[j] + step * o->rhs[j];
        evaluate_near(o, merit, recipe, at, tries == 0);
        largest = bc_merit_largest(merit);
        /* The linear forecast of t may lie under what the layers really do: then t is lifted over it. */
        t = fmax(at->t + step * o->rhs[o->moving], largest + LIFT * (at->t - largest_before));
        if (barrier(o, merit, at->x, t, at->mu) <= start + SUFFICIENT * step * slope + 1e-13 * fabs(start)) {
            at->t = t;
            if (tries > 0)
                evaluate_near(o, merit, recipe, at, true);
            return step;
        }
        step *= tries == 0 ? 0.5 : 0.3;
    }
    memcpy(at->x, o->saved, o->moving * sizeof(double));
    evaluate(o, merit, recipe, at->x, true);
    return 0.0;
}

/* Keep the largest u as low as the slacks allow: t only has to stay above it. */
static void start_iterate(bc_optimizer *o, bc_merit *merit, bc_recipe *recipe, iterate *at)
{
    double inverse = 0.0;
    const double *u;
    for (size_t j = 0; j < o->moving; j++)
        at->x[j] = fmax(recipe->thickness_nm[o->layer[j]], o->limits.lower_nm + INSIDE_NM);
    if (isfinite(o->limits.most_nm)) {
        const double lower = o->limits.lower_nm * (double)o->moving, room = o->limits.most_nm - o->fixed_nm - lower;
        double above = 0.0;
        for (size_t j = 0; j < o->moving; j++)
            above += at->x[j] - o->limits.lower_nm;
        for (size_t j = 0; above > 0.99 * room && j < o->moving; j++)
            at->x[j] = o->limits.lower_nm + (at->x[j] - o->limits.lower_nm) * 0.99 * room / above;
    }
    evaluate(o, merit, recipe, at->x, true);
    u = bc_merit_u(merit);
    at->t = 1.1 * bc_merit_largest(merit) + 1e-12;
    for (size_t c = 0; c < o->constraints; c++)
        inverse += 1.0 / (at->t - u[c]);
    at->mu = 1.0 / inverse;
    for (size_t c = 0; c < o->constraints; c++)
        at->z[c] = at->mu / (at->t - u[c]);
    for (size_t j = 0; j < o->moving; j++)
        at->y[j] = at->mu / (at->x[j] - o->limits.lower_nm);
    at->total = isfinite(o->limits.most_nm) ? at->mu / room_for_total(o, at->x) : 0.0;
}

static bool solve(bc_optimizer *o)
{
    const size_t size = o->moving + 1;
    gsl_matrix_view matrix = gsl_matrix_view_array(o->system, size, size);
    gsl_vector_view rhs = gsl_vector_view_array(o->rhs, size);
    return gsl_linalg_cholesky_decomp1(&matrix.matrix) == GSL_SUCCESS &&
           gsl_linalg_cholesky_svx(&matrix.matrix, &rhs.vector) == GSL_SUCCESS;
}

/* All samples again where the last step left some out: what lies above t after all lifts it. */
static void settle(bc_optimizer *o, bc_merit *merit, bc_recipe *recipe, double tolerance, iterate *at)
{
    evaluate(o, merit, recipe, at->x, true);
    if (bc_merit_largest(merit) >= at->t)
        at->t = (1.0 + tolerance) * bc_merit_largest(merit);
}

bc_stop bc_minimax(bc_optimizer *o, bc_merit *merit, const bc_limits *limits, bc_recipe *recipe, unsigned max_steps,
                   double tolerance)
{
    iterate at = {.x = o->x, .y = o->y, .z = o->z};
    bc_stop stop = BC_STOP_BUDGET;
    double count, centering = 0.2;
    bc_optimizer_choose(o, limits, recipe);
    count = (double)(o->constraints + o->moving + 1);
    start_iterate(o, merit, recipe, &at);
    for (unsigned step = 0; step < max_steps && o->moving > 0 && !bc_optimizer_stopped(o); step++) {
        const double gap = complementarity(o, merit, &at);
        double taken;
        if (gap < tolerance * at.t && bc_merit_is_near(merit)) {
            settle(o, merit, recipe, tolerance, &at);
            continue;
        }
        if (gap < tolerance * at.t) {
            stop = BC_STOP_CONVERGED;
            break;
        }
        at.mu = centering * gap / count;
        assemble(o, merit, &at);
        if (!solve(o))
            break;
        const bool near = bc_merit_is_near(merit);
        taken = line_search(o, merit, recipe, &at);
        if (taken == 0.0 && near) { /* what was left out may have been in the way */
            settle(o, merit, recipe, tolerance, &at);
            continue;
        }
        if (taken == 0.0) {
            stop = BC_STOP_CONVERGED; /* no step lowers it: as good as this arithmetic gets */
            break;
        }
        keep_multipliers_near(o, merit, &at);
        if (taken > 0.9)
            at.damping = at.damping > 1e-6 ? at.damping * DAMP_DOWN : 0.0;
        else if (taken < 0.4)
            at.damping = fmax(at.damping * DAMP_UP, LEAST_DAMPING);
        centering = taken > 0.9 ? 0.1 : taken > 0.5 ? 0.3 : 0.8;
    }
    if (bc_merit_is_near(merit))
        settle(o, merit, recipe, tolerance, &at);
    recipe->limit_used = bc_merit_largest(merit);
    return o->moving == 0 ? BC_STOP_CONVERGED : stop;
}

const double *bc_minimax_multipliers(const bc_optimizer *o)
{
    return o->z;
}
