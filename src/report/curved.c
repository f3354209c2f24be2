/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "internal/curved.h"
#include "internal/numbers.h"
#include "internal/parts.h"
#include <math.h>

static double edge_mm(const bc_curved *curved)
{
    return 0.5 * curved->clear_aperture_mm;
}

double bc_edge_slope_deg(const bc_curved *curved)
{
    return bc_degrees(bc_curved_slope_rad(curved, edge_mm(curved)));
}

/* The verdict has reached the edge before: nothing but memory can be missing now. */
static double edge_factor(const bc_curved *curved, bool *failed)
{
    bc_zone edge = {0};
    *failed = bc_curved_zone(curved, edge_mm(curved), &edge, NULL) != BC_OK || *failed;
    return edge.thickness_factor;
}

static void growth_words(const bc_curved *curved, bc_text *words)
{
    bc_text_add(words, "Layers: thicknesses are those at the vertex; at the edge %.1f %% of them, ",
                100.0 * edge_factor(curved, &words->failed));
    if (curved->distribution == BC_DISTRIBUTION_PROFILE) {
        bc_text_add(words, "as measured (");
        bc_text_add_plain(words, curved->profile->path == NULL ? "a profile" : curved->profile->path);
        bc_text_add(words, ").");
    } else if (curved->distribution == BC_DISTRIBUTION_SOURCE) {
        bc_text_add(words,
                    "from a %s source on the axis, %g mm from the vertex, the part at rest (the density "
                    "of the layers does not depend on the angle of the vapour).",
                    curved->point_source ? "point" : "small-area", curved->source_distance_mm);
    } else {
        bc_text_add(words,
                    "as cos(slope)^%g (%s; the density of the layers does not depend on the angle of the vapour).",
                    curved->slope_exponent,
                    curved->slope_exponent == 1.0
                        ? "a source far away, or a part that turns while it faces it: measure a witness at the edge"
                        : "the exponent that was given");
    }
}

static void light_words(const bc_curved *curved, bc_text *words)
{
    if (!curved->axial) {
        bc_text_add(words, "Light: the callouts' angles are those against the surface itself, at every zone alike.");
        return;
    }
    if (curved->one_angle)
        bc_text_add(words, "Light: at %.6g deg to the axis, in place of the callouts' angles; ",
                    bc_degrees(curved->axial_angle_rad));
    else
        bc_text_add(words, "Light: the callouts' angles are measured against the axis; ");
    bc_text_add(words, "where the surface slopes by s, light at an angle a meets it at angles from |s - a| to s + a.");
}

void bc_add_curved(bc_text *lines, const bc_check_report *report)
{
    const bc_curved *curved = report->curved;
    bc_text_add(lines,
                "Surface: %s, radius %g mm, clear aperture %g mm, slope at the edge %.1f deg; judged at %zu "
                "zones from the vertex to the edge.\n",
                curved->concave ? "concave" : "convex", curved->radius_mm, curved->clear_aperture_mm,
                bc_edge_slope_deg(curved), report->zones);
    growth_words(curved, lines);
    bc_text_add(lines, "\n");
    light_words(curved, lines);
    bc_text_add(lines, "\n");
    if (bc_edge_slope_deg(curved) > BC_CURVED_STEEP_DEG)
        bc_text_add(lines,
                    "Caution: beyond %.6g mm from the axis the surface slopes by more than %g degrees; no model of "
                    "the thickness is safe there: measure it.\n",
                    curved->radius_mm * sin(BC_CURVED_STEEP_DEG * M_PI / 180.0), BC_CURVED_STEEP_DEG);
}

void bc_curved_text(const bc_check_report *report, bc_text *out)
{
    bc_text lines = {0};
    if (report->curved == NULL)
        return;
    bc_add_curved(&lines, report);
    bc_add_lines(out, &lines);
}

static const char *distribution_word(bc_thickness_distribution distribution)
{
    static const char *const word[] = {
        [BC_DISTRIBUTION_SLOPE] = "slope", [BC_DISTRIBUTION_SOURCE] = "source", [BC_DISTRIBUTION_PROFILE] = "profile"};
    return word[distribution];
}

void bc_curved_json(const bc_check_report *report, bc_json *json)
{
    const bc_curved *curved = report->curved;
    cJSON *surface;
    if (curved == NULL)
        return;
    surface = bc_json_object(json, json->root, "surface");
    bc_json_string(json, surface, "shape", curved->concave ? "concave" : "convex");
    bc_json_number(json, surface, "radius_mm", curved->radius_mm, 12);
    bc_json_number(json, surface, "clear_aperture_mm", curved->clear_aperture_mm, 12);
    bc_json_number(json, surface, "edge_slope_deg", bc_edge_slope_deg(curved), 12);
    bc_json_bool(json, surface, "steep", bc_edge_slope_deg(curved) > BC_CURVED_STEEP_DEG);
    bc_json_string(json, surface, "growth", distribution_word(curved->distribution));
    bc_json_number(json, surface, "slope_exponent",
                   curved->distribution == BC_DISTRIBUTION_SLOPE ? curved->slope_exponent : NAN, 12);
    bc_json_number(json, surface, "source_distance_mm",
                   curved->distribution == BC_DISTRIBUTION_SOURCE ? curved->source_distance_mm : NAN, 12);
    bc_json_string(json, surface, "source",
                   curved->distribution != BC_DISTRIBUTION_SOURCE ? NULL
                   : curved->point_source                         ? "point"
                                                                  : "small-area");
    bc_json_string(json, surface, "profile_file",
                   curved->distribution == BC_DISTRIBUTION_PROFILE ? curved->profile->path : NULL);
    bc_json_string(json, surface, "light", curved->axial ? "axis" : "callout");
    bc_json_number(json, surface, "axial_angle_deg", curved->one_angle ? bc_degrees(curved->axial_angle_rad) : NAN, 12);
    bc_json_number(json, surface, "edge_thickness_factor", edge_factor(curved, &json->failed), 12);
    bc_json_number(json, surface, "zones", (double)report->zones, 15);
}
