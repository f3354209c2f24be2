/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/request.h>
#include <stdlib.h>
#include <string.h>

START_TEST(a_request_is_read_in_order)
{
    bc_request request;
    bc_error error = {0};
    const char *path =
        scratch_write("a.request.csv", "# asked\nkey,value\nquantity,7\nsurface,S1\nsubstrate,517642\n"
                                       "substrate,620603\ncallout,\"a, b\"\nsurface,S2\nsubstrate,1.5\n");
    ck_assert_msg(bc_request_read(path, &request, &error) == BC_OK, "%s", error.message);
    ck_assert_uint_eq(request.surfaces, 2);
    ck_assert_uint_eq(request.entries, 7);
    ck_assert_str_eq(request.entry[0].key, "quantity");
    ck_assert_uint_eq(request.entry[0].surface, 0);
    ck_assert_int_eq(request.entry[0].line, 3);
    ck_assert_str_eq(request.entry[4].value, "a, b");
    ck_assert_uint_eq(request.entry[4].surface, 1);
    ck_assert_str_eq(request.entry[6].value, "1.5");
    ck_assert_uint_eq(request.entry[6].surface, 2);
    ck_assert_uint_eq(strlen(request.sha256), 64);
    ck_assert(bc_request_is_path("x/a.request.csv"));
    ck_assert(!bc_request_is_path(".request.csv"));
    ck_assert(!bc_request_is_path("request.csv"));
    bc_request_clear(&request);
}
END_TEST

static const struct {
    const char *rows, *where, *said;
} wrong[] = {
    {"quantiti,7\n", ":2: column 1 (key): found 'quantiti'", "quantity"},
    {"quantity,0\n", ":2: column 2 (value): found '0'", "a whole number of parts"},
    {"quantity,2.5\n", ":2: column 2 (value): found '2.5'", "a whole number of parts"},
    {"quantity,-3\n", ":2: column 2 (value): found '-3'", "a whole number of parts"},
    {"quantity,7\nmaterials,A\nquantity,8\n", ":4: column 1 (key): found 'quantity'", "line 2 has it already"},
    {"surface,S1\nback,same\nsurface,S2\nback,same\nback,same\n", ":6: ", "line 5 has it already"},
    {"surface,S1\nsubstrate,1.5\nsurface,S1\n", ":4: column 2 (value): found 'S1'", "line 2 has this one"},
    {"surface,S1\nquantity,7\n", ":3: column 1 (key): found 'quantity'", "before the first surface"},
    {"substrate,\n", ":2: column 2 (value): found ''", "a value for substrate"},
};

START_TEST(a_wrong_request_is_one_sentence)
{
    char rows[400] = "key,value\n";
    bc_request request;
    bc_error error = {0};
    strcat(rows, wrong[_i].rows);
    ck_assert_int_eq(bc_request_read(scratch_write("w.request.csv", rows), &request, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, wrong[_i].where) != NULL, "%s", error.message);
    ck_assert_msg(strstr(error.message, wrong[_i].said) != NULL, "%s", error.message);
    ck_assert_ptr_null(request.entry);
}
END_TEST

Suite *request_suite(void)
{
    Suite *suite = suite_create("requests");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, a_request_is_read_in_order);
    tcase_add_loop_test(tcase, a_wrong_request_is_one_sentence, 0, sizeof wrong / sizeof wrong[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
