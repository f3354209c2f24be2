/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

const fuzz_target fuzz_targets[] = {
    {"dispersion", fuzz_dispersion},
    {"stack", fuzz_stack},
    {"callouts", fuzz_callouts},
    {"drawing", fuzz_drawing},
    {"process", fuzz_process},
    {"chamber", fuzz_chamber},
    {"profile", fuzz_profile},
    {"request", fuzz_request},
    {"reference", fuzz_reference},
    {"measured", fuzz_measured},
    {"command_line", fuzz_command_line},
    {"web", fuzz_web},
    {NULL, NULL},
};
