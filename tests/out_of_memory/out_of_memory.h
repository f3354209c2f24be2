/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_OUT_OF_MEMORY_H
#define TEST_OUT_OF_MEMORY_H
/*
 * Memory that runs out below the program: every place of the library that asks for memory, its own or GSL's, fails
 * once. A place is a call with the three above it (one under the sanitizers). The linker puts these functions in front
 * of the allocator's for the library's own calls (see CMakeLists.txt); for one thread only.
 */
#include <bloomcoat/error.h>
#include <stdbool.h>
#include <stddef.h>

/* What is tried. Ends with BC_OK, having given everything back, or with an error, having nothing to give back. (Without
 * Check's own assertions, which allocate.) */
typedef bc_status failing_act(void *context, bc_error *error);

/* Called by an act: the test fails, in the end, unless `holds`. */
void expect_memory_error(bool holds);

/* `act` as it is must be BC_OK; with one allocation failed it must be BC_ERROR_MEMORY, or BC_OK where the memory was
 * not needed. Nothing stays allocated. Returns how many places there are. */
size_t fail_each_allocation(failing_act *act, void *context);

#endif
