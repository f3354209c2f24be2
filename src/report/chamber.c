/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/parts.h"

void bc_add_missing_steps(bc_text *lines, const bc_chamber *chamber, const char *without)
{
    const struct {
        bool given;
        const char *key;
    } step[] = {{chamber->has_pump_down, "pump_down_min"},
                {chamber->has_heat, "heat_min"},
                {chamber->has_cool_vent, "cool_vent_min"},
                {chamber->has_between_layers, "between_layers_s"}};
    for (size_t i = 0; i < sizeof step / sizeof step[0]; i++)
        if (!step[i].given)
            bc_text_add(lines, "The chamber file gives no %s: %s without it.\n", step[i].key, without);
}
