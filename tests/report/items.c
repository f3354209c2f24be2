/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "items.h"
#include <check.h>

size_t count_kind(const bc_chart_panel *panel, bc_chart_kind kind)
{
    size_t count = 0;
    for (size_t i = 0; i < panel->items; i++)
        count += panel->item[i].kind == kind;
    return count;
}

const bc_chart_item *item_of(const bc_chart_panel *panel, bc_chart_kind kind, size_t n)
{
    for (size_t i = 0; i < panel->items; i++)
        if (panel->item[i].kind == kind && n-- == 0)
            return &panel->item[i];
    ck_abort_msg("too few items of kind %d", (int)kind);
    return NULL;
}
