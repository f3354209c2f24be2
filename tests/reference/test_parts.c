/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Plane-parallel parts: two surfaces and the glass between, added incoherently.
 */
#include "support.h"
#include <bloomcoat/part.h>
#include <complex.h>
#include <math.h>

#define MOST_LAYERS 12

typedef struct plate {
    reference_stack front; /* its substrate is the glass */
    double glass_mm;
    bc_back_kind back;
    double behind_n; /* with BC_BACK_OWN */
    size_t back_layers;
    const reference_layer *back_layer; /* from behind to the glass */
} plate;

typedef struct plate_slope {
    double R, T;
} plate_slope;

/* What the program says. `slope` may be NULL. */
static observation observe_plate(const plate *part, bc_plane plane, plate_slope *slope)
{
    bc_index front_index[MOST_LAYERS], back_index[MOST_LAYERS];
    unsigned front_material[MOST_LAYERS], back_material[MOST_LAYERS];
    double front_nm[MOST_LAYERS], back_nm[MOST_LAYERS];
    reference_stack behind = part->front;
    bc_part_setup setup = {.back = part->back, .substrate_mm = part->glass_mm};
    bc_part *made;
    bc_error error;
    observation seen;
    behind.layers = part->back_layers;
    behind.layer = part->back_layer;
    setup_of(&behind, back_index);
    number_layers(&behind, back_material, back_nm);
    number_layers(&part->front, front_material, front_nm);
    setup.front = setup_of(&part->front, front_index);
    setup.back_medium = (bc_index){&part->behind_n, NULL};
    setup.back_materials = setup.back_layers = part->back_layers;
    setup.back_index = back_index;
    setup.back_material = back_material;
    setup.back_thickness_nm = back_nm;
    ck_assert_msg(bc_part_alloc(&setup, &made, &error) == BC_OK, "%s", error.message);
    bc_part_evaluate(made, part->front.layers, front_material, front_nm, slope != NULL);
    seen = (observation){.R = *bc_part_R(made, plane), .T = *bc_part_T(made, plane)};
    for (size_t j = 0; slope != NULL && j < part->front.layers; j++)
        slope[j] = (plate_slope){*bc_part_dR(made, plane, j), *bc_part_dT(made, plane, j)};
    bc_part_free(made);
    return seen;
}

/* Two bare faces: R = 2 r/(1 + r), T = (1 - r)/(1 + r) with r of one face. Born and Wolf, Principles of Optics,
 * ch. 1.6; common practice. Figures in percent to half a unit of their last digit; the same form for s and p at 45
 * degrees. */
START_TEST(uncoated_plate)
{
    plate part = {.front = coated(1.52, 0, NULL, 550.0), .back = BC_BACK_UNCOATED, .glass_mm = 3.0};
    double r = pow(0.52 / 2.52, 2.0);
    observation seen = observe_plate(&part, BC_S, NULL);
    ck_assert_double_eq_tol(200.0 * r / (1.0 + r), 8.16819719671, 0.51e-11);
    ck_assert_double_eq_tol(100.0 * (1.0 - r) / (1.0 + r), 91.8318028033, 0.51e-10);
    ck_assert_double_eq_tol(100.0 * seen.R, 8.16819719671, 0.51e-11);
    ck_assert_double_eq_tol(100.0 * seen.T, 91.8318028033, 0.51e-10);
    part.front.aoi_rad = PI / 4.0;
    for (int plane = BC_S; plane <= BC_P; plane++) {
        const double i = PI / 4.0, t = asin(sin(i) / 1.52);
        r = plane == BC_S ? pow(sin(i - t) / sin(i + t), 2.0) : pow(tan(i - t) / tan(i + t), 2.0);
        for (int same = 0; same <= 1; same++) {
            part.back = same ? BC_BACK_SAME : BC_BACK_UNCOATED;
            seen = observe_plate(&part, (bc_plane)plane, NULL);
            ck_assert_double_eq_tol(seen.R, 2.0 * r / (1.0 + r), 2e-15);
            ck_assert_double_eq_tol(seen.T, (1.0 - r) / (1.0 + r), 2e-15);
        }
    }
}
END_TEST

/* Absorbing plate: T = (1 - r)^2 x/(1 - r^2 x^2), R = r (1 + x T) with x = exp(-4 pi k d/wavelength) and
 * r = ((n - 1)^2 + k^2)/((n + 1)^2 + k^2). Pankove, Optical Processes in Semiconductors, 1971, ch. 4 (from memory).
 * The program takes the glass at its real index where light meets a surface from inside (part.h), which leaves out k^2.
 */
START_TEST(absorbing_plate)
{
    static const double k[] = {1e-8, 1e-7, 5e-7, 2e-6};
    for (size_t c = 0; c < sizeof k / sizeof *k; c++) {
        plate part = {.front = coated(1.62, 0, NULL, 550.0), .back = BC_BACK_UNCOATED, .glass_mm = 10.0};
        const double x = exp(-4.0 * PI * k[c] * 10.0e6 / 550.0);
        const double r = (0.62 * 0.62 + k[c] * k[c]) / (2.62 * 2.62 + k[c] * k[c]);
        const double T = (1.0 - r) * (1.0 - r) * x / (1.0 - r * r * x * x);
        observation seen;
        part.front.substrate_k = k[c];
        seen = observe_plate(&part, BC_S, NULL);
        ck_assert_double_eq_tol(seen.T, T, 4e-15 + k[c] * k[c]);
        ck_assert_double_eq_tol(seen.R, r * (1.0 + x * T), 4e-15 + k[c] * k[c]);
    }
}
END_TEST

typedef struct faces {
    double R1, T1, R1_inside, R2, T2;
} faces;

/* A surface met from inside the glass, of the glass's real index; its layers are given from outside. */
static reference_stack from_inside(const plate *part, double behind_n, size_t layers, const reference_layer *layer,
                                   reference_layer *backwards)
{
    reference_stack outside = part->front;
    outside.incident_n = behind_n;
    outside.substrate_k = 0.0;
    outside.layers = layers;
    outside.layer = layer;
    return reversed(&outside, backwards);
}

static reference_stack back_from_inside(const plate *part, reference_layer *backwards)
{
    if (part->back == BC_BACK_SAME)
        return from_inside(part, part->front.incident_n, part->front.layers, part->front.layer, backwards);
    if (part->back == BC_BACK_UNCOATED)
        return from_inside(part, part->front.incident_n, 0, NULL, backwards);
    return from_inside(part, part->behind_n, part->back_layers, part->back_layer, backwards);
}

static faces reference_faces(reference *engine, const plate *part, bc_plane plane, faces *slope)
{
    reference_layer backwards[MOST_LAYERS], back_backwards[MOST_LAYERS];
    const size_t layers = part->front.layers;
    const reference_stack inside = from_inside(part, part->front.incident_n, layers, part->front.layer, backwards);
    const reference_stack back = back_from_inside(part, back_backwards);
    reference_value outer[2], inner[2], far[2], outer_slope[MOST_LAYERS][2], inner_slope[MOST_LAYERS][2];
    reference_evaluate(engine, &part->front, outer);
    reference_evaluate(engine, &inside, inner);
    reference_evaluate(engine, &back, far);
    reference_gradient(engine, &part->front, REFERENCE_STEP_NM, outer_slope);
    reference_gradient(engine, &inside, REFERENCE_STEP_NM, inner_slope);
    for (size_t j = 0; j < layers; j++) {
        const reference_value *mirrored = &inner_slope[layers - 1 - j][plane];
        const bool moves = part->back == BC_BACK_SAME;
        slope[j] = (faces){outer_slope[j][plane].R, outer_slope[j][plane].T, mirrored->R, moves ? mirrored->R : 0.0,
                           moves ? mirrored->T : 0.0};
    }
    return (faces){outer[plane].R, outer[plane].T, inner[plane].R, far[plane].R, far[plane].T};
}

/* Every reflection in the glass, one after the other until nothing is left: no closed form of the sum. */
static void bounce(const faces *f, double x, double *R, double *T)
{
    double inside = f->T1 * x;
    *R = f->R1;
    *T = 0.0;
    for (int crossing = 0; crossing < 4000 && inside > 1e-18; crossing++) {
        *T += inside * f->T2;
        inside *= f->R2 * x;
        *R += inside * f->T1;
        inside *= f->R1_inside * x;
    }
}

/* The same with its slope along `slope`, by the product rule at each bounce. */
static plate_slope bounce_slope(const faces *f, const faces *slope, double x)
{
    double inside = f->T1 * x, inside_slope = slope->T1 * x;
    plate_slope sum = {slope->R1, 0.0};
    for (int crossing = 0; crossing < 4000 && inside > 1e-18; crossing++) {
        sum.T += inside_slope * f->T2 + inside * slope->T2;
        inside_slope = (inside_slope * f->R2 + inside * slope->R2) * x;
        inside *= f->R2 * x;
        sum.R += inside_slope * f->T1 + inside * slope->T1;
        inside_slope = (inside_slope * f->R1_inside + inside * slope->R1_inside) * x;
        inside *= f->R1_inside * x;
    }
    return sum;
}

/* The glass's own absorption over one oblique crossing, exp(-4 pi |Im q| d/wavelength). */
static double crossing(const plate *part)
{
    const double complex N = part->front.substrate_n - I * part->front.substrate_k;
    const double beta = part->front.invariant_n * sin(part->front.aoi_rad);
    return exp(-4.0 * PI * fabs(cimag(csqrt(N * N - beta * beta))) * part->glass_mm * 1e6 / part->front.wavelength_nm);
}

static void compare_plate(reference *engine, const plate *part)
{
    for (int plane = BC_S; plane <= BC_P; plane++) {
        faces slopes[MOST_LAYERS];
        plate_slope seen_slope[MOST_LAYERS];
        const faces f = reference_faces(engine, part, (bc_plane)plane, slopes);
        const observation seen = observe_plate(part, (bc_plane)plane, seen_slope);
        double R, T, largest = 0.0;
        bounce(&f, crossing(part), &R, &T);
        ck_assert_double_eq_tol(seen.R, R, 1e-12);
        ck_assert_double_eq_tol(seen.T, T, 1e-12);
        for (size_t j = 0; j < part->front.layers; j++)
            largest = fmax(largest, fmax(fabs(seen_slope[j].R), fabs(seen_slope[j].T)));
        for (size_t j = 0; j < part->front.layers; j++) {
            const plate_slope exact = bounce_slope(&f, &slopes[j], crossing(part));
            ck_assert_double_eq_tol(seen_slope[j].R, exact.R, 1e-9 * largest);
            ck_assert_double_eq_tol(seen_slope[j].T, exact.T, 1e-9 * largest);
        }
    }
}

static plate random_plate(random_source *random, reference_layer *layer, reference_layer *back_layer)
{
    plate part = {.front =
                      coated(uniform(random, 1.4, 2.0), 1 + below(random, 8), layer, uniform(random, 400.0, 900.0)),
                  .glass_mm = uniform(random, 0.5, 10.0),
                  .back = BC_BACK_UNCOATED + (bc_back_kind)below(random, 3),
                  .behind_n = uniform(random, 1.0, 1.4),
                  .back_layers = below(random, 6),
                  .back_layer = back_layer};
    for (size_t j = 0; j < part.front.layers; j++)
        layer[j] = random_layer(random, CLEAR_LAYER);
    for (size_t j = 0; j < part.back_layers; j++)
        back_layer[j] = random_layer(random, (layer_kind)below(random, 2));
    part.front.incident_n = part.front.invariant_n = uniform(random, 1.0, 1.3);
    part.front.aoi_rad = below(random, 3) == 0 ? 0.0 : uniform(random, 0.0, 1.2);
    return part;
}

/* Any coating on either face, the front's own layers absorbing or not, the glass clear or not, against surfaces from
 * the 256-bit reference and a count of the reflections one by one. The form: Knittl, Optics of Thin Films, 1976. */
START_TEST(coated_plates)
{
    random_source random = {6};
    reference *engine = reference_alloc(REFERENCE_BITS, MOST_LAYERS);
    ck_assert_ptr_nonnull(engine);
    for (size_t trial = 0; trial < 120; trial++) {
        reference_layer layer[MOST_LAYERS], back_layer[MOST_LAYERS];
        plate part = random_plate(&random, layer, back_layer);
        if (trial % 3 == 1) {
            layer[below(&random, part.front.layers)] = random_layer(&random, METAL_LAYER);
            layer[0].thickness_nm = fmin(layer[0].thickness_nm, 20.0);
        }
        if (trial % 4 >= 2)
            part.front.substrate_k = pow(10.0, uniform(&random, -8.0, -5.5));
        compare_plate(engine, &part);
    }
    reference_free(engine);
}
END_TEST

TCase *parts_case(void)
{
    TCase *tests = tcase_create("parts");
    tcase_set_timeout(tests, 60.0);
    tcase_add_test(tests, uncoated_plate);
    tcase_add_test(tests, absorbing_plate);
    tcase_add_test(tests, coated_plates);
    return tests;
}
