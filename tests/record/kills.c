/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "entry.h"
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define LONGEST_US   8000
#define MOST_ENTRIES 3 /* that are waited for before a kill */

/* Entries without end; after each commit its number goes into the pipe, before the next a dot. */
static void write_for_ever(const char *path, unsigned seed, int to)
{
    bc_record *record;
    bc_error error;
    if (bc_record_open(path, true, &record, &error) != BC_OK)
        _exit(1);
    for (;;) {
        char number[BC_RECORD_NUMBER_SIZE] = "", line[BC_RECORD_NUMBER_SIZE + 2];
        if (write(to, ".", 1) != 1 || write_entry(record, BC_RECORD_QUOTE, 0, seed++, number, &error) != BC_OK)
            _exit(1);
        const int length = snprintf(line, sizeof line, "%s\n", number);
        if (write(to, line, (size_t)length) != length)
            _exit(1);
    }
}

static void wait_us(long microseconds)
{
    const struct timespec time = {microseconds / 1000000, microseconds % 1000000 * 1000};
    nanosleep(&time, NULL);
}

/* What came through the pipe until its end. After some entries, and a moment more, the writer is killed. */
static char *read_all(int from, pid_t writer, int entries)
{
    size_t used = 0, size = 4096;
    char *text = malloc(size);
    ssize_t count;
    bool killed = false;
    while (text != NULL) {
        if (!killed && entries <= 0) {
            wait_us(rand() % LONGEST_US);
            kill(writer, SIGKILL);
            killed = true;
        }
        count = read(from, text + used, size - used - 1);
        if (count <= 0)
            break;
        for (ssize_t i = 0; i < count; i++)
            entries -= text[used + (size_t)i] == '\n';
        used += (size_t)count;
        if (used + 1 == size)
            text = realloc(text, size *= 2);
    }
    if (text != NULL)
        text[used] = '\0';
    return text;
}

static int has(const bc_record_list *list, const char *number)
{
    for (size_t i = list->count; i-- > 0;)
        if (strcmp(list->line[i].number, number) == 0)
            return 1;
    return 0;
}

/* Every number that was confirmed is there, and all that is there is whole. */
static int look_into(const char *path, char *said, kill_figures *figures)
{
    bc_record *record;
    bc_record_list list;
    bc_record_check check;
    bc_error error;
    char *rest = said, *line;
    const size_t length = strlen(said);
    figures->killed_in_writing += length > 0 && said[length - 1] == '.';
    if (bc_record_open(path, true, &record, &error) != BC_OK || bc_record_check_all(record, &check, &error) != BC_OK ||
        bc_record_list_read(record, NULL, &list, &error) != BC_OK)
        return 0;
    while ((line = strtok_r(rest, ".\n", &rest)) != NULL) {
        figures->confirmed++;
        figures->lost += !has(&list, line);
    }
    figures->faults += (long)check.faults;
    figures->kept = (long)list.count;
    bc_record_list_clear(&list);
    bc_record_check_clear(&check);
    bc_record_close(record);
    return 1;
}

int kill_writers(const char *path, int kills, unsigned seed, kill_figures *figures)
{
    *figures = (kill_figures){0};
    srand(seed);
    for (int i = 0; i < kills; i++) {
        int pipes[2], good, state;
        char *said;
        pid_t writer;
        if (pipe(pipes) != 0 || (writer = fork()) < 0)
            return 0;
        if (writer == 0) {
            close(pipes[0]);
            write_for_ever(path, seed + 1000u * (unsigned)i, pipes[1]);
        }
        close(pipes[1]);
        said = read_all(pipes[0], writer, rand() % (MOST_ENTRIES + 1));
        close(pipes[0]);
        waitpid(writer, &state, 0);
        good = said != NULL && WIFSIGNALED(state) && look_into(path, said, figures);
        free(said);
        if (!good)
            return 0;
        figures->kills++;
    }
    return 1;
}
