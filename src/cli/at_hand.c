/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "at_hand.h"
#include "options.h"
#include <stdlib.h>
#include <string.h>

static bool is_kind(const bc_medium *medium, const char *kind)
{
    const char *note = bc_dispersion_note(medium->dispersion, "kind");
    return note != NULL && strcmp(note, kind) == 0;
}

/* A table says what it is for; one that does not, or a constant, may be either. */
static void take(cli_at_hand *at_hand, const bc_medium *medium)
{
    if (!is_kind(medium, "substrate"))
        at_hand->layer[at_hand->layers++] = *medium;
    if (!is_kind(medium, "layer") && !is_kind(medium, "film")) /* older tables */
        at_hand->substrate[at_hand->substrates++] = *medium;
}

/* A table that cannot be read is nobody's mistake here: it was not asked for. */
static bc_status take_substrates(cli_session *session, size_t count, const char *const *name, cli_at_hand *at_hand,
                                 bc_error *error)
{
    for (size_t i = 0; i < count; i++) {
        bc_medium medium;
        const bc_status status = bc_medium_find(session->materials, name[i], NULL, &medium, error);
        if (status != BC_OK && status != BC_ERROR_INPUT)
            return status;
        if (status == BC_OK && is_kind(&medium, "substrate"))
            at_hand->substrate[at_hand->substrates++] = medium;
    }
    return BC_OK;
}

bc_status cli_read_at_hand(cli_session *session, cli_at_hand *at_hand, bc_error *error)
{
    const bc_process *process = session->process_path == NULL ? NULL : &session->process;
    const size_t rows = process == NULL ? 0 : process->rows;
    const char *const *name;
    size_t named = 0, known;
    bc_medium *medium = NULL;
    bc_status status = cli_read_media(session, "at-hand", &named, &medium, error);
    if (status == BC_OK)
        status = bc_materials_list(session->materials, &known, &name, error);
    if (status == BC_OK) {
        at_hand->layer = calloc(rows + named + 1, sizeof *at_hand->layer);
        at_hand->substrate = calloc(named + known + 1, sizeof *at_hand->substrate);
        if (at_hand->layer == NULL || at_hand->substrate == NULL)
            status = bc_fail_memory(error);
    }
    for (size_t i = 0; status == BC_OK && i < rows; i++)
        if (strcmp(process->row[i].material, "*") != 0) {
            status = bc_medium_find(session->materials, process->row[i].material, process->row[i].material,
                                    &at_hand->layer[at_hand->layers], error);
            if (status == BC_OK)
                status = cli_grade_medium(session, &at_hand->layer[at_hand->layers], error);
            at_hand->layers++;
        }
    for (size_t i = 0; status == BC_OK && i < named; i++)
        take(at_hand, &medium[i]);
    if (status == BC_OK)
        status = take_substrates(session, known, name, at_hand, error);
    free(medium);
    return status;
}

void cli_at_hand_clear(cli_at_hand *at_hand)
{
    free(at_hand->layer);
    free(at_hand->substrate);
    *at_hand = (cli_at_hand){0};
}
