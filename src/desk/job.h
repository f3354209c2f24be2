/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_JOB_H
#define BLOOMCOAT_DESK_JOB_H
/*
 * A command in a process of its own, in a folder of its own, within limits of time and memory. No shell, no search of a
 * path: the program itself is started again.
 */
#include "command.h"
#include <stdatomic.h>
#include <sys/types.h>
#include <time.h>

typedef struct desk_job {
    desk_command command;
    const desk_folder *home;
    char folder_name[DESK_NAME_SIZE];
    int folder;
    pid_t process;     /* 0: none runs */
    int out, messages; /* what it prints and says; -1: at its end */
    bc_text printed, said;
    bc_text line;  /* what it says just now, without an end: its progress */
    bc_text found; /* lines of JSON: what it has found since this was emptied last (--as-found) */
    struct timespec start;
    atomic_bool stop; /* set by any thread: it is to end with the best so far */
    bool interrupted, ended;
    int code; /* as a shell has it: 128 + signal where one ended it */
} desk_job;

/* Make the folder and its files. The command is the job's from here on, whatever comes of it. */
bc_status desk_job_prepare(desk_job *job, const desk_folder *home, desk_command *command, bc_error *error);
bc_status desk_job_start(desk_job *job, bc_error *error);
/* Take what comes within `milliseconds`. true: it has ended, and `code` says how. */
bool desk_job_step(desk_job *job, int milliseconds);
/* End it if it runs, and remove its folder. */
void desk_job_clear(desk_job *job);

double desk_seconds_since(const struct timespec *then);

#endif
