/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "output.h"
#include "shop.h"
#include "shown.h"
#include "text.h"
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What 'shop init' writes: files that work, every figure of which the shop replaces by its own. */
static const struct {
    const char *name, *text;
} starting_files[] = {
    {"process.csv",
     "# What the chambers really do, a row for each layer material; '*' holds for all others (man 5 "
     "bloomcoat-process).\n"
     "# EXAMPLE FIGURES: replace them by your own before you quote. A column may be left out: that error is then not\n"
     "# simulated, that time not counted, and the output says so.\n"
     "material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,index_sigma,minimum_"
     "nm\n"
     "*,0.4,1.00,2.0,0.7,0.010,8\n"
     "MgF2,0.8,1.00,1.5,,0.005,\n"
     "Al2O3,0.4,1.00,1.2,,0.006,\n"
     "Ta2O5,0.3,1.00,1.5,,0.008,\n"},
    {"chamber.csv",
     "# How many parts go into a load, and its time besides the layers (man 5 bloomcoat-chamber). EXAMPLE FIGURES.\n"
     "# Several chambers: a folder chambers/ with a file for each, and --chamber NAME.\n"
     "key,value\n"
     "load_diameter_mm,640\n"
     "part_pitch_extra_mm,6\n"
     "pump_down_min,70\n"
     "heat_min,45\n"
     "cool_vent_min,80\n"
     "between_layers_s,40\n"},
    {"shop.csv",
     "# The shop's defaults; the command line wins (man 5 bloomcoat-shop). EXAMPLE FIGURES.\n"
     "# More keys: wavelength_uncertainty_nm, scale_uncertainty_percent, failed_part, chamber, validity_days,\n"
     "# first_quote_number, page_foot.\n"
     "key,value\n"
     "yield_percent,90\n"
     "uncertainty_percent,0.05\n"},
};
#define STARTING_FILES (sizeof starting_files / sizeof starting_files[0])

static bc_status make_folder(const char *path, bc_error *error)
{
    char shown[BC_SHOWN_PATH_SIZE];
    if (mkdir(path, 0777) == 0 || errno == EEXIST)
        return BC_OK;
    return bc_fail(error, errno == ENOSPC || errno == EIO ? BC_ERROR_IO : BC_ERROR_INPUT, "%s: cannot be made: %s",
                   bc_shown_path(path, shown), strerror(errno));
}

static bc_status path_in(const char *folder, const char *name, char **path, bc_error *error)
{
    if (asprintf(path, "%s/%s", folder, name) >= 0)
        return BC_OK;
    *path = NULL;
    return bc_fail_memory(error);
}

/* Nothing that is there already is written over. */
static bc_status write_starting_file(const char *folder, size_t which, bc_error *error)
{
    bc_text text = {0};
    char *path;
    struct stat info;
    bc_status status = path_in(folder, starting_files[which].name, &path, error);
    if (status == BC_OK && stat(path, &info) != 0) {
        bc_text_add(&text, "%s", starting_files[which].text);
        status = text.failed ? bc_fail_memory(error) : cli_output_write(path, &text, error);
        bc_text_clear(&text);
    }
    free(path);
    return status;
}

/* Every table of the folder can be read. */
static bc_status check_tables(const bc_shop *shop, size_t *count, bc_error *error)
{
    bc_materials *own = NULL;
    const char *const *name;
    size_t names = 0;
    bc_status status = bc_materials_alloc(&own, error);
    *count = 0;
    if (status == BC_OK)
        status = bc_materials_add_folder(own, shop->tables, error);
    if (status == BC_OK)
        status = bc_materials_list(own, &names, &name, error);
    for (size_t i = 0; status == BC_OK && i < names; i++) {
        const bc_dispersion *table;
        status = bc_materials_find(own, name[i], shop->tables, &table, error);
        *count += status == BC_OK;
    }
    bc_materials_free(own);
    return status;
}

/* Read every file; *tables is how many dispersion tables there are. */
static bc_status check_files(cli_session *session, const bc_shop *shop, size_t *tables, bc_error *error)
{
    bc_process process = {0};
    bc_chamber chamber;
    bc_status status = BC_OK;
    if (shop->tables != NULL)
        status = bc_materials_add_folder(session->materials, shop->tables, error);
    if (status == BC_OK && shop->process != NULL)
        status = bc_process_read(shop->process, session->materials, &process, error);
    bc_process_clear(&process);
    for (size_t i = 0; status == BC_OK && i < shop->chambers; i++)
        status = bc_chamber_read(shop->chamber[i], &chamber, error);
    if (status == BC_OK && shop->tables != NULL)
        status = check_tables(shop, tables, error);
    return status;
}

static bc_status check(cli_session *session, const char *folder, bc_error *error)
{
    bc_shop shop = {0};
    bc_text text = {0};
    size_t tables = 0;
    bc_status status = bc_shop_read(folder, &shop, error);
    if (status == BC_OK)
        status = check_files(session, &shop, &tables, error);
    if (status == BC_OK)
        status = session->json ? bc_report_shop_json(&shop, tables, &text, error)
                               : bc_report_shop_text(&shop, tables, &text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    bc_shop_clear(&shop);
    return status;
}

static bc_status init(cli_session *session, const char *folder, bc_error *error)
{
    bc_text text = {0};
    char *tables = NULL;
    bc_status status = make_folder(folder, error);
    if (status == BC_OK)
        status = path_in(folder, "tables", &tables, error);
    if (status == BC_OK)
        status = make_folder(tables, error);
    free(tables);
    for (size_t i = 0; status == BC_OK && i < STARTING_FILES; i++)
        status = write_starting_file(folder, i, error);
    if (status != BC_OK || session->quiet)
        return status;
    if (session->json)
        return check(session, folder, error);
    bc_text_add(&text, "A shop's folder: ");
    bc_text_add_plain(&text, folder);
    bc_text_add(&text, "\nIts figures are examples: replace them by your own in process.csv, chamber.csv and\n"
                       "shop.csv, put your own dispersion tables into tables/, and run 'bloomcoat shop check'.\n");
    status = bc_text_end(&text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    return status;
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const char *folder = arguments->operands > 1 ? arguments->all_operands[1] : cli_value(arguments, "shop");
    const bool is_init = strcmp(arguments->operand, "init") == 0;
    char shown[BC_SHOWN_SIZE];
    *met = true;
    if (!is_init && strcmp(arguments->operand, "check") != 0)
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected 'init' or 'check' after 'shop'",
                       bc_shown(arguments->operand, shown));
    if (arguments->operands > 2)
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected one folder",
                       bc_shown(arguments->all_operands[2], shown));
    if (folder == NULL)
        folder = getenv("BLOOMCOAT_SHOP");
    if (folder == NULL || folder[0] == '\0')
        return bc_fail(error, BC_ERROR_INPUT, "found no folder; expected one after 'shop %s', --shop or BLOOMCOAT_SHOP",
                       arguments->operand);
    return is_init ? init(session, folder, error) : check(session, folder, error);
}

static const cli_option options[] = {CLI_OPTION_END};

const cli_command cli_shop = {
    .name = "shop",
    .operand = "ACTION...",
    .summary = "The shop's folder: 'shop init DIR' makes a commented one, 'shop check [DIR]' reads all of it.",
    .details = "What the folder holds need not be given again: with --shop DIR or $BLOOMCOAT_SHOP, every command takes "
               "its process, chamber, tables and defaults. Options on the command line win.",
    .example = "shop check examples/shop",
    .option = options,
    .run = run,
};
