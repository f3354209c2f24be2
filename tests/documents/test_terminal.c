/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static char shown[400000];
static int status; /* of the program that showed it */

static void become(const char *path, const char *variable, const char *line)
{
    char command[6 * LINE_LENGTH];
    int terminal;
    setsid();
    terminal = open(path, O_RDWR);
    if (terminal < 0 || dup2(terminal, STDOUT_FILENO) < 0 || dup2(terminal, STDERR_FILENO) < 0 ||
        chdir(scratch_folder()) != 0)
        _exit(120);
    snprintf(command, sizeof command, "TERM=xterm %s " BC_BUILD_DIR "/bin/bloomcoat %s", variable, line);
    unsetenv("NO_COLOR");
    execl("/bin/sh", "sh", "-c", command, (char *)NULL);
    _exit(121);
}

/* What a person at a terminal sees of a line, all of it; false where there are no terminals (a bare root). `variable`
 * is set for it, as NAME=value. */
static bool at_a_terminal(const char *variable, const char *line)
{
    const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    char path[64];
    size_t length = 0;
    ssize_t got;
    pid_t child;
    int own;
    if (terminal < 0)
        return false;
    ck_assert_int_eq(grantpt(terminal) + unlockpt(terminal) + ptsname_r(terminal, path, sizeof path), 0);
    own = open(path, O_RDWR | O_NOCTTY); /* so that it does not end before the child has opened it */
    child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0)
        become(path, variable, line);
    fcntl(terminal, F_SETFL, O_NONBLOCK);
    for (bool ended = false;;) {
        got = read(terminal, shown + length, sizeof shown - 1 - length);
        if (got > 0)
            length += (size_t)got;
        else if (ended)
            break;
        else if (waitpid(child, &status, WNOHANG) == child)
            ended = true;
        else
            usleep(2000);
    }
    shown[length] = '\0';
    close(own);
    close(terminal);
    return true;
}

/* Take the escape sequences of colours out of `shown`; their number. */
static size_t take_colours(void)
{
    char *to = shown;
    size_t colours = 0;
    for (const char *at = shown; *at != '\0';)
        if (strncmp(at, "\x1b[", 2) == 0) {
            at += 2 + strspn(at + 2, "0123456789;");
            at += *at != '\0';
            colours++;
        } else {
            *to++ = *at++;
        }
    *to = '\0';
    return colours;
}

static void expect_to_fit(const char *line)
{
    for (const char *at = shown; *at != '\0'; at += strspn(at, "\r\n")) {
        const size_t length = strcspn(at, "\r\n");
        size_t columns = 0;
        for (size_t i = 0; i < length; i++)
            columns += ((unsigned char)at[i] & 0xC0) != 0x80;
        ck_assert_msg(columns <= 80 || memchr(at, '/', length) != NULL, "%s: %zu columns: %.*s", line, columns,
                      (int)length, at);
        at += length;
    }
}

#define STACK        BC_SOURCE_DIR "/examples/window-stack.csv"
#define CALLOUTS     " --callouts " BC_SOURCE_DIR "/examples/window-callouts.csv"
#define AGREED       " --callouts " BC_SOURCE_DIR "/examples/concave-agreed-callouts.csv"
#define PROCESS      " --process " BC_SOURCE_DIR "/examples/process.csv"
#define CHAMBER      " --chamber " BC_SOURCE_DIR "/examples/chamber.csv"
#define CURVED       " --radius-mm 15 --shape concave --clear-aperture-mm 20 --angle-reference axis --zones 9"
#define WITNESS(run) BC_SOURCE_DIR "/examples/window-witness-" run ".txt "

static const struct {
    const char *line;
    bool colour; /* it has a verdict */
} seen[] = {
    {"spectrum " STACK " --step 20 --aoi 0,30 --polarization each", false},
    {"check " STACK CALLOUTS " --roughness-nm 1 --substrate 517642 --substrate 805254", true},
    {"draft" AGREED " --substrate 805254 --materials MgF2,HfO2 --max-layers 2 --effort 0.1" CURVED, true},
    {"refine " STACK CALLOUTS, true},
    {"yield " STACK AGREED " --runs 500" PROCESS, false},
    {"quote" AGREED " --substrate 805254 --materials MgF2,HfO2 --max-layers 2 --quantity 200 --part-diameter-mm 60 "
     "--effort 0.1" PROCESS CHAMBER,
     false},
    {"deposit " STACK " --monitor-nm 450,520,600 --new-monitor-glass each" PROCESS CHAMBER, false},
    {"lens " STACK AGREED " --substrate 805254 --roughness-nm 1" CURVED, false},
    {"inspect " WITNESS("7") "--column 2 --stack " STACK CALLOUTS
                             " --aoi 8 --uncertainty-percent 0.05 --from-fit" PROCESS,
     true},
    {"inspect " WITNESS("7") WITNESS("8") "--column 2 --stack " STACK CALLOUTS " --aoi 8", true},
    {"materials", false},
    {"materials MgF2", false},
    {"--help", false},
};

START_TEST(a_terminal_shows_whole_lines)
{
    const char *line = seen[_i].line;
    size_t colours;
    if (!at_a_terminal("", line))
        return;
    ck_assert_msg(strlen(shown) > 100 && WIFEXITED(status) && WEXITSTATUS(status) <= 1, "%s: %.300s", line, shown);
    colours = take_colours();
    ck_assert_msg((colours > 0) == seen[_i].colour, "%s: %zu colours", line, colours);
    expect_to_fit(line);
}
END_TEST

START_TEST(colour_is_for_those_who_want_it)
{
    static const char line[] = "check " STACK CALLOUTS, *const plain[] = {"NO_COLOR=1", "TERM=dumb"};
    for (size_t i = 0; i < sizeof plain / sizeof plain[0]; i++) {
        if (!at_a_terminal(plain[i], line))
            return;
        ck_assert_ptr_nonnull(strstr(shown, "Every callout is met"));
        ck_assert_msg(strchr(shown, '\x1b') == NULL, "%s: %.300s", plain[i], shown);
    }
    ck_assert(at_a_terminal("NO_COLOR=", line)); /* set and empty: not meant */
    ck_assert_uint_gt(take_colours(), 0);
    ck_assert_ptr_null(strchr(expect(0, NULL, line).out, '\x1b'));
}
END_TEST

Suite *terminal_suite(void)
{
    Suite *suite = suite_create("terminal");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 300);
    tcase_add_loop_test(tcase, a_terminal_shows_whole_lines, 0, (int)(sizeof seen / sizeof seen[0]));
    tcase_add_test(tcase, colour_is_for_those_who_want_it);
    suite_add_tcase(suite, tcase);
    return suite;
}
