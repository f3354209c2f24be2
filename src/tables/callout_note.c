/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_note.h"
#include <math.h>

#define LEAST_NM 0.001
#define MOST_NM  1e9

static bc_status add_condition(bc_note *n, size_t kind, bc_note_condition item, bc_error *error)
{
    bc_note_conditions *of = &n->of[kind];
    if (of->count == BC_NOTE_MOST)
        return bc_callout_ask(n->text, item.at, error, "more than %d of one kind; expected fewer", BC_NOTE_MOST);
    /* In "R(532 nm) < 0.2 %" it stands inside its limit. */
    item.position = n->limits + (n->has_head && n->head.has_quantity && n->head.sense == BC_STATED_NO_SENSE);
    of->item[of->count++] = item;
    return BC_OK;
}

static bc_status add_band(bc_note *n, const bc_note_amount *a, bc_error *error)
{
    if (a->from < LEAST_NM || a->to > MOST_NM)
        return bc_callout_ask(n->text, a->at, error, "expected wavelengths from 0.001 to 1000000000 nm");
    return add_condition(n, BC_NOTE_BAND, (bc_note_condition){.from = a->from, .to = a->to, .at = a->at}, error);
}

static bc_status add_angle(bc_note *n, const bc_note_amount *a, bc_error *error)
{
    bc_note_amount angle = *a;
    if (n->cone_announced) {
        n->cone_announced = false;
        if (!a->is_single || a->comma || !(a->from > 0.0) || a->from >= 90.0 || n->cone > 0.0)
            return bc_callout_ask(n->text, a->at, error,
                                  "expected one half-angle of a cone in a note, above 0 and below 90 degrees");
        n->cone = a->from;
        return BC_OK;
    }
    if (a->comma)
        return bc_callout_ask(n->text, a->at, error,
                              "the comma may be decimal or part two angles; expected a point, or a blank after it");
    if (a->is_tolerance && a->from < 0.0 && a->to >= -a->from) {
        angle.from = 0.0; /* 0 +- 15 degrees: a cone about the normal, 0 to 15 */
        angle.to = fmax(a->to, -a->from);
    }
    if (angle.from < 0.0 || angle.to >= 90.0)
        return bc_callout_ask(n->text, a->at, error, "expected angles of incidence from 0 to below 90 degrees");
    return add_condition(n, BC_NOTE_ANGLE, (bc_note_condition){.from = angle.from, .to = angle.to, .at = a->at}, error);
}

/* "0.5 % max reflectance, 400-700 nm": the only quantity of a note with one limit may follow its number. */
static void claim_quantity(bc_note *n, bc_note_limit *l)
{
    size_t quantity = 0;
    for (size_t at = n->at; n->token[at].kind != BC_TOKEN_NOTE_END; at++) {
        if (n->token[at].kind == BC_TOKEN_PERCENT || n->token[at].kind == BC_TOKEN_SENSE ||
            (n->token[at].kind == BC_TOKEN_QUANTITY && quantity > 0))
            return;
        quantity = n->token[at].kind == BC_TOKEN_QUANTITY ? at : quantity;
    }
    if (quantity == 0)
        return;
    l->has_quantity = true;
    l->quantity = (bc_quantity)n->token[quantity].choice;
    n->claimed = quantity;
}

/* The number of a limit completes it. Without a quantity of its own it has that of the limit before. */
static bc_status add_limit(bc_note *n, const bc_note_amount *a, bc_error *error)
{
    bc_note_limit *l = &n->limit[n->limits];
    if (n->limits == BC_NOTE_MOST)
        return bc_callout_ask(n->text, a->at, error, "more than %d limits in one note; expected fewer", BC_NOTE_MOST);
    const bool ratio = bc_note_limits_ratio(n);
    if (ratio ? a->has_unit && a->unit != BC_TOKEN_PERCENT : !a->has_unit || a->unit != BC_TOKEN_PERCENT)
        return bc_callout_ask(n->text, a->at, error,
                              ratio ? "expected a ratio, such as 1.02, or the same in percent"
                                    : "a limit without '%%'; expected percent, such as 0.5 %%");
    if (!a->is_single)
        return bc_callout_ask(n->text, a->at, error,
                              "a range or a tolerance as a limit; expected one value in percent");
    *l = n->has_head ? n->head : (bc_note_limit){.at = a->at};
    if (!l->has_quantity && n->limits > 0) {
        l->has_quantity = true;
        l->quantity = n->limit[n->limits - 1].quantity;
    }
    if (!l->has_quantity)
        claim_quantity(n, l);
    if (!l->has_quantity)
        return bc_callout_ask(n->text, l->at, error, "a limit without a quantity; expected R, T or A before it");
    l->percent = ratio && !a->has_unit ? 100.0 * a->from : a->from;
    l->end = n->token[n->at - 1].at;
    n->limits++;
    n->has_head = false;
    return BC_OK;
}

bool bc_note_limits_ratio(const bc_note *note)
{
    return note->has_head && note->head.has_polarization && note->head.polarization == BC_POL_RATIO;
}

bool bc_stated_colour(bc_stated statistic)
{
    return statistic >= BC_STATED_CHROMA;
}

/* "chroma <= 8", "a* 2 +- 4": numbers without a unit. */
static bc_status add_colour_limit(bc_note *n, const bc_note_amount *a, bc_error *error)
{
    bc_note_limit *l = &n->limit[n->limits];
    const bool chroma = n->head.statistic == BC_STATED_CHROMA;
    if (n->limits == BC_NOTE_MOST)
        return bc_callout_ask(n->text, a->at, error, "more than %d limits in one note; expected fewer", BC_NOTE_MOST);
    if (a->has_unit)
        return bc_callout_ask(n->text, a->at, error, "a unit behind the limit of a colour; expected the number alone");
    if (chroma ? !a->is_single || n->minus : !a->is_tolerance)
        return bc_callout_ask(n->text, a->at, error,
                              chroma ? "expected one number above 0, as in chroma <= 8"
                                     : "expected a value with a tolerance, as in a* 2 +- 4");
    *l = n->head;
    if (!l->has_quantity)
        l->quantity = BC_R; /* a coating's colour is that of its reflection */
    l->has_quantity = true;
    l->target = chroma ? 0.0 : 0.5 * (a->from + a->to) * (n->minus ? -1.0 : 1.0);
    l->percent = chroma ? a->from : 0.5 * (a->to - a->from);
    l->end = n->token[n->at - 1].at;
    n->limits++;
    n->has_head = n->minus = false;
    return BC_OK;
}

/* Whether several numbers make the limit: an ellipse's, or those of a difference and its reference. */
static bool has_several_numbers(const bc_note *n)
{
    return n->has_head && n->head.statistic >= BC_STATED_ELLIPSE_AB;
}

static bc_status add_several_numbers(bc_note *n, bc_error *error)
{
    if (n->limits == BC_NOTE_MOST)
        return bc_callout_ask(n->text, n->head.at, error, "more than %d limits in one note; expected fewer",
                              BC_NOTE_MOST);
    bc_note_limit *l = &n->limit[n->limits];
    *l = n->head;
    if (!l->has_quantity)
        l->quantity = BC_R; /* a coating's colour is that of its reflection */
    l->has_quantity = true;
    l->percent = 1.0;
    const bc_status status = l->statistic == BC_STATED_DIFFERENCE ? bc_note_read_difference(n, l, error)
                                                                  : bc_note_read_ellipse(n, l, error);
    l->end = n->token[n->at - 1].at;
    n->limits++;
    n->has_head = false;
    return status;
}

static bc_status read_number_item(bc_note *n, bc_error *error)
{
    bc_note_amount a;
    if (has_several_numbers(n))
        return add_several_numbers(n, error);
    bc_status status = bc_note_read_amount(n, &a, error);
    if (status != BC_OK)
        return status;
    if (n->has_head && bc_stated_colour(n->head.statistic))
        return add_colour_limit(n, &a, error);
    const bool inside = n->has_head && n->head.has_quantity && n->head.sense == BC_STATED_NO_SENSE && a.has_unit &&
                        a.unit != BC_TOKEN_PERCENT;
    if ((n->has_head && !inside) || (a.has_unit && a.unit == BC_TOKEN_PERCENT))
        return add_limit(n, &a, error);
    if (!a.has_unit && n->angle_announced)
        a.has_unit = true, a.unit = BC_TOKEN_DEGREE;
    n->angle_announced = n->angle_announced && n->token[n->at].kind == BC_TOKEN_AND;
    if (!a.has_unit)
        return bc_callout_ask(n->text, a.at, error, "a number without a unit; expected nm or um, deg, or %%");
    return a.unit == BC_TOKEN_LENGTH ? add_band(n, &a, error) : add_angle(n, &a, error);
}

/* A word of a limit whose number follows: kept until then. */
static bc_note_limit *head_of(bc_note *n)
{
    if (!n->has_head)
        n->head = (bc_note_limit){.at = n->token[n->at].at};
    n->has_head = true;
    return &n->head;
}

static bc_status read_quantity(bc_note *n, bc_error *error)
{
    if (n->claimed > 0 && n->at == n->claimed) {
        n->at++;
        return BC_OK;
    }
    bc_note_limit *head = head_of(n);
    if (head->has_quantity)
        return bc_callout_ask(n->text, n->token[n->at].at, error,
                              "the quantity before it has no limit yet; expected a limit such as <= 0.5 %%");
    head->has_quantity = true;
    head->quantity = (bc_quantity)n->token[n->at++].choice;
    return BC_OK;
}

static bool has_band_from(const bc_note *n, size_t position)
{
    const bc_note_conditions *bands = &n->of[BC_NOTE_BAND];
    for (size_t i = 0; i < bands->count; i++)
        if (bands->item[i].position == position)
            return true;
    return false;
}

/* Whether a statistic belongs to the limit before it: right after its percent sign ("R < 0.5 % average"), there in
 * brackets, or after its own band, where nothing of another limit follows ("R < 0.5 % 400-700 nm avg, 0-30 deg"). */
static bool is_behind(const bc_note *n)
{
    const bc_token *here = &n->token[n->at];
    if (n->has_head || n->limits == 0)
        return false;
    if (here[-1].kind == BC_TOKEN_PERCENT || (n->claimed > 0 && n->claimed + 1 == n->at))
        return true;
    if (here[-1].kind == BC_TOKEN_AND && n->text[here[-1].at] == '(')
        return here[-2].kind == BC_TOKEN_PERCENT;
    return here[-1].kind == BC_TOKEN_LENGTH &&
           (here[1].kind == BC_TOKEN_NOTE_END || (here[1].kind == BC_TOKEN_AND && n->text[here[1].at] == ',')) &&
           n->limit[n->limits - 1].statistic == BC_STATED_NOTHING && has_band_from(n, n->limits) &&
           (n->limits == 1 || has_band_from(n, n->limits - 1));
}

static bc_status read_statistic(bc_note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at];
    const bool behind = is_behind(n);
    bc_note_limit *to = behind ? &n->limit[n->limits - 1] : head_of(n);
    if (to->statistic != BC_STATED_NOTHING && to->statistic != (bc_stated)here->choice)
        return bc_callout_ask(n->text, here->at, error,
                              "two statistics for one limit; expected max, min, average or luminous");
    to->statistic = (bc_stated)here->choice;
    n->at++;
    return BC_OK;
}

/* Of the limit that is being said, else of the one before. */
static bc_status read_weight(bc_note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at];
    bc_note_limit *to = n->has_head || n->limits == 0 ? head_of(n) : &n->limit[n->limits - 1];
    if (to->weight != NULL)
        return bc_callout_ask(n->text, here->at, error,
                              "two weights for one limit; expected one, or a product of them");
    to->weight = here->weight;
    n->at++;
    return BC_OK;
}

/* "AOI < 30 deg", "up to 30 deg": every angle from 0 on. */
static bool limits_angle(const bc_note *n)
{
    const bc_token *here = &n->token[n->at];
    const bool at_most = here->choice == BC_STATED_AT_MOST || here->choice == BC_STATED_BELOW;
    const bool in_degrees = here[1].kind == BC_TOKEN_NUMBER && here[2].kind == BC_TOKEN_DEGREE;
    return at_most && (in_degrees || (n->angle_announced && !n->has_head && here[1].kind == BC_TOKEN_NUMBER &&
                                      here[2].kind != BC_TOKEN_PERCENT && here[2].kind != BC_TOKEN_LENGTH));
}

static bc_status read_angle_from_zero(bc_note *n, bc_error *error)
{
    bc_note_amount a;
    n->at++;
    bc_status status = bc_note_read_amount(n, &a, error);
    if (status == BC_OK && !a.is_single)
        return bc_callout_ask(n->text, a.at, error,
                              "a range after a comparison; expected one angle, or the range alone");
    a.from = 0.0;
    n->angle_announced = false;
    return status == BC_OK ? add_angle(n, &a, error) : status;
}

static bc_status read_sense(bc_note *n, bc_error *error)
{
    if (limits_angle(n))
        return read_angle_from_zero(n, error);
    bc_note_limit *head = head_of(n);
    const bc_token *here = &n->token[n->at];
    if (head->sense != BC_STATED_NO_SENSE)
        return bc_callout_ask(n->text, here->at, error, "a second comparison; expected a number in percent");
    head->sense = (bc_stated_sense)here->choice;
    n->at++;
    return BC_OK;
}

static bc_status read_polarization(bc_note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at++];
    if (!n->has_head)
        return add_condition(n, BC_NOTE_POLARIZATION, (bc_note_condition){.choice = here->choice, .at = here->at},
                             error);
    n->head.has_polarization = true;
    n->head.polarization = (bc_polarization)here->choice;
    return BC_OK;
}

/* Whether a wavelength or an angle follows the sign: "R(lambda = 633 nm)". */
static bool is_of_condition(const bc_token *sign)
{
    const bool is_range = sign[1].kind == BC_TOKEN_NUMBER &&
                          (sign[2].kind == BC_TOKEN_TO || sign[2].kind == BC_TOKEN_PLUS_MINUS) &&
                          sign[3].kind == BC_TOKEN_NUMBER;
    const bc_token *unit = sign[1].kind == BC_TOKEN_NUMBER ? &sign[is_range ? 4 : 2] : sign;
    return unit->kind == BC_TOKEN_LENGTH || unit->kind == BC_TOKEN_DEGREE;
}

/* The light and the eye of the note's colours. */
static bc_status read_light(bc_note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at++];
    bool *has = here->kind == BC_TOKEN_OBSERVER ? &n->has_observer : &n->has_illuminant;
    if (*has)
        return bc_callout_ask(n->text, here->at, error, "expected one illuminant and one observer in a note");
    *has = true;
    n->light_at = here->at;
    if (here->kind == BC_TOKEN_OBSERVER)
        n->observer = (bc_observer)here->choice;
    else
        n->illuminant = (bc_illuminant)here->choice;
    return BC_OK;
}

static bc_status read_item(bc_note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at];
    const bc_note_amount normal = {.at = here->at, .is_single = true};
    switch (here->kind) {
    case BC_TOKEN_NUMBER:
        return read_number_item(n, error);
    case BC_TOKEN_QUANTITY:
        return read_quantity(n, error);
    case BC_TOKEN_STATISTIC:
        return read_statistic(n, error);
    case BC_TOKEN_WEIGHT:
        return read_weight(n, error);
    case BC_TOKEN_SENSE:
        if (here->choice == BC_STATED_EQUAL && (!n->has_head || is_of_condition(here))) { /* "AOI = 0 deg" */
            n->at++;
            return BC_OK;
        }
        return read_sense(n, error);
    case BC_TOKEN_POLARIZATION:
        return read_polarization(n, error);
    case BC_TOKEN_SCOPE:
        n->at++;
        return add_condition(n, BC_NOTE_SCOPE, (bc_note_condition){.choice = here->choice, .at = here->at}, error);
    case BC_TOKEN_NORMAL:
        n->at++;
        return add_angle(n, &normal, error);
    case BC_TOKEN_CONE:
        n->cone_announced = n->angle_announced = true;
        n->at++;
        return BC_OK;
    case BC_TOKEN_ANGLE:
        n->angle_announced = true;
        n->at++;
        return BC_OK;
    case BC_TOKEN_ILLUMINANT:
    case BC_TOKEN_OBSERVER:
        return read_light(n, error);
    case BC_TOKEN_TO:
        if (has_several_numbers(n))
            return add_several_numbers(n, error);
        if (n->has_head && bc_stated_colour(n->head.statistic) && here[1].kind == BC_TOKEN_NUMBER) {
            n->minus = true;
            n->at++;
            return BC_OK;
        }
        return bc_callout_ask(n->text, here->at, error, "expected a number before it");
    case BC_TOKEN_PERCENT:
    case BC_TOKEN_LENGTH:
    case BC_TOKEN_DEGREE:
    case BC_TOKEN_PLUS_MINUS:
    case BC_TOKEN_TURNED:
        return bc_callout_ask(n->text, here->at, error, "expected a number before it");
    case BC_TOKEN_AND:
    case BC_TOKEN_FILLER:
    case BC_TOKEN_NOTE_END:
        n->at++;
    }
    return BC_OK;
}

bc_status bc_note_read(bc_note *n, bc_error *error)
{
    const size_t first = n->at;
    bool any = false;
    bc_status status = BC_OK;
    while (status == BC_OK && n->token[n->at].kind != BC_TOKEN_NOTE_END) {
        any = any || n->token[n->at].kind != BC_TOKEN_AND;
        status = read_item(n, error);
    }
    if (status != BC_OK)
        return status;
    if (n->has_head)
        return bc_callout_ask(n->text, n->head.at, error, "a limit without its number; expected one such as <= 0.5 %%");
    if (any && n->limits == 0)
        return bc_callout_ask(n->text, n->token[first].at, error,
                              "no limit between the semicolons; expected one such as Ravg <= 0.5 %%");
    return BC_OK;
}
