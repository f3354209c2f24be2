/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "program.h"
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static const char *const to_standard_output[] = {
    "--help",
    "--version",
    "draft --help",
    "spectrum stack.csv",
    "check stack.csv --callouts callouts.csv",
    "check stack.csv --callouts callouts.csv --json",
    "refine stack.csv --callouts callouts.csv",
    "refine stack.csv --callouts callouts.csv -o out.csv",
    "materials",
    "materials MgF2",
};

static void expect_three(const circumstances *around, const char *line)
{
    const outcome result = run_in(around, line);
    ck_assert_msg(result.code == 3, "'%s' ended with %d: %s", line, result.code, result.err);
    ck_assert_msg(strstr(result.err, "standard output: cannot be written") != NULL, "'%s': %s", line, result.err);
}

START_TEST(standard_output_that_fails_is_three)
{
    const circumstances full = {.standard_output = "/dev/full", .file_size = -1},
                        closed = {.standard_output = "-", .file_size = -1};
    write_inputs();
    expect_three(&full, to_standard_output[_i]);
    expect_three(&closed, to_standard_output[_i]);
}
END_TEST

START_TEST(a_reader_that_went_away_is_three)
{
    circumstances around = {.file_size = -1};
    int ends[2];
    char path[64];
    write_inputs();
    ck_assert_int_eq(pipe(ends), 0);
    close(ends[0]);
    snprintf(path, sizeof path, "/dev/fd/%d", ends[1]);
    around.standard_output = path;
    expect_three(&around, "check stack.csv --callouts callouts.csv");
    close(ends[1]);
}
END_TEST

START_TEST(a_full_disk_leaves_nothing_behind)
{
    const circumstances small = {.standard_output = "/dev/null", .file_size = 16};
    write_inputs();
    scratch_write("old.csv", "as it was");
    const size_t files = count_files();
    ck_assert_int_eq(run_in(&small, "spectrum stack.csv --quiet -o new.csv").code, 3);
    ck_assert_int_eq(run_in(&small, "spectrum stack.csv --quiet -o old.csv").code, 3);
    ck_assert_uint_eq(count_files(), files);
    ck_assert_str_eq(content("old.csv"), "as it was");
    expect(3, "/dev/full: cannot be written: No space left on device", "spectrum stack.csv -o /dev/full");
}
END_TEST

START_TEST(an_input_is_never_written_over)
{
    static const char *const lines[] = {
        "refine stack.csv --callouts callouts.csv -o stack.csv",
        "refine stack.csv --callouts callouts.csv -o ./stack.csv",
        "refine stack.csv --callouts callouts.csv -o callouts.csv",
        "refine stack.csv --callouts callouts.csv -o link.csv",
        "refine stack.csv --callouts callouts.csv -o second.csv",
        "refine mine.csv --callouts callouts.csv --tables . -o layer.csv",
        "check stack.csv --callouts callouts.csv -o stack.csv",
        "check stack.csv --callouts callouts.csv --tables . --substrate layer -o layer.csv",
        "spectrum stack.csv --back bare.csv -o bare.csv",
        "materials layer --tables . -o layer.csv",
        "materials --tables . -o layer.csv",
        "draft --start stack.csv --callouts callouts.csv -o stack.csv",
        "draft --callouts callouts.csv --substrate 1.52 --materials layer,2.1 --tables . -o layer.csv",
    };
    write_inputs();
    scratch_write("layer.csv", "wavelength_nm,n\n300,1.4\n900,1.39\n");
    scratch_write("mine.csv", "role,material,thickness_nm\nincident,air,\nlayer,layer,97\nsubstrate,1.52,\n");
    ck_assert_int_eq(symlink("stack.csv", scratch_path("link.csv")), 0);
    ck_assert_int_eq(link(scratch_path("stack.csv"), scratch_path("second.csv")), 0);
    const size_t files = count_files();
    /* `materials` tells of the files in the folder that are no tables, so its line of messages is not looked at */
    if (strncmp(lines[_i], "materials --", 12) == 0)
        ck_assert_int_eq(run(lines[_i]).code, 2);
    else
        expect(2, "found one of the inputs", lines[_i]);
    ck_assert_uint_eq(count_files(), files);
    ck_assert_int_eq(strncmp(content("layer.csv"), "wavelength_nm,n\n300,1.4", 22), 0);
    ck_assert_int_eq(strncmp(content("stack.csv"), "role,material", 13), 0);
}
END_TEST

START_TEST(standard_output_may_not_be_an_input_either)
{
    circumstances around = {.file_size = -1};
    char path[PATH_SIZE];
    write_inputs();
    const char *before = content("callouts.csv");
    snprintf(path, sizeof path, "%s", scratch_path("callouts.csv"));
    around.standard_output = path; /* as with >> in a shell */
    const outcome result = run_in(&around, "check stack.csv --callouts callouts.csv");
    ck_assert_int_eq(result.code, 2);
    ck_assert_ptr_nonnull(strstr(result.err, "standard output: found one of the inputs"));
    ck_assert_str_eq(content("callouts.csv"), before);
}
END_TEST

static mode_t mode_of(const char *name)
{
    struct stat found;
    ck_assert_int_eq(lstat(scratch_path(name), &found), 0);
    return found.st_mode;
}

START_TEST(a_file_is_replaced_as_it_is)
{
    write_inputs();
    scratch_write("old.csv", "as it was");
    ck_assert_int_eq(chmod(scratch_path("old.csv"), 0640), 0);
    ck_assert_int_eq(symlink("old.csv", scratch_path("link.csv")), 0);
    expect(0, NULL, "spectrum stack.csv --quiet --step 100 -o link.csv");
    ck_assert_uint_eq(mode_of("old.csv"), S_IFREG | 0640);
    ck_assert(S_ISLNK(mode_of("link.csv")));
    ck_assert_int_eq(strncmp(content("old.csv"), "wavelength_nm,", 14), 0);
    const mode_t mask = umask(027);
    expect(0, NULL, "spectrum stack.csv --quiet --step 100 -o new.csv");
    umask(mask);
    ck_assert_uint_eq(mode_of("new.csv"), S_IFREG | 0640);
    ck_assert_int_eq(symlink("nowhere.csv", scratch_path("loose.csv")), 0);
    expect(2, "symbolic link", "spectrum stack.csv --quiet -o loose.csv");
    ck_assert(!exists("nowhere.csv"));
}
END_TEST

START_TEST(an_interrupt_ends_a_draft_and_leaves_the_best_so_far)
{
    write_inputs();
    const outcome result = interrupt_after(1, "draft --callouts hard.csv --substrate 1.52 --materials 1.38,1.62,2.1 "
                                              "--max-layers 12 --effort 1000 -o out.csv");
    ck_assert_int_eq(result.code, 1);
    ck_assert_ptr_nonnull(strstr(content("out.csv"), "# interrupted: the best so far"));
    ck_assert_int_eq(run("check out.csv --callouts hard.csv").code, 1);
}
END_TEST

START_TEST(seconds_end_a_search_with_the_best_so_far)
{
    write_inputs();
    const outcome result = run("draft --callouts hard.csv --substrate 1.52 --materials 1.38,1.62,2.1 --max-layers 12 "
                               "--effort 1000 --seconds 0.5 --json -o out.csv");
    ck_assert_int_eq(result.code, 1);
    ck_assert_ptr_nonnull(strstr(result.out, "\"interrupted\""));
    ck_assert_ptr_nonnull(strstr(content("out.csv"), "# interrupted: the best so far"));
    expect(2, "--seconds", "draft --callouts hard.csv --substrate 1.52 --materials 1.38 --seconds 0");
    expect(2, "--aim yield without --process",
           "draft --callouts hard.csv --substrate 1.52 --materials 1.38 --aim yield");
}
END_TEST

/* Made two days ago, and now; and one that another program may have made. */
START_TEST(what_a_killed_program_left_is_removed_after_a_day)
{
    const struct timespec old[2] = {{time(NULL) - 2 * 86400, 0}, {time(NULL) - 2 * 86400, 0}};
    static const char *const names[] = {".bloomcoat-abc123", ".bloomcoat-new456", ".bloomcoat-abc123.csv",
                                        ".bloomcoat"};
    write_inputs();
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        scratch_write(names[i], "half a");
        if (i != 1)
            ck_assert_int_eq(utimensat(AT_FDCWD, scratch_path(names[i]), old, 0), 0);
    }
    expect(0, NULL, "check stack.csv --callouts callouts.csv -o out.txt");
    ck_assert(!exists(names[0]) && exists(names[1]) && exists(names[2]) && exists(names[3]));
}
END_TEST

/* As root every folder can be written, so the test steps aside. */
START_TEST(a_folder_without_permission_is_two)
{
    write_inputs();
    if (geteuid() == 0)
        return;
    ck_assert_int_eq(mkdir(scratch_path("closed"), 0500), 0);
    expect(2, "Permission denied", "spectrum stack.csv --quiet -o closed/new.csv");
}
END_TEST

START_TEST(a_pipe_is_written_to)
{
    write_inputs();
    ck_assert_int_eq(mkfifo(scratch_path("pipe"), 0600), 0);
    /* an end that is open for reading lets the program open the other, and 64 KiB fit in between */
    const int end = open(scratch_path("pipe"), O_RDONLY | O_NONBLOCK);
    char bytes[32] = "";
    ck_assert_int_ge(end, 0);
    expect(0, NULL, "spectrum stack.csv --quiet --step 100 -o pipe");
    ck_assert_int_gt(read(end, bytes, 14), 0);
    ck_assert_str_eq(bytes, "wavelength_nm,");
    ck_assert(S_ISFIFO(mode_of("pipe")));
    close(end);
}
END_TEST

Suite *files_suite(void)
{
    Suite *suite = suite_create("files");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, standard_output_that_fails_is_three, 0,
                        sizeof to_standard_output / sizeof to_standard_output[0]);
    tcase_add_test(tcase, a_reader_that_went_away_is_three);
    tcase_add_test(tcase, a_full_disk_leaves_nothing_behind);
    tcase_add_loop_test(tcase, an_input_is_never_written_over, 0, 13);
    tcase_add_test(tcase, standard_output_may_not_be_an_input_either);
    tcase_add_test(tcase, a_file_is_replaced_as_it_is);
    tcase_add_test(tcase, what_a_killed_program_left_is_removed_after_a_day);
    tcase_add_test(tcase, an_interrupt_ends_a_draft_and_leaves_the_best_so_far);
    tcase_add_test(tcase, seconds_end_a_search_with_the_best_so_far);
    tcase_add_test(tcase, a_folder_without_permission_is_two);
    tcase_add_test(tcase, a_pipe_is_written_to);
    suite_add_tcase(suite, tcase);
    return suite;
}
