/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_INSPECTION_H
#define BLOOMCOAT_CLI_INSPECTION_H
/*
 * What `inspect` reads and computes, before anything of it is written.
 */
#include "at_hand.h"
#include "witness.h"
#include <bloomcoat/page.h>
#include <bloomcoat/record.h>

/* What the command holds until its report is written. */
typedef struct cli_inspection {
    bc_inspect_setup setup;
    size_t glasses;
    bc_medium *glass; /* that callouts name besides the witness' own */
    cli_at_hand at_hand;
    cli_witnesses witnesses;
    bc_measurement *measurement; /* [witnesses.count] for a lot */
    bc_witness_source *source;
    size_t copies;
    bc_witness_copy *copy;    /* files that hold what another does */
    bc_inspect_result result; /* of a single witness */
    bc_lot_result lot;
    bc_runs runs; /* of a lot, for --next-process */
    const char *next_stack, *next_process;
    bc_page_reference reference;
    bool has_plan;
    bc_acceptance_plan plan;
} cli_inspection;

/* The design, the callouts, the process and the measured files of the command line. */
bc_status cli_inspection_read(cli_session *session, cli_inspection *all, bc_error *error);
/* Files that hold the same measurement count once. */
bc_status cli_inspection_drop_copies(cli_inspection *all, bc_error *error);
bc_status cli_inspection_compute(cli_inspection *all, bool quiet, bc_error *error);
void cli_inspection_clear(cli_inspection *all);

/* One of the runs, as the record has it. */
bc_status cli_inspection_describe(const cli_inspection *all, size_t which, bc_record_run *run, bc_error *error);
/* The runs of the files behind the first operand, by the options of inspect. Release with
 * bc_record_runs_clear(). */
bc_status cli_inspect_runs(cli_session *session, bc_record_runs *runs, bc_error *error);

#endif
