/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_RECORDED_H
#define TEST_RECORDED_H
/*
 * Figures held against those of the day they were recorded, in tests/shop/recorded/. They say nothing about what is
 * right: the other tests do. They say that something moved which nobody meant to move. After a change that is meant to
 * move them BC_RENEW=yes writes them anew, and `git diff` shows by how much.
 */
#include <stddef.h>

#define MOST_FIGURES 4000

typedef struct recorded {
    size_t figures;
    struct {
        char name[64];
        double value, tolerance;
    } figure[MOST_FIGURES];
} recorded;

/* Without figures yet. */
recorded *begin_record(void);

/* Add a figure; the name has no blanks. It may differ from the one recorded by `tolerance`, and by 1e-9 of itself. */
void record(recorded *r, double value, double tolerance, const char *format, ...) __attribute__((format(printf, 4, 5)));

/* Fails the test where a figure is another, or there are more or fewer. Releases the record. */
void expect_as_recorded(recorded *r, const char *file);

#endif
