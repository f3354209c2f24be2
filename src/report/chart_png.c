/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The physical size of a PNG's pixels: chunk pHYs of the PNG specification (ISO/IEC 15948, 11.3.5.3), which Cairo does
 * not write. Without it a picture made for a column comes out in any size.
 */
#include "internal/chart_draw.h"
#include "internal/text.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

#define SIGNATURE_AND_HEADER (8 + 25) /* IHDR has 13 bytes of data, and 12 around them */
#define PHYS_BYTES           21

/* The CRC of the PNG specification, annex D. */
static uint32_t crc_of(const unsigned char *data, size_t length)
{
    uint32_t crc = UINT32_C(0xffffffff);
    for (size_t i = 0; i < length; i++) {
        crc ^= data[i];
        for (int bit = 0; bit < 8; bit++)
            crc = (crc & 1) != 0 ? UINT32_C(0xedb88320) ^ (crc >> 1) : crc >> 1;
    }
    return ~crc;
}

static void put_32(unsigned char *to, uint32_t value)
{
    for (int byte = 0; byte < 4; byte++)
        to[byte] = (unsigned char)(value >> (24 - 8 * byte));
}

void bc_chart_finish_png(const bc_text *png, double dpi, bc_text *out)
{
    const uint32_t per_metre = (uint32_t)lround(dpi / 0.0254);
    unsigned char chunk[PHYS_BYTES];
    if (png->length < SIGNATURE_AND_HEADER) {
        out->failed = true;
        return;
    }
    put_32(chunk, 9);
    memcpy(chunk + 4, "pHYs", 4); /* NOLINT(bugprone-not-null-terminated-result): four letters, no string */
    put_32(chunk + 8, per_metre);
    put_32(chunk + 12, per_metre);
    chunk[16] = 1; /* the unit is the metre */
    put_32(chunk + 17, crc_of(chunk + 4, 13));
    bc_text_add_bytes(out, png->data, SIGNATURE_AND_HEADER);
    bc_text_add_bytes(out, (const char *)chunk, sizeof chunk);
    bc_text_add_bytes(out, png->data + SIGNATURE_AND_HEADER, png->length - SIGNATURE_AND_HEADER);
}
