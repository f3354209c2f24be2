/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "guarded.h"
#include <malloc.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BEHIND 64 /* bytes at least */
#define BYTE   0xff
#define KEY    UINT64_C(0x6a09e667f3bcc908) /* any number */

/* At the very end of what the allocator gave. */
typedef struct seal {
    uint64_t key; /* with the address: a block that moved has none */
    size_t size;
} seal;

#ifdef __SANITIZE_ADDRESS__

size_t guarded_size(size_t size)
{
    return size;
}

void *guard(void *memory, size_t size)
{
    (void)size;
    return memory;
}

void unguard(void *memory)
{
    (void)memory;
}

#else

static uint64_t key_of(const void *memory)
{
    return KEY ^ (uint64_t)(uintptr_t)memory;
}

size_t guarded_size(size_t size)
{
    return size > SIZE_MAX - BEHIND - sizeof(seal) ? SIZE_MAX : size + BEHIND + sizeof(seal); /* too much stays so */
}

void *guard(void *memory, size_t size)
{
    if (memory == NULL)
        return NULL;
    const seal sealed = {key_of(memory), size};
    const size_t end = malloc_usable_size(memory) - sizeof sealed;
    memset((char *)memory + size, BYTE, end - size);
    memcpy((char *)memory + end, &sealed, sizeof sealed);
    return memory;
}

void unguard(void *memory)
{
    unsigned char *byte = memory;
    seal sealed;
    if (memory == NULL)
        return;
    const size_t all = malloc_usable_size(memory);
    if (all < BEHIND + sizeof sealed)
        return;
    memcpy(&sealed, byte + all - sizeof sealed, sizeof sealed);
    if (sealed.key != key_of(memory))
        return;
    for (size_t i = sealed.size; i < all - sizeof sealed; i++)
        if (byte[i] != BYTE) {
            fprintf(stderr, "%zu bytes behind a block of %zu were written to\n", i + 1 - sealed.size, sealed.size);
            abort();
        }
    /* The next to be given this place may be none of ours. */
    explicit_bzero(byte + all - sizeof sealed, sizeof sealed);
}

#endif
