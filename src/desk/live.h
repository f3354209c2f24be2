/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_DESK_LIVE_H
#define BLOOMCOAT_DESK_LIVE_H
/*
 * What must follow a layer's border while it is dragged: computed in this process, by the same functions of the library
 * as 'spectrum' and 'check', and written by the same functions as their --json.
 */
#include "desk.h"
#include "folder.h"
#include <bloomcoat/report.h>
#include <cjson/cJSON.h>
#include <pthread.h>

/* Materials that several threads compute with; the last one closes them, when they are no longer the desk's. */
typedef struct desk_open_materials {
    bc_materials *materials;
    size_t uses;  /* since they were opened */
    size_t users; /* the desk itself, while they are its own, and whoever computes */
} desk_open_materials;

typedef struct desk_live {
    pthread_mutex_t lock; /* materials are read on first use, by one thread at a time; computing is done without it */
    pthread_mutex_t turn; /* what takes long is computed one at a time, so that what is dragged is not kept waiting */
    const desk_options *options;
    const desk_folder *home;
    desk_open_materials *open; /* NULL: none yet */
} desk_live;

void desk_live_open(desk_live *live, const desk_options *options, const desk_folder *home);
void desk_live_clear(desk_live *live);

/* {"incident", "substrate", "layers": [{"material", "thickness_nm", "index_gradient_percent" (0)}], "from_nm", "to_nm",
 * "step_nm", "aoi_deg": [], "callouts": "words"}, layers from the substrate on. Writes {"spectrum": as of 'spectrum',
 * "check": as of 'check', or null without callouts}. BC_ERROR_INPUT, with a message for a person, when it cannot be
 * computed, or is too much for a moment: 60 layers, 40 um of them, 2001 wavelengths, 8 angles, 64 callouts, 100000
 * wavelengths that these need. */
bc_status desk_live_compute(desk_live *live, const cJSON *request, bc_text *out, bc_error *error);

/* See to it that live->open is there; under the lock. */
bc_status desk_live_materials(desk_live *live, bc_error *error);

/* {"kind": "stack" or "callouts", "name", "contents": BASE64}: such a file, read as every command reads it. Writes
 * {"incident", "substrate", "layers": [{"material", "thickness_nm", "index_gradient_percent", "fixed"}]} from the
 * substrate on, or {"words"}. */
bc_status desk_live_read(desk_live *live, const cJSON *request, bc_text *out, bc_error *error);

/* {"words": text}: the words of a drawing. Writes {"notes": [{"text", "callouts": as of 'callouts' and
 * "words" of each of them, or "error"}]}, a
 * note for each line or part between semicolons. */
bc_status desk_words_understand(const cJSON *request, bc_text *out, bc_error *error);

/* What the page must have before anyone asks: {"version", "shop": path or null, "process": whether it has
 * a process file, "tables": [], "materials": [] (layers
 * and others by name), "glasses": []}. */
bc_status desk_live_about(desk_live *live, bc_text *out, bc_error *error);

/* process.csv, shop.csv or chamber-N of the shop's folder, as it is. BC_ERROR_INPUT when there is none. */
bc_status desk_shop_file(const desk_options *options, const char *name, bc_text *out, bc_error *error);

#endif
