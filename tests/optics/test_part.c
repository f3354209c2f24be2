/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Plane-parallel parts against their two surfaces, each evaluated alone, and a count of the reflections one by one.
 */
#include "airy.h"
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <bloomcoat/part.h>
#include <check.h>
#include <math.h>

#define TRIALS 120

/* A front, and a back of the same materials. */
typedef struct plate {
    specimen front;
    bc_back_kind back;
    double glass_mm;
    double behind_n[MOST_WAVELENGTHS]; /* with BC_BACK_OWN */
    size_t back_films;
    unsigned back_material[MOST_FILMS]; /* from behind to the glass */
    double back_nm[MOST_FILMS];
} plate;

static bc_part *open_plate(const plate *part)
{
    bc_index index[MOST_MATERIALS];
    const bc_part_setup setup = {.front = setup_of(&part->front, index),
                                 .back = part->back,
                                 .substrate_mm = part->glass_mm,
                                 .back_medium = {part->behind_n, NULL},
                                 .back_materials = part->front.materials,
                                 .back_index = index,
                                 .back_films = part->back_films,
                                 .back_material = part->back_material,
                                 .back_thickness_nm = part->back_nm};
    bc_part *made;
    bc_error error;
    ck_assert_msg(bc_part_alloc(&setup, &made, &error) == BC_OK, "%s", error.message);
    return made;
}

static void evaluate_plate(bc_part *made, const plate *part, bool gradient)
{
    bc_part_evaluate(made, part->front.films, part->front.material, part->front.thickness_nm, gradient);
}

/* A face met from inside the glass, the films given from outside. */
static response from_inside(const specimen *front, const double *behind_n, size_t films, const unsigned *material,
                            const double *thickness_nm)
{
    specimen inside = *front;
    bc_index index[MOST_MATERIALS];
    bc_surface_setup setup;
    bc_surface *surface;
    response seen;
    inside.films = films;
    for (size_t j = 0; j < films; j++) {
        inside.material[j] = material[films - 1 - j];
        inside.thickness_nm[j] = thickness_nm[films - 1 - j];
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
        return from_inside(front, front->incident_n, front->films, front->material, front->thickness_nm);
    return from_inside(front, part->behind_n, part->back_films, part->back_material, part->back_nm);
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
    const response inside = from_inside(&part->front, part->front.incident_n, part->front.films, part->front.material,
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

/* Glass 1.4 to 2, films of `kind`, thin enough metals for light to reach the glass. */
static plate random_plate(random_source *random, specimen_kind kind, bc_back_kind back, double glass_k)
{
    plate part = {.front = random_specimen(random, kind, 6), .back = back, .glass_mm = uniform(random, 0.1, 10.0)};
    const double glass_n = uniform(random, 1.4, 2.0);
    for (size_t j = 0; j < part.front.films; j++)
        if (part.front.k[part.front.material[j]][0] > 0.3)
            part.front.thickness_nm[j] *= 0.1;
    for (size_t i = 0; i < part.front.wavelengths; i++) {
        part.front.substrate_n[i] = glass_n + 0.01 * pow(500.0 / part.front.wavelength_nm[i], 2.0);
        part.front.substrate_k[i] = glass_k * uniform(random, 0.5, 1.5);
        part.behind_n[i] = uniform(random, 1.2, 1.4);
    }
    part.back_films = below(random, 6);
    for (size_t j = 0; j < part.back_films; j++) {
        part.back_material[j] = (unsigned)below(random, part.front.materials);
        part.back_nm[j] = uniform(random, 5.0, part.front.k[part.back_material[j]][0] > 0.3 ? 20.0 : 200.0);
    }
    return part;
}

static const bc_back_kind backs[] = {BC_BACK_UNCOATED, BC_BACK_SAME, BC_BACK_OWN};
#define BACKS 3

START_TEST(lossless_plates)
{
    random_source random = {81};
    for (int trial = 0; trial < TRIALS; trial++) {
        const plate part = random_plate(&random, CLEAR_FILMS, backs[_i], 0.0);
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
        const specimen_kind kind = trial % 2 ? CLEAR_FILMS : ABSORBING_FILMS;
        const double glass_k = trial % 4 < 2 ? 0.0 : pow(10.0, uniform(&random, -9.0, -5.0));
        const plate part = random_plate(&random, kind, backs[_i], glass_k);
        compare_plate(&part);
    }
}
END_TEST

/* Glass that lets nothing through leaves the front alone, whatever is behind it. */
START_TEST(opaque_glass)
{
    random_source random = {83};
    for (int trial = 0; trial < TRIALS; trial++) {
        plate part = random_plate(&random, CLEAR_FILMS, backs[trial % BACKS], 0.01);
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
        plate part = random_plate(&random, CLEAR_FILMS, BC_BACK_UNCOATED, 0.0);
        bc_part *thin, *thick;
        part.front.films = 0;
        part.glass_mm = 0.0;
        thin = open_plate(&part);
        part.glass_mm = 1e4;
        thick = open_plate(&part);
        evaluate_plate(thin, &part, false);
        evaluate_plate(thick, &part, false);
        for (int p = BC_S; p <= BC_P; p++) {
            for (size_t i = 0; i < part.front.wavelengths; i++) {
                const single_film bare = {part.front.incident_n[i], 1.0, part.front.substrate_n[i], 0.0};
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
        plate part = random_plate(&random, CLEAR_FILMS, BC_BACK_OWN, 0.0);
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
        plate part = random_plate(&random, PAST_TOTAL_REFLECTION, backs[trial % BACKS], 0.0);
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
        plate part = random_plate(&random, CLEAR_FILMS, backs[trial % BACKS], 0.0);
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

/* The values' own rounding over the step, and what five points leave of the steepest slope. */
#define STEP_NM  0.002
#define ROUNDING 5e-12
#define RELATIVE 1e-9

static void read_values(bc_part *made, plate *part, size_t film, double offset_nm, response *at)
{
    const double thickness_nm = part->front.thickness_nm[film];
    part->front.thickness_nm[film] = thickness_nm + offset_nm;
    evaluate_plate(made, part, false);
    part->front.thickness_nm[film] = thickness_nm;
    for (int p = BC_S; p <= BC_P; p++) {
        for (size_t i = 0; i < part->front.wavelengths; i++) {
            at->R[p][i] = bc_part_R(made, (bc_plane)p)[i];
            at->T[p][i] = bc_part_T(made, (bc_plane)p)[i];
        }
    }
}

static double five_points(double lower2, double lower1, double upper1, double upper2)
{
    return (lower2 - 8.0 * lower1 + 8.0 * upper1 - upper2) / (12.0 * STEP_NM);
}

static double steepest(const bc_part *slopes, bc_plane p, size_t films, size_t i)
{
    double largest = 0.0;
    for (size_t j = 0; j < films; j++)
        largest = fmax(largest, fmax(fabs(bc_part_dR(slopes, p, j)[i]), fabs(bc_part_dT(slopes, p, j)[i])));
    return largest;
}

static void compare_film(const bc_part *slopes, const plate *part, size_t film, const response at[4])
{
    for (int q = BC_S; q <= BC_P; q++) {
        const bc_plane p = (bc_plane)q;
        for (size_t i = 0; i < part->front.wavelengths; i++) {
            const double allowed = ROUNDING + RELATIVE * steepest(slopes, p, part->front.films, i);
            expect_near(bc_part_dR(slopes, p, film)[i],
                        five_points(at[0].R[q][i], at[1].R[q][i], at[2].R[q][i], at[3].R[q][i]), allowed);
            expect_near(bc_part_dT(slopes, p, film)[i],
                        five_points(at[0].T[q][i], at[1].T[q][i], at[2].T[q][i], at[3].T[q][i]), allowed);
        }
    }
}

static void compare_slopes(plate *part)
{
    static const double offsets[4] = {-2.0, -1.0, 1.0, 2.0};
    bc_part *slopes = open_plate(part), *values = open_plate(part);
    evaluate_plate(slopes, part, true);
    for (size_t j = 0; j < part->front.films; j++) {
        response at[4];
        for (int k = 0; k < 4; k++)
            read_values(values, part, j, offsets[k] * STEP_NM, &at[k]);
        compare_film(slopes, part, j, at);
    }
    bc_part_free(slopes);
    bc_part_free(values);
}

/* Clear and absorbing films on clear and absorbing glass. */
START_TEST(slopes)
{
    random_source random = {87};
    for (int trial = 0; trial < TRIALS; trial++) {
        const double glass_k = trial % 4 < 2 ? 0.0 : pow(10.0, uniform(&random, -9.0, -6.0));
        plate part = random_plate(&random, trial % 2 ? CLEAR_FILMS : ABSORBING_FILMS, backs[_i], glass_k);
        compare_slopes(&part);
    }
}
END_TEST

TCase *part_case(void)
{
    TCase *tests = tcase_create("part");
    tcase_add_loop_test(tests, lossless_plates, 0, BACKS);
    tcase_add_loop_test(tests, absorbing_plates, 0, BACKS);
    tcase_add_test(tests, opaque_glass);
    tcase_add_test(tests, thickness_of_clear_glass);
    tcase_add_test(tests, total_reflection_at_the_back);
    tcase_add_test(tests, total_reflection_at_the_front);
    tcase_add_test(tests, total_reflection_at_absorbing_glass);
    tcase_add_loop_test(tests, slopes, 0, BACKS);
    return tests;
}
