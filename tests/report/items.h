/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_ITEMS_H
#define TEST_ITEMS_H
/*
 * What a panel of a chart holds.
 */
#include "chart.h"

size_t count_kind(const bc_chart_panel *panel, bc_chart_kind kind);

/* The n-th item of a kind, from 0; the test fails where there are fewer. */
const bc_chart_item *item_of(const bc_chart_panel *panel, bc_chart_kind kind, size_t n);

#endif
