/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_note.h"

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

bc_status bc_note_read_amount(bc_note *n, bc_note_amount *a, bc_error *error)
{
    const bc_token *first = &n->token[n->at], *unit = NULL, *second_unit = NULL, *second = NULL;
    bc_token_kind between = BC_TOKEN_TO;
    n->at++;
    if (is_unit(n->token[n->at].kind))
        unit = &n->token[n->at++];
    if (n->token[n->at].kind == BC_TOKEN_TO || n->token[n->at].kind == BC_TOKEN_PLUS_MINUS) {
        between = n->token[n->at].kind;
        if (n->token[n->at + 1].kind != BC_TOKEN_NUMBER)
            return bc_callout_ask(n->text, n->token[n->at].at, error, "expected a number after the '%s'",
                                  between == BC_TOKEN_TO ? "-" : "+-");
        second = &n->token[n->at + 1];
        n->at += 2;
        if (is_unit(n->token[n->at].kind))
            second_unit = &n->token[n->at++];
    }
    if (second == NULL)
        second_unit = unit;
    else if (second_unit == NULL && unit != NULL)
        return bc_callout_ask(n->text, second->at, error, "expected a unit (nm, um, deg) after the second number, too");
    const bool bare = (n->has_head && bc_stated_colour(n->head.statistic)) || /* "chroma <= 8, 30 deg" */
                      bc_note_limits_ratio(n);
    if (!bare && second_unit == NULL && n->token[n->at].kind == BC_TOKEN_AND)
        second_unit = unit_of_list(&n->token[n->at]);
    if (unit == NULL)
        unit = second_unit;
    if (unit != NULL && unit->kind != second_unit->kind)
        return bc_callout_ask(n->text, second_unit->at, error, "two kinds of unit in one range; expected one");
    *a = (bc_note_amount){.at = first->at,
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
