/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "options.h"
#include "found.h"
#include "obstacle.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define COMFORTABLE   0.9   /* limit_used, where the yield is not known */
#define CLOSEST       2     /* designs of one number of layers whose yields are estimated, */
#define NEARLY_EQUAL  1.03  /* the others only where their looks come so near to the best */
#define HARDLY_WORSE  0.005 /* of a yield: equal */
#define HOURS_STEPS   20.0  /* hours of the same twentieth are equal */
#define NEARLY_AS_LOW 1.01  /* of limit_used: then the thinner */
#define UNDECIDED     2.0   /* a share that no yield is: the first stage of an estimate will do */

bool bc_yield_is_known(const bc_quote_request *request)
{
    return request->process != NULL && (request->process->has_thickness_sigma ||
                                        request->process->has_run_thickness_sigma || request->process->has_index_sigma);
}

static size_t runs_per_part(const bc_quote_request *request)
{
    return request->both_sides && !request->one_run ? 2 : 1;
}

static double confidence_of(const bc_quote_request *request)
{
    return request->confidence > 0.0 ? request->confidence : 0.95;
}

static size_t parts_per_load(const bc_quote_request *request)
{
    const bc_chamber *chamber = request->chamber;
    if (chamber == NULL || !chamber->has_load_diameter)
        return 0;
    return bc_parts_per_load(chamber->load_diameter_mm, request->part_diameter_mm, chamber->part_pitch_extra_mm);
}

/* Hours that the quantity is expected to take with such a yield; without a quantity those of one good load, without a
 * chamber those of its layers. NAN: a rate is not known. */
static double expected_hours(const bc_quote_request *request, const bc_stack *stack, double yield)
{
    const double hours = request->chamber != NULL ? bc_hours_per_load(stack, request->process, request->chamber)
                                                  : bc_layer_hours(stack, request->process);
    const size_t parts = parts_per_load(request);
    const bool counted = parts > 0 && request->quantity > 0;
    const bc_load_plan plan =
        bc_plan_loads(counted ? request->quantity : 1, counted ? parts : 1, runs_per_part(request),
                      request->failed_part, yield, confidence_of(request));
    return isnan(plan.expected) ? INFINITY : hours * plan.expected;
}

static void plan_loads(const bc_quote_request *request, size_t parts, bc_quote_option *option)
{
    const bc_load_plan plan = bc_plan_loads(request->quantity, parts, runs_per_part(request), request->failed_part,
                                            option->yield, confidence_of(request));
    if (option->stack.layers == 0) { /* nothing is loaded */
        option->blanks = request->quantity;
        return;
    }
    option->layer_hours = bc_layer_hours(&option->stack, request->process);
    option->hours_per_load = bc_hours_per_load(&option->stack, request->process, request->chamber);
    option->loads = plan.loads;
    option->hours = plan.loads > 0 ? (double)plan.loads * option->hours_per_load : NAN;
    option->loads_expected = plan.expected;
    option->expected_hours = plan.expected * option->hours_per_load;
    option->loads_at_confidence = plan.at_confidence;
    option->blanks = plan.blanks;
}

/* A design by what its look promises; the lower the better. */
typedef struct standing {
    const bc_pooled *design;
    int rank; /* 0: as good as asked; 1: not; 2: fails on paper */
    double value, total_nm;
} standing;

static standing stand(const bc_quote_request *request, const bc_pooled *design, bool known)
{
    standing s = {design, 0, 0.0, bc_stack_total_nm(&design->stack)};
    const bc_forecast *forecast = &design->forecast;
    if (known) {
        s.rank = forecast->limit_used > 1.0 ? 2 : forecast->factor > 1.0 ? 1 : 0;
        s.value = s.rank == 2   ? forecast->limit_used
                  : s.rank == 1 ? 1.0 - forecast->yield
                                : expected_hours(request, &design->stack, forecast->yield);
        if (isnan(s.value))
            s.value = forecast->factor;
    } else {
        s.rank = forecast->limit_used > COMFORTABLE;
        s.value = s.rank > 0 ? forecast->limit_used : s.total_nm;
    }
    return s;
}

static int best_first(const void *one, const void *other)
{
    const standing *a = one, *b = other;
    if (a->rank != b->rank)
        return a->rank - b->rank;
    if (a->value != b->value)
        return a->value < b->value ? -1 : 1;
    return (a->total_nm > b->total_nm) - (a->total_nm < b->total_nm);
}

/* Of designs that all miss, a much thinner one that misses by hardly more comes first. */
static void prefer_thin(size_t count, standing *list)
{
    for (size_t i = 1; i < count && list[0].rank > 0; i++)
        if (list[i].value <= NEARLY_AS_LOW * list[0].value && list[i].total_nm < list[0].total_nm) {
            const standing thin = list[i];
            list[i] = list[0];
            list[0] = thin;
        }
}

/* The yield of a design, and how often each callout fails: estimated once. */
static bc_status estimate(bc_pool *pool, const bc_stack *stack, double asked, bc_thread_watch *watch,
                          bc_estimate *yield, bc_error *error)
{
    bc_pooled *design = bc_pool_find(pool, stack);
    double *fails = NULL;
    bc_status status;
    if (design != NULL && design->estimated) {
        *yield = design->estimate;
        return BC_OK;
    }
    if (design != NULL && (fails = calloc(pool->problem->callouts->count, sizeof *fails)) == NULL)
        return bc_fail_memory(error);
    status = bc_estimate_yield(pool->problem, stack, pool->request->process, asked, pool->request->threads, watch,
                               yield, fails, error);
    if (status == BC_OK && design != NULL && watch != NULL && !bc_watch_stopped(pool->watch)) {
        design->estimated = true;
        design->estimate = *yield;
        design->fails = fails;
    } else {
        free(fails);
    }
    return status;
}

/* Without a watch nobody waits for more than a first estimate. */
bc_status bc_option_judge(bc_pool *pool, const bc_stack *stack, bool always_run, bc_thread_watch *watch,
                          bc_quote_option *option, bc_error *error)
{
    const bc_quote_request *request = pool->request;
    const double asked = watch == NULL ? UNDECIDED : request->yield;
    bc_check_result check;
    bc_estimate yield = {NAN, NAN, NAN, 0, 0};
    bc_status status = bc_stack_copy(stack, &option->stack, error);
    if (status == BC_OK)
        status = bc_problem_check(pool->problem, stack, &check, error);
    if (status != BC_OK)
        return status;
    option->limit_used = check.limit_used;
    option->total_nm = bc_stack_total_nm(stack);
    bc_check_result_clear(&check);
    if (bc_yield_is_known(request) && (always_run || option->limit_used <= 1.0))
        status = estimate(pool, stack, asked, watch, &yield, error);
    option->yield = yield.yield;
    option->yield_low = yield.low;
    option->yield_high = yield.high;
    option->runs = yield.runs;
    option->predicted_runs = yield.predicted;
    option->thin_layer = bc_thin_layer(request->process, stack);
    plan_loads(request, parts_per_load(request), option);
    return status;
}

bool bc_option_as_asked(const bc_quote_request *request, const bc_quote_option *option)
{
    return option->limit_used <= 1.0 && (isnan(option->yield) || option->yield >= request->yield) &&
           option->thin_layer == option->stack.layers;
}

static double hours_of(const bc_quote_request *request, const bc_quote_option *option)
{
    return expected_hours(request, &option->stack, isnan(option->yield) ? 1.0 : option->yield);
}

/* 0 where one is NaN. */
static int compare(double a, double b)
{
    return (a > b) - (a < b);
}

/* Negative when `a` is to be recommended rather than `b`. */
int bc_option_prefer(const bc_quote_request *request, const bc_quote_option *a, const bc_quote_option *b)
{
    const int hours = compare(round(HOURS_STEPS * hours_of(request, a)), round(HOURS_STEPS * hours_of(request, b)));
    const int yield = -compare(round(a->yield / HARDLY_WORSE), round(b->yield / HARDLY_WORSE));
    const int layers = (a->stack.layers > b->stack.layers) - (a->stack.layers < b->stack.layers);
    const int thin = compare(a->total_nm, b->total_nm);
    if (bc_option_as_asked(request, a) != bc_option_as_asked(request, b))
        return bc_option_as_asked(request, a) ? -1 : 1;
    if (bc_option_as_asked(request, a) && (a->stack.layers == 0) != (b->stack.layers == 0))
        return layers; /* a bare surface has no run that could fail, so it needs no margin */
    if ((a->limit_used <= 1.0) != (b->limit_used <= 1.0))
        return a->limit_used <= 1.0 ? -1 : 1;
    if (a->limit_used > 1.0)
        return compare(a->limit_used, b->limit_used);
    if (isnan(a->yield)) {
        if ((a->limit_used <= COMFORTABLE) != (b->limit_used <= COMFORTABLE))
            return a->limit_used <= COMFORTABLE ? -1 : 1;
        if (a->limit_used > COMFORTABLE)
            return compare(a->limit_used, b->limit_used);
        return request->prefer == BC_PREFER_YIELD ? compare(a->limit_used, b->limit_used) : layers != 0 ? layers : thin;
    }
    if (!bc_option_as_asked(request, a) || request->prefer == BC_PREFER_YIELD)
        return yield != 0 ? yield : hours != 0 ? hours : layers != 0 ? layers : thin;
    if (request->prefer == BC_PREFER_LAYERS)
        return layers != 0 ? layers : hours != 0 ? hours : yield;
    return hours != 0 ? hours : yield != 0 ? yield : layers != 0 ? layers : thin;
}

/* Bring the design of which most runs succeed up to place `to`: it is judged whatever hours it takes, so that the yield
 * that can be had does not depend on the yield asked for. */
static void include_highest_yield(size_t count, standing *list, size_t to)
{
    size_t best = 0;
    for (size_t i = 1; i < count; i++) {
        const bc_forecast *one = &list[i].design->forecast, *other = &list[best].design->forecast;
        if (one->yield > other->yield || (one->yield == other->yield && one->usual_factor < other->usual_factor))
            best = i;
    }
    if (best > to) /* nothing after it is judged */
        list[to] = list[best];
}

/* The best design with so many layers, of those whose looks promise most; none where the pool has none. */
static bc_status add_rung(bc_pool *pool, size_t layers, standing *list, bc_quote_result *result, bc_error *error)
{
    bc_thread_watch watch = {pool->watch, true};
    bc_quote_option *best = &result->option[result->options];
    bool any = false;
    size_t count = 0;
    bc_status status = BC_OK;
    for (size_t i = 0; i < pool->count; i++)
        if (pool->design[i].stack.layers == layers)
            list[count++] = stand(pool->request, &pool->design[i], result->yield_known);
    qsort(list, count, sizeof *list, best_first);
    prefer_thin(count, list);
    if (result->yield_known)
        include_highest_yield(count, list, CLOSEST);
    for (size_t i = 0; status == BC_OK && i < count && i < CLOSEST + (result->yield_known ? 1 : 0); i++) {
        if (i > 0 && i < CLOSEST && (list[i].rank > list[0].rank || list[i].value > NEARLY_EQUAL * list[0].value))
            continue;
        bc_quote_option trial = {0};
        status = bc_option_judge(pool, &list[i].design->stack, true, &watch, &trial, error);
        if (status == BC_OK && (!any || bc_option_prefer(pool->request, &trial, best) < 0)) {
            bc_stack_clear(&best->stack);
            *best = trial;
            any = true;
        } else {
            bc_stack_clear(&trial.stack);
        }
    }
    if (any && status == BC_OK)
        bc_show_option(pool, best);
    result->options += any;
    return status;
}

/* Whether `o` has nothing over `other`: no better, no faster, and thicker or with more layers. */
static bool is_beaten(const bc_quote_request *request, const bc_quote_option *o, const bc_quote_option *other)
{
    const bool used = other->limit_used <= o->limit_used;
    const bool yields = isnan(o->yield) || o->limit_used > 1.0 ? used : other->yield >= o->yield;
    const double hours = hours_of(request, o), hours_of_other = hours_of(request, other);
    const bool faster = isnan(hours) || !(hours_of_other > hours);
    const bool simpler = other->stack.layers <= o->stack.layers || other->total_nm <= 0.5 * o->total_nm;
    return yields && faster && simpler && other->total_nm <= o->total_nm;
}

static void drop_beaten(const bc_quote_request *request, bc_quote_result *result)
{
    size_t kept = 0;
    for (size_t o = 0; o < result->options; o++) {
        bool beaten = false;
        for (size_t other = 0; other < result->options && o != result->recommended; other++)
            beaten = beaten || (other != o && result->option[other].stack.layers > 0 &&
                                is_beaten(request, &result->option[o], &result->option[other]));
        if (beaten) {
            bc_stack_clear(&result->option[o].stack);
            result->option[o].total_nm = -1.0;
        }
    }
    for (size_t o = 0; o < result->options; o++) {
        if (result->option[o].total_nm < 0.0)
            continue;
        if (o == result->recommended)
            result->recommended = kept;
        result->option[kept++] = result->option[o];
    }
    result->options = kept;
}

void bc_options_settle(const bc_quote_request *request, size_t recommended, bc_quote_result *result)
{
    const bc_quote_option *option = &result->option[recommended];
    result->recommended = recommended;
    result->yield_known = bc_yield_is_known(request);
    result->parts_per_load = parts_per_load(request);
    if (option->limit_used > 1.0)
        result->verdict = BC_NOT_FEASIBLE;
    else
        result->verdict = isnan(option->yield) || option->yield >= request->yield ? BC_FEASIBLE : BC_MARGINAL;
    result->at_the_limit = option->limit_used <= 1.0 && option->yield_low < request->yield &&
                           option->yield_high >= request->yield && option->yield_low < option->yield_high;
    result->runs = option->runs;
    result->predicted_runs = option->predicted_runs;
    bc_find_obstacle(request, result);
}

static void recommend(const bc_quote_request *request, bc_quote_result *result)
{
    result->recommended = 0;
    for (size_t o = 1; o < result->options; o++)
        if (bc_option_prefer(request, &result->option[o], &result->option[result->recommended]) < 0)
            result->recommended = o;
    drop_beaten(request, result);
    bc_options_settle(request, result->recommended, result);
}

static void clear_options(bc_quote_result *result)
{
    for (size_t o = 0; o < result->options; o++)
        bc_stack_clear(&result->option[o].stack);
    free(result->option);
    result->options = 0;
}

/* Of all designs, whatever their layers, the one whose look promises most: the best so far. */
static bc_status add_most_promising(bc_pool *pool, standing *list, bc_quote_result *result, bc_error *error)
{
    bc_status status;
    for (size_t i = 0; i < pool->count; i++)
        list[i] = stand(pool->request, &pool->design[i], result->yield_known);
    qsort(list, pool->count, sizeof *list, best_first);
    prefer_thin(pool->count, list);
    status = bc_option_judge(pool, &list[0].design->stack, true, NULL, &result->option[0], error);
    result->options = status == BC_OK;
    return status;
}

static bc_status add_bare_surface(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const bc_stack bare = {.incident = pool->problem->incident, .substrate = pool->problem->substrate[0]};
    const bc_status status = bc_option_judge(pool, &bare, true, NULL, &result->option[0], error);
    result->options = status == BC_OK;
    return status;
}

/* A surface that does without a coating must not be sold one. */
static bc_status add_bare_where_it_meets(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    const bc_status status = add_bare_surface(pool, result, error);
    if (status == BC_OK && result->option[0].limit_used > 1.0) {
        bc_stack_clear(&result->option[0].stack);
        result->options = 0;
    }
    return status;
}

/* One for each number of layers, or one alone where nobody waits for them. */
static bc_status list_options(bc_pool *pool, size_t most_layers, standing *list, bc_quote_result *result,
                              bc_error *error)
{
    bc_status status = add_bare_where_it_meets(pool, result, error);
    for (size_t layers = 1; status == BC_OK && layers <= most_layers && !bc_watch_ask(pool->watch); layers++)
        status = add_rung(pool, layers, list, result, error);
    if (status != BC_OK || (!bc_watch_stopped(pool->watch) && result->options > 0))
        return status;
    for (size_t o = 0; o < result->options; o++)
        bc_stack_clear(&result->option[o].stack);
    result->options = 0;
    return pool->count > 0 ? add_most_promising(pool, list, result, error) : add_bare_surface(pool, result, error);
}

bc_status bc_options_choose(bc_pool *pool, bc_quote_result *result, bc_error *error)
{
    standing *list = calloc(pool->count + 1, sizeof *list);
    size_t most = 0;
    bc_status status = BC_OK;
    clear_options(result);
    result->yield_known = bc_yield_is_known(pool->request);
    for (size_t i = 0; i < pool->count; i++)
        most = pool->design[i].stack.layers > most ? pool->design[i].stack.layers : most;
    result->option = calloc(most + 2, sizeof *result->option);
    if (list == NULL || result->option == NULL)
        status = bc_fail_memory(error);
    if (status == BC_OK)
        status = list_options(pool, most, list, result, error);
    if (status == BC_OK)
        recommend(pool->request, result);
    free(list);
    return status;
}
