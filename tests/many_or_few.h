/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TESTS_MANY_OR_FEW_H
#define TESTS_MANY_OR_FEW_H

/* How many cases or how much work a test takes: many show that a promise holds, in the build as shipped; under the
 * sanitizers, which look at every access, few go through the same code. */
#if defined(__SANITIZE_ADDRESS__)
#define MANY_OR_FEW(many, few) (few)
#else
#define MANY_OR_FEW(many, few) (many)
#endif

#endif
