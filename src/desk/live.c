/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live.h"
#include "text.h"
#include <bloomcoat/callout_words.h>
#include <bloomcoat/check.h>
#include <bloomcoat/sampling.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_LAYERS      60
#define MOST_TOTAL_NM    40e3
#define MOST_WAVELENGTHS 2001
#define MOST_ANGLES      8
#define MOST_CALLOUTS    64
#define MOST_SAMPLED     100000 /* wavelengths of all callouts, at which their narrowest fringes are looked for */
#define MOST_USES        2000   /* then the materials are read anew: constants are kept as long as they are open */
#define MUCH             50e3   /* layers times wavelengths times angles: takes turns with others of its kind */

/* What 'check' takes for callouts of a part, where nothing else is said. */
static const bc_back same_back = {.kind = BC_BACK_SAME};

typedef struct live_task {
    bc_stack stack;
    bc_callouts callouts;
    const char *words;
    size_t wavelengths;
    double wavelength_nm[MOST_WAVELENGTHS];
    size_t angles;
    double aoi_rad[MOST_ANGLES];
    bc_spectrum spectrum[MOST_ANGLES];
    bc_check_result check;
} live_task;

void desk_live_open(desk_live *live, const desk_options *options, const desk_folder *home)
{
    *live = (desk_live){.options = options, .home = home};
    pthread_mutex_init(&live->lock, NULL);
    pthread_mutex_init(&live->turn, NULL);
}

/* Under the lock. */
static void give_up(desk_open_materials *one)
{
    if (one == NULL || --one->users > 0)
        return;
    bc_materials_free(one->materials);
    free(one);
}

void desk_live_clear(desk_live *live)
{
    give_up(live->open);
    pthread_mutex_destroy(&live->lock);
    pthread_mutex_destroy(&live->turn);
}

bc_status desk_live_materials(desk_live *live, bc_error *error)
{
    bc_status status = BC_OK;
    if (live->open != NULL && live->open->uses >= MOST_USES) {
        give_up(live->open);
        live->open = NULL;
    }
    if (live->open == NULL) {
        desk_open_materials *fresh = calloc(1, sizeof *fresh);
        if (fresh == NULL)
            return bc_fail_memory(error);
        status = live->options->open_materials(live->options->context, &fresh->materials, error);
        if (status != BC_OK) {
            free(fresh);
            return status;
        }
        fresh->users = 1;
        live->open = fresh;
    }
    live->open->uses++;
    return BC_OK;
}

static void release(desk_live *live, desk_open_materials *taken)
{
    pthread_mutex_lock(&live->lock);
    give_up(taken);
    pthread_mutex_unlock(&live->lock);
}

static double number(const cJSON *request, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(request, name);
    return cJSON_IsNumber(item) ? item->valuedouble : NAN;
}

static const char *string(const cJSON *request, const char *name)
{
    return cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(request, name));
}

static bc_status find_medium(bc_materials *materials, const char *name, bc_medium *medium, bc_error *error)
{
    if (name == NULL)
        return bc_fail(error, BC_ERROR_INPUT, "a material is missing");
    return bc_medium_find(materials, name, NULL, medium, error);
}

static bc_status take_gradient(bc_materials *materials, const cJSON *item, size_t number_of, bc_medium *material,
                               bc_error *error)
{
    const cJSON *percent = cJSON_GetObjectItemCaseSensitive(item, "index_gradient_percent");
    if (percent == NULL || (cJSON_IsNumber(percent) && percent->valuedouble == 0.0))
        return BC_OK;
    if (!cJSON_IsNumber(percent) || !(fabs(percent->valuedouble) <= 100.0 * BC_MOST_GRADIENT))
        return bc_fail(error, BC_ERROR_INPUT, "layer %zu: expected an index gradient from %.0f to %.0f %%", number_of,
                       -100.0 * BC_MOST_GRADIENT, 100.0 * BC_MOST_GRADIENT);
    return bc_materials_graded(materials, material->dispersion, percent->valuedouble / 100.0, &material->dispersion,
                               error);
}

static bc_status take_layers(bc_materials *materials, const cJSON *layers, bc_stack *stack, bc_error *error)
{
    const cJSON *item;
    size_t number_of = 1;
    bc_status status = BC_OK;
    cJSON_ArrayForEach(item, layers)
    {
        bc_layer *layer = &stack->layer[bc_layer_index(stack->layers, number_of)];
        if (status != BC_OK)
            return status;
        layer->thickness_nm = number(item, "thickness_nm");
        if (!(layer->thickness_nm > 0.0 && layer->thickness_nm <= MOST_TOTAL_NM))
            return bc_fail(error, BC_ERROR_INPUT, "layer %zu: expected a thickness above 0 and up to %.0f nm",
                           number_of, MOST_TOTAL_NM);
        status = find_medium(materials, string(item, "material"), &layer->material, error);
        if (status == BC_OK)
            status = take_gradient(materials, item, number_of, &layer->material, error);
        number_of++;
    }
    if (status == BC_OK && bc_stack_total_nm(stack) > MOST_TOTAL_NM)
        status = bc_fail(error, BC_ERROR_INPUT, "the layers are %.0f nm thick in all; a page computes up to %.0f nm",
                         bc_stack_total_nm(stack), MOST_TOTAL_NM);
    return status;
}

static bc_status take_stack(bc_materials *materials, const cJSON *request, bc_stack *stack, bc_error *error)
{
    const cJSON *layers = cJSON_GetObjectItemCaseSensitive(request, "layers");
    const int count = cJSON_GetArraySize(layers);
    bc_status status;
    if (count < 0 || count > MOST_LAYERS)
        return bc_fail(error, BC_ERROR_INPUT, "found %d layers; a page computes up to %d", count, MOST_LAYERS);
    status = bc_stack_alloc((size_t)count, stack, error);
    if (status == BC_OK)
        status = find_medium(materials, string(request, "incident"), &stack->incident, error);
    if (status == BC_OK)
        status = find_medium(materials, string(request, "substrate"), &stack->substrate, error);
    return status == BC_OK ? take_layers(materials, layers, stack, error) : status;
}

static bc_status take_grid(const cJSON *request, live_task *task, bc_error *error)
{
    const double from = number(request, "from_nm"), to = number(request, "to_nm"), step = number(request, "step_nm");
    const double steps = floor((to - from) / step * (1.0 + 1e-9) + 1e-9);
    const cJSON *angles = cJSON_GetObjectItemCaseSensitive(request, "aoi_deg"), *item;
    if (!(from > 0.0 && to >= from && step > 0.0 && steps < MOST_WAVELENGTHS))
        return bc_fail(error, BC_ERROR_INPUT,
                       "expected wavelengths from a shorter to a longer one, and at most %d of them", MOST_WAVELENGTHS);
    task->wavelengths = (size_t)steps + 1;
    for (size_t i = 0; i < task->wavelengths; i++)
        task->wavelength_nm[i] = fmin(from + (double)i * step, to);
    cJSON_ArrayForEach(item, angles)
    {
        if (!cJSON_IsNumber(item) || !(item->valuedouble >= 0.0 && item->valuedouble < 90.0) ||
            task->angles == MOST_ANGLES)
            return bc_fail(error, BC_ERROR_INPUT, "expected up to %d angles of 0 to below 90 degrees", MOST_ANGLES);
        task->aoi_rad[task->angles++] = item->valuedouble * (M_PI / 180.0);
    }
    return task->angles > 0 ? BC_OK : bc_fail(error, BC_ERROR_INPUT, "expected an angle of incidence");
}

/* A callout far below the wavelengths that the layers are made for, of a wrong unit for instance, has millions of
 * fringes in its band: gigabytes, and many seconds. */
static bc_status refuse_many_fringes(const live_task *task, bc_error *error)
{
    double sampled = 0.0;
    for (size_t i = 0; i < task->callouts.count; i++) {
        const bc_callout *callout = &task->callouts.callout[i];
        bc_fringes fringes;
        const bc_status status = bc_fringes_of(&task->stack, &same_back, callout->from_nm, &fringes, error);
        if (status != BC_OK)
            return status;
        sampled += (double)bc_sampling_wavelengths(callout, fringes.optical_nm);
        if (sampled > MOST_SAMPLED)
            return bc_fail(error, BC_ERROR_INPUT,
                           "%g to %g nm: these layers have so many fringes there that all callouts need over %d "
                           "wavelengths, and a page computes no more; a limit's wavelengths are in nm",
                           callout->from_nm, callout->to_nm, MOST_SAMPLED);
    }
    return BC_OK;
}

static bc_status compute(live_task *task, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && i < task->angles; i++)
        status = bc_spectrum_compute(&task->stack, NULL, task->wavelengths, task->wavelength_nm, task->aoi_rad[i],
                                     BC_PATH_AUTO, &task->spectrum[i], error);
    if (status == BC_OK && task->callouts.count > 0)
        status = bc_check(&task->stack, &task->callouts, 0, NULL, &same_back, &task->check, error);
    return status;
}

static bc_status write_figures(const live_task *task, bc_text *out, bc_error *error)
{
    const bc_spectrum_report spectrum = {.angles = task->angles,
                                         .aoi_rad = task->aoi_rad,
                                         .spectrum = task->spectrum,
                                         .polarization = BC_POL_UNPOLARIZED,
                                         .stack = &task->stack};
    const bc_check_report check = {.stack_path = "stack.csv",
                                   .callouts_path = task->words,
                                   .stack = &task->stack,
                                   .result = &task->check,
                                   .back = &same_back,
                                   .back_assumed = true};
    bc_text part = {0};
    bc_status status = bc_report_spectrum_json(&spectrum, &part, error);
    bc_text_add(out, "{\"spectrum\": %s, \"check\": ", status == BC_OK ? part.data : "");
    bc_text_clear(&part);
    if (status == BC_OK && task->check.count > 0)
        status = bc_report_check_json(&check, &part, error);
    bc_text_add(out, "%s}\n", part.data == NULL ? "null" : part.data);
    bc_text_clear(&part);
    return status == BC_OK ? bc_text_end(out, error) : status;
}

/* What is looked up in the materials, under the lock. */
static bc_status prepare(desk_live *live, const cJSON *request, live_task *task, desk_open_materials **materials,
                         bc_error *error)
{
    bc_status status;
    pthread_mutex_lock(&live->lock);
    status = desk_live_materials(live, error);
    if (status == BC_OK) {
        *materials = live->open;
        live->open->users++;
        status = take_stack(live->open->materials, request, &task->stack, error);
    }
    pthread_mutex_unlock(&live->lock);
    return status;
}

static bc_status take_callouts(live_task *task, bc_error *error)
{
    bc_status status = BC_OK;
    if (task->words != NULL && task->words[strspn(task->words, " \n\t")] != '\0')
        status = bc_callouts_parse(task->words, &task->callouts, NULL, error);
    if (status == BC_OK && task->callouts.count > MOST_CALLOUTS)
        status = bc_fail(error, BC_ERROR_INPUT, "found %zu callouts; a page computes up to %d", task->callouts.count,
                         MOST_CALLOUTS);
    return status;
}

static bc_status compute_in_turn(desk_live *live, live_task *task, bc_error *error)
{
    const double layers = (double)(task->stack.layers + 1);
    const bool much = layers * (double)task->wavelengths * (double)task->angles > MUCH || task->callouts.count > 8;
    bc_status status;
    if (much)
        pthread_mutex_lock(&live->turn);
    status = compute(task, error);
    if (much)
        pthread_mutex_unlock(&live->turn);
    return status;
}

bc_status desk_live_compute(desk_live *live, const cJSON *request, bc_text *out, bc_error *error)
{
    desk_open_materials *materials = NULL;
    live_task *task = calloc(1, sizeof *task);
    bc_status status;
    if (task == NULL)
        return bc_fail_memory(error);
    task->words = string(request, "callouts");
    status = prepare(live, request, task, &materials, error);
    if (status == BC_OK)
        status = take_grid(request, task, error);
    if (status == BC_OK)
        status = take_callouts(task, error);
    if (status == BC_OK)
        status = refuse_many_fringes(task, error);
    if (status == BC_OK)
        status = compute_in_turn(live, task, error);
    if (status == BC_OK)
        status = write_figures(task, out, error);
    for (size_t i = 0; i < task->angles; i++)
        bc_spectrum_clear(&task->spectrum[i]);
    bc_check_result_clear(&task->check);
    bc_callouts_clear(&task->callouts);
    bc_stack_clear(&task->stack);
    free(task);
    release(live, materials);
    return status;
}
