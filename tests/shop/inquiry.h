/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_INQUIRY_H
#define TEST_INQUIRY_H
/* A request for quotation built by hand. */
#include "many_or_few.h"
#include "workshop.h"
#include <bloomcoat/quote.h>

typedef struct inquiry {
    workshop w;
    bc_medium layer[4];
    bc_quote_request request;
} inquiry;

/* Layers of these materials, named as for the workshop. */
void open_inquiry(inquiry *q, const char *layers, size_t max_layers);

/* Two materials, up to three layers, R every <= limit from 430 to 660 nm, and a process with errors of every kind. */
void open_runs(inquiry *q, double limit);

/* No option of it states another thickness than its stack has. */
bc_quote_result ask(const inquiry *q);
bc_feasibility verdict_of(const inquiry *q);

#endif
