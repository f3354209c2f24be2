/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What holds of every stack, on as many random stacks as BC_STACKS in the environment says (a thousand without it), on
 * every vector path of this processor. With BC_STACKS the counts and the worst residuals are printed.
 *
 * A double holds a layer's phase to 2^-53 of itself, and the fields it turns to 2^-53 of a radian. Two ways to write
 * one stack differ by a few such roundings for each layer; where a cavity is so sharp that these alone move R or T by
 * more than the tolerance, what they move is allowed instead (see allowed()). Such places are counted as sharp. Energy
 * gets no such allowance.
 */
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define STACKS_USUAL 1000
#define TOLERANCE    1e-12
#define UNCORRECTED  1e-10 /* what the engine may take out of R so that R + T = 1: more would hide a fault */
#define ROUNDINGS    8.0   /* of each layer's phase, in the two stacks together */
#define PATHS        3
#define EXTRA_LAYERS 2 /* what a property adds at most */

typedef enum property {
    SUM,         /* R + T = 1 where nothing absorbs */
    BOUNDS,      /* R >= 0, T >= 0, R + T <= 1 */
    HALF_WAVE,   /* an absent layer */
    SPLIT,       /* a layer cut in three */
    MERGED,      /* two neighbours of one material */
    SCALED,      /* wavelengths and thicknesses times one factor */
    RECIPROCITY, /* T from the other side */
    DIRECTION,   /* R from the other side where nothing absorbs */
    AGREEMENT,   /* with the portable path */
    PROPERTIES
} property;

static const char *const property_name[PROPERTIES] = {"R + T = 1",   "bounds",        "half wave",
                                                      "split layer", "merged layers", "scaling",
                                                      "reciprocity", "direction",     "paths agree"};

typedef struct record {
    size_t compared, sharp;
    double worst; /* the largest difference that was not sharp */
} record;

typedef struct trial {
    unsigned long number;
    specimen_kind kind;
    bc_path path;
    specimen stack;
    response seen;
    record *record; /* [PROPERTIES] */
} trial;

static random_source source_of(unsigned long number)
{
    const uint64_t mixed = (number + 1) * UINT64_C(0x9e3779b97f4a7c15);
    return (random_source){mixed ^ (mixed >> 31) ^ 1};
}

static response response_on(const specimen *stack, bc_path path)
{
    bc_surface *surface = open_surface(stack, path, BC_WANT_VALUES);
    const response seen = read_response(surface);
    bc_surface_free(surface);
    return seen;
}

/* What the roundings of all phases of `stack` may move R or T by at wavelength `i`. A radian is as thick as
 * wavelength / 2 pi where q is 1. */
static double allowed(const specimen *stack, bc_plane plane, size_t i)
{
    bc_surface *surface = open_surface(stack, BC_PATH_PORTABLE, BC_WANT_GRADIENT);
    const double radian_nm = stack->wavelength_nm[i] / (2.0 * PI);
    double moved = 0.0;
    for (size_t j = 0; j < stack->layers; j++)
        moved += (stack->thickness_nm[j] + radian_nm) *
                 fmax(fabs(bc_surface_dR(surface, plane, j)[i]), fabs(bc_surface_dT(surface, plane, j)[i]));
    bc_surface_free(surface);
    return fmax(TOLERANCE, ROUNDINGS * 0x1p-53 * moved);
}

static void fail_at(const trial *t, property what, int plane, size_t i, double difference)
{
    ck_abort_msg("stack %lu (kind %d, %zu layers), path %d, plane %d, %g nm: %s is off by %.3g", t->number,
                 (int)t->kind, t->stack.layers, (int)t->path, plane, t->stack.wavelength_nm[i], property_name[what],
                 difference);
}

/* `difference` is one of R or T between t->stack and `other`, which should be the same. */
static void note(const trial *t, property what, const specimen *other, int plane, size_t i, double difference)
{
    record *into = &t->record[what];
    into->compared++;
    if (fabs(difference) <= TOLERANCE) {
        into->worst = fmax(into->worst, fabs(difference));
    } else if (other != NULL && fabs(difference) <= allowed(other, (bc_plane)plane, i)) {
        into->sharp++;
    } else {
        fail_at(t, what, plane, i, difference);
    }
}

static void compare_at(const trial *t, property what, const specimen *other, const response *seen, size_t i)
{
    for (int p = BC_S; p <= BC_P; p++) {
        note(t, what, other, p, i, seen->R[p][i] - t->seen.R[p][i]);
        note(t, what, other, p, i, seen->T[p][i] - t->seen.T[p][i]);
    }
}

static void compare(const trial *t, property what, const specimen *other)
{
    const response seen = response_on(other, t->path);
    for (size_t i = 0; i < other->wavelengths; i++)
        compare_at(t, what, other, &seen, i);
}

static bool is_clear(const trial *t)
{
    return t->kind == CLEAR_LAYERS || t->kind == PAST_TOTAL_REFLECTION;
}

static void conserve_energy(const trial *t)
{
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < t->stack.wavelengths; i++) {
            const double R = t->seen.R[p][i], T = t->seen.T[p][i];
            if (!(R >= 0.0 && T >= 0.0))
                fail_at(t, BOUNDS, p, i, fmin(R, T));
            note(t, BOUNDS, NULL, p, i, fmax(R + T - 1.0, 0.0));
            if (is_clear(t)) {
                const double square =
                    t->seen.rho_re[p][i] * t->seen.rho_re[p][i] + t->seen.rho_im[p][i] * t->seen.rho_im[p][i];
                note(t, SUM, NULL, p, i, R + T - 1.0);
                if (!(fabs(square - R) <= UNCORRECTED))
                    fail_at(t, SUM, p, i, square - R);
            }
        }
    }
}

static void add_half_wave(const trial *t, random_source *random)
{
    const size_t at = below(random, t->stack.wavelengths), before = below(random, t->stack.layers + 1);
    const double beta = t->stack.incident_n[at] * sin(t->stack.aoi_rad);
    const double n = uniform(random, fmax(1.3, 1.05 * beta), 3.5), halves = (double)(1 + below(random, 4));
    const unsigned material = (unsigned)t->stack.materials;
    specimen with = t->stack;
    response seen;
    with.materials++;
    set_material(&with, material, n, 0.0);
    insert_layer(&with, before, material, halves * with.wavelength_nm[at] / (2.0 * sqrt((n - beta) * (n + beta))));
    seen = response_on(&with, t->path);
    compare_at(t, HALF_WAVE, &with, &seen, at);
}

static void split_layer(const trial *t, random_source *random)
{
    const size_t layer = below(random, t->stack.layers);
    const double outer = uniform(random, 0.0, 0.5), inner = uniform(random, 0.0, 0.5);
    const double whole_nm = t->stack.thickness_nm[layer];
    specimen parts = t->stack;
    insert_layer(&parts, layer, parts.material[layer], outer * whole_nm);
    insert_layer(&parts, layer, parts.material[layer], inner * whole_nm);
    parts.thickness_nm[layer + 2] = whole_nm - outer * whole_nm - inner * whole_nm;
    compare(t, SPLIT, &parts);
}

static void merge_layers(const trial *t, random_source *random)
{
    trial neighbours = *t;
    specimen merged;
    size_t layer;
    if (t->stack.layers < 2)
        return;
    layer = 1 + below(random, t->stack.layers - 1);
    neighbours.stack.material[layer] = neighbours.stack.material[layer - 1];
    neighbours.seen = response_on(&neighbours.stack, t->path);
    merged = neighbours.stack;
    merged.thickness_nm[layer - 1] += merged.thickness_nm[layer];
    remove_layer(&merged, layer);
    compare(&neighbours, MERGED, &merged);
}

static void scale_all(const trial *t, random_source *random)
{
    const double factor = pow(10.0, uniform(random, -2.0, 2.0));
    specimen scaled = t->stack;
    for (size_t i = 0; i < scaled.wavelengths; i++)
        scaled.wavelength_nm[i] *= factor;
    for (size_t j = 0; j < scaled.layers; j++)
        scaled.thickness_nm[j] *= factor;
    compare(t, SCALED, &scaled);
}

/* The stack met from its other side, the light still measured in the old incident medium. */
static specimen turned(const specimen *stack)
{
    specimen other = *stack;
    memcpy(other.incident_n, stack->substrate_n, sizeof other.incident_n);
    memcpy(other.substrate_n, stack->incident_n, sizeof other.substrate_n);
    for (size_t j = 0; j < stack->layers; j++) {
        other.material[j] = stack->material[stack->layers - 1 - j];
        other.thickness_nm[j] = stack->thickness_nm[stack->layers - 1 - j];
    }
    return other;
}

static response response_turned(const specimen *other, const double *invariant_n, bc_path path)
{
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup = setup_of(other, index);
    bc_surface *surface;
    response seen;
    bc_error error;
    setup.invariant_n = invariant_n;
    setup.path = path;
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    evaluate(surface, other, BC_WANT_VALUES);
    seen = read_response(surface);
    bc_surface_free(surface);
    return seen;
}

/* Where light leaves the stack: past total reflection there is no other side to come from, and within a degree of
 * grazing the angle itself loses digits. */
static bool leaves(const specimen *stack, size_t i)
{
    return stack->incident_n[i] * sin(stack->aoi_rad) < 0.9998 * stack->substrate_n[i];
}

static void turn_around(const trial *t)
{
    specimen other;
    response seen;
    for (size_t i = 0; i < t->stack.wavelengths; i++)
        if (t->stack.substrate_k[i] > 0.0)
            return;
    other = turned(&t->stack);
    seen = response_turned(&other, t->stack.incident_n, t->path);
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < other.wavelengths; i++) {
            if (!leaves(&t->stack, i))
                continue;
            note(t, RECIPROCITY, &t->stack, p, i, seen.T[p][i] - t->seen.T[p][i]);
            if (is_clear(t))
                note(t, DIRECTION, &t->stack, p, i, seen.R[p][i] - t->seen.R[p][i]);
        }
    }
}

static void try_path(trial *t, const response *portable, random_source random)
{
    t->seen = response_on(&t->stack, t->path);
    conserve_energy(t);
    for (size_t i = 0; i < t->stack.wavelengths; i++)
        compare_at(t, AGREEMENT, &t->stack, portable, i);
    add_half_wave(t, &random);
    split_layer(t, &random);
    merge_layers(t, &random);
    scale_all(t, &random);
    turn_around(t);
}

static bool path_runs(bc_path path)
{
    random_source random = {1};
    const specimen stack = random_specimen(&random, CLEAR_LAYERS, 1);
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup = setup_of(&stack, index);
    bc_surface *surface;
    bool runs;
    setup.path = path;
    runs = bc_surface_alloc(&setup, &surface, NULL) == BC_OK;
    bc_surface_free(surface);
    return runs;
}

static void tell(unsigned long stacks, record records[PATHS][PROPERTIES])
{
    static const char *const path_name[PATHS] = {"portable", "AVX2", "AVX-512"};
    printf("%lu random stacks\n%-9s %-13s %12s %10s %9s\n", stacks, "path", "property", "compared", "worst", "sharp");
    for (int path = 0; path < PATHS; path++)
        for (int what = 0; what < PROPERTIES && records[path][BOUNDS].compared > 0; what++)
            printf("%-9s %-13s %12zu %10.2g %9zu\n", path_name[path], property_name[what], records[path][what].compared,
                   records[path][what].worst, records[path][what].sharp);
}

START_TEST(every_stack)
{
    static record records[PATHS][PROPERTIES];
    const char *asked = getenv("BC_STACKS");
    const unsigned long stacks = asked == NULL ? STACKS_USUAL : strtoul(asked, NULL, 10);
    bool runs[PATHS];
    memset(records, 0, sizeof records);
    for (int path = 0; path < PATHS; path++)
        runs[path] = path_runs((bc_path)(BC_PATH_PORTABLE + path));
    for (unsigned long number = 0; number < stacks; number++) {
        random_source random = source_of(number);
        const specimen_kind kind = (specimen_kind)(number % SPECIMEN_KINDS);
        trial t = {.number = number, .kind = kind};
        response portable;
        t.stack = random_specimen(&random, kind, MOST_LAYERS - EXTRA_LAYERS);
        portable = response_on(&t.stack, BC_PATH_PORTABLE);
        for (int path = 0; path < PATHS; path++) {
            t.path = (bc_path)(BC_PATH_PORTABLE + path);
            t.record = records[path];
            if (runs[path])
                try_path(&t, &portable, random);
        }
    }
    if (asked != NULL)
        tell(stacks, records);
    for (int what = 0; what < PROPERTIES && stacks >= STACKS_USUAL; what++) {
        ck_assert_uint_gt(records[0][what].compared, stacks);
        ck_assert_uint_le(records[0][what].sharp, records[0][what].compared / 1000);
    }
}
END_TEST

TCase *stacks_case(void)
{
    TCase *tests = tcase_create("stacks");
    tcase_add_test(tests, every_stack);
    return tests;
}
