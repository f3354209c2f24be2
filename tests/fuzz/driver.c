/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"

/* libFuzzer's names. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size)
{
    FUZZ_TARGET(bytes, size);
    return 0;
}
