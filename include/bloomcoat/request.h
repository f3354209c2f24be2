/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_REQUEST_H
#define BLOOMCOAT_REQUEST_H
/*
 * A request for a quote as one file, NAME.request.csv: `key,value`, in the order of the file.
 *
 *     key,value
 *     request_number,RFQ-12
 *     quantity,200
 *     surface,S1
 *     substrate,517642
 *     callout,"Ravg <= 0.5 %, 425-675 nm, AOI 0-30 deg"
 *     surface,S2
 *     ...
 *
 * What stands before the first `surface` holds for all surfaces; a file without one asks about one surface, of no name.
 * Keys are those options of a quote that belong to the request. Plain data.
 */
#include <bloomcoat/checksum.h>
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

BC_API_BEGIN

#define BC_REQUEST_SURFACES 16 /* in a file, at most */

typedef struct bc_request_entry {
    const char *key; /* one of bc_request_keys() */
    char *value;
    size_t surface; /* 0: of all surfaces; else that number, from 1 */
    long line;
} bc_request_entry;

typedef struct bc_request {
    char *path;
    size_t surfaces; /* that the file names; 0: none */
    size_t entries;  /* those of `surface` are among them, and have the name as their value */
    bc_request_entry *entry;
    char sha256[BC_SHA256_SIZE];
} bc_request;

/* The keys: `surface`, then the others; NULL after the last. `callout` and `substrate` may be repeated; `callout_name`
 * and `callout_substrate` are of the callout before them. */
const char *const *bc_request_keys(void);

/* Whether a path's name ends in .request.csv. */
bool bc_request_is_path(const char *path);

/* BC_ERROR_INPUT with file and line for an unknown key, one given twice in one surface, an empty value, a key of the
 * whole request inside a surface, a quantity that is no whole number above 0, two surfaces of one name. Release it with
 * bc_request_clear(). */
bc_status bc_request_read(const char *path, bc_request *request, bc_error *error);
void bc_request_clear(bc_request *request);

/* Append an entry; a copy of the value is kept. For a request that is made by hand. */
bc_status bc_request_add(bc_request *request, const char *key, const char *value, size_t surface, long line,
                         bc_error *error);

BC_API_END

#endif
