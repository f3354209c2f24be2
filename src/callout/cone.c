/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/cone.h>
#include <gsl/gsl_eigen.h>
#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdlib.h>

#define FEWEST_POINTS 8.0
#define IN_FRINGE     4.0
#define DEGREES       (M_PI / 180.0)
#define MORE_IN_RING  8

/* The distribution of x over the cone as `count` points of mass w, along x scaled to -1 to 1: cos(t) = middle + radius
 * * x. p and q hold two neighbouring orthogonal polynomials there. */
typedef struct distribution {
    size_t count;
    double *x, *w, *p, *q;
    double middle, radius;
} distribution;

static size_t rows_of(const bc_weight *weight)
{
    double degrees;
    return weight == NULL ? 0 : bc_weight_breaks(weight, 0, &degrees);
}

/* Ring by ring between the weight's rows; in azimuth the midpoint rule is Gauss and Chebyshev's, exact for polynomials
 * in cos(p). */
typedef struct rings {
    const bc_weight *weight;
    double aoi_rad, half_rad;
    size_t points; /* of a ring in angle, and in azimuth */
} rings;

static void add_ring(const rings *of, double from, double to, const gsl_integration_glfixed_table *rule,
                     distribution *all)
{
    for (size_t i = 0; i < of->points; i++) {
        double g, share;
        gsl_integration_glfixed_point(from, to, i, &g, &share, rule);
        share *= (of->weight == NULL ? 1.0 : bc_weight_at(of->weight, g / DEGREES)) * sin(g);
        for (size_t k = 0; k < of->points && share > 0.0; k++) {
            const double azimuth = M_PI * ((double)k + 0.5) / (double)of->points;
            const double cosine = cos(of->aoi_rad) * cos(g) + sin(of->aoi_rad) * sin(g) * cos(azimuth);
            all->x[all->count] = (cosine - all->middle) / all->radius;
            all->w[all->count++] = share;
        }
    }
}

static void fill(const rings *of, const gsl_integration_glfixed_table *rule, distribution *all)
{
    double from = 0.0, sum = 0.0;
    const size_t rows = rows_of(of->weight);
    for (size_t row = 0; row <= rows; row++) {
        double to = of->half_rad;
        if (row < rows) {
            double degrees = 0.0;
            bc_weight_breaks(of->weight, row, &degrees);
            to = fmin(degrees * DEGREES, of->half_rad);
        }
        if (to > from)
            add_ring(of, from, to, rule, all);
        from = fmax(from, to);
    }
    for (size_t i = 0; i < all->count; i++)
        sum += all->w[i];
    for (size_t i = 0; i < all->count; i++)
        all->w[i] /= sum;
}

/* The recurrence p[k+1] = (x - a[k]) p[k] - b[k] p[k-1] of the polynomials that are orthogonal under the distribution.
 */
static void stieltjes(distribution *all, size_t points, double *a, double *b)
{
    double norm = 1.0, before = 1.0;
    for (size_t i = 0; i < all->count; i++) {
        all->p[i] = 1.0;
        all->q[i] = 0.0;
    }
    for (size_t k = 0; k < points; k++) {
        double moment = 0.0;
        norm = 0.0;
        for (size_t i = 0; i < all->count; i++) {
            const double square = all->w[i] * all->p[i] * all->p[i];
            norm += square;
            moment += all->x[i] * square;
        }
        a[k] = moment / norm;
        b[k] = k == 0 ? 0.0 : norm / before;
        before = norm;
        for (size_t i = 0; i < all->count; i++) {
            const double next = (all->x[i] - a[k]) * all->p[i] - b[k] * all->q[i];
            all->q[i] = all->p[i];
            all->p[i] = next;
        }
    }
}

/* Nodes are the eigenvalues of the Jacobi matrix, shares the squares of the eigenvectors' first components. */
static bc_status golub_welsch(const distribution *all, size_t points, const double *a, const double *b, bc_cone *cone,
                              bc_error *error)
{
    gsl_matrix *jacobi = gsl_matrix_calloc(points, points), *vectors = gsl_matrix_alloc(points, points);
    gsl_vector *values = gsl_vector_alloc(points);
    gsl_eigen_symmv_workspace *work = gsl_eigen_symmv_alloc(points);
    const bool enough = jacobi != NULL && vectors != NULL && values != NULL && work != NULL;
    for (size_t k = 0; enough && k < points; k++) {
        gsl_matrix_set(jacobi, k, k, a[k]);
        if (k > 0) {
            gsl_matrix_set(jacobi, k, k - 1, sqrt(b[k]));
            gsl_matrix_set(jacobi, k - 1, k, sqrt(b[k]));
        }
    }
    if (enough)
        gsl_eigen_symmv(jacobi, values, vectors, work);
    cone->count = enough ? points : 0;
    for (size_t k = 0; k < cone->count; k++) {
        const double cosine = all->middle + all->radius * gsl_vector_get(values, k),
                     first = gsl_matrix_get(vectors, 0, k);
        cone->aoi_rad[k] = acos(fmin(fmax(cosine, 0.0), 1.0));
        cone->share[k] = first * first;
    }
    if (work != NULL)
        gsl_eigen_symmv_free(work);
    if (values != NULL)
        gsl_vector_free(values);
    if (vectors != NULL)
        gsl_matrix_free(vectors);
    if (jacobi != NULL)
        gsl_matrix_free(jacobi);
    return enough ? BC_OK : bc_fail_memory(error);
}

bc_status bc_cone_open(double aoi_rad, double half_rad, const bc_weight *weight, size_t points, bc_cone *cone,
                       bc_error *error)
{
    const double high = cos(fmax(aoi_rad - half_rad, 0.0)), low = cos(aoi_rad + half_rad);
    *cone = (bc_cone){.count = 0};
    if (!(half_rad > 0.0)) {
        *cone = (bc_cone){1, {aoi_rad}, {1.0}};
        return BC_OK;
    }
    points = points > BC_CONE_MOST ? BC_CONE_MOST : points;
    const rings of = {weight, aoi_rad, half_rad, points + MORE_IN_RING};
    const size_t most = (rows_of(weight) + 1) * of.points * of.points;
    distribution all = {.middle = 0.5 * (high + low), .radius = 0.5 * (high - low)};
    gsl_set_error_handler_off(); /* GSL would abort the program when memory runs out */
    gsl_integration_glfixed_table *rule = gsl_integration_glfixed_table_alloc(of.points);
    double *memory = calloc(4 * most + 2 * points, sizeof *memory);
    bc_status status = rule == NULL || memory == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK) {
        double *a = memory + 4 * most, *b = a + points;
        all.x = memory;
        all.w = all.x + most;
        all.p = all.w + most;
        all.q = all.p + most;
        fill(&of, rule, &all);
        stieltjes(&all, points, a, b);
        status = golub_welsch(&all, points, a, b, cone, error);
    }
    free(memory);
    if (rule != NULL)
        gsl_integration_glfixed_table_free(rule);
    return status;
}

size_t bc_cone_points(double aoi_rad, double half_rad, double from_nm, double tilt_nm)
{
    const double fringes = 2.0 * half_rad * 2.0 * tilt_nm * sin(aoi_rad + half_rad) / from_nm;
    return (size_t)fmin(ceil(FEWEST_POINTS + IN_FRINGE * fringes), BC_CONE_MOST);
}

static void add(bc_spectrum *sum, const bc_spectrum *one, double share)
{
    for (int plane = 0; plane < 3; plane++)
        for (size_t i = 0; i < sum->count; i++) {
            sum->R[plane][i] += share * one->R[plane][i];
            sum->T[plane][i] += share * one->T[plane][i];
            sum->A[plane][i] += share * one->A[plane][i];
        }
}

bc_status bc_cone_spectrum(const bc_stack *stack, const bc_back *back, size_t wavelengths, const double *wavelength_nm,
                           const bc_cone *cone, bc_spectrum *out, bc_error *error)
{
    bc_status status =
        bc_spectrum_compute(stack, back, wavelengths, wavelength_nm, cone->aoi_rad[0], BC_PATH_AUTO, out, error);
    if (status == BC_OK)
        add(out, out, cone->share[0] - 1.0);
    for (size_t k = 1; status == BC_OK && k < cone->count; k++) {
        bc_spectrum one;
        status =
            bc_spectrum_compute(stack, back, wavelengths, wavelength_nm, cone->aoi_rad[k], BC_PATH_AUTO, &one, error);
        if (status == BC_OK) {
            add(out, &one, cone->share[k]);
            bc_spectrum_clear(&one);
        } else {
            bc_spectrum_clear(out);
        }
    }
    return status;
}
