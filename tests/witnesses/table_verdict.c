/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "world.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define SCATTER     0.01
#define INDEX_SIGMA 0.005
#define SCALE_SIGMA 0.01
#define SHIFT_SIGMA 0.5
#define DRAWS       2 /* of noise for each spectrum */
#define GOOD_BY     8e-4
#define OBLIQUE     (40.0 * 3.14159265358979 / 180.0)

/* What is off in a world, and whether the process and the inputs say so. */
typedef struct off {
    const char *what;
    double index, scale, shift_nm; /* standard deviations */
    bool told;
    double alike; /* each error of the noise is this much of the one before */
    double bump;  /* a narrow line on top of the worst point that no layer makes, fraction; 3 nm standard deviation */
    bool points;  /* judged point by point, as a shop may choose */
    double haze;  /* R is lost to scatter: this share at 500 nm, with the inverse square of the wavelength */
} off;

typedef struct counts {
    size_t accepted, rejected, all, on_curve;
} counts;

/* What the true curve is, [POINTS]; and the worst of it over the band. */
static double true_curve(const world *w, const off *o, const made *m, double *curve)
{
    double worst = 0.0, at_nm = 0.0;
    made plain = *m;
    plain.scale = 1.0;
    plain.shift_nm = plain.offset = 0.0;
    for (double nm = BAND_FROM_NM; nm <= BAND_TO_NM; nm += 2.0) {
        const double here = true_R(w, &plain, nm, 0.0) * (1.0 - o->haze * pow(500.0 / nm, 2.0));
        if (here > worst) {
            worst = here;
            at_nm = nm;
        }
    }
    for (size_t i = 0; i < POINTS; i++) {
        const double nm = FROM_NM + STEP_NM * (double)i;
        curve[i] = true_R(w, &plain, nm, 0.0) * (1.0 - o->haze * pow(500.0 / nm, 2.0)) +
                   o->bump * exp(-0.5 * pow((nm - at_nm) / 3.0, 2.0));
    }
    return worst + o->bump;
}

static bc_measurement noisy(world *w, const off *o, const double *exact)
{
    const double noise = w->noise;
    double error = world_normal(w, noise);
    bc_measurement scan;
    w->noise = o->alike > 0.0 ? 0.0 : noise;
    scan = scan_of(w, exact);
    w->noise = noise;
    for (size_t i = 0; o->alike > 0.0 && i < POINTS; i++) {
        scan.R.value[i] += error;
        error = o->alike * error + sqrt(1.0 - o->alike * o->alike) * world_normal(w, noise);
    }
    return scan;
}

static void judge(world *w, const off *o, const bc_inspect_setup *setup, const double *exact, counts *c)
{
    for (size_t i = 0; i < DRAWS; i++) {
        bc_measurement scan = noisy(w, o, exact);
        bc_inspect_result result = look(&scan, setup);
        c->accepted += result.verdict == BC_ACCEPT;
        c->rejected += result.verdict == BC_REJECT;
        c->on_curve += result.finding[0].judged == BC_JUDGED_CURVE;
        c->all++;
        bc_inspect_result_clear(&result);
        bc_measurement_clear(&scan);
    }
}

static void disturb(world *w, const off *o, made *m)
{
    made_scatter(w, m, SCATTER);
    for (size_t a = 0; o->index > 0.0 && a < AT_HAND; a++) {
        const double dn = world_normal(w, o->index);
        for (size_t j = 0; j < m->layers; j++)
            m->dn[j] += m->material[j] == w->medium[a].dispersion ? dn : 0.0;
    }
    m->scale += world_normal(w, o->scale);
    m->shift_nm += world_normal(w, o->shift_nm);
}

/* One row at an angle; the limit is the true worst value plus `good_by`. */
static counts at_limit(world *w, size_t runs, double aoi_rad, double good_by, const off *o)
{
    bc_process_row row = {.material = "*",
                          .tooling = 1.0,
                          .has_thickness_sigma = true,
                          .thickness_sigma = SCATTER,
                          .has_index_sigma = o->told,
                          .index_sigma = o->told ? o->index : 0.0};
    const bc_process process = {.rows = 1, .row = &row, .has_thickness_sigma = true, .has_index_sigma = o->told};
    counts c = {0};
    for (size_t r = 0; r < runs * DESIGNS; r++) {
        const size_t d = r % DESIGNS;
        double exact[POINTS];
        bc_inspect_setup setup = bc_inspect_defaults(&w->design[d]);
        made m = made_as_designed(w, d);
        bc_callout callout = {.name = "row",
                              .quantity = BC_R,
                              .statistic = BC_EXTREME,
                              .sense = BC_AT_MOST,
                              .from_nm = BAND_FROM_NM,
                              .to_nm = BAND_TO_NM,
                              .aoi_from_rad = aoi_rad,
                              .aoi_to_rad = aoi_rad,
                              .polarization = BC_POL_UNPOLARIZED};
        const bc_callouts callouts = {.count = 1, .callout = &callout};
        setup.process = &process;
        setup.callouts = &callouts;
        setup.uncertainty = w->uncertainty;
        setup.from_fit = aoi_rad > 0.0;
        setup.judge_points = o->points;
        setup.scale_uncertainty = o->told ? 2.0 * o->scale : 0.0;
        setup.wavelength_uncertainty_nm = o->told ? 2.0 * o->shift_nm : 0.0;
        disturb(w, o, &m);
        scan_exact(w, &m, exact);
        if (o->bump > 0.0 || o->haze > 0.0)
            callout.limit = true_curve(w, o, &m, exact) + good_by;
        else
            callout.limit = true_worst(w, &m, aoi_rad) + good_by;
        judge(w, o, &setup, exact, &c);
    }
    return c;
}

static void show(world *w, size_t runs, const char *what, double aoi_rad, double good_by, const off *o)
{
    counts c;
    double all;
    if (strstr(o->what, w->only) == NULL)
        return;
    c = at_limit(w, runs, aoi_rad, good_by, o);
    all = (double)c.all;
    printf("%-22s %-16s accept %5.1f %%  undecided %5.1f %%  reject %5.1f %%  of %zu, %3.0f %% on the curve\n", o->what,
           what, 100.0 * (double)c.accepted / all, 100.0 * (double)(c.all - c.accepted - c.rejected) / all,
           100.0 * (double)c.rejected / all, c.all, 100.0 * (double)c.on_curve / all);
    fflush(stdout);
}

static const off worlds[] = {
    {.what = "as the model says"},
    {.what = "index off", .index = INDEX_SIGMA, .told = true},
    {.what = "R scale off", .scale = SCALE_SIGMA, .told = true},
    {.what = "wavelength off", .shift_nm = SHIFT_SIGMA, .told = true},
    {.what = "all three off", .index = INDEX_SIGMA, .scale = SCALE_SIGMA, .shift_nm = SHIFT_SIGMA, .told = true},
    {.what = "index off, not told", .index = 2.0 * INDEX_SIGMA},
    {.what = "haze of 2 %, not told", .haze = 0.02},
    {.what = "a line of 0.04 %", .bump = 4e-4},
    {.what = "noise alike by 0.3", .alike = 0.3},
    {.what = "true, by points", .points = true},
    {.what = "line 0.04 %, points", .bump = 4e-4, .points = true},
};

#define WORLDS (sizeof worlds / sizeof *worlds)

static void heading(const world *w, size_t runs)
{
    printf(
        "Rmax <= limit, %g to %g nm; noise %.2g %%, U = %.2g %% (k = 2); %zu lots of each of %d designs, %d scans each."
        "\nStandard deviations: index %.3g, scale %.2g %%, wavelength %.2g nm; at the limit: the worst true value "
        "is the limit.\n",
        BAND_FROM_NM, BAND_TO_NM, 100.0 * w->noise, 100.0 * w->uncertainty, runs, DESIGNS, DRAWS, INDEX_SIGMA,
        100.0 * SCALE_SIGMA, SHIFT_SIGMA);
}

void table_verdict(world *w, size_t runs)
{
    w->noise = 3e-4;
    w->uncertainty = 2e-4;
    heading(w, runs);
    for (size_t i = 0; i < WORLDS; i++)
        show(w, runs, "at the limit", 0.0, 0.0, &worlds[i]);
    show(w, runs, "good by 0.08 %", 0.0, GOOD_BY, &worlds[0]);
    show(w, runs, "good by 0.08 %", 0.0, GOOD_BY, &worlds[4]);
    show(w, runs, "good by 0.08 %", 0.0, GOOD_BY, &worlds[9]);
    show(w, runs, "bad by 0.08 %", 0.0, -GOOD_BY, &worlds[0]);
}

void table_oblique(world *w, size_t runs)
{
    w->noise = 3e-4;
    w->uncertainty = 2e-4;
    printf("At 40 degrees, judged from the fit to a scan at normal incidence. ");
    heading(w, runs);
    for (size_t i = 0; i < 6; i++)
        show(w, runs, "at the limit", OBLIQUE, 0.0, &worlds[i]);
    show(w, runs, "good by 0.08 %", OBLIQUE, GOOD_BY, &worlds[1]);
    show(w, runs, "good by 0.08 %", OBLIQUE, GOOD_BY, &worlds[4]);
}
