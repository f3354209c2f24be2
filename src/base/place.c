/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "place.h"

static const bc_places *places;

void bc_places_set(const bc_places *of_process)
{
    places = of_process;
}

const char *bc_place(const char *path)
{
    return places == NULL || places->where == NULL ? path : places->where(places->context, path);
}

void bc_place_seen(const char *path, const char *bytes, size_t length)
{
    if (places != NULL && places->seen != NULL)
        places->seen(places->context, path, bytes, length);
}

int bc_place_stat(const char *path, struct stat *info)
{
    const int failed = stat(bc_place(path), info);
    if (failed == 0)
        bc_place_seen(path, NULL, 0);
    return failed;
}
