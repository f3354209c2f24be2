/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the merit makes of a callout, against one layer in closed form (tests/optics/airy.h), and what it makes of the
 * slopes, against plain sums.
 */
#include "airy.h"
#include "budget.h"
#include "merit_work.h"
#include "problem.h"
#include "segments.h"
#include <malloc.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define AT_NM 550.0
static const single_layer absorbing = {1.0, 2.1 - 0.05 * I, 1.52, 95.0};
static const unsigned one[1] = {0};

static bc_merit *open_merit(const problem *p, size_t layers)
{
    bc_merit *merit;
    bc_error error;
    ck_assert_msg(bc_merit_alloc(&p->design, BC_DENSITY_SEARCH, layers, BC_NO_FRINGES, &merit, &error) == BC_OK, "%s",
                  error.message);
    return merit;
}

/* Every quantity, sense and polarization at one wavelength: u is value / limit, or (1 - value) / (1 - limit). */
START_TEST(u_is_the_limit_used_of_the_closed_form)
{
    static const bc_polarization polarizations[] = {BC_POL_UNPOLARIZED, BC_POL_S, BC_POL_P};
    const double aoi_deg = _i == 0 ? 0.0 : 40.0, aoi_rad = aoi_deg * acos(-1.0) / 180.0, limit = 0.3;
    const airy_value s = airy(&absorbing, BC_S, AT_NM, aoi_rad), p = airy(&absorbing, BC_P, AT_NM, aoi_rad);
    for (unsigned which = 0; which < 18; which++) {
        const bc_polarization polarization = polarizations[which / 6];
        const double share = polarization == BC_POL_UNPOLARIZED ? 0.5 : polarization == BC_POL_S ? 1.0 : 0.0;
        const double R = share * s.R + (1.0 - share) * p.R, T = share * s.T + (1.0 - share) * p.T;
        double value;
        problem asked;
        bc_callout *row;
        bc_merit *merit;
        problem_open(&asked, "1.52", "2.1-0.05i");
        row = problem_add(&asked, limit, AT_NM, AT_NM, aoi_deg);
        row->quantity = which % 3 == 0 ? BC_R : which % 3 == 1 ? BC_T : BC_A;
        row->sense = which % 6 < 3 ? BC_AT_MOST : BC_AT_LEAST;
        row->statistic = which % 2 == 0 ? BC_EXTREME : BC_AVERAGE;
        row->polarization = polarization;
        value = row->quantity == BC_R ? R : row->quantity == BC_T ? T : 1.0 - R - T;
        ck_assert_double_gt(value, 0.01);
        merit = open_merit(&asked, 1);
        bc_merit_evaluate(merit, 1, one, &absorbing.thickness_nm, true);
        ck_assert_uint_eq(bc_merit_constraints(merit), 1);
        ck_assert_double_eq_tol(bc_merit_u(merit)[0],
                                row->sense == BC_AT_MOST ? value / limit : (1.0 - value) / (1.0 - limit), 1e-9);
        bc_merit_free(merit);
        problem_close(&asked);
    }
}
END_TEST

/* The slopes by differences of the same closed forms. */
START_TEST(slopes_are_those_of_the_closed_form)
{
    const double aoi_deg = 35.0, aoi_rad = aoi_deg * acos(-1.0) / 180.0, limit = 0.3, step = 1e-4;
    single_layer thinner = absorbing, thicker = absorbing;
    airy_value low, high;
    thinner.thickness_nm -= step;
    thicker.thickness_nm += step;
    low = airy_mean(&thinner, AT_NM, aoi_rad);
    high = airy_mean(&thicker, AT_NM, aoi_rad);
    for (unsigned which = 0; which < 6; which++) {
        const double dR = (high.R - low.R) / (2.0 * step), dT = (high.T - low.T) / (2.0 * step);
        const double slope = which % 3 == 0 ? dR : which % 3 == 1 ? dT : -dR - dT;
        const double room = which < 3 ? limit : limit - 1.0;
        problem asked;
        bc_callout *row;
        bc_merit *merit;
        problem_open(&asked, "1.52", "2.1-0.05i");
        row = problem_add(&asked, limit, AT_NM, AT_NM, aoi_deg);
        row->quantity = which % 3 == 0 ? BC_R : which % 3 == 1 ? BC_T : BC_A;
        row->sense = which < 3 ? BC_AT_MOST : BC_AT_LEAST;
        merit = open_merit(&asked, 1);
        bc_merit_evaluate(merit, 1, one, &absorbing.thickness_nm, true);
        ck_assert_double_gt(fabs(slope), 1e-4);
        ck_assert_double_eq_tol(bc_merit_slope(merit, 0)[0], slope / room, 1e-6 * fabs(slope / room));
        bc_merit_free(merit);
        problem_close(&asked);
    }
}
END_TEST

/* An average over a band is the integral of the closed form over it, divided by its width. The search's few samples see
 * it to a few parts in a thousand. */
START_TEST(an_average_is_the_integral_over_the_band)
{
    const double from = 450.0, to = 650.0, limit = 0.3;
    const size_t steps = 20000;
    double sum = 0.0;
    problem p;
    bc_merit *merit;
    problem_open(&p, "1.52", "2.1-0.05i");
    problem_add(&p, limit, from, to, 0.0)->statistic = BC_AVERAGE;
    merit = open_merit(&p, 1);
    bc_merit_evaluate(merit, 1, one, &absorbing.thickness_nm, false);
    for (size_t i = 0; i < steps; i++)
        sum += airy(&absorbing, BC_S, from + (to - from) * ((double)i + 0.5) / (double)steps, 0.0).R;
    ck_assert_double_eq_tol(bc_merit_u(merit)[0], sum / (double)steps / limit, 2e-3 * bc_merit_u(merit)[0]);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

/* The curve of a row is its quantity at each wavelength, whatever is made of it. */
START_TEST(a_curve_is_the_quantity_at_every_wavelength)
{
    double *value;
    problem p;
    bc_callout *row;
    bc_merit *merit;
    const bc_segment *segment;
    problem_open(&p, "1.52", "2.1-0.05i");
    problem_add(&p, 0.3, 500.0, 600.0, 0.0);
    row = problem_add(&p, 0.3, 450.0, 650.0, 0.0);
    row->statistic = _i == 0 ? BC_EXTREME : BC_AVERAGE;
    row->quantity = BC_A;
    row->sense = BC_AT_LEAST;
    merit = open_merit(&p, 1);
    bc_merit_evaluate(merit, 1, one, &absorbing.thickness_nm, true);
    segment = &bc_merit_segments(merit)->segment[bc_merit_segments(merit)->row[1].segment];
    value = calloc(segment->count, sizeof *value);
    bc_merit_curve(merit, 1, value);
    for (size_t i = 0; i < segment->count; i++) {
        const airy_value at = airy(&absorbing, BC_S, segment->wavelength_nm[i], 0.0);
        ck_assert_double_eq_tol(value[i], 1.0 - at.R - at.T, 1e-9);
    }
    free(value);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

#define LAYERS 4
static const unsigned material[LAYERS] = {0, 1, 0, 1};
static const double thickness_nm[LAYERS] = {90.0, 55.0, 30.0, 12.0};

/* d sum(z u) of a new layer is the slope of a layer of no thickness, for R and T of either sense, at an angle, in each
 * plane, over bands and as an average, on a curved surface. */
START_TEST(insertions_of_every_kind_of_row)
{
    const unsigned with[LAYERS + 1] = {0, 1, 1, 0, 1};
    const double thick[LAYERS + 1] = {90.0, 55.0, 0.0, 30.0, 12.0};
    const bc_zone zone = {3.0, 0.0, 0.83, false};
    for (unsigned which = 0; which < 24; which++) {
        double *z, direct = 0.0;
        problem p;
        bc_callout *row;
        bc_merit *merit;
        problem_open(&p, "1.52", "1.38,2.1");
        row = problem_add(&p, 0.3, 450.0, 650.0, which % 2 == 0 ? 0.0 : 40.0);
        row->quantity = which / 2 % 2 == 0 ? BC_R : BC_T;
        row->sense = which / 4 % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST;
        row->statistic = which / 8 % 2 == 0 ? BC_EXTREME : BC_AVERAGE;
        row->polarization = which % 3 == 0 ? BC_POL_EACH : which % 3 == 1 ? BC_POL_P : BC_POL_UNPOLARIZED;
        p.design.zones = which < 16 ? 0 : 1;
        p.design.zone = &zone;
        merit = open_merit(&p, LAYERS + 1);
        z = malloc(bc_merit_constraints(merit) * sizeof *z);
        bc_merit_evaluate(merit, LAYERS + 1, with, thick, true);
        for (size_t c = 0; c < bc_merit_constraints(merit); c++) {
            z[c] = 1.0 / (1.0 + (double)c);
            direct += z[c] * bc_merit_slope(merit, 2)[c];
        }
        bc_merit_evaluate(merit, LAYERS, material, thickness_nm, true);
        ck_assert_double_gt(fabs(direct), 1e-5);
        ck_assert_double_eq_tol(bc_merit_insertion(merit, z, 2, 1), direct, 1e-8 * fabs(direct));
        free(z);
        bc_merit_free(merit);
        problem_close(&p);
    }
}
END_TEST

/* u = |f rho|^2 has the Gauss-Newton Hessian 2 f^2 (re' re' + im' im'), a mean of planes and wavelengths that of its
 * parts, and a u that is no such square that of (sqrt u)^2: u' u' / (2 u). Summed here one by one. */
static double plain_hessian(const bc_merit *merit, const double *z, size_t j, size_t k)
{
    const bc_segments *segments = bc_merit_segments(merit);
    double sum = 0.0;
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        const bc_segment *segment = &segments->segment[row->segment];
        const bool square = !segment->is_part && ((row->callout->quantity == BC_R && row->factor > 0.0) ||
                                                  (row->callout->quantity == BC_T && row->factor < 0.0));
        for (size_t c = row->first; !square && c < row->first + row->count; c++)
            sum += z[c] * bc_merit_slope(merit, j)[c] * bc_merit_slope(merit, k)[c] / (2.0 * bc_merit_u(merit)[c]);
        for (size_t i = 0; square && i < segment->count; i++)
            for (unsigned plane = 0; plane < 2; plane++) {
                const bc_surface *s = segment->surface;
                const bc_plane p = (bc_plane)plane;
                const double weight =
                    row->callout->statistic == BC_EXTREME ? z[row->first + i] : z[row->first] * segment->weight[i];
                sum += 2.0 * weight * fabs(row->factor) * row->share[plane] *
                       (bc_surface_drho_re(s, p, j)[i] * bc_surface_drho_re(s, p, k)[i] +
                        bc_surface_drho_im(s, p, j)[i] * bc_surface_drho_im(s, p, k)[i]);
            }
    }
    return sum;
}

START_TEST(the_hessian_is_the_plain_sum)
{
    double *z, hessian[LAYERS * LAYERS] = {0};
    problem p;
    bc_callout *row;
    bc_merit *merit;
    problem_open(&p, "1.52", "1.38,2.1");
    p.design.back = (bc_back){.kind = BC_BACK_SAME, .substrate_mm = 2.0};
    row = problem_add(&p, 0.02, 450.0, 650.0, _i % 2 == 0 ? 0.0 : 40.0);
    row->statistic = _i / 2 % 2 == 0 ? BC_EXTREME : BC_AVERAGE;
    row->polarization = _i % 3 == 0 ? BC_POL_EACH : BC_POL_UNPOLARIZED;
    row->quantity = _i / 4 % 2 == 0 ? BC_R : BC_T;
    row->sense = _i / 8 % 2 == 0 ? BC_AT_MOST : BC_AT_LEAST;
    row->scope = _i < 16 ? BC_SCOPE_SURFACE : BC_SCOPE_PART;
    problem_add(&p, 0.01, 500.0, 600.0, 0.0);
    merit = open_merit(&p, LAYERS);
    z = malloc(bc_merit_constraints(merit) * sizeof *z);
    for (size_t c = 0; c < bc_merit_constraints(merit); c++)
        z[c] = 0.3 + 0.5 * sin((double)c) * sin((double)c);
    bc_merit_evaluate(merit, LAYERS, material, thickness_nm, true);
    bc_merit_add_hessian(merit, z, hessian);
    for (size_t j = 0; j < LAYERS; j++)
        for (size_t k = 0; k < LAYERS; k++)
            ck_assert_double_eq_tol(hessian[LAYERS * j + k], plain_hessian(merit, z, j, k), 1e-6 * hessian[0]);
    free(z);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

/* An average is one constraint, and takes the light at all its wavelengths: a search of averages that counted as one
 * each did not end. */
START_TEST(an_average_is_as_much_work_as_its_wavelengths)
{
    problem every, mean;
    bc_merit *alone, *other;
    problem_open(&every, "1.52", "1.38,2.1");
    problem_open(&mean, "1.52", "1.38,2.1");
    problem_add(&every, 0.02, 450.0, 650.0, 0.5);
    problem_add(&mean, 0.02, 450.0, 650.0, 0.5)->statistic = BC_AVERAGE;
    alone = open_merit(&every, 5);
    other = open_merit(&mean, 5);
    ck_assert_uint_eq(bc_merit_constraints(other), 1);
    ck_assert_uint_eq(bc_merit_samples(alone), bc_merit_constraints(alone));
    ck_assert_uint_ge(4 * bc_merit_samples(other), bc_merit_samples(alone));
    ck_assert_uint_gt(bc_merit_samples(other), 8);
    ck_assert_double_eq(bc_merit_work(other, 5), 36.0 * (double)bc_merit_samples(other));
    ck_assert_double_eq(bc_merit_value_work(other, 5), 6.0 * (double)bc_merit_samples(other));
    bc_merit_free(alone);
    bc_merit_free(other);
    problem_close(&every);
    problem_close(&mean);
}
END_TEST

/* An evaluation with slopes costs a pass over the layers for every layer. */
START_TEST(work_grows_with_the_square_of_the_layers)
{
    problem p;
    bc_merit *merit;
    double each;
    problem_open(&p, "1.52", "1.38,2.1");
    problem_add(&p, 0.02, 450.0, 650.0, 0.0);
    merit = open_merit(&p, 64);
    each = (double)bc_merit_constraints(merit);
    for (size_t layers = 0; layers <= 64; layers = 2 * layers + 1)
        ck_assert_double_eq(bc_merit_work(merit, layers), each * (double)((layers + 1) * (layers + 1)));
    ck_assert_uint_eq(bc_merit_steps(merit, 9, 700.0 * each, 50), 7);
    ck_assert_uint_eq(bc_merit_steps(merit, 9, 799.0 * each, 7), 7);
    ck_assert_uint_eq(bc_merit_steps(merit, 9, 1e9 * each, 50), 50);
    ck_assert_uint_eq(bc_merit_steps(merit, 9, each, 50), 1); /* one step always */
    ck_assert_uint_eq(bc_merit_threads(merit, 3), 3);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST

#ifndef __SANITIZE_ADDRESS__
static double in_use(void)
{
    const struct mallinfo2 info = mallinfo2();
    return (double)info.uordblks + (double)info.hblkhd;
}

/* What is counted beforehand is what is then allocated: without slopes and with, surfaces and parts, normal incidence
 * and an angle. A part of the same back on both sides takes less. */
START_TEST(memory_is_counted_as_it_is_taken)
{
    const size_t layers = _i % 2 == 0 ? 1 : 90;
    const double before = in_use();
    double taken, counted;
    problem p;
    bc_merit *merit;
    problem_open(&p, "1.52", "1.38,2.1");
    p.design.back = (bc_back){.kind = BC_BACK_SAME, .substrate_mm = 2.0};
    problem_add(&p, 0.02, 450.0, 650.0, _i / 2 % 2 == 0 ? 0.0 : 30.0)->scope =
        _i / 4 % 2 == 0 ? BC_SCOPE_SURFACE : BC_SCOPE_PART;
    taken = in_use();
    ck_assert_double_gt(taken, before);
    ck_assert_int_eq((_i < 8 ? bc_merit_alloc : bc_merit_alloc_values)(&p.design, BC_DENSITY_VERDICT, layers,
                                                                       (bc_fringes){15000.0, 0.0}, &merit, NULL),
                     BC_OK);
    taken = in_use() - taken;
    counted = bc_merit_bytes(merit);
    ck_assert_msg(taken < 1.06 * counted && taken > 0.7 * counted, "%g taken, %g counted", taken, counted);
    bc_merit_free(merit);
    problem_close(&p);
}
END_TEST
#endif

Suite *rows_suite(void)
{
    Suite *suite = suite_create("rows of the merit");
    TCase *tests = tcase_create("all");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, u_is_the_limit_used_of_the_closed_form, 0, 2);
    tcase_add_test(tests, slopes_are_those_of_the_closed_form);
    tcase_add_test(tests, an_average_is_the_integral_over_the_band);
    tcase_add_loop_test(tests, a_curve_is_the_quantity_at_every_wavelength, 0, 2);
    tcase_add_test(tests, insertions_of_every_kind_of_row);
    tcase_add_loop_test(tests, the_hessian_is_the_plain_sum, 0, 18);
    tcase_add_test(tests, work_grows_with_the_square_of_the_layers);
    tcase_add_test(tests, an_average_is_as_much_work_as_its_wavelengths);
#ifndef __SANITIZE_ADDRESS__
    tcase_add_loop_test(tests, memory_is_counted_as_it_is_taken, 0, 16);
#endif
    suite_add_tcase(suite, tests);
    return suite;
}
