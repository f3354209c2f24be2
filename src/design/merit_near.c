/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "merit_arrays.h"
#include "sums.h"
#include <math.h>
#include <stdint.h>
#include <string.h>

#define DECIDES 0.6 /* of the level: what lies below is left out, ... */
#define REACHES 0.8 /* ... as long as its slopes foretell no more than this, ... */
#define CURVES  0.1 /* ... and what they do not foretell is no more than this */
#define WHOLE   SIZE_MAX

/* Of a design alone all samples are few, and a search whose path is another ends elsewhere: it stays as it is. */
static bool is_worth_it(const bc_merit *merit)
{
    return merit->scenarios > 1 && merit->kept_layers > 0;
}

void bc_merit_lay_out_near(bc_merit *merit, bc_arena *arena)
{
    const bc_segments *segments = &merit->scenario[0];
    const size_t layers = is_worth_it(merit) ? merit->kept_layers : 0;
    const size_t all = layers > 0 ? merit->scenarios * segments->count : 0;
    merit->most_blocks = (segments->longest + BC_SURFACE_BLOCK - 1) / BC_SURFACE_BLOCK;
    merit->base_nm = bc_arena_take(arena, layers, sizeof(double));
    merit->moved_nm = bc_arena_take(arena, layers, sizeof(double));
    merit->curves = bc_arena_take(arena, layers, sizeof(double));
    merit->base_u = bc_arena_take(arena, layers > 0 ? merit->constraints : 0, sizeof(double));
    merit->blocks = bc_arena_take(arena, all, sizeof *merit->blocks);
    merit->block = bc_arena_take(arena, all, merit->most_blocks * sizeof *merit->block);
}

static size_t end_of(const bc_segment *segment, size_t block)
{
    const size_t end = (block + 1) * BC_SURFACE_BLOCK;
    return end < segment->count ? end : segment->count;
}

/* A row that is made of more than one sample at a time needs all of every segment it is made of. */
static void mark_whole(const bc_row *row, size_t *blocks)
{
    if (bc_row_is_plain(row))
        return;
    blocks[row->segment] = WHOLE;
    for (size_t m = 0; m < row->members; m++)
        blocks[row->member[m]] = WHOLE;
}

static bool decides(const bc_merit *merit, const bc_segments *segments, size_t first, size_t s, size_t block,
                    double least)
{
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        if (row->segment != s)
            continue;
        for (size_t i = block * BC_SURFACE_BLOCK; i < end_of(&segments->segment[s], block); i++)
            if (!(merit->u[first + row->first + i] < least))
                return true;
    }
    return false;
}

static void choose_blocks(bc_merit *merit, size_t scenario, double least)
{
    const bc_segments *segments = &merit->scenario[scenario];
    size_t *blocks = merit->blocks + scenario * segments->count;
    memset(blocks, 0, segments->count * sizeof *blocks);
    for (size_t r = 0; r < segments->rows; r++)
        mark_whole(&segments->row[r], blocks);
    for (size_t s = 0; s < segments->count; s++) {
        const bc_segment *segment = &segments->segment[s];
        unsigned *block = merit->block + (scenario * segments->count + s) * merit->most_blocks;
        if (segment->part != NULL)
            blocks[s] = WHOLE;
        for (size_t b = 0; blocks[s] != WHOLE && b * BC_SURFACE_BLOCK < segment->count; b++)
            if (decides(merit, segments, scenario * merit->each, s, b, least))
                block[blocks[s]++] = (unsigned)b;
    }
}

/* Of a row's constraints, those that are evaluated every time. */
static void leave_out_of_base(bc_merit *merit, size_t scenario, const bc_row *row)
{
    const bc_segments *segments = &merit->scenario[scenario];
    const bc_segment *segment = &segments->segment[row->segment];
    const size_t at = scenario * segments->count + row->segment;
    double *base = merit->base_u + scenario * merit->each + row->first;
    for (size_t i = 0; merit->blocks[at] == WHOLE && i < row->count; i++)
        base[i] = -INFINITY;
    for (size_t b = 0; merit->blocks[at] != WHOLE && b < merit->blocks[at]; b++) {
        const size_t block = merit->block[at * merit->most_blocks + b];
        for (size_t i = block * BC_SURFACE_BLOCK; i < end_of(segment, block); i++)
            base[i] = -INFINITY;
    }
}

/* u is a square |rho|^2 / limit, and what its slopes do not foretell is at most the square of how far rho moves: of
 * every layer the most that a nm moves any rho, over the root of its limit. In the design itself: errors of percents
 * change it by as little. */
static void find_curvatures(bc_merit *merit)
{
    const bc_segments *segments = &merit->scenario[0];
    memset(merit->curves, 0, merit->layers * sizeof(double));
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        const bc_segment *segment = &segments->segment[row->segment];
        for (size_t j = 0; bc_row_is_plain(row) && j < merit->layers; j++)
            for (unsigned p = 0; p < 2; p++) {
                const double *re = bc_surface_drho_re(segment->surface, (bc_plane)p, j);
                const double *im = bc_surface_drho_im(segment->surface, (bc_plane)p, j);
                double most = merit->curves[j] * merit->curves[j] / fabs(row->factor);
                for (size_t i = 0; i < segment->count; i++) {
                    const double square = re[i] * re[i] + im[i] * im[i];
                    most = square > most ? square : most;
                }
                merit->curves[j] = sqrt(most * fabs(row->factor));
            }
    }
}

static void set_base(bc_merit *merit, const double *thickness_nm, double level)
{
    merit->base_layers = merit->layers;
    memcpy(merit->base_nm, thickness_nm, merit->layers * sizeof(double));
    memcpy(merit->base_u, merit->u, merit->constraints * sizeof(double));
    find_curvatures(merit);
    for (size_t s = 0; s < merit->scenarios; s++) {
        choose_blocks(merit, s, DECIDES * level);
        for (size_t r = 0; r < merit->scenario[s].rows; r++)
            leave_out_of_base(merit, s, &merit->scenario[s].row[r]);
    }
}

/* u by its slopes, where that will do for everything that would be left out. */
static bool foretell(bc_merit *merit, const double *thickness_nm, double level)
{
    double beyond = 0.0, largest = -INFINITY;
    for (size_t j = 0; j < merit->layers; j++) {
        merit->moved_nm[j] = thickness_nm[j] - merit->base_nm[j];
        beyond += merit->curves[j] * fabs(merit->moved_nm[j]);
    }
    if (beyond * beyond > CURVES * level)
        return false;
    bc_combine_rows(merit->layers, merit->constraints, merit->slope, merit->constraints, merit->moved_nm, merit->u);
    for (size_t c = 0; c < merit->constraints; c++) {
        merit->u[c] += merit->base_u[c];
        largest = merit->u[c] > largest ? merit->u[c] : largest;
    }
    return largest < REACHES * level;
}

static void constrain_blocks(bc_merit *merit, size_t scenario, const bc_row *row, size_t blocks, const unsigned *block,
                             bool slopes)
{
    const bc_segment *segment = &merit->scenario[scenario].segment[row->segment];
    const size_t first = scenario * merit->each + row->first;
    for (size_t b = 0; b < blocks; b++) {
        const size_t from = block[b] * BC_SURFACE_BLOCK, to = end_of(segment, block[b]);
        bc_constrain_plain(segment, row, false, 0, from, to, merit->u + first);
        for (size_t j = 0; slopes && j < merit->layers; j++) {
            const double grows = bc_row_grows(merit, scenario, row, j);
            double *slope = merit->slope + j * merit->constraints + first;
            bc_constrain_plain(segment, row, true, j, from, to, slope);
            for (size_t i = from; grows != 1.0 && i < to; i++)
                slope[i] *= grows;
        }
    }
}

static void evaluate_blocks(bc_merit *merit, size_t scenario, const unsigned *material, const double *thickness_nm,
                            bool slopes)
{
    const bc_segments *segments = &merit->scenario[scenario];
    const size_t *blocks = merit->blocks + scenario * segments->count;
    const unsigned *block = merit->block + scenario * segments->count * merit->most_blocks;
    bc_merit_enter(merit, scenario, thickness_nm);
    for (size_t s = 0; s < segments->count; s++)
        if (blocks[s] > 0)
            bc_merit_run_engine(merit, &segments->segment[s], material, slopes, blocks[s],
                                blocks[s] == WHOLE ? NULL : block + s * merit->most_blocks);
    for (size_t r = 0; r < segments->rows; r++) {
        const bc_row *row = &segments->row[r];
        if (blocks[row->segment] == WHOLE)
            bc_constrain_row(merit, scenario, row, slopes);
        else
            constrain_blocks(merit, scenario, row, blocks[row->segment], block + row->segment * merit->most_blocks,
                             slopes);
    }
}

void bc_merit_evaluate_near(bc_merit *merit, size_t layers, const unsigned *material, const double *thickness_nm,
                            bool slopes, double level)
{
    merit->keeps_fields = false;
    if (merit->base_layers == layers && layers > 0 && foretell(merit, thickness_nm, level)) {
        merit->evaluations++;
        merit->near = true;
        for (size_t s = 0; s < merit->scenarios; s++)
            evaluate_blocks(merit, s, material, thickness_nm, slopes);
        return;
    }
    const size_t base_layers = merit->base_layers;
    bc_merit_evaluate_all(merit, layers, material, thickness_nm, slopes);
    if (slopes && is_worth_it(merit))
        set_base(merit, thickness_nm, level);
    else
        merit->base_layers = base_layers; /* its slopes are there still */
}

bool bc_merit_is_near(const bc_merit *merit)
{
    return merit->near;
}
