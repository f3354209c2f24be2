/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CONTROL_H
#define BLOOMCOAT_CONTROL_H
/*
 * Control charts of individual values, one a run, and of their moving range (Shewhart, Economic Control of Quality of
 * Manufactured Product, 1931; constants and rules as ISO 7870-2 has them, from memory).
 *
 * The lines come from the first runs, BC_CONTROL_BASELINE or those asked for, or from all where there are fewer. With
 * MR the average range between two runs in succession, sigma = MR / d2 and
 *
 *     values   average +- 3 sigma                 d2 = 2 / sqrt(pi) = 1.128
 *     ranges   0 to MR (1 + 3 d3 / d2)            d3 = sqrt(2 - 4 / pi) = 0.853: 3.267 MR
 *
 * An alarm: a value, or a range, beyond its line; 7 values in succession on one side of the average; 7 in succession
 * that rise, or fall, all the way. The fourth rule, any other pattern that chance would not make, is for the eye.
 *
 * A slow drift hardly widens the range between two runs, so that sigma is that of the runs and not of the drift; the
 * share of a limit at the average + 3 standard deviations takes the standard deviation of all runs, with the drift.
 *
 * How many alarms a process in control raises, and how soon a drift does, is measured in tests/histories/charts.c.
 */
#include <bloomcoat/callouts.h>

BC_API_BEGIN

#define BC_CONTROL_BASELINE 20
#define BC_CONTROL_LEAST    5 /* values, for lines at all */
#define BC_CONTROL_RUN      7 /* values in succession */

typedef enum bc_control_kind {
    BC_CONTROL_LIMIT_USED, /* the largest of a run */
    BC_CONTROL_CALLOUT,    /* the value of one, a fraction */
    BC_CONTROL_TOOLING,    /* thickness on the part / thickness at the monitor, of one material */
} bc_control_kind;

typedef enum bc_control_rule { BC_RULE_BEYOND, BC_RULE_RANGE, BC_RULE_SIDE, BC_RULE_TREND } bc_control_rule;

typedef struct bc_control_alarm {
    bc_control_rule rule;
    size_t from, to; /* values, from 0: those that make the alarm. Of a range the two values it is between */
    size_t raised;   /* the value at which it was raised: of 7 in succession the seventh */
    bool high;       /* above, or rising */
} bc_control_alarm;

/* What is charted. */
typedef struct bc_control_series {
    bc_control_kind kind;
    char name[BC_CALLOUT_NAME_SIZE]; /* of the callout or material; empty: limit_used */
    double limit;                    /* of a callout, a fraction; NAN: none */
    bool at_least;                   /* the limit is one from below */
    size_t count;
    double *value;      /* [count] in the order of the runs */
    double *limit_used; /* [count] of a callout; NULL: none */
    size_t *run;        /* [count] which run each is of, rising */
} bc_control_series;

typedef struct bc_control_chart {
    const bc_control_series *series;
    bool known;      /* false: fewer than BC_CONTROL_LEAST values, and nothing below */
    size_t baseline; /* values the lines are from */
    double average, sigma, low, high;
    double range, range_high;
    double *moving; /* [count] the range to the value before; the first is NAN */
    size_t alarms;
    bc_control_alarm *alarm; /* [alarms] in the order they were raised */
    double mean_used;        /* limit_used over all runs: its average, */
    double at_3_sigma;       /* and the share of the limit at average + 3 standard deviations; NAN: no limit */
} bc_control_chart;

/* `baseline`: how many of the first values the lines are to come from; 0: BC_CONTROL_BASELINE. Release with
 * bc_control_chart_clear(). The chart points into the series. */
bc_status bc_control_chart_make(const bc_control_series *series, size_t baseline, bc_control_chart *chart,
                                bc_error *error);
void bc_control_chart_clear(bc_control_chart *chart);

/* Whether the last of `runs` runs raised an alarm, or is part of one that goes on. */
bool bc_control_sounds(const bc_control_chart *chart, size_t runs);

BC_API_END

#endif
