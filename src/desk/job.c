/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job.h"
#include "system_calls.h"
#include "text.h"
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#define MOST_PRINTED  (16 << 20)
#define MOST_SAID     (256 << 10)
#define MOST_FOUND    (1 << 20)
#define MEMORY_BYTES  (6ULL << 30) /* of addresses: a search takes 2 GB at most */
#define FILE_BYTES    (64 << 20)
#define QUICK_SECONDS 60
#define SLOW_SECONDS  1800
#define GRACE_SECONDS 20 /* from the interrupt to the end */

double desk_seconds_since(const struct timespec *then)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)(now.tv_sec - then->tv_sec) + 1e-9 * (double)(now.tv_nsec - then->tv_nsec);
}

bc_status desk_job_prepare(desk_job *job, const desk_folder *home, desk_command *command, bc_error *error)
{
    bc_status status;
    *job = (desk_job){.command = *command, .home = home, .folder = -1, .out = -1, .messages = -1};
    *command = (desk_command){0};
    status = desk_job_folder_make(home, job->folder_name, &job->folder, error);
    for (size_t i = 0; status == BC_OK && i < job->command.files; i++)
        status =
            desk_file_write(job->folder, job->command.file[i], job->command.contents[i], job->command.length[i], error);
    return status;
}

static void limit(int resource, rlim_t most)
{
    const struct rlimit limits = {most, most};
    setrlimit((__rlimit_resource_t)resource, &limits);
}

/* Between fork() and exec(), in a process with threads: system calls alone. */
static void become(const desk_job *job, int out, int messages, char *const *environment)
{
    sigset_t none;
    const int nothing = open("/dev/null", O_RDONLY);
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    setsid();
    if (nothing < 0 || dup2(nothing, STDIN_FILENO) < 0 || dup2(out, STDOUT_FILENO) < 0 ||
        dup2(messages, STDERR_FILENO) < 0 || fchdir(job->folder) != 0)
        _exit(3);
    close_range(STDERR_FILENO + 1, ~0U, 0);
#ifndef __SANITIZE_ADDRESS__ /* which takes terabytes of addresses */
    limit(RLIMIT_AS, MEMORY_BYTES);
#endif
    limit(RLIMIT_CPU, SLOW_SECONDS * 4);
    limit(RLIMIT_FSIZE, FILE_BYTES);
    limit(RLIMIT_CORE, 0);
    limit(RLIMIT_NOFILE, 256);
    if (job->command.slow)
        setpriority(PRIO_PROCESS, 0, 5);
    sigemptyset(&none);
    sigprocmask(SIG_SETMASK, &none, NULL);
    for (int number = 1; number < 32; number++)
        signal(number, SIG_DFL);
    execve(desk_own_program, job->command.word, environment);
    _exit(3);
}

/* A terminal for what it says: a command shows how far it is on a terminal alone. */
static bool open_terminal(int end[2])
{
    struct termios settings;
    char name[64];
    end[0] = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    end[1] = -1;
    if (end[0] >= 0 && grantpt(end[0]) == 0 && unlockpt(end[0]) == 0 && ptsname_r(end[0], name, sizeof name) == 0)
        end[1] = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (end[1] >= 0 && tcgetattr(end[1], &settings) == 0) {
        settings.c_oflag &= ~(tcflag_t)OPOST;
        settings.c_lflag &= ~(tcflag_t)(ECHO | ISIG);
        if (tcsetattr(end[1], TCSANOW, &settings) == 0)
            return true;
    }
    for (int i = 0; i < 2; i++)
        if (end[i] >= 0)
            close(end[i]);
    return false;
}

/* NAME=value of what a command's result or its words may depend on. */
static void make_environment(char *environment[], size_t size)
{
    static const char *const name[] = {"BLOOMCOAT_TABLES", "SOURCE_DATE_EPOCH", "HOME", "PATH",
                                       "ASAN_OPTIONS",     "LSAN_OPTIONS"};
    size_t count = 0;
    for (size_t i = 0; i < sizeof name / sizeof name[0] && count + 3 < size; i++) {
        const char *value = getenv(name[i]);
        if (value != NULL && asprintf(&environment[count], "%s=%s", name[i], value) > 0)
            count++;
    }
    environment[count] = strdup("NO_COLOR=1");
    environment[count + 1] = strdup(DESK_JOB_VARIABLE "=1");
    environment[count + 2] = NULL;
}

bc_status desk_job_start(desk_job *job, bc_error *error)
{
    char *environment[12] = {NULL};
    int out[2], messages[2];
    if (pipe2(out, O_CLOEXEC) != 0)
        return bc_fail(error, BC_ERROR_IO, "no pipe for a job: %s", strerror(errno));
    if (!(job->command.slow && open_terminal(messages)) && pipe2(messages, O_CLOEXEC) != 0) {
        close(out[0]), close(out[1]);
        return bc_fail(error, BC_ERROR_IO, "no pipe for a job: %s", strerror(errno));
    }
    make_environment(environment, sizeof environment / sizeof environment[0]);
    clock_gettime(CLOCK_MONOTONIC, &job->start);
    job->process = fork();
    if (job->process == 0)
        become(job, out[1], messages[1], environment);
    for (size_t i = 0; environment[i] != NULL; i++)
        free(environment[i]);
    close(out[1]);
    close(messages[1]);
    job->out = out[0];
    job->messages = messages[0];
    if (job->process < 0) {
        job->process = 0;
        return bc_fail(error, BC_ERROR_IO, "no process for a job: %s", strerror(errno));
    }
    return BC_OK;
}

static void end_line(desk_job *job)
{
    const char *line = job->line.data == NULL ? "" : job->line.data;
    const bool found = job->line.length > 0 && line[0] == '{';
    bc_text *to = found ? &job->found : &job->said;
    if (to->length < (found ? MOST_FOUND : MOST_SAID)) {
        bc_text_add_bytes(to, line, job->line.length);
        bc_text_add_bytes(to, "\n", 1);
    }
}

/* What is written over, a line that a carriage return begins, is progress; what ends with its line is said, or found.
 */
static void take_messages(desk_job *job, const char *piece, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        if (piece[i] == '\r' || piece[i] == '\n') {
            if (piece[i] == '\n')
                end_line(job);
            job->line.length = 0;
        } else if (job->line.length < MOST_SAID) {
            bc_text_add_bytes(&job->line, &piece[i], 1);
        }
    }
}

static void take(desk_job *job, int *descriptor, bool messages)
{
    char piece[8192];
    const ssize_t got = read(*descriptor, piece, sizeof piece);
    if (got < 0 && errno == EINTR)
        return;
    if (got <= 0) { /* a terminal ends with EIO */
        close(*descriptor);
        *descriptor = -1;
    } else if (messages) {
        take_messages(job, piece, (size_t)got);
    } else if (job->printed.length < MOST_PRINTED) {
        bc_text_add_bytes(&job->printed, piece, (size_t)got);
    }
}

static void reap(desk_job *job)
{
    int how;
    while (waitpid(job->process, &how, 0) < 0 && errno == EINTR)
        ;
    job->code = WIFEXITED(how) ? WEXITSTATUS(how) : 128 + WTERMSIG(how);
    job->process = 0;
    job->ended = true;
}

static void interrupt(desk_job *job)
{
    if (!job->interrupted) {
        job->interrupted = true;
        clock_gettime(CLOCK_MONOTONIC, &job->start);
        kill(job->process, SIGINT);
    }
}

bool desk_job_step(desk_job *job, int milliseconds)
{
    struct pollfd wait[2] = {{job->out, POLLIN, 0}, {job->messages, POLLIN, 0}};
    const double seconds = desk_seconds_since(&job->start);
    if (job->ended || job->process == 0)
        return true;
    if (seconds > (job->interrupted ? GRACE_SECONDS : job->command.slow ? SLOW_SECONDS : QUICK_SECONDS)) {
        if (job->interrupted || !job->command.slow)
            kill(job->process, SIGKILL);
        else
            interrupt(job);
    }
    if (atomic_load(&job->stop))
        interrupt(job);
    if (poll(wait, 2, milliseconds) > 0) {
        if (wait[0].revents != 0)
            take(job, &job->out, false);
        if (wait[1].revents != 0)
            take(job, &job->messages, true);
    }
    if (job->out < 0 && job->messages < 0)
        reap(job);
    return job->ended;
}

void desk_job_clear(desk_job *job)
{
    if (job->process > 0) {
        kill(job->process, SIGKILL);
        reap(job);
    }
    if (job->out >= 0)
        close(job->out);
    if (job->messages >= 0)
        close(job->messages);
    if (job->home != NULL)
        desk_job_folder_remove(job->home, job->folder_name, job->folder);
    bc_text_clear(&job->printed);
    bc_text_clear(&job->said);
    bc_text_clear(&job->line);
    bc_text_clear(&job->found);
    desk_command_clear(&job->command);
    *job = (desk_job){.folder = -1, .out = -1, .messages = -1};
}
