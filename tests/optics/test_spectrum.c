/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From names to R, T and A in one call, against one layer in closed form.
 */
#include "airy.h"
#include "near.h"
#include "specimen.h"
#include "suites.h"
#include <bloomcoat/spectrum.h>
#include <check.h>
#include <math.h>
#include <string.h>

#define TOLERANCE 1e-13

static bc_materials *materials;

static void open_materials(void)
{
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
}

static void close_materials(void)
{
    bc_materials_free(materials);
}

static bc_medium medium(const char *name)
{
    bc_medium found;
    bc_error error;
    ck_assert_msg(bc_medium_find(materials, name, NULL, &found, &error) == BC_OK, "%s", error.message);
    return found;
}

/* Layers from the incident medium. */
static bc_stack stack_of(const char *incident, const char *substrate, size_t layers, const char *const *name,
                         const double *thickness_nm)
{
    bc_stack stack;
    ck_assert_int_eq(bc_stack_alloc(layers, &stack, NULL), BC_OK);
    stack.incident = medium(incident);
    stack.substrate = medium(substrate);
    for (size_t j = 0; j < layers; j++)
        stack.layer[j] = (bc_layer){medium(name[j]), thickness_nm[j], false};
    return stack;
}

static bc_spectrum spectrum_of(const bc_stack *stack, const bc_back *back, size_t count, const double *wavelength_nm,
                               double aoi_rad)
{
    bc_spectrum spectrum;
    bc_error error;
    ck_assert_msg(bc_spectrum_compute(stack, back, count, wavelength_nm, aoi_rad, BC_PATH_AUTO, &spectrum, &error) ==
                      BC_OK,
                  "%s", error.message);
    ck_assert_uint_eq(spectrum.count, count);
    for (size_t i = 0; i < count; i++)
        expect_true(spectrum.wavelength_nm[i] == wavelength_nm[i]);
    return spectrum;
}

static void expect_point(const bc_spectrum *spectrum, bc_polarization plane, size_t i, airy_value expected)
{
    expect_near(spectrum->R[plane][i], expected.R, TOLERANCE);
    expect_near(spectrum->T[plane][i], expected.T, TOLERANCE);
    expect_near(spectrum->A[plane][i], 1.0 - expected.R - expected.T, 2.0 * TOLERANCE);
}

static const double waves_nm[] = {700.0, 355.0, 420.5, 1064.0, 550.0};
#define WAVES 5

/* Materials by name and the same indices in the closed form. */
static const struct {
    const char *incident, *layer, *substrate;
    single_layer coating;
} single_layers[] = {
    {"air", "1.38", "1.52", {1.0, 1.38, 1.52, 0.0}},
    {"1.33", "2.35", "1.8", {1.33, 2.35, 1.8, 0.0}},
    {"air", "2.1-0.05i", "1.52", {1.0, CMPLX(2.1, -0.05), 1.52, 0.0}},
    {"air", "3.1-3.3i", "1.52", {1.0, CMPLX(3.1, -3.3), 1.52, 0.0}},
    {"air", "1.46", "0.9-6.1i", {1.0, 1.46, CMPLX(0.9, -6.1), 0.0}},
    {"1.7", "1.38", "1.45", {1.7, 1.38, 1.45, 0.0}},
};

START_TEST(one_layer)
{
    static const double thicknesses_nm[] = {0.5, 25.0, 99.6, 1234.5};
    static const double angles_deg[] = {0.0, 8.0, 45.0, 80.0};
    for (size_t c = 0; c < 16 * (sizeof single_layers / sizeof *single_layers); c++) {
        const double thickness_nm = thicknesses_nm[c % 4], aoi_rad = angles_deg[c / 4 % 4] * PI / 180.0;
        single_layer coating = single_layers[c / 16].coating;
        bc_stack stack = stack_of(single_layers[c / 16].incident, single_layers[c / 16].substrate, 1,
                                  &single_layers[c / 16].layer, &thickness_nm);
        bc_spectrum spectrum = spectrum_of(&stack, NULL, WAVES, waves_nm, aoi_rad);
        coating.thickness_nm = thickness_nm;
        for (size_t i = 0; i < WAVES; i++) {
            expect_point(&spectrum, BC_POL_S, i, airy(&coating, BC_S, waves_nm[i], aoi_rad));
            expect_point(&spectrum, BC_POL_P, i, airy(&coating, BC_P, waves_nm[i], aoi_rad));
            expect_point(&spectrum, BC_POL_UNPOLARIZED, i, airy_mean(&coating, waves_nm[i], aoi_rad));
        }
        bc_spectrum_clear(&spectrum);
        bc_stack_clear(&stack);
    }
}
END_TEST

START_TEST(bare_surface)
{
    bc_stack stack = stack_of("air", "1.52", 0, NULL, NULL);
    const bc_back none = {.kind = BC_BACK_NONE};
    bc_spectrum spectrum = spectrum_of(&stack, &none, WAVES, waves_nm, 0.0);
    for (size_t i = 0; i < WAVES; i++) {
        expect_near(spectrum.R[BC_POL_UNPOLARIZED][i], pow(0.52 / 2.52, 2.0), 1e-15);
        expect_true(spectrum.A[BC_POL_UNPOLARIZED][i] == 0.0);
    }
    bc_spectrum_clear(&spectrum);
    ck_assert_ptr_null(spectrum.memory);
    bc_spectrum_clear(&spectrum);
    bc_stack_clear(&stack);
}
END_TEST

/* A million waves in the layers pass, a hair more does not: beyond, rounding decides where the fringes lie. */
START_TEST(more_waves_than_can_be_told_are_refused)
{
    static const char *const names[] = {"1.25", "1.25"};
    const double wave_nm = 500.0, most_nm = BC_MOST_WAVES * wave_nm / 1.25, half_nm[] = {0.5 * most_nm, 0.5 * most_nm};
    bc_stack stack = stack_of("air", "1.52", 2, names, half_nm);
    bc_spectrum spectrum = spectrum_of(&stack, NULL, 1, &wave_nm, 0.0);
    bc_error error = {0};
    bc_spectrum_clear(&spectrum);
    stack.layer[1].thickness_nm *= 1.0 + 1e-10;
    ck_assert_int_eq(bc_spectrum_compute(&stack, NULL, 1, &wave_nm, 0.0, BC_PATH_AUTO, &spectrum, &error),
                     BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "the layers hold 1e+06 waves of 500 nm"));
    bc_stack_clear(&stack);
}
END_TEST

/* A layer that comes back later in the stack is the same material: cutting one layer in pieces with absent layers of
 * another between them changes nothing. */
START_TEST(material_used_twice)
{
    static const char *const names[] = {"1.7", "1.38", "2.35", "1.38", "2.35", "1.38"}, *const name = "1.38";
    static const double thicknesses_nm[] = {0.0, 40.0, 0.0, 33.0, 0.0, 27.0}, whole_nm = 100.0;
    bc_stack pieces = stack_of("air", "1.52", 6, names, thicknesses_nm),
             whole = stack_of("air", "1.52", 1, &name, &whole_nm);
    bc_spectrum one = spectrum_of(&pieces, NULL, WAVES, waves_nm, 0.7),
                other = spectrum_of(&whole, NULL, WAVES, waves_nm, 0.7);
    for (int p = 0; p < 3; p++)
        for (size_t i = 0; i < WAVES; i++)
            expect_near(one.R[p][i], other.R[p][i], TOLERANCE);
    bc_spectrum_clear(&one);
    bc_spectrum_clear(&other);
    bc_stack_clear(&pieces);
    bc_stack_clear(&whole);
}
END_TEST

/* R and T of two faces and clear glass: R1 + T1^2 R2/(1 - R1 R2), T1 T2/(1 - R1 R2). */
static airy_value two_faces(airy_value front, airy_value back)
{
    const double echoes = 1.0 - front.R * back.R;
    return (airy_value){front.R + front.T * front.T * back.R / echoes, front.T * back.T / echoes};
}

/* Front 1.38 on 1.52; behind it bare, the same, or a layer of its own towards water. A lossless face is alike from both
 * sides, so each is taken from outside at the angle of Snell's law. */
START_TEST(parts)
{
    static const char *const front_name = "1.38", *const back_name = "1.7";
    const double front_nm = 95.0, back_nm = 61.0, aoi_rad = 0.65;
    const single_layer front = {1.0, 1.38, 1.52, front_nm}, bare = {1.0, 1.0, 1.52, 0.0},
                       own = {1.33, 1.7, 1.52, back_nm};
    bc_stack stack = stack_of("air", "1.52", 1, &front_name, &front_nm);
    bc_stack behind = stack_of("1.33", "1.52", 1, &back_name, &back_nm);
    for (int kind = BC_BACK_UNCOATED; kind <= BC_BACK_OWN; kind++) {
        const bc_back back = {(bc_back_kind)kind, kind == BC_BACK_OWN ? &behind : NULL, 3.0};
        bc_spectrum spectrum = spectrum_of(&stack, &back, WAVES, waves_nm, aoi_rad);
        for (size_t i = 0; i < WAVES; i++) {
            airy_value expected[2];
            for (int p = BC_S; p <= BC_P; p++) {
                const airy_value face = airy(&front, (bc_plane)p, waves_nm[i], aoi_rad);
                const airy_value other = kind == BC_BACK_UNCOATED ? airy(&bare, (bc_plane)p, waves_nm[i], aoi_rad)
                                         : kind == BC_BACK_SAME
                                             ? face
                                             : airy(&own, (bc_plane)p, waves_nm[i], asin(sin(aoi_rad) / 1.33));
                expected[p] = two_faces(face, other);
                expect_point(&spectrum, (bc_polarization)(BC_POL_S + p), i, expected[p]);
            }
            expect_point(&spectrum, BC_POL_UNPOLARIZED, i,
                         (airy_value){0.5 * (expected[0].R + expected[1].R), 0.5 * (expected[0].T + expected[1].T)});
        }
        bc_spectrum_clear(&spectrum);
    }
    bc_stack_clear(&stack);
    bc_stack_clear(&behind);
}
END_TEST

/* The back's layers lie from the medium behind to the glass: two layers in the wrong order would be another coating.
 * With the front bare, the part turned around has the same T. */
START_TEST(own_back_keeps_its_order)
{
    static const char *const names[] = {"1.38", "2.2"};
    static const double thicknesses_nm[] = {90.0, 35.0};
    bc_stack bare = stack_of("air", "1.52", 0, NULL, NULL), coated = stack_of("air", "1.52", 2, names, thicknesses_nm);
    const bc_back own = {BC_BACK_OWN, &coated, 1.0}, uncoated = {BC_BACK_UNCOATED, NULL, 1.0};
    bc_spectrum one = spectrum_of(&bare, &own, WAVES, waves_nm, 0.5);
    bc_spectrum other = spectrum_of(&coated, &uncoated, WAVES, waves_nm, 0.5);
    for (int p = 0; p < 3; p++) {
        for (size_t i = 0; i < WAVES; i++) {
            expect_near(one.T[p][i], other.T[p][i], TOLERANCE);
            expect_near(one.R[p][i], other.R[p][i], TOLERANCE);
        }
    }
    bc_spectrum_clear(&one);
    bc_spectrum_clear(&other);
    bc_stack_clear(&bare);
    bc_stack_clear(&coated);
}
END_TEST

/* Absorbing glass, bare: x (1-r)^2/(1 - r^2 x^2) at normal incidence. (Pankove, Optical Processes in Semiconductors,
 * 1971, ch. 4, from memory) */
START_TEST(glass_absorbs)
{
    const double k = 2e-7, n = 1.6, glass_mm = 25.0, r = pow(0.6 / 2.6, 2.0);
    bc_dispersion *glass;
    bc_stack stack = stack_of("air", "1.52", 0, NULL, NULL);
    const bc_back back = {BC_BACK_UNCOATED, NULL, glass_mm};
    bc_spectrum spectrum;
    ck_assert_int_eq(bc_dispersion_constant("smoky", n, k, &glass, NULL), BC_OK);
    stack.substrate.dispersion = glass;
    spectrum = spectrum_of(&stack, &back, WAVES, waves_nm, 0.0);
    for (size_t i = 0; i < WAVES; i++) {
        const double x = exp(-4.0 * PI * k * glass_mm * 1e6 / waves_nm[i]);
        const double T = x * (1.0 - r) * (1.0 - r) / (1.0 - r * r * x * x);
        expect_point(&spectrum, BC_POL_UNPOLARIZED, i, (airy_value){r + r * x * T, T});
        ck_assert_double_gt(spectrum.A[BC_POL_UNPOLARIZED][i], 0.05);
    }
    bc_spectrum_clear(&spectrum);
    bc_stack_clear(&stack);
    bc_dispersion_free(glass);
}
END_TEST

static void expect_refused(const bc_stack *stack, const bc_back *back, size_t count, double aoi_rad, const char *one,
                           const char *other)
{
    bc_spectrum spectrum;
    bc_error error = {0};
    memset(&spectrum, 0xff, sizeof spectrum);
    ck_assert_int_eq(bc_spectrum_compute(stack, back, count, waves_nm, aoi_rad, BC_PATH_AUTO, &spectrum, &error),
                     BC_ERROR_INPUT);
    ck_assert_int_eq(error.status, BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, one) != NULL, "'%s' does not say '%s'", error.message, one);
    ck_assert_msg(strstr(error.message, other) != NULL, "'%s' does not say '%s'", error.message, other);
    ck_assert_ptr_null(spectrum.memory);
    ck_assert_uint_eq(spectrum.count, 0);
    bc_spectrum_clear(&spectrum);
}

START_TEST(refusals)
{
    static const char *const layer = "1.38";
    const double thickness_nm = 100.0;
    bc_stack stack = stack_of("air", "1.52", 1, &layer, &thickness_nm),
             smoky = stack_of("1.0-0.1i", "1.52", 0, NULL, NULL);
    bc_stack elsewhere = stack_of("air", "1.62", 1, &layer, &thickness_nm);
    const bc_back other_glass = {BC_BACK_OWN, &elsewhere, 1.0}, negative = {BC_BACK_SAME, NULL, -1.0};
    expect_refused(&smoky, NULL, WAVES, 0.0, "incident medium absorbs", "k = 0.1");
    expect_refused(&stack, NULL, WAVES, PI / 2.0, "angle of incidence 90 deg", "less than 90");
    expect_refused(&stack, NULL, WAVES, -0.1, "angle of incidence", "0 or more");
    expect_refused(&stack, NULL, 0, 0.0, "no wavelength", "");
    expect_refused(&stack, &negative, WAVES, 0.0, "glass thickness -1 mm", "0 or more");
    expect_refused(&stack, &other_glass, WAVES, 0.0, "'1.62'", "'1.52'");
    bc_stack_clear(&stack);
    bc_stack_clear(&smoky);
    bc_stack_clear(&elsewhere);
}
END_TEST

/* So many waves that a double does not hold their phase: refused at the wavelength where they are too many, be it in
 * the layers of the back. */
START_TEST(too_many_waves)
{
    static const char *const name[] = {"1.38", "2.0"};
    const double fewer_nm[] = {1.0e8, 1.084e8}, more_nm[] = {1.0e8, 1.086e8}, thin_nm = 100.0;
    bc_stack fewer = stack_of("air", "1.52", 2, name, fewer_nm), more = stack_of("air", "1.52", 2, name, more_nm),
             thin = stack_of("air", "1.52", 1, name, &thin_nm);
    const bc_back back = {BC_BACK_OWN, &more, 1.0};
    bc_spectrum spectrum = spectrum_of(&fewer, NULL, WAVES, waves_nm, 0.0);
    bc_spectrum_clear(&spectrum);
    expect_refused(&more, NULL, WAVES, 0.0, "1e+06 waves of 355 nm", "1000000 at most");
    expect_refused(&thin, &back, WAVES, 0.0, "waves of 355 nm", "thinner layers");
    bc_stack_clear(&fewer);
    bc_stack_clear(&more);
    bc_stack_clear(&thin);
}
END_TEST

/* A wavelength no table reaches, wherever the table stands. */
START_TEST(outside_a_table)
{
    static const double table_nm[] = {400.0, 500.0, 800.0}, n[] = {1.55, 1.52, 1.5};
    static const char *const layer = "1.38";
    const double thickness_nm = 100.0;
    bc_dispersion *table;
    bc_stack behind = stack_of("air", "1.52", 1, &layer, &thickness_nm);
    const bc_back back = {BC_BACK_OWN, &behind, 1.0};
    ck_assert_int_eq(bc_dispersion_table("short table", 3, table_nm, n, NULL, &table, NULL), BC_OK);
    for (int where = 0; where < 4; where++) {
        bc_stack stack = stack_of("air", "1.52", 1, &layer, &thickness_nm);
        const bc_dispersion **place = where == 0   ? &stack.incident.dispersion
                                      : where == 1 ? &stack.layer[0].material.dispersion
                                      : where == 2 ? &stack.substrate.dispersion
                                                   : &behind.layer[0].material.dispersion;
        *place = table;
        expect_refused(&stack, where == 3 ? &back : NULL, WAVES, 0.0, "short table", "355");
        expect_refused(&stack, where == 3 ? &back : NULL, WAVES, 0.0, "400", "800");
        bc_stack_clear(&stack);
    }
    bc_stack_clear(&behind);
    bc_dispersion_free(table);
}
END_TEST

TCase *spectrum_case(void)
{
    TCase *tests = tcase_create("spectrum");
    tcase_add_checked_fixture(tests, open_materials, close_materials);
    tcase_add_test(tests, one_layer);
    tcase_add_test(tests, bare_surface);
    tcase_add_test(tests, more_waves_than_can_be_told_are_refused);
    tcase_add_test(tests, material_used_twice);
    tcase_add_test(tests, parts);
    tcase_add_test(tests, own_back_keeps_its_order);
    tcase_add_test(tests, glass_absorbs);
    tcase_add_test(tests, refusals);
    tcase_add_test(tests, too_many_waves);
    tcase_add_test(tests, outside_a_table);
    return tests;
}
