/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_MATERIALS_STORE_H
#define BLOOMCOAT_MATERIALS_STORE_H
/*
 * What a bc_materials holds.
 */
#include <bloomcoat/weight.h>

struct bc_materials {
    size_t folders, folder_capacity;
    char **folder;
    size_t known, known_capacity;
    bc_dispersion **dispersion; /* handed out so far */
    size_t weights, weight_capacity;
    bc_weight **weight; /* likewise */
    size_t names, name_capacity;
    char **name; /* as bc_materials_list() last found them */
};

/* Whether `name` can be a table's: the characters it may hold, not too long, no `air` and no constant. */
bool bc_materials_has_name_letters(const char *name);

#endif
