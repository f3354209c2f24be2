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

/* Start a line with these as its standard output and error. */
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
    return child;
}

static char seen[8000];

static void read_until(int end, const char *piece)
{
    size_t length = 0;
    while (strstr(seen, piece) == NULL) {
        const ssize_t got = read(end, seen + length, sizeof seen - 1 - length);
        ck_assert_msg(got > 0, "no '%s': %s", piece, seen);
        length += (size_t)got;
        seen[length] = '\0';
    }
}

#define LONG_WORK "--callouts hard.csv --substrate 1.52 --films 1.38,1.62,2.1 --max-films 12 "

/* Loop: much work, and more of it. The line is wiped off before the last word. */
START_TEST(a_terminal_is_told_how_far_it_is)
{
    static const struct {
        const char *line, *left, *told;
    } work[] = {{"draft " LONG_WORK "--effort 1000 -o out.csv", " min left", "limit_used"},
                {"yield stack.csv --callouts callouts.csv --process process.csv --trials 50000000 -o out.txt", " left",
                 "share of good runs"}};
    int end[2], status = 0;
    char blank[80] = "\r";
    if (!open_terminal(end))
        return;
    write_inputs();
    scratch_write("process.csv", "material,thickness_sigma_percent\n*,1\n");
    const pid_t child = start(work[_i].line, end[1], end[1]);
    read_until(end[0], work[_i].left);
    ck_assert_ptr_nonnull(strstr(seen, work[_i].told));
    ck_assert_ptr_nonnull(strstr(seen, " so far  about "));
    ck_assert_int_eq(kill(child, SIGINT), 0);
    read_until(end[0], "interrupted; nothing was written");
    memset(blank + 1, ' ', 72);
    strcpy(blank + 73, "\r");
    ck_assert_ptr_nonnull(strstr(seen, blank));
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 3);
    close(end[0]);
    close(end[1]);
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
    read_until(end[0], "R at 380 to 780 nm");
    read_until(end[0], "680,0,mean");
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    const size_t length = strlen(seen);
    const ssize_t rest = (fcntl(end[0], F_SETFL, O_NONBLOCK), read(end[0], seen + length, sizeof seen - 1 - length));
    seen[length + (rest > 0 ? (size_t)rest : 0)] = '\0';
    ck_assert_int_eq(strpbrk(seen, "\xe2") != NULL, tongue[_i].unicode);
    unsetenv("LC_ALL");
    unsetenv("LC_CTYPE");
    unsetenv("LANG");
    close(end[0]);
    close(end[1]);
}
END_TEST

/* A pipe that is full and says so is waited for: every byte arrives. */
START_TEST(a_slow_reader_gets_all_of_it)
{
    static char all[400000];
    int end[2], status = 0;
    size_t length = 0;
    write_inputs();
    expect(0, NULL, "spectrum stack.csv --step 0.1 --quiet -o file.csv");
    ck_assert_int_eq(pipe(end), 0);
    ck_assert_int_eq(fcntl(end[1], F_SETFL, O_NONBLOCK), 0);
    const pid_t child = start("spectrum stack.csv --step 0.1 --quiet", end[1], STDERR_FILENO);
    close(end[1]);
    usleep(200000); /* longer or shorter, the same must come out */
    for (ssize_t got; (got = read(end[0], all + length, sizeof all - 1 - length)) > 0;)
        length += (size_t)got;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    ck_assert_uint_gt(length, 65536); /* more than a pipe holds */
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
    tcase_add_loop_test(tcase, a_sketch_in_the_terminals_letters, 0, 5);
    tcase_add_test(tcase, a_slow_reader_gets_all_of_it);
    tcase_add_test(tcase, no_place_to_write_to);
    suite_add_tcase(suite, tcase);
    return suite;
}
