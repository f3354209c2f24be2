/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Materials that the part does not withstand: which glass withstands the least heat.
 */
#include "scratch.h"
#include "screen.h"
#include "workshop.h"
#include <stdio.h>
#include <string.h>

/* Two glasses that stand `stands_c`, a layer that needs 250 degrees, and a request for both. */
typedef struct heated {
    bc_materials *materials;
    bc_medium glass[2], layer;
    bc_callout callout;
    bc_callouts callouts;
    bc_design_problem problem;
    bc_quote_request request;
} heated;

static void add_table(const char *name, const char *note, double degrees)
{
    char file[40], table[200];
    snprintf(file, sizeof file, "%s.csv", name);
    snprintf(table, sizeof table, "# source: by hand\n# %s: %g (by hand)\nwavelength_nm,n,k\n300,1.5,0\n900,1.5,0\n",
             note, degrees);
    scratch_write(file, table);
}

static void open_heated(heated *all, double first_c, double second_c)
{
    static const char *const name[] = {"first", "second"};
    memset(all, 0, sizeof *all);
    add_table(name[0], "max_process_c", first_c);
    add_table(name[1], "max_process_c", second_c);
    add_table("hard", "process_c", 250.0);
    all->materials = scratch_materials();
    for (int g = 0; g < 2; g++)
        ck_assert_int_eq(bc_medium_find(all->materials, name[g], NULL, &all->glass[g], NULL), BC_OK);
    ck_assert_int_eq(bc_medium_find(all->materials, "hard", NULL, &all->layer, NULL), BC_OK);
    all->callout = (bc_callout){.limit = 0.01, .from_nm = 450.0, .to_nm = 650.0};
    all->callouts = (bc_callouts){.count = 1, .callout = &all->callout};
    all->problem = (bc_design_problem){.callouts = &all->callouts, .substrates = 2, .substrate = all->glass};
    all->request = (bc_quote_request){.problem = &all->problem, .max_process_c = INFINITY};
}

/* The glass that stands least is named, and of two that stand as much the first; what the request allows goes before
 * both. Loop: the first stands less, the second, both alike; the request allows less; it allows more. */
START_TEST(the_glass_that_stands_least_is_named)
{
    static const struct {
        double first_c, second_c, asked_c, limit_c;
        int part; /* 2: none */
    } rows[] = {{150, 200, INFINITY, 150, 0},
                {200, 150, INFINITY, 150, 1},
                {150, 150, INFINITY, 150, 0},
                {150, 200, 100, 100, 2},
                {150, 200, 300, 300, 2}};
    bc_remark remark[BC_MOST_REMARKS];
    heated all;
    open_heated(&all, rows[_i].first_c, rows[_i].second_c);
    all.request.max_process_c = rows[_i].asked_c;
    const size_t count = bc_screen_layer(&all.request, &all.layer, remark);
    if (rows[_i].limit_c >= 250.0)
        ck_assert(count == 0 || !remark[0].refused);
    else {
        ck_assert_uint_eq(count, 1);
        ck_assert(remark[0].refused && remark[0].kind == BC_REMARK_HEAT);
        ck_assert_double_eq(remark[0].process_c, 250.0);
        ck_assert_double_eq(remark[0].limit_c, rows[_i].limit_c);
        ck_assert_ptr_eq(remark[0].part, rows[_i].part == 2 ? NULL : &all.glass[rows[_i].part]);
    }
    bc_materials_free(all.materials);
}
END_TEST

/* What needs just as much heat as the part stands is not refused. */
START_TEST(as_much_heat_as_it_stands_is_allowed)
{
    bc_remark remark[BC_MOST_REMARKS];
    heated all;
    open_heated(&all, _i == 0 ? 250.0 : 249.9, 400.0);
    const size_t count = bc_screen_layer(&all.request, &all.layer, remark);
    ck_assert_int_eq(count > 0 && remark[0].refused, _i == 1);
    bc_materials_free(all.materials);
}
END_TEST

TCase *screen_case(void)
{
    TCase *tests = scratch_case("screen");
    tcase_add_loop_test(tests, the_glass_that_stands_least_is_named, 0, 5);
    tcase_add_loop_test(tests, as_much_heat_as_it_stands_is_allowed, 0, 2);
    return tests;
}
