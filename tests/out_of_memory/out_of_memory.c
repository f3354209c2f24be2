/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "out_of_memory.h"
#include "guarded.h"
#include "many_or_few.h"
#include <check.h>
#include <execinfo.h>
#include <gsl/gsl_eigen.h>
#include <gsl/gsl_interp.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_multilarge_nlinear.h>
#include <gsl/gsl_qrng.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_roots.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST_PLACES 4000
#define DEPTH       MANY_OR_FEW(4, 2)
#define OWN_FRAMES  4          /* of this file, at most */
#define BLOCKS      (1u << 16) /* a power of 2, well above what is ever allocated at once */

static enum { OFF, LEARNING, FAILING } state;
static long calls, failing_call;
static uint64_t place[MOST_PLACES];
static long first_call[MOST_PLACES];
static size_t places;
static const void *block[BLOCKS]; /* those that live; open addressing, with `taken` where one was */
static const char taken;
static long live;
static bool as_expected;

static const void **slot_of(const void *memory, bool to_put)
{
    size_t i = (size_t)((uintptr_t)memory >> 4) * 2654435761u % BLOCKS;
    while (block[i] != NULL && block[i] != memory && !(to_put && block[i] == &taken))
        i = (i + 1) % BLOCKS;
    return &block[i];
}

static void *count(void *memory)
{
    if (state != OFF && memory != NULL) {
        *slot_of(memory, true) = memory;
        live++;
    }
    return memory;
}

static void discount(const void *memory)
{
    const void **slot = state == OFF || memory == NULL ? NULL : slot_of(memory, false);
    if (slot != NULL && *slot == memory) {
        *slot = &taken;
        live--;
    }
}

static bool seen_before(const void *caller)
{
    void *frame[DEPTH + OWN_FRAMES];
    uint64_t here = 0;
    const int frames = backtrace(frame, DEPTH + OWN_FRAMES);
    int first = 0;
    while (first < frames && frame[first] != caller)
        first++;
    for (int i = first; i < frames && i < first + DEPTH; i++)
        here = (here ^ (uint64_t)(uintptr_t)frame[i]) * UINT64_C(0x9e3779b97f4a7c15);
    for (size_t i = 0; i < places; i++)
        if (place[i] == here)
            return true;
    if (places < MOST_PLACES)
        place[places] = here;
    return places == MOST_PLACES;
}

static bool is_refused(const void *caller)
{
    if (state == OFF)
        return false;
    calls++;
    if (state == LEARNING && !seen_before(caller))
        first_call[places++] = calls;
    return state == FAILING && calls == failing_call;
}

/* A function in front of one that gives memory. */
#define SCARCE(type, name, parameters, arguments)                                                                      \
    type __real_##name parameters;                                                                                     \
    type __wrap_##name parameters;                                                                                     \
    type __wrap_##name parameters                                                                                      \
    {                                                                                                                  \
        return is_refused(__builtin_return_address(0)) ? NULL : count(__real_##name arguments);                        \
    }
void *__real_malloc(size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_malloc(size_t size)
{
    return is_refused(__builtin_return_address(0)) ? NULL : count(guard(__real_malloc(guarded_size(size)), size));
}
void *__real_calloc(size_t number, size_t size);
void *__wrap_calloc(size_t number, size_t size);
void *__wrap_calloc(size_t number, size_t size)
{
    if (is_refused(__builtin_return_address(0)) || (size > 0 && number > SIZE_MAX / size))
        return NULL;
    return count(guard(__real_calloc(1, guarded_size(number * size)), number * size));
}
SCARCE(void *, aligned_alloc, (size_t alignment, size_t size), (alignment, size))
SCARCE(char *, strdup, (const char *text), (text))
SCARCE(char *, strndup, (const char *text, size_t size), (text, size))

/* Of GSL's whole objects; what they consist of is allocated within GSL, whose own calls the linker leaves alone. */
#define SCARCE_GSL(type, name, parameters, arguments)                                                                  \
    type __real_##name parameters;                                                                                     \
    type __wrap_##name parameters;                                                                                     \
    type __wrap_##name parameters                                                                                      \
    {                                                                                                                  \
        return is_refused(__builtin_return_address(0)) ? NULL : __real_##name arguments;                               \
    }
SCARCE_GSL(gsl_vector *, gsl_vector_alloc, (size_t n), (n))
SCARCE_GSL(gsl_vector *, gsl_vector_calloc, (size_t n), (n))
SCARCE_GSL(gsl_matrix *, gsl_matrix_alloc, (size_t n, size_t m), (n, m))
SCARCE_GSL(gsl_permutation *, gsl_permutation_alloc, (size_t n), (n))
SCARCE_GSL(gsl_eigen_symmv_workspace *, gsl_eigen_symmv_alloc, (size_t n), (n))
SCARCE_GSL(gsl_interp *, gsl_interp_alloc, (const gsl_interp_type *type, size_t n), (type, n))
SCARCE_GSL(gsl_rng *, gsl_rng_alloc, (const gsl_rng_type *type), (type))
SCARCE_GSL(gsl_qrng *, gsl_qrng_alloc, (const gsl_qrng_type *type, unsigned int d), (type, d))
SCARCE_GSL(gsl_min_fminimizer *, gsl_min_fminimizer_alloc, (const gsl_min_fminimizer_type *type), (type))
SCARCE_GSL(gsl_root_fsolver *, gsl_root_fsolver_alloc, (const gsl_root_fsolver_type *type), (type))
SCARCE_GSL(gsl_multifit_nlinear_workspace *, gsl_multifit_nlinear_alloc,
           (const gsl_multifit_nlinear_type *type, const gsl_multifit_nlinear_parameters *parameters, size_t n,
            size_t p),
           (type, parameters, n, p))
SCARCE_GSL(gsl_multilarge_nlinear_workspace *, gsl_multilarge_nlinear_alloc,
           (const gsl_multilarge_nlinear_type *type, const gsl_multilarge_nlinear_parameters *parameters, size_t n,
            size_t p),
           (type, parameters, n, p))

void *__real_realloc(void *memory, size_t size);
void *__wrap_realloc(void *memory, size_t size);
void __real_free(void *memory);
void __wrap_free(void *memory);
int __wrap_asprintf(char **out, const char *format, ...);

void *__wrap_realloc(void *memory, size_t size)
{
    void *moved;
    if (is_refused(__builtin_return_address(0)))
        return NULL;
    discount(memory);
    unguard(memory);
    moved = guard(__real_realloc(memory, guarded_size(size)), size);
    return count(moved != NULL ? moved : memory) == moved ? moved : NULL;
}

void __wrap_free(void *memory)
{
    discount(memory);
    unguard(memory);
    __real_free(memory);
}

__attribute__((format(printf, 2, 3))) int __wrap_asprintf(char **out, const char *format, ...)
{
    va_list arguments;
    int length;
    if (is_refused(__builtin_return_address(0)))
        return -1;
    va_start(arguments, format);
    length = vasprintf(out, format, arguments);
    va_end(arguments);
    if (length >= 0)
        count(*out);
    return length;
}

static void begin(int new_state, long at)
{
    memset(block, 0, sizeof block);
    live = calls = 0;
    as_expected = true;
    failing_call = at;
    state = new_state;
}

void expect_memory_error(bool holds)
{
    as_expected = as_expected && holds;
}

size_t fail_each_allocation(failing_act *act, void *context)
{
    bc_error error = {0};
    void *frame[1];
    backtrace(frame, 1);                                               /* loads what it needs, and that takes memory */
    ck_assert_msg(act(context, &error) == BC_OK, "%s", error.message); /* what is kept for good is there from now on */
    places = 0;
    begin(LEARNING, 0);
    ck_assert_int_eq(act(context, &error), BC_OK);
    state = OFF;
    ck_assert_int_eq(live, 0);
    ck_assert_uint_lt(places, MOST_PLACES);
    for (size_t i = 0; i < places; i++) {
        bc_status status;
        memset(&error, 0, sizeof error);
        begin(FAILING, first_call[i]);
        status = act(context, &error);
        state = OFF;
        ck_assert_msg(status == BC_OK || status == BC_ERROR_MEMORY, "place %zu: %s", i, error.message);
        ck_assert_int_eq(error.status, status);
        ck_assert_msg(as_expected, "place %zu: the result is not as it should be", i);
        ck_assert_msg(live == 0, "place %zu: %ld blocks stay allocated", i, live);
    }
    return places;
}
