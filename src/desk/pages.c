/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "pages.h"
#include <string.h>

/* What the build makes of the files in page/: an array of bytes of each, and the list `pages`. */
#include "pages.inc"

const desk_page *desk_page_find(const char *path)
{
    for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++)
        if (strcmp(pages[i].path, path) == 0)
            return &pages[i];
    return NULL;
}

const char *desk_type_of(const char *name)
{
    static const char *const type[][2] = {
        {".html", "text/html; charset=utf-8"},
        {".css", "text/css; charset=utf-8"},
        {".js", "text/javascript; charset=utf-8"},
        {".svg", "image/svg+xml"},
        {".csv", "text/csv; charset=utf-8"},
        {".pdf", "application/pdf"},
        {".png", "image/png"},
    };
    const char *ending = strrchr(name, '.');
    for (size_t i = 0; ending != NULL && i < sizeof type / sizeof type[0]; i++)
        if (strcmp(ending, type[i][0]) == 0)
            return type[i][1];
    return "application/octet-stream";
}
