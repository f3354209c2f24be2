/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/chamber.h>
#include <bloomcoat/process.h>
#include <bloomcoat/stack.h>
#include <stdio.h>
#include <string.h>

/* NIST, "Secure Hash Standard", FIPS 180-4 (2015), with its example values (Cryptographic Standards and Guidelines,
 * examples with intermediate values, SHA-256); from memory, and sha256sum of GNU coreutils says the same. */
START_TEST(gives_the_published_sums)
{
    static const struct {
        const char *text, *sum;
    } known[] = {
        {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
        {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
        {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    };
    char sum[BC_SHA256_SIZE];
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        bc_sha256(known[i].text, strlen(known[i].text), sum);
        ck_assert_str_eq(sum, known[i].sum);
    }
}
END_TEST

/* The sum of a file as another program sees it. */
static void expect_sum_of(const char *path, const char *sum)
{
    char line[PATH_SIZE + 32], told[BC_SHA256_SIZE] = "";
    FILE *pipe;
    snprintf(line, sizeof line, "sha256sum '%s'", path);
    pipe = popen(line, "r");
    ck_assert_ptr_nonnull(pipe);
    ck_assert_ptr_nonnull(fgets(told, sizeof told, pipe));
    pclose(pipe);
    ck_assert_uint_eq(strlen(told), BC_SHA256_SIZE - 1);
    ck_assert_str_eq(sum, told);
}

/* Marks at the front, comments and line ends belong to the bytes. */
START_TEST(every_reader_keeps_the_sum_of_its_file)
{
    bc_materials *materials = scratch_materials();
    bc_stack stack, copy;
    bc_callouts callouts;
    bc_process process;
    bc_chamber chamber;
    bc_medium medium;
    const char *path;
    path = scratch_write("soft.csv", "\xEF\xBB\xBF# source: by hand\r\nwavelength_nm,n\r\n400,1.5\r\n700,1.4\r\n");
    ck_assert_int_eq(bc_medium_find(materials, "soft", NULL, &medium, NULL), BC_OK);
    expect_sum_of(path, bc_dispersion_sha256(medium.dispersion));
    path = scratch_write("stack.csv", "role,material,thickness_nm\nincident,air,\nlayer,soft,80\nsubstrate,1.5,\n");
    ck_assert_int_eq(bc_stack_read(path, materials, &stack, NULL), BC_OK);
    expect_sum_of(path, stack.sha256);
    ck_assert_int_eq(bc_stack_copy(&stack, &copy, NULL), BC_OK);
    ck_assert_str_eq(copy.sha256, "");
    path = scratch_write("callouts.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                                         "band,R,max,<= 1,420,680,0,unpolarized\n\n");
    ck_assert_int_eq(bc_callouts_read(path, materials, &callouts, NULL), BC_OK);
    expect_sum_of(path, callouts.sha256);
    path = scratch_write("process.csv", "material,rate_nm_per_s\n*,0.5");
    ck_assert_int_eq(bc_process_read(path, materials, &process, NULL), BC_OK);
    expect_sum_of(path, process.sha256);
    path = scratch_write("chamber.csv", "key,value\npump_down_min,40\n");
    ck_assert_int_eq(bc_chamber_read(path, &chamber, NULL), BC_OK);
    expect_sum_of(path, chamber.sha256);
    bc_stack_clear(&stack);
    bc_stack_clear(&copy);
    bc_callouts_clear(&callouts);
    bc_process_clear(&process);
    bc_materials_free(materials);
}
END_TEST

START_TEST(what_has_no_file_has_no_sum)
{
    bc_dispersion *constant = NULL;
    ck_assert_int_eq(bc_dispersion_constant("1.38", 1.38, 0.0, &constant, NULL), BC_OK);
    ck_assert_ptr_null(bc_dispersion_sha256(constant));
    bc_dispersion_free(constant);
}
END_TEST

Suite *checksum_suite(void)
{
    Suite *suite = suite_create("checksum");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, gives_the_published_sums);
    tcase_add_test(tcase, every_reader_keeps_the_sum_of_its_file);
    tcase_add_test(tcase, what_has_no_file_has_no_sum);
    suite_add_tcase(suite, tcase);
    return suite;
}
