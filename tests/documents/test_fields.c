/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define PAGE MAN_DIR "/bloomcoat-json.5"

/* One field of one command as the page has it. */
typedef struct field {
    char command[WORD_SIZE];
    char path[WORD_SIZE];
    bool printed;
} field;

static field documented[1500];
static size_t fields;

static void add_field(const char *command, const char *path, size_t length)
{
    ck_assert_uint_lt(fields, sizeof documented / sizeof documented[0]);
    ck_assert_uint_lt(length, WORD_SIZE);
    field *fresh = &documented[fields++];
    memset(fresh, 0, sizeof *fresh);
    strcpy(fresh->command, command);
    memcpy(fresh->path, path, length);
}

/* The commands that a heading names, up to its colon; false: it is of no fields. */
static bool read_heading(const char *heading, size_t length, words *commands)
{
    const words *known = all_commands();
    char lower[LINE_LENGTH];
    char *rest = lower, *word;
    commands->count = 0;
    for (size_t i = 0; i < length; i++)
        lower[i] = (char)(heading[i] >= 'A' && heading[i] <= 'Z' ? heading[i] + ('a' - 'A') : heading[i]);
    lower[length] = '\0';
    lower[strcspn(lower, ":")] = '\0';
    while ((word = strtok_r(rest, ", ", &rest)) != NULL) {
        if (times_in(known, word) != 1)
            return false;
        add_word(commands, word, strlen(word));
    }
    return true;
}

static void read_fields(void)
{
    static words commands;
    char *text = read_file(PAGE);
    bool inside = false;
    fields = 0;
    for (const char *at = text; *at != '\0'; at += strcspn(at, "\n"), at += *at == '\n') {
        const size_t length = strcspn(at, "\n");
        if (strncmp(at, ".SH ", 4) == 0)
            inside = read_heading(at + 4, length - 4, &commands);
        if (!inside || strncmp(at, ".B ", 3) != 0)
            continue;
        for (const char *name = at + 3; name < at + length;) {
            const size_t size = strcspn(name, ",\n");
            for (size_t v = 0; v < commands.count; v++)
                add_field(commands.word[v], name, size);
            name += size + strspn(name + size, ", ");
        }
    }
    free(text);
    ck_assert_uint_gt(fields, 300);
}

static field *find_field(const char *command, const char *path)
{
    for (size_t i = 0; i < fields; i++)
        if (strcmp(documented[i].command, command) == 0 && strcmp(documented[i].path, path) == 0)
            return &documented[i];
    return NULL;
}

/* Whether something inside `path` is documented, which is null as a whole. */
static bool has_inside(const char *command, const char *path)
{
    const size_t length = strlen(path);
    for (size_t i = 0; i < fields; i++)
        if (strcmp(documented[i].command, command) == 0 && strncmp(documented[i].path, path, length) == 0 &&
            (documented[i].path[length] == '.' || documented[i].path[length] == '['))
            return true;
    return false;
}

static void take(const char *command, const char *path, const cJSON *value)
{
    static const char witness[] = "witnesses[].";
    field *found;
    if (strncmp(path, witness, sizeof witness - 1) == 0) /* the page says: as for one */
        path += sizeof witness - 1;
    found = find_field(command, path);
    if (found != NULL)
        found->printed = true;
    else
        ck_assert_msg(cJSON_IsNull(value) && has_inside(command, path), "%s prints %s, of which " PAGE " says nothing",
                      command, path);
}

static void walk(const char *command, const char *path, const cJSON *value)
{
    char inside[WORD_SIZE * 2];
    if (!cJSON_IsObject(value) && !cJSON_IsArray(value)) {
        take(command, path, value);
        return;
    }
    for (const cJSON *item = value->child; item != NULL; item = item->next) {
        if (cJSON_IsArray(value))
            snprintf(inside, sizeof inside, "%s[]", path);
        else if (strcmp(path, "surfaces[]") == 0 && strcmp(item->string, "name") != 0)
            snprintf(inside, sizeof inside, "%s", item->string); /* a quote like any other */
        else
            snprintf(inside, sizeof inside, "%s%s%s", path, path[0] == '\0' ? "" : ".", item->string);
        walk(command, inside, item);
    }
}

#define STEEP        " --radius-mm 15 --shape concave --clear-aperture-mm 14 --angle-reference axis --axial-angle 5 --zones 5 "
#define CURVED       STEEP "--callouts band.csv"
#define QUICK        " --max-layers 2 --effort 0.05"
#define UNPROVED     " --prove 0"
#define STACK        BC_SOURCE_DIR "/examples/window-stack.csv"
#define PROCESS      " --process " BC_SOURCE_DIR "/examples/process.csv"
#define CHAMBER      " --chamber " BC_SOURCE_DIR "/examples/chamber.csv"
#define WITNESS(run) BC_SOURCE_DIR "/examples/window-witness-" run ".txt"
#define HISTORY(run) BC_SOURCE_DIR "/examples/history/run-0" run ".txt "
#define LATER(run)   BC_SOURCE_DIR "/examples/history/run-2" run ".txt "
#define WINDOW                                                                                                         \
    " --column 2 --stack " STACK " --callouts " BC_SOURCE_DIR                                                          \
    "/examples/window-callouts.csv --aoi 8 --uncertainty-percent 0.05"

/* Together they print every field. */
static const char *const lines[] = {
    "spectrum " STACK " --step 100 --roughness-nm 1",
    "check " STACK " --callouts part.csv --roughness-nm 1",
    "check " STACK " " STACK " --callouts part.csv --set 1+1%",
    "spectrum " STACK " " STACK " --scale 1.01 --step 100",
    "sensitivity one.csv --callouts part.csv",
    "sensitivity one.csv" CURVED,
    "shift " STACK " --callouts part.csv --packing 0.9",
    "colour " STACK " --runs 50" PROCESS,
    "draft --callouts part.csv --substrate 517642 --materials MgF2,HfO2,Al2O3 --max-layers 4 --effort 0.1 --prove 2 "
    "--runs 60" PROCESS,
    "draft --substrate 805254 --materials MgF2,HfO2" QUICK UNPROVED CURVED,
    "refine " STACK " --callouts part.csv",
    "refine " STACK CURVED,
    "yield bare.csv --callouts part.csv --runs 60" PROCESS,
    "yield one.csv --runs 60" PROCESS STEEP "--callouts face.csv",
    "quote --callouts hard.csv --substrate 517642 --materials MgF2,HfO2 --quantity 100 --part-diameter-mm 40 "
    "--max-process-c 250" QUICK UNPROVED PROCESS CHAMBER,
    "quote --callouts part.csv --substrate 517642 --materials MgF2,HfO2" QUICK,
    "quote --substrate 517642 --materials MgF2,HfO2" QUICK UNPROVED CURVED,
    "quote --substrate 805254 --materials MgF2 --radius-mm 15 --clear-aperture-mm 20 --angle-reference axis --zones 5 "
    "--callouts "
    "face.csv" QUICK UNPROVED,
    "quote " BC_SOURCE_DIR "/examples/camera.request.csv" QUICK UNPROVED,
    "deposit " STACK " --monitor-nm 450,520" PROCESS CHAMBER,
    "deposit " STACK,
    "lens " STACK " --roughness-nm 1" STEEP "--callouts face.csv",
    "inspect " WITNESS("7") " --from-fit --next-process next.csv --next-stack next-stack.csv" PROCESS WINDOW,
    "inspect " WITNESS("7") " " WITNESS("8") " --next-process lot.csv" PROCESS WINDOW,
    "inspect " WITNESS("7") " " WITNESS("7") WINDOW,
    "inspect both.csv --quantity R --t-column 3" WINDOW,
    "inspect twins-R.csv --column R_percent --stack twins.csv --callouts face.csv --uncertainty-percent 0.2",
    "inspect eye-R.csv --column R_percent --stack one.csv --callouts face.csv --uncertainty-percent 0.2",
    "index " BC_SOURCE_DIR "/examples/oxide-layer-R.txt --substrate fused-silica --layer-nm 500 --back uncoated "
    "--substrate-mm 1",
    "inspect sample.csv --column 2 --column 3 --unit counts --quantity R --reference-scan mirror.csv --reference "
    "table.csv --dark-scan dark.csv "
    "--bare-scan glass.csv --stack twins.csv --callouts face.csv --uncertainty-percent 0.2",
    "inspect spiked.csv --column R_percent --stack one.csv --uncertainty-percent 0.1",
    "callouts R<1%@550nm;chroma<=8;a*b*(0)(0)+-(9)(9);dE00<=9from(9)(0)(0)",
    "shop check " BC_SOURCE_DIR "/examples/shop",
    "standard check --shop " BC_SOURCE_DIR "/examples/shop",
    "quote --callouts face.csv --substrate 785257 --shop " BC_SOURCE_DIR "/examples/shop",
    "refine one.csv --callouts face.csv --shop shop --record",
    "inspect " WITNESS("7") " --lot-size 500 --plan 1" WINDOW,
    "process learn " HISTORY("1") HISTORY("2") HISTORY("3") HISTORY("4")
        HISTORY("5") "--fit-index --stack " STACK PROCESS,
    "process chart " LATER("1") LATER("2") LATER("3") LATER("4") LATER("5") LATER("6") LATER("7") "--baseline 6" WINDOW,
    "record list --shop shop",
    "record show D-0001 --shop shop",
    "record reopen D-0001 --shop shop",
    "record check --shop damaged",
    "desk --no-browser --seconds 0",
    "materials",
    "materials MgF2",
};

/* A detector's numbers of so much light, each scanned twice, so that its noise is known. */
static void write_signal(const char *name, double share)
{
    static char text[8000];
    size_t used = (size_t)snprintf(text, sizeof text, "nm;one;two\n");
    for (int nm = 400; nm <= 700; nm += 5)
        used += (size_t)snprintf(text + used, sizeof text - used, "%d;%.1f;%.1f\n", nm,
                                 30000.0 * share + 100.0 + nm % 7, 30000.0 * share + 102.0 - nm % 11);
    scratch_write(name, text);
}

/* A scan of one layer with an outlier and a missing value. */
static void write_spiked(void)
{
    char *text = strdup(run("spectrum one.csv --from 400 --to 700 --step 5").out), *cell;
    ck_assert_ptr_nonnull(text);
    cell = strstr(text, "\n550,");
    ck_assert_ptr_nonnull(cell);
    for (int comma = 0; comma < 3; comma++)
        cell = strchr(cell, ',') + 1;
    cell[0] = '9';
    cell = strstr(text, "\n600,");
    ck_assert_ptr_nonnull(cell);
    for (int comma = 0; comma < 3; comma++)
        cell = strchr(cell, ',') + 1;
    memset(cell, '*', strcspn(cell, ","));
    scratch_write("spiked.csv", text);
    free(text);
}

/* A record with an entry that has no result. */
static void write_damaged(void)
{
    sqlite3 *database;
    ck_assert_int_le(run("refine one.csv --callouts face.csv --shop damaged --record --quiet").code, 1);
    ck_assert_int_eq(sqlite3_open(scratch_path("damaged/record.db"), &database), SQLITE_OK);
    ck_assert_int_eq(sqlite3_exec(database, "DELETE FROM output", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(database);
}

static void write_files(void)
{
    char both[2000] = "Wavelength (nm),R (%),T (%)\n";
    scratch_write("part.csv",
                  "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope,limit\n"
                  "through,T,min,>= 90,550,560,0,unpolarized,part,\nface,R,max,<= 2,450,650,0,unpolarized,surface,\n"
                  "tint,R,chroma,,,,0,unpolarized,surface,<= 60\n"
                  "oval,R,ab,,,,0,unpolarized,surface,0 0 +- 60 60\n"
                  "master,R,difference,,,,0,unpolarized,surface,<= 60 from 10 0 0\n");
    scratch_write("face.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,limit\n"
                              "band,R,max,<= 1.2,450,650,0,unpolarized,\ntint,R,a,,,,0,unpolarized,-60..60\n"
                              "oval,R,ab,,,,0,unpolarized,0 0 +- 60 60\n"
                              "master,R,difference,,,,0,unpolarized,<= 60 from 10 0 0\n");
    scratch_write("band.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 1.2,450,650,0,unpolarized\n");
    scratch_write("hard.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 0.25,430,670,0..20,unpolarized\n");
    scratch_write("one.csv", "role,material,thickness_nm\nincident,air,\nlayer,MgF2,96\nsubstrate,517642,\n");
    scratch_write("bare.csv", "role,material,thickness_nm\nincident,air,\nlayer,MgF2,96\nlayer,Al2O3,10\n"
                              "substrate,517642,\n");
    /* two layers that no scan tells apart */
    scratch_write("twins.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,50\nlayer,1.3801,45\n"
                               "layer,2.0,120\nsubstrate,1.52,\n");
    expect(0, NULL, "spectrum twins.csv --from 400 --to 700 --step 5 --quiet -o twins-R.csv");
    expect(0, NULL, "spectrum one.csv --from 380 --to 780 --step 5 --quiet -o eye-R.csv");
    for (int nm = 400; nm <= 700; nm += 10) {
        const size_t length = strlen(both);
        if (nm == 600)
            snprintf(both + length, sizeof both - length, "%d,*,*\n", nm);
        else
            snprintf(both + length, sizeof both - length, "%d,%.3f,%.3f\n", nm, 0.4 + nm % 40 * 0.0025,
                     99.5 - nm % 40 * 0.0025);
    }
    scratch_write("both.csv", both);
    scratch_write("table.csv", "wavelength_nm,R_percent,uncertainty_percent\n400,88,0.4\n700,88,0.4\n");
    ck_assert_int_eq(mkdir(scratch_path("shop"), 0700), 0);
    ck_assert_int_eq(mkdir(scratch_path("damaged"), 0700), 0);
    scratch_write("shop/shop.csv", "key,value\nvalidity_days,30\n");
    scratch_write("damaged/shop.csv", "key,value\nvalidity_days,30\n");
    write_damaged();
    write_signal("sample.csv", 0.01);
    write_signal("mirror.csv", 0.88);
    write_signal("glass.csv", 0.0426);
    write_signal("dark.csv", 0.0);
    write_spiked();
}

START_TEST(every_field_is_documented_and_every_documented_field_printed)
{
    write_files();
    read_fields();
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        char line[1500], command[WORD_SIZE];
        outcome result;
        cJSON *root;
        snprintf(line, sizeof line, "%s --json --quiet", lines[i]);
        snprintf(command, sizeof command, "%.*s", (int)strcspn(line, " "), line);
        result = run(line);
        ck_assert_msg(result.code == 0 || result.code == 1, "%s: %s", line, result.err);
        root = parse(result.out);
        walk(command, "", root);
        cJSON_Delete(root);
    }
    for (size_t i = 0; i < fields; i++) {
        ck_assert_msg(documented[i].printed, PAGE ": %s prints no %s", documented[i].command, documented[i].path);
        for (size_t k = 0; k < i; k++)
            ck_assert_msg(strcmp(documented[i].command, documented[k].command) != 0 ||
                              strcmp(documented[i].path, documented[k].path) != 0,
                          PAGE ": %s of %s stands there twice", documented[i].path, documented[i].command);
    }
}
END_TEST

Suite *fields_suite(void)
{
    Suite *suite = suite_create("fields");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 600); /* with the sanitizers on a busy machine */
    if (MANY_OR_FEW(true, false))  /* what is looked at is words; the suites of cli and report write the same JSON */
        tcase_add_test(tcase, every_field_is_documented_and_every_documented_field_printed);
    suite_add_tcase(suite, tcase);
    return suite;
}
