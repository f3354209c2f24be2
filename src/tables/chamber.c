/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include <bloomcoat/chamber.h>
#include <string.h>

enum { KEY, VALUE, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {{"key", true}, {"value", true}};
static const bc_csv_schema schema = {"key,value", COLUMNS, columns};

enum { LOAD_DIAMETER, PART_PITCH_EXTRA, PUMP_DOWN, HEAT, COOL_VENT, BETWEEN_LAYERS, KEYS };

static const char *const keys[KEYS] = {
    "load_diameter_mm", "part_pitch_extra_mm", "pump_down_min", "heat_min", "cool_vent_min", "between_layers_s",
};

#define MINUTES "a time in minutes from 0 to 10000 (a week)"

static const bc_csv_range ranges[KEYS] = {
    [LOAD_DIAMETER] = {0, true, 1e4, 0, "a diameter in mm above 0 and at most 10000"},
    [PART_PITCH_EXTRA] = {0, false, 1e4, 0, "a distance in mm from 0 to 10000"},
    [PUMP_DOWN] = {0, false, 1e4, 0, MINUTES},
    [HEAT] = {0, false, 1e4, 0, MINUTES},
    [COOL_VENT] = {0, false, 1e4, 0, MINUTES},
    [BETWEEN_LAYERS] = {0, false, 1e5, 0, "a time in seconds from 0 to 100000 (a day)"},
};

static bc_status read_rows(const bc_csv *csv, bc_chamber *chamber, bc_error *error)
{
    double *const value[KEYS] = {
        [LOAD_DIAMETER] = &chamber->load_diameter_mm, [PART_PITCH_EXTRA] = &chamber->part_pitch_extra_mm,
        [PUMP_DOWN] = &chamber->pump_down_min,        [HEAT] = &chamber->heat_min,
        [COOL_VENT] = &chamber->cool_vent_min,        [BETWEEN_LAYERS] = &chamber->between_layers_s,
    };
    bool *const flag[KEYS] = {
        [LOAD_DIAMETER] = &chamber->has_load_diameter, [PART_PITCH_EXTRA] = &chamber->has_part_pitch_extra,
        [PUMP_DOWN] = &chamber->has_pump_down,         [HEAT] = &chamber->has_heat,
        [COOL_VENT] = &chamber->has_cool_vent,         [BETWEEN_LAYERS] = &chamber->has_between_layers,
    };
    long line[KEYS] = {0};
    for (size_t row = 0; row < csv->rows; row++) {
        size_t key = 0;
        bc_status status = bc_csv_choice(csv, row, KEY, KEYS, keys, &key, error);
        if (status == BC_OK && *flag[key])
            status = bc_csv_fail(csv, row, KEY, error, "each key once (it is in line %ld already)", line[key]);
        if (status == BC_OK)
            status = bc_csv_number(csv, row, VALUE, &ranges[key], value[key], error);
        if (status != BC_OK)
            return status;
        *flag[key] = true;
        line[key] = csv->line[row];
    }
    return BC_OK;
}

bc_status bc_chamber_read(const char *path, bc_chamber *chamber, bc_error *error)
{
    bc_csv *csv = NULL;
    *chamber = (bc_chamber){0};
    bc_status status = bc_csv_read(path, &schema, &csv, error);
    if (status != BC_OK)
        return status;
    status = read_rows(csv, chamber, error);
    memcpy(chamber->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    if (status != BC_OK)
        *chamber = (bc_chamber){0};
    return status;
}
