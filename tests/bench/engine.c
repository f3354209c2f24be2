/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define REPEATS     15 /* the fastest of so many counts: the others were disturbed */
#define WAVELENGTHS 301
#define LAYERS      8

double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* A surface of alternating layers on glass. */
typedef struct specimen {
    size_t wavelengths, layers;
    double *wavelength_nm, *one, *glass, *low, *high, *absorption;
    unsigned *material;
    double *thickness_nm;
    bc_surface *surface;
} specimen;

static double *filled(size_t count, double from, double step)
{
    double *array = malloc(count * sizeof *array);
    for (size_t i = 0; array != NULL && i < count; i++)
        array[i] = from + step * (double)i;
    return array;
}

static specimen open_specimen(size_t wavelengths, size_t layers, double aoi_rad, double k, bc_path path)
{
    specimen s = {.wavelengths = wavelengths, .layers = layers};
    bc_index media[2];
    bc_surface_setup setup;
    s.wavelength_nm = filled(wavelengths, 400.0, 300.0 / (double)wavelengths);
    s.one = filled(wavelengths, 1.0, 0.0);
    s.glass = filled(wavelengths, 1.52, 0.0);
    s.low = filled(wavelengths, 1.38, 0.0);
    s.high = filled(wavelengths, 2.35, 0.0);
    s.absorption = filled(wavelengths, k, 0.0);
    s.material = malloc(layers * sizeof *s.material);
    s.thickness_nm = filled(layers, 20.0, 0.0);
    for (size_t j = 0; j < layers; j++) {
        s.material[j] = (unsigned)(j % 2);
        s.thickness_nm[j] += (double)(37 * j % 90);
    }
    media[0] = (bc_index){s.low, k > 0.0 ? s.absorption : NULL};
    media[1] = (bc_index){s.high, k > 0.0 ? s.absorption : NULL};
    setup = (bc_surface_setup){.wavelengths = wavelengths,
                               .wavelength_nm = s.wavelength_nm,
                               .aoi_rad = aoi_rad,
                               .incident = {s.one, NULL},
                               .substrate = {s.glass, NULL},
                               .materials = 2,
                               .material = media,
                               .max_layers = layers,
                               .path = path};
    if (bc_surface_alloc(&setup, &s.surface, NULL) != BC_OK)
        s.surface = NULL;
    return s;
}

static void close_specimen(specimen *s)
{
    bc_surface_free(s->surface);
    free(s->wavelength_nm);
    free(s->one);
    free(s->glass);
    free(s->low);
    free(s->high);
    free(s->absorption);
    free(s->material);
    free(s->thickness_nm);
}

/* Nanoseconds per layer and wavelength of one evaluation. */
static double time_engine(const specimen *s, bc_want want)
{
    const size_t work = s->layers * s->wavelengths, rounds = 1 + 400000 / work;
    double fastest = INFINITY;
    for (int repeat = 0; repeat < REPEATS; repeat++) {
        const double start = seconds();
        for (size_t r = 0; r < rounds; r++)
            bc_surface_evaluate(s->surface, s->layers, s->material, s->thickness_nm, want);
        fastest = fmin(fastest, (seconds() - start) / (double)rounds);
    }
    return fastest / (double)work * 1e9;
}

static double time_plain(const specimen *s, double k)
{
    double n[LAYERS], absorption[LAYERS], R[WAVELENGTHS], fastest = INFINITY;
    for (size_t j = 0; j < LAYERS; j++) {
        n[j] = j % 2 == 0 ? 1.38 : 2.35;
        absorption[j] = k;
    }
    for (int repeat = 0; repeat < REPEATS; repeat++) {
        const double start = seconds();
        for (int r = 0; r < 20; r++)
            plain_spectrum(WAVELENGTHS, s->wavelength_nm, 1.52, LAYERS, n, absorption, s->thickness_nm, R);
        fastest = fmin(fastest, (seconds() - start) / 20.0);
    }
    return fastest / (LAYERS * WAVELENGTHS) * 1e9;
}

static const char *const path_name[] = {"chosen", "portable", "AVX2", "AVX-512"};

static void compare_paths(void)
{
    specimen s = open_specimen(WAVELENGTHS, LAYERS, 0.0, 0.0, BC_PATH_AUTO);
    const double plain = time_plain(&s, 0.0);
    close_specimen(&s);
    printf("8 layers, 301 wavelengths, one thread; plain C99 complex: %.1f ns per layer and wavelength\n", plain);
    printf("%-9s %14s %12s %12s %12s %12s\n", "path", "times plain", "R and T ns", "derivatives", "absorbing",
           "deriv. abs.");
    for (int path = BC_PATH_PORTABLE; path <= BC_PATH_AVX512; path++) {
        double clear, gradient, absorbing, absorbing_gradient;
        s = open_specimen(WAVELENGTHS, LAYERS, 0.0, 0.0, (bc_path)path);
        if (s.surface == NULL) {
            printf("%-9s this processor cannot run it\n", path_name[path]);
            close_specimen(&s);
            continue;
        }
        clear = time_engine(&s, BC_WANT_VALUES);
        gradient = time_engine(&s, BC_WANT_GRADIENT);
        close_specimen(&s);
        s = open_specimen(WAVELENGTHS, LAYERS, 0.0, 0.01, (bc_path)path);
        absorbing = time_engine(&s, BC_WANT_VALUES);
        absorbing_gradient = time_engine(&s, BC_WANT_GRADIENT);
        close_specimen(&s);
        printf("%-9s %13.1fx %12.2f %11.2fx %11.2fx %11.2fx\n", path_name[path], plain / clear, clear, gradient / clear,
               absorbing / clear, absorbing_gradient / absorbing);
    }
    printf(
        "(derivatives: all layers, against one spectrum; absorbing: against clear; deriv. abs.: against absorbing)\n");
}

static void compare_angles(void)
{
    specimen s = open_specimen(WAVELENGTHS, LAYERS, 0.0, 0.0, BC_PATH_AUTO);
    const double normal = time_engine(&s, BC_WANT_VALUES);
    double oblique;
    close_specimen(&s);
    s = open_specimen(WAVELENGTHS, LAYERS, 0.5, 0.0, BC_PATH_AUTO);
    oblique = time_engine(&s, BC_WANT_VALUES);
    printf("s and p at an angle: %.2f times normal incidence; their derivatives %.2f times that\n", oblique / normal,
           time_engine(&s, BC_WANT_GRADIENT) / oblique);
    close_specimen(&s);
}

static void scale_layers(void)
{
    static const size_t layers[] = {10, 30, 100, 300, 1000};
    double first = 0.0;
    printf("time per layer and wavelength against 10 layers, 301 wavelengths:");
    for (size_t f = 0; f < sizeof layers / sizeof *layers; f++) {
        specimen s = open_specimen(WAVELENGTHS, layers[f], 0.0, 0.0, BC_PATH_AUTO);
        const double time = time_engine(&s, BC_WANT_VALUES);
        first = f == 0 ? time : first;
        printf(" %zu: %.3f", layers[f], time / first);
        close_specimen(&s);
    }
    printf("\n");
}

static void scale_wavelengths(void)
{
    static const size_t wavelengths[] = {104, 304, 1000, 3000, 10000};
    double first = 0.0;
    printf("time per layer and wavelength against 104 wavelengths, 8 layers:");
    for (size_t w = 0; w < sizeof wavelengths / sizeof *wavelengths; w++) {
        specimen s = open_specimen(wavelengths[w], LAYERS, 0.0, 0.0, BC_PATH_AUTO);
        const double time = time_engine(&s, BC_WANT_VALUES);
        first = w == 0 ? time : first;
        printf(" %zu: %.3f", wavelengths[w], time / first);
        close_specimen(&s);
    }
    printf("\n");
}

void bench_engine(void)
{
    printf("== engine\n");
    compare_paths();
    compare_angles();
    scale_layers();
    scale_wavelengths();
}

void bench_fixed_spectrum(void)
{
    /* The portable path: an instruction counter need not know the newest registers. */
    specimen s = open_specimen(WAVELENGTHS, LAYERS, 0.5, 0.0, BC_PATH_PORTABLE);
    bc_surface_evaluate(s.surface, s.layers, s.material, s.thickness_nm, BC_WANT_GRADIENT);
    close_specimen(&s);
}
