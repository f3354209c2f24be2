/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The arena: one allocation, measured and carved by the same code.
 */
#include "suites.h"
#include <arena.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Looked for by AddressSanitizer, which otherwise stops the program at a size no machine has instead of answering NULL
 * as malloc() does. Without it this is a function nobody calls. */
const char *__asan_default_options(void);
const char *__asan_default_options(void)
{
    return "allocator_may_return_null=1";
}

/* Pieces of sizes that leave every remainder of the alignment, and empty ones. */
static const struct {
    size_t count, size;
} pieces[] = {{1, 1}, {64, 1}, {65, 1}, {0, 8}, {7, 8}, {8, 8}, {9, 8}, {3, 0}, {5, 24}, {63, 1}, {1000, 3}, {1, 4096}};
#define PIECES (sizeof pieces / sizeof pieces[0])

static void lay_out(bc_arena *arena, unsigned char *piece[PIECES])
{
    for (size_t i = 0; i < PIECES; i++)
        piece[i] = bc_arena_take(arena, pieces[i].count, pieces[i].size);
}

static void open_pieces(bc_arena *arena, unsigned char *piece[PIECES])
{
    bc_error error = {0};
    memset(arena, 0, sizeof *arena);
    lay_out(arena, piece);
    for (size_t i = 0; i < PIECES; i++)
        ck_assert_ptr_null(piece[i]);
    ck_assert_int_eq(bc_arena_open(arena, &error), BC_OK);
    ck_assert_uint_eq(arena->used, 0);
    lay_out(arena, piece);
}

START_TEST(measured_is_used)
{
    bc_arena measured = {0}, arena;
    unsigned char *piece[PIECES];
    size_t least = 0;
    lay_out(&measured, piece);
    open_pieces(&arena, piece);
    for (size_t i = 0; i < PIECES; i++)
        least += pieces[i].count * pieces[i].size;
    ck_assert_uint_eq(arena.used, measured.used);
    ck_assert_uint_eq(arena.used, arena.size);
    ck_assert_uint_ge(arena.size, least);
    ck_assert_uint_lt(arena.size, least + PIECES * (BC_ARENA_ALIGNMENT + BC_ARENA_GAP));
    ck_assert(!arena.overflow);
    free(arena.memory);
}
END_TEST

START_TEST(every_piece_is_aligned)
{
    bc_arena arena;
    unsigned char *piece[PIECES];
    open_pieces(&arena, piece);
    for (size_t i = 0; i < PIECES; i++)
        ck_assert_uint_eq((uintptr_t)piece[i] % 64, 0);
    free(arena.memory);
}
END_TEST

/* Freed memory full of ones is likely to be handed out again: a piece that is zero was made so. */
START_TEST(every_byte_is_zero)
{
    unsigned char *piece[PIECES];
    for (int round = 0; round < 3; round++) {
        bc_arena arena;
        open_pieces(&arena, piece);
        for (size_t i = 0; i < PIECES; i++) {
            for (size_t b = 0; b < pieces[i].count * pieces[i].size; b++)
                ck_assert_int_eq(piece[i][b], 0);
            memset(piece[i], 0xff, pieces[i].count * pieces[i].size);
        }
        free(arena.memory);
    }
}
END_TEST

/* Each piece is filled with its own number; none may find another's. */
START_TEST(pieces_keep_apart)
{
    bc_arena arena;
    unsigned char *piece[PIECES];
    open_pieces(&arena, piece);
    for (size_t i = 0; i < PIECES; i++) {
        const size_t bytes = pieces[i].count * pieces[i].size;
        ck_assert(piece[i] >= arena.memory);
        ck_assert_uint_le((size_t)(piece[i] - arena.memory) + bytes, arena.size);
        memset(piece[i], (int)i + 1, bytes);
    }
    for (size_t i = 0; i < PIECES; i++)
        for (size_t b = 0; b < pieces[i].count * pieces[i].size; b++)
            ck_assert_uint_eq(piece[i][b], i + 1);
    free(arena.memory);
}
END_TEST

START_TEST(empty_arena_opens)
{
    bc_arena arena = {0};
    ck_assert_int_eq(bc_arena_open(&arena, NULL), BC_OK);
    ck_assert_ptr_nonnull(arena.memory);
    ck_assert_uint_eq((uintptr_t)arena.memory % 64, 0);
    free(arena.memory);
}
END_TEST

static void expect_memory_error(bc_arena *arena)
{
    bc_error error = {0};
    ck_assert_int_eq(bc_arena_open(arena, &error), BC_ERROR_MEMORY);
    ck_assert_int_eq(error.status, BC_ERROR_MEMORY);
    ck_assert_str_eq(error.message, "out of memory");
    ck_assert_ptr_null(arena->memory);
    ck_assert_int_eq(bc_arena_open(arena, NULL), BC_ERROR_MEMORY);
}

/* Sizes whose product, or whose product rounded up to the alignment, does not fit in a size_t. Wrapped, each would be
 * a few bytes. */
START_TEST(product_too_large)
{
    static const struct {
        size_t count, size;
    } wrapping[] = {
        {SIZE_MAX, 1},         {1, SIZE_MAX},       {SIZE_MAX, SIZE_MAX},    {SIZE_MAX / 8 + 1, 8},
        {SIZE_MAX / 8 + 2, 8}, {SIZE_MAX - 62, 1},  {SIZE_MAX / 24 + 1, 24}, {(size_t)1 << 32, (size_t)1 << 32},
        {3, SIZE_MAX / 3 + 1}, {SIZE_MAX / 64, 64}, {SIZE_MAX / 2 + 1, 2},
    };
    for (size_t i = 0; i < sizeof wrapping / sizeof *wrapping; i++) {
        bc_arena arena = {0};
        ck_assert_ptr_null(bc_arena_take(&arena, wrapping[i].count, wrapping[i].size));
        ck_assert_ptr_null(bc_arena_take(&arena, 1, 8));
        expect_memory_error(&arena);
    }
}
END_TEST

/* Each piece fits; their sum is just over a size_t and would wrap to a few bytes. */
START_TEST(sum_too_large)
{
    for (size_t pieces_of_all = 2; pieces_of_all <= 1024; pieces_of_all *= 2) {
        bc_arena arena = {0};
        for (size_t piece = 0; piece < pieces_of_all; piece++) {
            bc_arena_take(&arena, SIZE_MAX / pieces_of_all + 1, 1);
            ck_assert(arena.overflow == (piece == pieces_of_all - 1));
        }
        bc_arena_take(&arena, 64, 1);
        expect_memory_error(&arena);
    }
}
END_TEST

/* No overflow, but more than any machine has. */
START_TEST(more_than_there_is)
{
    bc_arena arena = {0};
    bc_arena_take(&arena, SIZE_MAX / 4, 2);
    ck_assert(!arena.overflow);
    expect_memory_error(&arena);
}
END_TEST

TCase *arena_case(void)
{
    TCase *tests = tcase_create("arena");
    tcase_add_test(tests, measured_is_used);
    tcase_add_test(tests, every_piece_is_aligned);
    tcase_add_test(tests, every_byte_is_zero);
    tcase_add_test(tests, pieces_keep_apart);
    tcase_add_test(tests, empty_arena_opens);
    tcase_add_test(tests, product_too_large);
    tcase_add_test(tests, sum_too_large);
    tcase_add_test(tests, more_than_there_is);
    return tests;
}
