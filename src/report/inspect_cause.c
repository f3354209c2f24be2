/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/inspect_words.h"
#include "internal/numbers.h"
#include <math.h>
#include <string.h>

#define DOUBT       20.0 /* odds below which two causes are not told apart */
#define NO_DOUBT    1e4  /* beyond which nobody wants the figure */
#define TELLS       3.0  /* times the noise two spectra must differ to be told apart by one scan */
#define LEAST_NOISE 1e-4
#define NOISE_ALONE 2.0 /* times the noise: what a fit leaves is then noise, and little else */

const char *bc_cause_word(bc_cause_kind kind)
{
    static const char *const word[BC_CAUSES] = {[BC_CAUSE_AS_DESIGNED] = "as designed",
                                                [BC_CAUSE_RANDOM] = "random",
                                                [BC_CAUSE_COMMON_FACTOR] = "common factor",
                                                [BC_CAUSE_MATERIAL_FACTOR] = "material factor",
                                                [BC_CAUSE_LAYER] = "layer",
                                                [BC_CAUSE_INDEX] = "index",
                                                [BC_CAUSE_WAVELENGTH] = "wavelength",
                                                [BC_CAUSE_READING_SCALE] = "reading scale",
                                                [BC_CAUSE_READING_OFFSET] = "reading offset",
                                                [BC_CAUSE_ANGLE] = "angle",
                                                [BC_CAUSE_SWAPPED] = "swapped",
                                                [BC_CAUSE_REVERSED] = "reversed",
                                                [BC_CAUSE_MISSING] = "missing",
                                                [BC_CAUSE_OTHER_MATERIAL] = "other material",
                                                [BC_CAUSE_OTHER_SUBSTRATE] = "other substrate",
                                                [BC_CAUSE_BACK_SEEN] = "back seen",
                                                [BC_CAUSE_BARE] = "bare",
                                                [BC_CAUSE_UNEXPLAINED] = "unexplained"};
    return word[kind];
}

static const char *const back_words[] = {[BC_BACK_NONE] = "ground or blackened",
                                         [BC_BACK_UNCOATED] = "polished and uncoated",
                                         [BC_BACK_SAME] = "coated as the front",
                                         [BC_BACK_OWN] = "with a coating of its own"};

/* Layers count from the substrate: of two neighbours the lower number is the second in memory. */
static size_t number(const bc_inspect_result *result, const bc_cause *cause, size_t which)
{
    return bc_layer_number(result->layers, cause->layer[which]);
}

/* The only layer of a material, counted from the substrate; 0: it has several. */
static size_t only_layer(const bc_inspect_result *result, const char *material)
{
    size_t count = 0, only = 0;
    for (size_t i = 0; i < result->layers; i++)
        if (strcmp(result->fitted.layer[i].material.name, material) == 0) {
            count++;
            only = bc_layer_number(result->layers, i);
        }
    return count == 1 ? only : 0;
}

/* A cause as half a sentence: "layers 4 and 5 swapped". */
static void add_cause(bc_text *out, const bc_inspect_result *result, const bc_cause *cause)
{
    const char *material = cause->material.name;
    switch (cause->kind) {
    case BC_CAUSE_AS_DESIGNED:
        bc_text_add(out, "the layers as designed");
        break;
    case BC_CAUSE_RANDOM:
        bc_text_add(out, "random errors of the layers");
        break;
    case BC_CAUSE_COMMON_FACTOR:
        bc_text_add(out, "all layers off by one factor");
        break;
    case BC_CAUSE_MATERIAL_FACTOR:
        if (only_layer(result, material) > 0)
            bc_text_add(out, "layer %zu (%s) off", only_layer(result, material), material);
        else
            bc_text_add(out, "all layers of %s off by one factor", material);
        break;
    case BC_CAUSE_LAYER:
        bc_text_add(out, "layer %zu (%s) off", number(result, cause, 0), material);
        break;
    case BC_CAUSE_INDEX:
        bc_text_add(out, "the index of %s off", material);
        break;
    case BC_CAUSE_WAVELENGTH:
        bc_text_add(out, "the wavelengths of the scan off");
        break;
    case BC_CAUSE_READING_SCALE:
        bc_text_add(out, "the scale of the readings off");
        break;
    case BC_CAUSE_READING_OFFSET:
        bc_text_add(out, "every reading off by the same amount");
        break;
    case BC_CAUSE_ANGLE:
        bc_text_add(out, "measured at another angle");
        break;
    case BC_CAUSE_SWAPPED:
        bc_text_add(out, "layers %zu and %zu swapped", number(result, cause, 1), number(result, cause, 0));
        break;
    case BC_CAUSE_REVERSED:
        bc_text_add(out, "the layers in reverse order");
        break;
    case BC_CAUSE_MISSING:
        bc_text_add(out, "layer %zu (%s) missing", number(result, cause, 0), material);
        break;
    case BC_CAUSE_OTHER_MATERIAL:
        bc_text_add(out, "layer %zu of %s", number(result, cause, 0), material);
        break;
    case BC_CAUSE_OTHER_SUBSTRATE:
        bc_text_add(out, "another substrate, %s", material);
        break;
    case BC_CAUSE_BACK_SEEN:
        bc_text_add(out, "another second surface, %s", back_words[cause->back]);
        break;
    case BC_CAUSE_BARE:
        bc_text_add(out, "no coating, the second surface %s", back_words[cause->back]);
        break;
    case BC_CAUSE_UNEXPLAINED:
    case BC_CAUSES:
        bc_text_add(out, "none of the causes tried");
        break;
    }
}

/* In the unit a person reads. */
static double size_shown(const bc_cause *cause, double size)
{
    if (cause->kind == BC_CAUSE_WAVELENGTH || cause->kind == BC_CAUSE_INDEX)
        return size;
    return cause->kind == BC_CAUSE_ANGLE ? bc_degrees(size) : 100.0 * size;
}

static const char *size_unit(const bc_cause *cause)
{
    switch (cause->kind) {
    case BC_CAUSE_WAVELENGTH:
        return "nm";
    case BC_CAUSE_INDEX:
        return "index";
    case BC_CAUSE_ANGLE:
        return "degrees";
    default:
        return "percent";
    }
}

static void add_size(bc_text *out, const bc_cause *cause)
{
    const double size = size_shown(cause, cause->size),
                 uncertainty = BC_COVERAGE * size_shown(cause, cause->size_sigma);
    if (!isfinite(size))
        return;
    if (cause->kind == BC_CAUSE_RANDOM)
        bc_text_add(out, ", of %.2g %% rms", size);
    else if (cause->kind == BC_CAUSE_ANGLE)
        bc_text_add(out, ", of about %.1f degrees", size);
    else if (cause->kind == BC_CAUSE_INDEX)
        bc_text_add(out, ", by %+.4f", size);
    else if (cause->kind == BC_CAUSE_WAVELENGTH)
        bc_text_add(out, ": written %.2f nm too %s", fabs(size), size > 0.0 ? "short" : "long");
    else
        bc_text_add(out, ", by %+.2f %%", size);
    if (isfinite(uncertainty) && cause->kind != BC_CAUSE_RANDOM)
        bc_text_add(out, " (+- %.2g)", uncertainty);
}

/* Beside random errors the layers have a factor too, and people ask for it first. */
static void add_factor(bc_text *out, const bc_inspect_result *result)
{
    const double percent = 100.0 * (result->scale - 1.0), uncertainty = 100.0 * BC_COVERAGE * result->scale_sigma;
    if (result->cause[0].kind != BC_CAUSE_RANDOM)
        return;
    if (!isfinite(uncertainty))
        bc_text_add(out, " Whether they are thicker or thinner as a whole is not known.");
    else if (fabs(percent) <= uncertainty)
        bc_text_add(out, " As a whole they are as thick as designed, to %.2g %%.", uncertainty);
    else
        bc_text_add(out, " As a whole they came out %.2f %% %s than designed (+- %.2g).", fabs(percent),
                    percent < 0.0 ? "thinner" : "thicker", uncertainty);
}

static double noise_of(const bc_inspect_result *result)
{
    return fmax(LEAST_NOISE, fmax(result->noise_R.rms, result->noise_T.rms));
}

/* Which further scan would separate the two likeliest. What they differ by is set against the noise alone. */
static void add_further(bc_text *out, const bc_inspect_result *result)
{
    const double least = TELLS * noise_of(result);
    const bool range = result->differ_in_range > least, angle = result->differ_at_45 > least;
    const bool both = isfinite(result->differ_at_45) && isfinite(result->differ_in_range);
    if (angle && !(range && result->differ_in_range > result->differ_at_45))
        bc_text_add(out, " R at 45 degrees in s may decide: the two differ there by %.2g %% rms, %.1f times the noise",
                    100.0 * result->differ_at_45, result->differ_at_45 / noise_of(result));
    else if (range)
        bc_text_add(
            out, " A scan from %.0f to %.0f nm may decide: the two differ there by %.2g %% rms, %.1f times the noise",
            result->wider_from_nm, result->wider_to_nm, 100.0 * result->differ_in_range,
            result->differ_in_range / noise_of(result));
    else if (both)
        bc_text_add(out,
                    " Neither R at 45 degrees in s nor a wider range would decide: the two differ there by less "
                    "than %.0f times the noise.",
                    TELLS);
    else if (isfinite(result->differ_at_45))
        bc_text_add(out,
                    " R at 45 degrees in s would not decide: the two differ there by less than %.0f times the noise.",
                    TELLS);
    if (angle || range)
        bc_text_add(out, "; errors of the R scale, wavelength and index are not counted in that.");
}

static void add_odds(bc_text *out, const bc_inspect_result *result)
{
    const bc_cause *next = &result->cause[1];
    if (result->causes < 2)
        return;
    if (result->cause_odds >= NO_DOUBT)
        bc_text_add(out, " More than 10,000 times likelier than the next (");
    else
        bc_text_add(out, " %s%.*f times likelier than the next (",
                    result->cause_odds < DOUBT ? "Not certain: only " : "", result->cause_odds < 10.0 ? 1 : 0,
                    result->cause_odds);
    add_cause(out, result, next);
    bc_text_add(out, ").");
    if (result->cause_odds < DOUBT)
        add_further(out, result);
}

void bc_add_run(bc_text *out, const bc_inspect_result *result)
{
    const bc_cause *cause = &result->cause[0];
    if (cause->kind == BC_CAUSE_UNEXPLAINED) {
        bc_text_add(out, "No cause explains the scan, so the fitted thicknesses are no findings: the wrong witness, or "
                         "a material that is not what its table says?\n");
        return;
    }
    bc_text_add(out, "Likeliest cause: ");
    add_cause(out, result, cause);
    add_size(out, cause);
    bc_text_add(out, ".");
    add_factor(out, result);
    add_odds(out, result);
    if (cause->residual > NOISE_ALONE)
        bc_text_add(out, " It leaves %.2g %% rms, %.2g times the noise: another cause may hide in that.",
                    100.0 * cause->rms, cause->residual);
    bc_text_add(out, "\n");
}

/* What one way of correcting is expected to gain, from `before` on. */
static void add_expected(bc_text *out, const bc_next_gain *gain)
{
    /* 200 draws, all of them better, do not make it certain. */
    const double better = fmin(floor(100.0 * gain->better), 99.0);
    if (isfinite(gain->used_corrected))
        bc_text_add(out,
                    "the next run is expected to use %.2g of the limit that it comes nearest to, instead of %.2g, and "
                    "to be the better one in about %.0f %% of runs",
                    gain->used_corrected, gain->used_as_it_was, better);
    else
        bc_text_add(out,
                    "the next run is expected %.2g %% rms away from the design's spectrum, instead of %.2g %%, and to "
                    "be the better one in about %.0f %% of runs",
                    100.0 * gain->rms_corrected, 100.0 * gain->rms_as_it_was, better);
}

static bool same_gain(const bc_next_gain *one, const bc_next_gain *other)
{
    return one->rms_corrected == other->rms_corrected && one->better == other->better;
}

void bc_add_gain(bc_text *out, const bc_inspect_result *result)
{
    static const char *const nothing[BC_NEXT_REASONS] = {
        [BC_NEXT_AS_DESIGNED] = "the layers are as designed, as far as the scan shows",
        [BC_NEXT_CHANCE] = "the process's scatter and the uncertainty of the fit explain the errors, which will be "
                           "others in the next run",
        [BC_NEXT_CHANCE_ASSUMED] = "a scatter of 1 % of each layer (assumed where no process file gives it) and the "
                                   "uncertainty of the fit explain the errors, which will be others in the next run",
        [BC_NEXT_INDEX] = "an index is off, and no thickness mends that",
        [BC_NEXT_READING] = "the reading is off, not the layers"};
    const bc_next_gain *stack = &result->next_gain, *tooling = &result->tooling_gain;
    if (nothing[result->next_because] != NULL)
        bc_text_add(out, "Nothing to correct in the next run: %s.\n", nothing[result->next_because]);
    if (stack->weighed) {
        bc_text_add(out, result->corrected ? "Corrected, " : "No correction is worth it: corrected, ");
        add_expected(out, stack);
        bc_text_add(out, ".\n");
    }
    if (tooling->weighed && !same_gain(stack, tooling)) {
        bc_text_add(out, "By the tooling instead: ");
        add_expected(out, tooling);
        bc_text_add(out, "%s.\n", result->tooling_corrected ? "" : "; so it stays");
    }
}

const char *bc_next_word(bc_next_reason reason)
{
    static const char *const word[BC_NEXT_REASONS] = {
        [BC_NEXT_NO_FIT] = "no fit",   [BC_NEXT_CORRECTED] = "corrected",
        [BC_NEXT_NO_GAIN] = "no gain", [BC_NEXT_AS_DESIGNED] = "as designed",
        [BC_NEXT_CHANCE] = "chance",   [BC_NEXT_CHANCE_ASSUMED] = "chance, scatter assumed",
        [BC_NEXT_INDEX] = "index",     [BC_NEXT_READING] = "reading"};
    return word[reason];
}

static void cause_json(const bc_inspect_result *result, const bc_cause *cause, cJSON *object, bc_json *json)
{
    const bool explained = cause->kind != BC_CAUSE_UNEXPLAINED;
    cJSON *layers;
    bc_json_string(json, object, "kind", bc_cause_word(cause->kind));
    layers = bc_json_array(json, object, "layers");
    for (size_t i = cause->layers; i-- > 0;)
        bc_json_number(json, layers, NULL, (double)number(result, cause, i), 15);
    bc_json_string(json, object, "material", cause->material.name[0] == '\0' ? NULL : cause->material.name);
    bc_json_number(json, object, "size", explained ? size_shown(cause, cause->size) : NAN, 12);
    bc_json_string(json, object, "size_unit", isfinite(cause->size) ? size_unit(cause) : NULL);
}

void bc_cause_json(const bc_inspect_result *result, cJSON *into, bc_json *json)
{
    cJSON *object = bc_json_object(json, into, "cause"), *array;
    cause_json(result, &result->cause[0], object, json);
    bc_json_number(json, object, "size_uncertainty",
                   BC_COVERAGE * size_shown(&result->cause[0], result->cause[0].size_sigma), 12);
    bc_json_number(json, object, "odds", result->cause_odds, 12);
    bc_json_number(json, object, "leaves_percent", 100.0 * result->cause[0].rms, 12);
    bc_json_number(json, object, "leaves_over_noise", result->cause[0].residual, 12);
    bc_json_number(json, object, "differ_at_45_deg_percent", 100.0 * result->differ_at_45, 12);
    bc_json_number(json, object, "differ_in_wider_range_percent", 100.0 * result->differ_in_range, 12);
    array = bc_json_array(json, object, "others");
    for (size_t i = 1; i < result->causes; i++) {
        cJSON *row = bc_json_object(json, array, NULL);
        cause_json(result, &result->cause[i], row, json);
        bc_json_number(json, row, "odds", exp(fmax(-700.0, result->cause[i].log_odds)), 12);
    }
}
