/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/numbers.h"
#include "internal/proof_words.h"
#include "internal/quote_words.h"
#include "print.h"
#include <math.h>

/* The largest number of layers whose best design is known within 1 %, else the largest of which anything is proved;
 * NULL: there is none. */
static const bc_proof_step *chief_step(const bc_proof *proof)
{
    for (size_t s = proof->steps; s-- > 1;)
        if (proof->step[s].within)
            return &proof->step[s];
    for (size_t s = proof->steps; s-- > 1;)
        if (proof->step[s].limit_used_at_least > 0.0)
            return &proof->step[s];
    return NULL;
}

/* Four digits, and never more than it is, but for 1e-12 of it: the bound keeps a larger margin (bc_prove). */
static void print_down(char to[BC_PRINTED_SIZE], double bound)
{
    const double unit = pow(10.0, floor(log10(bound)) - 3.0);
    bc_print(to, BC_PRINTED_SIZE, "%.4g", unit * floor(bound / unit * (1.0 + 1e-12)));
}

/* "No stack of up to 3 layers of these materials, up to 650 nm thick in all and without a layer thinner than 8 nm" */
static void add_subject(bc_text *words, const bc_proof *proof, size_t layers, double minimum_nm)
{
    if (layers == 1)
        bc_text_add(words, "No single layer of these materials, up to %.6g nm thick", proof->total_nm_at_most);
    else
        bc_text_add(words, "No stack of up to %zu layers of these materials, up to %.6g nm thick in all", layers,
                    proof->total_nm_at_most);
    if (minimum_nm > 0.0)
        bc_text_add(words, layers == 1 ? " and no thinner than %g nm" : " and without a layer thinner than %g nm",
                    minimum_nm);
}

/* Of more layers than that, how far it came; of more still, that it did not come so far. */
static void add_further(bc_text *words, const bc_proof *proof, const bc_proof_step *chief)
{
    const bc_proof_step *last = &proof->step[proof->steps - 1], *bounded = chief == NULL ? &proof->step[0] : chief;
    char used[BC_PRINTED_SIZE];
    while (bounded < last && bounded[1].limit_used_at_least > 0.0)
        bounded++;
    if (chief != NULL && bounded > chief) {
        print_down(used, bounded->limit_used_at_least);
        bc_text_add(words, " None of up to %zu layers uses less than %s: proved; the best one known uses ",
                    bounded->layers, used);
        bc_print_used(used, bounded->best.limit_used);
        bc_text_add(words, "%s", used);
        if (bounded == last && proof->reason[0] != '\0')
            bc_text_add(words, ", and no nearer bound is proved: %s", proof->reason);
        bc_text_add(words, ".");
    }
    if (bounded == last)
        return;
    bc_text_add(words, "%sNothing is proved of %zu", chief == NULL ? "" : " ", bounded[1].layers);
    if (bounded + 1 < last)
        bc_text_add(words, " to %zu", last->layers);
    bc_text_add(words, " layer%s: %s.", last->layers == 1 ? "" : "s", proof->reason);
}

void bc_add_proof(bc_text *words, const bc_proof *proof, double minimum_nm)
{
    const bc_proof_step *step;
    char used[BC_PRINTED_SIZE];
    bc_proof above;
    if (proof == NULL)
        return;
    above = *proof; /* of layers that reach 0 there is nothing to prove */
    while (above.steps > 0 && above.step[above.steps - 1].best.limit_used <= 0.0)
        above.steps--;
    if (above.steps < 2)
        return;
    proof = &above;
    step = chief_step(proof);
    if (step != NULL) {
        print_down(used, step->limit_used_at_least);
        add_subject(words, proof, step->layers, minimum_nm);
        bc_text_add(words, ", uses less than %s of the limits: proved.", used);
        if (step->limit_used_at_least > 1.0)
            bc_text_add(words, " None of them meets the callouts.");
        bc_print_used(used, step->best.limit_used);
        bc_text_add(words, " The best one known uses %s", used);
        if (step->within)
            bc_text_add(words, ": within 1 %% of the best of them.");
        else if (step->layers + 1 == proof->steps && proof->reason[0] != '\0')
            bc_text_add(words, "; no nearer bound is proved: %s.", proof->reason);
        else
            bc_text_add(words, ".");
    }
    add_further(words, proof, step);
}

const char *bc_proof_note(const bc_proof *proof, size_t layers, double limit_used)
{
    return proof != NULL && layers > 0 && bc_proof_within(proof, layers, limit_used) ? "proved within 1 % of the best"
                                                                                     : "";
}

void bc_add_proved(bc_text *out, const bc_quote_report *report)
{
    const bc_quote_result *result = report->result;
    const size_t before = out->length;
    size_t shown = 0, only = 0;
    bc_add_proof(out, &result->proof, report->request->problem->minimum_nm);
    if (out->length > before)
        bc_text_add(out, "\n");
    for (size_t o = 0; o < result->options; o++)
        if (bc_proof_note(&result->proof, result->option[o].stack.layers, result->option[o].limit_used)[0] != '\0') {
            only = result->option[o].stack.layers;
            shown++;
        }
    if (shown == 0)
        return;
    bc_text_add(out, "Within 1 %% of the best with so many layers, or fewer: the option%s with", shown == 1 ? "" : "s");
    for (size_t o = 0, named = 0; o < result->options; o++)
        if (bc_proof_note(&result->proof, result->option[o].stack.layers, result->option[o].limit_used)[0] != '\0')
            bc_text_add(out, named++ == 0 ? " %zu" : ", %zu", result->option[o].stack.layers);
    bc_text_add(out, shown == 1 && only == 1 ? " layer.\n" : " layers.\n");
}

void bc_proof_json(bc_json *json, const bc_proof *proof, double minimum_nm)
{
    const bc_proof_step *step;
    double boxes = 0.0;
    cJSON *object, *steps;
    if (proof == NULL)
        return;
    step = chief_step(proof);
    if (step == NULL)
        step = &proof->step[0];
    for (size_t s = 0; s < proof->steps; s++)
        boxes += proof->step[s].boxes;
    object = bc_json_object(json, json->root, "proved");
    bc_json_number(json, object, "layers", (double)step->layers, 15);
    bc_json_number(json, object, "limit_used_at_least", step->limit_used_at_least, 12);
    bc_json_number(json, object, "limit_used_best_known", step->best.limit_used, 12);
    bc_json_bool(json, object, "within_1_percent", step->within);
    bc_json_number(json, object, "total_nm_at_most", proof->total_nm_at_most, 15);
    bc_json_number(json, object, "layer_nm_at_least", minimum_nm, 12);
    bc_json_number(json, object, "layers_looked_at", (double)proof->step[proof->steps - 1].layers, 15);
    bc_json_number(json, object, "boxes", boxes, 15);
    bc_json_bool(json, object, "stopped", proof->stopped);
    bc_json_string(json, object, "reason", proof->reason);
    steps = bc_json_array(json, object, "steps");
    for (size_t s = 0; s < proof->steps; s++) {
        cJSON *row = bc_json_object(json, steps, NULL);
        bc_json_number(json, row, "layers", (double)proof->step[s].layers, 15);
        bc_json_number(json, row, "limit_used_at_least", proof->step[s].limit_used_at_least, 12);
        bc_json_number(json, row, "limit_used_best_known", proof->step[s].best.limit_used, 12);
        bc_json_number(json, row, "boxes", proof->step[s].boxes, 15);
    }
}
