/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "plate.h"
#include <check.h>
#include <math.h>

const bc_back_kind plate_backs[BACKS] = {BC_BACK_UNCOATED, BC_BACK_SAME, BC_BACK_OWN};

bc_part_setup setup_of_plate(const plate *part, bc_index index[MOST_MATERIALS])
{
    const bc_part_setup setup = {.front = setup_of(&part->front, index),
                                 .back = part->back,
                                 .substrate_mm = part->glass_mm,
                                 .back_medium = {part->behind_n, NULL},
                                 .back_materials = part->front.materials,
                                 .back_index = index,
                                 .back_layers = part->back_layers,
                                 .back_material = part->back_material,
                                 .back_thickness_nm = part->back_nm};
    return setup;
}

bc_part *open_plate_of(const bc_part_setup *setup)
{
    bc_part *made;
    bc_error error;
    ck_assert_msg(bc_part_alloc(setup, &made, &error) == BC_OK, "%s", error.message);
    return made;
}

bc_part *open_plate(const plate *part)
{
    bc_index index[MOST_MATERIALS];
    const bc_part_setup setup = setup_of_plate(part, index);
    return open_plate_of(&setup);
}

void evaluate_plate(bc_part *made, const plate *part, bool gradient)
{
    bc_part_evaluate(made, part->front.layers, part->front.material, part->front.thickness_nm, gradient);
}

plate random_plate(random_source *random, specimen_kind kind, bc_back_kind back, double glass_k)
{
    plate part = {.front = random_specimen(random, kind, 6), .back = back, .glass_mm = uniform(random, 0.1, 10.0)};
    const double glass_n = uniform(random, 1.4, 2.0);
    for (size_t j = 0; j < part.front.layers; j++)
        if (part.front.k[part.front.material[j]][0] > 0.3)
            part.front.thickness_nm[j] *= 0.1;
    for (size_t i = 0; i < part.front.wavelengths; i++) {
        part.front.substrate_n[i] = glass_n + 0.01 * pow(500.0 / part.front.wavelength_nm[i], 2.0);
        part.front.substrate_k[i] = glass_k * uniform(random, 0.5, 1.5);
        part.behind_n[i] = uniform(random, 1.2, 1.4);
    }
    part.back_layers = below(random, 6);
    for (size_t j = 0; j < part.back_layers; j++) {
        part.back_material[j] = (unsigned)below(random, part.front.materials);
        part.back_nm[j] = uniform(random, 5.0, part.front.k[part.back_material[j]][0] > 0.3 ? 20.0 : 200.0);
    }
    return part;
}
