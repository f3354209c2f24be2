/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "internal/json.h"
#include <stdlib.h>

/* A figure that a file does not give, and what is not known without it. */
typedef struct lack {
    bool given;
    const char *name, *cost;
} lack;

enum { PROCESS_LACKS = 6, CHAMBER_LACKS = 6 };

static void process_lacks(const bc_process *process, lack of[PROCESS_LACKS])
{
    const lack all[PROCESS_LACKS] = {
        {process->has_rate, "rate_nm_per_s", "neither the time of a layer nor hours are known"},
        {process->has_tooling, "tooling_factor", "the monitor is taken to show the thickness on the part"},
        {process->has_thickness_sigma, "thickness_sigma_percent",
         "layers are taken to come out as thick as asked: yields are too high"},
        {process->has_run_thickness_sigma, "run_thickness_sigma_percent",
         "no drift from run to run is simulated: yields are too high"},
        {process->has_index_sigma, "index_sigma", "indices are taken as the tables have them: yields are too high"},
        {process->has_minimum, "minimum_nm", "designs take 8 nm for the thinnest layer"},
    };
    for (size_t i = 0; i < PROCESS_LACKS; i++)
        of[i] = all[i];
}

static void chamber_lacks(const bc_chamber *chamber, lack of[CHAMBER_LACKS])
{
    const lack all[CHAMBER_LACKS] = {
        {chamber->has_load_diameter, "load_diameter_mm", "parts per load and loads are not known"},
        {chamber->has_part_pitch_extra, "part_pitch_extra_mm", "parts are packed edge to edge"},
        {chamber->has_pump_down, "pump_down_min", "hours leave out pumping down"},
        {chamber->has_heat, "heat_min", "hours leave out heating"},
        {chamber->has_cool_vent, "cool_vent_min", "hours leave out cooling and venting"},
        {chamber->has_between_layers, "between_layers_s", "hours leave out the time between layers"},
    };
    for (size_t i = 0; i < CHAMBER_LACKS; i++)
        of[i] = all[i];
}

static void add_line(bc_text *text, const char *what, const char *path, const char *cost)
{
    bc_text words = {0};
    bc_text_add(&words, "%s: ", what);
    if (path != NULL)
        bc_text_add_plain(&words, path);
    else
        bc_text_add(&words, "none; %s", cost);
    bc_text_wrap_gathered(text, 2, &words);
}

static void add_lacks(size_t count, const lack *of, bc_text *text)
{
    for (size_t i = 0; i < count; i++) {
        bc_text words = {0};
        if (of[i].given)
            continue;
        bc_text_add(&words, "%s: none; %s", of[i].name, of[i].cost);
        bc_text_wrap_gathered(text, 4, &words);
    }
}

static void add_defaults(const bc_shop *shop, bc_text *text)
{
    for (size_t key = 0; key < BC_SHOP_KEYS; key++) {
        const char *name = bc_shop_key_name((bc_shop_key)key), *cost = bc_shop_key_lack((bc_shop_key)key);
        char shown[BC_ESCAPED_SIZE];
        bc_text words = {0};
        if (shop->has[key])
            bc_text_add(&words, "%s: %s", name, bc_escaped(shop->value[key], shown));
        else if (cost != NULL)
            bc_text_add(&words, "%s: none; %s", name, cost);
        bc_text_wrap_gathered(text, 4, &words);
    }
}

#define NO_PROCESS   "quote and yield cannot say what share of the runs succeeds"
#define NO_CHAMBER   "neither loads nor hours can be counted"
#define NO_TABLES    "every index is a published one, not that of this shop's layers"
#define NO_STANDARDS "quote searches for every request anew"
#define NO_FILE      "every default is the program's own"

bc_status bc_report_shop_text(const bc_shop_report *report, bc_text *out, bc_error *error)
{
    const bc_shop *shop = report->shop;
    lack process[PROCESS_LACKS], chamber[CHAMBER_LACKS];
    bc_text_add(out, "Shop ");
    bc_text_add_plain(out, shop->folder);
    bc_text_add(out, ": every file was read.\n");
    add_line(out, "process", shop->process, NO_PROCESS);
    if (shop->process != NULL) {
        process_lacks(report->process, process);
        add_lacks(PROCESS_LACKS, process, out);
    }
    for (size_t i = 0; i < shop->chambers; i++) {
        add_line(out, "chamber", shop->chamber[i], "");
        chamber_lacks(&report->chamber[i], chamber);
        add_lacks(CHAMBER_LACKS, chamber, out);
    }
    if (shop->chambers == 0)
        add_line(out, "chamber", NULL, NO_CHAMBER);
    add_line(out, "tables", report->tables == 0 ? NULL : shop->tables, NO_TABLES);
    add_line(out, "standard coatings", report->standards == 0 ? NULL : shop->standard, NO_STANDARDS);
    add_line(out, "shop.csv", shop->defaults, NO_FILE);
    add_defaults(shop, out);
    return bc_text_end(out, error);
}

static void lack_json(bc_json *json, cJSON *array, const char *file, const char *name, const char *cost)
{
    cJSON *object = bc_json_object(json, array, NULL);
    bc_json_string(json, object, "file", file);
    bc_json_string(json, object, "missing", name);
    bc_json_string(json, object, "cost", cost);
}

static void lacks_json(const bc_shop_report *report, bc_json *json)
{
    const bc_shop *shop = report->shop;
    cJSON *array = bc_json_array(json, json->root, "lacks");
    lack process[PROCESS_LACKS], chamber[CHAMBER_LACKS];
    if (shop->process == NULL)
        lack_json(json, array, NULL, "process", NO_PROCESS);
    else
        process_lacks(report->process, process);
    for (size_t i = 0; shop->process != NULL && i < PROCESS_LACKS; i++)
        if (!process[i].given)
            lack_json(json, array, shop->process, process[i].name, process[i].cost);
    if (shop->chambers == 0)
        lack_json(json, array, NULL, "chamber", NO_CHAMBER);
    for (size_t c = 0; c < shop->chambers; c++) {
        chamber_lacks(&report->chamber[c], chamber);
        for (size_t i = 0; i < CHAMBER_LACKS; i++)
            if (!chamber[i].given)
                lack_json(json, array, shop->chamber[c], chamber[i].name, chamber[i].cost);
    }
    if (report->tables == 0)
        lack_json(json, array, NULL, "tables", NO_TABLES);
    if (report->standards == 0)
        lack_json(json, array, NULL, "standard", NO_STANDARDS);
    if (shop->defaults == NULL)
        lack_json(json, array, NULL, "shop.csv", NO_FILE);
    for (size_t key = 0; key < BC_SHOP_KEYS; key++)
        if (!shop->has[key] && bc_shop_key_lack((bc_shop_key)key) != NULL)
            lack_json(json, array, shop->defaults, bc_shop_key_name((bc_shop_key)key),
                      bc_shop_key_lack((bc_shop_key)key));
}

bc_status bc_report_shop_json(const bc_shop_report *report, bc_text *out, bc_error *error)
{
    const bc_shop *shop = report->shop;
    bc_json json;
    cJSON *chambers, *defaults;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "folder", shop->folder);
    bc_json_string(&json, json.root, "process_file", shop->process);
    chambers = bc_json_array(&json, json.root, "chamber_files");
    for (size_t i = 0; i < shop->chambers; i++)
        bc_json_string(&json, chambers, NULL, shop->chamber[i]);
    bc_json_string(&json, json.root, "tables_folder", shop->tables);
    bc_json_number(&json, json.root, "tables", (double)report->tables, 15);
    bc_json_number(&json, json.root, "standards", (double)report->standards, 15);
    bc_json_string(&json, json.root, "defaults_file", shop->defaults);
    defaults = bc_json_object(&json, json.root, "defaults");
    for (size_t key = 0; key < BC_SHOP_KEYS; key++)
        bc_json_string(&json, defaults, bc_shop_key_name((bc_shop_key)key), shop->has[key] ? shop->value[key] : NULL);
    lacks_json(report, &json);
    return bc_json_close(&json, out, error);
}
