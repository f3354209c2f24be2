/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* The folder as the reader has it, but that what is written stays in the scratch folder. */
static void lay_out(void)
{
    if (exists("examples"))
        return;
    ck_assert_int_eq(symlink(BC_SOURCE_DIR "/examples", scratch_path("examples")), 0);
    ck_assert_int_eq(symlink(BC_SOURCE_DIR "/materials", scratch_path("materials")), 0);
    ck_assert_int_eq(mkdir(scratch_path("build"), 0700), 0);
    ck_assert_int_eq(mkdir(scratch_path("build/demo"), 0700), 0);
}

int shell(const char *line, const char **complaint)
{
    char command[6 * LINE_LENGTH];
    int status, length;
    static unsigned lines; /* leaks are searched in every fourth: as in ../cli/program.c */
    lay_out();
    lines++;
    length = snprintf(command, sizeof command,
                      "%scd '%s' && unset BLOOMCOAT_TABLES SOURCE_DATE_EPOCH && PATH='" BC_BUILD_DIR
                      "/bin':\"$PATH\" && { %s\n} >said 2>complaint </dev/null",
                      lines % 4 == 0 ? "export ASAN_OPTIONS=\"$ASAN_OPTIONS:detect_leaks=1\" && " : "",
                      scratch_folder(), line);
    ck_assert_int_lt(length, (int)sizeof command);
    status = system(command);
    *complaint = content("complaint");
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}
