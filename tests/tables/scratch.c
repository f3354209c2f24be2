/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SLOTS 4

static char folder[1024];
static char path[SLOTS][PATH_SIZE];
static size_t slot;

static void remove_folder(const char *name)
{
    char inside[PATH_SIZE];
    const struct dirent *entry;
    DIR *opened = opendir(name);
    if (opened == NULL)
        return;
    while ((entry = readdir(opened)) != NULL) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        snprintf(inside, sizeof inside, "%s/%s", name, entry->d_name);
        if (unlink(inside) != 0)
            remove_folder(inside);
    }
    closedir(opened);
    rmdir(name);
}

static void set_up(void)
{
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/bloomcoat-tables-XXXXXX", base == NULL ? "/tmp" : base);
    ck_assert_ptr_nonnull(mkdtemp(folder));
    ck_assert_int_eq(chmod(folder, 0755), 0); /* another user looks in for the test of permissions */
}

static void tear_down(void)
{
    remove_folder(folder);
}

TCase *scratch_case(const char *name)
{
    TCase *tcase = tcase_create(name);
    tcase_add_checked_fixture(tcase, set_up, tear_down);
    tcase_set_timeout(tcase, 60);
    return tcase;
}

const char *scratch_folder(void)
{
    return folder;
}

const char *scratch_path(const char *name)
{
    slot = (slot + 1) % SLOTS;
    snprintf(path[slot], PATH_SIZE, "%s/%s", folder, name);
    return path[slot];
}

const char *scratch_write_bytes(const char *name, const char *bytes, size_t length)
{
    const char *where = scratch_path(name);
    unlink(where); /* some file systems wait for the disk when a file is written over */
    FILE *file = fopen(where, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
    ck_assert_int_eq(fclose(file), 0);
    return where;
}

const char *scratch_write(const char *name, const char *text)
{
    return scratch_write_bytes(name, text, strlen(text));
}

bc_materials *new_materials(void)
{
    bc_materials *materials = NULL;
    ck_assert_int_eq(bc_materials_alloc(&materials, NULL), BC_OK);
    return materials;
}

bc_materials *scratch_materials(void)
{
    bc_materials *materials = new_materials();
    ck_assert_int_eq(bc_materials_add_folder(materials, folder, NULL), BC_OK);
    return materials;
}

void expect_refusal(const char *what, bc_status returned, const bc_error *error, bc_status status,
                    const char *const *pieces)
{
    ck_assert_msg(returned == status, "%s: returned %d, not %d: %s", what, (int)returned, (int)status, error->message);
    ck_assert_msg(error->status == status, "%s: the error says %d, not %d", what, (int)error->status, (int)status);
    for (size_t i = 0; i < PIECES && pieces[i] != NULL; i++)
        ck_assert_msg(strstr(error->message, pieces[i]) != NULL, "%s: no '%s' in: %s", what, pieces[i], error->message);
    for (const char *byte = error->message; *byte != '\0'; byte++)
        ck_assert_msg((unsigned char)*byte >= 0x20 && *byte != 0x7F, "%s: a control character in: %s", what,
                      error->message);
}
