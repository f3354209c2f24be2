/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/checksum.h>
#include <sha2.h>
#include <stdint.h>

void bc_sha256(const void *bytes, size_t length, char to[BC_SHA256_SIZE])
{
    static const char digit[] = "0123456789abcdef";
    uint8_t sum[SHA256_DIGEST_LENGTH];
    SHA2_CTX context;
    SHA256Init(&context);
    SHA256Update(&context, bytes, length);
    SHA256Final(sum, &context);
    for (size_t i = 0; i < sizeof sum; i++) {
        to[2 * i] = digit[sum[i] >> 4];
        to[2 * i + 1] = digit[sum[i] & 15];
    }
    to[2 * sizeof sum] = '\0';
}
