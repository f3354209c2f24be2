/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "program.h"
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define PROGRAM    BC_BUILD_DIR "/bin/bloomcoat"
#define MOST_WORDS 40
#define TEXT_SIZE  400000

static void write_input(const char *name, const char *text)
{
    scratch_write(name, text);
}

void write_inputs(void)
{
    write_input("stack.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,97.787\nlayer,2.1,133.11\n"
                             "layer,1.38,35.081\nlayer,2.1,15.658\nsubstrate,1.52,\n");
    write_input("bare.csv", "role,material,thickness_nm\nincident,air,\nsubstrate,1.52,\n");
    write_input("callouts.csv",
                "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                "band,R,max,<= 0.5,420,680,0,unpolarized\naverage,R,average,<= 0.3,420,680,0,unpolarized\n");
    write_input("hard.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                            "band,R,max,<= 0.001,420,680,0,unpolarized\n");
    write_input("part.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope\n"
                            "through,T,min,>= 90,550,550,0,unpolarized,part\n");
}

static void redirect(const char *path, int descriptor)
{
    const int file = open(path, O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (file < 0 || dup2(file, descriptor) < 0)
        _exit(120);
    close(file);
}

/* Until the child has left them, a signal would run the handlers of the one that runs the tests. */
static void block_signals(bool block)
{
    sigset_t both;
    sigemptyset(&both);
    sigaddset(&both, SIGINT);
    sigaddset(&both, SIGTERM);
    sigprocmask(block ? SIG_BLOCK : SIG_UNBLOCK, &both, NULL);
}

/* Under AddressSanitizer the search for leaks is half of a short run: the first of a test's runs is searched, and every
 * fourth after it. The modules' own suites search all of what the library does; and this program is not searched at all
 * (CMakeLists.txt), which Check forks for every test. */
static void choose_leak_search(unsigned run)
{
    const char *options = getenv("ASAN_OPTIONS");
    char text[400];
    snprintf(text, sizeof text, "%s%sdetect_leaks=%d", options == NULL ? "" : options, options == NULL ? "" : ":",
             run % 4 == 0);
    setenv("ASAN_OPTIONS", text, 1);
}

static void start(const circumstances *around, const char *out, const char *err, char *const *words)
{
    const struct rlimit limit = {(rlim_t)around->file_size, (rlim_t)around->file_size};
    if (chdir(around->folder == NULL ? scratch_folder() : around->folder) != 0)
        _exit(121);
    close(STDIN_FILENO); /* no command needs it */
    if (around->standard_output == NULL)
        redirect(out, STDOUT_FILENO);
    else if (strcmp(around->standard_output, "-") == 0)
        close(STDOUT_FILENO);
    else
        redirect(around->standard_output, STDOUT_FILENO);
    if (around->closed_error)
        close(STDERR_FILENO);
    else
        redirect(err, STDERR_FILENO);
    if (around->materials == NULL)
        unsetenv("BLOOMCOAT_TABLES");
    else
        setenv("BLOOMCOAT_TABLES", around->materials, 1);
    signal(SIGPIPE, SIG_DFL);
    signal(SIGINT, SIG_DFL); /* ignored where the tests run in the background */
    signal(SIGTERM, SIG_DFL);
    block_signals(false);
    if (around->file_size >= 0 && setrlimit(RLIMIT_FSIZE, &limit) != 0)
        _exit(122);
    execv(PROGRAM, words);
    _exit(123);
}

/* One of a few texts in turn. */
static char *read_text(const char *path)
{
    static char text[6][TEXT_SIZE];
    static size_t turn;
    char *into = text[turn++ % 6];
    FILE *file = fopen(path, "rb");
    size_t length = 0;
    if (file != NULL) {
        length = fread(into, 1, TEXT_SIZE - 1, file);
        fclose(file);
    }
    into[length] = '\0';
    return into;
}

/* Start the program; *out and *err are where its words go: beside the scratch folder, so that what a run leaves in the
 * folder can be counted. */
static pid_t launch_words(const circumstances *around, char *const *words, char *out, char *err)
{
    static unsigned runs; /* of this test: Check forks for each */
    pid_t child;
    snprintf(out, PATH_SIZE, "%s.out", scratch_folder());
    snprintf(err, PATH_SIZE, "%s.err", scratch_folder());
    block_signals(true);
    child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        choose_leak_search(runs);
        start(around, out, err, words);
    }
    runs++;
    block_signals(false);
    return child;
}

static pid_t launch(const circumstances *around, const char *line, char *out, char *err)
{
    char copy[2000];
    char *words[MOST_WORDS + 1] = {(char[]){PROGRAM}};
    char *rest = copy;
    size_t count = 1;
    ck_assert_uint_lt(strlen(line), sizeof copy);
    strcpy(copy, line);
    while (count < MOST_WORDS && (words[count] = strtok_r(rest, " ", &rest)) != NULL)
        count++;
    return launch_words(around, words, out, err);
}

static outcome collect(pid_t child, const char *out, const char *err)
{
    int status = 0;
    while (waitpid(child, &status, 0) < 0)
        ck_assert_int_eq(errno, EINTR);
    const outcome result = {WIFEXITED(status) ? WEXITSTATUS(status) : -1, read_text(out), read_text(err)};
    unlink(out);
    unlink(err);
    return result;
}

outcome run_in(const circumstances *around, const char *line)
{
    char out[PATH_SIZE], err[PATH_SIZE];
    return collect(launch(around, line, out, err), out, err);
}

static const circumstances usual = {.file_size = -1};

outcome signal_after(int signal_number, int times, long microseconds, const char *line)
{
    const struct timespec pause = {microseconds / 1000000, microseconds % 1000000 * 1000};
    char out[PATH_SIZE], err[PATH_SIZE];
    const pid_t child = launch(&usual, line, out, err);
    for (int i = 0; i < times; i++) {
        nanosleep(&pause, NULL);
        ck_assert_int_eq(kill(child, signal_number), 0); /* a child that ended stays until it is waited for */
    }
    return collect(child, out, err);
}

outcome run_while(const char *line, long microseconds, void (*meanwhile)(void))
{
    const struct timespec pause = {microseconds / 1000000, microseconds % 1000000 * 1000};
    char out[PATH_SIZE], err[PATH_SIZE];
    const pid_t child = launch(&usual, line, out, err);
    nanosleep(&pause, NULL);
    meanwhile();
    return collect(child, out, err);
}

outcome interrupt_after(unsigned seconds, const char *line)
{
    return signal_after(SIGINT, 1, 1000000L * (long)seconds, line);
}

outcome run_words(const circumstances *around, const char *const *words)
{
    char out[PATH_SIZE], err[PATH_SIZE];
    char *all[MOST_WORDS + 2] = {(char[]){PROGRAM}};
    for (size_t i = 0; words[i] != NULL; i++) {
        ck_assert_uint_lt(i, MOST_WORDS);
        all[i + 1] = strdup(words[i]);
    }
    const outcome result = collect(launch_words(around, all, out, err), out, err);
    for (size_t i = 1; all[i] != NULL; i++)
        free(all[i]);
    return result;
}

pid_t run_start(const circumstances *around, const char *line, const char *name)
{
    char out[PATH_SIZE], err[PATH_SIZE], whole[400];
    snprintf(whole, sizeof whole, "%s %s", line, name);
    return launch(around, whole, out, err);
}

outcome run(const char *line)
{
    return run_in(&usual, line);
}

outcome expect(int code, const char *piece, const char *line)
{
    const outcome result = run(line);
    ck_assert_msg(result.code == code, "'%s' ended with %d, not %d: %s", line, result.code, code, result.err);
    if (piece != NULL)
        ck_assert_msg(strstr(result.err, piece) != NULL, "'%s' says no '%s': %s", line, piece, result.err);
    if (code == 2 || code == 3)
        ck_assert_msg(result.out[0] == '\0' && strncmp(result.err, "bloomcoat: ", 11) == 0 &&
                          strchr(result.err, '\n') == strrchr(result.err, '\n'),
                      "'%s' says more than one message: %s%s", line, result.out, result.err);
    return result;
}

const char *content(const char *name)
{
    return read_text(scratch_path(name));
}

bool exists(const char *name)
{
    return access(scratch_path(name), F_OK) == 0;
}

size_t count_files(void)
{
    size_t count = 0;
    DIR *folder = opendir(scratch_folder());
    ck_assert_ptr_nonnull(folder);
    while (readdir(folder) != NULL)
        count++;
    closedir(folder);
    return count - 2; /* . and .. */
}
