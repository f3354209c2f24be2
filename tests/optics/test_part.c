/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Plane-parallel parts against their two surfaces, each evaluated alone, and a count of the reflections one by one.
 */
#include "airy.h"
#include "near.h"
#include "plate.h"
#include "suites.h"
#include <check.h>
#include <math.h>

#define TRIALS 120

/* A face met from inside the glass, the layers given from outside. */
static response from_inside(const specimen *front, const double *behind_n, size_t layers, const unsigned *material,
                            const double *thickness_nm)
{
    specimen inside = *front;
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup;
    bc_surface *surface;
    response seen;
    inside.layers = layers;
    for (size_t j = 0; j < layers; j++) {
        inside.material[j] = material[layers - 1 - j];
        inside.thickness_nm[j] = thickness_nm[layers - 1 - j];
    }
    setup = setup_of(&inside, index);
    setup.incident = (bc_index){front->substrate_n, NULL};
    setup.substrate = (bc_index){behind_n, NULL};
    setup.invariant_n = front->incident_n;
    ck_assert_int_eq(bc_surface_alloc(&setup, &surface, NULL), BC_OK);
    evaluate(surface, &inside, BC_WANT_VALUES);
    seen = read_response(surface);
    bc_surface_free(surface);
    return seen;
}

static response back_alone(const plate *part)
{
    const specimen *front = &part->front;
    if (part->back == BC_BACK_UNCOATED)
        return from_inside(front, front->incident_n, 0, NULL, NULL);
    if (part->back == BC_BACK_SAME)
        return from_inside(front, front->incident_n, front->layers, front->material, front->thickness_nm);
    return from_inside(front, part->behind_n, part->back_layers, part->back_material, part->back_nm);
}

/* One crossing: the flux falls as exp(-4 pi |Im q| d/wavelength). (Born and Wolf, Principles of Optics, ch. 14.2) */
static double crossing(const plate *part, size_t i)
{
    const specimen *front = &part->front;
    const double complex glass = CMPLX(front->substrate_n[i], -front->substrate_k[i]);
    const double complex q = airy_normal_index(glass, front->incident_n[i] * sin(front->aoi_rad));
    return front->substrate_k[i] == 0.0
               ? 1.0
               : exp(-4.0 * PI * fabs(cimag(q)) * part->glass_mm * 1e6 / front->wavelength_nm[i]);
}

typedef struct sum {
    double R, T;
} sum;

/* Every reflection in the glass, one after the other until nothing is left. */
static sum bounce(const plate *part, const response *front, const response *inside, const response *back, int p,
                  size_t i)
{
    const double x = crossing(part, i);
    double light = front->T[p][i] * x;
    sum all = {front->R[p][i], 0.0};
    while (light > 1e-18) {
        all.T += light * back->T[p][i];
        light *= back->R[p][i] * x;
        all.R += light * front->T[p][i];
        light *= inside->R[p][i] * x;
    }
    return all;
}

static void compare_plate(const plate *part)
{
    const response front = response_of(&part->front);
    const response inside = from_inside(&part->front, part->front.incident_n, part->front.layers, part->front.material,
                                        part->front.thickness_nm);
    const response back = back_alone(part);
    bc_part *made = open_plate(part);
    evaluate_plate(made, part, false);
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < part->front.wavelengths; i++) {
            const sum expected = bounce(part, &front, &inside, &back, p, i);
            expect_near(bc_part_R(made, (bc_plane)p)[i], expected.R, 2e-12);
            expect_near(bc_part_T(made, (bc_plane)p)[i], expected.T, 2e-12);
        }
    }
    bc_part_free(made);
}

START_TEST(lossless_plates)
{
    random_source random = {81};
    for (int trial = 0; trial < TRIALS; trial++) {
        const plate part = random_plate(&random, CLEAR_LAYERS, plate_backs[_i], 0.0);
        bc_part *made = open_plate(&part);
        compare_plate(&part);
        evaluate_plate(made, &part, false);
        for (int p = BC_S; p <= BC_P; p++)
            for (size_t i = 0; i < part.front.wavelengths; i++)
                expect_near(bc_part_R(made, (bc_plane)p)[i] + bc_part_T(made, (bc_plane)p)[i], 1.0, 2e-12);
        bc_part_free(made);
    }
}
END_TEST

START_TEST(absorbing_plates)
{
    random_source random = {82};
    for (int trial = 0; trial < TRIALS; trial++) {
        const specimen_kind kind = trial % 2 ? CLEAR_LAYERS : ABSORBING_LAYERS;
        const double glass_k = trial % 4 < 2 ? 0.0 : pow(10.0, uniform(&random, -9.0, -5.0));
        const plate part = random_plate(&random, kind, plate_backs[_i], glass_k);
        compare_plate(&part);
    }
}
END_TEST

/* A glass without a k is as clear as one whose k is 0, and what the front's invariant_n holds does not matter. */
START_TEST(what_a_part_need_not_be_told)
{
    random_source random = {89};
    for (int trial = 0; trial < TRIALS; trial++) {
        const plate part = random_plate(&random, CLEAR_LAYERS, plate_backs[trial % BACKS], 0.0);
        bc_index index[MOST_MATERIALS];
        bc_part_setup setup = setup_of_plate(&part, index);
        bc_part *told = open_plate_of(&setup), *untold;
        setup.front.substrate.k = NULL;
        setup.front.invariant_n = part.behind_n;
        untold = open_plate_of(&setup);
        evaluate_plate(told, &part, false);
        evaluate_plate(untold, &part, false);
        for (int p = BC_S; p <= BC_P; p++)
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                expect_true(bc_part_R(told, (bc_plane)p)[i] == bc_part_R(untold, (bc_plane)p)[i]);
                expect_true(bc_part_T(told, (bc_plane)p)[i] == bc_part_T(untold, (bc_plane)p)[i]);
            }
        bc_part_free(told);
        bc_part_free(untold);
    }
}
END_TEST

/* Glass that lets nothing through leaves the front alone, whatever is behind it. */
START_TEST(opaque_glass)
{
    random_source random = {83};
    for (int trial = 0; trial < TRIALS; trial++) {
        plate part = random_plate(&random, CLEAR_LAYERS, plate_backs[trial % BACKS], 0.01);
        bc_part *made;
        response alone;
        part.glass_mm = 50.0;
        made = open_plate(&part);
        evaluate_plate(made, &part, false);
        alone = response_of(&part.front);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                expect_near(bc_part_R(made, (bc_plane)p)[i], alone.R[p][i], 1e-15);
                expect_near(bc_part_T(made, (bc_plane)p)[i], 0.0, 1e-15);
            }
        }
        bc_part_free(made);
    }
}
END_TEST

/* Clear glass does not care how thick it is; a bare plate of it is 2r/(1+r). (Born and Wolf; common practice) */
START_TEST(thickness_of_clear_glass)
{
    random_source random = {84};
    for (int trial = 0; trial < TRIALS; trial++) {
        plate part = random_plate(&random, CLEAR_LAYERS, BC_BACK_UNCOATED, 0.0);
        bc_part *thin, *thick;
        part.front.layers = 0;
        part.glass_mm = 0.0;
        thin = open_plate(&part);
        part.glass_mm = 1e4;
        thick = open_plate(&part);
        evaluate_plate(thin, &part, false);
        evaluate_plate(thick, &part, false);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                const single_layer bare = {part.front.incident_n[i], 1.0, part.front.substrate_n[i], 0.0};
                const double r = airy(&bare, (bc_plane)p, part.front.wavelength_nm[i], part.front.aoi_rad).R;
                expect_near(bc_part_R(thin, (bc_plane)p)[i], 2.0 * r / (1.0 + r), 1e-13);
                expect_true(bc_part_R(thin, (bc_plane)p)[i] == bc_part_R(thick, (bc_plane)p)[i]);
            }
        }
        bc_part_free(thin);
        bc_part_free(thick);
    }
}
END_TEST

/* From water through glass towards air, past the angle at which the air lets light out: all of it comes back. */
START_TEST(total_reflection_at_the_back)
{
    random_source random = {85};
    for (int trial = 0; trial < TRIALS; trial++) {
        plate part = random_plate(&random, CLEAR_LAYERS, BC_BACK_OWN, 0.0);
        bc_part *made;
        part.front.aoi_rad = uniform(&random, 0.95, 1.4);
        for (size_t i = 0; i < part.front.wavelengths; i++) {
            part.front.incident_n[i] = 1.33;
            part.behind_n[i] = 1.0;
        }
        made = open_plate(&part);
        evaluate_plate(made, &part, true);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                expect_near(bc_part_R(made, (bc_plane)p)[i], 1.0, 1e-11);
                expect_near(bc_part_T(made, (bc_plane)p)[i], 0.0, 1e-15);
                expect_true(isfinite(bc_part_dR(made, (bc_plane)p, 0)[i]));
            }
        }
        bc_part_free(made);
    }
}
END_TEST

/* Past total reflection at the front there is no light in the glass. */
START_TEST(total_reflection_at_the_front)
{
    random_source random = {86};
    for (int trial = 0; trial < TRIALS; trial++) {
        plate part = random_plate(&random, PAST_TOTAL_REFLECTION, plate_backs[trial % BACKS], 0.0);
        bc_part *made;
        for (size_t i = 0; i < part.front.wavelengths; i++)
            part.front.substrate_n[i] = 0.9 * part.front.incident_n[i] * sin(part.front.aoi_rad);
        made = open_plate(&part);
        evaluate_plate(made, &part, true);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                expect_near(bc_part_R(made, (bc_plane)p)[i], 1.0, 1e-12);
                expect_true(bc_part_T(made, (bc_plane)p)[i] == 0.0);
                expect_true(isfinite(bc_part_dR(made, (bc_plane)p, 0)[i]));
                expect_true(bc_part_dT(made, (bc_plane)p, 0)[i] == 0.0);
            }
        }
        bc_part_free(made);
    }
}
END_TEST

/* The same with glass that absorbs, weakly or as a metal, whose real index alone would not let the light in: what
 * enters is gone within a wave, and R is the front's. */
START_TEST(total_reflection_at_absorbing_glass)
{
    static const double n[] = {1.5, 1.5, 1.5, 0.15, 0.05}, k[] = {1e-9, 1e-6, 0.1, 3.5, 7.0};
    random_source random = {88};
    for (int trial = 0; trial < TRIALS; trial++) {
        plate part = random_plate(&random, CLEAR_LAYERS, plate_backs[trial % BACKS], 0.0);
        bc_part *made;
        response alone;
        part.front.aoi_rad = uniform(&random, 1.0, 1.4);
        for (size_t i = 0; i < part.front.wavelengths; i++) {
            part.front.incident_n[i] = n[trial % 5] < 1.0 ? 1.0 : 1.9;
            part.front.substrate_n[i] = n[trial % 5];
            part.front.substrate_k[i] = k[trial % 5];
        }
        made = open_plate(&part);
        evaluate_plate(made, &part, true);
        alone = response_of(&part.front);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                expect_near(bc_part_R(made, (bc_plane)p)[i], alone.R[p][i], 1e-12);
                expect_near(bc_part_T(made, (bc_plane)p)[i], 0.0, 1e-15);
                expect_true(isfinite(bc_part_dR(made, (bc_plane)p, 0)[i]));
                expect_near(bc_part_dT(made, (bc_plane)p, 0)[i], 0.0, 1e-15);
            }
        }
        bc_part_free(made);
    }
}
END_TEST

TCase *part_case(void)
{
    TCase *tests = tcase_create("part");
    tcase_add_loop_test(tests, lossless_plates, 0, BACKS);
    tcase_add_loop_test(tests, absorbing_plates, 0, BACKS);
    tcase_add_test(tests, what_a_part_need_not_be_told);
    tcase_add_test(tests, opaque_glass);
    tcase_add_test(tests, thickness_of_clear_glass);
    tcase_add_test(tests, total_reflection_at_the_back);
    tcase_add_test(tests, total_reflection_at_the_front);
    tcase_add_test(tests, total_reflection_at_absorbing_glass);
    return tests;
}
