/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that runs out at every place of every reader.
 */
#include "out_of_memory.h"
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/callout_words.h>
#include <bloomcoat/measured.h>
#include <bloomcoat/measurement.h>
#include <bloomcoat/process.h>
#include <bloomcoat/profile.h>
#include <bloomcoat/reference.h>
#include <bloomcoat/request.h>
#include <bloomcoat/shop.h>
#include <bloomcoat/stack.h>
#include <bloomcoat/standard.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

typedef struct input {
    char folder[PATH_SIZE], path[PATH_SIZE];
} input;

static input write_input(const char *text)
{
    input in;
    scratch_write("layer.csv", "# kind: layer\n# source: invented\nwavelength_nm,n,k\n300,1.4,0.001\n900,1.38,0\n");
    snprintf(in.folder, sizeof in.folder, ":%s:", scratch_folder());
    snprintf(in.path, sizeof in.path, "%s", scratch_write("input.csv", text));
    return in;
}

static bc_status open_materials(const input *in, bc_materials **materials, bc_error *error)
{
    bc_status status = bc_materials_alloc(materials, error);
    if (status != BC_OK) {
        expect_memory_error(*materials == NULL);
        return status;
    }
    status = bc_materials_add_path(*materials, in->folder, error);
    if (status != BC_OK)
        bc_materials_free(*materials);
    return status;
}

static bc_status list(void *context, bc_error *error)
{
    bc_materials *materials = NULL;
    const char *const *names;
    size_t count;
    bc_status status = open_materials(context, &materials, error);
    if (status != BC_OK)
        return status;
    status = bc_materials_list(materials, &count, &names, error);
    expect_memory_error(status != BC_OK || (count == 1 && strcmp(names[0], "layer") == 0));
    bc_materials_free(materials);
    return status;
}

START_TEST(a_list_of_materials)
{
    input in = write_input("nothing\n");
    ck_assert_uint_gt(fail_each_allocation(list, &in), 5);
}
END_TEST

static bc_status read_words(void *context, bc_error *error)
{
    bc_callouts parsed = {0};
    const bc_status status = bc_callouts_parse("Rs < 1 %, 633 nm; Rp < 2 %, 532, 1064 nm", &parsed, NULL, error);
    (void)context;
    expect_memory_error(parsed.count == (status == BC_OK ? 3 : 0));
    bc_callouts_clear(&parsed);
    return status;
}

START_TEST(callouts_in_words)
{
    ck_assert_uint_gt(fail_each_allocation(read_words, NULL), 4);
}
END_TEST

static bc_status read_stack(void *context, bc_error *error)
{
    const input *in = context;
    bc_materials *materials = NULL;
    bc_stack stack, copy = {0};
    bc_status status = open_materials(in, &materials, error);
    if (status != BC_OK)
        return status;
    status = bc_stack_read(in->path, materials, &stack, error);
    expect_memory_error(status == BC_OK || stack.layer == NULL);
    if (status == BC_OK) {
        status = bc_stack_copy(&stack, &copy, error);
        expect_memory_error(status == BC_OK || copy.layer == NULL);
        bc_stack_clear(&copy);
        bc_stack_clear(&stack);
    }
    bc_materials_free(materials);
    return status;
}

START_TEST(a_stack)
{
    input in = write_input("# top\nrole,material,thickness_nm\nincident,air,\nlayer,layer,97\nlayer,\"2.1-0.01i\",30\n"
                           "substrate,1.52,\n");
    ck_assert_uint_gt(fail_each_allocation(read_stack, &in), 20);
}
END_TEST

static bc_status read_callouts(void *context, bc_error *error)
{
    const input *in = context;
    bc_materials *materials = NULL;
    bc_callouts callouts;
    bc_status status = open_materials(in, &materials, error);
    if (status != BC_OK)
        return status;
    status = bc_callouts_read(in->path, materials, &callouts, error);
    expect_memory_error(status == BC_OK || callouts.callout == NULL);
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
    return status;
}

START_TEST(callouts)
{
    input in = write_input("name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,substrate\n"
                           "a,R,max,<= 0.5,420,680,0,unpolarized,1.52\nb,T,average,>= 99,420,680,0..30,each,\n");
    ck_assert_uint_gt(fail_each_allocation(read_callouts, &in), 12);
}
END_TEST

static bc_status read_process(void *context, bc_error *error)
{
    const input *in = context;
    bc_materials *materials = NULL;
    bc_process process;
    bc_status status = open_materials(in, &materials, error);
    if (status != BC_OK)
        return status;
    status = bc_process_read(in->path, materials, &process, error);
    expect_memory_error(status == BC_OK || process.row == NULL);
    bc_process_clear(&process);
    bc_materials_free(materials);
    return status;
}

START_TEST(a_process)
{
    input in = write_input("material,tooling_factor\nlayer,1.02\n*,0.98\n");
    ck_assert_uint_gt(fail_each_allocation(read_process, &in), 20);
}
END_TEST

static bc_status read_reference(void *context, bc_error *error)
{
    const input *in = context;
    const double at = 500.0;
    double value, uncertainty;
    bc_reference reference;
    bc_status status = bc_reference_read(in->path, &reference, error);
    expect_memory_error(status == BC_OK || (reference.value == NULL && reference.uncertainty == NULL));
    if (status == BC_OK)
        status = bc_reference_at(&reference, 1, &at, &value, &uncertainty, error);
    bc_reference_clear(&reference);
    return status;
}

START_TEST(a_reference)
{
    input in = write_input("wavelength_nm,R_percent,uncertainty_percent\n400,88,1\n500,89,1\n600,88,1\n");
    ck_assert_uint_gt(fail_each_allocation(read_reference, &in), 10);
}
END_TEST

static bc_status read_profile(void *context, bc_error *error)
{
    const input *in = context;
    bc_profile profile;
    double factor;
    bc_status status = bc_profile_read(in->path, &profile, error);
    expect_memory_error(status == BC_OK || (profile.at == NULL && profile.percent == NULL));
    if (status == BC_OK)
        status = bc_profile_factor(&profile, 3.0, &factor, error);
    bc_profile_clear(&profile);
    return status;
}

START_TEST(a_profile)
{
    input in = write_input("radius_mm,thickness_percent\n0,100\n6,97\n12,90\n");
    ck_assert_uint_gt(fail_each_allocation(read_profile, &in), 10);
}
END_TEST

static bc_status read_measured(void *context, bc_error *error)
{
    static const char *const columns[] = {"R1", "R2"};
    const bc_measured_options options = {
        .columns = 2, .column = columns, .uncertainty_column = "U", .unit = BC_UNIT_PERCENT};
    const input *in = context;
    bc_measured_file file;
    const bc_status status =
        bc_measured_file_read(in->path, strstr(in->folder, "plain") != NULL ? NULL : &options, &file, error);
    expect_memory_error(status == BC_OK || (file.wavelength_nm == NULL && file.value == NULL && file.column == NULL));
    bc_measured_file_clear(&file);
    return status;
}

/* Every array there is; or many rows without a header, in which the tables grow. */
START_TEST(a_measured_spectrum)
{
    char text[12000] = "measured on a bench\nnm,R1,R2,U\n400,1,2,0.1\n500,1,1,0.1\n600,3,4,0.1\n";
    input in;
    if (_i == 1) {
        strcpy(text, "nm;%R\n");
        for (int nm = 300; nm < 1300; nm++)
            snprintf(text + strlen(text), 12, "%d;0,%02d\n", nm, 10 + nm % 7);
    }
    in = write_input(text);
    if (_i == 1)
        strcpy(in.folder, "plain");
    ck_assert_uint_gt(fail_each_allocation(read_measured, &in), 10);
}
END_TEST

static bc_status read_request(void *context, bc_error *error)
{
    const input *in = context;
    bc_request request;
    const bc_status status = bc_request_read(in->path, &request, error);
    expect_memory_error(status == BC_OK || (request.entry == NULL && request.path == NULL));
    bc_request_clear(&request);
    return status;
}

START_TEST(a_request)
{
    input in = write_input("key,value\nquantity,7\nsurface,S1\nsubstrate,1.5\ncallout,R\n");
    ck_assert_uint_gt(fail_each_allocation(read_request, &in), 10);
}
END_TEST

static bc_status make_room(void *context, bc_error *error)
{
    const unsigned *what = context;
    bc_measurement measurement;
    const bc_status status = bc_measurement_alloc(5, *what, &measurement, error);
    expect_memory_error(status == BC_OK || (measurement.memory == NULL && measurement.wavelength_nm == NULL));
    bc_measurement_clear(&measurement);
    return status;
}

START_TEST(a_measurement)
{
    unsigned what = BC_MEASURED_R | BC_MEASURED_T_UNCERTAINTY;
    ck_assert_uint_gt(fail_each_allocation(make_room, &what), 0);
}
END_TEST

static bc_status make_table(void *context, bc_error *error)
{
    static const double nm[] = {400.0, 700.0}, n[] = {1.4, 1.38}, k[] = {0.01, 0.0};
    bc_dispersion *made = NULL, *plain = NULL;
    bc_status status = bc_dispersion_table("made", 2, nm, n, k, &made, error);
    (void)context;
    if (status == BC_OK)
        status = bc_dispersion_constant("plain", 1.5, 0.0, &plain, error);
    expect_memory_error(status == BC_OK || plain == NULL);
    bc_dispersion_free(made);
    bc_dispersion_free(plain);
    return status;
}

START_TEST(tables_made_by_hand)
{
    ck_assert_uint_gt(fail_each_allocation(make_table, NULL), 4);
}
END_TEST

static bc_status read_standards(void *context, bc_error *error)
{
    bc_materials *materials = NULL;
    bc_standards standards = {0};
    bc_shop shop;
    bc_status status = open_materials(context, &materials, error);
    if (status != BC_OK)
        return status;
    status = bc_shop_read(scratch_folder(), &shop, error);
    if (status == BC_OK)
        status = bc_standards_read(shop.standard, NULL, NULL, materials, &standards, error);
    expect_memory_error(status == BC_OK ? standards.count == 2 : standards.standard == NULL);
    bc_standards_clear(&standards);
    bc_shop_clear(&shop);
    bc_materials_free(materials);
    return status;
}

START_TEST(standard_coatings)
{
    static const char *const folders[] = {"standard", "standard/A", "standard/B", "standard/B/stacks"};
    static const char stack[] = "role,material,thickness_nm\nincident,air,\nlayer,layer,99\nsubstrate,1.5,\n";
    static const char rows[] = "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                               "band,R,max,<= 2,500,600,0,unpolarized\n";
    input in = write_input("nothing\n");
    for (size_t i = 0; i < sizeof folders / sizeof folders[0]; i++)
        ck_assert_int_eq(mkdir(scratch_path(folders[i]), 0777), 0);
    scratch_write("standard/A/callouts.csv", rows);
    scratch_write("standard/B/callouts.csv", rows);
    scratch_write("standard/A/stack.csv", stack);
    scratch_write("standard/B/stacks/1.5.csv", stack);
    scratch_write("standard/B/process.csv", "");
    ck_assert_uint_gt(fail_each_allocation(read_standards, &in), 20);
}
END_TEST

static bc_status find_glass(void *context, bc_error *error)
{
    bc_materials *materials = NULL;
    const bc_dispersion *table = NULL;
    const char *const *names;
    size_t count = 0;
    bc_status status = open_materials(context, &materials, error);
    if (status != BC_OK)
        return status;
    status = bc_materials_find(materials, "620364", NULL, &table, error);
    expect_memory_error((status == BC_OK) == (table != NULL));
    if (status == BC_OK)
        status = bc_materials_glasses(materials, &count, &names, error);
    expect_memory_error(status != BC_OK || count == 1);
    bc_materials_free(materials);
    return status;
}

START_TEST(a_glass_by_its_code)
{
    input in = write_input("nothing\n");
    scratch_write("glasses.csv", "# source: invented\ncode,coefficients,from_um,to_um\n620364,1.3 0.01 0.2 0.05 1 "
                                 "100,0.4,0.7\n");
    ck_assert_uint_gt(fail_each_allocation(find_glass, &in), 10);
}
END_TEST

Suite *memory_suite(void)
{
    Suite *suite = suite_create("memory");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, a_list_of_materials);
    tcase_add_test(tcase, a_stack);
    tcase_add_test(tcase, callouts);
    tcase_add_test(tcase, callouts_in_words);
    tcase_add_test(tcase, a_process);
    tcase_add_test(tcase, a_profile);
    tcase_add_test(tcase, a_reference);
    tcase_add_loop_test(tcase, a_measured_spectrum, 0, 2);
    tcase_add_test(tcase, a_request);
    tcase_add_test(tcase, a_measurement);
    tcase_add_test(tcase, tables_made_by_hand);
    tcase_add_test(tcase, standard_coatings);
    tcase_add_test(tcase, a_glass_by_its_code);
    suite_add_tcase(suite, tcase);
    return suite;
}
