/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/acceptance.h>
#include <gsl/gsl_cdf.h>
#include <math.h>

#define LETTERS    15 /* A to Q; there is no I and no O */
#define LIMITS     9
#define ONE_IN_TEN 0.1

/* Table 1, level II: the largest lot of each letter; table 2-A: its sample. */
static const struct {
    char letter;
    size_t most_lot, sample;
} letters[LETTERS] = {{'A', 8, 2},       {'B', 15, 3},      {'C', 25, 5},       {'D', 50, 8},       {'E', 90, 13},
                      {'F', 150, 20},    {'G', 280, 32},    {'H', 500, 50},     {'J', 1200, 80},    {'K', 3200, 125},
                      {'L', 10000, 200}, {'M', 35000, 315}, {'N', 150000, 500}, {'P', 500000, 800}, {'Q', 0, 1250}};

/* Table 2-A is the same along its diagonals: at one letter (its place here) a limit has the plan that accepts none. */
static const struct {
    double percent;
    int letter;
} limits[LIMITS] = {{0.10, 9}, {0.15, 8}, {0.25, 7}, {0.40, 6}, {0.65, 5}, {1.0, 4}, {1.5, 3}, {2.5, 2}, {4.0, 1}};

/* So many letters beyond it (0 to 10): how many may fail, and how far the arrow of the table leads. */
static const struct {
    size_t accept;
    int arrow;
} diagonal[] = {{0, 0}, {0, -1}, {0, 1}, {1, 0}, {2, 0}, {3, 0}, {5, 0}, {7, 0}, {10, 0}, {14, 0}, {21, 0}};
#define LAST 10

static bc_status find_limit(double percent, int *which, bc_error *error)
{
    for (*which = 0; *which < LIMITS; (*which)++)
        if (fabs(percent - limits[*which].percent) < 1e-9)
            return BC_OK;
    return bc_fail(
        error, BC_ERROR_INPUT,
        "found an acceptance quality limit of %g %%; expected 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5 or "
        "4.0 (of ISO 2859-1; other columns are left to the standard)",
        percent);
}

/* How many failing parts, at least, bring the chance down to one in ten; found by halving. */
static size_t failing_for(const bc_acceptance_plan *plan, double chance)
{
    size_t low = 0, high = plan->lot;
    while (low + 1 < high) {
        const size_t middle = low + (high - low) / 2;
        if (bc_acceptance_chance(plan, middle) > chance)
            low = middle;
        else
            high = middle;
    }
    return high;
}

double bc_acceptance_chance(const bc_acceptance_plan *plan, size_t failing)
{
    if (failing <= plan->accept)
        return 1.0;
    return gsl_cdf_hypergeometric_P((unsigned)plan->accept, (unsigned)failing, (unsigned)(plan->lot - failing),
                                    (unsigned)plan->sample);
}

bc_status bc_acceptance_plan_for(size_t lot, double limit_percent, bc_acceptance_plan *plan, bc_error *error)
{
    int which, letter = 0, beyond;
    bc_status status = find_limit(limit_percent, &which, error);
    if (status != BC_OK)
        return status;
    if (lot < 2 || lot > letters[LETTERS - 2].most_lot)
        return bc_fail(error, BC_ERROR_INPUT, "found a lot of %zu parts; expected 2 to %zu for a sampling plan", lot,
                       letters[LETTERS - 2].most_lot);
    while (letters[letter].most_lot < lot)
        letter++;
    *plan = (bc_acceptance_plan){.lot = lot, .limit_percent = limit_percent, .letter = letters[letter].letter};
    beyond = letter - limits[which].letter;
    beyond = beyond < 0 ? 0 : beyond > LAST ? LAST : beyond;
    beyond += diagonal[beyond].arrow;
    plan->sample = letters[limits[which].letter + beyond].sample;
    plan->accept = diagonal[beyond].accept;
    if (plan->sample >= lot) { /* the standard: then every part is measured */
        plan->sample = lot;
        plan->every = true;
    }
    plan->accepted_at_limit = bc_acceptance_chance(plan, (size_t)floor(limit_percent / 100.0 * (double)lot + 0.5));
    plan->accepted_one_in_ten = (double)failing_for(plan, ONE_IN_TEN) / (double)lot;
    return BC_OK;
}
