/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The files of the shop's folder, to look at: by names of our own, which the folder's reader makes paths of.
 */
#include "live.h"
#include "text.h"
#include <bloomcoat/shop.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES (1 << 20)

/* process.csv, shop.csv, chamber-0, chamber-1, ...; NULL: there is none */
static const char *path_of(const bc_shop *shop, const char *name)
{
    static const char chamber[] = "chamber-";
    const size_t length = sizeof chamber - 1;
    char *end;
    unsigned long which;
    if (strcmp(name, "process.csv") == 0)
        return shop->process;
    if (strcmp(name, "shop.csv") == 0)
        return shop->defaults;
    if (strncmp(name, chamber, length) != 0 || name[length] < '0' || name[length] > '9')
        return NULL;
    which = strtoul(name + length, &end, 10);
    return *end == '\0' && which < shop->chambers ? shop->chamber[which] : NULL;
}

static bc_status read_whole(const char *path, bc_text *out, bc_error *error)
{
    FILE *file = fopen(path, "rbe");
    char piece[8192];
    size_t got;
    bool failed;
    if (file == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "%s: %s", path, strerror(errno));
    while (out->length < MOST_BYTES && (got = fread(piece, 1, sizeof piece, file)) > 0)
        bc_text_add_bytes(out, piece, got);
    failed = ferror(file) != 0;
    fclose(file);
    return failed ? bc_fail(error, BC_ERROR_IO, "%s: it cannot be read", path) : bc_text_end(out, error);
}

bc_status desk_shop_file(const desk_options *options, const char *name, bc_text *out, bc_error *error)
{
    bc_shop shop;
    const char *path;
    bc_status status;
    if (options->shop == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "there is no shop's folder");
    status = bc_shop_read(options->shop, &shop, error);
    if (status != BC_OK)
        return status;
    path = path_of(&shop, name);
    status = path == NULL ? bc_fail(error, BC_ERROR_INPUT, "the shop's folder has no such file")
                          : read_whole(path, out, error);
    bc_shop_clear(&shop);
    return status;
}
