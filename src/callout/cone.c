/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/cone.h>
#include <gsl/gsl_integration.h>
#include <math.h>

#define MOST_POINTS   64
#define FEWEST_POINTS 8.0
#define IN_FRINGE     4.0

/* Half the azimuth about the normal of the directions of the cone that meet the surface at t. */
static double half_azimuth(double aoi_rad, double half_rad, double t)
{
    const double across = sin(aoi_rad) * sin(t);
    const double cosine = (cos(half_rad) - cos(aoi_rad) * cos(t)) / across;
    return !(across > 0.0) || cosine <= -1.0 ? M_PI : acos(fmin(cosine, 1.0));
}

/* From `low` to `high`: along an arc where the share begins and ends like a root, else along a line. */
static void add_piece(double aoi_rad, double half_rad, double low, double high, bool arc,
                      const gsl_integration_glfixed_table *rule, size_t points, bc_cone *cone)
{
    const double middle = 0.5 * (low + high), radius = 0.5 * (high - low);
    for (size_t i = 0; i < points; i++) {
        double along, weight, t;
        gsl_integration_glfixed_point(-1.0, 1.0, i, &along, &weight, rule);
        t = arc ? middle + radius * sin(M_PI_2 * along) : middle + radius * along;
        weight *= arc ? radius * M_PI_2 * cos(M_PI_2 * along) : radius;
        cone->aoi_rad[cone->count] = t;
        cone->share[cone->count++] = weight * sin(t) * half_azimuth(aoi_rad, half_rad, t);
    }
}

bc_status bc_cone_open(double aoi_rad, double half_rad, size_t points, bc_cone *cone, bc_error *error)
{
    gsl_integration_glfixed_table *rule;
    double sum = 0.0;
    *cone = (bc_cone){.count = 0};
    if (!(half_rad > 0.0)) {
        *cone = (bc_cone){1, {aoi_rad}, {1.0}};
        return BC_OK;
    }
    points = points > MOST_POINTS ? MOST_POINTS : points;
    rule = gsl_integration_glfixed_table_alloc(points);
    if (rule == NULL)
        return bc_fail_memory(error);
    if (half_rad > aoi_rad) /* the circles about the normal that lie inside whole */
        add_piece(aoi_rad, half_rad, 0.0, half_rad - aoi_rad, false, rule, points, cone);
    if (aoi_rad > 0.0)
        add_piece(aoi_rad, half_rad, fabs(aoi_rad - half_rad), aoi_rad + half_rad, true, rule, points, cone);
    gsl_integration_glfixed_table_free(rule);
    for (size_t i = 0; i < cone->count; i++)
        sum += cone->share[i];
    for (size_t i = 0; i < cone->count; i++)
        cone->share[i] /= sum;
    return BC_OK;
}

size_t bc_cone_points(double aoi_rad, double half_rad, double from_nm, double tilt_nm)
{
    const double fringes = 2.0 * half_rad * 2.0 * tilt_nm * sin(aoi_rad + half_rad) / from_nm;
    return (size_t)fmin(ceil(FEWEST_POINTS + IN_FRINGE * fringes), MOST_POINTS);
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
