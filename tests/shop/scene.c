/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"
#include <math.h>
#include <stdlib.h>

void open_scene_of(scene *s, const char *materials, size_t layers)
{
    open_inquiry(&s->q, materials, layers);
    workshop_ask(&s->q.w, 0.03, 550.0, 550.0, 0.0);
    workshop_errors(&s->q.w, "*", 0.001, 0.0, 0.0);
    s->q.w.row[0].has_rate = s->q.w.process.has_rate = true;
    s->q.w.row[0].rate_nm_per_s = 0.01;
    s->q.request.process = &s->q.w.process;
    s->q.request.threads = 1;
    s->watch = (bc_watch){.limit_used = INFINITY};
    s->pool = (bc_pool){
        .request = &s->q.request, .problem = &s->q.w.problem, .watch = &s->watch, .part = {0.0, 1.0}, .room = MOST};
    s->pool.design = calloc(MOST, sizeof *s->pool.design);
    ck_assert_ptr_nonnull(s->pool.design);
}

void open_scene(scene *s)
{
    open_scene_of(s, "1.38", 1);
}

void add(scene *s, double thickness_nm, double yield, double factor)
{
    bc_pooled *design = &s->pool.design[s->pool.count++];
    s->q.w.stack.layer[0].thickness_nm = thickness_nm;
    ck_assert_int_eq(bc_stack_copy(&s->q.w.stack, &design->stack, NULL), BC_OK);
    design->forecast = (bc_forecast){0.5, yield, factor, factor};
}

void add_with_limit(scene *s, double thickness_nm, double factor)
{
    bc_pooled *design = &s->pool.design[s->pool.count];
    add(s, thickness_nm, 0.1, factor);
    design->limit_factor = calloc(1, sizeof(double));
    ck_assert_ptr_nonnull(design->limit_factor);
    design->limit_factor[0] = factor;
}

bool count_asked(void *context, double fraction, double limit_used)
{
    (void)fraction;
    (void)limit_used;
    ++*(size_t *)context;
    return true;
}

void close_scene(scene *s)
{
    bc_pool_clear(&s->pool);
    workshop_close(&s->q.w);
}
