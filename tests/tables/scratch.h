/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_TEST_SCRATCH_H
#define BLOOMCOAT_TEST_SCRATCH_H
/*
 * What the tests of this module share: a folder to write files into, and how a refusal is checked.
 */
#include <bloomcoat/materials.h>
#include <check.h>
#include <stddef.h>

#define PATH_SIZE 4200
#define PIECES    6

/* A case with a fresh folder before each test, removed with what is in it afterwards. */
TCase *scratch_case(const char *name);

const char *scratch_folder(void);
/* The path of `name` in the folder. Valid until the next call but three. */
const char *scratch_path(const char *name);
/* Write bytes to `name` in the folder and return its path, as above. */
const char *scratch_write_bytes(const char *name, const char *bytes, size_t length);
const char *scratch_write(const char *name, const char *text);

/* An empty list of materials, or one that searches the scratch folder. */
bc_materials *new_materials(void);
bc_materials *scratch_materials(void);

/* Fail unless `error` has this status and its message contains each of the pieces (up to the first NULL). */
void expect_refusal(const char *what, bc_status returned, const bc_error *error, bc_status status,
                    const char *const *pieces);

/* One file that must be refused, and what the message must say of it. */
typedef struct refusal {
    const char *what;
    const char *bytes;
    size_t length; /* 0: up to the terminating zero */
    const char *pieces[PIECES];
} refusal;

#define LITERAL(text) (text), sizeof(text) - 1

#endif
