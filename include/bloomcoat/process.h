/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_PROCESS_H
#define BLOOMCOAT_PROCESS_H
/*
 * A process: what one shop's chamber really does, material by material. Plain data, filled in by a reader or by hand.
 *
 * The errors describe a run, one load of the chamber. In it layer j of geometric thickness d_j and index n_j comes out
 * as
 *
 *     d_j (1 + run_thickness_sigma_j b + thickness_sigma_j e_j)    and    n_j + index_sigma_j m_j
 *
 * with normal numbers of mean 0 and standard deviation 1: b is one for the run, m_j one for each material of the run,
 * e_j one for each layer.
 */
#include <bloomcoat/materials.h>

BC_API_BEGIN

/* How well the figures of a row are known: as by so many runs, 2 or more; 0: as if they were exact. A standard
 * deviation is known like that of so many independent values (one degree of freedom less), a tooling factor like their
 * average, with the scatter of a layer and that of a run. Not whole where a fit of many layers says what they are
 * worth.
 */
typedef struct bc_process_runs {
    double
        counted; /* in the shop's history: what a person writes, and what the others are where nothing else is said */
    double tooling, thickness_sigma, run_thickness_sigma, index_sigma;
} bc_process_runs;

/* One row of the file, or what the file says of one material in the end. */
typedef struct bc_process_row {
    char material[BC_NAME_SIZE]; /* "*": all materials, where their own row says nothing */

    /* Which of the values below are known. One that is not is neutral: no error of that kind, no minimum, a tooling of
     * 1, and a rate of 0, by which nobody may divide. */
    bool has_rate, has_tooling, has_thickness_sigma, has_run_thickness_sigma, has_index_sigma, has_minimum,
        has_process_c, has_index_gradient;

    /* Deposition rate on the monitor, > 0. */
    double rate_nm_per_s;
    /* Thickness on the part divided by thickness at the monitor, > 0.01. What is always off by the same factor belongs
     * here, not in the errors. */
    double tooling;
    /* Standard deviation of the random thickness error of one layer, as a fraction of its thickness; each layer of a
     * run has an error of its own. In [0, 1]; thickness_sigma_percent in the file. */
    double thickness_sigma;
    /* Standard deviation of the thickness error that all layers of one run share, as a fraction of their thickness:
     * from run to run the whole scale drifts, as when the tooling does. It is no fixed offset. In [-0.5, 0.5]; the sign
     * only distinguishes materials: with opposite signs one comes out thick in the runs where the other comes out thin.
     * run_thickness_sigma_percent in the file. */
    double run_thickness_sigma;
    /* Standard deviation of the error of the index n of this material, the same for all its layers in a run. In [0, 1].
     */
    double index_sigma;
    /* The thinnest layer of this material that the chamber can control. */
    double minimum_nm;
    /* How hot the part is in this shop's process, degrees Celsius; else the material's table says what is common. */
    double process_c;
    /* How the index runs through a layer of this material: bc_dispersion_graded(). It is no error but what always
     * happens, and part of the layer's design. index_gradient_percent in the file. */
    double index_gradient;
    /* `runs` in the file, and tooling_factor_runs, thickness_sigma_runs, run_thickness_sigma_runs, index_sigma_runs. */
    bc_process_runs runs;

    long line; /* in the file it came from; 0: made by hand */
} bc_process_row;

typedef struct bc_process {
    size_t rows; /* 0: nothing is known of the chamber */
    bc_process_row *row;
    /* Whether any row gives such a value. Where one is false the file has no such column, or nothing in it. */
    bool has_rate, has_tooling, has_thickness_sigma, has_run_thickness_sigma, has_index_sigma, has_minimum,
        has_process_c, has_index_gradient;
    char sha256[BC_SHA256_SIZE]; /* of the file it was read from; empty: made by hand */
} bc_process;

/* Read a process file: `material` and any of `rate_nm_per_s`, `tooling`, `thickness_sigma_percent`,
 * `run_thickness_sigma_percent`, `index_sigma`, `minimum_nm`, `process_c`, `index_gradient_percent`, `runs`, and the
 * runs of single figures (of those that a row has and says no runs of, they are its `runs`). A material, or `*` for all
 * others, has at most one row, and a material that is named must exist in `materials` (a misspelt one would silently be
 * treated as all others). A cell may be empty. On success *process must be released with bc_process_clear(). */
bc_status bc_process_read(const char *path, bc_materials *materials, bc_process *process, bc_error *error);
void bc_process_clear(bc_process *process);

/* What holds for the material called `material`: value by value its own row, else the row `*`, else not known. The line
 * is that of its own row, else of `*`, else 0. `process` may be NULL: nothing is known. */
bc_process_row bc_process_for(const bc_process *process, const char *material);

/* The material of a layer as this process grows it: *layer with the gradient that holds for it, unless it states one of
 * its own (a stack file may). `materials` owns the result. */
bc_status bc_process_grade(const bc_process *process, bc_materials *materials, const bc_dispersion **layer,
                           bc_error *error);

/* A copy made by hand (its checksum is empty), with room for `more` rows. `from` may be NULL: nothing is known. Release
 * it with bc_process_clear(). */
bc_status bc_process_copy(const bc_process *from, size_t more, bc_process *to, bc_error *error);
/* The row of a material of its own: where it has none, one more, made of what held for it. The process must have room.
 */
bc_process_row *bc_process_own_row(bc_process *process, const char *material);

BC_API_END

#endif
