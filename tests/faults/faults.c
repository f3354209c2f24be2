/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SEARCH "--callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --effort 0.01 --prove 0 "

const char *const fault_lines[] = {
    "--help",
    "check --help",
    "help yield",
    "check",
    "check stack.csv --callouts wrong.csv",
    "check stack.csv --callouts callouts.csv --substrate nosuchglass --quiet",
    "spectrum stack.csv --from 500 --to 520 --step 10 --quiet -o out.csv",
    "spectrum stack.csv --from 500 --to 520 --step 10 --back same --polarization each --aoi 0,30 --json --quiet",
    "check table.csv --callouts callouts.csv --tables . -o out.txt",
    "check stack.csv --callouts part.csv --back stack.csv --json",
    "callouts R<1%@550nm --json",
    "check stack.csv --callouts callouts.csv --shop . --quiet",
    "check stack.csv stack.csv --callouts callouts.csv --insert 1=1.38:20 --changed-stack out.csv",
    "check stack.csv stack.csv --callouts callouts.csv --json",
    "spectrum stack.csv stack.csv --step 100 --scale 1.02 --json",
    "sensitivity stack.csv --callouts callouts.csv --remove 1",
    "sensitivity stack.csv --callouts callouts.csv --json",
    "shift stack.csv --callouts callouts.csv --packing 0.9 --dndt 1e-5 --to-c 60",
    "shift stack.csv --callouts callouts.csv --packing 0.9 --json",
    "colour stack.csv --aoi 0,45 --observer 10",
    "materials layer --tables . --quiet",
    "materials layer --tables . --json -o out.json",
    "materials --quiet",
    "refine stack.csv --callouts callouts.csv --quiet -o out.csv",
    "refine stack.csv --callouts callouts.csv --json",
    "draft " SEARCH "--max-layers 2 --threads 1 --quiet -o out.csv",
    "draft " SEARCH "--max-layers 1 --threads 1 -o out.csv --json",
    "draft " SEARCH "--max-layers 2 --threads 1 --start two.csv --quiet --process process.csv --runs 20 -o out.csv",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 20 --threads 1 -o out.txt",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 20 --threads 1 --json",
    "deposit stack.csv --process process.csv --chamber chamber.csv --monitor-nm 500 --sheet-csv out.csv --signal-csv "
    "out.json -o out.txt",
    "deposit stack.csv --process process.csv --monitor-nm 500 --json",
    "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 --zones 5 --thickness-profile "
    "profile.csv -o out.txt",
    "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 --zones 5 --json",
    "inspect scan.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05 -o out.txt",
    "inspect scan.csv second.csv --stack stack.csv --callouts callouts.csv --process process.csv --json",
    "index scan.csv --substrate 1.52 --layer-nm 300 --coverage 1 -o out.txt",
    "quote --callouts hard.csv --substrate 1.52 --materials 1.38,2.1 --process process.csv --chamber chamber.csv "
    "--quantity 40 --part-diameter-mm 30 --threads 1 --effort 0.05 --max-layers 1 --prove 0 --quiet -o out.txt",
    "quote two.request.csv --threads 1 --effort 0.05 --max-layers 1 --prove 0 --quiet --save out.csv -o out.txt",
    "record show D-0001 --shop recorded",
    "record list --shop recorded --json",
    "record reopen D-0001 --shop recorded",
    "record check --shop recorded",
    "standard add BBAR stack.csv --callouts callouts.csv --shop recorded --replace",
    "process learn scan.csv second.csv third.csv --stack stack.csv --process process.csv --json",
    "process chart scan.csv second.csv third.csv --stack stack.csv --callouts callouts.csv --json",
    "desk --no-browser --seconds 0 --quiet -o /dev/null",
};
const size_t fault_line_count = sizeof fault_lines / sizeof fault_lines[0];

bool fault_keeps_best(const char *line)
{
    return strncmp(line, "draft ", 6) == 0 || strncmp(line, "refine ", 7) == 0 || strncmp(line, "quote ", 6) == 0;
}

/* About what stack.csv reflects. */
static void write_scan(const char *name, int seed)
{
    char text[1200] = "nm,%R\n";
    for (int nm = 420; nm <= 680; nm += 10)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%d,0.%d\n", nm, 15 + (nm * seed) % 11);
    scratch_write(name, text);
}

void fault_write_inputs(void)
{
    write_inputs();
    scratch_write("layer.csv",
                  "# kind: layer\n# source: invented\nwavelength_nm,n,k\n300,1.4,0.001\n500,1.39,0\n900,1.38,0\n");
    scratch_write("table.csv", "role,material,thickness_nm\nincident,air,\nlayer,layer,97\nsubstrate,1.52,\n");
    scratch_write("two.csv",
                  "role,material,thickness_nm\nincident,air,\nlayer,1.38,97\nlayer,2.1,30\nsubstrate,1.52,\n");
    scratch_write("wrong.csv", "name,quantity\nband,R\n");
    scratch_write("process.csv", "material,rate_nm_per_s,thickness_sigma_percent,index_sigma\n*,0.5,2,0.01\n");
    scratch_write("profile.csv", "radius_mm,thickness_percent\n0,100\n6,97\n12,90\n");
    write_scan("scan.csv", 7);
    write_scan("third.csv", 5);
    write_scan("second.csv", 3); /* a lot of two: the same scan twice would count once */
    scratch_write("chamber.csv", "key,value\nload_diameter_mm,640\npump_down_min,70\n");
    scratch_write("two.request.csv", "key,value\nmaterials,1.38\nsurface,S1\nsubstrate,1.52\ncallout,R<3%@550nm\n"
                                     "surface,S2\nsubstrate,1.6\ncallout,R<2%@550nm\n");
    if (mkdir(scratch_path("recorded"), 0700) == 0) {
        scratch_write("recorded/shop.csv", "key,value\nvalidity_days,30\n");
        run("refine stack.csv --callouts callouts.csv --shop recorded --record --quiet");
        /* One more than the coating: the one before that is kept, so that any number of runs leaves the same. */
        run("standard add BBAR stack.csv --callouts callouts.csv --shop recorded");
        run("standard add BBAR stack.csv --callouts callouts.csv --shop recorded --replace");
    }
    scratch_write("out.csv", "as it was");
    scratch_write("out.txt", "as it was");
    scratch_write("out.json", "as it was");
}

static void set_number(const char *name, long value)
{
    char text[32];
    snprintf(text, sizeof text, "%ld", value);
    setenv(name, text, 1);
}

fault_outcome fault_run(const fault *what, const char *line)
{
    char count[PATH_SIZE];
    fault_outcome result = {.calls = -1};
    FILE *file;
    snprintf(count, sizeof count, "%s.count", scratch_folder());
    unlink(count);
    set_number("BC_FAULT_AT", what->at);
    set_number("BC_FAULT_ERRNO", what->number);
    set_number("BC_FAULT_SIGNAL", what->signal);
    setenv("BC_FAULT_CALL", what->call, 1);
    setenv("BC_FAULT_COUNT", count, 1);
    if (what->lasts)
        setenv("BC_FAULT_LASTS", "1", 1);
    setenv("LD_PRELOAD", FAULT_LIBRARY, 1);
    result.run = run(line);
    unsetenv("LD_PRELOAD");
    unsetenv("BC_FAULT_LASTS");
    file = fopen(count, "r");
    if (file != NULL) {
        if (fscanf(file, "%ld %ld %d", &result.calls, &result.live, &result.in_gsl) != 3)
            result.calls = -1;
        fclose(file);
    }
    unlink(count);
    return result;
}

#define SITES BC_BUILD_DIR "/tests/fault-sites"

void fault_forget_sites(void)
{
    unlink(SITES);
}

size_t fault_sites(const char *line, size_t most, long *first_call)
{
    char count[PATH_SIZE];
    long ignored[3];
    size_t sites = 0;
    FILE *file;
    snprintf(count, sizeof count, "%s.count", scratch_folder());
    set_number("BC_FAULT_AT", 0);
    setenv("BC_FAULT_CALL", "memory", 1);
    setenv("BC_FAULT_COUNT", count, 1);
    setenv("BC_FAULT_SITES", SITES, 1);
    setenv("LD_PRELOAD", FAULT_LIBRARY, 1);
    run(line);
    unsetenv("LD_PRELOAD");
    unsetenv("BC_FAULT_SITES");
    file = fopen(count, "r");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_eq(fscanf(file, "%ld %ld %ld", &ignored[0], &ignored[1], &ignored[2]), 3);
    while (sites < most && fscanf(file, "%ld", &first_call[sites]) == 1)
        sites++;
    fclose(file);
    unlink(count);
    return sites;
}

static bool asked(const char *word)
{
    const char *which = getenv("BC_FAULTS");
    return which != NULL && strcmp(which, word) == 0;
}

bool fault_all(void)
{
    return asked("all");
}

bool fault_at_sites(void)
{
    return asked("sites");
}

long fault_next(long at)
{
    return fault_all() ? at + 1 : 2 * at;
}

void fault_tell(const char *what, size_t line, long runs, long as_usual)
{
    if (fault_all() || fault_at_sites())
        printf("%-22s %6ld failed (%ld without a trace): %s\n", what, runs, as_usual, fault_lines[line]);
}
