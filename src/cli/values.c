/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "nearest.h"
#include "number.h"
#include "options.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const char *cli_value_at(const cli_arguments *arguments, const char *name, size_t which)
{
    for (size_t i = 0; i < arguments->count; i++)
        if (strcmp(arguments->given[i].option->name, name) == 0 && which-- == 0)
            return arguments->given[i].value;
    return NULL;
}

const char *cli_value(const cli_arguments *arguments, const char *name)
{
    return cli_value_at(arguments, name, 0);
}

bool cli_has(const cli_arguments *arguments, const char *name)
{
    for (size_t i = 0; i < arguments->count; i++)
        if (strcmp(arguments->given[i].option->name, name) == 0)
            return true;
    return false;
}

bool cli_has_said(const cli_arguments *arguments, const char *name)
{
    for (size_t i = 0; i < arguments->count; i++)
        if (arguments->given[i].origin == CLI_FROM_COMMAND_LINE && strcmp(arguments->given[i].option->name, name) == 0)
            return true;
    return false;
}

bc_status cli_required(const cli_arguments *arguments, const char *name, const char **value, bc_error *error)
{
    *value = cli_value(arguments, name);
    if (*value != NULL)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s needs --%s; 'bloomcoat %s --help' shows how", arguments->command->name,
                   name, arguments->command->name);
}

bc_status cli_fail_value(bc_error *error, const char *name, const char *found, const char *remark, const char *expected)
{
    char shown[BC_ESCAPED_SIZE];
    return bc_fail(error, BC_ERROR_INPUT, "--%s: found '%s'%s; expected %s", name, bc_escaped(found, shown), remark,
                   expected);
}

bc_status cli_parse_number(const char *name, const char *text, double least, double most, const char *expected,
                           double *value, bc_error *error)
{
    double number;
    const bc_number_status parsed = bc_number_parse(text, 0, &number);
    if (parsed != BC_NUMBER_OK)
        return cli_fail_value(error, name, text, bc_number_remark(parsed), expected);
    if (!(number >= least && number <= most))
        return cli_fail_value(error, name, text, "", expected);
    *value = number;
    return BC_OK;
}

bc_status cli_number(const cli_arguments *arguments, const char *name, double least, double most, const char *expected,
                     double *value, bc_error *error)
{
    const char *text = cli_value(arguments, name);
    return text == NULL ? BC_OK : cli_parse_number(name, text, least, most, expected, value, error);
}

bc_status cli_count(const cli_arguments *arguments, const char *name, unsigned long least, unsigned long most,
                    unsigned long *value, bc_error *error)
{
    const char *text = cli_value(arguments, name);
    char expected[80];
    double number = 0.0;
    bc_status status;
    if (text == NULL)
        return BC_OK;
    snprintf(expected, sizeof expected, "a whole number from %lu to %lu", least, most);
    status = cli_parse_number(name, text, (double)least, (double)most, expected, &number, error);
    if (status != BC_OK)
        return status;
    if (floor(number) != number)
        return cli_fail_value(error, name, text, "", expected);
    *value = (unsigned long)number;
    return BC_OK;
}

bc_status cli_read_runs(const cli_arguments *arguments, unsigned long most, bc_yield_options *options, bc_error *error)
{
    unsigned long runs = options->runs, threads = 0;
    bc_status status = cli_count(arguments, "runs", 1, most, &runs, error);
    if (status == BC_OK)
        status = cli_count(arguments, "seed", 0, 4294967295UL, &options->seed, error);
    if (status == BC_OK)
        status = cli_count(arguments, "threads", 0, 1024, &threads, error);
    options->runs = runs;
    options->threads = threads;
    return status;
}

bc_status cli_choice(const cli_arguments *arguments, const char *name, size_t count, const char *const *words,
                     size_t *choice, bc_error *error)
{
    const char *text = cli_value(arguments, name);
    char expected[160] = "";
    if (text == NULL)
        return BC_OK;
    for (size_t i = 0; i < count; i++) {
        const size_t length = strlen(expected);
        const bool other_word = strcmp(words[i], "unpolarized") == 0 && strcmp(text, "mean") == 0;
        if (other_word || strcmp(text, words[i]) == 0) {
            *choice = i;
            return BC_OK;
        }
        snprintf(expected + length, sizeof expected - length, "%s'%s'",
                 i == 0           ? ""
                 : i + 1 == count ? " or "
                                  : ", ",
                 words[i]);
    }
    return cli_fail_value(error, name, text, "", expected);
}

/* Cut one value at its commas. */
static bc_status cut(const char *name, char *text, cli_list *list, bc_error *error)
{
    while (text != NULL) {
        char *comma = strchr(text, ',');
        if (comma != NULL)
            *comma = '\0';
        text += strspn(text, " ");
        for (size_t end = strlen(text); end > 0 && text[end - 1] == ' '; end--)
            text[end - 1] = '\0';
        if (text[0] == '\0')
            return cli_fail_value(error, name, "", " between commas", "a value there");
        list->item[list->count++] = text;
        text = comma == NULL ? NULL : comma + 1;
    }
    return BC_OK;
}

bc_status cli_list_read(const cli_arguments *arguments, const char *name, cli_list *list, bc_error *error)
{
    size_t bytes = 0;
    char *end;
    bc_status status = BC_OK;
    const char *value;
    *list = (cli_list){0};
    for (size_t i = 0; (value = cli_value_at(arguments, name, i)) != NULL; i++)
        bytes += strlen(value) + 1;
    list->memory = malloc(bytes + 1);
    list->item = calloc(bytes + 1, sizeof *list->item); /* no more items than bytes */
    if (list->memory == NULL || list->item == NULL) {
        cli_list_clear(list);
        return bc_fail_memory(error);
    }
    end = list->memory;
    for (size_t i = 0; status == BC_OK && (value = cli_value_at(arguments, name, i)) != NULL; i++) {
        char *copy = end;
        end = stpcpy(end, value) + 1;
        status = cut(name, copy, list, error);
    }
    if (status != BC_OK)
        cli_list_clear(list);
    return status;
}

void cli_list_clear(cli_list *list)
{
    free(list->memory);
    free(list->item);
    *list = (cli_list){0};
}

bc_status cli_read_angles(const cli_arguments *arguments, size_t usual, double step_deg, cli_angles *all,
                          bc_error *error)
{
    cli_list list;
    bc_status status = cli_list_read(arguments, "aoi", &list, error);
    if (status != BC_OK)
        return status;
    all->count = list.count == 0 ? usual : list.count;
    all->aoi_rad = calloc(all->count, sizeof *all->aoi_rad);
    if (all->aoi_rad == NULL)
        status = bc_fail_memory(error);
    for (size_t i = 0; status == BC_OK && i < all->count; i++) {
        double degrees = step_deg * (double)i;
        if (list.count > 0)
            status = cli_parse_number("aoi", list.item[i], 0.0, nextafter(90.0, 0.0),
                                      "angles in degrees, from 0 to below 90", &degrees, error);
        all->aoi_rad[i] = degrees * (M_PI / 180.0);
    }
    cli_list_clear(&list);
    return status;
}
