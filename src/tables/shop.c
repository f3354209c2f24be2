/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "csv_file.h"
#include "escaped.h"
#include "folder.h"
#include "grow.h"
#include "place.h"
#include <bloomcoat/shop.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { KEY, VALUE, COLUMNS };

static const bc_csv_column columns[COLUMNS] = {{"key", true}, {"value", true}};
static const bc_csv_schema schema = {"key,value", COLUMNS, columns};

static const char *const keys[BC_SHOP_KEYS] = {
    [BC_SHOP_YIELD_PERCENT] = "yield_percent",
    [BC_SHOP_UNCERTAINTY_PERCENT] = "uncertainty_percent",
    [BC_SHOP_WAVELENGTH_UNCERTAINTY_NM] = "wavelength_uncertainty_nm",
    [BC_SHOP_SCALE_UNCERTAINTY_PERCENT] = "scale_uncertainty_percent",
    [BC_SHOP_JUDGE] = "judge",
    [BC_SHOP_FAILED_PART] = "failed_part",
    [BC_SHOP_CHAMBER] = "chamber",
    [BC_SHOP_VALIDITY_DAYS] = "validity_days",
    [BC_SHOP_FIRST_QUOTE_NUMBER] = "first_quote_number",
    [BC_SHOP_PAGE_FOOT] = "page_foot",
    [BC_SHOP_RECORD] = "record",
};

static const char *const lacks[BC_SHOP_KEYS] = {
    [BC_SHOP_YIELD_PERCENT] = "quote asks for the yield it has by itself",
    [BC_SHOP_UNCERTAINTY_PERCENT] =
        "inspect judges without a measurement uncertainty unless the command line gives one",
    [BC_SHOP_WAVELENGTH_UNCERTAINTY_NM] = "inspect takes its own default for the wavelength",
    [BC_SHOP_SCALE_UNCERTAINTY_PERCENT] = "inspect takes its own default for the scale",
    [BC_SHOP_FAILED_PART] = "quote counts parts of a failed run as its own default says",
    [BC_SHOP_FIRST_QUOTE_NUMBER] = "a quote has no number unless the command line gives one",
};

static const bc_csv_range ranges[BC_SHOP_KEYS] = {
    [BC_SHOP_YIELD_PERCENT] = {1, false, 99.9, 0, "a yield in percent from 1 to 99.9"},
    [BC_SHOP_UNCERTAINTY_PERCENT] = {0, false, 100, 0, "an uncertainty in percent from 0 to 100"},
    [BC_SHOP_WAVELENGTH_UNCERTAINTY_NM] = {0, false, 100, 0, "an uncertainty in nm from 0 to 100"},
    [BC_SHOP_SCALE_UNCERTAINTY_PERCENT] = {0, false, 50, 0, "an uncertainty in percent of the reading from 0 to 50"},
    [BC_SHOP_VALIDITY_DAYS] = {1, false, 3650, 0, "a number of days from 1 to 3650"},
    [BC_SHOP_FIRST_QUOTE_NUMBER] = {1, false, 1e9, 0, "a number from 1 to 1000000000"},
};

const char *bc_shop_key_name(bc_shop_key key)
{
    return keys[key];
}

const char *bc_shop_key_lack(bc_shop_key key)
{
    return lacks[key];
}

static bool is_whole(bc_shop_key key)
{
    return key == BC_SHOP_VALIDITY_DAYS || key == BC_SHOP_FIRST_QUOTE_NUMBER;
}

static bc_status check_value(const bc_csv *csv, size_t row, bc_shop_key key, bc_error *error)
{
    static const char *const failed_part[] = {"strip", "scrap"}, *const judge[] = {"curve", "points"};
    static const char *const yes_or_no[] = {"yes", "no"};
    const char *text = bc_csv_text(csv, row, VALUE);
    double number = 0.0;
    size_t choice;
    bc_status status;
    if (text[0] == '\0' || strlen(text) >= BC_SHOP_VALUE_SIZE)
        return bc_csv_fail(csv, row, VALUE, error, "a value of 1 to %d bytes", BC_SHOP_VALUE_SIZE - 1);
    if (key == BC_SHOP_FAILED_PART)
        return bc_csv_choice(csv, row, VALUE, 2, failed_part, &choice, error);
    if (key == BC_SHOP_JUDGE)
        return bc_csv_choice(csv, row, VALUE, 2, judge, &choice, error);
    if (key == BC_SHOP_RECORD)
        return bc_csv_choice(csv, row, VALUE, 2, yes_or_no, &choice, error);
    if (ranges[key].expected == NULL)
        return BC_OK;
    status = bc_csv_number(csv, row, VALUE, &ranges[key], &number, error);
    if (status == BC_OK && is_whole(key) && strspn(text, "0123456789") != strlen(text))
        return bc_csv_fail(csv, row, VALUE, error, "a whole number");
    return status;
}

static bc_status read_defaults(bc_shop *shop, bc_error *error)
{
    bc_csv *csv = NULL;
    bc_status status = bc_csv_read(shop->defaults, &schema, &csv, error);
    for (size_t row = 0; status == BC_OK && row < csv->rows; row++) {
        size_t key = 0;
        status = bc_csv_choice(csv, row, KEY, BC_SHOP_KEYS, keys, &key, error);
        if (status == BC_OK && shop->has[key])
            status = bc_csv_fail(csv, row, KEY, error, "each key once");
        if (status == BC_OK)
            status = check_value(csv, row, (bc_shop_key)key, error);
        if (status == BC_OK) {
            shop->has[key] = true;
            snprintf(shop->value[key], BC_SHOP_VALUE_SIZE, "%s", bc_csv_text(csv, row, VALUE));
        }
    }
    if (status == BC_OK)
        memcpy(shop->sha256, csv->sha256, sizeof csv->sha256);
    bc_csv_free(csv);
    return status;
}

static bc_status add_chamber(bc_shop *shop, size_t *capacity, char *path, bc_error *error)
{
    char **moved = bc_grow(shop->chamber, capacity, shop->chambers, sizeof *moved);
    if (moved == NULL) {
        free(path);
        return bc_fail_memory(error);
    }
    shop->chamber = moved;
    moved[shop->chambers++] = path;
    return BC_OK;
}

static bc_status find_chambers(bc_shop *shop, bc_error *error)
{
    bc_folder_list list = {0};
    char *path = NULL, *chambers = NULL;
    size_t capacity = 0;
    bc_status status = bc_folder_find(shop->folder, "chamber.csv", false, &path, error);
    if (status == BC_OK && path != NULL)
        status = add_chamber(shop, &capacity, path, error);
    if (status == BC_OK)
        status = bc_folder_find(shop->folder, "chambers", true, &chambers, error);
    if (status == BC_OK && chambers != NULL)
        status = bc_folder_read(chambers, false, &list, error);
    for (size_t i = 0; status == BC_OK && i < list.count; i++) {
        status = bc_folder_find(chambers, list.name[i], false, &path, error);
        if (status == BC_OK && path != NULL)
            status = add_chamber(shop, &capacity, path, error);
    }
    bc_folder_clear(&list);
    free(chambers);
    return status;
}

bc_status bc_shop_read(const char *folder, bc_shop *shop, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE];
    struct stat info;
    bc_status status;
    *shop = (bc_shop){0};
    if (bc_place_stat(folder, &info) != 0 || !S_ISDIR(info.st_mode))
        return bc_fail(error, BC_ERROR_INPUT,
                       "%s: found no such folder; expected a shop's folder, as 'bloomcoat shop init' makes it",
                       bc_escaped_path(folder, shown));
    shop->folder = strdup(folder);
    status = shop->folder == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = bc_folder_find(folder, "process.csv", false, &shop->process, error);
    if (status == BC_OK)
        status = bc_folder_find(folder, "tables", true, &shop->tables, error);
    if (status == BC_OK)
        status = bc_folder_find(folder, "shop.csv", false, &shop->defaults, error);
    if (status == BC_OK)
        status = bc_folder_find(folder, "standard", true, &shop->standard, error);
    if (status == BC_OK)
        status = find_chambers(shop, error);
    if (status == BC_OK && shop->process == NULL && shop->tables == NULL && shop->defaults == NULL &&
        shop->standard == NULL && shop->chambers == 0)
        status = bc_fail(error, BC_ERROR_INPUT,
                         "%s: found none of process.csv, chamber.csv, chambers/, tables/, standard/ and shop.csv; "
                         "expected at least one",
                         bc_escaped_path(folder, shown));
    if (status == BC_OK && shop->defaults != NULL)
        status = read_defaults(shop, error);
    if (status == BC_OK && shop->has[BC_SHOP_CHAMBER] && bc_shop_chamber(shop, shop->value[BC_SHOP_CHAMBER]) == NULL)
        status = bc_fail(error, BC_ERROR_INPUT,
                         "%s: found chamber '%s', of which there is no file; expected chambers/%s.csv", shop->defaults,
                         shop->value[BC_SHOP_CHAMBER], shop->value[BC_SHOP_CHAMBER]);
    if (status != BC_OK)
        bc_shop_clear(shop);
    return status;
}

void bc_shop_clear(bc_shop *shop)
{
    for (size_t i = 0; i < shop->chambers; i++)
        free(shop->chamber[i]);
    free(shop->chamber);
    free(shop->folder);
    free(shop->process);
    free(shop->tables);
    free(shop->standard);
    free(shop->defaults);
    *shop = (bc_shop){0};
}

const char *bc_shop_chamber(const bc_shop *shop, const char *name)
{
    for (size_t i = 0; i < shop->chambers; i++) {
        const char *base = strrchr(shop->chamber[i], '/') + 1;
        if (strncmp(base, name, strlen(name)) == 0 && strcmp(base + strlen(name), ".csv") == 0)
            return shop->chamber[i];
    }
    return NULL;
}
