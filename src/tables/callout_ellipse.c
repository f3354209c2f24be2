/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * An ellipse about a colour, and a difference from one, in a drawing's words.
 */
#include "callout_note.h"

static const bc_token *skip_marks(bc_note *n)
{
    while (n->token[n->at].kind == BC_TOKEN_AND || n->token[n->at].kind == BC_TOKEN_FILLER)
        n->at++;
    return &n->token[n->at];
}

#define ELLIPSE    "expected an ellipse, as in a*b* 2 -3 +- 4 1.5 turned 30 deg: centre, half-axes, turn"
#define DIFFERENCE "expected a colour difference and the L*, a*, b* it is from, as in dE00 <= 3 from 21.5 1.2 -3.4"

static bc_status read_signed(bc_note *n, const char *expected, double *number, bc_error *error)
{
    const bool minus = skip_marks(n)->kind == BC_TOKEN_TO;
    n->at += minus;
    const bc_token *here = &n->token[n->at];
    if (here->kind != BC_TOKEN_NUMBER)
        return bc_callout_ask(n->text, here->at, error, "%s", expected);
    if (here->comma)
        return bc_callout_ask(n->text, here->at, error,
                              "the comma may be decimal or part two numbers; expected a point, or a blank after it");
    *number = (minus ? -1.0 : 1.0) * here->value;
    n->at++;
    return BC_OK;
}

bc_status bc_note_read_ellipse(bc_note *n, bc_note_limit *limit, bc_error *error)
{
    bc_status status = read_signed(n, ELLIPSE, &limit->centre[0], error);
    if (status == BC_OK)
        status = read_signed(n, ELLIPSE, &limit->centre[1], error);
    if (status == BC_OK && skip_marks(n)->kind != BC_TOKEN_PLUS_MINUS)
        return bc_callout_ask(n->text, n->token[n->at].at, error, "expected +- and two half-axes of the ellipse");
    n->at++;
    for (int k = 0; status == BC_OK && k < 2; k++)
        status = read_signed(n, ELLIPSE, &limit->half_axis[k], error);
    limit->turn_deg = 0.0;
    if (status != BC_OK || n->token[n->at].kind != BC_TOKEN_TURNED)
        return status;
    n->at++;
    status = read_signed(n, ELLIPSE, &limit->turn_deg, error);
    if (status == BC_OK && n->token[n->at].kind != BC_TOKEN_DEGREE)
        return bc_callout_ask(n->text, n->token[n->at].at, error, "expected degrees behind the turn of an ellipse");
    n->at++;
    return status;
}

bc_status bc_note_read_difference(bc_note *n, bc_note_limit *limit, bc_error *error)
{
    bc_status status = read_signed(n, DIFFERENCE, &limit->percent, error);
    for (int k = 0; status == BC_OK && k < 3; k++)
        status = read_signed(n, DIFFERENCE, &limit->reference[k], error);
    return status;
}
