/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_GUARDED_H
#define TEST_GUARDED_H
/*
 * Blocks of memory with something behind them, so that a suite as shipped notices what is read or written past an end:
 * bytes of 0xff, which as a number are NaN, as an index or a pointer lead nowhere, and are looked at when the block is
 * given back. The allocator's own rounding leaves zeros there, with which an index that goes one too far does no harm.
 * Under the address sanitizer, which does this better, blocks are as they are.
 */
#include <stddef.h>

/* What to ask for in place of `size` bytes. */
size_t guarded_size(size_t size);
/* Guard a block of guarded_size(size) bytes; NULL stays NULL. */
void *guard(void *memory, size_t size);
/* Before a block is given back or made larger: ends the program where something was written behind it. Blocks that no
 * guard() has seen, and NULL, are left alone. */
void unguard(void *memory);

#endif
