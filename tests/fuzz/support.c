/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "file.h"
#include "fuzz.h"
#include "utf8.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const uint8_t *file_bytes;
static size_t file_size;
#define FOLDER "/tmp/bloomcoat-fuzz-XXXXXX"
static char folder[] = FOLDER;
static bool has_folder;

void fuzz_expect(bool holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "broken promise: %s\n", what);
    abort();
}

void fuzz_expect_refusal(bc_status status, const bc_error *error)
{
    const char *message = error->message;
    fuzz_expect(status == BC_ERROR_INPUT, "only the input can be wrong");
    fuzz_expect(error->status == status, "the error says what was returned");
    fuzz_expect(message[0] != '\0', "a refusal has a message");
    for (size_t left = strlen(message); left > 0;) {
        const size_t taken = bc_utf8_decode(message, left, NULL);
        fuzz_expect(taken > 0, "a message is UTF-8");
        fuzz_expect((unsigned char)*message >= 0x20 && *message != 0x7F, "no control characters in a message");
        message += taken;
        left -= taken;
    }
}

void fuzz_set_file(const uint8_t *bytes, size_t size)
{
    file_bytes = bytes;
    file_size = size;
}

/* The linker puts these two in place of bc_file_read() and its name in its module. */
bc_status __real_bc_file_read(const char *path, char **bytes, size_t *length, bc_error *error);
bc_status __wrap_bc_file_read(const char *path, char **bytes, size_t *length, bc_error *error);

bc_status __wrap_bc_file_read(const char *path, char **bytes, size_t *length, bc_error *error)
{
    static const char home[] = FUZZ_HOME "/";
    if (file_bytes == NULL || (strcmp(path, FUZZ_PATH) != 0 && strncmp(path, home, sizeof home - 1) != 0))
        return __real_bc_file_read(path, bytes, length, error);
    *bytes = malloc(file_size + 2);
    if (*bytes == NULL)
        return bc_fail_memory(error);
    memcpy(*bytes, file_bytes, file_size);
    (*bytes)[file_size] = (*bytes)[file_size + 1] = '\0';
    *length = file_size;
    return BC_OK;
}

/* FNV-1a, from memory. */
uint32_t fuzz_hash(const uint8_t *bytes, size_t size)
{
    uint32_t hash = 2166136261U;
    for (size_t i = 0; i < size; i++)
        hash = (hash ^ bytes[i]) * 16777619U;
    return hash ^ hash >> 16;
}

typedef struct small_file {
    const char *name;
    const char *text;
} small_file;

static const small_file small[] = {
    {"glass.csv", "# kind: bulk\nwavelength_nm,n,k\n300,1.55,0.001\n500,1.52,0\n900,1.5,0\n"},
    {"layer.csv", "# kind: layer\nwavelength_um,n\n0.3,2.2\n0.5,2.1\n0.9,2.05\n"},
    {"stack.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,97.787\nlayer,2.1,133.11\nsubstrate,1.52,\n"},
    {"back.csv", "role,material,thickness_nm\nsubstrate,1.52,\nlayer,layer,60\nincident,air,\n"},
    {"callouts.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                     "band,R,max,<= 1,540,560,0,unpolarized\n"},
    {"part.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope\n"
                 "through,T,min,>= 90,550,550,0..10,each,part\n"},
    {"process.csv", "material,rate_nm_per_s,thickness_sigma_percent\n*,0.5,2\n"},
    {"scan.csv", "nm,%R\n500,0.5\n550,0.4\n600,0.6\n"},
    {"profile.csv", "radius_mm,thickness_percent\n0,100\n5,97\n10,90\n"},
    {"chamber.csv", "key,value\nload_diameter_mm,640\n"},
};

static void path_of(size_t i, char path[128])
{
    snprintf(path, 128, "%s/%s", folder, small[i].name);
}

const char *fuzz_folder(void)
{
    if (has_folder)
        return folder;
    memcpy(folder, FOLDER, sizeof folder);
    fuzz_expect(mkdtemp(folder) != NULL, "a folder in /tmp");
    has_folder = true;
    for (size_t i = 0; i < sizeof small / sizeof small[0]; i++) {
        char path[128];
        FILE *file;
        path_of(i, path);
        file = fopen(path, "w");
        fuzz_expect(file != NULL && fputs(small[i].text, file) >= 0 && fclose(file) == 0, "a file in /tmp");
    }
    atexit(fuzz_remove_folder);
    return folder;
}

void fuzz_remove_folder(void)
{
    char path[128];
    for (size_t i = 0; has_folder && i < sizeof small / sizeof small[0]; i++) {
        path_of(i, path);
        unlink(path);
    }
    if (has_folder)
        rmdir(folder);
    has_folder = false;
}

bc_materials *fuzz_materials(const uint8_t *bytes, size_t size)
{
    bc_materials *materials = NULL;
    fuzz_expect(bc_materials_alloc(&materials, NULL) == BC_OK, "memory");
    if (fuzz_hash(bytes, size) % 16 == 0)
        fuzz_expect(bc_materials_add_folder(materials, fuzz_folder(), NULL) == BC_OK, "a folder with tables");
    return materials;
}
