/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "charted.h"
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

void remake(charted *all)
{
    for (size_t c = 0; c < CHARTS; c++) {
        bc_control_chart_clear(&all->chart[c]);
        ck_assert_int_eq(bc_control_chart_make(&all->series[c], 0, &all->chart[c], NULL), BC_OK);
    }
}

void open_charted(charted *all)
{
    memset(all, 0, sizeof *all);
    for (size_t i = 0; i < CHARTED; i++) {
        snprintf(all->name[i], sizeof all->name[i], "I-%04zu", i + 1);
        all->label[i] = all->name[i];
        all->run[i] = i + 2;
        all->all_runs[i] = i;
        all->value[0][i] = all->used[i] = 0.75 + 0.05 * (double)(i % 2);
        all->value[1][i] = 0.005 * all->used[i];
        all->value[2][i] = 1.01 + 0.002 * (double)(i % 2) + (i >= 16 ? 0.003 : 0.0);
    }
    all->value[2][21] = 1.03;
    all->series[0] = (bc_control_series){.kind = BC_CONTROL_LIMIT_USED,
                                         .limit = 1.0,
                                         .count = CHARTED - 2,
                                         .value = all->value[0],
                                         .limit_used = all->used,
                                         .run = all->run};
    all->series[1] = (bc_control_series){.kind = BC_CONTROL_CALLOUT,
                                         .name = "band",
                                         .limit = 0.005,
                                         .count = CHARTED - 2,
                                         .value = all->value[1],
                                         .limit_used = all->used,
                                         .run = all->run};
    all->series[2] = (bc_control_series){.kind = BC_CONTROL_TOOLING,
                                         .name = "hard",
                                         .limit = NAN,
                                         .count = CHARTED,
                                         .value = all->value[2],
                                         .run = all->all_runs};
    all->report =
        (bc_control_report){.runs = CHARTED, .label = all->label, .others = 2, .charts = CHARTS, .chart = all->chart};
    remake(all);
}

void close_charted(charted *all)
{
    for (size_t c = 0; c < CHARTS; c++)
        bc_control_chart_clear(&all->chart[c]);
}
