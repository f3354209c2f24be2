/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_WORKSHOP_H
#define TEST_WORKSHOP_H
/*
 * A stack, its callouts and a process built by hand, and the runs of it.
 */
#include <bloomcoat/yield.h>
#include <check.h>

#define PI            3.14159265358979323846
#define MOST_CALLOUTS 4
#define MOST_GLASSES  3
#define MOST_ROWS     6

typedef struct workshop {
    bc_materials *materials;
    bc_stack stack;
    bc_callout callout[MOST_CALLOUTS];
    bc_callouts callouts;
    bc_medium glass[MOST_GLASSES];
    bc_design_problem problem;
    bc_process_row row[MOST_ROWS];
    bc_process process;
    bc_yield_options options; /* 40000 runs, seed 1, two threads, nothing but the yield */
} workshop;

/* Names are resolved as on the command line; lists are comma-separated. The layers run from the outer one, 100 nm each.
 */
void workshop_open(workshop *w, const char *incident, const char *layers, const char *glasses);
void workshop_close(workshop *w);

/* A name as on the command line; fails the test where there is none. */
bc_medium workshop_medium(const workshop *w, const char *name);

/* Add "R every <= limit" from..to at one angle; the row comes back to be changed. */
bc_callout *workshop_ask(workshop *w, double limit, double from_nm, double to_nm, double aoi_deg);

/* Add a row of the process; fractions. */
void workshop_errors(workshop *w, const char *material, double sigma, double bias, double index_sigma);

/* Run it; fails the test when it cannot be. */
bc_yield_result workshop_run(const workshop *w);

/* R of one clear layer at one wavelength and normal incidence from air: Airy's sum of its two faces, Born and Wolf,
 * Principles of Optics, ch. 7.6 (elementary). */
double one_layer(double n, double glass_n, double thickness_nm, double wavelength_nm);

/* P(x < value) of a normal number. */
double normal_below(double value);

/* Fails the test unless a yield found with so many runs may come from the share `expected`: within 4 standard errors.
 */
void expect_share(const bc_yield_result *result, double expected);

TCase *random_case(void);
TCase *proportion_case(void);
TCase *yield_case(void);
TCase *known_case(void);
TCase *conditions_case(void);
TCase *influence_case(void);
TCase *scale_case(void);
TCase *percentiles_case(void);
TCase *colour_runs_case(void);
TCase *shift_case(void);
TCase *refusals_case(void);
TCase *load_case(void);
TCase *quote_case(void);
TCase *offers_case(void);
TCase *robust_case(void);
TCase *deposit_case(void);
TCase *signal_case(void);
TCase *monitor_case(void);
TCase *lens_case(void);
TCase *memory_case(void);
TCase *alternatives_case(void);
TCase *estimate_case(void);
TCase *response_case(void);
TCase *doubtful_case(void);
TCase *relax_case(void);
TCase *standard_case(void);
TCase *raise_case(void);
TCase *contradiction_case(void);
TCase *screen_case(void);
TCase *under_errors_case(void);
TCase *sensitivity_case(void);
TCase *options_case(void);
TCase *pool_case(void);
TCase *look_case(void);
TCase *prefer_case(void);
TCase *judged_case(void);
TCase *ladder_case(void);
TCase *lens_factor_case(void);
TCase *add_layer_case(void);
TCase *found_case(void);
TCase *process_draw_case(void);
TCase *bounds_case(void);
TCase *standard_offers_case(void);
TCase *progress_case(void);
TCase *plan_case(void);
TCase *decided_case(void);
TCase *choice_case(void);
TCase *least_case(void);
TCase *change_case(void);
TCase *recorded_case(void);
TCase *recorded_runs_case(void);

#endif
