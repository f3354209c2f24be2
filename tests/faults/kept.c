/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "kept.h"
#include <stdlib.h>
#include <string.h>

static const char *const outputs[KEPT_OUTPUTS] = {"out.csv", "out.txt", "out.json"};
static const char before[] = "as it was";

kept keep(const outcome *run)
{
    kept usual = {.code = run->code, .out = strdup(run->out), .err = strdup(run->err)};
    ck_assert_msg(run->code >= 0 && run->code <= 2, "without a fault it ends with %d: %s", run->code, run->err);
    for (size_t i = 0; i < KEPT_OUTPUTS; i++)
        usual.file[i] = strdup(content(outputs[i]));
    return usual;
}

void kept_clear(kept *usual)
{
    free(usual->out);
    free(usual->err);
    for (size_t i = 0; i < KEPT_OUTPUTS; i++)
        free(usual->file[i]);
}

bool kept_same(const kept *usual, const outcome *run)
{
    for (size_t i = 0; i < KEPT_OUTPUTS; i++)
        if (strcmp(content(outputs[i]), usual->file[i]) != 0)
            return false;
    return run->code == usual->code && strcmp(run->out, usual->out) == 0 && strcmp(run->err, usual->err) == 0;
}

bool kept_whole(const kept *usual)
{
    for (size_t i = 0; i < KEPT_OUTPUTS; i++) {
        const char *now = content(outputs[i]);
        if (strcmp(now, usual->file[i]) != 0 && strcmp(now, before) != 0)
            return false;
    }
    return true;
}

bool kept_untouched(void)
{
    for (size_t i = 0; i < KEPT_OUTPUTS; i++)
        if (strcmp(content(outputs[i]), before) != 0)
            return false;
    return true;
}

void kept_restore(void)
{
    for (size_t i = 0; i < KEPT_OUTPUTS; i++)
        scratch_write(outputs[i], before);
}
