/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "deposition.h"

const bc_chamber whole_chamber = {.has_load_diameter = true,
                                  .has_part_pitch_extra = true,
                                  .has_pump_down = true,
                                  .has_heat = true,
                                  .has_cool_vent = true,
                                  .has_between_layers = true,
                                  .load_diameter_mm = 640.0,
                                  .part_pitch_extra_mm = 4.0,
                                  .pump_down_min = 45.0,
                                  .heat_min = 30.0,
                                  .cool_vent_min = 50.0,
                                  .between_layers_s = 70.0};

bc_monitor monitor_at(const double *wavelength_nm)
{
    const bc_monitor monitor = {.signal = BC_R,
                                .error = 0.005,
                                .wavelengths = 1,
                                .wavelength_nm = wavelength_nm,
                                .from_nm = 400.0,
                                .to_nm = 800.0,
                                .step_nm = 5.0};
    return monitor;
}

void open_rates(workshop *w)
{
    workshop_open(w, "air", "1.38,2.1", "1.52,517642");
    w->stack.layer[0].thickness_nm = 104.0;
    w->stack.layer[1].thickness_nm = 19.4;
    workshop_errors(w, "1.38", 0.0, 0.0, 0.0);
    workshop_errors(w, "2.1", 0.0, 0.0, 0.0);
    for (size_t i = 0; i < 2; i++)
        w->row[i].has_rate = w->row[i].has_tooling = true;
    w->row[0].rate_nm_per_s = 0.8;
    w->row[0].tooling = 1.04;
    w->row[1].rate_nm_per_s = 0.25;
    w->row[1].tooling = 0.97;
}

bc_deposit_result deposit(const workshop *w, const bc_process *process, const bc_chamber *chamber,
                          const bc_monitor *monitor)
{
    bc_deposit_result result;
    bc_error error;
    ck_assert_msg(bc_deposit(&w->stack, process, chamber, monitor, &result, &error) == BC_OK, "%s", error.message);
    return result;
}

void open_five(workshop *w)
{
    static const double thickness_nm[] = {97.3, 55.1, 160.2, 12.4, 71.9};
    workshop_open(w, "air", "1.38,2.1,1.65,2.1,1.46", "1.52,517642,1.80");
    for (size_t j = 0; j < 5; j++)
        w->stack.layer[j].thickness_nm = thickness_nm[j];
    workshop_errors(w, "*", 0.01, 0.0, 0.0);
    workshop_errors(w, "2.1", 0.02, 0.0, 0.0);
    w->row[0].has_tooling = w->row[1].has_tooling = true;
}
