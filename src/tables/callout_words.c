/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_tokens.h"
#include "number.h"
#include "print.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST           BC_CALLOUT_WORDS_ROWS
#define DEGREE         (M_PI / 180.0)
#define MARGIN_PERCENT 1e-6 /* as in callout files: no real coating comes nearer to 0 or 100 percent */
#define LEAST_NM       0.001
#define MOST_NM        1e9

/* A condition, and how many limits of its note were complete where it stands. */
typedef struct condition {
    double from, to; /* nm or degrees */
    int choice;      /* a polarization or a scope */
    size_t position, at;
} condition;

typedef struct conditions {
    size_t count;
    condition item[MOST];
} conditions;

enum { BAND, ANGLE, POLARIZATION, SCOPE, KINDS };

typedef struct limit {
    bool has_quantity, has_polarization;
    bc_quantity quantity;
    bc_stated statistic;
    bc_stated_sense sense;
    bc_polarization polarization;
    double percent;
    size_t at, end; /* bytes: of its first word, of its percent sign */
} limit;

/* One note being read. */
typedef struct note {
    const char *text;
    const bc_token *token;
    size_t at; /* the next token */
    size_t limits;
    limit limit[MOST];
    limit head; /* the words of a limit whose number has not come yet */
    bool has_head, angle_announced;
    conditions of[KINDS];
} note;

/* A number, a range or a number with a tolerance, and its unit. */
typedef struct amount {
    double from, to;
    bool is_single, is_tolerance;
    bool has_unit;
    bc_token_kind unit;
    bool comma;
    size_t at;
} amount;

static const char *const kind_words[KINDS] = {"band", "angle of incidence", "polarization", "surface or part"};

static bool is_unit(bc_token_kind kind)
{
    return kind == BC_TOKEN_PERCENT || kind == BC_TOKEN_LENGTH || kind == BC_TOKEN_DEGREE;
}

/* The unit at token `at`, or none: how many nm, degrees or percent make one of it. */
static double unit_factor(const bc_token *token)
{
    return token->kind == BC_TOKEN_LENGTH ? token->value : 1.0;
}

/* The unit of a list: "532, 1064 nm" are two wavelengths. NULL: none follows. */
static const bc_token *unit_of_list(const bc_token *token)
{
    while (token->kind == BC_TOKEN_AND && token[1].kind == BC_TOKEN_NUMBER) {
        token += 2;
        if ((token->kind == BC_TOKEN_TO || token->kind == BC_TOKEN_PLUS_MINUS) && token[1].kind == BC_TOKEN_NUMBER)
            token += 2;
        if (is_unit(token->kind))
            return token->kind == BC_TOKEN_PERCENT ? NULL : token;
    }
    return NULL;
}

static bc_status read_amount(note *n, amount *a, bc_error *error)
{
    const bc_token *first = &n->token[n->at], *unit = NULL, *second_unit = NULL, *second = NULL;
    bc_token_kind between = BC_TOKEN_TO;
    n->at++;
    if (is_unit(n->token[n->at].kind))
        unit = &n->token[n->at++];
    if (n->token[n->at].kind == BC_TOKEN_TO || n->token[n->at].kind == BC_TOKEN_PLUS_MINUS) {
        between = n->token[n->at].kind;
        if (n->token[n->at + 1].kind != BC_TOKEN_NUMBER)
            return bc_callout_ask(n->text, n->token[n->at].at, error, "expected a number behind the '%s'",
                                  between == BC_TOKEN_TO ? "-" : "+-");
        second = &n->token[n->at + 1];
        n->at += 2;
        if (is_unit(n->token[n->at].kind))
            second_unit = &n->token[n->at++];
    }
    if (second == NULL)
        second_unit = unit;
    else if (second_unit == NULL && unit != NULL)
        return bc_callout_ask(n->text, second->at, error,
                              "expected a unit (nm, um, deg) behind the second number, too");
    if (second_unit == NULL && n->token[n->at].kind == BC_TOKEN_AND)
        second_unit = unit_of_list(&n->token[n->at]);
    if (unit == NULL)
        unit = second_unit;
    if (unit != NULL && unit->kind != second_unit->kind)
        return bc_callout_ask(n->text, second_unit->at, error, "two kinds of unit in one range; expected one");
    *a = (amount){.at = first->at,
                  .is_single = second == NULL,
                  .is_tolerance = between == BC_TOKEN_PLUS_MINUS && second != NULL,
                  .has_unit = unit != NULL,
                  .unit = unit == NULL ? BC_TOKEN_NUMBER : unit->kind,
                  .comma = first->comma || (second != NULL && second->comma)};
    a->from = first->value * (unit == NULL ? 1.0 : unit_factor(unit));
    a->to = second == NULL ? a->from : second->value * (second_unit == NULL ? 1.0 : unit_factor(second_unit));
    if (a->is_tolerance) {
        const double middle = a->from, width = a->to;
        a->from = middle - width;
        a->to = middle + width;
    } else if (a->to < a->from) {
        const double swap = a->from;
        a->from = a->to;
        a->to = swap;
    }
    return BC_OK;
}

static bc_status add_condition(note *n, size_t kind, condition item, bc_error *error)
{
    conditions *of = &n->of[kind];
    if (of->count == MOST)
        return bc_callout_ask(n->text, item.at, error, "more than %d of one kind; expected fewer", MOST);
    item.position = n->limits;
    of->item[of->count++] = item;
    return BC_OK;
}

static bc_status add_band(note *n, const amount *a, bc_error *error)
{
    if (a->from < LEAST_NM || a->to > MOST_NM)
        return bc_callout_ask(n->text, a->at, error, "expected wavelengths from 0.001 to 1000000000 nm");
    return add_condition(n, BAND, (condition){.from = a->from, .to = a->to, .at = a->at}, error);
}

static bc_status add_angle(note *n, const amount *a, bc_error *error)
{
    amount angle = *a;
    if (a->comma)
        return bc_callout_ask(n->text, a->at, error,
                              "the comma may be decimal or part two angles; expected a point, or a blank behind it");
    if (a->is_tolerance && a->from < 0.0 && a->to >= -a->from) {
        angle.from = 0.0; /* 0 +- 15 degrees: a cone about the normal, 0 to 15 */
        angle.to = fmax(a->to, -a->from);
    }
    if (angle.from < 0.0 || angle.to >= 90.0)
        return bc_callout_ask(n->text, a->at, error, "expected angles of incidence from 0 to below 90 degrees");
    return add_condition(n, ANGLE, (condition){.from = angle.from, .to = angle.to, .at = a->at}, error);
}

/* Max goes with at most, min with at least; where only one of the two is there, it says the other. */
static bc_status settle_sense(const note *n, limit *l, bc_error *error)
{
    if (l->sense == BC_STATED_BETTER)
        l->sense = l->quantity == BC_T ? BC_STATED_ABOVE : BC_STATED_BELOW;
    if (l->sense == BC_STATED_NO_SENSE || l->sense == BC_STATED_EQUAL)
        l->sense = l->statistic == BC_STATED_MAX   ? BC_STATED_AT_MOST
                   : l->statistic == BC_STATED_MIN ? BC_STATED_AT_LEAST
                                                   : BC_STATED_NO_SENSE;
    if (l->sense == BC_STATED_NO_SENSE)
        return bc_callout_ask(n->text, l->at, error, "is this limit a highest or a lowest value? expected <= or >=");
    const bool at_most = l->sense == BC_STATED_AT_MOST || l->sense == BC_STATED_BELOW;
    if (l->statistic == (at_most ? BC_STATED_MIN : BC_STATED_MAX))
        return bc_callout_ask(n->text, l->at, error,
                              at_most ? "a minimum with '<=': expected max with '<=', or min with '>='"
                                      : "a maximum with '>=': expected min with '>=', or max with '<='");
    return BC_OK;
}

static bc_status check_percent(const note *n, const limit *l, size_t at, bc_error *error)
{
    const bool at_most = l->sense == BC_STATED_AT_MOST || l->sense == BC_STATED_BELOW;
    if (l->percent > 100.0)
        return bc_callout_ask(n->text, at, error, "expected a limit from 0 to 100 percent");
    if (at_most ? l->percent < MARGIN_PERCENT : l->percent > 100.0 - MARGIN_PERCENT)
        return bc_callout_ask(n->text, at, error, "no real coating meets %s percent exactly; expected a limit %s it",
                              at_most ? "0" : "100", at_most ? "above" : "below");
    return BC_OK;
}

/* The number of a limit completes it. Without a quantity of its own it has that of the limit before. */
static bc_status add_limit(note *n, const amount *a, bc_error *error)
{
    limit *l = &n->limit[n->limits];
    if (n->limits == MOST)
        return bc_callout_ask(n->text, a->at, error, "more than %d limits in one note; expected fewer", MOST);
    if (!a->has_unit || a->unit != BC_TOKEN_PERCENT)
        return bc_callout_ask(n->text, a->at, error, "a limit without '%%'; expected percent, such as 0.5 %%");
    if (!a->is_single)
        return bc_callout_ask(n->text, a->at, error,
                              "a range or a tolerance as a limit; expected one value in percent");
    *l = n->has_head ? n->head : (limit){.at = a->at};
    if (!l->has_quantity && n->limits > 0) {
        l->has_quantity = true;
        l->quantity = n->limit[n->limits - 1].quantity;
    }
    if (!l->has_quantity)
        return bc_callout_ask(n->text, l->at, error, "a limit of what? expected R, T or A before it");
    l->percent = a->from;
    l->end = n->token[n->at - 1].at;
    n->limits++;
    n->has_head = false;
    return BC_OK;
}

static bc_status read_number_item(note *n, bc_error *error)
{
    amount a;
    bc_status status = read_amount(n, &a, error);
    if (status != BC_OK)
        return status;
    if (n->has_head || (a.has_unit && a.unit == BC_TOKEN_PERCENT))
        return add_limit(n, &a, error);
    if (!a.has_unit && n->angle_announced)
        a.has_unit = true, a.unit = BC_TOKEN_DEGREE;
    n->angle_announced = n->angle_announced && n->token[n->at].kind == BC_TOKEN_AND;
    if (!a.has_unit)
        return bc_callout_ask(n->text, a.at, error, "a number without a unit; expected nm or um, deg, or %%");
    return a.unit == BC_TOKEN_LENGTH ? add_band(n, &a, error) : add_angle(n, &a, error);
}

/* A word of a limit whose number follows: kept until then. */
static limit *head_of(note *n)
{
    if (!n->has_head)
        n->head = (limit){.at = n->token[n->at].at};
    n->has_head = true;
    return &n->head;
}

static bc_status read_quantity(note *n, bc_error *error)
{
    limit *head = head_of(n);
    if (head->has_quantity)
        return bc_callout_ask(n->text, n->token[n->at].at, error,
                              "the quantity before it has no limit yet; expected a limit such as <= 0.5 %%");
    head->has_quantity = true;
    head->quantity = (bc_quantity)n->token[n->at++].choice;
    return BC_OK;
}

/* Right behind a limit's percent sign the word belongs to that limit: "R < 0.5 % average". */
static bc_status read_statistic(note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at];
    const bool behind = !n->has_head && n->limits > 0 && here > n->token && here[-1].kind == BC_TOKEN_PERCENT;
    limit *to = behind ? &n->limit[n->limits - 1] : head_of(n);
    if (to->statistic != BC_STATED_NOTHING && to->statistic != (bc_stated)here->choice)
        return bc_callout_ask(n->text, here->at, error, "two statistics for one limit; expected max, min or average");
    to->statistic = (bc_stated)here->choice;
    n->at++;
    return BC_OK;
}

static bc_status read_sense(note *n, bc_error *error)
{
    limit *head = head_of(n);
    const bc_token *here = &n->token[n->at];
    if (head->sense != BC_STATED_NO_SENSE)
        return bc_callout_ask(n->text, here->at, error, "a second comparison; expected a number in percent");
    head->sense = (bc_stated_sense)here->choice;
    n->at++;
    return BC_OK;
}

static bc_status read_polarization(note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at++];
    if (!n->has_head)
        return add_condition(n, POLARIZATION, (condition){.choice = here->choice, .at = here->at}, error);
    n->head.has_polarization = true;
    n->head.polarization = (bc_polarization)here->choice;
    return BC_OK;
}

static bc_status read_item(note *n, bc_error *error)
{
    const bc_token *here = &n->token[n->at];
    const amount normal = {.at = here->at, .is_single = true};
    switch (here->kind) {
    case BC_TOKEN_NUMBER:
        return read_number_item(n, error);
    case BC_TOKEN_QUANTITY:
        return read_quantity(n, error);
    case BC_TOKEN_STATISTIC:
        return read_statistic(n, error);
    case BC_TOKEN_SENSE:
        if (!n->has_head && here->choice == BC_STATED_EQUAL) { /* "AOI = 0 deg" */
            n->at++;
            return BC_OK;
        }
        return read_sense(n, error);
    case BC_TOKEN_POLARIZATION:
        return read_polarization(n, error);
    case BC_TOKEN_SCOPE:
        n->at++;
        return add_condition(n, SCOPE, (condition){.choice = here->choice, .at = here->at}, error);
    case BC_TOKEN_NORMAL:
        n->at++;
        return add_angle(n, &normal, error);
    case BC_TOKEN_ANGLE:
        n->angle_announced = true;
        n->at++;
        return BC_OK;
    case BC_TOKEN_PERCENT:
    case BC_TOKEN_LENGTH:
    case BC_TOKEN_DEGREE:
    case BC_TOKEN_TO:
    case BC_TOKEN_PLUS_MINUS:
        return bc_callout_ask(n->text, here->at, error, "expected a number before it");
    case BC_TOKEN_AND:
    case BC_TOKEN_FILLER:
    case BC_TOKEN_NOTE_END:
        n->at++;
    }
    return BC_OK;
}

/* The conditions of one kind that hold for limit `which`: all of them where all stand before the first limit or behind
 * the last one, else those that stand behind it and before the next. Returns how many; `item` gets them. */
static bc_status conditions_of(const note *n, size_t kind, size_t which, const condition *item[MOST], size_t *count,
                               bc_error *error)
{
    const conditions *of = &n->of[kind];
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
                                  "does this %s hold for every limit? expected it once behind the last limit, or one "
                                  "behind each",
                                  kind_words[kind]);
    if (*count == 0 && of->count > 0)
        return bc_callout_ask(n->text, n->limit[which].at, error,
                              "which %s does this limit hold for? expected one behind each limit, or one behind the "
                              "last limit for all",
                              kind_words[kind]);
    return BC_OK;
}

/* A row being made: a limit under one band and one angle. */
typedef struct row {
    const limit *limit;
    const condition *band, *angle; /* angle NULL: not stated */
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
    static const char *const polarization[] = {"", " s", " p", " s and p"};
    const char *plane = polarization[callout->polarization];
    char from[BC_NUMBER_SIZE], to[BC_NUMBER_SIZE], base[BC_CALLOUT_NAME_SIZE - 16];
    const char *statistic = callout->statistic == BC_AVERAGE ? "avg" : callout->sense == BC_AT_MOST ? "max" : "min";
    bc_number_format(callout->from_nm, from);
    bc_number_format(callout->to_nm, to);
    if (callout->from_nm == callout->to_nm)
        bc_print(base, sizeof base, "%s%s %s nm%s", quantity[callout->quantity], statistic, from, plane);
    else
        bc_print(base, sizeof base, "%s%s %s-%s nm%s", quantity[callout->quantity], statistic, from, to, plane);
    memcpy(callout->name, base, strlen(base) + 1);
    for (int number = 2; name_is_taken(callouts, callout->name); number++)
        bc_print(callout->name, sizeof callout->name, "%s (%d)", base, number);
}

static bc_status append(const note *n, const row *r, bc_callouts *callouts, bc_error *error)
{
    bc_callout *grown, *callout;
    if (callouts->count == MOST)
        return bc_callout_ask(n->text, r->limit->at, error, "more than %d callouts; expected fewer", MOST);
    grown = realloc(callouts->callout, (callouts->count + 1) * sizeof *grown);
    if (grown == NULL)
        return bc_fail_memory(error);
    callouts->callout = grown;
    callout = &grown[callouts->count];
    *callout = (bc_callout){
        .quantity = r->limit->quantity,
        .statistic = r->limit->statistic == BC_STATED_AVERAGE ? BC_AVERAGE : BC_EXTREME,
        .sense = r->limit->sense == BC_STATED_AT_MOST || r->limit->sense == BC_STATED_BELOW ? BC_AT_MOST : BC_AT_LEAST,
        .limit = r->limit->percent / 100.0,
        .from_nm = r->band->from,
        .to_nm = r->band->to,
        .aoi_from_rad = r->angle == NULL ? 0.0 : r->angle->from * DEGREE,
        .aoi_to_rad = r->angle == NULL ? 0.0 : r->angle->to * DEGREE,
        .polarization = r->polarization,
        .scope = r->scope};
    make_name(callouts, callout);
    callouts->count++;
    return BC_OK;
}

/* s in one place and p in another are both asked for; unpolarized and s are two readings of one limit. */
static bc_status settle_polarization(const note *n, size_t which, row *r, unsigned *assumptions, bc_error *error)
{
    const condition *item[MOST];
    size_t count;
    bc_status status = BC_OK;
    r->polarization = r->limit->polarization;
    if (r->limit->has_polarization)
        return BC_OK;
    status = conditions_of(n, POLARIZATION, which, item, &count, error);
    if (status == BC_OK && count == 0)
        *assumptions |= BC_ASSUMED_POLARIZATION;
    for (size_t i = 0; status == BC_OK && i < count; i++) {
        const bc_polarization here = (bc_polarization)item[i]->choice;
        const bool mixed = (here == BC_POL_UNPOLARIZED) != (r->polarization == BC_POL_UNPOLARIZED);
        if (i > 0 && mixed)
            return bc_callout_ask(n->text, item[i]->at, error,
                                  "unpolarized light and a polarization for one limit; expected one of them");
        r->polarization = i == 0 || here == r->polarization ? here : BC_POL_EACH;
    }
    return status;
}

static bc_status settle_scope(const note *n, size_t which, row *r, unsigned *assumptions, bc_error *error)
{
    const condition *item[MOST];
    size_t count;
    bc_status status = conditions_of(n, SCOPE, which, item, &count, error);
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

static bc_status settle_statistic(const note *n, const row *r, unsigned *assumptions, bc_error *error)
{
    const bool is_band = r->band->from < r->band->to;
    if (r->limit->statistic == BC_STATED_AVERAGE && !is_band)
        return bc_callout_ask(n->text, r->band->at, error,
                              "an average over one wavelength; expected a band with two ends, such as 425-675 nm");
    if (r->limit->statistic == BC_STATED_NOTHING && is_band)
        *assumptions |= BC_ASSUMED_EXTREME;
    if (r->limit->sense == BC_STATED_BELOW || r->limit->sense == BC_STATED_ABOVE)
        *assumptions |= BC_SAID_STRICTLY;
    return BC_OK;
}

/* The rows of one limit: each of its bands under each of its angles. */
static bc_status make_rows(note *n, size_t which, bc_callouts *callouts, unsigned *assumptions, bc_error *error)
{
    const condition *band[MOST], *angle[MOST];
    size_t bands, angles;
    row r = {.limit = &n->limit[which]};
    bc_status status = settle_sense(n, &n->limit[which], error);
    if (status == BC_OK)
        status = check_percent(n, r.limit, r.limit->at, error);
    if (status == BC_OK)
        status = conditions_of(n, BAND, which, band, &bands, error);
    if (status == BC_OK && bands == 0)
        return bc_callout_ask(n->text, r.limit->at, error,
                              "no band or wavelength for this limit; expected one, such as 425-675 nm");
    if (status == BC_OK)
        status = conditions_of(n, ANGLE, which, angle, &angles, error);
    if (status == BC_OK)
        status = settle_polarization(n, which, &r, assumptions, error);
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

/* One note, up to the token that ends it. */
static bc_status read_note(note *n, bc_callouts *callouts, unsigned *assumptions, bc_error *error)
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
    for (size_t which = 0; status == BC_OK && which < n->limits; which++)
        status = make_rows(n, which, callouts, assumptions, error);
    n->at++;
    return status;
}

static bc_status read_notes(const char *text, const bc_token *token, size_t tokens, note *n, bc_callouts *callouts,
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
    note *n = malloc(sizeof *n);
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
