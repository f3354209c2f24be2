/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "merit.h"
#include "workshop.h"
#include <bloomcoat/part.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WAVELENGTHS 21
#define MATERIALS   4
#define LAYERS      6

static const unsigned layers[LAYERS] = {0, 1, 2, 3, 0, 1};
static const double thickness_nm[LAYERS] = {90.0, 40.0, 25.0, 60.0, 130.0, 15.0};

/* A clear low index, a clear high one, a weakly absorbing one and a metal, all dispersive. */
typedef struct bench {
    double nm[WAVELENGTHS], air[WAVELENGTHS], glass[WAVELENGTHS], n[MATERIALS][WAVELENGTHS], k[MATERIALS][WAVELENGTHS];
    bc_index index[MATERIALS];
    bc_surface_setup setup;
} bench;

static void open_bench(bench *b, double incident_n, double aoi_deg)
{
    static const double n[] = {1.38, 2.1, 1.9, 0.15}, k[] = {0.0, 0.0, 0.02, 3.4};
    memset(b, 0, sizeof *b);
    for (int i = 0; i < WAVELENGTHS; i++) {
        b->nm[i] = 400.0 + 17.0 * i;
        b->air[i] = incident_n;
        b->glass[i] = 1.5 + 4000.0 / (b->nm[i] * b->nm[i]);
        for (int m = 0; m < MATERIALS; m++) {
            b->n[m][i] = n[m] + 5000.0 / (b->nm[i] * b->nm[i]);
            b->k[m][i] = k[m] * (1.0 + 0.01 * i);
        }
    }
    for (int m = 0; m < MATERIALS; m++)
        b->index[m] = (bc_index){b->n[m], m == 0 ? NULL : b->k[m]};
    b->setup = (bc_surface_setup){.wavelengths = WAVELENGTHS,
                                  .wavelength_nm = b->nm,
                                  .aoi_rad = aoi_deg * PI / 180.0,
                                  .incident = {b->air, NULL},
                                  .substrate = {b->glass, NULL},
                                  .materials = MATERIALS,
                                  .material = b->index,
                                  .max_layers = LAYERS};
}

static void move(bench *b, unsigned material, double dn)
{
    for (int i = 0; i < WAVELENGTHS; i++)
        b->n[material][i] += dn;
}

static bc_surface *surface_of(const bench *b)
{
    bc_surface *surface;
    ck_assert_int_eq(bc_surface_alloc(&b->setup, &surface, NULL), BC_OK);
    return surface;
}

static void expect_near(const double *one, const double *other, double tolerance)
{
    for (int i = 0; i < WAVELENGTHS; i++)
        ck_assert_double_eq_tol(one[i], other[i], tolerance);
}

static void expect_same_surface(bc_surface *one, bc_surface *other, double tolerance)
{
    bc_surface_evaluate(one, LAYERS, layers, thickness_nm, BC_WANT_GRADIENT);
    bc_surface_evaluate(other, LAYERS, layers, thickness_nm, BC_WANT_GRADIENT);
    for (int p = 0; p < 2; p++) {
        expect_near(bc_surface_R(one, (bc_plane)p), bc_surface_R(other, (bc_plane)p), tolerance);
        expect_near(bc_surface_T(one, (bc_plane)p), bc_surface_T(other, (bc_plane)p), tolerance);
        for (size_t j = 0; j < LAYERS; j++)
            expect_near(bc_surface_dR(one, (bc_plane)p, j), bc_surface_dR(other, (bc_plane)p, j), tolerance);
    }
}

/* Incident index and angle: straight, oblique, and from a dense medium past the critical angle of some layers, on
 * either side of which a shift may put one. */
static const double light[][2] = {{1.0, 0.0}, {1.0, 35.0}, {1.0, 80.0}, {1.72, 54.0}, {1.72, 75.0}};
static const double shift[MATERIALS] = {0.013, -0.07, 0.2, 0.031};

START_TEST(a_shifted_surface_is_one_set_up_so)
{
    bc_surface *shifted, *fresh, *plain;
    bench b;
    open_bench(&b, light[_i][0], light[_i][1]);
    shifted = surface_of(&b);
    plain = surface_of(&b);
    for (unsigned m = 0; m < MATERIALS; m++) {
        bc_surface_shift_index(shifted, m, -0.5 * shift[m]); /* the next call starts from the table again */
        bc_surface_shift_index(shifted, m, shift[m]);
        move(&b, m, shift[m]);
        fresh = surface_of(&b);
        expect_same_surface(shifted, fresh, 1e-14);
        bc_surface_free(fresh);
    }
    for (unsigned m = 0; m < MATERIALS; m++)
        bc_surface_shift_index(shifted, m, 0.0);
    expect_same_surface(shifted, plain, DBL_MIN); /* to the bit */
    bc_surface_free(shifted);
    bc_surface_free(plain);
}
END_TEST

/* 0.01 or more, unless the table itself has less. */
START_TEST(no_index_falls_below_a_hundredth)
{
    bc_surface *shifted, *fresh;
    double R_of_less;
    bench b;
    open_bench(&b, 1.0, 20.0);
    b.n[3][0] = 0.004;
    shifted = surface_of(&b);
    bc_surface_evaluate(shifted, LAYERS, layers, thickness_nm, BC_WANT_VALUES);
    R_of_less = bc_surface_R(shifted, BC_S)[0];
    b.n[3][0] = 0.01;
    fresh = surface_of(&b);
    bc_surface_evaluate(fresh, LAYERS, layers, thickness_nm, BC_WANT_VALUES);
    ck_assert_double_gt(fabs(bc_surface_R(fresh, BC_S)[0] - R_of_less), 1e-6);
    bc_surface_free(fresh);
    bc_surface_shift_index(shifted, 0, -5.0);
    bc_surface_shift_index(shifted, 3, -5.0);
    for (int i = 0; i < WAVELENGTHS; i++) {
        b.n[0][i] = 0.01;
        b.n[3][i] = i == 0 ? 0.004 : 0.01;
    }
    fresh = surface_of(&b);
    expect_same_surface(shifted, fresh, 1e-14);
    bc_surface_free(shifted);
    bc_surface_free(fresh);
}
END_TEST

static bc_part *part_of(const bench *b, bc_back_kind back)
{
    static const unsigned behind[2] = {0, 1};
    static const double behind_nm[2] = {95.0, 30.0};
    const bc_part_setup setup = {.front = b->setup,
                                 .back = back,
                                 .back_medium = {b->air, NULL},
                                 .back_materials = back == BC_BACK_OWN ? 2 : 0,
                                 .back_index = b->index,
                                 .back_layers = back == BC_BACK_OWN ? 2 : 0,
                                 .back_material = behind,
                                 .back_thickness_nm = behind_nm};
    bc_part *part;
    ck_assert_int_eq(bc_part_alloc(&setup, &part, NULL), BC_OK);
    return part;
}

/* A back with a stack of its own stays what it was: here the materials of the front alone are moved. */
START_TEST(a_shifted_part_is_one_set_up_so)
{
    static const bc_back_kind backs[] = {BC_BACK_UNCOATED, BC_BACK_SAME, BC_BACK_OWN};
    static const unsigned clear_layers[LAYERS] = {0, 1, 1, 0, 0, 1};
    const bc_back_kind back = backs[_i % 3];
    const unsigned *used = _i < 3 ? layers : clear_layers;
    bench before, after;
    bc_part *shifted, *fresh;
    open_bench(&before, 1.0, 40.0);
    shifted = part_of(&before, back);
    open_bench(&after, 1.0, 40.0);
    for (unsigned m = 0; m < MATERIALS; m++) {
        bc_part_shift_index(shifted, m, shift[m]);
        move(&after, m, shift[m]);
    }
    if (back == BC_BACK_OWN) {
        const bc_part_setup setup = {.front = after.setup,
                                     .back = back,
                                     .back_medium = {before.air, NULL},
                                     .back_materials = 2,
                                     .back_index = before.index,
                                     .back_layers = 2,
                                     .back_material = (const unsigned[]){0, 1},
                                     .back_thickness_nm = (const double[]){95.0, 30.0}};
        ck_assert_int_eq(bc_part_alloc(&setup, &fresh, NULL), BC_OK);
    } else {
        fresh = part_of(&after, back);
    }
    bc_part_evaluate(shifted, LAYERS, used, thickness_nm, true);
    bc_part_evaluate(fresh, LAYERS, used, thickness_nm, true);
    for (int p = 0; p < 2; p++) {
        expect_near(bc_part_R(shifted, (bc_plane)p), bc_part_R(fresh, (bc_plane)p), 1e-14);
        expect_near(bc_part_T(shifted, (bc_plane)p), bc_part_T(fresh, (bc_plane)p), 1e-14);
        expect_near(bc_part_dR(shifted, (bc_plane)p, 2), bc_part_dR(fresh, (bc_plane)p, 2), 1e-14);
    }
    bc_part_free(shifted);
    bc_part_free(fresh);
}
END_TEST

/* A layer material that absorbs turned into one that does not, and the other way. */
START_TEST(a_part_given_another_index_is_one_set_up_so)
{
    bench before, after;
    bc_part *given, *fresh;
    open_bench(&before, 1.0, 40.0);
    given = part_of(&before, BC_BACK_SAME);
    bc_part_evaluate(given, LAYERS, layers, thickness_nm, false);
    open_bench(&after, 1.0, 40.0);
    after.index[1].k = after.k[2];
    after.index[2].k = after.index[3].k = NULL;
    move(&after, 0, 0.15);
    for (unsigned m = 0; m < MATERIALS; m++)
        bc_part_set_index(given, m, &after.index[m]);
    fresh = part_of(&after, BC_BACK_SAME);
    bc_part_evaluate(given, LAYERS, layers, thickness_nm, true);
    bc_part_evaluate(fresh, LAYERS, layers, thickness_nm, true);
    for (int p = 0; p < 2; p++) {
        expect_near(bc_part_R(given, (bc_plane)p), bc_part_R(fresh, (bc_plane)p), 1e-15);
        expect_near(bc_part_T(given, (bc_plane)p), bc_part_T(fresh, (bc_plane)p), 1e-15);
        expect_near(bc_part_dR(given, (bc_plane)p, 2), bc_part_dR(fresh, (bc_plane)p, 2), 1e-15);
    }
    bc_part_free(given);
    bc_part_free(fresh);
}
END_TEST

/* The merit of a shifted material is that of a material with such an index, in rows on a surface and on a part. */
START_TEST(a_shifted_merit_is_one_of_another_material)
{
    static const unsigned material[2] = {0, 1};
    static const double nm[2] = {95.0, 30.0};
    bc_merit *merit[2];
    bc_medium medium[2][2];
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, 0.01, 450.0, 650.0, 30.0);
    workshop_ask(&w, 0.01, 450.0, 650.0, 0.0)->scope = BC_SCOPE_PART;
    w.problem.back = (bc_back){.kind = BC_BACK_SAME};
    w.problem.incident = w.stack.incident;
    w.problem.materials = 2;
    for (int side = 0; side < 2; side++) {
        ck_assert_int_eq(bc_medium_find(w.materials, "1.38", NULL, &medium[side][0], NULL), BC_OK);
        ck_assert_int_eq(bc_medium_find(w.materials, side == 0 ? "2.1" : "2.25", NULL, &medium[side][1], NULL), BC_OK);
        w.problem.material = medium[side];
        ck_assert_int_eq(
            bc_merit_alloc(&w.problem, BC_DENSITY_VERDICT, 2, (bc_fringes){300.0, 300.0}, &merit[side], NULL), BC_OK);
    }
    bc_merit_shift_index(merit[0], 1, 2.25 - 2.1);
    for (int slopes = 0; slopes < 2; slopes++) {
        for (int side = 0; side < 2; side++)
            bc_merit_evaluate(merit[side], 2, material, nm, slopes == 1);
        for (size_t c = 0; c < bc_merit_constraints(merit[0]); c++)
            ck_assert_double_eq_tol(bc_merit_u(merit[0])[c], bc_merit_u(merit[1])[c], 1e-12);
    }
    for (size_t c = 0; c < bc_merit_constraints(merit[0]); c++)
        ck_assert_double_eq_tol(bc_merit_slope(merit[0], 1)[c], bc_merit_slope(merit[1], 1)[c], 1e-12);
    bc_merit_free(merit[0]);
    bc_merit_free(merit[1]);
    workshop_close(&w);
}
END_TEST

TCase *shift_case(void)
{
    TCase *tests = tcase_create("shift");
    tcase_add_loop_test(tests, a_shifted_surface_is_one_set_up_so, 0, sizeof light / sizeof *light);
    tcase_add_test(tests, no_index_falls_below_a_hundredth);
    tcase_add_loop_test(tests, a_shifted_part_is_one_set_up_so, 0, 6);
    tcase_add_test(tests, a_part_given_another_index_is_one_set_up_so);
    tcase_add_test(tests, a_shifted_merit_is_one_of_another_material);
    return tests;
}
