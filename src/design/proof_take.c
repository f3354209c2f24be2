/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "offers.h"
#include <bloomcoat/proof.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GOOD_ENOUGH     0.9  /* limit_used at which the aim of fewest layers is met */
#define HALF            0.5  /* so thin a design is worth a layer more, as draft.c has it */
#define ALIKE           1.01 /* times the lowest limit_used: as good as it */
#define AS_GOOD_AS_NONE 0.01 /* limit_used: designs that use no more are equally good */
#define NEARLY_THE_SAME 1.1  /* limit_used of an alternative over the chosen one's */
#define NOT_THE_SAME    0.999

static bool has_fixed(const bc_stack *start)
{
    for (size_t j = 0; start != NULL && j < start->layers; j++)
        if (start->layer[j].fixed)
            return true;
    return false;
}

static bc_rung *rung_of(bc_draft_result *draft, size_t layers)
{
    for (size_t r = 0; r < draft->rungs; r++)
        if (draft->rung[r].stack.layers == layers)
            return &draft->rung[r];
    return NULL;
}

static bc_status copy_rung(const bc_rung *from, bc_rung *to, bc_error *error)
{
    *to = (bc_rung){.total_nm = from->total_nm, .limit_used = from->limit_used};
    return bc_stack_copy(&from->stack, &to->stack, error);
}

/* The rung of this step, where the proof found a better one than the draft; a candidate as well. */
static bc_status take(const bc_proof_step *step, bc_draft_result *draft, bc_rung *fresh, bool *better, bc_error *error)
{
    const bc_rung *old = rung_of(draft, step->layers);
    bc_rung *more;
    bc_status status;
    *better = step->best.stack.layers == step->layers && (old == NULL || step->best.limit_used < old->limit_used);
    if (!*better)
        return BC_OK;
    status = copy_rung(&step->best, fresh, error);
    if (status != BC_OK)
        return status;
    more = realloc(draft->candidate, (draft->candidates + 1) * sizeof *more);
    if (more == NULL)
        return bc_fail_memory(error);
    draft->candidate = more;
    status = copy_rung(&step->best, &draft->candidate[draft->candidates], error);
    draft->candidates += status == BC_OK;
    return status;
}

/* Rungs old and new, by layers; each better than the one before, as in bc_draft(). */
static void merge(bc_draft_result *draft, size_t fresh_rungs, bc_rung *fresh, bc_rung *merged)
{
    size_t count = 0, old = 0;
    for (size_t f = 0; f < fresh_rungs || old < draft->rungs;) {
        const size_t layers_old = old < draft->rungs ? draft->rung[old].stack.layers : (size_t)-1;
        const size_t layers_new = f < fresh_rungs ? fresh[f].stack.layers : (size_t)-1;
        bc_rung next;
        if (layers_new <= layers_old) {
            next = fresh[f++];
            if (layers_new == layers_old)
                bc_offer_clear(&draft->rung[old++]);
        } else {
            next = draft->rung[old++];
        }
        if (count == 0 || next.limit_used < merged[count - 1].limit_used ||
            (next.limit_used <= GOOD_ENOUGH && next.total_nm < HALF * merged[count - 1].total_nm))
            merged[count++] = next;
        else
            bc_offer_clear(&next);
    }
    free(draft->rung);
    draft->rung = merged;
    draft->rungs = count;
}

/* As bc_draft() does: the fewest layers that meet the aim, and what the draft chose with one or two more only where that
 * is less than half as thick; else the thinnest within 1 % of the lowest. */
static void choose(const bc_draft_options *drafted, size_t layers, bc_draft_result *draft)
{
    const size_t last = draft->rungs - 1;
    double lowest = INFINITY;
    size_t first = draft->rungs;
    for (size_t r = draft->rungs; r-- > 0;) {
        lowest = fmin(lowest, draft->rung[r].limit_used);
        if (draft->rung[r].limit_used <= GOOD_ENOUGH)
            first = r;
    }
    draft->chosen = last;
    if (drafted->aim == BC_AIM_FEWEST && first <= last) {
        draft->chosen = first;
        draft->stop = BC_STOP_GOOD;
        for (size_t r = first + 1; r <= last && draft->rung[r].stack.layers <= draft->rung[first].stack.layers + 2; r++)
            if (draft->rung[r].stack.layers == layers && draft->rung[r].total_nm < HALF * draft->rung[first].total_nm)
                draft->chosen = r;
        return;
    }
    for (size_t r = draft->rungs; r-- > 0;)
        if (draft->rung[r].limit_used <= fmax(ALIKE * lowest, AS_GOOD_AS_NONE) &&
            (drafted->aim == BC_AIM_FEWEST || draft->rung[r].total_nm < draft->rung[draft->chosen].total_nm))
            draft->chosen = r;
}

/* What the draft says of its search must be true of what is now chosen. */
static void amend(double best_before, bc_draft_result *draft)
{
    const bc_rung *chosen = &draft->rung[draft->chosen];
    if (draft->rung[draft->rungs - 1].limit_used < NOT_THE_SAME * best_before)
        draft->agreeing = 0;
    for (size_t m = 0; m < draft->outers && chosen->stack.layers > 0; m++)
        if (draft->outer[m].material->dispersion == chosen->stack.layer[0].material.dispersion)
            draft->outer[m].limit_used = fmin(draft->outer[m].limit_used, chosen->limit_used);
    if (draft->alternative_has != BC_NO_ALTERNATIVE &&
        (draft->alternative.limit_used > NEARLY_THE_SAME * chosen->limit_used ||
         draft->alternative.stack.layers > chosen->stack.layers ||
         (draft->alternative_has == BC_FEWER_LAYERS && draft->alternative.stack.layers == chosen->stack.layers))) {
        bc_offer_clear(&draft->alternative);
        draft->alternative_has = BC_NO_ALTERNATIVE;
    }
}

static bc_status take_over(const bc_draft_options *drafted, const bc_proof *proof, bc_draft_result *draft,
                           size_t *taken, bc_error *error)
{
    const size_t layers = draft->rung[draft->chosen].stack.layers;
    const double best_before = draft->rung[draft->rungs - 1].limit_used;
    bc_rung *fresh = calloc(proof->steps + 1, sizeof *fresh);
    bc_rung *merged = calloc(proof->steps + draft->rungs + 1, sizeof *merged);
    bc_status status = fresh == NULL || merged == NULL ? bc_fail_memory(error) : BC_OK;
    for (size_t s = 0; status == BC_OK && s < proof->steps; s++) {
        bool better;
        if (draft->stop == BC_STOP_GOOD && proof->step[s].layers > layers)
            break;
        status = take(&proof->step[s], draft, &fresh[*taken], &better, error);
        *taken += status == BC_OK && better;
    }
    if (status == BC_OK && *taken > 0) {
        merge(draft, *taken, fresh, merged);
        merged = NULL;
        choose(drafted, layers, draft);
        amend(best_before, draft);
    } else {
        for (size_t f = 0; fresh != NULL && f < proof->steps; f++)
            bc_offer_clear(&fresh[f]);
    }
    free(fresh);
    free(merged);
    return status;
}

bc_status bc_draft_prove(const bc_design_problem *problem, const bc_draft_options *drafted,
                         const bc_proof_options *options, bc_draft_result *draft, bc_proof *proof, size_t *taken,
                         bc_error *error)
{
    bc_proof_options own = *options;
    size_t rungs = 0;
    bc_status status;
    own.known = draft->rungs;
    own.rung = draft->rung;
    status = bc_prove(problem, &own, proof, error);
    if (status == BC_OK && !has_fixed(drafted->start))
        status = take_over(drafted, proof, draft, &rungs, error);
    if (status != BC_OK)
        bc_proof_clear(proof);
    if (taken != NULL)
        *taken = rungs;
    return status;
}

bool bc_proof_within(const bc_proof *proof, size_t layers, double limit_used)
{
    return layers < proof->steps &&
           proof->step[layers].limit_used_at_least >= BC_PROOF_SHARE * (1.0 - 1e-6) * limit_used;
}
