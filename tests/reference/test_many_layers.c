/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Many layers: a closed form, and what must hold for any stack.
 */
#include "support.h"
#include <complex.h>
#include <gsl/gsl_integration.h>
#include <math.h>

#define MOST_LAYERS 40

/* Quarter-wave stack, (HL)^N H: with Y = (nH/nL)^(2N) nH^2/ns, R = ((n0 - Y)/(n0 + Y))^2.
 * Born and Wolf, Principles of Optics, ch. 1.6.5. Figures in percent, to half a unit of their last digit. */
START_TEST(quarter_wave_stack)
{
    static const struct {
        unsigned pairs;
        double percent;
    } known[] = {{1, 67.21533371}, {2, 87.24316954}, {3, 95.40868162},
                 {4, 98.39384868}, {6, 99.80799972}, {8, 99.97719168}};
    for (size_t c = 0; c < sizeof known / sizeof *known; c++) {
        const double Y = pow(2.3 / 1.35, 2.0 * known[c].pairs) * 2.3 * 2.3 / 1.52;
        const double formula = pow((1.0 - Y) / (1.0 + Y), 2.0);
        reference_layer layers[17];
        const reference_stack stack = coated(1.52, 2 * known[c].pairs + 1, layers, 550.0);
        observation seen;
        for (size_t j = 0; j < stack.layers; j++)
            layers[j] = quarter_wave(j % 2 == 0 ? 2.3 : 1.35, 550.0);
        seen = observe(&stack, BC_S);
        ck_assert_double_eq_tol(100.0 * formula, known[c].percent, 0.51e-8);
        ck_assert_double_eq_tol(100.0 * seen.R, known[c].percent, 0.51e-8);
        ck_assert_double_eq_tol(seen.R, formula, 2e-15);
        ck_assert_double_eq_tol(seen.T, 4.0 * Y / ((1.0 + Y) * (1.0 + Y)), 2e-15);
    }
}
END_TEST

/* The same form with ten thousand layers, where Y is 10^2300 and no double holds it: R = 1 and T = 0 to the last bit
 * that matters, and the derivatives are numbers. */
START_TEST(ten_thousand_layers)
{
    enum { LAYERS = 10000 };
    static unsigned material[LAYERS];
    static double thickness_nm[LAYERS];
    const reference_layer pair[2] = {quarter_wave(2.3, 550.0), quarter_wave(1.35, 550.0)};
    const reference_stack stack = coated(1.52, 2, pair, 550.0);
    bc_index index[2];
    bc_surface_setup setup = setup_of(&stack, index);
    bc_surface *surface;
    bc_error error;
    setup.max_layers = LAYERS;
    for (size_t j = 0; j < LAYERS; j++) {
        material[j] = (unsigned)(j % 2);
        thickness_nm[j] = pair[j % 2].thickness_nm;
    }
    ck_assert_msg(bc_surface_alloc(&setup, &surface, &error) == BC_OK, "%s", error.message);
    bc_surface_evaluate(surface, LAYERS, material, thickness_nm, BC_WANT_GRADIENT);
    ck_assert_double_eq_tol(*bc_surface_R(surface, BC_S), 1.0, 1e-12);
    ck_assert_double_eq_tol(*bc_surface_T(surface, BC_S), 0.0, 1e-300);
    for (size_t j = 0; j < LAYERS; j++) {
        ck_assert_double_finite(*bc_surface_dR(surface, BC_S, j));
        ck_assert_double_finite(*bc_surface_dT(surface, BC_S, j));
    }
    bc_surface_free(surface);
}
END_TEST

/* A stack of up to 40 layers at any angle, from a medium of 1 to 1.8 onto a clear substrate. */
static reference_stack any_stack(random_source *random, reference_layer *layer, bool absorbing)
{
    reference_stack stack =
        coated(uniform(random, 1.3, 4.0), below(random, MOST_LAYERS + 1), layer, uniform(random, 380.0, 2000.0));
    for (size_t j = 0; j < stack.layers; j++)
        layer[j] = random_layer(random, absorbing ? (layer_kind)below(random, 3) : CLEAR_LAYER);
    stack.invariant_n = stack.incident_n = below(random, 2) == 0 ? 1.0 : uniform(random, 1.0, 1.8);
    stack.aoi_rad = below(random, 5) == 0 ? 0.0 : uniform(random, 0.0, 89.0 * PI / 180.0);
    return stack;
}

/* R + T = 1 where nothing absorbs, also past total reflection in a layer or at the substrate.
 * Knittl, Optics of Thin Films, 1976; Born and Wolf, Principles of Optics, ch. 1.6. */
START_TEST(energy_without_absorption)
{
    random_source random = {12};
    for (size_t trial = 0; trial < 300; trial++) {
        reference_layer layer[MOST_LAYERS];
        const reference_stack stack = any_stack(&random, layer, false);
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const observation seen = observe(&stack, (bc_plane)plane);
            ck_assert_double_eq_tol(seen.R + seen.T, 1.0, 1e-12);
        }
    }
}
END_TEST

/* What the field does inside one layer: everything its heating needs. */
typedef struct inside_layer {
    double complex q, eta, inner_B, inner_C; /* tangential fields at the face towards the substrate */
    double complex N_squared;
    double wave_number, beta;
    bool is_p;
} inside_layer;

static void fields_above(const inside_layer *layer, double height_nm, double complex *B, double complex *C)
{
    const double complex delta = layer->wave_number * layer->q * height_nm;
    *B = ccos(delta) * layer->inner_B + I * csin(delta) / layer->eta * layer->inner_C;
    *C = I * csin(delta) * layer->eta * layer->inner_B + ccos(delta) * layer->inner_C;
}

/* Im(N^2) |E|^2: tangential and, in p, normal part, E_z = beta C / N^2. */
static double heating(double height_nm, void *context)
{
    const inside_layer *layer = context;
    double complex B, C, normal;
    fields_above(layer, height_nm, &B, &C);
    normal = layer->is_p ? layer->beta * C / layer->N_squared : 0.0;
    return -cimag(layer->N_squared) * (creal(B * conj(B)) + creal(normal * conj(normal)));
}

/* The light turned into heat, from Poynting's theorem: A = (2 pi/wavelength) integral of Im(N^2) |E|^2 over the layers,
 * divided by eta0 |E_incident|^2. Born and Wolf, Principles of Optics, ch. 1.1.4 and 14. The fields are those of the
 * characteristic matrices, the integral Gauss and Legendre's: neither R nor T enters. */
static double heat(const reference_stack *stack, bool is_p)
{
    const double beta = stack->invariant_n * sin(stack->aoi_rad), k = 2.0 * PI / stack->wavelength_nm;
    const double complex q0 = stack->incident_n * cos(stack->aoi_rad);
    const double complex eta0 = is_p ? stack->incident_n * stack->incident_n / q0 : q0;
    const double complex substrate_squared = stack->substrate_n * stack->substrate_n;
    const double complex qs = conj(csqrt(substrate_squared - beta * beta));
    gsl_integration_glfixed_table *rule = gsl_integration_glfixed_table_alloc(64);
    inside_layer layer = {.inner_B = 1.0, .wave_number = k, .beta = beta, .is_p = is_p};
    const gsl_function integrand = {heating, &layer};
    double sum = 0.0;
    ck_assert_ptr_nonnull(rule);
    layer.inner_C = is_p ? substrate_squared / qs : qs;
    for (size_t j = stack->layers; j-- > 0;) {
        double complex outer_B, outer_C;
        layer.N_squared = (stack->layer[j].n - I * stack->layer[j].k) * (stack->layer[j].n - I * stack->layer[j].k);
        layer.q = csqrt(layer.N_squared - beta * beta);
        layer.eta = is_p ? layer.N_squared / layer.q : layer.q;
        sum += gsl_integration_glfixed(&integrand, 0.0, stack->layer[j].thickness_nm, rule);
        fields_above(&layer, stack->layer[j].thickness_nm, &outer_B, &outer_C);
        layer.inner_B = outer_B;
        layer.inner_C = outer_C;
    }
    gsl_integration_glfixed_table_free(rule);
    return k * sum / creal(eta0) / pow(cabs((eta0 * layer.inner_B + layer.inner_C) / (2.0 * eta0)), 2.0);
}

/* R + T + A = 1 with A found as heat. At most eight layers, so that the plain sum of growing fields keeps its digits.
 */
START_TEST(energy_with_absorption)
{
    random_source random = {13};
    for (size_t trial = 0; trial < 300; trial++) {
        reference_layer layer[MOST_LAYERS];
        reference_stack stack = any_stack(&random, layer, true);
        stack.layers %= 9;
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const observation seen = observe(&stack, (bc_plane)plane);
            ck_assert_double_eq_tol(seen.R + seen.T + heat(&stack, plane == BC_P), 1.0, 1e-11);
        }
    }
}
END_TEST

/* T does not depend on the direction of travel, absorbing or not; R does not where nothing absorbs.
 * Knittl, Optics of Thin Films, 1976 (reversibility). */
START_TEST(direction_of_travel)
{
    random_source random = {14};
    size_t compared = 0;
    for (size_t trial = 0; trial < 400; trial++) {
        const bool absorbing = trial % 2 == 1;
        reference_layer layer[MOST_LAYERS], backwards[MOST_LAYERS];
        const reference_stack stack = any_stack(&random, layer, absorbing);
        const reference_stack back = reversed(&stack, backwards);
        if (stack.invariant_n * sin(stack.aoi_rad) > 0.999 * stack.substrate_n)
            continue; /* no light arrives from the other side at this angle */
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const observation there = observe(&stack, (bc_plane)plane), here = observe(&back, (bc_plane)plane);
            ck_assert_double_eq_tol(there.T, here.T, 1e-12);
            if (!absorbing)
                ck_assert_double_eq_tol(there.R, here.R, 1e-12);
        }
        compared++;
    }
    ck_assert_uint_gt(compared, 300);
}
END_TEST

/* All thicknesses times 1 + e with constant indices: the spectrum moves by 1 + e in wavelength, exactly, since
 * wavelength and thickness enter only as their ratio (Born and Wolf, Principles of Optics, ch. 1.6, eq. of the phase;
 * common practice). A factor of 2 is exact in binary and leaves no room at all. */
START_TEST(scaled_thicknesses)
{
    static const double factor[] = {1.013, 0.97, 1.25, 2.0};
    random_source random = {24};
    for (size_t trial = 0; trial < 200; trial++) {
        const double scale = factor[trial % 4];
        reference_layer layer[MOST_LAYERS], thicker[MOST_LAYERS];
        const reference_stack stack = any_stack(&random, layer, true);
        reference_stack moved = stack;
        moved.layer = thicker;
        moved.wavelength_nm *= scale;
        for (size_t j = 0; j < stack.layers; j++) {
            thicker[j] = layer[j];
            thicker[j].thickness_nm *= scale;
        }
        for (int plane = BC_S; plane <= BC_P; plane++) {
            const observation one = observe(&stack, (bc_plane)plane), other = observe(&moved, (bc_plane)plane);
            ck_assert_double_eq_tol(one.R, other.R, scale == 2.0 ? 1e-16 : 1e-12);
            ck_assert_double_eq_tol(one.T, other.T, scale == 2.0 ? 1e-16 : 1e-12);
        }
    }
}
END_TEST

TCase *many_layers_case(void)
{
    TCase *tests = tcase_create("many layers");
    tcase_set_timeout(tests, 60.0);
    tcase_add_test(tests, quarter_wave_stack);
    tcase_add_test(tests, ten_thousand_layers);
    tcase_add_test(tests, energy_without_absorption);
    tcase_add_test(tests, energy_with_absorption);
    tcase_add_test(tests, direction_of_travel);
    tcase_add_test(tests, scaled_thicknesses);
    return tests;
}
