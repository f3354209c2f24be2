/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "many_or_few.h"
#include "scratch.h"
#include "workshop.h"
#include <math.h>
#include <string.h>

#define LAYER_N 1.38
#define GLASS_N 1.52
#define NM      550.0
#define LIMIT   0.0135

/* One layer that should be a quarter wave and is not quite. */
static void open_one_layer(workshop *w)
{
    workshop_open(w, "air", "1.38", "1.52");
    workshop_ask(w, LIMIT, NM, NM, 0.0);
    w->stack.layer[0].thickness_nm = 0.97 * NM / (4.0 * LAYER_N);
}

/* The thicknesses around the quarter wave between which R <= LIMIT: one_layer() solved for its cosine. */
static void passing_thicknesses(double *least_nm, double *most_nm)
{
    const double upper = (1.0 - LAYER_N) / (1.0 + LAYER_N), lower = (LAYER_N - GLASS_N) / (LAYER_N + GLASS_N);
    const double both = upper * upper * lower * lower;
    const double cosine =
        (LIMIT * (1.0 + both) - upper * upper - lower * lower) / (2.0 * upper * lower * (1.0 - LIMIT));
    *least_nm = acos(cosine) * NM / (4.0 * PI * LAYER_N);
    *most_nm = NM / (2.0 * LAYER_N) - *least_nm;
    ck_assert_double_eq_tol(one_layer(LAYER_N, GLASS_N, *least_nm, NM), LIMIT, 1e-15);
    ck_assert_double_eq_tol(one_layer(LAYER_N, GLASS_N, *most_nm, NM), LIMIT, 1e-15);
}

/* Elementary: a normal thickness passes between two values. Its own error, that of the run, and both at once. */
START_TEST(thickness_of_one_layer)
{
    static const double sigmas[][2] = {{0.06, 0.0}, {0.0, 0.05}, {0.05, 0.04}, {0.0, -0.05}};
    const double spread = hypot(sigmas[_i][0], sigmas[_i][1]);
    double least_nm, most_nm, nominal_nm;
    bc_yield_result result;
    workshop w;
    open_one_layer(&w);
    workshop_errors(&w, "*", sigmas[_i][0], sigmas[_i][1], 0.0);
    passing_thicknesses(&least_nm, &most_nm);
    nominal_nm = w.stack.layer[0].thickness_nm;
    result = workshop_run(&w);
    expect_share(&result, normal_below((most_nm / nominal_nm - 1.0) / spread) -
                              normal_below((least_nm / nominal_nm - 1.0) / spread));
    ck_assert_double_eq_tol(result.limit_used, one_layer(LAYER_N, GLASS_N, nominal_nm, NM) / LIMIT, 1e-12);
    ck_assert(result.yield == (double)result.good / (double)result.runs);
    ck_assert_double_eq_tol(result.fails[0], 1.0 - result.yield, 1e-12);
    ck_assert(result.yield_low < result.yield && result.yield < result.yield_high);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* The end of the passing indices on one side, by halving. */
static double passing_index(double thickness_nm, double inside, double outside)
{
    for (int step = 0; step < 60; step++) {
        const double middle = 0.5 * (inside + outside);
        if (one_layer(middle, GLASS_N, thickness_nm, NM) <= LIMIT)
            inside = middle;
        else
            outside = middle;
    }
    return inside;
}

START_TEST(index_of_one_layer)
{
    const double sigma = 0.02;
    double least, most;
    bc_yield_result result;
    workshop w;
    open_one_layer(&w);
    workshop_errors(&w, "1.38", 0.0, 0.0, sigma);
    least = passing_index(w.stack.layer[0].thickness_nm, LAYER_N, 1.2);
    most = passing_index(w.stack.layer[0].thickness_nm, LAYER_N, 1.5);
    result = workshop_run(&w);
    expect_share(&result, normal_below((most - LAYER_N) / sigma) - normal_below((least - LAYER_N) / sigma));
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Two layers of one material have errors of their own, and share that of the index and of the run: a layer cut in two
 * with the second half errorless behaves as one of half the error. */
START_TEST(layers_have_errors_of_their_own)
{
    double least_nm, most_nm, nominal_nm;
    bc_yield_result result;
    workshop w;
    workshop_open(&w, "air", "1.38,1.38,1.38", "1.52");
    workshop_ask(&w, LIMIT, NM, NM, 0.0);
    workshop_errors(&w, "1.38", 0.09, 0.03, 0.0);
    nominal_nm = 0.97 * NM / (4.0 * LAYER_N);
    for (size_t j = 0; j < 3; j++)
        w.stack.layer[j].thickness_nm = nominal_nm / 3.0;
    passing_thicknesses(&least_nm, &most_nm);
    result = workshop_run(&w);
    const double spread = hypot(0.09 / sqrt(3.0), 0.03);
    expect_share(&result, normal_below((most_nm / nominal_nm - 1.0) / spread) -
                              normal_below((least_nm / nominal_nm - 1.0) / spread));
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* A layer cannot be thinner than none: half of the runs of one that should hardly be there are bare glass, whose R is
 * Fresnel's, and fail. */
START_TEST(no_layer_is_thinner_than_nothing)
{
    bc_yield_result result;
    workshop w;
    workshop_open(&w, "air", "1.38", "1.52");
    workshop_ask(&w, pow((1.52 - 1.0) / (1.52 + 1.0), 2.0) * (1.0 - 1e-9), NM, NM, 0.0);
    w.stack.layer[0].thickness_nm = 1e-2;
    workshop_errors(&w, "*", 1e3, 0.0, 0.0); /* 10 nm: far from the half wave, where it would be bare glass again */
    result = workshop_run(&w);
    expect_share(&result, 0.5);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

static void open_four_layers(workshop *w)
{
    static const double thickness_nm[] = {97.787, 133.11, 35.081, 15.658};
    workshop_open(w, "air", "1.38,2.1,1.38,2.1", "1.52");
    for (size_t j = 0; j < 4; j++)
        w->stack.layer[j].thickness_nm = thickness_nm[j];
    workshop_ask(w, 0.0042, 420.0, 680.0, 0.0);
    workshop_errors(w, "*", 0.012, 0.005, 0.004);
}

/* A clear plate with both faces alike returns 2R/(1+R) (Born and Wolf), which grows with R: the same runs pass. */
START_TEST(a_part_passes_when_its_faces_do)
{
    bc_yield_result surface, part;
    workshop w;
    open_four_layers(&w);
    w.options.runs = 4000;
    surface = workshop_run(&w);
    w.callout[0].scope = BC_SCOPE_PART;
    w.callout[0].limit = 2.0 * 0.0042 / 1.0042;
    w.problem.back = (bc_back){.kind = BC_BACK_SAME};
    part = workshop_run(&w);
    ck_assert_uint_gt(surface.good, 1000);
    ck_assert_uint_lt(surface.good, 3900);
    ck_assert_uint_eq(part.good, surface.good);
    bc_yield_result_clear(&surface);
    bc_yield_result_clear(&part);
    workshop_close(&w);
}
END_TEST

START_TEST(any_number_of_threads_gives_the_same)
{
    static const size_t threads[] = {1, 2, 5};
    bc_yield_result first, result;
    workshop w;
    open_four_layers(&w);
    w.options = (bc_yield_options){.runs = MANY_OR_FEW(3001, 301),
                                   .seed = 9,
                                   .threads = 1,
                                   .influence = true,
                                   .sigma_for_yield = true,
                                   .percentiles = true};
    first = workshop_run(&w);
    w.options.threads = threads[_i];
    result = workshop_run(&w);
    ck_assert_uint_eq(first.good, result.good);
    ck_assert(first.scale_for_95 == result.scale_for_95);
    ck_assert_mem_eq(first.fails, result.fails, sizeof *first.fails);
    ck_assert_uint_eq(first.influences, 4 + 2 + 1);
    ck_assert_mem_eq(first.influence, result.influence, first.influences * sizeof *first.influence);
    ck_assert_uint_eq(first.curves, 1);
    for (int p = 0; p < 5; p++)
        ck_assert_mem_eq(first.curve[0].value[p], result.curve[0].value[p], first.curve[0].count * sizeof(double));
    bc_yield_result_clear(&first);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

static size_t good_of_file(workshop *w, const char *text)
{
    bc_yield_result result;
    size_t good;
    scratch_write("stack.csv", text);
    bc_stack_clear(&w->stack);
    ck_assert_int_eq(bc_stack_read(scratch_path("stack.csv"), w->materials, &w->stack, NULL), BC_OK);
    result = workshop_run(w);
    good = result.good;
    bc_yield_result_clear(&result);
    return good;
}

/* One design written from either side, and a design that differs by next to nothing, see the same errors; another seed
 * brings others. */
START_TEST(designs_see_the_same_errors)
{
    workshop w;
    size_t good;
    open_four_layers(&w);
    w.options.runs = 10000;
    good = good_of_file(&w, "role,material,thickness_nm\nincident,air,\nlayer,1.38,98\nlayer,2.1,133\nlayer,1.38,35\n"
                            "layer,2.1,16\nsubstrate,1.52,\n");
    ck_assert_uint_eq(good,
                      good_of_file(&w, "role,material,thickness_nm\nsubstrate,1.52,\nlayer,2.1,16\nlayer,1.38,35\n"
                                       "layer,2.1,133\nlayer,1.38,98\nincident,air,\n"));
    ck_assert_uint_eq(good, good_of_file(&w, "role,material,thickness_nm\nincident,air,\nlayer,1.38,98.0000001\n"
                                             "layer,2.1,133\nlayer,1.38,35\nlayer,2.1,16\nsubstrate,1.52,\n"));
    w.options.seed = 2;
    ck_assert_uint_ne(good, good_of_file(&w, "role,material,thickness_nm\nincident,air,\nlayer,1.38,98\nlayer,2.1,133\n"
                                             "layer,1.38,35\nlayer,2.1,16\nsubstrate,1.52,\n"));
    workshop_close(&w);
}
END_TEST

/* Errors are drawn in order of deposition, so what is deposited last, and is nothing, changes none of the others. */
START_TEST(the_outer_layer_is_drawn_last)
{
    bc_yield_result four, five;
    bc_stack stack;
    workshop w;
    open_four_layers(&w);
    w.options.runs = 5000;
    four = workshop_run(&w);
    ck_assert_int_eq(bc_stack_alloc(5, &stack, NULL), BC_OK);
    for (size_t j = 0; j < 4; j++)
        stack.layer[j + 1] = w.stack.layer[j];
    stack.layer[0] = (bc_layer){w.stack.layer[0].material, 0.0, false};
    stack.incident = w.stack.incident;
    stack.substrate = w.stack.substrate;
    bc_stack_clear(&w.stack);
    w.stack = stack;
    five = workshop_run(&w);
    ck_assert_uint_gt(four.good, 1000);
    ck_assert_uint_eq(four.good, five.good);
    bc_yield_result_clear(&four);
    bc_yield_result_clear(&five);
    workshop_close(&w);
}
END_TEST

START_TEST(without_errors_every_run_is_the_design)
{
    bc_yield_result result;
    workshop w;
    open_one_layer(&w);
    w.callout[0].limit = _i == 0 ? LIMIT : 0.001;
    w.options =
        (bc_yield_options){.runs = 500, .seed = 1, .influence = true, .sigma_for_yield = true, .percentiles = true};
    result = workshop_run(&w);
    ck_assert(result.no_errors);
    ck_assert_uint_eq(result.runs, 500);
    ck_assert_uint_eq(result.good, _i == 0 ? 500 : 0);
    ck_assert(result.yield == (_i == 0 ? 1.0 : 0.0));
    ck_assert(result.yield_low == result.yield && result.yield_high == result.yield);
    ck_assert(_i == 0 ? isinf(result.scale_for_95) : result.scale_for_95 == 0.0);
    ck_assert(result.fails[0] == 1.0 - result.yield);
    for (size_t i = 0; i < result.influences; i++)
        ck_assert(result.influence[i].influence == 0.0);
    ck_assert_double_eq_tol(result.curve[0].value[2][0], one_layer(LAYER_N, GLASS_N, w.stack.layer[0].thickness_nm, NM),
                            1e-14);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* Of two callouts on the same light the easier one fails only where the harder does; one that nothing meets always
 * does.
 */
START_TEST(each_callout_counts_its_failures)
{
    bc_yield_result result;
    workshop w;
    open_four_layers(&w);
    w.options.runs = 5000;
    workshop_ask(&w, 0.0046, 420.0, 680.0, 0.0);
    result = workshop_run(&w);
    ck_assert_uint_eq(result.decisive, 0);
    ck_assert_double_gt(result.fails[1], 0.0);
    ck_assert_double_lt(result.fails[1], result.fails[0]);
    ck_assert_double_eq_tol(result.yield, 1.0 - result.fails[0], 1e-12);
    bc_yield_result_clear(&result);
    workshop_ask(&w, 1e-6, 420.0, 680.0, 0.0);
    result = workshop_run(&w);
    ck_assert_uint_eq(result.decisive, 2);
    ck_assert(result.fails[2] == 1.0);
    ck_assert_uint_eq(result.good, 0);
    ck_assert(result.yield_low == 0.0);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* A run is good when it does on every glass. */
START_TEST(every_glass_counts)
{
    size_t good[3];
    workshop w;
    for (int i = 0; i < 3; i++) {
        static const char *const glasses[] = {"1.52", "1.47", "1.52,1.47"};
        bc_yield_result result;
        bc_stack layers;
        open_four_layers(&w);
        ck_assert_int_eq(bc_stack_copy(&w.stack, &layers, NULL), BC_OK);
        workshop_close(&w);
        workshop_open(&w, "air", "1.38,2.1,1.38,2.1", glasses[i]);
        for (size_t j = 0; j < 4; j++)
            w.stack.layer[j].thickness_nm = layers.layer[j].thickness_nm;
        bc_stack_clear(&layers);
        workshop_ask(&w, 0.0055, 420.0, 680.0, 0.0);
        workshop_errors(&w, "*", 0.02, 0.01, 0.01);
        w.options.runs = 5000;
        result = workshop_run(&w);
        good[i] = result.good;
        bc_yield_result_clear(&result);
        workshop_close(&w);
    }
    ck_assert_uint_gt(good[2], 0);
    ck_assert_uint_lt(good[2], good[0]);
    ck_assert_uint_lt(good[2], good[1]);
    ck_assert_uint_ge(good[2] + 5000, good[0] + good[1]);
}
END_TEST

typedef struct patience {
    double fraction, share_seen;
} patience;

static bool stop_at(void *context, double fraction, double share)
{
    patience *p = context;
    p->share_seen = share;
    return fraction < p->fraction;
}

START_TEST(it_stops_when_asked)
{
    patience p = {0.25, -1.0};
    bc_yield_result result;
    workshop w;
    open_four_layers(&w);
    w.options.runs = 20000;
    w.options.influence = w.options.sigma_for_yield = true;
    w.options.progress = stop_at;
    w.options.progress_context = &p;
    result = workshop_run(&w);
    ck_assert_uint_eq(result.runs, 20000); /* the yield is the first fifth of the work */
    ck_assert_uint_eq(result.influences, 0);
    ck_assert(isnan(result.scale_for_95));
    ck_assert(p.share_seen == result.yield);
    bc_yield_result_clear(&result);
    w.options.influence = w.options.sigma_for_yield = false;
    p.fraction = 0.5;
    result = workshop_run(&w);
    ck_assert_uint_ge(result.runs, 10000);
    ck_assert_uint_lt(result.runs, 12000);
    ck_assert(result.yield == (double)result.good / (double)result.runs);
    bc_yield_result_clear(&result);
    workshop_close(&w);
}
END_TEST

/* One sample and one layer with its substrate: two evaluations a run. */
START_TEST(work_has_a_bound)
{
    bc_yield_options options = {.runs = 20000, .seed = 1, .threads = 2, .influence = true, .sigma_for_yield = true};
    bc_yield_result all, few;
    bc_error error;
    workshop w;
    open_one_layer(&w);
    workshop_errors(&w, "*", 0.06, 0.0, 0.0);
    ck_assert_int_eq(bc_yield(&w.problem, &w.stack, &w.process, &options, &all, NULL), BC_OK);
    ck_assert(all.runs == 20000 && all.asked == 20000 && !all.left_out && all.influences > 0);
    ck_assert(isfinite(all.scale_for_95));
    options.most_work = 2.0 * 3500.0;
    ck_assert_int_eq(bc_yield(&w.problem, &w.stack, &w.process, &options, &few, NULL), BC_OK);
    ck_assert(few.runs == 3000 && few.asked == 20000 && few.left_out && few.influences == 0);
    ck_assert(isnan(few.scale_for_95));
    ck_assert(few.yield_low < all.yield_high && all.yield_low < few.yield_high);
    bc_yield_result_clear(&few);
    options.most_work = 2.0 * (20000.0 + 2.0 * 4096.0);
    ck_assert_int_eq(bc_yield(&w.problem, &w.stack, &w.process, &options, &few, NULL), BC_OK);
    ck_assert(few.runs == 20000 && few.left_out && few.influences > 0 && isnan(few.scale_for_95));
    ck_assert(few.yield == all.yield);
    bc_yield_result_clear(&few);
    options.influence = false; /* a scale counts as 8 times its 5000 runs, beside the 20000 */
    for (int enough = 0; enough < 2; enough++) {
        options.most_work = 2.0 * (60000.0 - 0.5 + enough);
        ck_assert_int_eq(bc_yield(&w.problem, &w.stack, &w.process, &options, &few, NULL), BC_OK);
        ck_assert(few.runs == 20000 && few.left_out != enough && isfinite(few.scale_for_95) == enough);
        bc_yield_result_clear(&few);
    }
    options.sigma_for_yield = false; /* just enough for all of the runs, which are no whole thousands */
    options.runs = 1500;
    options.most_work = 2.0 * 1500.0;
    ck_assert_int_eq(bc_yield(&w.problem, &w.stack, &w.process, &options, &few, NULL), BC_OK);
    ck_assert(few.runs == 1500 && !few.left_out);
    bc_yield_result_clear(&few);
    options.most_work = 2.0 * 999.0;
    ck_assert_int_eq(bc_yield(&w.problem, &w.stack, &w.process, &options, &few, &error), BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "1000 runs of 1 layers"));
    ck_assert_ptr_nonnull(strstr(error.message, "more work than a yield may take"));
    bc_yield_result_clear(&all);
    workshop_close(&w);
}
END_TEST

TCase *yield_case(void)
{
    TCase *tests = scratch_case("yield");
    tcase_add_loop_test(tests, thickness_of_one_layer, 0, 4);
    tcase_add_test(tests, index_of_one_layer);
    tcase_add_test(tests, layers_have_errors_of_their_own);
    tcase_add_test(tests, no_layer_is_thinner_than_nothing);
    tcase_add_test(tests, a_part_passes_when_its_faces_do);
    tcase_add_loop_test(tests, any_number_of_threads_gives_the_same, MANY_OR_FEW(0, 2), 3);
    tcase_add_test(tests, designs_see_the_same_errors);
    tcase_add_test(tests, the_outer_layer_is_drawn_last);
    tcase_add_loop_test(tests, without_errors_every_run_is_the_design, 0, 2);
    tcase_add_test(tests, each_callout_counts_its_failures);
    tcase_add_test(tests, every_glass_counts);
    tcase_add_test(tests, it_stops_when_asked);
    tcase_add_test(tests, work_has_a_bound);
    return tests;
}
