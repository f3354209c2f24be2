/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * record_kills N [SEED]: kills a writer of the record N times at random moments, and says what was lost.
 */
#include "entry.h"
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

int main(int count, char **words)
{
    char folder[] = "/tmp/record-kills-XXXXXX", path[64], beside[80];
    kill_figures figures;
    const int kills = count > 1 ? atoi(words[1]) : 1000;
    int good;
    if (mkdtemp(folder) == NULL)
        return 3;
    snprintf(path, sizeof path, "%s/record.db", folder);
    good = kill_writers(path, kills, count > 2 ? (unsigned)atoi(words[2]) : 1u, &figures);
    printf("%d kills (%ld while an entry was being written): %ld entries confirmed, %ld kept, %ld lost, %ld faults\n",
           figures.kills, figures.killed_in_writing, figures.confirmed, figures.kept, figures.lost, figures.faults);
    unlink(path);
    snprintf(beside, sizeof beside, "%s-wal", path);
    unlink(beside);
    snprintf(beside, sizeof beside, "%s-shm", path);
    unlink(beside);
    rmdir(folder);
    return good && figures.lost == 0 && figures.faults == 0 ? 0 : 1;
}
