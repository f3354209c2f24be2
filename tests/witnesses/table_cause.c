/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#define SCATTER 0.003 /* of each layer in every run */

static const char *const words[BC_CAUSES] = {
    "as designed", "random",         "common factor",   "material factor", "layer",   "index",
    "wavelength",  "reading scale",  "reading offset",  "angle",           "swapped", "reversed",
    "missing",     "other material", "other substrate", "back seen",       "bare",    "unexplained"};

static double either_way(world *w, double from, double to)
{
    const double size = world_between(w, from, to);
    return world_pick(w, 2) == 0 ? size : -size;
}

static void scale_material(made *m, const bc_dispersion *material, double factor, double dn)
{
    for (size_t j = 0; j < m->layers; j++)
        if (m->material[j] == material) {
            m->nm[j] *= factor;
            m->dn[j] += dn;
        }
}

static void remove_layer(made *m, size_t off)
{
    m->layers--;
    for (size_t j = off; j < m->layers; j++) {
        m->material[j] = m->material[j + 1];
        m->nm[j] = m->nm[j + 1];
    }
}

static void swap_layers(made *m, size_t one, size_t other)
{
    const bc_dispersion *material = m->material[one];
    const double nm = m->nm[one];
    m->material[one] = m->material[other];
    m->nm[one] = m->nm[other];
    m->material[other] = material;
    m->nm[other] = nm;
}

/* Put one cause in; the layer or material it strikes is drawn. Returns the layer from the outside. */
static size_t strike(world *w, bc_cause_kind c, made *m)
{
    const size_t layer = world_pick(w, m->layers), outer = world_pick(w, m->layers - 1);
    const bc_dispersion *const material = m->material[layer];
    const bc_dispersion *other;
    double factor;
    switch (c) {
    case BC_CAUSE_COMMON_FACTOR:
        factor = 1.0 + either_way(w, 0.015, 0.04);
        for (size_t j = 0; j < m->layers; j++)
            m->nm[j] *= factor;
        break;
    case BC_CAUSE_MATERIAL_FACTOR:
        scale_material(m, m->material[world_pick(w, 2)], 1.0 + either_way(w, 0.02, 0.05), 0.0);
        break;
    case BC_CAUSE_LAYER:
        m->nm[layer] += either_way(w, 3.0, 8.0);
        break;
    case BC_CAUSE_INDEX:
        scale_material(m, material, 1.0, either_way(w, 0.03, 0.06));
        break;
    case BC_CAUSE_WAVELENGTH:
        m->shift_nm = either_way(w, 2.0, 5.0);
        break;
    case BC_CAUSE_READING_SCALE:
        m->scale = 1.0 + either_way(w, 0.05, 0.15);
        break;
    case BC_CAUSE_READING_OFFSET:
        m->offset = either_way(w, 0.0015, 0.004);
        break;
    case BC_CAUSE_ANGLE:
        m->aoi_rad = world_between(w, 15.0, 35.0) * (3.14159265358979 / 180.0);
        break;
    case BC_CAUSE_SWAPPED:
        swap_layers(m, outer, outer + 1);
        return outer;
    case BC_CAUSE_REVERSED:
        for (size_t j = 0; j < m->layers / 2; j++)
            swap_layers(m, j, m->layers - 1 - j);
        break;
    case BC_CAUSE_MISSING:
        remove_layer(m, layer);
        break;
    case BC_CAUSE_OTHER_MATERIAL:
        do
            other = w->medium[world_pick(w, AT_HAND)].dispersion;
        while (other == material);
        m->material[layer] = other;
        break;
    case BC_CAUSE_OTHER_SUBSTRATE:
        m->glass = w->glass[OTHER_GLASS + world_pick(w, 2)].dispersion;
        break;
    case BC_CAUSE_BACK_SEEN:
        m->back_seen = true;
        break;
    case BC_CAUSE_BARE:
        m->layers = 0;
        break;
    case BC_CAUSE_AS_DESIGNED:
    case BC_CAUSE_RANDOM:
    case BC_CAUSE_UNEXPLAINED:
    case BC_CAUSES:
        break;
    }
    return layer;
}

static bc_process process_of(bc_process_row *row)
{
    *row = (bc_process_row){.material = "*", .tooling = 1.0, .has_thickness_sigma = true, .thickness_sigma = SCATTER};
    return (bc_process){.rows = 1, .row = row, .has_thickness_sigma = true};
}

typedef struct counts {
    size_t as[BC_CAUSES][BC_CAUSES], seen[BC_CAUSES], seen_right[BC_CAUSES];
} counts;

/* How far the true spectrum lies from the design's, rms. */
static double distance(const double *one, const double *other)
{
    double square = 0.0;
    for (size_t i = 0; i < POINTS; i++)
        square += (one[i] - other[i]) * (one[i] - other[i]) / POINTS;
    return sqrt(square);
}

static void print(const counts *c, size_t runs)
{
    size_t right = 0, all = 0;
    printf("\n%-16s right   seen  named instead\n", "cause put in");
    for (size_t i = 0; i < BC_CAUSE_UNEXPLAINED; i++) {
        printf("%-16s %2zu/%zu  %2zu/%-2zu ", words[i], c->as[i][i], runs, c->seen_right[i], c->seen[i]);
        for (size_t k = 0; k < BC_CAUSES; k++)
            if (k != i && c->as[i][k] > 0)
                printf(" %s %zu", words[k], c->as[i][k]);
        printf("\n");
        right += c->as[i][i];
        all += runs;
    }
    printf("all: %zu of %zu named right (%.0f %%)\n", right, all, 100.0 * (double)right / (double)all);
}

void table_cause(world *w, size_t runs)
{
    static counts c;
    bc_process_row row;
    const bc_process process = process_of(&row);
    double slowest = 0.0, exact[POINTS], design[DESIGNS][POINTS];
    w->noise = 1e-4;
    w->uncertainty = 5e-4;
    printf("%zu runs a cause, designs of 3, 4, 6 and 8 layers in turn, %.1f %% scatter on each layer, noise %.2g %%,\n"
           "U = %.2g %% (k = 2), R at normal incidence 400 to 780 nm. seen: the true spectrum is 0.1 %% rms or more\n"
           "away from the design's.\n",
           runs, 100.0 * SCATTER, 100.0 * w->noise, 100.0 * w->uncertainty);
    for (size_t d = 0; d < DESIGNS; d++) {
        const made m = made_as_designed(w, d);
        scan_exact(w, &m, design[d]);
    }
    for (size_t i = 0; i < BC_CAUSE_UNEXPLAINED; i++)
        for (size_t r = 0; r < runs; r++) {
            const size_t d = r % DESIGNS;
            bc_inspect_setup setup = bc_inspect_defaults(&w->design[d]);
            made m = made_as_designed(w, d);
            bc_measurement scan;
            bc_inspect_result result;
            clock_t start;
            bc_cause_kind found;
            setup.process = &process;
            setup.uncertainty = w->uncertainty;
            setup.wavelength_uncertainty_nm = 0.3;
            setup.scale_uncertainty = 0.005;
            setup.layer_media = AT_HAND;
            setup.layer_medium = w->medium;
            setup.substrate_media = GLASSES;
            setup.substrate_medium = w->glass;
            strike(w, (bc_cause_kind)i, &m);
            if (i != BC_CAUSE_AS_DESIGNED)
                made_scatter(w, &m, SCATTER);
            scan_exact(w, &m, exact);
            scan = scan_of(w, exact);
            start = clock();
            result = look(&scan, &setup);
            slowest = fmax(slowest, (double)(clock() - start) / CLOCKS_PER_SEC);
            found = result.cause[0].kind;
            c.as[i][found]++;
            if (distance(exact, design[d]) >= 1e-3) {
                c.seen[i]++;
                c.seen_right[i] += found == (bc_cause_kind)i;
            }
            bc_inspect_result_clear(&result);
            bc_measurement_clear(&scan);
        }
    print(&c, runs);
    printf("the slowest inspection took %.2f s\n", slowest);
}
