/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Thick layers over a range of angles: few angles suffice, when those are added where the verdict finds it worse.
 */
#include "minimax.h"
#include "polish.h"
#include "problem.h"
#include <math.h>

#define LAYERS 6

static const double start_nm[LAYERS] = {900.0, 420.0, 1310.0, 95.0, 700.0, 210.0};

static void open_problem(problem *p, bc_recipe *recipe)
{
    bc_callout *callout;
    problem_open(p, "1.52", "1.38,2.10");
    callout = problem_add(p, 0.02, 500.0, 520.0, 0.0);
    callout->aoi_to_rad = 60.0 * M_PI / 180.0;
    callout->polarization = BC_POL_EACH;
    ck_assert_int_eq(bc_recipe_alloc(LAYERS + 1, recipe, NULL), BC_OK);
    for (size_t j = 0; j < LAYERS; j++)
        bc_recipe_insert(recipe, j, (unsigned)(j % 2), start_nm[j]);
}

/* One descent on the angles of the density alone, and what the verdict says of its end. */
static double without_spots(const problem *p, bc_recipe *recipe)
{
    const bc_limits limits = {p->design.minimum_nm, p->design.max_total_nm, INFINITY};
    bc_fringes fringes;
    bc_merit *merit;
    bc_optimizer *optimizer;
    double limit_used;
    ck_assert_int_eq(bc_fringes_to_resolve(&p->design, recipe, &fringes, NULL), BC_OK);
    ck_assert_int_eq(bc_merit_alloc(&p->design, BC_DENSITY_POLISH, LAYERS, fringes, &merit, NULL), BC_OK);
    ck_assert_int_eq(bc_optimizer_alloc(LAYERS, bc_merit_constraints(merit), &optimizer, NULL), BC_OK);
    bc_minimax(optimizer, merit, &limits, recipe, 120, 1e-6);
    ck_assert_int_eq(bc_judge(&p->design, recipe, &limit_used, NULL), BC_OK);
    ck_assert_double_gt(limit_used, recipe->limit_used * 1.05); /* else this is no test */
    bc_optimizer_free(optimizer);
    bc_merit_free(merit);
    return limit_used;
}

START_TEST(angles_where_the_verdict_is_worse_are_added)
{
    bc_recipe few, polished;
    problem p, same;
    size_t evaluations = 0;
    bc_stop stop;
    double limit_used;
    open_problem(&p, &few);
    open_problem(&same, &polished);
    ck_assert_int_eq(bc_polish(&same.design, &polished, &evaluations, &stop, NULL), BC_OK);
    ck_assert_int_eq(bc_judge(&same.design, &polished, &limit_used, NULL), BC_OK);
    ck_assert_double_eq(polished.limit_used, limit_used);
    ck_assert_double_lt(polished.limit_used, 0.99 * without_spots(&p, &few));
    bc_recipe_clear(&few);
    bc_recipe_clear(&polished);
    problem_close(&p);
    problem_close(&same);
}
END_TEST

/* A spot's rows say of its angle what a check there says. */
START_TEST(a_spot_is_looked_at)
{
    const double aoi_rad = 0.7123;
    bc_recipe recipe;
    bc_fringes fringes;
    bc_merit *few, *more;
    problem p;
    double largest = 0.0, judged;
    open_problem(&p, &recipe);
    ck_assert_int_eq(bc_fringes_to_resolve(&p.design, &recipe, &fringes, NULL), BC_OK);
    ck_assert_int_eq(bc_merit_alloc(&p.design, BC_DENSITY_POLISH, LAYERS, fringes, &few, NULL), BC_OK);
    {
        const bc_extra_sample extra_sample = {&p.callout[0], 0, NULL, aoi_rad};
        ck_assert_int_eq(
            bc_merit_alloc_spots(&p.design, BC_DENSITY_POLISH, LAYERS, fringes, 1, &extra_sample, &more, NULL), BC_OK);
    }
    ck_assert_uint_gt(bc_merit_constraints(more), bc_merit_constraints(few));
    bc_merit_evaluate(more, LAYERS, recipe.material, recipe.thickness_nm, false);
    for (size_t c = bc_merit_constraints(few); c < bc_merit_constraints(more); c++)
        largest = fmax(largest, bc_merit_u(more)[c]);
    p.callout[0].aoi_from_rad = p.callout[0].aoi_to_rad = aoi_rad;
    ck_assert_int_eq(bc_judge(&p.design, &recipe, &judged, NULL), BC_OK);
    ck_assert_double_le(largest, judged);
    ck_assert_double_ge(largest, judged * 0.999); /* between two wavelengths it may be a little worse */
    bc_merit_free(few);
    bc_merit_free(more);
    bc_recipe_clear(&recipe);
    problem_close(&p);
}
END_TEST

Suite *polish_suite(void)
{
    Suite *suite = suite_create("polish");
    TCase *tests = tcase_create("spots");
    tcase_set_timeout(tests, 120.0);
    tcase_add_test(tests, angles_where_the_verdict_is_worse_are_added);
    tcase_add_test(tests, a_spot_is_looked_at);
    suite_add_tcase(suite, tests);
    return suite;
}
