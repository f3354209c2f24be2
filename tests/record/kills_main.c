/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * record_kills N [SEED]: kills a writer of the record N times at random moments, and says what was lost.
 */
#include "entry.h"
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define EACH 100 /* kills of one record: to look into it takes longer with every entry */

static int kill_one(int kills, unsigned seed, kill_figures *sum)
{
    char folder[] = "/tmp/record-kills-XXXXXX", path[64], beside[80];
    kill_figures figures;
    int good;
    if (mkdtemp(folder) == NULL)
        return 0;
    snprintf(path, sizeof path, "%s/record.db", folder);
    good = kill_writers(path, kills, seed, &figures);
    sum->kills += figures.kills;
    sum->killed_in_writing += figures.killed_in_writing;
    sum->confirmed += figures.confirmed;
    sum->kept += figures.kept;
    sum->lost += figures.lost;
    sum->faults += figures.faults;
    unlink(path);
    snprintf(beside, sizeof beside, "%s-wal", path);
    unlink(beside);
    snprintf(beside, sizeof beside, "%s-shm", path);
    unlink(beside);
    rmdir(folder);
    return good;
}

int main(int count, char **words)
{
    kill_figures sum = {0};
    int left = count > 1 ? atoi(words[1]) : 1000, good = 1;
    unsigned seed = count > 2 ? (unsigned)atoi(words[2]) : 1u;
    for (; left > 0 && good; left -= EACH)
        good = kill_one(left < EACH ? left : EACH, seed++, &sum);
    printf("%d kills (%ld while an entry was being written): %ld entries confirmed, %ld kept, %ld lost, %ld faults\n",
           sum.kills, sum.killed_in_writing, sum.confirmed, sum.kept, sum.lost, sum.faults);
    return good && sum.lost == 0 && sum.faults == 0 ? 0 : 1;
}
