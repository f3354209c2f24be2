/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Options that do not go together, and what they do where they go.
 */
#include "answer.h"
#include <stdio.h>
#include <string.h>

#define CHECK "check stack.csv --callouts callouts.csv "
#define DRAFT                                                                                                          \
    "draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2 --effort 0.05 --prove 0 "
#define FROM                                                                                                           \
    "draft --callouts callouts.csv --start stack.csv --materials 1.38,2.1 --max-layers 4 --effort 0.05 --prove 0 "
#define QUOTE                                                                                                          \
    "quote --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 1 --effort 0.05 --prove 0 "
#define LENS   "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 "
#define TABLES " --tables ."

static const struct {
    const char *line, *piece;
} wrong[] = {
    {"spectrum stack.csv --step 0.001 --aoi 0,30,60", "400001 wavelengths at 3 angles make more than 1000000 rows"},
    {"spectrum stack.csv --title T", "--title has no meaning without a picture; expected --plot FILE beside it"},
    {QUOTE "--part-number P", "--part-number has no meaning without a report; expected --report FILE beside it"},
    {CHECK "--part-number P",
     "--part-number has no meaning without a picture or a report; expected --report FILE beside it"},
    {QUOTE "--radius-mm 40 --clear-aperture-mm 20 --part-diameter-mm 19",
     "--clear-aperture-mm: found 20; expected no more than the part, 19 mm"},
    {"refine none.csv --callouts callouts.csv", "no layer that may move"},
    {LENS "--source point", "found --source without --source-distance-mm"},
    {LENS "--slope-exponent 1 --source-distance-mm 500", "found --slope-exponent and --source-distance-mm"},
    {LENS "--axial-angle 5", "found --axial-angle without --angle-reference axis"},
    {LENS "--angle-reference axis --axial-angle 90", "--axial-angle: found '90'"},
    {LENS "--thickness-profile nowhere.csv", "nowhere.csv: found no such file"},
    {"deposit stack.csv --monitor-nm 500 --monitor-from 400", "--monitor-from has no meaning beside --monitor-nm"},
    {"deposit stack.csv --monitor-from 700 --monitor-to 600", "--monitor-to: found 600; expected no less than"},
    {"deposit stack.csv --monitor-from 5000", "--monitor-to: found"},
    {"deposit stack.csv --monitor-nm 500,500", "--monitor-nm: found '500' twice"},
    {"deposit stack.csv --monitor-nm 500 --new-monitor-glass 1", "--new-monitor-glass: found '1'"},
    {"deposit stack.csv --monitor-nm 500 --new-monitor-glass 2.5", "--new-monitor-glass: found '2.5'"},
    {"deposit stack.csv --monitor-nm 500 --new-monitor-glass each,3", "'each' beside others"},
    {"deposit stack.csv --monitor-nm 500 --new-monitor-glass 9", "--new-monitor-glass: found '9'"},
    {"deposit dark.csv --monitor-from 400 --monitor-to 500" TABLES, "at which every layer is clear"},
    {"check stack.csv --callouts part.csv --substrate dim" TABLES,
     "dim absorbs between 550 and 550 nm, so the light through the part depends on the substrate's thickness"},
    {"spectrum plate.csv --back uncoated" TABLES, "dim absorbs between 380 and 780 nm"},
    {"check stack.csv --callouts part.csv --back missing.csv", "missing.csv"},
};

static void write_odd_inputs(void)
{
    write_inputs();
    scratch_write("none.csv",
                  "role,material,thickness_nm,fixed\nincident,air,,\nlayer,1.38,97,yes\nsubstrate,1.52,,\n");
    scratch_write("soot.csv", "# kind: layer\n# source: invented\nwavelength_nm,n,k\n300,1.9,0.4\n900,1.8,0.4\n");
    scratch_write("dim.csv", "# source: invented\nwavelength_nm,n,k\n300,1.5,0\n500,1.5,0\n550,1.5,1e-7\n600,1.5,0\n"
                             "900,1.5,0\n");
    scratch_write("plate.csv", "role,material,thickness_nm\nincident,air,\nsubstrate,dim,\n");
    scratch_write("dark.csv", "role,material,thickness_nm\nincident,air,\nlayer,soot,97\nsubstrate,1.52,\n");
}

START_TEST(wrong_lines_end_with_two)
{
    write_odd_inputs();
    const size_t files = count_files();
    expect(2, wrong[_i].piece, wrong[_i].line);
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

/* A table that is wrong is left out of the list, and the message says which and why. */
START_TEST(a_wrong_table_is_left_out_of_the_list)
{
    write_odd_inputs();
    scratch_write("torn.csv", "wavelength_nm,n\n500,1.5\n400,1.5\n");
    const outcome result = expect(0, "bloomcoat: left out: ", "materials" TABLES);
    ck_assert_ptr_nonnull(strstr(result.err, "torn.csv:3"));
    ck_assert_ptr_nonnull(strstr(result.out, "soot"));
    ck_assert_ptr_null(strstr(result.out, "torn"));
    expect(2, "torn.csv:3", "materials torn" TABLES);
}
END_TEST

/* Glasses go by six digits: those of the folder are looked at, but for one whose table is wrong. */
START_TEST(a_wrong_glass_is_not_offered)
{
    write_inputs();
    scratch_write("517000.csv", "wavelength_nm,n\n500,1.5\n400,1.5\n");
    scratch_write("519999.csv", "# source: invented\nwavelength_nm,n\n300,1.519\n900,1.519\n");
    const outcome result = expect(1, NULL, QUOTE "--json" TABLES); /* one layer does not do, so others are looked at */
    ck_assert_ptr_null(strstr(result.out, "517000"));
    ck_assert_ptr_nonnull(strstr(result.out, "another glass at hand"));
    expect(2, "517000.csv:3", "check stack.csv --callouts callouts.csv --substrate 517000" TABLES);
}
END_TEST

/* Blanks around a comma are no part of a name. */
START_TEST(blanks_around_commas)
{
    static const char *const words[] = {"check",       "stack.csv",      "--callouts", "callouts.csv",
                                        "--substrate", " 1.52 ,  1.53 ", "--json",     NULL};
    static const char *const empty[] = {"check",       "stack.csv",   "--callouts", "callouts.csv",
                                        "--substrate", "1.52, ,1.53", NULL};
    const circumstances usual = {.file_size = -1};
    write_inputs();
    const outcome result = run_words(&usual, words);
    ck_assert_int_le(result.code, 1);
    cJSON *root = parse(result.out);
    ck_assert_int_eq(cJSON_GetArraySize(array_of(root, "callouts")), 4); /* two rows on two glasses */
    cJSON_Delete(root);
    const outcome refused = run_words(&usual, empty);
    ck_assert_int_eq(refused.code, 2);
    ck_assert_ptr_nonnull(strstr(refused.err, "between commas"));
}
END_TEST

/* The medium in front, in place of the start's own. */
START_TEST(a_draft_in_another_medium)
{
    write_inputs();
    cJSON *root = parse(run(FROM " --incident 1.33 --json").out);
    ck_assert_str_eq(string_of(root, "incident"), "1.33");
    cJSON_Delete(root);
    root = parse(run(FROM " --json").out);
    ck_assert_str_eq(string_of(root, "incident"), "air");
    cJSON_Delete(root);
    expect(2, "--incident", DRAFT "--incident nosuchthing");
}
END_TEST

/* The stack of the second surface is an input as well, with its checksum in the report. */
START_TEST(a_back_of_its_own_is_reported)
{
    write_inputs();
    scratch_write("back.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,99\nsubstrate,1.52,\n");
    run("check stack.csv --callouts part.csv --back back.csv --quiet --report r.html -o out.txt");
    ck_assert_ptr_nonnull(strstr(content("r.html"), "stack of the back"));
    ck_assert_ptr_nonnull(strstr(content("r.html"), "back.csv"));
    run("check stack.csv --callouts part.csv --back same --quiet --report s.html -o out.txt");
    ck_assert_ptr_null(strstr(content("s.html"), "stack of the back"));
    expect(2, "back.csv: found one of the inputs", "check stack.csv --callouts part.csv --back back.csv -o back.csv");
}
END_TEST

Suite *options_suite(void)
{
    Suite *suite = suite_create("options");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 60);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, a_wrong_table_is_left_out_of_the_list);
    tcase_add_test(tcase, a_wrong_glass_is_not_offered);
    tcase_add_test(tcase, blanks_around_commas);
    tcase_add_test(tcase, a_draft_in_another_medium);
    tcase_add_test(tcase, a_back_of_its_own_is_reported);
    suite_add_tcase(suite, tcase);
    return suite;
}
