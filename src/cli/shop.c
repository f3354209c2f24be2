/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shop.h"
#include "escaped.h"
#include "place.h"
#include "recording.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const cli_option *option_of(const cli_command *command, const char *name)
{
    for (const cli_option *option = command->option; option->name != NULL; option++)
        if (strcmp(option->name, name) == 0)
            return option;
    return NULL;
}

/* Give the option, where the command has it and the command line does not. */
static bc_status give_default(cli_arguments *arguments, const char *name, const char *value, bc_error *error)
{
    const cli_option *option = option_of(arguments->command, name);
    cli_given *moved;
    if (option == NULL || value == NULL || cli_has(arguments, name) ||
        (option->value == NULL && strcmp(value, "no") == 0))
        return BC_OK;
    moved = realloc(arguments->given, (arguments->count + 1) * sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    arguments->given = moved;
    moved[arguments->count++] = (cli_given){.option = option, .value = value, .origin = CLI_FROM_SHOP};
    return BC_OK;
}

static bc_status fail_chamber(const bc_shop *shop, const char *found, bc_error *error)
{
    char list[400] = "", shown[BC_ESCAPED_SIZE];
    for (size_t i = 0; i < shop->chambers; i++) {
        const char *base = strrchr(shop->chamber[i], '/') + 1;
        const size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%.*s", i == 0 ? "" : ", ", (int)strlen(base) - 4, base);
    }
    if (found == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "the shop has several chambers; expected --chamber with one of %s", list);
    return bc_fail(error, BC_ERROR_INPUT,
                   "--chamber: found '%s', which is neither a file nor a chamber of the shop; expected a file%s%s",
                   bc_escaped(found, shown), shop->chambers == 0 ? "" : " or one of ", list);
}

static bc_status take_chamber(cli_arguments *arguments, const bc_shop *shop, bc_error *error)
{
    if (option_of(arguments->command, "chamber") == NULL)
        return BC_OK;
    for (size_t i = 0; i < arguments->count; i++) {
        cli_given *given = &arguments->given[i];
        if (strcmp(given->option->name, "chamber") != 0)
            continue;
        const char *path = bc_shop_chamber(shop, given->value);
        if (access(bc_place(given->value), F_OK) == 0)
            return BC_OK;
        if (path == NULL)
            return fail_chamber(shop, given->value, error);
        given->value = path;
        return BC_OK;
    }
    if (shop->has[BC_SHOP_CHAMBER])
        return give_default(arguments, "chamber", bc_shop_chamber(shop, shop->value[BC_SHOP_CHAMBER]), error);
    if (shop->chambers > 1)
        return fail_chamber(shop, NULL, error);
    return shop->chambers == 0 ? BC_OK : give_default(arguments, "chamber", shop->chamber[0], error);
}

bc_status cli_take_shop(cli_arguments *arguments, bc_shop *shop, bc_error *error)
{
    const char *folder = cli_value(arguments, "shop");
    bc_status status;
    *shop = (bc_shop){0};
    if (folder == NULL)
        folder = getenv("BLOOMCOAT_SHOP");
    if (folder == NULL || folder[0] == '\0' || strcmp(arguments->command->name, "shop") == 0)
        return BC_OK;
    status = bc_shop_read(folder, shop, error);
    arguments->shop = shop;
    if (status == BC_OK)
        status = give_default(arguments, "process", shop->process, error);
    if (status == BC_OK)
        status = take_chamber(arguments, shop, error);
    for (size_t key = 0; status == BC_OK && key < BC_SHOP_KEYS; key++) {
        char name[64];
        snprintf(name, sizeof name, "%s", bc_shop_key_name((bc_shop_key)key));
        for (char *letter = name; *letter != '\0'; letter++)
            *letter = (char)(*letter == '_' ? '-' : *letter);
        if (shop->has[key] && key != BC_SHOP_CHAMBER)
            status = give_default(arguments, name, shop->value[key], error);
    }
    return status;
}

bc_status cli_take_quote_number(cli_arguments *arguments, char number[CLI_QUOTE_NUMBER_SIZE], bc_error *error)
{
    const bc_shop *shop = arguments->shop;
    unsigned long next;
    number[0] = '\0';
    if (cli_recording_wanted() || shop == NULL || !shop->has[BC_SHOP_FIRST_QUOTE_NUMBER] ||
        cli_has(arguments, "quote-number") || !(cli_has(arguments, "report") || cli_has(arguments, "internal-report")))
        return BC_OK;
    bc_status status = bc_shop_take_quote_number(shop, &next, error);
    if (status != BC_OK)
        return status;
    snprintf(number, CLI_QUOTE_NUMBER_SIZE, "%lu", next);
    return give_default(arguments, "quote-number", number, error);
}
