/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "session.h"
#include "changes.h"
#include "escaped.h"
#include "output.h"
#include "page.h"
#include "place.h"
#include "plot.h"
#include "recording.h"
#include "request.h"
#include <bloomcoat/callout_words.h>
#include <errno.h>
#include <libgen.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/auxv.h>
#include <sys/stat.h>
#include <unistd.h>

static bool is_folder(const char *path)
{
    struct stat found;
    return stat(path, &found) == 0 && S_ISDIR(found.st_mode);
}

/* Where the program itself lies. A bare root may have no /proc: then what it was called by has to do. */
static bool find_program(char program[PATH_MAX])
{
    const ssize_t length = readlink("/proc/self/exe", program, PATH_MAX - 1);
    /* NOLINTNEXTLINE(performance-no-int-to-ptr): getauxval() has one type for all its values */
    const char *called = (const char *)getauxval(AT_EXECFN);
    if (length <= 0)
        return called != NULL && realpath(called, program) != NULL;
    program[length] = '\0';
    return true;
}

/* The tables that came with the program: beside it, wherever it was moved to, or where it was installed. */
static bc_status add_installed(bc_materials *materials, bc_error *error)
{
    char program[PATH_MAX], folder[PATH_MAX + 64];
    const char *installed = is_folder(BC_INSTALLED_MATERIALS) ? BC_INSTALLED_MATERIALS : NULL;
    if (find_program(program)) {
        snprintf(folder, sizeof folder, "%s/../share/bloomcoat/materials", dirname(program));
        if (is_folder(folder))
            installed = realpath(folder, program) == NULL ? folder : program;
    }
    if (cli_rerunning())
        installed = cli_rerun_tables();
    else
        cli_recording_tables(installed);
    return installed == NULL ? BC_OK : bc_materials_add_folder(materials, installed, error);
}

/* Put where a folder's name came from before the message about it, if it is to blame. */
static bc_status from(const char *place, bc_status status, bc_error *error)
{
    const bc_error inner = *error;
    return status != BC_ERROR_INPUT ? status : bc_fail(error, status, "%s: %s", place, inner.message);
}

static bc_status open_materials(cli_session *session, bc_error *error)
{
    const char *path_list = getenv("BLOOMCOAT_TABLES");
    const char *folder;
    bc_status status = bc_materials_alloc(&session->materials, error);
    for (size_t i = 0; status == BC_OK && (folder = cli_value_at(session->arguments, "tables", i)) != NULL; i++)
        status = from("--tables", bc_materials_add_folder(session->materials, folder, error), error);
    if (status == BC_OK && path_list != NULL)
        status = from("BLOOMCOAT_TABLES", bc_materials_add_path(session->materials, path_list, error), error);
    if (status == BC_OK && session->arguments->shop != NULL && session->arguments->shop->tables != NULL)
        status = bc_materials_add_folder(session->materials, session->arguments->shop->tables, error);
    if (status == BC_OK && session->arguments->shop != NULL)
        status = cli_note_input(session, session->arguments->shop->defaults, error);
    return status == BC_OK ? add_installed(session->materials, error) : status;
}

bc_status cli_session_open(cli_session *session, const cli_arguments *arguments, bc_error *error)
{
    bc_status status;
    *session = (cli_session){.arguments = arguments,
                             .quiet = cli_has(arguments, "quiet"),
                             .json = cli_has(arguments, "json"),
                             .output = cli_value(arguments, "o")};
    status = cli_read_plot(session, error);
    if (status == BC_OK)
        status = cli_read_page(session, error);
    return status == BC_OK ? open_materials(session, error) : status;
}

void cli_session_close(cli_session *session)
{
    bc_stack_clear(&session->stack);
    bc_stack_clear(&session->back_stack);
    bc_callouts_clear(&session->callouts);
    bc_process_clear(&session->process);
    bc_profile_clear(&session->profile);
    free(session->changed_name);
    free(session->zone);
    free(session->substrate);
    free(session->input);
    bc_materials_free(session->materials);
    *session = (cli_session){0};
}

bc_status cli_grade_medium(cli_session *session, bc_medium *layer, bc_error *error)
{
    return session->process_path == NULL
               ? BC_OK
               : bc_process_grade(&session->process, session->materials, &layer->dispersion, error);
}

bc_status cli_grade_stack(cli_session *session, bc_stack *stack, bc_error *error)
{
    bc_status status = BC_OK;
    for (size_t j = 0; status == BC_OK && j < stack->layers; j++)
        status = cli_grade_medium(session, &stack->layer[j].material, error);
    return status;
}

static bc_status read_stack(cli_session *session, const char *path, bc_stack *stack, bc_error *error)
{
    bc_status status = bc_stack_read(path, session->materials, stack, error);
    if (status == BC_OK)
        status = cli_note_input(session, path, error);
    if (status == BC_OK)
        status = cli_note_medium(session, &stack->incident, error);
    if (status == BC_OK)
        status = cli_note_medium(session, &stack->substrate, error);
    for (size_t layer = 0; status == BC_OK && layer < stack->layers; layer++)
        status = cli_note_medium(session, &stack->layer[layer].material, error);
    return status == BC_OK ? cli_grade_stack(session, stack, error) : status;
}

bc_status cli_read_stack(cli_session *session, const char *path, bc_error *error)
{
    bc_status status;
    session->stack_path = path;
    status = read_stack(session, path, &session->stack, error);
    return status == BC_OK ? cli_change_stack(session, error) : status;
}

static bc_status read_callout_words(cli_session *session, bc_error *error)
{
    unsigned assumptions = 0;
    const char *words;
    bc_status status = BC_OK;
    for (size_t i = 0; status == BC_OK && (words = cli_value_at(session->arguments, "callout", i)) != NULL; i++) {
        status = from("--callout", bc_callouts_parse(words, &session->callouts, &assumptions, error), error);
        if (session->callouts_path == NULL)
            session->callouts_path = words;
    }
    return status == BC_OK ? cli_show_understood(session, assumptions, error) : status;
}

bc_status cli_read_other_stack(cli_session *session, const char *path, bc_stack *stack, bc_error *error)
{
    return read_stack(session, path, stack, error);
}

bc_status cli_read_callouts(cli_session *session, bc_error *error)
{
    const bool has_words = cli_has(session->arguments, "callout");
    bc_status status = BC_OK;
    if (session->request != NULL && !has_words && !cli_has(session->arguments, "callouts"))
        return cli_read_request_callouts(session, error);
    if (!has_words || cli_has(session->arguments, "callouts")) {
        status = cli_required(session->arguments, "callouts", &session->callouts_path, error);
        if (status == BC_OK)
            status = bc_callouts_read(session->callouts_path, session->materials, &session->callouts, error);
        if (status == BC_OK)
            status = cli_note_input(session, session->callouts_path, error);
    }
    if (status == BC_OK && session->callouts.exported && !has_words)
        return cli_show_understood(session, 0, error);
    return status == BC_OK && has_words ? read_callout_words(session, error) : status;
}

bc_status cli_read_process(cli_session *session, bc_error *error)
{
    bc_status status = cli_required(session->arguments, "process", &session->process_path, error);
    if (status == BC_OK)
        status = bc_process_read(session->process_path, session->materials, &session->process, error);
    if (status == BC_OK)
        status = cli_note_input(session, session->process_path, error);
    if (status == BC_OK)
        status = cli_grade_stack(session, &session->stack, error);
    return status == BC_OK ? cli_grade_stack(session, &session->back_stack, error) : status;
}

bc_status cli_read_profile(cli_session *session, bc_error *error)
{
    const char *path;
    bc_status status = cli_required(session->arguments, "thickness-profile", &path, error);
    if (status == BC_OK)
        status = bc_profile_read(path, &session->profile, error);
    return status == BC_OK ? cli_note_input(session, path, error) : status;
}

bc_status cli_roughness(const cli_session *session, double *roughness_nm, bc_error *error)
{
    return cli_number(session->arguments, "roughness-nm", 0.0, 100.0, "an rms roughness in nm from 0 to 100",
                      roughness_nm, error);
}

bc_status cli_read_chamber(cli_session *session, bc_error *error)
{
    bc_status status;
    session->chamber_path = cli_value(session->arguments, "chamber");
    if (session->chamber_path == NULL)
        return BC_OK;
    status = bc_chamber_read(session->chamber_path, &session->chamber, error);
    return status == BC_OK ? cli_note_input(session, session->chamber_path, error) : status;
}

bc_status cli_read_media(cli_session *session, const char *name, size_t *count, bc_medium **media, bc_error *error)
{
    char where[64];
    cli_list list;
    bc_status status = cli_list_read(session->arguments, name, &list, error);
    if (status != BC_OK || list.count == 0) {
        cli_list_clear(&list);
        return status;
    }
    snprintf(where, sizeof where, "--%s", name);
    *media = calloc(list.count, sizeof **media);
    status = *media == NULL ? bc_fail_memory(error) : BC_OK;
    for (*count = 0; status == BC_OK && *count < list.count; (*count)++) {
        bc_medium *medium = &(*media)[*count];
        status = bc_medium_find(session->materials, list.item[*count], where, medium, error);
        for (size_t i = 0; status == BC_OK && i < *count; i++)
            if ((*media)[i].dispersion == medium->dispersion)
                status = cli_fail_value(error, name, list.item[*count], " twice", "each material once");
        if (status == BC_OK)
            status = cli_note_medium(session, medium, error);
    }
    cli_list_clear(&list);
    return status;
}

static bc_status read_back_stack(cli_session *session, const char *path, bc_error *error)
{
    static const char *const words = "none, uncoated, same or a stack file";
    if (access(bc_place(path), F_OK) != 0)
        return cli_fail_value(error, "back", path, ", which is no file", words);
    session->back.stack = &session->back_stack;
    return read_stack(session, path, &session->back_stack, error);
}

bc_status cli_read_back(cli_session *session, bc_back_kind assumed, bc_error *error)
{
    static const char *const word[] = {
        [BC_BACK_NONE] = "none", [BC_BACK_UNCOATED] = "uncoated", [BC_BACK_SAME] = "same"};
    const char *back = cli_value(session->arguments, "back");
    session->back.kind = assumed;
    session->back_assumed = back == NULL;
    if (back != NULL) {
        session->back.kind = BC_BACK_OWN;
        for (size_t i = 0; i < sizeof word / sizeof word[0]; i++)
            if (strcmp(back, word[i]) == 0)
                session->back.kind = (bc_back_kind)i;
        if (strcmp(back, "ground") == 0) /* what makes a witness' back invisible */
            session->back.kind = BC_BACK_NONE;
    }
    if (session->back.kind == BC_BACK_OWN) {
        bc_status status = read_back_stack(session, back, error);
        if (status != BC_OK)
            return status;
    }
    return cli_number(session->arguments, "substrate-mm", 0.0, 1e6, "the substrate's thickness in mm, 0 or more",
                      &session->back.substrate_mm, error);
}

bool cli_absorbs(const bc_dispersion *glass, double from_nm, double to_nm)
{
    const double end[] = {from_nm, to_nm};
    double n[2], k[2];
    if (bc_dispersion_index(glass, 2, end, n, k, NULL) == BC_OK && (k[0] > 0.0 || k[1] > 0.0))
        return true;
    for (size_t row = 0; row < bc_dispersion_rows(glass); row++) {
        double nm, row_n, row_k;
        bc_dispersion_row(glass, row, &nm, &row_n, &row_k);
        if (nm > from_nm && nm < to_nm && row_k > 0.0)
            return true;
    }
    return false;
}

bc_status cli_need_thickness(const cli_session *session, const bc_medium *glass, double from_nm, double to_nm,
                             bc_error *error)
{
    if (session->back.substrate_mm > 0.0 || !cli_absorbs(glass->dispersion, from_nm, to_nm))
        return BC_OK;
    return bc_fail(
        error, BC_ERROR_INPUT,
        "%s absorbs between %g and %g nm, so the light through the part depends on the substrate's thickness; "
        "give it with --substrate-mm, above 0",
        glass->name, from_nm, to_nm);
}

bc_status cli_read_back_or_none(cli_session *session, bc_error *error)
{
    const bc_status status = cli_read_back(session, BC_BACK_NONE, error);
    if (status == BC_OK && session->back.kind == BC_BACK_NONE && cli_has(session->arguments, "substrate-mm"))
        return bc_fail(error, BC_ERROR_INPUT,
                       "--substrate-mm has no meaning for one surface alone; expected --back uncoated, same or a stack "
                       "file beside it");
    return status;
}

bc_status cli_read_back_for_callouts(cli_session *session, size_t count, const bc_medium *glass, bc_error *error)
{
    bool any = false;
    bc_status status = cli_read_back(session, BC_BACK_SAME, error);
    for (size_t row = 0; status == BC_OK && row < session->callouts.count; row++) {
        const bc_callout *callout = &session->callouts.callout[row];
        if (callout->scope != BC_SCOPE_PART)
            continue;
        any = true;
        for (size_t i = 0; status == BC_OK && i < count; i++)
            if (bc_callout_applies(callout, glass[i].name))
                status = cli_need_thickness(session, &glass[i], callout->from_nm, callout->to_nm, error);
    }
    if (status == BC_OK && !any && cli_has(session->arguments, "back"))
        cli_note(session, "no callout has scope part, so --back has no effect");
    return status;
}

bool cli_color(int descriptor)
{
    const char *no_color = getenv("NO_COLOR");
    const char *terminal = getenv("TERM");
    const bool color = isatty(descriptor) && (no_color == NULL || no_color[0] == '\0') &&
                       (terminal == NULL || strcmp(terminal, "dumb") != 0);
    return descriptor == STDOUT_FILENO ? cli_recording_color(color) : color;
}
