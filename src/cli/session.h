/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_CLI_SESSION_H
#define BLOOMCOAT_CLI_SESSION_H
/*
 * What a command has read, and where its results go. One cli_session_close() releases everything.
 */
#include "options.h"
#include <bloomcoat/page.h>

#define CLI_DATE_SIZE 16

struct cli_session {
    const cli_arguments *arguments;
    bool quiet;
    bool json;
    const char *output; /* -o; NULL: standard output */
    const char *plot;   /* --plot; NULL: no picture */
    bc_plot_options plot_options;
    bc_page_paper paper;      /* of every --report */
    char date[CLI_DATE_SIZE]; /* YYYY-MM-DD; empty: none */
    bc_materials *materials;
    const char *stack_path; /* NULL while no stack was read */
    bc_stack stack;
    char *changed_name;        /* what stack_path points to once the stack was changed */
    const char *callouts_path; /* or the words of --callout */
    bc_callouts callouts;
    const struct bc_request *request; /* NULL: there is none */
    size_t surface;                   /* of the request, from 1 */
    const char *process_path;         /* NULL while no process was read */
    bc_process process;
    const char *chamber_path; /* NULL while no chamber was read */
    bc_chamber chamber;
    size_t substrates; /* --substrate; 0: none was given */
    bc_medium *substrate;
    bc_stack back_stack;
    bc_back back;
    bool back_assumed;
    size_t zones; /* of a curved surface; 0: none was given */
    bc_zone *zone;
    bc_curved curved;
    bc_profile profile;
    const bc_dispersion *estimated; /* the last glass of which it was said that its index is an estimate */
    size_t inputs;
    const char **input; /* every file read so far: none of them may be written over */
};

bc_status cli_session_open(cli_session *session, const cli_arguments *arguments, bc_error *error);
void cli_session_close(cli_session *session);

bc_status cli_read_stack(cli_session *session, const char *path, bc_error *error);
/* One more stack file, to compare with; nothing changes it. */
/* Layers as the process that was read grows them (bc_process_grade()). cli_read_process() does it to the session's own
 * stacks, and those read later are graded as they are read. */
bc_status cli_grade_medium(cli_session *session, bc_medium *layer, bc_error *error);
bc_status cli_grade_stack(cli_session *session, bc_stack *stack, bc_error *error);
bc_status cli_read_other_stack(cli_session *session, const char *path, bc_stack *stack, bc_error *error);
bc_status cli_read_callouts(cli_session *session, bc_error *error);
/* On standard error, unless quiet: how words were understood, and what was assumed. */
bc_status cli_show_understood(const cli_session *session, unsigned assumptions, bc_error *error);
bc_status cli_read_process(cli_session *session, bc_error *error);
bc_status cli_roughness(const cli_session *session, double *roughness_nm, bc_error *error); /* --roughness-nm */
bc_status cli_read_chamber(cli_session *session, bc_error *error); /* --chamber, where it was given */
bc_status cli_read_profile(cli_session *session, bc_error *error); /* --thickness-profile */
/* Option `name` (--substrate, --materials): materials, none of them twice. */
bc_status cli_read_media(cli_session *session, const char *name, size_t *count, bc_medium **media, bc_error *error);
/* --back and --substrate-mm; `assumed` is taken when --back was not given. */
bc_status cli_read_back(cli_session *session, bc_back_kind assumed, bc_error *error);
/* The same for a spectrum: without --back there is one surface, to which --substrate-mm says nothing. */
bc_status cli_read_back_or_none(cli_session *session, bc_error *error);
/* A file that was read and must not be written over. `path` must outlive the session. */
bc_status cli_note_input(cli_session *session, const char *path, bc_error *error);
/* A layer's or an end's table is an input, too. */
bc_status cli_note_medium(cli_session *session, const bc_medium *medium, bc_error *error);

/* --back of rows with scope `part`: read when there is such a row, else said to have no effect. Asks for --substrate-mm
 * where one of the `count` glasses absorbs in such a row's band. */
bc_status cli_read_back_for_callouts(cli_session *session, size_t count, const bc_medium *glass, bc_error *error);
/* Fails when the glass absorbs between two wavelengths and its thickness was not given, or as 0. */
bc_status cli_need_thickness(const cli_session *session, const bc_medium *glass, double from_nm, double to_nm,
                             bc_error *error);

/* Any k > 0 of the glass between two wavelengths. A band beyond the table is left to the computation to refuse. */
bool cli_absorbs(const bc_dispersion *glass, double from_nm, double to_nm);

/* A line on standard error, unless --quiet. */
void cli_note(const cli_session *session, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Whether colour is welcome on a descriptor: a terminal, and no NO_COLOR. */
bool cli_color(int descriptor);
/* Before the work, all inputs being read: can -o and every other file be written, each to a place of its own? */
bc_status cli_check_output(const cli_session *session, bc_error *error);

#endif
