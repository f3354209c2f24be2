/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CHAMBER_H
#define BLOOMCOAT_CHAMBER_H
/*
 * A chamber: how many parts go into one load, and the time a load takes besides the layers themselves. Plain data.
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>

BC_API_BEGIN

/* Every value stands under its key in the file. One that is not known is 0. */
typedef struct bc_chamber {
    bool has_load_diameter, has_part_pitch_extra, has_pump_down, has_heat, has_cool_vent, has_between_layers;

    double load_diameter_mm;     /* of the circle that parts are loaded in, > 0 */
    double part_pitch_extra_mm;  /* centre to centre, two neighbouring parts lie their diameter and this apart, >= 0 */
    double pump_down_min;        /* from closing the door to the pressure at which work begins, >= 0 */
    double heat_min;             /* to bring the parts to temperature, beyond the time for pumping down, >= 0 */
    double cool_vent_min;        /* from the end of the last layer to the open door, >= 0 */
    double between_layers_s;     /* from the end of one layer to the start of the next, >= 0 */
    char sha256[BC_SHA256_SIZE]; /* of the file it was read from; empty: made by hand */
} bc_chamber;

/* Read a chamber file: `key,value`, each key at most once, in any order. */
bc_status bc_chamber_read(const char *path, bc_chamber *chamber, bc_error *error);

BC_API_END

#endif
