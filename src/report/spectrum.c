/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/json.h"
#include "internal/numbers.h"
#include <bloomcoat/scatter.h>

typedef struct plane_range {
    bc_polarization first;
    bc_polarization last;
} plane_range;

static plane_range planes_of(bc_polarization polarization)
{
    static const plane_range range[] = {[BC_POL_UNPOLARIZED] = {BC_POL_UNPOLARIZED, BC_POL_UNPOLARIZED},
                                        [BC_POL_S] = {BC_POL_S, BC_POL_S},
                                        [BC_POL_P] = {BC_POL_P, BC_POL_P},
                                        [BC_POL_EACH] = {BC_POL_S, BC_POL_P}};
    return range[polarization];
}

typedef struct scattered {
    double R, T;
} scattered;

/* A spectrum that could be computed has its indices in the tables: the shares cannot fail. */
static scattered scatter_at(const bc_spectrum_report *report, size_t angle, bc_polarization plane, size_t i)
{
    const bc_spectrum *spectrum = &report->spectrum[angle];
    double reflected = 0.0, transmitted = 0.0;
    bc_scatter_shares(report->stack, &report->stack->substrate, report->roughness_nm, spectrum->wavelength_nm[i],
                      report->aoi_rad[angle], &reflected, &transmitted, NULL);
    return (scattered){reflected * spectrum->R[plane][i], transmitted * spectrum->T[plane][i]};
}

static void write_curve(const bc_spectrum_report *report, size_t angle, bc_polarization plane, bc_text *out)
{
    const bc_spectrum *spectrum = &report->spectrum[angle];
    for (size_t i = 0; i < spectrum->count && !out->failed; i++) {
        bc_text_add(out, "%.12g,%.12g,%s,%.12g,%.12g,%.12g", spectrum->wavelength_nm[i],
                    bc_degrees(report->aoi_rad[angle]), bc_polarization_word(plane), 100.0 * spectrum->R[plane][i],
                    100.0 * spectrum->T[plane][i], 100.0 * spectrum->A[plane][i]);
        if (report->roughness_nm > 0.0) {
            const scattered lost = scatter_at(report, angle, plane, i);
            bc_text_add(out, ",%.12g,%.12g", 100.0 * lost.R, 100.0 * lost.T);
        }
        bc_text_add(out, "\n");
    }
}

bc_status bc_report_spectrum_csv(const bc_spectrum_report *report, bc_text *out, bc_error *error)
{
    const plane_range planes = planes_of(report->polarization);
    bc_text_add(out, "wavelength_nm,aoi_deg,polarization,R_percent,T_percent,A_percent%s\n",
                report->roughness_nm > 0.0 ? ",R_scattered_percent,T_scattered_percent" : "");
    for (size_t angle = 0; angle < report->angles; angle++)
        for (bc_polarization plane = planes.first; plane <= planes.last; plane++)
            write_curve(report, angle, plane, out);
    return bc_text_end(out, error);
}

static void add_scattered(bc_json *json, cJSON *curve, const bc_spectrum_report *report, size_t angle,
                          bc_polarization plane)
{
    cJSON *R = bc_json_array(json, curve, "R_scattered_percent");
    cJSON *T = bc_json_array(json, curve, "T_scattered_percent");
    for (size_t i = 0; i < report->spectrum[angle].count && !json->failed; i++) {
        const scattered lost = scatter_at(report, angle, plane, i);
        bc_json_number(json, R, NULL, 100.0 * lost.R, 12);
        bc_json_number(json, T, NULL, 100.0 * lost.T, 12);
    }
}

static void add_curve(bc_json *json, cJSON *curves, const bc_spectrum_report *report, size_t angle,
                      bc_polarization plane)
{
    const bc_spectrum *spectrum = &report->spectrum[angle];
    cJSON *curve = bc_json_object(json, curves, NULL);
    bc_json_number(json, curve, "aoi_deg", bc_degrees(report->aoi_rad[angle]), 12);
    bc_json_string(json, curve, "polarization", bc_polarization_word(plane));
    bc_json_numbers(json, curve, "R_percent", spectrum->count, spectrum->R[plane], 100.0);
    bc_json_numbers(json, curve, "T_percent", spectrum->count, spectrum->T[plane], 100.0);
    bc_json_numbers(json, curve, "A_percent", spectrum->count, spectrum->A[plane], 100.0);
    if (report->roughness_nm > 0.0)
        add_scattered(json, curve, report, angle, plane);
}

bc_status bc_report_spectrum_json(const bc_spectrum_report *report, bc_text *out, bc_error *error)
{
    const plane_range planes = planes_of(report->polarization);
    bc_json json;
    cJSON *curves;
    bc_json_open(&json);
    bc_json_numbers(&json, json.root, "wavelength_nm", report->spectrum[0].count, report->spectrum[0].wavelength_nm,
                    1.0);
    if (report->roughness_nm > 0.0)
        bc_json_number(&json, json.root, "roughness_nm", report->roughness_nm, 12);
    curves = bc_json_array(&json, json.root, "curves");
    for (size_t angle = 0; angle < report->angles; angle++)
        for (bc_polarization plane = planes.first; plane <= planes.last; plane++)
            add_curve(&json, curves, report, angle, plane);
    return bc_json_close(&json, out, error);
}
