/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_FUZZ_H
#define BLOOMCOAT_FUZZ_H
/*
 * Entry points that take any bytes: for libFuzzer (driver.c), and for the suite that replays seeds and finds
 * (replay.c).
 *
 * A target ends the program with a message when what it reached breaks its promise: a status without a message, a
 * figure outside its documented range, a table that does not read back. To add one: a function here, a row in
 * targets.c, a folder of seeds.
 */
#include <bloomcoat/materials.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Reading this path, or any below that folder, gives the bytes of fuzz_set_file(). */
#define FUZZ_PATH "input.csv"
#define FUZZ_HOME "/nowhere/desk"

typedef struct fuzz_target {
    const char *name;
    void (*run)(const uint8_t *bytes, size_t size);
} fuzz_target;

extern const fuzz_target fuzz_targets[]; /* ends with a name of NULL */

void fuzz_dispersion(const uint8_t *bytes, size_t size);
void fuzz_stack(const uint8_t *bytes, size_t size);
void fuzz_callouts(const uint8_t *bytes, size_t size);
void fuzz_drawing(const uint8_t *bytes, size_t size); /* a callout in the words of a drawing */
void fuzz_process(const uint8_t *bytes, size_t size);
void fuzz_chamber(const uint8_t *bytes, size_t size);
void fuzz_profile(const uint8_t *bytes, size_t size);
void fuzz_request(const uint8_t *bytes, size_t size);
void fuzz_reference(const uint8_t *bytes, size_t size);
void fuzz_measured(const uint8_t *bytes, size_t size);
/* The words of a command line, one a line. A slash reads as '_', so that no file outside the scratch folder is touched;
 * commands that compute for long are stopped where their computation would begin. */
void fuzz_command_line(const uint8_t *bytes, size_t size);

/* A request to the desk: method and path, headers, an empty line, the body. It goes through all that the desk does with
 * it but libmicrohttpd, files and processes. */
void fuzz_web(const uint8_t *bytes, size_t size);

/* End the program unless `holds`. */
void fuzz_expect(bool holds, const char *what);
/* A refusal says why, in one line without control characters, and lays it on the input. */
void fuzz_expect_refusal(bc_status status, const bc_error *error);

void fuzz_set_file(const uint8_t *bytes, size_t size);
/* The same bytes always give the same number. */
uint32_t fuzz_hash(const uint8_t *bytes, size_t size);
/* A folder of its own with the tables glass.csv and layer.csv, and what the command lines read. Made on first use. */
const char *fuzz_folder(void);
void fuzz_remove_folder(void);
/* For one input in sixteen with that folder, else constants only: looking into folders is slow. */
bc_materials *fuzz_materials(const uint8_t *bytes, size_t size);

#endif
