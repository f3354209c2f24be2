/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * --plot: a picture beside the result, whole or not at all, and never in the place of something else.
 */
#include "scan.h"
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PROCESS "material,thickness_sigma_percent\n*,1\n"
#define TABLE   "# source: by hand\nwavelength_nm,n,k\n300,1.4,1e-4\n600,1.39,1e-6\n900,1.38,0\n"

static void write_plot_inputs(void)
{
    write_stacks();
    scratch_write("process.csv", PROCESS);
    scratch_write("rates.csv", "material,rate_nm_per_s\n*,0.5\n");
    scratch_write("layer.csv", TABLE);
    write_scan("both.csv", "nm,%R,%T", "spectrum stack.csv --from 400 --to 700 --step 4 --quiet");
}

static const char *const draws[] = {
    "spectrum stack.csv --aoi 0,30 --polarization each",
    "spectrum stack.csv --from 550 --to 550 --plot-quantities R",
    "check stack.csv --callouts callouts.csv --substrate 1.52,1.5",
    "check stack.csv --callouts part.csv --plot-width-mm 85 --plot-height-mm 60",
    "refine stack.csv --callouts callouts.csv --title Window",
    "draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 4 --effort 0.1 --prove 0 -o "
    "found.csv",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 60",
    "materials layer --tables . --part-number 12-345",
    INSPECT " --uncertainty-percent 0.05 --title Witness",
    "inspect both.csv --stack stack.csv --callouts callouts.csv --column 2 --t-column 3 --plot-width-mm 85",
    "inspect scan.csv scan.csv scan.csv --stack stack.csv --callouts callouts.csv",
    "deposit stack.csv --monitor-nm 500,550 --new-monitor-glass 2",
    "deposit stack.csv --process rates.csv --part-number 12-345",
    "lens stack.csv --callouts callouts.csv --radius-mm 50 --clear-aperture-mm 20",
};
#define DRAWS (int)(sizeof draws / sizeof *draws)

/* Exit code and result are those of the same line without a picture, and twice is the same picture. */
START_TEST(every_command_draws)
{
    static const char *const ending[] = {"svg", "png", "pdf"}, *const begins[] = {"<?xml", "\x89PNG", "%PDF-"};
    char *usual = NULL;
    write_plot_inputs();
    for (int format = 0; format < 3; format++) {
        char line[300], name[16];
        if (!is_looked_at(format, _i, 3))
            continue;
        snprintf(line, sizeof line, "%s --plot new.%s", draws[_i], ending[format]);
        snprintf(name, sizeof name, "new.%s", ending[format]);
        outcome result = run(line);
        ck_assert_msg(result.code == 0, "'%s' ended with %d: %s", line, result.code, result.err);
        if (usual == NULL)
            usual = strdup(result.out);
        ck_assert_str_eq(result.out, usual);
        char *first = strdup(content(name));
        ck_assert_int_eq(strncmp(first, begins[format], strlen(begins[format])), 0);
        if (_i < 4) {
            ck_assert_int_eq(run(line).code, 0);
            ck_assert_str_eq(content(name), first); /* up to the first zero; all of an SVG */
        }
        free(first);
    }
    if (strstr(draws[_i], "--title") == NULL && strstr(draws[_i], "--part-number ") == NULL &&
        strstr(draws[_i], "--plot-") == NULL)
        ck_assert_str_eq(run(draws[_i]).out, usual);
    free(usual);
}
END_TEST

static const struct refused {
    const char *line, *piece;
} refused[] = {
    {"check stack.csv --callouts callouts.csv --plot new.jpg",
     "new.jpg: found no picture's ending; expected a name that "
     "ends in .svg, .pdf or .png"},
    {"check nowhere.csv --callouts callouts.csv --plot new", "found no picture's ending"},
    {"check stack.csv --callouts callouts.csv --plot -", "found no picture's ending"},
    {"check stack.csv --callouts callouts.csv --plot nowhere/new.svg", "found no such folder"},
    {"check stack.csv --callouts callouts.csv --plot folder.svg", "found a folder"},
    {"check input.svg --callouts callouts.csv --plot input.svg", "found one of the inputs"},
    {"check stack.csv --callouts input.pdf --plot ./input.pdf", "found one of the inputs"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --process input.png --plot input.png",
     "found one of the inputs"},
    {"draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --process process.csv -o process.csv",
     "found one of the inputs"},
    {"check stack.csv --callouts callouts.csv -o new.svg --plot new.svg", "found the same file for --plot"},
    {"check stack.csv --callouts callouts.csv -o old.svg --plot link.svg", "found the same file for --plot"},
    {"check stack.csv --callouts callouts.csv -o ./new.svg --plot new.svg", "found the same file for --plot"},
    {"check stack.csv --callouts callouts.csv --plot new.svg --plot-width-mm 39", "--plot-width-mm: found '39'"},
    {"check stack.csv --callouts callouts.csv --plot new.svg --plot-height-mm 1e9", "--plot-height-mm: found '1e9'"},
    {"check stack.csv --callouts callouts.csv --plot new.png --plot-dpi nan", "--plot-dpi: found 'nan'"},
    {"check stack.csv --callouts callouts.csv --plot new.svg --plot-dpi 300", "--plot-dpi has no meaning for an SVG"},
    {"check stack.csv --callouts callouts.csv --plot new.png --plot-width-mm 1000 --plot-dpi 2400", "million pixels"},
    {"check stack.csv --callouts callouts.csv --title Window", "--title has no meaning without a picture"},
    {"spectrum stack.csv --plot-quantities R", "--plot-quantities has no meaning without a picture"},
    {"spectrum stack.csv --plot new.svg --plot-quantities R,X", "--plot-quantities: found 'X'; expected R, T or A"},
    {"materials --plot new.svg", "--plot draws one material"},
    {"materials 1.38 --plot new.svg", "'1.38' is a constant index"},
    {INSPECT " --plot new.jpg", "new.jpg: found no picture's ending"},
    {INSPECT " --plot scan.csv", "found no picture's ending"},
    {"inspect scan.csv --stack input.svg --plot input.svg", "input.svg: found one of the inputs"},
    {INSPECT " --plot new.svg -o new.svg", "found the same file for --plot and for the result"},
    {INSPECT " --uncertainty-percent 0.1 --plot new.pdf --report new.pdf", "new.pdf: found the same file for --"},
    {INSPECT " --next-stack new.svg --plot new.svg", "found the same file for --plot and for --next-stack"},
    {INSPECT " --plot-quantities R --plot new.svg", "inspect has no option '--plot-quantities'"},
    {INSPECT " --plot-width-mm 85", "--plot-width-mm has no meaning without a picture"},
    {INSPECT " --part-number 12-345", "--part-number has no meaning without a picture or a report"},
    {"deposit stack.csv --plot new.bmp", "new.bmp: found no picture's ending"},
    {"deposit stack.csv --plot new.pdf --report new.pdf", "new.pdf: found the same file for --"},
    {"deposit stack.csv --signal-csv new.svg --plot new.svg", "found the same file for --plot and for --signal-csv"},
    {"deposit dark.csv --plot new.svg --tables .", "found no signal to draw"},
    {"lens stack.csv --callouts callouts.csv --radius-mm 50 --clear-aperture-mm 20 --plot new", "no picture's ending"},
    {"lens stack.csv --callouts callouts.csv --radius-mm 50 --clear-aperture-mm 20 --plot new.pdf --report new.pdf",
     "new.pdf: found the same file for --"},
    {"check stack.csv --callouts callouts.csv --plott new.svg", "did you mean '--plot'?"},
};

START_TEST(what_is_wrong_is_refused_and_nothing_written)
{
    char out[PATH_SIZE];
    if (strstr(refused[_i].line, "scan.csv") != NULL)
        write_plot_inputs();
    else
        write_inputs();
    scratch_write("process.csv", PROCESS);
    snprintf(out, sizeof out, "%s", content("stack.csv"));
    scratch_write("input.svg", out);
    snprintf(out, sizeof out, "%s", content("callouts.csv"));
    scratch_write("input.pdf", out);
    scratch_write("input.png", PROCESS);
    scratch_write("old.svg", "as it was");
    scratch_write("dark.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.5-0.1i,90\nsubstrate,1.52,\n");
    ck_assert_int_eq(symlink("old.svg", scratch_path("link.svg")), 0);
    ck_assert_int_eq(mkdir(scratch_path("folder.svg"), 0700), 0);
    const size_t files = count_files();
    expect(2, refused[_i].piece, refused[_i].line);
    ck_assert_uint_eq(count_files(), files);
    ck_assert_str_eq(content("old.svg"), "as it was");
    ck_assert_str_eq(content("input.png"), PROCESS);
    ck_assert_str_eq(content("process.csv"), PROCESS);
    rmdir(scratch_path("folder.svg"));
}
END_TEST

START_TEST(standard_output_may_not_be_the_picture)
{
    circumstances around = {.file_size = -1};
    char path[PATH_SIZE];
    write_plot_inputs();
    scratch_write("new.svg", "");
    snprintf(path, sizeof path, "%s", scratch_path("new.svg"));
    around.standard_output = path; /* as with >> in a shell */
    const outcome result = run_in(&around, "check stack.csv --callouts callouts.csv --plot new.svg");
    ck_assert_int_eq(result.code, 2);
    ck_assert_ptr_nonnull(strstr(result.err, "found the same file for --plot"));
    ck_assert_str_eq(content("new.svg"), "");
}
END_TEST

START_TEST(a_full_disk_leaves_no_half_picture)
{
    const circumstances small = {.standard_output = "/dev/null", .file_size = 4096};
    write_plot_inputs();
    scratch_write("old.svg", "as it was");
    const size_t files = count_files();
    ck_assert_int_eq(run_in(&small, "check stack.csv --callouts callouts.csv --plot new.svg").code, 3);
    ck_assert_int_eq(run_in(&small, "check stack.csv --callouts callouts.csv --plot old.svg").code, 3);
    ck_assert_uint_eq(count_files(), files);
    ck_assert_str_eq(content("old.svg"), "as it was");
}
END_TEST

START_TEST(a_folder_without_permission_takes_no_picture)
{
    write_plot_inputs();
    if (geteuid() == 0) /* as root every folder can be written */
        return;
    ck_assert_int_eq(mkdir(scratch_path("closed"), 0500), 0);
    expect(2, "Permission denied", "check stack.csv --callouts callouts.csv --plot closed/new.svg");
}
END_TEST

START_TEST(a_failing_callout_is_drawn_too)
{
    write_plot_inputs();
    expect(1, NULL, "check stack.csv --callouts hard.csv --plot new.svg");
    ck_assert(exists("new.svg"));
}
END_TEST

/* A machine without any font still gets its picture. */
START_TEST(no_font_is_no_reason_to_fail)
{
    write_plot_inputs();
    scratch_write("fonts.conf", "<?xml version=\"1.0\"?><!DOCTYPE fontconfig SYSTEM \"fonts.dtd\"><fontconfig>"
                                "<cachedir>/nonexistent</cachedir></fontconfig>");
    setenv("FONTCONFIG_FILE", scratch_path("fonts.conf"), 1);
    for (int format = 0; format < 3; format++) {
        static const char *const lines[] = {"check stack.csv --callouts callouts.csv --plot new.svg",
                                            "check stack.csv --callouts callouts.csv --plot new.png",
                                            "check stack.csv --callouts callouts.csv --plot new.pdf"};
        const outcome result = run(lines[format]);
        ck_assert_msg(result.code == 0, "%d: %s", result.code, result.err);
    }
    unsetenv("FONTCONFIG_FILE");
    ck_assert(exists("new.svg") && exists("new.png") && exists("new.pdf"));
}
END_TEST

/* The sketch is for a person at a terminal alone. A bare root may have no /dev/pts, and the test then steps aside. */
START_TEST(a_terminal_gets_a_sketch)
{
    const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    circumstances around = {.file_size = -1};
    char path[64];
    if (terminal < 0)
        return;
    ck_assert_int_eq(grantpt(terminal), 0);
    ck_assert_int_eq(unlockpt(terminal), 0);
    ck_assert_int_eq(ptsname_r(terminal, path, sizeof path), 0);
    around.standard_output = path;
    write_plot_inputs();
    ck_assert_ptr_nonnull(strstr(run_in(&around, "spectrum stack.csv --step 100").err, "R at 380 to 780 nm"));
    ck_assert_ptr_null(strstr(run_in(&around, "spectrum stack.csv --step 100 --quiet").err, "R at"));
    ck_assert_ptr_null(strstr(run("spectrum stack.csv --step 100").err, "R at"));
    close(terminal);
}
END_TEST

Suite *cli_plot_suite(void)
{
    Suite *suite = suite_create("pictures");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, every_command_draws, 0, DRAWS);
    tcase_add_loop_test(tcase, what_is_wrong_is_refused_and_nothing_written, 0, sizeof refused / sizeof *refused);
    tcase_add_test(tcase, standard_output_may_not_be_the_picture);
    tcase_add_test(tcase, a_full_disk_leaves_no_half_picture);
    tcase_add_test(tcase, a_folder_without_permission_takes_no_picture);
    tcase_add_test(tcase, a_failing_callout_is_drawn_too);
    tcase_add_test(tcase, no_font_is_no_reason_to_fail);
    tcase_add_test(tcase, a_terminal_gets_a_sketch);
    suite_add_tcase(suite, tcase);
    return suite;
}
