/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_PROBLEM_H
#define TEST_PROBLEM_H
/* A design problem built by hand, and what it stands on. */
#include <bloomcoat/draft.h>
#include <check.h>

#define MOST_CALLOUTS 17
#define MOST_MEDIA    4

typedef struct problem {
    bc_materials *materials;
    bc_callout callout[MOST_CALLOUTS];
    bc_callouts callouts;
    bc_medium substrate[MOST_MEDIA], material[MOST_MEDIA];
    bc_design_problem design;
} problem;

/* Names are resolved as on the command line; the tables are those of the source tree. Lists are comma-separated. */
void problem_open(problem *p, const char *substrates, const char *layers);
void problem_close(problem *p);

/* Add "R every <= limit" from..to at one angle; the row comes back to be changed. */
bc_callout *problem_add(problem *p, double limit, double from_nm, double to_nm, double aoi_deg);

/* limit_used of the verdict on a stack, layer 0 on the substrate. */
double problem_used(const problem *p, size_t layers, const unsigned *material, const double *nm);

Suite *merit_suite(void);
Suite *near_suite(void);
Suite *rows_suite(void);
Suite *newton_suite(void);
Suite *minimax_suite(void);
Suite *refine_suite(void);
Suite *polish_suite(void);
Suite *draft_suite(void);
Suite *rough_suite(void);
Suite *recipe_suite(void);
Suite *bound_suite(void);
Suite *zones_suite(void);
Suite *memory_suite(void);
Suite *starts_suite(void);
Suite *exploration_suite(void);
Suite *crossing_suite(void);
Suite *proof_suite(void);
Suite *proof_bounds_suite(void);

#endif
