/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef TEST_SCENE_H
#define TEST_SCENE_H
/* A pool of designs whose looks are written by hand. */
#include "inquiry.h"
#include "pool.h"

#define MOST 7

typedef struct scene {
    inquiry q;
    bc_watch watch;
    bc_pool pool;
} scene;

/* One layer of 1.38 at 550 nm, where every thickness near the quarter wave of 99.6 nm is good in every run; an hour for
 * 36 nm. */
void open_scene(scene *s);
/* The same with other materials, and up to so many layers. */
void open_scene_of(scene *s, const char *materials, size_t layers);
void close_scene(scene *s);

/* Add the workshop's stack, its first layer as thick as this. */
void add(scene *s, double thickness_nm, double yield, double factor);
/* The same, where the one callout's own limit needs that factor, too. */
void add_with_limit(scene *s, double thickness_nm, double factor);

/* A bc_progress that counts into a size_t how often it was asked. */
bool count_asked(void *context, double fraction, double limit_used);

#endif
