/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a terminal is told while work goes on, and streams that are slow or no place to write to.
 */
#include "program.h"
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define PROGRAM BC_BUILD_DIR "/bin/bloomcoat"

/* A terminal's two ends; false where there are none (a bare root). */
static bool open_terminal(int end[2])
{
    char path[64];
    end[0] = posix_openpt(O_RDWR | O_NOCTTY);
    if (end[0] < 0)
        return false;
    ck_assert_int_eq(grantpt(end[0]) + unlockpt(end[0]) + ptsname_r(end[0], path, sizeof path), 0);
    end[1] = open(path, O_RDWR | O_NOCTTY);
    ck_assert_int_ge(end[1], 0);
    return true;
}

/* Start a line with these as its standard output and error. The writing ends are closed here: when the program ends,
 * reading does. */
static pid_t start(const char *line, int out, int err)
{
    const pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        char command[2000];
        snprintf(command, sizeof command, "exec " PROGRAM " %s", line);
        signal(SIGINT, SIG_DFL);
        if (dup2(out, STDOUT_FILENO) >= 0 && dup2(err, STDERR_FILENO) >= 0 && chdir(scratch_folder()) == 0)
            execl("/bin/sh", "sh", "-c", command, (char *)NULL);
        _exit(120);
    }
    close(out);
    return child;
}

static char seen[20000];
static size_t length;

static bool read_more(int end)
{
    const ssize_t got = read(end, seen + length, sizeof seen - 1 - length);
    if (got <= 0)
        return false;
    length += (size_t)got;
    seen[length] = '\0';
    return true;
}

static void read_until(int end, const char *piece)
{
    while (strstr(seen, piece) == NULL)
        ck_assert_msg(read_more(end), "no '%s': %s", piece, seen);
}

#define LONG_WORK "--callouts hard.csv --substrate 1.52 --materials 1.38,1.62,2.1 --max-layers 12 "

/* Runs that are interrupted leave the line where it stands; a draft takes it away. */
START_TEST(a_terminal_is_told_how_far_it_is)
{
    static const struct {
        const char *line, *left, *told;
    } work[] = {{"draft " LONG_WORK "--effort 1000 -o out.csv", " left", "limit_used"},
                {"yield stack.csv --callouts callouts.csv --process process.csv --runs 50000000 -o out.txt", " left",
                 "share of good runs"}};
    int end[2], status = 0;
    if (!open_terminal(end))
        return;
    write_inputs();
    scratch_write("process.csv", "material,thickness_sigma_percent\n*,1\n");
    const pid_t child = start(work[_i].line, end[1], end[1]);
    read_until(end[0], work[_i].left);
    ck_assert_ptr_nonnull(strstr(seen, work[_i].told));
    ck_assert_ptr_nonnull(strstr(seen, " so far  about "));
    ck_assert_int_eq(kill(child, SIGINT), 0);
    while (read_more(end[0]))
        ;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    if (_i == 0) { /* a draft writes the best so far */
        ck_assert(WIFEXITED(status) && (WEXITSTATUS(status) == 0 || WEXITSTATUS(status) == 1));
        ck_assert_ptr_nonnull(strstr(content("out.csv"), "# interrupted: "));
    } else {
        ck_assert_ptr_nonnull(strstr(seen, " \r\nbloomcoat: interrupted\r\n"));
        ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 3);
    }
    close(end[0]);
}
END_TEST

/* What comes to its end wipes the line off before it says anything. Work that is over within a second shows none, so
 * there is more of it until it does. */
START_TEST(the_line_goes_when_the_work_is_done)
{
    char line[200], wiped[80] = "\r";
    int end[2], status = 0;
    memset(wiped + 1, ' ', 72);
    strcpy(wiped + 73, "\r");
    write_inputs();
    scratch_write("process.csv", "material,thickness_sigma_percent\n*,1\n");
    for (long runs = 20000; strstr(seen, " so far ") == NULL; runs *= 3) {
        if (!open_terminal(end))
            return;
        length = 0;
        snprintf(line, sizeof line,
                 "yield stack.csv --callouts callouts.csv --process process.csv --runs %ld --threads 1", runs);
        const pid_t child = start(line, end[1], end[1]);
        while (read_more(end[0]))
            ;
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
        close(end[0]);
    }
    const char *gone = strstr(seen, wiped), *result = strstr(seen, "Of 100 runs about");
    ck_assert_ptr_nonnull(gone);
    ck_assert_ptr_nonnull(result);
    ck_assert(gone < result && strstr(gone, " so far ") == NULL);
}
END_TEST

/* More characters than ASCII only where the terminal says it has them. */
START_TEST(a_sketch_in_the_terminals_letters)
{
    static const struct {
        const char *all, *kind, *language;
        bool unicode;
    } tongue[] = {{"C.UTF-8", "C", "C", true},
                  {"C", "C.UTF-8", "C.UTF-8", false},
                  {"", "en_US.utf8", "C", true},
                  {"", "", "xx_XX.UTF-8", true},
                  {"", "", "", false}};
    int end[2], status = 0;
    if (!open_terminal(end))
        return;
    write_inputs();
    setenv("LC_ALL", tongue[_i].all, 1);
    setenv("LC_CTYPE", tongue[_i].kind, 1);
    setenv("LANG", tongue[_i].language, 1);
    const pid_t child = start("spectrum stack.csv --step 100", end[1], end[1]);
    while (read_more(end[0]))
        ;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_ptr_nonnull(strstr(seen, "R at 380 to 780 nm"));
    ck_assert_int_eq(strpbrk(seen, "\xe2") != NULL, tongue[_i].unicode);
    unsetenv("LC_ALL");
    unsetenv("LC_CTYPE");
    unsetenv("LANG");
    close(end[0]);
}
END_TEST

/* A pipe that is full and says so is waited for: every byte arrives. */
START_TEST(a_slow_reader_gets_all_of_it)
{
    static char all[400000];
    int end[2], status = 0;
    size_t got_all = 0;
    write_inputs();
    expect(0, NULL, "spectrum stack.csv --step 0.1 --quiet -o file.csv");
    ck_assert_int_eq(pipe(end), 0);
    ck_assert_int_eq(fcntl(end[1], F_SETFL, O_NONBLOCK), 0);
    const pid_t child = start("spectrum stack.csv --step 0.1 --quiet", end[1], STDERR_FILENO);
    usleep(200000); /* longer or shorter, the same must come out */
    for (ssize_t got; (got = read(end[0], all + got_all, sizeof all - 1 - got_all)) > 0;)
        got_all += (size_t)got;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    ck_assert_uint_gt(got_all, 65536); /* more than a pipe holds */
    ck_assert_str_eq(all, content("file.csv"));
    close(end[0]);
}
END_TEST

START_TEST(no_place_to_write_to)
{
    static char line[400], endless[PATH_MAX + 200];
    const char *const words[] = {"spectrum", "stack.csv", "-o", endless, NULL};
    const circumstances usual = {.file_size = -1};
    char longest[300] = "";
    write_inputs();
    ck_assert_int_eq(symlink("round", scratch_path("round")), 0);
    ck_assert_int_eq(symlink("nowhere", scratch_path("dangling")), 0);
    const size_t files = count_files();
    expect(2, "stack.csv/out.csv: cannot be written: Not a directory", "spectrum stack.csv -o stack.csv/out.csv");
    expect(2, "found no such folder", "spectrum stack.csv -o nowhere/out.csv");
    expect(2, "round: cannot be written: Too many levels of symbolic links", "spectrum stack.csv -o round");
    expect(2, "found a symbolic link to a file that is not there", "spectrum stack.csv -o dangling");
    expect(2, "found no such folder", "spectrum stack.csv -o /bloomcoat-no-such-folder/out.csv");
    expect(2, "found a folder", "spectrum stack.csv -o /");
    memset(longest, 'x', sizeof longest - 1);
    snprintf(line, sizeof line, "spectrum stack.csv -o %s", longest);
    expect(2, "File name too long", line);
    for (size_t i = 0; i + 1 < sizeof endless; i++)
        endless[i] = "./"[i % 2];
    const outcome result = run_words(&usual, words);
    ck_assert_int_eq(result.code, 2);
    ck_assert_ptr_nonnull(strstr(result.err, "File name too long"));
    ck_assert_uint_eq(count_files(), files);
    unlink(scratch_path("round"));
    unlink(scratch_path("dangling"));
}
END_TEST

Suite *streams_suite(void)
{
    Suite *suite = suite_create("streams");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_loop_test(tcase, a_terminal_is_told_how_far_it_is, 0, 2);
    tcase_add_test(tcase, the_line_goes_when_the_work_is_done);
    tcase_add_loop_test(tcase, a_sketch_in_the_terminals_letters, 0, 5);
    tcase_add_test(tcase, a_slow_reader_gets_all_of_it);
    tcase_add_test(tcase, no_place_to_write_to);
    suite_add_tcase(suite, tcase);
    return suite;
}
