/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "commands.h"
#include "escaped.h"
#include "output.h"
#include "shop.h"
#include "text.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What 'shop init' writes: files that work, every figure of which the shop replaces by its own. The build makes the
 * list from the files in starting_shop/. */
static const struct {
    const char *name, *text;
} starting_files[] = {
#include "starting_shop.inc"
};
#define STARTING_FILES (sizeof starting_files / sizeof starting_files[0])

/* Nothing that is there already is written over. */
static bc_status write_starting_file(const char *folder, size_t which, bool *written, bc_error *error)
{
    bc_text text = {0};
    char *path;
    struct stat info;
    bc_status status = cli_path_in(folder, starting_files[which].name, &path, error);
    *written = status == BC_OK && lstat(path, &info) != 0;
    if (*written) {
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

/* Every file of the folder, read. */
typedef struct contents {
    bc_shop shop;
    bc_process process;
    bc_chamber *chamber; /* [shop.chambers] */
    size_t tables;       /* of dispersion, that there are */
    bc_standards standards;
} contents;

static void contents_clear(contents *c)
{
    bc_standards_clear(&c->standards);
    bc_process_clear(&c->process);
    free(c->chamber);
    bc_shop_clear(&c->shop);
}

static bc_status read_contents(cli_session *session, const char *folder, contents *c, bc_error *error)
{
    const bc_shop *shop = &c->shop;
    bc_status status = bc_shop_read(folder, &c->shop, error);
    if (status == BC_OK && shop->tables != NULL)
        status = bc_materials_add_folder(session->materials, shop->tables, error);
    if (status == BC_OK && shop->process != NULL)
        status = bc_process_read(shop->process, session->materials, &c->process, error);
    if (status == BC_OK && (c->chamber = calloc(shop->chambers + 1, sizeof *c->chamber)) == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < shop->chambers; i++)
        status = bc_chamber_read(shop->chamber[i], &c->chamber[i], error);
    if (status == BC_OK && shop->tables != NULL)
        status = check_tables(shop, &c->tables, error);
    if (status == BC_OK && shop->standard != NULL)
        status = bc_standards_read(shop->standard, NULL, NULL, session->materials, &c->standards, error);
    return status;
}

static bc_status check(cli_session *session, const char *folder, bc_error *error)
{
    contents c = {0};
    bc_text text = {0};
    bc_status status = read_contents(session, folder, &c, error);
    const bc_shop_report report = {.shop = &c.shop,
                                   .tables = c.tables,
                                   .standards = c.standards.count,
                                   .process = &c.process,
                                   .chamber = c.chamber};
    if (status == BC_OK)
        status =
            session->json ? bc_report_shop_json(&report, &text, error) : bc_report_shop_text(&report, &text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    contents_clear(&c);
    return status;
}

/* The starting files that were written, or those that were not. */
static void add_names(bc_text *text, const char *title, const bool *written, bool which)
{
    bool first = true;
    for (size_t i = 0; i < STARTING_FILES; i++)
        if (written[i] == which) {
            bc_text_add(text, "%s%s", first ? title : ", ", starting_files[i].name);
            first = false;
        }
    bc_text_add(text, "%s", first ? "" : "\n");
}

static bc_status say_written(const cli_session *session, const char *folder, const bool *written, bc_error *error)
{
    bc_text text = {0};
    bool any = false;
    for (size_t i = 0; i < STARTING_FILES; i++)
        any = any || written[i];
    bc_text_add(&text, "The shop's folder: ");
    bc_text_add_plain(&text, folder);
    bc_text_add(&text, "\n");
    add_names(&text, "Written: ", written, true);
    add_names(&text, "There already, and left as it is: ", written, false);
    if (any)
        bc_text_add(&text, "The figures in what was written are examples: replace them by your own.\n");
    bc_text_add(&text, "Put your own dispersion tables into tables/.\n'bloomcoat shop check' reads all of it.\n");
    bc_status status = bc_text_end(&text, error);
    if (status == BC_OK)
        status = cli_output_write(session->output, &text, error);
    bc_text_clear(&text);
    return status;
}

static bc_status init(cli_session *session, const char *folder, bc_error *error)
{
    bool written[STARTING_FILES] = {false};
    char *tables = NULL;
    bc_status status = cli_make_folder(folder, error);
    if (status == BC_OK)
        status = cli_path_in(folder, "tables", &tables, error);
    if (status == BC_OK)
        status = cli_make_folder(tables, error);
    free(tables);
    for (size_t i = 0; status == BC_OK && i < STARTING_FILES; i++)
        status = write_starting_file(folder, i, &written[i], error);
    if (status != BC_OK || session->quiet)
        return status;
    return session->json ? check(session, folder, error) : say_written(session, folder, written, error);
}

static bc_status run(cli_session *session, bool *met, bc_error *error)
{
    const cli_arguments *arguments = session->arguments;
    const char *folder = arguments->operands > 1 ? arguments->all_operands[1] : cli_value(arguments, "shop");
    const bool is_init = strcmp(arguments->operand, "init") == 0;
    char shown[BC_ESCAPED_SIZE];
    *met = true;
    if (!is_init && strcmp(arguments->operand, "check") != 0)
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected 'init' or 'check' after 'shop'",
                       bc_escaped(arguments->operand, shown));
    if (arguments->operands > 2)
        return bc_fail(error, BC_ERROR_INPUT, "found '%s'; expected one folder",
                       bc_escaped(arguments->all_operands[2], shown));
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
