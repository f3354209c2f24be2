/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CHECKSUM_H
#define BLOOMCOAT_CHECKSUM_H
/*
 * What distinguishes two files whatever their names: SHA-256 (FIPS 180-4), as `sha256sum` prints it.
 *
 * Everything that a reader fills keeps the checksum of the very bytes it was read from, so that it still holds when the
 * file changes while the program works.
 */
#include <bloomcoat/api.h>
#include <stddef.h>

BC_API_BEGIN

#define BC_SHA256_SIZE 65 /* 64 hexadecimal digits and the zero */

void bc_sha256(const void *bytes, size_t length, char to[BC_SHA256_SIZE]);

BC_API_END

#endif
