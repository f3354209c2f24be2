/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bloomcoat-proofs table [LAYERS]     boxes and seconds of proofs of up to LAYERS (default 4) layers
 * bloomcoat-proofs random [N] [EFFORT]
 *                                     N (default 200) small random problems: how often a draft of that effort (default
 *                                     1) had found the best, and whether any design contradicts a bound
 */
#include <bloomcoat/proof.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define MOST_MATERIALS 3
#define DEGREES        (3.14159265358979323846 / 180.0)

typedef struct small_problem {
    bc_callout row[2];
    bc_callouts callouts;
    bc_dispersion *index[MOST_MATERIALS + 2];
    bc_medium material[MOST_MATERIALS], substrate;
    bc_design_problem design;
} small_problem;

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bc_medium medium(small_problem *p, size_t which, double n)
{
    bc_medium made = {.name = ""};
    bc_error error;
    snprintf(made.name, sizeof made.name, "%.3f", n);
    if (bc_dispersion_constant(made.name, n, 0.0, &p->index[which], &error) != BC_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(1);
    }
    made.dispersion = p->index[which];
    return made;
}

static void open_problem(small_problem *p, double substrate, size_t materials, const double *n)
{
    memset(p, 0, sizeof *p);
    for (size_t m = 0; m < materials; m++)
        p->material[m] = medium(p, m, n[m]);
    p->substrate = medium(p, MOST_MATERIALS, substrate);
    p->callouts.callout = p->row;
    p->design = (bc_design_problem){.callouts = &p->callouts,
                                    .incident = medium(p, MOST_MATERIALS + 1, 1.0),
                                    .substrates = 1,
                                    .substrate = &p->substrate,
                                    .materials = materials,
                                    .material = p->material,
                                    .max_layers = 1,
                                    .max_total_nm = INFINITY};
}

static void close_problem(small_problem *p)
{
    for (size_t i = 0; i < MOST_MATERIALS + 2; i++)
        bc_dispersion_free(p->index[i]);
}

static bc_callout *add_row(small_problem *p, double limit, double from_nm, double to_nm, double to_deg)
{
    bc_callout *row = &p->row[p->callouts.count++];
    *row = (bc_callout){.name = "row",
                        .quantity = BC_R,
                        .statistic = BC_EXTREME,
                        .limit = limit,
                        .from_nm = from_nm,
                        .to_nm = to_nm,
                        .aoi_to_rad = to_deg * DEGREES,
                        .polarization = BC_POL_UNPOLARIZED};
    return row;
}

static bc_proof prove(const small_problem *p, size_t layers, double total_nm)
{
    const bc_proof_options options = {.layers = layers, .total_nm = total_nm, .most_work = INFINITY};
    bc_proof proof;
    bc_error error;
    if (bc_prove(&p->design, &options, &proof, &error) != BC_OK) {
        fprintf(stderr, "%s\n", error.message);
        exit(1);
    }
    return proof;
}

static void table(size_t layers)
{
    static const double three[] = {1.38, 1.62, 2.10}, two[] = {1.38, 2.10};
    static const struct {
        double from_nm, to_nm, total_nm;
        size_t materials;
        const double *n;
    } problem[] = {{450.0, 650.0, 600.0, 3, three},
                   {420.0, 680.0, 600.0, 3, three},
                   {450.0, 650.0, 400.0, 2, two},
                   {420.0, 680.0, 500.0, 3, three}};
    printf("layers  band nm   total nm  materials  uses at least  best known  boxes       s\n");
    for (size_t i = 0; i < sizeof problem / sizeof problem[0]; i++) {
        double before = 0.0;
        for (size_t n = 1; n <= layers; n++) {
            small_problem p;
            bc_proof proof;
            double start;
            open_problem(&p, 1.52, problem[i].materials, problem[i].n);
            add_row(&p, 0.005, problem[i].from_nm, problem[i].to_nm, 0.0);
            start = seconds();
            proof = prove(&p, n, problem[i].total_nm);
            printf("%6zu  %.0f-%.0f  %8.0f  %9zu  %13.4f  %10.4f  %-10.0f  %.2f\n", n, problem[i].from_nm,
                   problem[i].to_nm, problem[i].total_nm, problem[i].materials, proof.step[n].limit_used_at_least,
                   proof.step[n].best.limit_used, proof.step[n].boxes, seconds() - start - before);
            before = seconds() - start;
            fflush(stdout);
            bc_proof_clear(&proof);
            close_problem(&p);
        }
    }
}

static double between(double low, double high)
{
    return low + (high - low) * (double)rand() / RAND_MAX;
}

/* Two or three materials on a substrate, a band of the visible, some to an angle, some with an average as well. */
static void random_problem(small_problem *p)
{
    static const double indices[] = {1.38, 1.46, 1.62, 1.75, 2.1, 2.35};
    double n[MOST_MATERIALS];
    const size_t materials = 2 + (size_t)(rand() % 2);
    const double from_nm = between(400.0, 520.0), to_nm = from_nm * between(1.05, 1.6);
    const double angle = rand() % 3 == 0 ? between(5.0, 40.0) : 0.0;
    size_t first = (size_t)(rand() % 2);
    for (size_t m = 0; m < materials; m++) {
        n[m] = indices[first];
        first += 1 + (size_t)(rand() % 2);
    }
    open_problem(p, between(1.45, 1.9), materials, n);
    add_row(p, 0.005, from_nm, to_nm, angle);
    if (rand() % 3 == 0)
        add_row(p, 0.0025, from_nm, to_nm, 0.0)->statistic = BC_AVERAGE;
}

typedef struct tally {
    unsigned counts, within, same, search_worse, proof_worse, contradicted, unproved;
    double worst;
} tally;

static void compare(const bc_draft_result *draft, const bc_proof *proof, tally *all)
{
    for (size_t s = 1; s < proof->steps; s++) {
        const bc_proof_step *step = &proof->step[s];
        double found = INFINITY;
        for (size_t r = 0; r < draft->rungs; r++)
            if (draft->rung[r].stack.layers <= step->layers)
                found = fmin(found, draft->rung[r].limit_used);
        all->counts++;
        all->unproved += !step->within;
        all->within += bc_proof_within(proof, s, found);
        all->same += fabs(found - step->best.limit_used) <= 1e-3 * found;
        all->search_worse += found > 1.001 * step->best.limit_used;
        all->proof_worse += step->best.limit_used > 1.001 * found;
        all->contradicted += found < step->limit_used_at_least;
        all->worst = fmax(all->worst, found / step->best.limit_used);
    }
}

static void random_problems(unsigned count, double effort)
{
    tally all = {0};
    double drafting = 0.0, proving = 0.0, longest = 0.0;
    srand(16);
    for (unsigned i = 0; i < count; i++) {
        small_problem p;
        bc_draft_result draft;
        bc_proof proof;
        bc_error error;
        const bc_draft_options options = {.aim = BC_AIM_BEST, .seed = i, .effort = effort};
        double start = seconds();
        random_problem(&p);
        p.design.max_layers = 2 + (size_t)(rand() % 2);
        p.design.max_total_nm = bc_proof_total_nm(&p.design);
        if (bc_draft(&p.design, &options, &draft, &error) != BC_OK) {
            fprintf(stderr, "%s\n", error.message);
            exit(1);
        }
        drafting += seconds() - start;
        start = seconds();
        proof = prove(&p, p.design.max_layers, 0.0);
        proving += seconds() - start;
        longest = fmax(longest, seconds() - start);
        compare(&draft, &proof, &all);
        bc_proof_clear(&proof);
        bc_draft_result_clear(&draft);
        close_problem(&p);
    }
    printf("%u problems, %u numbers of layers, effort %g: drafts took %.1f s, proofs %.1f s (the longest %.2f s)\n",
           count, all.counts, effort, drafting, proving, longest);
    printf("proved within 1 %%: %u; the search's design is within 1 %% of the best possible: %u\n",
           all.counts - all.unproved, all.within);
    printf("same best (to 0.1 %%): %u; search worse than proof: %u (at most %.4f times); proof worse than search: %u\n",
           all.same, all.search_worse, all.worst, all.proof_worse);
    printf("bounds that a design contradicts: %u\n", all.contradicted);
}

int main(int count, char **words)
{
    if (count > 1 && strcmp(words[1], "table") == 0)
        table(count > 2 ? (size_t)strtoul(words[2], NULL, 10) : 4);
    else if (count > 1 && strcmp(words[1], "random") == 0)
        random_problems(count > 2 ? (unsigned)strtoul(words[2], NULL, 10) : 200,
                        count > 3 ? strtod(words[3], NULL) : 1.0);
    else
        return fprintf(stderr, "usage: bloomcoat-proofs table [LAYERS] | random [N] [EFFORT]\n"), 2;
    return 0;
}
