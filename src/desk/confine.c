/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "confine.h"
#include <fcntl.h>
#include <libgen.h>
#include <linux/landlock.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <unistd.h>

#ifndef LANDLOCK_ACCESS_FS_REFER /* of the second version */
#define LANDLOCK_ACCESS_FS_REFER (1ULL << 13)
#endif
#ifndef LANDLOCK_ACCESS_FS_TRUNCATE /* of the third */
#define LANDLOCK_ACCESS_FS_TRUNCATE (1ULL << 14)
#endif

#define MAKE                                                                                                           \
    (LANDLOCK_ACCESS_FS_REMOVE_DIR | LANDLOCK_ACCESS_FS_REMOVE_FILE | LANDLOCK_ACCESS_FS_MAKE_CHAR |                   \
     LANDLOCK_ACCESS_FS_MAKE_DIR | LANDLOCK_ACCESS_FS_MAKE_REG | LANDLOCK_ACCESS_FS_MAKE_SOCK |                        \
     LANDLOCK_ACCESS_FS_MAKE_FIFO | LANDLOCK_ACCESS_FS_MAKE_BLOCK | LANDLOCK_ACCESS_FS_MAKE_SYM)

static bool allow(int ruleset, const char *folder, unsigned long long access)
{
    struct landlock_path_beneath_attr beneath = {.allowed_access = access};
    bool done;
    beneath.parent_fd = open(folder, O_PATH | O_CLOEXEC);
    if (beneath.parent_fd < 0)
        return false;
    done = syscall(SYS_landlock_add_rule, ruleset, LANDLOCK_RULE_PATH_BENEATH, &beneath, 0) == 0;
    close(beneath.parent_fd);
    return done;
}

long desk_confine(size_t folders, const char *const *folder)
{
    /* A terminal for the progress of a job, and a place to throw things to, where there are such; not the whole of
     * /dev, which holds other programs' memory. */
    static const char *const device[] = {"/dev/null", "/dev/ptmx", "/dev/pts"};
    const long version = syscall(SYS_landlock_create_ruleset, NULL, 0, LANDLOCK_CREATE_RULESET_VERSION);
    struct landlock_ruleset_attr attr = {.handled_access_fs = LANDLOCK_ACCESS_FS_WRITE_FILE | MAKE};
    bool done = true;
    char *parent;
    int ruleset;
    if (version < 1)
        return 0;
    if (version >= 2)
        attr.handled_access_fs |= LANDLOCK_ACCESS_FS_REFER;
    if (version >= DESK_CONFINES_EMPTYING)
        attr.handled_access_fs |= LANDLOCK_ACCESS_FS_TRUNCATE;
    ruleset = (int)syscall(SYS_landlock_create_ruleset, &attr, sizeof attr.handled_access_fs, 0);
    if (ruleset < 0)
        return 0;
    for (size_t i = 0; i < folders; i++)
        done = (folder[i] == NULL || allow(ruleset, folder[i], attr.handled_access_fs)) && done;
    parent = strdup(folder[folders - 1]);
    done = parent != NULL && allow(ruleset, dirname(parent), LANDLOCK_ACCESS_FS_REMOVE_DIR) && done;
    free(parent);
    for (size_t i = 0; i < sizeof device / sizeof *device; i++)
        allow(ruleset, device[i], LANDLOCK_ACCESS_FS_WRITE_FILE);
    done = done && prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 && syscall(SYS_landlock_restrict_self, ruleset, 0) == 0;
    close(ruleset);
    return done ? version : 0;
}
