/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROCESSORS_H
#define BLOOMCOAT_PROCESSORS_H
/*
 * For short hot loops: compiled for each instruction set, and the loader picks one.
 * Clang gives such functions names of its own that other files do not find, so there they are compiled once.
 */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(BC_ONE_PROCESSOR)
#define FOR_EVERY_PROCESSOR __attribute__((target_clones("arch=x86-64-v4", "arch=x86-64-v3", "default")))
#else
#define FOR_EVERY_PROCESSOR
#endif

#endif
