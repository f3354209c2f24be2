/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "program.h"
#include <stdio.h>
#include <string.h>

static const char *const commands[] = {"spectrum", "check", "draft", "refine", "yield", "lens", "inspect", "materials"};
#define COMMANDS (sizeof commands / sizeof commands[0])

START_TEST(help_of_every_command)
{
    char line[64];
    snprintf(line, sizeof line, "%s --help", commands[_i]);
    const outcome help = expect(0, NULL, line);
    ck_assert_str_eq(help.err, "");
    ck_assert_ptr_nonnull(strstr(help.out, "usage: bloomcoat"));
    ck_assert_ptr_nonnull(strstr(help.out, "--tables DIR"));
    ck_assert_ptr_nonnull(strstr(help.out, "Example"));
}
END_TEST

START_TEST(help_is_asked_for_in_two_ways)
{
    char line[64];
    snprintf(line, sizeof line, "help %s", commands[_i]);
    const char *asked = expect(0, NULL, line).out;
    ck_assert_ptr_nonnull(strstr(asked, commands[_i]));
    snprintf(line, sizeof line, "%s --help", commands[_i]);
    ck_assert_str_eq(asked, expect(0, NULL, line).out);
}
END_TEST

START_TEST(help_and_version_of_the_program)
{
    const char *asked = expect(0, NULL, "help").out;
    outcome result = expect(0, NULL, "--help");
    ck_assert_str_eq(result.out, asked);
    for (size_t i = 0; i < COMMANDS; i++)
        ck_assert_ptr_nonnull(strstr(result.out, commands[i]));
    result = expect(0, NULL, "--version");
    ck_assert_int_eq(strncmp(result.out, "bloomcoat ", 10), 0);
    expect(0, NULL, "check -h");
    result = expect(0, NULL, "check --version");
    ck_assert_int_eq(strncmp(result.out, "bloomcoat ", 10), 0);
}
END_TEST

typedef struct wrong_line {
    const char *line;
    const char *piece;
} wrong_line;

/* Each must end with 2, one message and no result. */
static const wrong_line wrong[] = {
    {"", "expected spectrum, check"},
    {"chek stack.csv", "did you mean 'check'"},
    {"anneal stack.csv",
     "no command 'anneal'; expected spectrum, check, draft, refine, quote, yield, deposit, lens, inspect, "
     "materials, callouts, shop, sensitivity, index, standard, shift, colour, record, process or desk"},
    {"--json", "expected a command first"},
    {"help chek", "did you mean 'check'"},
    {"help check stack.csv", "found 'stack.csv' after 'help check'"},
    {"check", "check needs a STACK"},
    {"check stack.csv", "check needs --callouts"},
    {"refine stack.csv bare.csv --callouts callouts.csv", "found 'bare.csv'"},
    {"check stack.csv --callots callouts.csv", "did you mean '--callouts'"},
    {"check stack.csv --zzzzzzzz", "--help' lists them"},
    {"check stack.csv -x", "no option '-x'"},
    {"check stack.csv -callouts callouts.csv", "did you mean '--callouts'"},
    {"check stack.csv --callouts", "--callouts: found nothing after it"},
    {"check stack.csv --callouts=", "--callouts: found nothing"},
    {"check stack.csv --callouts --json", "--callouts: found --json"},
    {"check stack.csv --json=yes --callouts callouts.csv", "--json takes no value"},
    {"check stack.csv --callouts callouts.csv --callouts hard.csv", "--callouts is given twice"},
    {"check stack.csv --callouts callouts.csv --back uncoted", "none, uncoated, same or a stack file"},
    {"check stack.csv --callouts part.csv --back none", "scope part"},
    {"check stack.csv --callouts missing.csv", "missing.csv"},
    {"check missing.csv --callouts callouts.csv", "missing.csv"},
    {"check . --callouts callouts.csv", "."},
    {"check stack.csv --callouts stack.csv", "stack.csv:1"},
    {"check callouts.csv --callouts callouts.csv", "callouts.csv:1"},
    {"check stack.csv --callouts callouts.csv --substrate 1.52 --substrate 1.52", "'1.52' twice"},
    {"check stack.csv --callouts callouts.csv --substrate nosuchglass", "--substrate"},
    {"check stack.csv --callouts callouts.csv --substrate-mm -1", "--substrate-mm: found '-1'"},
    {"check stack.csv --callouts callouts.csv --tables nosuchfolder", "--tables: "},
    {"check stack.csv --callouts callouts.csv -o nosuchfolder/out.txt", "no such folder"},
    {"check stack.csv --callouts callouts.csv -o .", "found a folder"},
    {"spectrum stack.csv --from 0", "--from: found '0'"},
    {"spectrum stack.csv --from 1e", "--from: found '1e' (not a number)"},
    {"spectrum stack.csv --from nan", "--from: found 'nan'"},
    {"spectrum stack.csv --from 0x100", "--from: found '0x100'"},
    {"spectrum stack.csv --from 400,5", "the decimal sign is a point"},
    {"spectrum stack.csv --from 900", "--to: found 780 by default"},
    {"spectrum stack.csv --to 300", "--from, which is 380 by default"},
    {"spectrum stack.csv --step 1e-6", "1000000 at most"},
    {"spectrum stack.csv --step 0", "--step: found '0'"},
    {"spectrum stack.csv --aoi 90", "--aoi: found '90'"},
    {"spectrum stack.csv --aoi 0,,30", "--aoi"},
    {"spectrum stack.csv --aoi -5", "--aoi: found '-5'"},
    {"spectrum stack.csv --polarization q", "'unpolarized', 's', 'p' or 'each'"},
    {"spectrum stack.csv --substrate-mm 3", "--back"},
    {"spectrum -- --help", "--help"},
    {"materials nosuchthing", "nosuchthing"},
    {"materials ../MgF2", "../MgF2"},
    {"materials 1.38 -o out.csv", "constant"},
    {"materials --at-nm 0", "--at-nm: found '0'"},
    {"draft stack.csv", "found 'stack.csv'; expected only options"},
    {"draft --callouts callouts.csv --materials 1.38,2.1", "draft needs --substrate"},
    {"draft --callouts callouts.csv --substrate 1.52", "draft needs --materials"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,", "--materials"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1,1.38", "'1.38' twice"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 0", "from 1 to 200"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2.5", "a whole number"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --effort 0", "--effort: found '0'"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --aim good", "'fewest', 'best' or 'yield'"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --seed -1", "--seed: found '-1'"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-total-nm 4", "--minimum-nm 8"},
    {"draft --callouts callouts.csv --start stack.csv --max-layers 3", "the 4 layers of --start"},
    {"draft --callouts callouts.csv --start bare.csv", "draft needs --materials"},
    {"refine stack.csv --callouts callouts.csv --minimum-nm 1e400", "too large"},
    {"refine bare.csv --callouts callouts.csv", "no layer that may move"},
};

START_TEST(wrong_lines_end_with_two)
{
    write_inputs();
    const size_t files = count_files();
    expect(2, wrong[_i].piece, wrong[_i].line);
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

START_TEST(values_may_be_attached_and_names_may_begin_with_a_dash)
{
    write_inputs();
    scratch_write("-odd.csv", content("stack.csv"));
    expect(0, NULL, "check --callouts=callouts.csv -- -odd.csv");
    expect(0, NULL, "check --callouts callouts.csv ./-odd.csv");
    expect(0, NULL, "check -oout.txt stack.csv --callouts callouts.csv");
    ck_assert(exists("out.txt"));
}
END_TEST

START_TEST(tables_are_found_in_order)
{
    circumstances around = {.file_size = -1};
    char folder[PATH_SIZE];
    write_inputs();
    scratch_write("mine.csv", "wavelength_nm,n\n400,1.9\n700,1.8\n");
    expect(2, "mine", "materials mine");
    ck_assert_ptr_nonnull(strstr(expect(0, NULL, "materials mine --tables .").out, "n 1.85"));
    snprintf(folder, sizeof folder, "%s", scratch_folder());
    around.materials = folder;
    ck_assert_int_eq(run_in(&around, "materials mine").code, 0);
    around.materials = "/nosuchfolder";
    const outcome result = run_in(&around, "materials mine");
    ck_assert_int_eq(result.code, 2);
    ck_assert_ptr_nonnull(strstr(result.err, "BLOOMCOAT_TABLES: "));
    /* the tables that come with the program */
    ck_assert_ptr_nonnull(strstr(expect(0, NULL, "materials MgF2").out, "n 1.378506"));
}
END_TEST

Suite *command_line_suite(void)
{
    Suite *suite = suite_create("command line");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, help_of_every_command, 0, COMMANDS);
    tcase_add_loop_test(tcase, help_is_asked_for_in_two_ways, 0, COMMANDS);
    tcase_add_test(tcase, help_and_version_of_the_program);
    tcase_add_loop_test(tcase, wrong_lines_end_with_two, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, values_may_be_attached_and_names_may_begin_with_a_dash);
    tcase_add_test(tcase, tables_are_found_in_order);
    suite_add_tcase(suite, tcase);
    return suite;
}
