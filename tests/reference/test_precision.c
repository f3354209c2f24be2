/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The whole engine against GNU MPC at 256 bits, on thousands of random stacks and on every vector path of this
 * processor; its derivatives against differences of 1e-20 nm at 512 bits. Equations of the reference: see reference.h.
 *
 * The stacks: up to 80 layers of 0 to 300 nm (metals to 200 nm), n 0.05 to 4.4, k to 5, incident index 1 to 1.8, clear
 * and absorbing substrates, 0 to 89 degrees, 300 to 2000 nm. Every wavelength has indices of its own, so that a lane
 * that reads its neighbour's is found, and the number of wavelengths is seldom a whole number of vectors.
 *
 * A double holds a thickness, and so a phase, to 2^-53 of itself. Where chance makes a cavity so sharp that this alone
 * moves R by more than 1e-12, no engine in doubles can do better: there, and only there, the change that 2^-53 of every
 * thickness makes is allowed instead (see reach()). Such places are counted, and must stay below one in ten thousand.
 */
#include "support.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define MOST_LAYERS      80
#define MOST_MATERIALS   6
#define MOST_WAVELENGTHS 16
#define VALUE_TRIALS     MANY_OR_FEW(2400, 300)
#define GRADIENT_TRIALS  MANY_OR_FEW(320, 40)
#define VALUE_TOLERANCE  1e-12
#define SLOPE_TOLERANCE  1e-9

typedef struct medium {
    double n[MOST_WAVELENGTHS], k[MOST_WAVELENGTHS];
} medium;

typedef struct trial {
    unsigned number; /* for messages */
    size_t wavelengths, materials, layers;
    double wavelength_nm[MOST_WAVELENGTHS], aoi_rad;
    medium incident, substrate, material[MOST_MATERIALS];
    unsigned layer_material[MOST_LAYERS];
    double thickness_nm[MOST_LAYERS];
} trial;

/* Where in a trial a number was seen. */
typedef struct place {
    const trial *t;
    bc_path path;
    bc_plane plane;
    size_t wavelength;
} place;

static void compare(const place *at, const char *what, double seen, double exact, double tolerance)
{
    if (!(fabs(seen - exact) <= tolerance))
        ck_abort_msg(
            "trial %u, path %d, plane %d, wavelength %zu of %zu, %zu layers, %.17g rad: %s is %.17g, not %.17g "
            "(difference %.3g, allowed %.3g)",
            at->t->number, (int)at->path, (int)at->plane, at->wavelength, at->t->wavelengths, at->t->layers,
            at->t->aoi_rad, what, seen, exact, seen - exact, tolerance);
}

/* A material's indices at all wavelengths; one in four that absorbs is clear at about half of them. */
static void scatter(random_source *random, double n, double k, medium *out)
{
    const bool edge = below(random, 4) == 0;
    for (size_t i = 0; i < MOST_WAVELENGTHS; i++) {
        out->n[i] = n * uniform(random, 0.95, 1.05);
        out->k[i] = edge && below(random, 2) == 0 ? 0.0 : k * uniform(random, 0.8, 1.0);
    }
}

/* A third of the trials hold no absorbing layer, a third repeat their materials in turn as mirrors do. */
static void make_trial(random_source *random, unsigned number, trial *t)
{
    static const size_t counts[] = {1, 3, 7, 8, 9, 13, 16};
    const bool clear = below(random, 3) == 0, periodic = below(random, 3) == 0;
    reference_layer layer[MOST_MATERIALS];
    t->number = number;
    t->wavelengths = counts[below(random, sizeof counts / sizeof *counts)];
    t->materials = 1 + below(random, MOST_MATERIALS);
    t->layers = below(random, below(random, 2) == 0 ? 21 : MOST_LAYERS + 1);
    t->aoi_rad = below(random, 6) == 0 ? 0.0 : uniform(random, 0.0, 89.0 * PI / 180.0);
    for (size_t i = 0; i < t->wavelengths; i++)
        t->wavelength_nm[i] = uniform(random, 300.0, 2000.0);
    scatter(random, below(random, 2) == 0 ? 1.06 : uniform(random, 1.06, 1.71), 0.0, &t->incident);
    scatter(random, uniform(random, 1.2, 4.0), below(random, 2) == 0 ? 0.0 : uniform(random, 0.0, 5.0), &t->substrate);
    for (size_t m = 0; m < t->materials; m++) {
        layer[m] = random_layer(random, clear ? CLEAR_LAYER : (layer_kind)below(random, 3));
        scatter(random, layer[m].n, layer[m].k, &t->material[m]);
    }
    for (size_t j = 0; j < t->layers; j++) {
        const size_t m = periodic ? j % t->materials : below(random, t->materials);
        t->layer_material[j] = (unsigned)m;
        t->thickness_nm[j] = uniform(random, 0.0, layer[m].k < 0.3 ? 300.0 : 200.0);
    }
}

static reference_stack stack_at(const trial *t, size_t wavelength, reference_layer *layer)
{
    const reference_stack stack = {.wavelength_nm = t->wavelength_nm[wavelength],
                                   .aoi_rad = t->aoi_rad,
                                   .invariant_n = t->incident.n[wavelength],
                                   .incident_n = t->incident.n[wavelength],
                                   .substrate_n = t->substrate.n[wavelength],
                                   .substrate_k = t->substrate.k[wavelength],
                                   .layers = t->layers,
                                   .layer = layer};
    for (size_t j = 0; j < t->layers; j++) {
        const medium *m = &t->material[t->layer_material[j]];
        layer[j] = (reference_layer){m->n[wavelength], m->k[wavelength], t->thickness_nm[j]};
    }
    return stack;
}

static bc_status evaluate(const trial *t, bc_path path, bc_want want, bc_surface **surface, bc_error *error)
{
    bc_index material[MOST_MATERIALS];
    const bc_surface_setup setup = {.wavelengths = t->wavelengths,
                                    .wavelength_nm = t->wavelength_nm,
                                    .aoi_rad = t->aoi_rad,
                                    .incident = {t->incident.n, NULL},
                                    .substrate = {t->substrate.n, t->substrate.k},
                                    .materials = t->materials,
                                    .material = material,
                                    .max_layers = t->layers,
                                    .path = path};
    bc_status status;
    for (size_t m = 0; m < t->materials; m++)
        material[m] = (bc_index){t->material[m].n, t->material[m].k};
    status = bc_surface_alloc(&setup, surface, error);
    if (status == BC_OK)
        bc_surface_evaluate(*surface, t->layers, t->layer_material, t->thickness_nm, want);
    return status;
}

static bc_surface *evaluated(const trial *t, bc_path path, bc_want want)
{
    bc_surface *surface = NULL;
    bc_error error = {BC_OK, ""};
    ck_assert_msg(evaluate(t, path, want, &surface, &error) == BC_OK, "%s", error.message);
    return surface;
}

/* The vector paths of this processor, the others named on stdout. */
static size_t list_paths(bc_path *path)
{
    static const char *const name[] = {"portable", "AVX2", "AVX-512"};
    size_t count = 0;
    random_source random = {1};
    static trial t;
    make_trial(&random, 0, &t);
    for (int p = BC_PATH_PORTABLE; p <= BC_PATH_AVX512; p++) {
        bc_surface *surface = NULL;
        const bc_status status = evaluate(&t, (bc_path)p, BC_WANT_VALUES, &surface, NULL);
        if (status == BC_OK)
            path[count++] = (bc_path)p;
        else
            printf("outside: path %s skipped, this processor cannot run it\n", name[p - BC_PATH_PORTABLE]);
        ck_assert(status == BC_OK || (status == BC_ERROR_INPUT && p != BC_PATH_PORTABLE));
        bc_surface_free(surface);
    }
    return count;
}

/* How far R or T moves at most when every thickness changes by 2^-53 of itself. */
static double reach(const trial *t, const place *at)
{
    reference_layer layer[MOST_LAYERS];
    reference_value slope[MOST_LAYERS][2];
    const reference_stack stack = stack_at(t, at->wavelength, layer);
    reference *engine = reference_alloc(REFERENCE_BITS, MOST_LAYERS);
    double moved = 0.0;
    ck_assert_ptr_nonnull(engine);
    reference_gradient(engine, &stack, REFERENCE_STEP_NM, slope);
    reference_free(engine);
    for (size_t j = 0; j < t->layers; j++)
        moved += 0x1p-53 * layer[j].thickness_nm * fmax(fabs(slope[j][at->plane].R), fabs(slope[j][at->plane].T));
    return moved;
}

/* Returns at how many places the tolerance was out of a double's reach. */
static size_t compare_values(const trial *t, bc_path path, reference_value (*exact)[2])
{
    bc_surface *surface = evaluated(t, path, BC_WANT_VALUES);
    size_t sharp = 0;
    for (size_t i = 0; i < t->wavelengths; i++) {
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const place at = {t, path, (bc_plane)plane, i};
            const double R = bc_surface_R(surface, at.plane)[i], T = bc_surface_T(surface, at.plane)[i];
            const reference_value *value = &exact[i][plane];
            double allowed = VALUE_TOLERANCE;
            if (fmax(fabs(R - value->R), fabs(T - value->T)) > allowed) {
                allowed = fmax(allowed, reach(t, &at));
                sharp++;
            }
            compare(&at, "R", R, value->R, allowed);
            compare(&at, "T", T, value->T, allowed);
        }
    }
    bc_surface_free(surface);
    return sharp;
}

START_TEST(values)
{
    random_source random = {1313};
    reference *engine = reference_alloc(REFERENCE_BITS, MOST_LAYERS);
    size_t sharp = 0, compared = 0;
    bc_path path[3];
    const size_t paths = list_paths(path);
    ck_assert_ptr_nonnull(engine);
    for (unsigned number = 0; number < VALUE_TRIALS; number++) {
        static trial t;
        reference_value exact[MOST_WAVELENGTHS][2];
        make_trial(&random, number, &t);
        for (size_t i = 0; i < t.wavelengths; i++) {
            reference_layer layer[MOST_LAYERS];
            const reference_stack stack = stack_at(&t, i, layer);
            reference_evaluate(engine, &stack, exact[i]);
        }
        for (size_t p = 0; p < paths; p++)
            sharp += compare_values(&t, path[p], exact);
        compared += 2 * paths * t.wavelengths;
    }
    ck_assert_uint_le(sharp, compared / 10000);
    reference_free(engine);
}
END_TEST

/* Of one wavelength. */
typedef struct slopes {
    reference_value layer[MOST_LAYERS][2];
} slopes;

/* What 1e-9 is relative to. An optimizer adds the derivatives of a spectrum, so a small one is needed only to the
 * precision of the largest beside it: the scale is the largest of |dR| and |dT| (for the amplitude, of |d rho|) over
 * all layers and wavelengths of one plane. Behind an opaque metal or past total reflection even the largest is next to
 * nothing: dR = 2 Re(rho* d rho) is then what is left where large terms cancel, and no double holds that to 1e-9 of
 * itself. There the precision asked of R, 1e-12, is asked of the terms: of |d rho|, and of a radian of phase,
 * 2 pi/wavelength. */
static void find_scales(const trial *t, const slopes *exact, int plane, double *energy, double *amplitude)
{
    const double share = VALUE_TOLERANCE / SLOPE_TOLERANCE;
    *energy = *amplitude = 0.0;
    for (size_t i = 0; i < t->wavelengths; i++) {
        *amplitude = fmax(*amplitude, share * 2.0 * PI / t->wavelength_nm[i]);
        for (size_t j = 0; j < t->layers; j++) {
            const reference_value *slope = &exact[i].layer[j][plane];
            *energy = fmax(*energy, fmax(fabs(slope->R), fabs(slope->T)));
            *amplitude = fmax(*amplitude, hypot(slope->rho_re, slope->rho_im));
        }
        *energy = fmax(*energy, share * 2.0 * PI / t->wavelength_nm[i]);
    }
    *energy = fmax(*energy, share * *amplitude);
}

static void compare_slopes(const trial *t, bc_path path, const slopes *exact)
{
    bc_surface *surface = evaluated(t, path, BC_WANT_GRADIENT);
    for (int p = BC_S; p <= BC_P; p++) {
        const bc_plane plane = (bc_plane)p;
        double energy, amplitude;
        find_scales(t, exact, p, &energy, &amplitude);
        energy *= SLOPE_TOLERANCE;
        amplitude *= SLOPE_TOLERANCE;
        for (size_t j = 0; j < t->layers; j++) {
            for (size_t i = 0; i < t->wavelengths; i++) {
                const place at = {t, path, plane, i};
                const reference_value *slope = &exact[i].layer[j][p];
                compare(&at, "dR", bc_surface_dR(surface, plane, j)[i], slope->R, energy);
                compare(&at, "dT", bc_surface_dT(surface, plane, j)[i], slope->T, energy);
                compare(&at, "Re d rho", bc_surface_drho_re(surface, plane, j)[i], slope->rho_re, amplitude);
                compare(&at, "Im d rho", bc_surface_drho_im(surface, plane, j)[i], slope->rho_im, amplitude);
            }
        }
    }
    bc_surface_free(surface);
}

/* A layer that is yet to be inserted has the derivative of the layer of no thickness that `t` holds as layer `absent`.
 */
static void compare_insertion(const trial *t, size_t absent, bc_path path, const slopes *exact)
{
    trial without = *t;
    bc_surface *surface;
    without.layers--;
    memmove(&without.layer_material[absent], &t->layer_material[absent + 1],
            (without.layers - absent) * sizeof *t->layer_material);
    memmove(&without.thickness_nm[absent], &t->thickness_nm[absent + 1],
            (without.layers - absent) * sizeof *t->thickness_nm);
    surface = evaluated(&without, path, BC_WANT_AMPLITUDE);
    for (int p = BC_S; p <= BC_P; p++) {
        double energy, amplitude, rho_re[MOST_WAVELENGTHS], rho_im[MOST_WAVELENGTHS];
        find_scales(t, exact, p, &energy, &amplitude);
        bc_surface_insertion(surface, (bc_plane)p, absent, t->layer_material[absent], rho_re, rho_im);
        for (size_t i = 0; i < t->wavelengths; i++) {
            const place at = {t, path, (bc_plane)p, i};
            compare(&at, "inserted Re d rho", rho_re[i], exact[i].layer[absent][p].rho_re, SLOPE_TOLERANCE * amplitude);
            compare(&at, "inserted Im d rho", rho_im[i], exact[i].layer[absent][p].rho_im, SLOPE_TOLERANCE * amplitude);
        }
    }
    bc_surface_free(surface);
}

START_TEST(derivatives)
{
    random_source random = {1414};
    reference *engine = reference_alloc(REFERENCE_GRADIENT_BITS, MOST_LAYERS);
    bc_path path[3];
    const size_t paths = list_paths(path);
    ck_assert_ptr_nonnull(engine);
    for (unsigned number = 0; number < GRADIENT_TRIALS; number++) {
        static trial t;
        static slopes exact[MOST_WAVELENGTHS];
        size_t absent;
        make_trial(&random, number, &t);
        if (t.layers == 0)
            continue;
        absent = below(&random, t.layers);
        t.thickness_nm[absent] = 0.0;
        for (size_t i = 0; i < t.wavelengths; i++) {
            reference_layer layer[MOST_LAYERS];
            const reference_stack stack = stack_at(&t, i, layer);
            reference_gradient(engine, &stack, REFERENCE_STEP_NM, exact[i].layer);
        }
        for (size_t p = 0; p < paths; p++) {
            compare_slopes(&t, path[p], exact);
            compare_insertion(&t, absent, path[p], exact);
        }
    }
    reference_free(engine);
}
END_TEST

/* One wavelength, one or two layers: cases that chance does not visit. */
static trial corner(double incident_n, double aoi_rad, reference_layer outer, reference_layer inner, double substrate_n)
{
    trial t = {.wavelengths = 1, .materials = 2, .layers = 2, .wavelength_nm = {550.0}, .aoi_rad = aoi_rad};
    t.incident.n[0] = incident_n;
    t.substrate.n[0] = substrate_n;
    t.material[0].n[0] = outer.n;
    t.material[0].k[0] = outer.k;
    t.material[1].n[0] = inner.n;
    t.material[1].k[0] = inner.k;
    t.layer_material[1] = 1;
    t.thickness_nm[0] = outer.thickness_nm;
    t.thickness_nm[1] = inner.thickness_nm;
    return t;
}

START_TEST(rare_cases)
{
    const reference_layer silver = {0.05, 3.3, 5.0e4}, thin = {1.46, 0.0, 90.0}, none = {2.1, 0.0, 0.0};
    const reference_layer gap = {1.0, 0.0, 400.0}, wide_gap = {1.0, 0.0, 3.0e4}, black = {2.0, 5.0, 4.0e5};
    const trial corners[] = {
        corner(1.0, 0.0, silver, thin, 1.52),               /* 0.05 mm of metal */
        corner(1.0, 89.0 * PI / 180.0, thin, silver, 1.52), /* the same at grazing incidence */
        corner(1.8, 89.9 * PI / 180.0, silver, thin, 1.52), /* and past total reflection in the layer */
        corner(1.5, PI / 4.0, gap, thin, 1.5),              /* frustrated total reflection */
        corner(1.5, PI / 4.0, wide_gap, thin, 1.5),         /* nothing left of it */
        corner(2.0, PI / 6.0, gap, thin, 2.0),              /* a layer at its critical angle to the last bit */
        corner(1.0, 1.0, none, none, 1.52),                 /* layers of no thickness */
        corner(1.0, 0.0, black, black, 1.52),               /* exp(-45000) */
        corner(1.0, 89.999 * PI / 180.0, thin, none, 1.52), /* nearly parallel to the surface */
        corner(1.0, 1e-12, thin, none, 1.52),               /* nearly normal */
    };
    reference *engine = reference_alloc(REFERENCE_BITS, 2);
    bc_path path[3];
    const size_t paths = list_paths(path);
    ck_assert_ptr_nonnull(engine);
    for (size_t c = 0; c < sizeof corners / sizeof *corners; c++) {
        reference_value exact[MOST_WAVELENGTHS][2];
        reference_layer layer[MOST_LAYERS];
        const reference_stack stack = stack_at(&corners[c], 0, layer);
        reference_evaluate(engine, &stack, exact[0]);
        for (size_t p = 0; p < paths; p++)
            ck_assert_uint_eq(compare_values(&corners[c], path[p], exact), 0);
    }
    reference_free(engine);
}
END_TEST

TCase *precision_case(void)
{
    TCase *tests = tcase_create("precision");
    tcase_set_timeout(tests, 600.0);
    tcase_add_test(tests, values);
    tcase_add_test(tests, derivatives);
    tcase_add_test(tests, rare_cases);
    return tests;
}
