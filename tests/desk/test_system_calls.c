/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each test runs in a process of its own, which Check forks for it. */
#include "desk_suites.h"
#include "system_calls.h"
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/mount.h>
#include <sys/ptrace.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

static void expect_denied(long returned)
{
    ck_assert_int_eq(returned, -1);
    ck_assert_int_eq(errno, EPERM);
}

static void *add_one(void *number)
{
    ++*(int *)number;
    return NULL;
}

static void expect_threads(void)
{
    pthread_t thread;
    int number = 0;
    ck_assert_int_eq(pthread_create(&thread, NULL, add_one, &number), 0);
    ck_assert_int_eq(pthread_join(thread, NULL), 0);
    ck_assert_int_eq(number, 1);
}

/* Where each would work otherwise: a call that fails anyway shows nothing. */
static void expect_no_connection(void)
{
    int before = socket(AF_UNIX, SOCK_STREAM, 0);
    ck_assert_int_ge(before, 0);
    close(before);
}

static void expect_nothing_cut_short(const char *path)
{
    const int file = open(path, O_RDONLY);
    ck_assert_int_ge(file, 0);
    close(file);
    expect_denied(truncate(path, 0));
    expect_denied(open(path, O_RDONLY | O_TRUNC));
    ck_assert_int_eq(unlink(path), 0);
}

START_TEST(a_command_reaches_nothing_else)
{
    char path[] = "/tmp/bloomcoat-calls-XXXXXX";
    const int file = mkstemp(path);
    char *words[] = {(char *)"true", NULL};
    const pid_t parent = getppid();
    ck_assert_int_eq(kill(parent, 0), 0);
    ck_assert(file >= 0 && truncate(path, 0) == 0);
    expect_no_connection();
    if (!desk_filter_system_calls(DESK_COMPUTES)) {
        unlink(path);
        return;
    }
    expect_denied(socket(AF_UNIX, SOCK_STREAM, 0));
    expect_denied(socket(AF_INET, SOCK_STREAM, 0));
    expect_denied(execve("/bin/true", words, NULL));
    expect_denied(execve(desk_own_program, words, NULL));
    expect_denied(kill(parent, 0));
    ck_assert_int_eq(kill(getpid(), 0), 0);
    expect_denied(mount(NULL, "/", NULL, MS_REMOUNT, NULL));
    expect_denied(syscall(SYS_unshare, 0));
#ifndef __SANITIZE_ADDRESS__
    expect_denied(ptrace(PTRACE_TRACEME, 0, NULL, NULL));
    expect_denied(fork());
#endif
    ck_assert(ftruncate(file, 10) == 0 && close(file) == 0);
    expect_nothing_cut_short(path);
    expect_threads();
    free(malloc(1 << 24));
}
END_TEST

/* By the string that the desk starts itself by, wherever it leads, and by no other of the same words. */
START_TEST(the_desk_starts_itself_alone)
{
    static const char copy[] = "/proc/self/exe";
    char *words[] = {(char *)"test", NULL}, *environment[] = {(char *)"BC_ONLY_END=1", NULL};
    int how = 0;
    pid_t child;
    if (!desk_filter_system_calls(DESK_SERVES))
        return;
    expect_denied(socket(AF_INET, SOCK_STREAM, 0));
    expect_denied(execve("/bin/true", words, environment));
    expect_denied(execve(copy, words, environment));
    expect_threads();
    child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        execve(desk_own_program, words, environment);
        _exit(1);
    }
    ck_assert_int_eq(waitpid(child, &how, 0), child);
    ck_assert(WIFEXITED(how) && WEXITSTATUS(how) == 77);
}
END_TEST

Suite *system_calls_suite(void)
{
    Suite *suite = suite_create("system calls");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, a_command_reaches_nothing_else);
    tcase_add_test(tcase, the_desk_starts_itself_alone);
    suite_add_tcase(suite, tcase);
    return suite;
}
