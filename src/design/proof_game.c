/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "proof_game.h"
#include <math.h>

#define MOST_STEPS 60
#define ROWS       (BC_PROOF_MOST_LAYERS + 1)
#define NO_PLANE   ((size_t)-1)

/* A basis of the dual: a plane's weight, or the slack of one variable, per row. */
typedef struct basis {
    size_t rows;
    size_t plane[ROWS]; /* NO_PLANE: a slack */
    size_t slack[ROWS]; /* of this variable, */
    double sign[ROWS];  /* this way */
    double inverse[ROWS][ROWS];
    double value[ROWS];
} basis;

static double slope_at(const bc_planes *planes, size_t j, size_t i)
{
    return planes->slope[j][i] * planes->scale[j];
}

static double alone(const bc_planes *planes, size_t i)
{
    double least = planes->level[i];
    for (size_t j = 0; j < planes->variables; j++)
        least -= fabs(slope_at(planes, j, i));
    return least;
}

/* One plane with weight 1, and the slacks that its slopes need. */
static void begin(const bc_planes *planes, size_t best, basis *b)
{
    const size_t n = planes->variables;
    b->rows = n + 1;
    for (size_t j = 0; j <= n; j++)
        for (size_t k = 0; k <= n; k++)
            b->inverse[j][k] = 0.0;
    for (size_t j = 0; j < n; j++) {
        const double slope = slope_at(planes, j, best);
        b->plane[j] = NO_PLANE;
        b->slack[j] = j;
        b->sign[j] = slope > 0.0 ? -1.0 : 1.0;
        b->inverse[j][j] = b->sign[j];
        b->inverse[j][n] = -b->sign[j] * slope;
        b->value[j] = fabs(slope);
    }
    b->plane[n] = best;
    b->inverse[n][n] = 1.0;
    b->value[n] = 1.0;
}

/* The prices of the rows: the point y = -price, and the value of the program at this basis. */
static void price(const bc_planes *planes, const basis *b, double *prices)
{
    for (size_t k = 0; k < b->rows; k++) {
        prices[k] = 0.0;
        for (size_t r = 0; r < b->rows; r++)
            prices[k] += (b->plane[r] == NO_PLANE ? -1.0 : planes->level[b->plane[r]]) * b->inverse[r][k];
    }
}

/* What enters: the column that gains most. Also the largest plane at the point that the prices stand for. */
static double choose(const bc_planes *planes, const basis *b, const double *prices, double *column, size_t *plane,
                     size_t *slack, double *sign, double *top)
{
    const size_t n = planes->variables;
    double gain = 1e-12, y[ROWS];
    bool inside = true;
    *plane = *slack = NO_PLANE;
    *top = -INFINITY;
    for (size_t j = 0; j < n; j++) {
        y[j] = prices[j];
        inside = inside && fabs(prices[j]) <= 1.0 + 1e-12;
    }
    for (size_t i = 0; i < planes->count; i++) {
        double height = planes->level[i];
        for (size_t j = 0; j < n; j++)
            height -= y[j] * slope_at(planes, j, i);
        *top = fmax(*top, height);
        if (height - prices[n] > gain) {
            gain = height - prices[n];
            *plane = i;
        }
    }
    if (!inside)
        *top = INFINITY;
    for (size_t j = 0; j < n; j++) {
        if (fabs(prices[j]) - 1.0 > gain) {
            gain = fabs(prices[j]) - 1.0;
            *plane = NO_PLANE;
            *slack = j;
            *sign = prices[j] > 0.0 ? -1.0 : 1.0;
        }
    }
    for (size_t j = 0; j < b->rows; j++)
        column[j] = *plane != NO_PLANE ? (j < n ? slope_at(planes, j, *plane) : 1.0) : 0.0;
    if (*plane == NO_PLANE && *slack != NO_PLANE)
        column[*slack] = *sign;
    return *plane == NO_PLANE && *slack == NO_PLANE ? 0.0 : gain;
}

/* Bring the column in; false where nothing leaves. */
static bool pivot(basis *b, const double *column, size_t plane, size_t slack, double sign)
{
    double direction[ROWS], step = INFINITY;
    size_t leaves = b->rows;
    for (size_t r = 0; r < b->rows; r++) {
        direction[r] = 0.0;
        for (size_t k = 0; k < b->rows; k++)
            direction[r] += b->inverse[r][k] * column[k];
        if (direction[r] > 1e-11 && b->value[r] / direction[r] < step) {
            step = b->value[r] / direction[r];
            leaves = r;
        }
    }
    if (leaves == b->rows)
        return false;
    for (size_t k = 0; k < b->rows; k++)
        b->inverse[leaves][k] /= direction[leaves];
    for (size_t r = 0; r < b->rows; r++) {
        if (r == leaves)
            continue;
        for (size_t k = 0; k < b->rows; k++)
            b->inverse[r][k] -= direction[r] * b->inverse[leaves][k];
        b->value[r] = fmax(b->value[r] - direction[r] * step, 0.0);
    }
    b->value[leaves] = step;
    b->plane[leaves] = plane;
    b->slack[leaves] = slack;
    b->sign[leaves] = sign;
    return true;
}

/* The bound that the basis's weights give, worked out from the planes themselves. */
static double certify(const bc_planes *planes, const basis *b)
{
    double total = 0.0, level = 0.0, slope[ROWS] = {0};
    for (size_t r = 0; r < b->rows; r++) {
        if (b->plane[r] == NO_PLANE)
            continue;
        total += b->value[r];
        level += b->value[r] * planes->level[b->plane[r]];
        for (size_t j = 0; j < planes->variables; j++)
            slope[j] += b->value[r] * slope_at(planes, j, b->plane[r]);
    }
    for (size_t j = 0; j < planes->variables; j++)
        level -= fabs(slope[j]);
    return total > 0.5 ? level / total : -INFINITY;
}

double bc_planes_least(const bc_planes *planes, double enough)
{
    basis b;
    size_t best = 0;
    double bound = -INFINITY;
    for (size_t i = 0; i < planes->count; i++) {
        const double least = alone(planes, i);
        if (least > bound) {
            bound = least;
            best = i;
        }
    }
    if (planes->count == 0 || bound > enough)
        return bound;
    begin(planes, best, &b);
    for (int step = 0; step < MOST_STEPS; step++) {
        double prices[ROWS], column[ROWS], top, sign = 1.0;
        size_t plane, slack;
        price(planes, &b, prices);
        if (choose(planes, &b, prices, column, &plane, &slack, &sign, &top) <= 0.0 ||
            (isfinite(enough) && top < enough) || !pivot(&b, column, plane, slack, sign))
            break;
        if ((step & 1) != 0)
            bound = fmax(bound, certify(planes, &b));
        if (bound > enough)
            return bound;
    }
    return fmax(bound, certify(planes, &b));
}
