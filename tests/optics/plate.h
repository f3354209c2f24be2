/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef OPTICS_PLATE_H
#define OPTICS_PLATE_H
/*
 * A plane-parallel part in plain arrays, as specimen.h has stacks; random ones.
 */
#include "specimen.h"
#include <bloomcoat/part.h>

/* A front, and a back of the same materials. */
typedef struct plate {
    specimen front;
    bc_back_kind back;
    double glass_mm;
    double behind_n[MOST_WAVELENGTHS]; /* with BC_BACK_OWN */
    size_t back_layers;
    unsigned back_material[MOST_LAYERS]; /* from behind to the glass */
    double back_nm[MOST_LAYERS];
} plate;

/* The setup of the part; `index` has room for its materials and lives as long as the setup. */
bc_part_setup setup_of_plate(const plate *part, bc_index index[MOST_MATERIALS]);

/* A workspace for the part, not evaluated yet; fails the test when it cannot be had. */
bc_part *open_plate_of(const bc_part_setup *setup);
bc_part *open_plate(const plate *part);
void evaluate_plate(bc_part *made, const plate *part, bool gradient);

/* Glass 1.4 to 2, layers of `kind`, thin enough metals for light to reach the glass. */
plate random_plate(random_source *random, specimen_kind kind, bc_back_kind back, double glass_k);

/* Every kind of back that there is. */
#define BACKS 3
extern const bc_back_kind plate_backs[BACKS];

#endif
