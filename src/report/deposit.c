/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/deposit_words.h"
#include "internal/numbers.h"
#include "internal/table.h"
#include "print.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void add_path(bc_text *out, const char *what, const char *path)
{
    if (path == NULL)
        return;
    bc_text_add(out, "%s ", what);
    bc_text_add_plain(out, path);
    bc_text_add(out, "\n");
}

static void layers_text(const bc_deposit_report *report, bc_text *out)
{
    bc_table table;
    bc_fill_sheet(report, &table);
    bc_text_add(out, "Layers in order of deposition, on %s:\n", report->stack->substrate.name);
    bc_table_write(&table, out);
    bc_text_wrap(out, 0, 0, bc_sheet_words(report));
}

static void load_text(const bc_deposit_report *report, bc_text *out)
{
    bc_text words = {0};
    bc_add_load_times(&words, report);
    bc_text_wrap_gathered(out, 0, &words);
    bc_text_add(out, "\n");
}

static void signals_text(const bc_deposit_report *report, bc_text *out)
{
    bc_text words = {0}, lines = {0};
    bc_table table;
    bc_add_beam(&words, report);
    bc_text_wrap_gathered(out, 0, &words);
    bc_fill_signals(report, &table);
    bc_table_write(&table, out);
    bc_add_signal_words(&lines, report);
    for (char *line = lines.data, *end; line != NULL && (end = strchr(line, '\n')) != NULL; line = end + 1) {
        *end = '\0';
        bc_text_wrap(out, 0, 0, line);
    }
    out->failed = out->failed || lines.failed;
    bc_text_clear(&lines);
}

static void turnings_text(const bc_deposit_result *result, bc_text *out)
{
    bc_table table;
    if (bc_fill_turnings(result, &table) == 0) {
        free(table.cell);
        bc_text_add(out, "%s\n\n", BC_NO_TURNING);
        return;
    }
    bc_text_add(out, "The signal turns:\n");
    bc_table_write(&table, out);
    bc_text_add(out, "\n");
}

static void best_text(const bc_deposit_result *result, bc_text *out)
{
    bc_text words = {0};
    bc_add_surest(&words, result);
    if (words.length > 0) {
        bc_text_wrap_gathered(out, 0, &words);
        bc_text_add(out, "\n");
    }
    out->failed = out->failed || words.failed;
    bc_text_clear(&words);
}

static void sentences_text(const char *heading, void (*write)(bc_text *, const bc_deposit_report *),
                           const bc_deposit_report *report, bc_text *out)
{
    bc_text lines = {0};
    write(&lines, report);
    if (lines.length > 0) {
        bc_lines_text(heading, &lines, out);
        bc_text_add(out, "\n");
    }
    out->failed = out->failed || lines.failed;
    bc_text_clear(&lines);
}

static void sources_text(const bc_deposit_report *report, bc_text *out)
{
    size_t count;
    const bc_medium **media = bc_deposit_media(report, &count);
    if (media == NULL)
        out->failed = true;
    else
        bc_media_sources_text(count, media, out);
    free(media);
    bc_text_add(out, "\n");
}

bc_status bc_report_deposit_text(const bc_deposit_report *report, bc_text *out, bc_error *error)
{
    const bc_check_report heading = {.stack_path = report->stack_path, .stack = report->stack};
    bc_text cautions = {0};
    bc_heading_text(&heading, out);
    add_path(out, "Process", report->process_path);
    add_path(out, "Chamber", report->chamber_path);
    bc_text_add(out, "\n");
    layers_text(report, out);
    load_text(report, out);
    if (report->result->has_signal) {
        signals_text(report, out);
        bc_text_add(out, "\n");
        turnings_text(report->result, out);
        best_text(report->result, out);
    }
    sentences_text("Notes", bc_add_layer_remarks, report, out);
    sentences_text("Not known", bc_add_deposit_missing, report, out);
    sources_text(report, out);
    bc_add_deposit_cautions(&cautions, report);
    bc_lines_text("Cautions", &cautions, out);
    return bc_text_end(out, error);
}
