/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/quote.h>
#include <math.h>

#define OFFSETS   24                     /* of the lattice, along each side of its cell */
#define TOUCHING  1e-9                   /* of the pitch: what touches fits */
#define ROW_PITCH 0.86602540378443864676 /* sqrt(3) / 2 */

/* Points x = whole + shift with |x| <= half. */
static double points_in(double half, double shift)
{
    return floor(half - shift) + floor(half + shift) + 1.0;
}

/* Lattice points of pitch 1 in a circle, the lattice moved by (shift_x, shift_y) cells. */
static double count_points(double radius, double shift_x, double shift_y)
{
    double count = 0.0;
    for (double row = ceil(-radius / ROW_PITCH - shift_y); (row + shift_y) * ROW_PITCH <= radius; row += 1.0) {
        const double y = (row + shift_y) * ROW_PITCH;
        count += points_in(sqrt(fmax(radius * radius - y * y, 0.0)), shift_x + 0.5 * (row + shift_y));
    }
    return count;
}

size_t bc_parts_per_load(double load_diameter_mm, double part_diameter_mm, double pitch_extra_mm)
{
    const double pitch = part_diameter_mm + pitch_extra_mm;
    const double radius = 0.5 * (load_diameter_mm - part_diameter_mm) / pitch + TOUCHING;
    double best = 0.0;
    if (!(part_diameter_mm > 0.0))
        return 0;
    for (int i = 0; i < OFFSETS; i++)
        for (int j = 0; j < OFFSETS; j++)
            best = fmax(best, count_points(radius, (double)i / OFFSETS, (double)j / OFFSETS));
    return best < 1e9 ? (size_t)best : 1000000000;
}

double bc_layer_hours(const bc_stack *stack, const bc_process *process)
{
    double seconds = 0.0;
    for (size_t j = 0; j < stack->layers; j++) {
        const bc_process_row row = bc_process_for(process, stack->layer[j].material.name);
        if (!row.has_rate)
            return NAN;
        seconds += stack->layer[j].thickness_nm / (row.tooling * row.rate_nm_per_s);
    }
    return seconds / 3600.0;
}

double bc_hours_per_load(const bc_stack *stack, const bc_process *process, const bc_chamber *chamber)
{
    if (chamber == NULL)
        return NAN;
    return bc_layer_hours(stack, process) +
           fmax(0.0, (double)stack->layers - 1.0) * chamber->between_layers_s / 3600.0 +
           (chamber->pump_down_min + chamber->heat_min + chamber->cool_vent_min) / 60.0;
}
