/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Runs of the chamber as inspections found them: written with their inspection, and read back all together.
 */
#include "database.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- writing ---- */

static bc_status add_layers(bc_record *record, const bc_record_run *run, bc_error *error)
{
    const long long entry = record->entry, witness = (long long)run->witness;
    bc_status status = BC_OK;
    for (size_t j = 0; status == BC_OK && j < run->layers; j++) {
        const bc_record_run_layer *layer = &run->layer[j];
        status = bc_record_change(record, error, "INSERT INTO witness_layer VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                                  "iiisddddid", entry, witness, (long long)j + 1, layer->material, layer->design_nm,
                                  layer->fitted_nm, layer->fitted_sigma_nm, layer->tooling, (long long)layer->against,
                                  layer->pull);
        for (size_t k = 0; status == BC_OK && k < run->layers; k++)
            status = bc_record_change(record, error, "INSERT INTO witness_information VALUES (?, ?, ?, ?, ?)", "iiiid",
                                      entry, witness, (long long)j + 1, (long long)k + 1,
                                      run->information[j * run->layers + k]);
    }
    return status;
}

bc_status bc_record_add_run(bc_record *record, const bc_record_run *run, bc_error *error)
{
    const long long entry = record->entry, witness = (long long)run->witness;
    bc_status status = bc_record_change(record, error, "INSERT INTO witness VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                                        "iissdddd", entry, witness, run->path, run->verdict, run->limit_used,
                                        run->scale, run->scale_sigma, run->layers == 0 ? NAN : run->of_instrument);
    for (size_t i = 0; status == BC_OK && i < run->findings; i++)
        status = bc_record_change(record, error, "INSERT INTO finding VALUES (?, ?, ?, ?, ?, ?, ?)", "iiisddd", entry,
                                  witness, (long long)i + 1, run->finding[i].name, run->finding[i].value,
                                  run->finding[i].limit, run->finding[i].limit_used);
    for (size_t i = 0; status == BC_OK && i < run->materials; i++)
        status = bc_record_change(record, error, "INSERT INTO witness_material VALUES (?, ?, ?, ?, ?, ?, ?)", "iisdddd",
                                  entry, witness, run->material[i].name, run->material[i].factor,
                                  run->material[i].factor_sigma, run->material[i].dn, run->material[i].dn_sigma);
    return status == BC_OK ? add_layers(record, run, error) : status;
}

/* ---- reading ---- */

static double number_at(sqlite3_stmt *statement, int column)
{
    return sqlite3_column_type(statement, column) == SQLITE_NULL ? NAN : sqlite3_column_double(statement, column);
}

/* The rows of one witness in a table, each taken by `take`. */
static bc_status each_row(bc_record *record, const char *text, sqlite3_int64 entry, bc_record_run *run,
                          bc_status (*take)(sqlite3_stmt *statement, bc_record_run *run, bc_error *error),
                          bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = true;
    bc_status status =
        bc_record_prepare(record, &statement, error, text, "ii", (long long)entry, (long long)run->witness);
    while (status == BC_OK && more) {
        status = bc_record_step(record, statement, &more, error);
        if (status == BC_OK && more)
            status = take(statement, run, error);
    }
    sqlite3_finalize(statement);
    return status;
}

static void *one_more(void *array, size_t count, size_t size)
{
    char *moved = realloc(array, (count + 1) * size);
    if (moved != NULL)
        memset(moved + count * size, 0, size);
    return moved;
}

static bc_status take_finding(sqlite3_stmt *statement, bc_record_run *run, bc_error *error)
{
    bc_record_run_finding *moved = one_more(run->finding, run->findings, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    run->finding = moved;
    moved += run->findings++;
    moved->value = number_at(statement, 1);
    moved->limit = number_at(statement, 2);
    moved->limit_used = number_at(statement, 3);
    return bc_record_text(statement, 0, &moved->name, error);
}

static bc_status take_material(sqlite3_stmt *statement, bc_record_run *run, bc_error *error)
{
    bc_record_run_material *moved = one_more(run->material, run->materials, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    run->material = moved;
    moved += run->materials++;
    moved->factor = number_at(statement, 1);
    moved->factor_sigma = number_at(statement, 2);
    moved->dn = number_at(statement, 3);
    moved->dn_sigma = number_at(statement, 4);
    return bc_record_text(statement, 0, &moved->name, error);
}

static bc_status take_layer(sqlite3_stmt *statement, bc_record_run *run, bc_error *error)
{
    bc_record_run_layer *moved = one_more(run->layer, run->layers, sizeof *moved);
    if (moved == NULL)
        return bc_fail_memory(error);
    run->layer = moved;
    moved += run->layers++;
    moved->design_nm = number_at(statement, 1);
    moved->fitted_nm = number_at(statement, 2);
    moved->fitted_sigma_nm = number_at(statement, 3);
    moved->tooling = number_at(statement, 4);
    moved->against = sqlite3_column_int(statement, 5) != 0;
    moved->pull = number_at(statement, 6);
    return bc_record_text(statement, 0, &moved->material, error);
}

static bc_status take_information(sqlite3_stmt *statement, bc_record_run *run, bc_error *error)
{
    const sqlite3_int64 layer = sqlite3_column_int64(statement, 0), other = sqlite3_column_int64(statement, 1);
    (void)error;
    if (layer >= 1 && other >= 1 && (size_t)layer <= run->layers && (size_t)other <= run->layers)
        run->information[((size_t)layer - 1) * run->layers + (size_t)other - 1] = number_at(statement, 2);
    return BC_OK;
}

static bc_status read_details(bc_record *record, sqlite3_int64 entry, bc_record_run *run, bc_error *error)
{
    bc_status status = each_row(
        record,
        "SELECT name, value, limit_value, limit_used FROM finding WHERE entry = ? AND witness = ? ORDER BY callout",
        entry, run, take_finding, error);
    if (status == BC_OK)
        status = each_row(record,
                          "SELECT material, factor, factor_sigma, dn, dn_sigma FROM witness_material WHERE entry = ? "
                          "AND witness = ? ORDER BY material",
                          entry, run, take_material, error);
    if (status == BC_OK)
        status = each_row(record,
                          "SELECT material, design_nm, fitted_nm, fitted_sigma_nm, tooling, against, pull FROM "
                          "witness_layer WHERE entry = ? AND witness = ? ORDER BY layer",
                          entry, run, take_layer, error);
    if (status != BC_OK || run->layers == 0)
        return status;
    run->information = calloc(run->layers * run->layers, sizeof *run->information);
    if (run->information == NULL)
        return bc_fail_memory(error);
    return each_row(record, "SELECT layer, other, value FROM witness_information WHERE entry = ? AND witness = ?",
                    entry, run, take_information, error);
}

static bc_status read_run(bc_record *record, sqlite3_stmt *statement, bc_record_runs *runs, bc_error *error)
{
    bc_record_run *moved = one_more(runs->run, runs->count, sizeof *moved);
    const char *number = (const char *)sqlite3_column_text(statement, 1);
    const char *date = (const char *)sqlite3_column_text(statement, 2);
    bc_status status;
    if (moved == NULL)
        return bc_fail_memory(error);
    runs->run = moved;
    moved += runs->count++;
    if (number == NULL || date == NULL)
        return bc_fail_memory(error);
    snprintf(moved->number, sizeof moved->number, "%s", number);
    snprintf(moved->date, sizeof moved->date, "%s", date);
    moved->witness = (size_t)sqlite3_column_int64(statement, 3);
    moved->limit_used = number_at(statement, 6);
    moved->scale = number_at(statement, 7);
    moved->scale_sigma = number_at(statement, 8);
    moved->of_instrument = number_at(statement, 9);
    status = bc_record_text(statement, 4, &moved->path, error);
    if (status == BC_OK)
        status = bc_record_text(statement, 5, &moved->verdict, error);
    return status == BC_OK ? read_details(record, sqlite3_column_int64(statement, 0), moved, error) : status;
}

bc_status bc_record_runs_read(bc_record *record, bc_record_runs *runs, bc_error *error)
{
    sqlite3_stmt *statement = NULL;
    bool more = true;
    bc_status status;
    *runs = (bc_record_runs){0};
    status = bc_record_prepare(record, &statement, error,
                               "SELECT id, number, date, witness, path, witness.verdict, limit_used, scale, "
                               "scale_sigma, of_instrument FROM witness JOIN entry ON entry = id ORDER BY id, witness",
                               "");
    while (status == BC_OK && more) {
        status = bc_record_step(record, statement, &more, error);
        if (status == BC_OK && more)
            status = read_run(record, statement, runs, error);
    }
    sqlite3_finalize(statement);
    if (status != BC_OK)
        bc_record_runs_clear(runs);
    return status;
}

static void clear_run(bc_record_run *run)
{
    for (size_t j = 0; j < run->layers; j++)
        free(run->layer[j].material);
    for (size_t i = 0; i < run->materials; i++)
        free(run->material[i].name);
    for (size_t i = 0; i < run->findings; i++)
        free(run->finding[i].name);
    free(run->layer);
    free(run->material);
    free(run->finding);
    free(run->information);
    free(run->path);
    free(run->verdict);
}

void bc_record_runs_clear(bc_record_runs *runs)
{
    for (size_t i = 0; i < runs->count; i++)
        clear_run(&runs->run[i]);
    free(runs->run);
    *runs = (bc_record_runs){0};
}
