/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "escaped.h"
#include "folder.h"
#include <bloomcoat/standard.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

bool bc_standard_is_name(const char *name)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_+.";
    const size_t length = strlen(name);
    return length > 0 && length < BC_NAME_SIZE && strspn(name, letters) == length && strchr("-_+.", name[0]) == NULL;
}

static void clear_one(bc_standard *standard)
{
    for (size_t i = 0; i < standard->stacks; i++) {
        bc_stack_clear(&standard->stack[i]);
        free(standard->path[i]);
    }
    free(standard->stack);
    free(standard->path);
    free(standard->folder);
    free(standard->callouts_path);
    free(standard->process_path);
    bc_callouts_clear(&standard->callouts);
    *standard = (bc_standard){0};
}

void bc_standards_clear(bc_standards *standards)
{
    for (size_t i = 0; i < standards->count; i++)
        clear_one(&standards->standard[i]);
    free(standards->standard);
    *standards = (bc_standards){0};
}

/* Takes the path over. */
static bc_status read_stack(bc_standard *standard, char *path, bc_materials *materials, bc_error *error)
{
    const bc_status status = bc_stack_read(path, materials, &standard->stack[standard->stacks], error);
    if (status != BC_OK) {
        free(path);
        return status;
    }
    standard->path[standard->stacks++] = path;
    return BC_OK;
}

static bc_status make_room(bc_standard *standard, size_t stacks, bc_error *error)
{
    standard->stack = calloc(stacks, sizeof *standard->stack);
    standard->path = calloc(stacks, sizeof *standard->path);
    return standard->stack == NULL || standard->path == NULL ? bc_fail_memory(error) : BC_OK;
}

/* stacks/SUBSTRATE.csv, which says so itself. */
static bc_status read_named(bc_standard *standard, const char *folder, const char *name, bc_materials *materials,
                            bc_error *error)
{
    const size_t length = strlen(name) - strlen(".csv");
    char *path, shown[BC_ESCAPED_PATH_SIZE];
    const char *found;
    bc_status status = bc_folder_find(folder, name, false, &path, error);
    if (status == BC_OK && path == NULL)
        status = bc_fail(error, BC_ERROR_INPUT, "%s/%s: found no such file any more", folder, name);
    if (status == BC_OK)
        status = read_stack(standard, path, materials, error);
    if (status != BC_OK)
        return status;
    found = standard->stack[standard->stacks - 1].substrate.name;
    if (strlen(found) == length && memcmp(found, name, length) == 0)
        return BC_OK;
    return bc_fail(error, BC_ERROR_INPUT, "%s: found the substrate %s; expected %.*s, as the file is called",
                   bc_escaped_path(path, shown), found, (int)length, name);
}

static bc_status read_stacks(bc_standard *standard, const char *folder, const char *substrate, bc_materials *materials,
                             bc_error *error)
{
    char wanted[BC_NAME_SIZE + sizeof ".csv"] = "", shown[BC_ESCAPED_PATH_SIZE];
    char *path = NULL;
    bc_folder_list list = {0};
    bc_status status = BC_OK;
    if (substrate != NULL && strchr(substrate, '/') == NULL) {
        snprintf(wanted, sizeof wanted, "%s.csv", substrate);
        status = bc_folder_find(folder, wanted, false, &path, error);
    }
    if (status == BC_OK && path != NULL) {
        free(path);
        status = make_room(standard, 1, error);
        return status == BC_OK ? read_named(standard, folder, wanted, materials, error) : status;
    }
    if (status == BC_OK)
        status = bc_folder_read(folder, false, &list, error);
    if (status == BC_OK && list.count == 0)
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found no stack file; expected SUBSTRATE.csv for each substrate",
                         bc_escaped_path(folder, shown));
    if (status == BC_OK)
        status = make_room(standard, list.count, error);
    for (size_t i = 0; status == BC_OK && i < list.count; i++)
        status = read_named(standard, folder, list.name[i], materials, error);
    bc_folder_clear(&list);
    return status;
}

static bc_status read_one(bc_standard *standard, const char *substrate, bc_materials *materials, bc_error *error)
{
    char *stack = NULL, *stacks = NULL, shown[BC_ESCAPED_PATH_SIZE];
    bc_status status = bc_folder_find(standard->folder, "callouts.csv", false, &standard->callouts_path, error);
    if (status == BC_OK && standard->callouts_path == NULL)
        status =
            bc_fail(error, BC_ERROR_INPUT, "%s: found no callouts.csv; expected the callouts the coating is sold by",
                    bc_escaped_path(standard->folder, shown));
    if (status == BC_OK)
        status = bc_callouts_read(standard->callouts_path, materials, &standard->callouts, error);
    if (status == BC_OK)
        status = bc_folder_find(standard->folder, "process.csv", false, &standard->process_path, error);
    if (status == BC_OK)
        status = bc_folder_find(standard->folder, "stack.csv", false, &stack, error);
    if (status == BC_OK)
        status = bc_folder_find(standard->folder, "stacks", true, &stacks, error);
    if (status == BC_OK && (stack == NULL) == (stacks == NULL))
        status =
            bc_fail(error, BC_ERROR_INPUT,
                    "%s: found %s stack.csv %s stacks/; expected one of them: one stack, or one for each substrate",
                    bc_escaped_path(standard->folder, shown), stack == NULL ? "neither" : "both",
                    stack == NULL ? "nor" : "and");
    if (status == BC_OK && stacks != NULL)
        status = read_stacks(standard, stacks, substrate, materials, error);
    if (status == BC_OK && stack != NULL) {
        status = make_room(standard, 1, error);
        if (status == BC_OK) {
            status = read_stack(standard, stack, materials, error);
            stack = NULL;
        }
    }
    free(stack);
    free(stacks);
    return status;
}

static bc_status check_names(const char *folder, const bc_folder_list *list, bc_error *error)
{
    char shown[BC_ESCAPED_PATH_SIZE], name[BC_ESCAPED_SIZE];
    for (size_t i = 0; i < list->count; i++) {
        if (!bc_standard_is_name(list->name[i]))
            return bc_fail(error, BC_ERROR_INPUT,
                           "%s: found a folder '%s'; expected the name of a standard coating: letters, digits, '-', "
                           "'_', '+' and '.', at most 63",
                           bc_escaped_path(folder, shown), bc_escaped(list->name[i], name));
        for (size_t j = 0; j < i; j++)
            if (strcasecmp(list->name[i], list->name[j]) == 0)
                return bc_fail(error, BC_ERROR_INPUT,
                               "%s: found two standard coatings of one name, %s and %s; expected names that differ in "
                               "more than upper and lower case",
                               bc_escaped_path(folder, shown), list->name[j], list->name[i]);
    }
    return BC_OK;
}

static bc_status read_all(const char *folder, const bc_folder_list *list, const char *only, const char *substrate,
                          bc_materials *materials, bc_standards *standards, bc_error *error)
{
    for (size_t i = 0; i < list->count; i++) {
        bc_standard *standard = &standards->standard[standards->count];
        if (only != NULL && strcmp(only, list->name[i]) != 0)
            continue;
        standards->count++;
        snprintf(standard->name, sizeof standard->name, "%s", list->name[i]);
        bc_status status = bc_folder_find(folder, list->name[i], true, &standard->folder, error);
        if (status == BC_OK && standard->folder == NULL)
            status = bc_fail(error, BC_ERROR_INPUT, "%s/%s: found no such folder any more", folder, list->name[i]);
        if (status == BC_OK)
            status = read_one(standard, substrate, materials, error);
        if (status != BC_OK)
            return status;
    }
    return BC_OK;
}

bc_status bc_standards_read(const char *folder, const char *only, const char *substrate, bc_materials *materials,
                            bc_standards *standards, bc_error *error)
{
    bc_folder_list list;
    char shown[BC_ESCAPED_PATH_SIZE], name[BC_ESCAPED_SIZE];
    bc_status status = bc_folder_read(folder, true, &list, error);
    *standards = (bc_standards){0};
    if (status == BC_OK)
        status = check_names(folder, &list, error);
    if (status == BC_OK && (standards->standard = calloc(list.count + 1, sizeof *standards->standard)) == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = read_all(folder, &list, only, substrate, materials, standards, error);
    if (status == BC_OK && only != NULL && standards->count == 0)
        status = bc_fail(error, BC_ERROR_INPUT, "%s: found no standard coating called '%s'",
                         bc_escaped_path(folder, shown), bc_escaped(only, name));
    bc_folder_clear(&list);
    if (status != BC_OK)
        bc_standards_clear(standards);
    return status;
}
