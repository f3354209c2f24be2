/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/materials.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TABLE_OF(n)  "wavelength_nm,n\n400," n "\n700," n "\n"

static double n_of(bc_materials *materials, const char *name)
{
    const bc_dispersion *dispersion = NULL;
    bc_error error = {0};
    double nm = 550, n = -1;
    ck_assert_msg(bc_materials_find(materials, name, NULL, &dispersion, &error) == BC_OK, "%s", error.message);
    ck_assert_str_eq(bc_dispersion_name(dispersion), name);
    ck_assert_int_eq(bc_dispersion_index(dispersion, 1, &nm, &n, NULL, NULL), BC_OK);
    return n;
}

static void make_folder(const char *name)
{
    ck_assert_int_eq(mkdir(scratch_path(name), 0755), 0);
}

START_TEST(constants)
{
    static const struct {
        const char *name;
        double n, k;
    } cases[] = {
        {"air", 1, 0},        {"1.38", 1.38, 0},  {"3.1-3.3i", 3.1, 3.3},     {"1.5-0i", 1.5, 0},
        {"2", 2, 0},          {".5-2.i", 0.5, 2}, {"1.5e0-1e-3i", 1.5, 1e-3}, {"0.01", 0.01, 0},
        {"20-100i", 20, 100}, {"+1.5", 1.5, 0},   {"1.517642", 1.517642, 0}, /* six digits in all, but with a point: no
                                                                                glass code */
    };
    bc_materials *materials = new_materials();
    for (size_t i = 0; i < COUNT(cases); i++) {
        const bc_dispersion *found = NULL, *again = NULL;
        bc_error error = {0};
        double nm = 550, n, k;
        ck_assert_msg(bc_materials_find(materials, cases[i].name, NULL, &found, &error) == BC_OK, "%s", error.message);
        ck_assert(bc_dispersion_is_constant(found));
        ck_assert_int_eq(bc_dispersion_index(found, 1, &nm, &n, &k, NULL), BC_OK);
        ck_assert_msg(n == cases[i].n && k == cases[i].k, "%s: %.17g - %.17gi", cases[i].name, n, k);
        ck_assert(bc_dispersion_absorbs(found) == (k > 0));
        ck_assert_int_eq(bc_materials_find(materials, cases[i].name, NULL, &again, NULL), BC_OK);
        ck_assert_ptr_eq(found, again);
    }
    bc_materials_free(materials);
}
END_TEST

static const struct {
    const char *name, *piece;
} bad_names[] = {
    {"1.5+0.1i", "expected an absorbing constant written with a minus, such as 3.1-3.3i: N = n - ik"},
    {"1.5+0i", "N = n - ik"},
    {"1.5-0.1j", "expected 'i' for the imaginary unit"},
    {"3.3i", "expected a constant with its real part"},
    {"-1.5", "expected a constant index n from 0.01 to 20"},
    {"0", "expected a constant index n from 0.01 to 20"},
    {"0.009", "expected a constant index n from 0.01 to 20"},
    {"20.1", "expected a constant index n from 0.01 to 20"},
    {"51764", "a glass goes by its six-digit code"},
    {"5176420", "a glass goes by its six-digit code"},
    {"1e999", "expected a constant index n from 0.01 to 20"},
    {"0-3i", "expected a constant index n from 0.01 to 20"},
    {"1.5-101i", "expected a constant n - ik with k from 0 to 100"},
    {"1.5-1e999i", "expected a constant n - ik with k from 0 to 100"},
    {"3.1 - 3.3i", "expected a constant such as 1.38 or 3.1-3.3i, with a decimal point and without blanks"},
    {"1,38", "expected a constant such as 1.38 or 3.1-3.3i, with a decimal point"},
    {"", "expected a material's name of letters, digits"},
    {"Mg F2", "expected a material's name of letters, digits"},
    {"Mg\x1B[2JF2", "found 'Mg\\x1B[2JF2'; expected a material's name of letters, digits"},
    {"Mg\xE2\x82\x82", "expected a material's name of letters, digits"},
    {"nan", "expected a material's name (there is none like it)"},
    {"inf", "expected a material's name"},
    {"0x10", "expected a material's name"},
    {"../secret", "which cannot lead out of the folders searched: no '/'"},
    {"/etc/passwd", "which cannot lead out of the folders searched"},
    {"inner/MgF2", "which cannot lead out of the folders searched"},
    {"inner\\MgF2", "which cannot lead out of the folders searched"},
    {"..", "no dot at its start"},
    {".hidden", "no dot at its start"},
    {"N123456789012345678901234567890123456789012345678901234567890123",
     "expected a material's name of at most 63 bytes"},
};

START_TEST(refused_names)
{
    bc_materials *materials = scratch_materials();
    const bc_dispersion *found = NULL;
    bc_error error = {0};
    const char *name = bad_names[_i].name;
    make_folder("inner");
    scratch_write("inner/MgF2.csv", TABLE_OF("1.38"));
    scratch_write(".hidden.csv", TABLE_OF("1.38"));
    expect_refusal(
        name, bc_materials_find(materials, name, "stack.csv:3: column 2 (material)", &found, &error), &error,
        BC_ERROR_INPUT,
        (const char *[PIECES]){"stack.csv:3: column 2 (material): found '", "; expected ", bad_names[_i].piece});
    expect_refusal(name, bc_materials_find(materials, name, NULL, &found, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"material: found '", bad_names[_i].piece});
    ck_assert_ptr_null(found);
    bc_materials_free(materials);
}
END_TEST

START_TEST(longest_name)
{
    char file[128], name[64];
    memset(name, 'N', 63);
    name[63] = '\0';
    snprintf(file, sizeof file, "%s.csv", name);
    scratch_write(file, TABLE_OF("1.5"));
    bc_materials *materials = scratch_materials();
    ck_assert(n_of(materials, name) == 1.5);
    bc_materials_free(materials);
}
END_TEST

START_TEST(six_digits_are_a_table)
{
    scratch_write("517642.csv", TABLE_OF("1.5168"));
    scratch_write("1.38.csv", TABLE_OF("9")); /* a number is a constant, whatever tables there are */
    scratch_write("air.csv", TABLE_OF("9"));
    bc_materials *materials = scratch_materials();
    bc_error error = {0};
    const bc_dispersion *found = NULL;
    ck_assert(n_of(materials, "517642") == 1.5168);
    ck_assert(n_of(materials, "1.38") == 1.38);
    ck_assert(n_of(materials, "air") == 1);
    expect_refusal("no such glass", bc_materials_find(materials, "317641", NULL, &found, &error), &error,
                   BC_ERROR_INPUT,
                   (const char *[PIECES]){"found '317641'; expected a material's name (nearest: 517642)"});
    bc_materials_free(materials);
}
END_TEST

START_TEST(folders_in_order)
{
    make_folder("first");
    make_folder("second");
    scratch_write("first/MgF2.csv", TABLE_OF("1.38"));
    scratch_write("second/MgF2.csv", TABLE_OF("9"));
    scratch_write("second/Demo-1_a+b.2.csv", TABLE_OF("2"));
    bc_materials *materials = new_materials();
    char path_list[2 * PATH_SIZE];
    snprintf(path_list, sizeof path_list, ":%s::%s:", scratch_path("first"), scratch_path("second"));
    ck_assert_int_eq(bc_materials_add_path(materials, path_list, NULL), BC_OK);
    ck_assert(n_of(materials, "MgF2") == 1.38);
    ck_assert(n_of(materials, "Demo-1_a+b.2") == 2);
    scratch_write("first/Demo-1_a+b.2.csv", TABLE_OF("3"));
    ck_assert(n_of(materials, "Demo-1_a+b.2") == 2); /* read once */
    bc_materials_free(materials);
}
END_TEST

START_TEST(unknown_names)
{
    static const char *const tables[] = {"MgF2.csv", "HfO2.csv", "SiO2.csv", "Ge.csv"};
    bc_error error = {0};
    const bc_dispersion *found = NULL;
    for (size_t i = 0; i < COUNT(tables); i++)
        scratch_write(tables[i], TABLE_OF("2"));
    bc_materials *materials = scratch_materials();
    ck_assert_int_eq(bc_materials_add_folder(materials, "/tmp", NULL), BC_OK);
    expect_refusal("case", bc_materials_find(materials, "mgf2", "a.csv:2", &found, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"a.csv:2: found 'mgf2'; expected a material's name (nearest: MgF2",
                                          "'air', or a constant such as 1.38", "folders searched: ", scratch_folder(),
                                          ", /tmp"});
    expect_refusal("misspelt", bc_materials_find(materials, "Hf02", "a.csv:2", &found, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"found 'Hf02'; expected a material's name (nearest: HfO2"});
    bc_materials_free(materials);
    materials = new_materials();
    expect_refusal("no folder", bc_materials_find(materials, "MgF2", "a.csv:2", &found, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"found 'MgF2'", "there is none like it", "folders searched: none"});
    bc_materials_free(materials);
}
END_TEST

/* What is wrong with a table is told with the place that named it. */
START_TEST(bad_table)
{
    bc_error error = {0};
    const bc_dispersion *found = NULL;
    scratch_write("Demo.csv", "wavelength_nm,n\n400,x\n700,1\n");
    make_folder("Other.csv");
    bc_materials *materials = scratch_materials();
    for (int i = 0; i < 2; i++)
        expect_refusal("table", bc_materials_find(materials, "Demo", "a.csv:2: column 2 (material)", &found, &error),
                       &error, BC_ERROR_INPUT,
                       (const char *[PIECES]){"a.csv:2: column 2 (material): ", "/Demo.csv:2: column 2 (n)"});
    expect_refusal("folder", bc_materials_find(materials, "Other", "a.csv:2", &found, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"a.csv:2: ", "/Other.csv: found a folder; expected a CSV file"});
    scratch_write("Demo.csv", TABLE_OF("2"));
    ck_assert(n_of(materials, "Demo") == 2);
    bc_materials_free(materials);
}
END_TEST

START_TEST(bad_folders)
{
    bc_materials *materials = new_materials();
    bc_error error = {0};
    char path_list[2 * PATH_SIZE];
    expect_refusal(
        "missing", bc_materials_add_folder(materials, scratch_path("none"), &error), &error, BC_ERROR_INPUT,
        (const char *[PIECES]){"/none: found no folder that can be read here", "expected a folder of materials"});
    expect_refusal("a file", bc_materials_add_folder(materials, scratch_write("file", "x"), &error), &error,
                   BC_ERROR_INPUT, (const char *[PIECES]){"/file: found no folder that can be read here"});
    expect_refusal("empty", bc_materials_add_folder(materials, "", &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"found no folder", "expected a folder"});
    snprintf(path_list, sizeof path_list, "%s:%s", scratch_folder(), scratch_path("none"));
    expect_refusal("list", bc_materials_add_path(materials, path_list, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"/none: found no folder that can be read here"});
    bc_materials_free(materials);
}
END_TEST

/* Digits before letters, upper and lower case together, each once; nothing that is no table. */
START_TEST(listing)
{
    static const char *const expected[] = {"517642", "620364", "Al2O3", "amorphous-C", "Broken",
                                           "CaF2",   "caf2",   "ZnS",   "ZnS-bulk"};
    const char *const *names = NULL;
    size_t count = 99;
    make_folder("one");
    make_folder("two");
    make_folder("one/Folder.csv");
    for (size_t i = 0; i < COUNT(expected); i++) {
        char file[128];
        snprintf(file, sizeof file, "%s/%s.csv", i % 2 == 0 ? "one" : "two", expected[COUNT(expected) - 1 - i]);
        scratch_write(file, TABLE_OF("2"));
    }
    scratch_write("two/ZnS.csv", "\xEF\xBB\xBF# c\n,,\n\nk,n,wavelength_um\n");
    scratch_write("two/Broken.csv", "wavelenght_nm,N\n");
    scratch_write("one/stack.csv", "role,material,thickness_nm\nincident,air,\nsubstrate,1.5,\n");
    scratch_write("one/measured.csv", "wavelength_nm,R_percent\n400,1\n500,1\n");
    scratch_write("one/empty.csv", "");
    scratch_write("one/notes.txt", TABLE_OF("2"));
    scratch_write("one/.hidden.csv", TABLE_OF("2"));
    scratch_write("one/.csv", TABLE_OF("2"));
    scratch_write("one/with blank.csv", TABLE_OF("2"));
    scratch_write("one/1.38.csv", TABLE_OF("2"));
    scratch_write("one/air.csv", TABLE_OF("2"));
    ck_assert_int_eq(symlink("nowhere", scratch_path("one/Dangling.csv")), 0);
    bc_materials *materials = new_materials();
    ck_assert_int_eq(bc_materials_list(materials, &count, &names, NULL), BC_OK);
    ck_assert_uint_eq(count, 0);
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_path("one"), NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_path("two"), NULL), BC_OK);
    for (int i = 0; i < 2; i++) {
        ck_assert_int_eq(bc_materials_list(materials, &count, &names, NULL), BC_OK);
        ck_assert_uint_eq(count, COUNT(expected));
        for (size_t j = 0; j < count; j++)
            ck_assert_str_eq(names[j], expected[j]);
    }
    bc_materials_free(materials);
}
END_TEST

/* Weights are no materials, and materials no weights; nor is what leads nowhere. */
START_TEST(weights_are_listed_by_themselves)
{
    const char *const *names = NULL;
    size_t count = 99;
    bc_materials *materials = new_materials();
    make_folder("shop");
    scratch_write("shop/lamp.csv", "# halogen\nwavelength_nm,weight\n400,1\n700,3\n");
    scratch_write("shop/detector.csv", "\xEF\xBB\xBFWEIGHT;wavelength_um\n1;0.4\n2;0.7\n");
    scratch_write("shop/MgF2.csv", TABLE_OF("1.38"));
    scratch_write("shop/load.csv", "part,weight\nlens,3\n");
    ck_assert_int_eq(symlink("nowhere", scratch_path("shop/Dangling.csv")), 0);
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_path("shop"), NULL), BC_OK);
    ck_assert_int_eq(bc_materials_weights(materials, &count, &names, NULL), BC_OK);
    ck_assert_uint_eq(count, 2);
    ck_assert_str_eq(names[0], "detector");
    ck_assert_str_eq(names[1], "lamp");
    ck_assert_int_eq(bc_materials_list(materials, &count, &names, NULL), BC_OK);
    ck_assert_uint_eq(count, 1);
    ck_assert_str_eq(names[0], "MgF2");
    bc_materials_free(materials);
}
END_TEST

START_TEST(a_folder_that_went_away)
{
    const char *const *names = NULL;
    size_t count = 0;
    bc_error error = {0};
    make_folder("gone");
    bc_materials *materials = new_materials();
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_path("gone"), NULL), BC_OK);
    ck_assert_int_eq(rmdir(scratch_path("gone")), 0);
    expect_refusal("gone", bc_materials_list(materials, &count, &names, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"/gone: found no folder that can be read any more", "expected"});
    bc_materials_free(materials);
}
END_TEST

/* A list of folders too long for the message ends in dots, and is no longer than its room. */
START_TEST(many_folders)
{
    const bc_dispersion *dispersion = NULL;
    bc_materials *materials = new_materials();
    bc_error error = {0};
    for (int i = 0; i < 12; i++) {
        char name[64];
        snprintf(name, sizeof name, "many-with-a-name-as-long-as-a-list-needs-to-be-cut-%d", i);
        make_folder(name);
        ck_assert_int_eq(bc_materials_add_folder(materials, scratch_path(name), NULL), BC_OK);
    }
    ck_assert_int_eq(bc_materials_find(materials, "nosuchglass", "here", &dispersion, &error), BC_ERROR_INPUT);
    ck_assert_str_eq(error.message + strlen(error.message) - 5, ", ...");
    ck_assert_uint_lt(strlen(error.message), 700);
    bc_materials_free(materials);
}
END_TEST

/* By whichever path: it is searched and listed once. And a six-digit code is explained. */
START_TEST(a_folder_named_twice)
{
    const bc_dispersion *dispersion = NULL;
    bc_materials *materials = new_materials();
    bc_error error = {0};
    char folder[400];
    make_folder("twice");
    snprintf(folder, sizeof folder, "%s/.", scratch_path("twice"));
    ck_assert_int_eq(bc_materials_add_folder(materials, scratch_path("twice"), NULL), BC_OK);
    ck_assert_int_eq(bc_materials_add_folder(materials, folder, NULL), BC_OK);
    ck_assert_int_eq(bc_materials_find(materials, "nosuchglass", "here", &dispersion, &error), BC_ERROR_INPUT);
    const char *first = strstr(error.message, "/twice");
    ck_assert_ptr_nonnull(first);
    ck_assert_ptr_null(strstr(first + 1, "/twice"));
    ck_assert_ptr_nonnull(strstr(error.message, "517642: n 1.517 and Abbe number 64.2"));
    bc_materials_free(materials);
}
END_TEST

Suite *materials_suite(void)
{
    Suite *suite = suite_create("materials");
    TCase *tcase = scratch_case("materials");
    tcase_add_test(tcase, constants);
    tcase_add_loop_test(tcase, refused_names, 0, COUNT(bad_names));
    tcase_add_test(tcase, longest_name);
    tcase_add_test(tcase, six_digits_are_a_table);
    tcase_add_test(tcase, folders_in_order);
    tcase_add_test(tcase, unknown_names);
    tcase_add_test(tcase, bad_table);
    tcase_add_test(tcase, bad_folders);
    tcase_add_test(tcase, listing);
    tcase_add_test(tcase, weights_are_listed_by_themselves);
    tcase_add_test(tcase, a_folder_that_went_away);
    tcase_add_test(tcase, many_folders);
    tcase_add_test(tcase, a_folder_named_twice);
    suite_add_tcase(suite, tcase);
    return suite;
}
