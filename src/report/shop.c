/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/json.h"
#include "shown.h"
#include <stdlib.h>

static void add_line(bc_text *text, const char *what, const char *path, const char *lack)
{
    bc_text words = {0};
    bc_text_add(&words, "%s: ", what);
    if (path != NULL)
        bc_text_add_plain(&words, path);
    else
        bc_text_add(&words, "none; %s", lack);
    bc_text_wrap_gathered(text, 2, &words);
}

static void add_defaults(const bc_shop *shop, bc_text *text)
{
    for (size_t key = 0; key < BC_SHOP_KEYS; key++) {
        const char *name = bc_shop_key_name((bc_shop_key)key), *lack = bc_shop_key_lack((bc_shop_key)key);
        char shown[BC_SHOWN_SIZE];
        bc_text words = {0};
        if (shop->has[key])
            bc_text_add(&words, "%s: %s", name, bc_shown(shop->value[key], shown));
        else if (lack != NULL)
            bc_text_add(&words, "%s: none; %s", name, lack);
        bc_text_wrap_gathered(text, 4, &words);
    }
}

bc_status bc_report_shop_text(const bc_shop *shop, size_t tables, bc_text *out, bc_error *error)
{
    bc_text_add(out, "Shop ");
    bc_text_add_plain(out, shop->folder);
    bc_text_add(out, ": every file was read.\n");
    add_line(out, "process", shop->process, "quote and yield cannot say what share of the runs succeeds");
    for (size_t i = 0; i < shop->chambers; i++)
        add_line(out, "chamber", shop->chamber[i], "");
    if (shop->chambers == 0)
        add_line(out, "chamber", NULL, "neither loads nor hours can be counted");
    add_line(out, "tables", tables == 0 ? NULL : shop->tables,
             "every index is a published one, not that of this shop's layers");
    add_line(out, "shop.csv", shop->defaults, "every default is the program's own");
    add_defaults(shop, out);
    return bc_text_end(out, error);
}

bc_status bc_report_shop_json(const bc_shop *shop, size_t tables, bc_text *out, bc_error *error)
{
    bc_json json;
    cJSON *chambers, *defaults;
    bc_json_open(&json);
    bc_json_string(&json, json.root, "folder", shop->folder);
    bc_json_string(&json, json.root, "process_file", shop->process);
    chambers = bc_json_array(&json, json.root, "chamber_files");
    for (size_t i = 0; i < shop->chambers; i++)
        bc_json_string(&json, chambers, NULL, shop->chamber[i]);
    bc_json_string(&json, json.root, "tables_folder", shop->tables);
    bc_json_number(&json, json.root, "tables", (double)tables, 15);
    bc_json_string(&json, json.root, "defaults_file", shop->defaults);
    defaults = bc_json_object(&json, json.root, "defaults");
    for (size_t key = 0; key < BC_SHOP_KEYS; key++)
        bc_json_string(&json, defaults, bc_shop_key_name((bc_shop_key)key), shop->has[key] ? shop->value[key] : NULL);
    return bc_json_close(&json, out, error);
}
