/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a dispersion table says between its rows.
 */
#include "suites.h"
#include <bloomcoat/dispersion.h>
#include <float.h>
#include <math.h>
#include <pthread.h>
#include <string.h>

static bc_dispersion *table_of(size_t rows, const double *nm, const double *n, const double *k)
{
    bc_dispersion *table = NULL;
    bc_error error = {0};
    ck_assert_msg(bc_dispersion_table("Demo", rows, nm, n, k, &table, &error) == BC_OK, "%s", error.message);
    return table;
}

static double n_at(const bc_dispersion *table, double nm)
{
    double n = -1;
    ck_assert_int_eq(bc_dispersion_index(table, 1, &nm, &n, NULL, NULL), BC_OK);
    return n;
}

/* Steffen, Astron. Astrophys. 239, 443 (1990): slopes by eq. 11, the cubic by eqs. 2 to 5, at an inner interval. */
static double steffen(const double *x, const double *y, size_t i, double at)
{
    double slope[2];
    for (size_t j = 0; j < 2; j++) {
        size_t m = i + j;
        double h0 = x[m] - x[m - 1], h1 = x[m + 1] - x[m];
        double s0 = (y[m] - y[m - 1]) / h0, s1 = (y[m + 1] - y[m]) / h1;
        double p = (s0 * h1 + s1 * h0) / (h0 + h1);
        slope[j] = (copysign(1, s0) + copysign(1, s1)) * fmin(fmin(fabs(s0), fabs(s1)), 0.5 * fabs(p));
    }
    double h = x[i + 1] - x[i], s = (y[i + 1] - y[i]) / h, t = at - x[i];
    double a = (slope[0] + slope[1] - 2 * s) / (h * h), b = (3 * s - 2 * slope[0] - slope[1]) / h;
    return ((a * t + b) * t + slope[0]) * t + y[i];
}

static const double demo_nm[] = {300, 310, 400, 401, 550, 800, 1100};
static const double demo_n[] = {2.4, 2.3, 2.05, 2.08, 2.01, 1.97, 1.96};
static const double demo_k[] = {0.3, 0.02, 0.001, 0, 0, 0, 0.004};

START_TEST(is_steffens_cubic)
{
    bc_dispersion *table = table_of(7, demo_nm, demo_n, demo_k);
    for (size_t i = 1; i < 5; i++) {
        for (int step = 1; step < 20; step++) {
            double nm = demo_nm[i] + (demo_nm[i + 1] - demo_nm[i]) * step / 20, n, k;
            ck_assert_int_eq(bc_dispersion_index(table, 1, &nm, &n, &k, NULL), BC_OK);
            ck_assert_double_eq_tol(n, steffen(demo_nm, demo_n, i, nm), 1e-14);
            ck_assert_double_eq_tol(k, steffen(demo_nm, demo_k, i, nm), 1e-14);
        }
    }
    bc_dispersion_free(table);
}
END_TEST

START_TEST(exact_at_the_rows)
{
    bc_dispersion *table = table_of(7, demo_nm, demo_n, demo_k);
    double n[7], k[7];
    ck_assert_int_eq(bc_dispersion_index(table, 7, demo_nm, n, k, NULL), BC_OK);
    for (size_t i = 0; i < 7; i++)
        ck_assert(n[i] == demo_n[i] && k[i] == demo_k[i]);
    bc_dispersion_free(table);
}
END_TEST

/* Just beside a row, and in slope on both sides of it, there is no jump. The slopes, up to 0.03 per nm, change by up to
 * 0.2 per nm per nm; straight lines would jump by 0.03. */
START_TEST(continuous_with_its_slope)
{
    bc_dispersion *table = table_of(7, demo_nm, demo_n, demo_k);
    for (size_t i = 1; i < 6; i++) {
        double h = 1e-4;
        double left = n_at(table, demo_nm[i] - h), right = n_at(table, demo_nm[i] + h);
        double slope_left = (demo_n[i] - left) / h, slope_right = (right - demo_n[i]) / h;
        ck_assert_double_eq_tol(n_at(table, nextafter(demo_nm[i], 0)), demo_n[i], 1e-12);
        ck_assert_double_eq_tol(n_at(table, nextafter(demo_nm[i], 1e9)), demo_n[i], 1e-12);
        ck_assert_double_eq_tol(slope_left, slope_right, 2e-5);
    }
    bc_dispersion_free(table);
}
END_TEST

/* A step: an ordinary cubic spline would ring beside it by about 7 %. Here every value lies between its neighbours and
 * the curve never turns back. */
START_TEST(no_overshoot_at_a_step)
{
    static const double nm[] = {400, 410, 420, 421, 431, 441};
    static const double n[] = {1.4, 1.4, 1.4, 2.4, 2.4, 2.4};
    static const double k[] = {0, 0, 0, 1e-9, 3, 0};
    bc_dispersion *table = table_of(6, nm, n, k);
    double before = 0;
    for (int i = 0; i <= 41000; i++) {
        double at = 400 + i / 1000.0, n_here, k_here;
        ck_assert_int_eq(bc_dispersion_index(table, 1, &at, &n_here, &k_here, NULL), BC_OK);
        ck_assert(n_here >= before && n_here >= 1.4 && n_here <= 2.4);
        ck_assert(k_here >= 0 && k_here <= 3 && (at > 420 || k_here == 0));
        before = n_here;
    }
    bc_dispersion_free(table);
}
END_TEST

/* Rows one ulp apart, over the whole range of values: finite and between its rows. */
START_TEST(extreme_tables)
{
    double nm[] = {400, nextafter(400, 401), 400.1, 1e9}, n[] = {1e4, DBL_MIN, 1, 1e4}, k[] = {0, 1e4, 0, 1e4};
    bc_dispersion *table = table_of(4, nm, n, k);
    for (int i = 0; i < 1000; i++) {
        double at = i < 500 ? 400 + i * 2e-4 : exp(log(400.1) + i / 1000.0 * log(1e9 / 400.1)), n_here, k_here;
        ck_assert_int_eq(bc_dispersion_index(table, 1, &at, &n_here, &k_here, NULL), BC_OK);
        ck_assert(n_here > 0 && n_here <= 1e4 && k_here >= 0 && k_here <= 1e4);
    }
    bc_dispersion_free(table);
}
END_TEST

enum { POINTS = 4000, THREADS = 4 };

typedef struct job {
    const bc_dispersion *table;
    double n[POINTS], k[POINTS];
    bc_status status;
} job;

static void *evaluate(void *context)
{
    job *mine = context;
    for (size_t i = 0; i < POINTS && mine->status == BC_OK; i++) {
        double nm = 300 + 800 * (double)((i * 1237) % POINTS) / POINTS;
        mine->status = bc_dispersion_index(mine->table, 1, &nm, &mine->n[i], &mine->k[i], NULL);
    }
    return NULL;
}

START_TEST(threads_agree)
{
    static job jobs[THREADS + 1];
    pthread_t thread[THREADS];
    bc_dispersion *table = table_of(7, demo_nm, demo_n, demo_k);
    memset(jobs, 0, sizeof jobs);
    for (int i = 0; i <= THREADS; i++)
        jobs[i].table = table;
    for (int i = 0; i < THREADS; i++)
        ck_assert_int_eq(pthread_create(&thread[i], NULL, evaluate, &jobs[i]), 0);
    for (int i = 0; i < THREADS; i++)
        ck_assert_int_eq(pthread_join(thread[i], NULL), 0);
    evaluate(&jobs[THREADS]);
    for (int i = 0; i <= THREADS; i++) {
        ck_assert_int_eq(jobs[i].status, BC_OK);
        ck_assert_int_eq(memcmp(jobs[i].n, jobs[THREADS].n, sizeof jobs[i].n), 0);
        ck_assert_int_eq(memcmp(jobs[i].k, jobs[THREADS].k, sizeof jobs[i].k), 0);
    }
    bc_dispersion_free(table);
}
END_TEST

Suite *interpolation_suite(void)
{
    Suite *suite = suite_create("interpolation");
    TCase *tcase = tcase_create("interpolation");
    tcase_add_test(tcase, is_steffens_cubic);
    tcase_add_test(tcase, exact_at_the_rows);
    tcase_add_test(tcase, continuous_with_its_slope);
    tcase_add_test(tcase, no_overshoot_at_a_step);
    tcase_add_test(tcase, extreme_tables);
    tcase_add_test(tcase, threads_agree);
    suite_add_tcase(suite, tcase);
    return suite;
}
