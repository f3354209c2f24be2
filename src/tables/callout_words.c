/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_columns.h"
#include "callout_note.h"
#include "number.h"
#include "print.h"
#include <bloomcoat/cie.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DEGREE         (M_PI / 180.0)
#define SAME_NM        1e-6
#define MARGIN_PERCENT 1e-6 /* as in callout files: no real coating comes nearer to 0 or 100 percent */

static const char *const kind_words[BC_NOTE_KINDS] = {"band", "angle of incidence", "polarization", "surface or part"};

/* Whether the limit of a colour is one number, with a sense. */
static bool is_distance(bc_stated statistic)
{
    return statistic == BC_STATED_CHROMA || statistic == BC_STATED_DIFFERENCE;
}

/* Max goes with at most, min with at least; where only one of the two is there, it says the other. */
static bc_status settle_sense(const bc_note *n, bc_note_limit *l, bc_error *error)
{
    if (bc_stated_colour(l->statistic) && (!is_distance(l->statistic) || l->sense == BC_STATED_BETTER) &&
        (l->sense == BC_STATED_NO_SENSE || l->sense == BC_STATED_EQUAL || l->sense == BC_STATED_BETTER))
        l->sense = BC_STATED_AT_MOST;
    if (l->sense == BC_STATED_BETTER)
        l->sense = l->quantity == BC_T ? BC_STATED_ABOVE : BC_STATED_BELOW;
    if (l->sense == BC_STATED_NO_SENSE || l->sense == BC_STATED_EQUAL)
        l->sense = l->statistic == BC_STATED_MAX   ? BC_STATED_AT_MOST
                   : l->statistic == BC_STATED_MIN ? BC_STATED_AT_LEAST
                                                   : BC_STATED_NO_SENSE;
    if (l->sense == BC_STATED_NO_SENSE)
        return bc_callout_ask(n->text, l->at, error, "is this limit a highest or a lowest value? expected <= or >=");
    const bool at_most = l->sense == BC_STATED_AT_MOST || l->sense == BC_STATED_BELOW;
    if (!at_most && bc_stated_colour(l->statistic))
        return bc_callout_ask(n->text, l->at, error, "a lowest value of a colour: expected <=");
    if (l->statistic == (at_most ? BC_STATED_MIN : BC_STATED_MAX))
        return bc_callout_ask(n->text, l->at, error,
                              at_most ? "a minimum with '<=': expected max with '<=', or min with '>='"
                                      : "a maximum with '>=': expected min with '>=', or max with '<='");
    return BC_OK;
}

static bc_status check_percent(const bc_note *n, const bc_note_limit *l, size_t at, bc_polarization polarization,
                               bc_error *error)
{
    const bool at_most = l->sense == BC_STATED_AT_MOST || l->sense == BC_STATED_BELOW;
    if (bc_stated_colour(l->statistic))
        return l->percent >= MARGIN_PERCENT
                   ? BC_OK
                   : bc_callout_ask(n->text, at, error, "expected a limit above 0: no coating has a colour exactly");
    if (polarization == BC_POL_RATIO)
        return BC_OK; /* bc_callout_ratio_fault() */
    if (l->percent > 100.0)
        return bc_callout_ask(n->text, at, error, "expected a limit from 0 to 100 percent");
    if (at_most ? l->percent < MARGIN_PERCENT : l->percent > 100.0 - MARGIN_PERCENT)
        return bc_callout_ask(n->text, at, error, "no real coating meets %s percent exactly; expected a limit %s it",
                              at_most ? "0" : "100", at_most ? "above" : "below");
    return BC_OK;
}

/* The conditions of one kind that hold for limit `which`: all of them where all stand before the first limit or after
 * the last one, else those that stand after it and before the next. Returns how many; `item` gets them. */
static bc_status conditions_of(const bc_note *n, size_t kind, size_t which, const bc_note_condition *item[BC_NOTE_MOST],
                               size_t *count, bc_error *error)
{
    const bc_note_conditions *of = &n->of[kind];
    bool before = true, behind = true;
    *count = 0;
    for (size_t i = 0; i < of->count; i++) {
        before = before && of->item[i].position == 0;
        behind = behind && of->item[i].position == n->limits;
    }
    for (size_t i = 0; i < of->count; i++)
        if (before || behind || n->limits == 1 || of->item[i].position == which + 1)
            item[(*count)++] = &of->item[i];
    for (size_t i = 0; i < of->count && !before && !behind && n->limits > 1; i++)
        if (of->item[i].position == 0)
            return bc_callout_ask(n->text, of->item[i].at, error,
                                  "does this %s hold for every limit? expected it once after the last limit, or one "
                                  "after each",
                                  kind_words[kind]);
    if (*count == 0 && of->count > 0)
        return bc_callout_ask(n->text, n->limit[which].at, error,
                              "which %s does this limit hold for? expected one after each limit, or one after the "
                              "last limit for all",
                              kind_words[kind]);
    return BC_OK;
}

/* A row being made: a limit under one band and one angle. */
typedef struct row {
    const bc_note_limit *limit;
    const bc_note_condition *band, *angle; /* angle NULL: not stated */
    bc_polarization polarization;
    bc_scope scope;
} row;

static bool name_is_taken(const bc_callouts *callouts, const char *name)
{
    for (size_t i = 0; i < callouts->count; i++)
        if (strcmp(callouts->callout[i].name, name) == 0)
            return true;
    return false;
}

/* "Ravg 425-675 nm": the statistic, the band, and s or p; "(2)" where there is one of this name. */
static void make_name(const bc_callouts *callouts, bc_callout *callout)
{
    static const char *const quantity[] = {"R", "T", "A"};
    static const char *const colour[] = {"", "chroma", "a*", "b*", "x", "y", "a*b*", "xy", "dE00"};
    static const char *const polarization[] = {"", " s", " p", " s and p", " s/p"};
    const char *plane = polarization[callout->polarization];
    char from[BC_NUMBER_SIZE], to[BC_NUMBER_SIZE], base[BC_CALLOUT_NAME_SIZE - 16];
    const char *statistic = callout->statistic == BC_AVERAGE ? "avg" : callout->sense == BC_AT_MOST ? "max" : "min";
    const char *weight = callout->weight == NULL ? "" : bc_weight_name(callout->weight);
    bc_number_format(callout->from_nm, from);
    bc_number_format(callout->to_nm, to);
    if (bc_callout_is_luminous(callout))
        bc_print(base, sizeof base, "%sv%s", quantity[callout->quantity], plane);
    else if (callout->colour != BC_NO_COLOUR)
        bc_print(base, sizeof base, "%s %s%s", quantity[callout->quantity], colour[callout->colour], plane);
    else if (callout->from_nm == callout->to_nm)
        bc_print(base, sizeof base, "%s%s %s nm%s", quantity[callout->quantity], statistic, from, plane);
    else
        bc_print(base, sizeof base, "%s%s %s%s%s-%s nm%s", quantity[callout->quantity], statistic, weight,
                 weight[0] == '\0' ? "" : " ", from, to, plane);
    memcpy(callout->name, base, strlen(base) + 1);
    for (int number = 2; name_is_taken(callouts, callout->name); number++)
        bc_print(callout->name, sizeof callout->name, "%s (%d)", base, number);
}

static bc_status append(const bc_note *n, const row *r, bc_callouts *callouts, bc_error *error)
{
    bc_callout *grown, *callout;
    const bool luminous = r->limit->statistic == BC_STATED_LUMINOUS, colour = bc_stated_colour(r->limit->statistic);
    bc_error inner = {0};
    if (callouts->count == BC_NOTE_MOST)
        return bc_callout_ask(n->text, r->limit->at, error, "more than %d callouts; expected fewer", BC_NOTE_MOST);
    grown = realloc(callouts->callout, (callouts->count + 1) * sizeof *grown);
    if (grown == NULL)
        return bc_fail_memory(error);
    callouts->callout = grown;
    callout = &grown[callouts->count];
    *callout = (bc_callout){
        .quantity = r->limit->quantity,
        .statistic = luminous || colour || r->limit->statistic == BC_STATED_AVERAGE ? BC_AVERAGE : BC_EXTREME,
        .weight = luminous ? bc_weight_luminous()
                  : colour ? bc_weight_tristimulus(n->illuminant, n->observer, 1)
                           : r->limit->weight,
        .colour = colour ? (bc_colour_value)(r->limit->statistic - BC_STATED_CHROMA + BC_CHROMA) : BC_NO_COLOUR,
        .illuminant = colour ? n->illuminant : BC_ILLUMINANT_D65,
        .observer = colour ? n->observer : BC_OBSERVER_2,
        .target = r->limit->target / 100.0,
        .sense = r->limit->sense == BC_STATED_AT_MOST || r->limit->sense == BC_STATED_BELOW ? BC_AT_MOST : BC_AT_LEAST,
        .limit = r->limit->percent / 100.0,
        .from_nm = luminous || colour ? BC_CIE_FROM_NM : r->band->from,
        .to_nm = luminous || colour ? BC_CIE_TO_NM : r->band->to,
        .aoi_from_rad = r->angle == NULL ? 0.0 : r->angle->from * DEGREE,
        .aoi_to_rad = r->angle == NULL ? 0.0 : r->angle->to * DEGREE,
        .cone_rad = n->cone * DEGREE,
        .polarization = r->polarization,
        .scope = r->scope};
    size_t column;
    const char *of_ratio = r->polarization == BC_POL_RATIO ? bc_callout_ratio_fault(callout, &column) : NULL;
    const bool ellipse = bc_callout_is_ellipse(callout);
    const char *expected =
        ellipse ? bc_callout_set_ellipse(r->limit->centre, r->limit->half_axis, r->limit->turn_deg, callout)
        : callout->colour == BC_COLOUR_DIFFERENCE
            ? bc_callout_set_reference(r->limit->percent, r->limit->reference, callout)
            : NULL;
    if (expected != NULL)
        return bc_callout_ask(n->text, r->limit->at, error, "expected %s%s", expected,
                              ellipse ? " of the ellipse" : "");
    if (of_ratio != NULL)
        return bc_callout_ask(n->text, r->limit->at, error, "expected %s", of_ratio);
    if (bc_callout_check_weight(callout, &inner) != BC_OK)
        return bc_callout_ask(n->text, r->limit->at, error, "%s", inner.message);
    if (n->cone > 0.0 && r->polarization != BC_POL_UNPOLARIZED)
        return bc_callout_ask(n->text, r->limit->at, error,
                              "s or p over a cone, whose rays have planes of their own; expected unpolarized light");
    if (callout->aoi_to_rad + callout->cone_rad >= M_PI_2)
        return bc_callout_ask(n->text, r->limit->at, error,
                              "expected an angle and a half-angle of the cone that stay below 90 degrees");
    make_name(callouts, callout);
    callouts->count++;
    return BC_OK;
}

/* s in one place and p in another are both asked for; unpolarized and s are two readings of one limit. */
static bc_status settle_polarization(const bc_note *n, size_t which, row *r, unsigned *assumptions, bc_error *error)
{
    const bc_note_condition *item[BC_NOTE_MOST];
    size_t count;
    bc_status status = BC_OK;
    r->polarization = r->limit->polarization;
    if (r->limit->has_polarization)
        return BC_OK;
    status = conditions_of(n, BC_NOTE_POLARIZATION, which, item, &count, error);
    if (status == BC_OK && count == 0)
        *assumptions |= BC_ASSUMED_POLARIZATION;
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        const bc_polarization here = (bc_polarization)item[i]->choice;
        const bool mixed = (here == BC_POL_UNPOLARIZED) != (r->polarization == BC_POL_UNPOLARIZED);
        const bool ratio = (here == BC_POL_RATIO) != (r->polarization == BC_POL_RATIO);
        if (i > 0 && (mixed || ratio))
            return bc_callout_ask(n->text, item[i]->at, error,
                                  ratio ? "a ratio s/p and a polarization for one limit; expected one of them"
                                        : "unpolarized light and a polarization for one limit; expected one of them");
        r->polarization = i == 0 || here == r->polarization ? here : BC_POL_EACH;
    }
    return status;
}

static bc_status settle_scope(const bc_note *n, size_t which, row *r, unsigned *assumptions, bc_error *error)
{
    const bc_note_condition *item[BC_NOTE_MOST];
    size_t count;
    bc_status status = conditions_of(n, BC_NOTE_SCOPE, which, item, &count, error);
    r->scope = BC_SCOPE_SURFACE;
    if (status == BC_OK && count == 0)
        *assumptions |= BC_ASSUMED_SURFACE;
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        const bc_scope here = item[i]->choice == BC_STATED_PART ? BC_SCOPE_PART : BC_SCOPE_SURFACE;
        if (i > 0 && here != r->scope)
            return bc_callout_ask(n->text, item[i]->at, error,
                                  "both surfaces alone and the part for one limit; expected one of them");
        r->scope = here;
        if (item[i]->choice == BC_STATED_BOTH_SURFACES)
            *assumptions |= BC_SAID_BOTH_SURFACES;
    }
    return status;
}

static bool has_own_band(const bc_note_limit *limit)
{
    return limit->statistic == BC_STATED_LUMINOUS || bc_stated_colour(limit->statistic);
}

static bc_status settle_statistic(const bc_note *n, const row *r, unsigned *assumptions, bc_error *error)
{
    const bool is_band = r->band->from < r->band->to;
    if (r->limit->statistic == BC_STATED_AVERAGE && !is_band)
        return bc_callout_ask(n->text, r->band->at, error,
                              "an average over one wavelength; expected a band with two ends, such as 425-675 nm");
    if (bc_stated_colour(r->limit->statistic))
        *assumptions |= (n->has_illuminant ? 0 : BC_ASSUMED_ILLUMINANT) | (n->has_observer ? 0 : BC_ASSUMED_OBSERVER);
    if (r->limit->statistic == BC_STATED_LUMINOUS && n->has_illuminant && n->illuminant != BC_ILLUMINANT_D65)
        *assumptions |= BC_SAID_ANOTHER_LIGHT;
    if (has_own_band(r->limit) &&
        (fabs(r->band->from - BC_CIE_FROM_NM) > SAME_NM || fabs(r->band->to - BC_CIE_TO_NM) > SAME_NM))
        return bc_callout_ask(n->text, r->band->at, error,
                              "the band of a luminous value or a colour is 380-780 nm; expected that, or none");
    if (r->limit->weight != NULL && r->limit->statistic != BC_STATED_AVERAGE)
        return bc_callout_ask(n->text, r->limit->at, error, "a weight without an average; expected avg, or no weight");
    if (r->limit->statistic == BC_STATED_NOTHING && is_band)
        *assumptions |= BC_ASSUMED_EXTREME;
    if (r->limit->sense == BC_STATED_BELOW || r->limit->sense == BC_STATED_ABOVE)
        *assumptions |= BC_SAID_STRICTLY;
    return BC_OK;
}

/* The bands of a limit. That of a luminous one or a colour is its definition: among limits of another kind, theirs is
 * not meant. */
static bc_status bands_of(const bc_note *n, size_t which, const bc_note_condition *band[BC_NOTE_MOST], size_t *bands,
                          bc_error *error)
{
    static const bc_note_condition visible = {.from = BC_CIE_FROM_NM, .to = BC_CIE_TO_NM};
    const bool own = has_own_band(&n->limit[which]);
    bool others = false;
    bc_status status = BC_OK;
    *bands = 0;
    for (size_t l = 0; l < n->limits; l++)
        others = others || !has_own_band(&n->limit[l]);
    if (!own || !others)
        status = conditions_of(n, BC_NOTE_BAND, which, band, bands, error);
    if (status == BC_OK && own && *bands == 0)
        band[(*bands)++] = &visible;
    return status;
}

/* The rows of one limit: each of its bands under each of its angles. */
static bc_status make_rows(bc_note *n, size_t which, bc_callouts *callouts, unsigned *assumptions, bc_error *error)
{
    const bc_note_condition *band[BC_NOTE_MOST], *angle[BC_NOTE_MOST];
    size_t bands, angles;
    row r = {.limit = &n->limit[which]};
    bc_status status = settle_sense(n, &n->limit[which], error);
    if (status == BC_OK)
        status = settle_polarization(n, which, &r, assumptions, error);
    if (status == BC_OK)
        status = check_percent(n, r.limit, r.limit->at, r.polarization, error);
    if (status == BC_OK)
        status = bands_of(n, which, band, &bands, error);
    if (status == BC_OK && bands == 0)
        return bc_callout_ask(n->text, r.limit->at, error,
                              "no band or wavelength for this limit; expected one, such as 425-675 nm");
    if (status == BC_OK)
        status = conditions_of(n, BC_NOTE_ANGLE, which, angle, &angles, error);
    if (status == BC_OK)
        status = settle_scope(n, which, &r, assumptions, error);
    if (status == BC_OK && angles == 0)
        *assumptions |= BC_ASSUMED_ANGLE;
    for (size_t b = 0; status == BC_OK && b < bands; b++) {
        r.band = band[b];
        status = settle_statistic(n, &r, assumptions, error);
        for (size_t a = 0; status == BC_OK && a < (angles == 0 ? 1 : angles); a++) {
            r.angle = angles == 0 ? NULL : angle[a];
            status = append(n, &r, callouts, error);
        }
    }
    return status;
}

/* An illuminant is one of colours; a luminous value has D65. */
static bc_status check_light(const bc_note *n, bc_error *error)
{
    bool any = false;
    for (size_t l = 0; l < n->limits; l++)
        any = any || bc_stated_colour(n->limit[l].statistic) ||
              (n->limit[l].statistic == BC_STATED_LUMINOUS && n->illuminant == BC_ILLUMINANT_D65 && !n->has_observer);
    if (any || (!n->has_illuminant && !n->has_observer))
        return BC_OK;
    return bc_callout_ask(n->text, n->light_at, error,
                          "an illuminant or an observer without a colour; expected one such as chroma <= 8");
}

/* The rows of the next note. */
static bc_status read_note(bc_note *n, bc_callouts *callouts, unsigned *assumptions, bc_error *error)
{
    bc_status status = bc_note_read(n, error);
    if (status == BC_OK)
        status = check_light(n, error);
    for (size_t which = 0; status == BC_OK && which < n->limits; which++)
        status = make_rows(n, which, callouts, assumptions, error);
    n->at++;
    return status;
}

static bc_status read_notes(const char *text, const bc_token *token, size_t tokens, bc_note *n, bc_callouts *callouts,
                            unsigned *assumptions, bc_error *error)
{
    const size_t before = callouts->count;
    bc_status status = BC_OK;
    for (size_t at = 0; status == BC_OK && at < tokens; at = n->at) {
        memset(n, 0, sizeof *n);
        n->text = text;
        n->token = token;
        n->at = at;
        status = read_note(n, callouts, assumptions, error);
    }
    if (status == BC_OK && callouts->count == before)
        status = bc_callout_ask(text, 0, error, "no callout here; expected one such as Ravg <= 0.5 %%, 425-675 nm");
    return status;
}

bc_status bc_callouts_parse(const char *text, bc_callouts *callouts, unsigned *assumptions, bc_error *error)
{
    const size_t before = callouts->count;
    unsigned found = 0;
    size_t tokens = 0;
    bc_token *token = malloc(BC_TOKENS_MOST * sizeof *token);
    bc_note *n = malloc(sizeof *n);
    bc_status status = token == NULL || n == NULL ? bc_fail_memory(error) : BC_OK;
    if (status == BC_OK)
        status = bc_callout_tokens(text, token, &tokens, error);
    if (status == BC_OK)
        status = read_notes(text, token, tokens, n, callouts, &found, error);
    if (status != BC_OK)
        callouts->count = before;
    else if (assumptions != NULL)
        *assumptions |= found;
    free(token);
    free(n);
    return status;
}
