/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "specimen.h"
#include "near.h"
#include <check.h>
#include <math.h>
#include <string.h>

static void random_medium(random_source *random, size_t count, const double *wavelength_nm, double n_least,
                          double n_most, double *n)
{
    const double base = uniform(random, n_least, n_most), spread = uniform(random, 0.0, 0.05);
    for (size_t i = 0; i < count; i++)
        n[i] = base + spread * (pow(500.0 / wavelength_nm[i], 2.0) - 1.0);
}

static void random_loss(random_source *random, size_t count, const double *wavelength_nm, double k500, double *k)
{
    const double power = uniform(random, -1.0, 1.0);
    for (size_t i = 0; i < count; i++)
        k[i] = k500 * pow(wavelength_nm[i] / 500.0, power);
}

/* One in three clear, one in three weak, one in three a metal. */
static void random_absorber(random_source *random, specimen *stack, unsigned m)
{
    const size_t which = below(random, 3);
    if (which == 1) {
        random_loss(random, stack->wavelengths, stack->wavelength_nm, pow(10.0, uniform(random, -6.0, -0.5)),
                    stack->k[m]);
    } else if (which == 2) {
        random_medium(random, stack->wavelengths, stack->wavelength_nm, 0.15, 4.0, stack->n[m]);
        random_loss(random, stack->wavelengths, stack->wavelength_nm, uniform(random, 0.5, 5.0), stack->k[m]);
    }
}

static void random_ends(random_source *random, specimen_kind kind, specimen *stack)
{
    const bool dense = kind == PAST_TOTAL_REFLECTION || (kind == ABSORBING_ANYWHERE && chance(random, 0.5));
    random_medium(random, stack->wavelengths, stack->wavelength_nm, dense ? 1.8 : 1.0, dense ? 2.6 : 1.2,
                  stack->incident_n);
    random_medium(random, stack->wavelengths, stack->wavelength_nm, dense ? 1.2 : 1.4, dense ? 2.2 : 4.0,
                  stack->substrate_n);
    if (kind == ABSORBING_ANYWHERE && chance(random, 0.5))
        random_loss(random, stack->wavelengths, stack->wavelength_nm, pow(10.0, uniform(random, -6.0, 0.7)),
                    stack->substrate_k);
    if (kind == PAST_TOTAL_REFLECTION)
        stack->aoi_rad = uniform(random, 0.7, 1.5);
    else if (chance(random, 0.75))
        stack->aoi_rad = uniform(random, 0.0, 1.4);
}

specimen random_specimen(random_source *random, specimen_kind kind, size_t most_layers)
{
    const bool absorbs = kind == ABSORBING_LAYERS || kind == ABSORBING_ANYWHERE;
    specimen stack = {.wavelengths = 1 + below(random, 16), .materials = 2 + below(random, MOST_MATERIALS - 2)};
    for (size_t i = 0; i < stack.wavelengths; i++)
        stack.wavelength_nm[i] = uniform(random, 350.0, 1200.0);
    random_ends(random, kind, &stack);
    for (unsigned m = 0; m < stack.materials; m++) {
        random_medium(random, stack.wavelengths, stack.wavelength_nm, 1.3, kind == PAST_TOTAL_REFLECTION ? 2.4 : 3.5,
                      stack.n[m]);
        if (absorbs)
            random_absorber(random, &stack, m);
    }
    stack.layers = 1 + below(random, most_layers);
    for (size_t j = 0; j < stack.layers; j++) {
        stack.material[j] = (unsigned)below(random, stack.materials);
        stack.thickness_nm[j] = uniform(random, 5.0, 250.0);
    }
    return stack;
}

void flatten_ends(specimen *stack)
{
    for (size_t i = 1; i < stack->wavelengths; i++) {
        stack->incident_n[i] = stack->incident_n[0];
        stack->substrate_n[i] = stack->substrate_n[0];
        stack->substrate_k[i] = stack->substrate_k[0];
    }
}

void set_material(specimen *stack, unsigned material, double n, double k)
{
    for (size_t i = 0; i < stack->wavelengths; i++) {
        stack->n[material][i] = n;
        stack->k[material][i] = k;
    }
}

void insert_layer(specimen *stack, size_t before, unsigned material, double thickness_nm)
{
    ck_assert_uint_lt(stack->layers, MOST_LAYERS);
    for (size_t j = stack->layers++; j > before; j--) {
        stack->material[j] = stack->material[j - 1];
        stack->thickness_nm[j] = stack->thickness_nm[j - 1];
    }
    stack->material[before] = material;
    stack->thickness_nm[before] = thickness_nm;
}

void remove_layer(specimen *stack, size_t layer)
{
    stack->layers--;
    for (size_t j = layer; j < stack->layers; j++) {
        stack->material[j] = stack->material[j + 1];
        stack->thickness_nm[j] = stack->thickness_nm[j + 1];
    }
}

bc_surface_setup setup_of(const specimen *stack, bc_index index[MOST_MATERIALS])
{
    const bc_surface_setup setup = {.wavelengths = stack->wavelengths,
                                    .wavelength_nm = stack->wavelength_nm,
                                    .aoi_rad = stack->aoi_rad,
                                    .incident = {stack->incident_n, NULL},
                                    .substrate = {stack->substrate_n, stack->substrate_k},
                                    .materials = stack->materials,
                                    .material = index,
                                    .max_layers = stack->layers};
    for (size_t m = 0; m < stack->materials; m++)
        index[m] = (bc_index){stack->n[m], stack->k[m]};
    return setup;
}

bc_surface *open_surface(const specimen *stack, bc_path path, bc_want want)
{
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup = setup_of(stack, index);
    bc_surface *surface;
    bc_error error;
    setup.path = path;
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    evaluate(surface, stack, want);
    return surface;
}

void evaluate(bc_surface *surface, const specimen *stack, bc_want want)
{
    bc_surface_evaluate(surface, stack->layers, stack->material, stack->thickness_nm, want);
}

response read_response(const bc_surface *surface)
{
    const size_t bytes = bc_surface_wavelengths(surface) * sizeof(double);
    response all;
    for (int p = BC_S; p <= BC_P; p++) {
        memcpy(all.R[p], bc_surface_R(surface, (bc_plane)p), bytes);
        memcpy(all.T[p], bc_surface_T(surface, (bc_plane)p), bytes);
        memcpy(all.rho_re[p], bc_surface_rho_re(surface, (bc_plane)p), bytes);
        memcpy(all.rho_im[p], bc_surface_rho_im(surface, (bc_plane)p), bytes);
    }
    return all;
}

response response_of(const specimen *stack)
{
    bc_surface *surface = open_surface(stack, BC_PATH_AUTO, BC_WANT_VALUES);
    const response all = read_response(surface);
    bc_surface_free(surface);
    return all;
}

void expect_same_RT(const specimen *stack, const response *one, const response *other, double tolerance)
{
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < stack->wavelengths; i++) {
            expect_near(one->R[p][i], other->R[p][i], tolerance);
            expect_near(one->T[p][i], other->T[p][i], tolerance);
        }
    }
}
