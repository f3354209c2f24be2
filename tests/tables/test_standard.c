/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/standard.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define CALLOUTS                                                                                                       \
    "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\nband,R,max,<= "                         \
    "2,500,600,0,unpolarized\n"
#define STACK(substrate) "role,material,thickness_nm\nincident,air,\nlayer,1.38,99\nsubstrate," substrate ",\n"

static void make_coating(const char *name, bool many)
{
    char path[200];
    mkdir(scratch_path("standard"), 0777);
    snprintf(path, sizeof path, "standard/%s", name);
    ck_assert_int_eq(mkdir(scratch_path(path), 0777), 0);
    snprintf(path, sizeof path, "standard/%s/callouts.csv", name);
    scratch_write(path, CALLOUTS);
    snprintf(path, sizeof path, many ? "standard/%s/stacks" : "standard/%s/stack.csv", name);
    if (!many)
        scratch_write(path, STACK("1.52"));
    else
        ck_assert_int_eq(mkdir(scratch_path(path), 0777), 0);
}

static bc_status read_all(const char *only, const char *substrate, bc_materials **materials, bc_standards *standards,
                          bc_error *error)
{
    ck_assert_int_eq(bc_materials_alloc(materials, NULL), BC_OK);
    return bc_standards_read(scratch_path("standard"), only, substrate, *materials, standards, error);
}

START_TEST(coatings_are_read_in_the_order_of_their_names)
{
    bc_materials *materials;
    bc_standards standards;
    bc_error error = {0};
    make_coating("V-1064", false);
    make_coating("BBAR", true);
    scratch_write("standard/BBAR/stacks/1.6.csv", STACK("1.6"));
    scratch_write("standard/BBAR/stacks/1.5.csv", STACK("1.5"));
    scratch_write("standard/BBAR/process.csv", "nobody opens it here");
    mkdir(scratch_path("standard/.begun"), 0777);
    ck_assert_msg(read_all(NULL, NULL, &materials, &standards, &error) == BC_OK, "%s", error.message);
    ck_assert_uint_eq(standards.count, 2);
    ck_assert_str_eq(standards.standard[0].name, "BBAR");
    ck_assert_uint_eq(standards.standard[0].stacks, 2);
    ck_assert_str_eq(standards.standard[0].stack[0].substrate.name, "1.5");
    ck_assert_ptr_nonnull(standards.standard[0].process_path);
    ck_assert_ptr_null(standards.standard[1].process_path);
    ck_assert_uint_eq(standards.standard[1].callouts.count, 1);
    bc_standards_clear(&standards);
    bc_materials_free(materials);
    /* the stack for one substrate where there is one, else all; one coating alone */
    ck_assert_int_eq(read_all("BBAR", "1.6", &materials, &standards, NULL), BC_OK);
    ck_assert_uint_eq(standards.count, 1);
    ck_assert_uint_eq(standards.standard[0].stacks, 1);
    ck_assert_str_eq(standards.standard[0].stack[0].substrate.name, "1.6");
    bc_standards_clear(&standards);
    bc_materials_free(materials);
    ck_assert_int_eq(read_all("BBAR", "1.7", &materials, &standards, NULL), BC_OK);
    ck_assert_uint_eq(standards.standard[0].stacks, 2);
    bc_standards_clear(&standards);
    bc_materials_free(materials);
}
END_TEST

static const struct {
    const char *file, *text, *folder, *only, *pieces[PIECES];
} wrong[] = {
    {.folder = "standard/a", .pieces = {"found two standard coatings of one name, A and a"}},
    {.folder = "standard/no name", .pieces = {"found a folder 'no name'; expected the name of a standard coating"}},
    {.folder = "standard/C", .pieces = {"/C: found no callouts.csv"}},
    {.folder = "standard/A/stacks", .pieces = {"found both stack.csv and stacks/"}},
    {.only = "B", .pieces = {"found no standard coating called 'B'"}},
    {"standard/A/stack.csv", "role\n", .pieces = {"stack.csv:1"}},
    {"standard/A/callouts.csv", "name\n", .pieces = {"callouts.csv:1"}},
    {"standard/D/stacks/1.5.csv", STACK("1.6"), .pieces = {"1.5.csv: found the substrate 1.6; expected 1.5"}},
    {"standard/D/stacks/none.txt", "", .pieces = {"/stacks: found no stack file"}},
};

START_TEST(what_is_wrong_is_refused)
{
    bc_materials *materials;
    bc_standards standards;
    bc_error error = {0};
    make_coating("A", false);
    if (wrong[_i].folder != NULL)
        ck_assert_int_eq(mkdir(scratch_path(wrong[_i].folder), 0777), 0);
    if (wrong[_i].file != NULL && strstr(wrong[_i].file, "/D/") != NULL)
        make_coating("D", true);
    if (wrong[_i].file != NULL)
        scratch_write(wrong[_i].file, wrong[_i].text);
    expect_refusal(wrong[_i].pieces[0], read_all(wrong[_i].only, NULL, &materials, &standards, &error), &error,
                   BC_ERROR_INPUT, wrong[_i].pieces);
    ck_assert_uint_eq(standards.count, 0);
    bc_materials_free(materials);
}
END_TEST

START_TEST(a_coating_needs_a_stack)
{
    bc_materials *materials;
    bc_standards standards;
    bc_error error = {0};
    make_coating("A", true);
    ck_assert_int_eq(rmdir(scratch_path("standard/A/stacks")), 0);
    expect_refusal("no stack", read_all(NULL, NULL, &materials, &standards, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){"found neither stack.csv nor stacks/"});
    bc_materials_free(materials);
    ck_assert(bc_standard_is_name("BBAR-VIS_1.2+") && !bc_standard_is_name("") && !bc_standard_is_name("-a") &&
              !bc_standard_is_name("a b") && !bc_standard_is_name("../a"));
}
END_TEST

Suite *standard_suite(void)
{
    Suite *suite = suite_create("standard");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, coatings_are_read_in_the_order_of_their_names);
    tcase_add_loop_test(tcase, what_is_wrong_is_refused, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, a_coating_needs_a_stack);
    suite_add_tcase(suite, tcase);
    return suite;
}
