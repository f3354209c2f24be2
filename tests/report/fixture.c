/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fixture.h"
#include "text.h"
#include <math.h>
#include <string.h>

#define TABLE(source)                                                                                                  \
    "# kind: layer\n# source: " source "\n# caution: keep it dry\nwavelength_nm,n,k\n400,1.5,0\n700,1.4,0\n"

static bc_medium medium(bc_materials *materials, const char *name)
{
    bc_medium found;
    ck_assert_int_eq(bc_medium_find(materials, name, NULL, &found, NULL), BC_OK);
    return found;
}

static void fill_stack(fixture *all)
{
    static const double thickness_nm[FIXTURE_LAYERS] = {91.4, 0.1 + 0.2, 100.0 / 3.0};
    for (size_t i = 0; i < FIXTURE_LAYERS; i++)
        all->layer[i] = (bc_layer){medium(all->materials, i == 1 ? "hard" : "soft"), thickness_nm[i], i == 2};
    all->stack =
        (bc_stack){medium(all->materials, "air"), all->glass[0], FIXTURE_LAYERS, all->layer, .from_substrate = false};
}

static void fill_findings(fixture *all)
{
    static const double used[FIXTURE_FINDINGS] = {0.5, 0.75, 0.9, 0.6, 1.25, 0.8};
    all->callout[0] = (bc_callout){.name = "band", .limit = 0.006, .from_nm = 420, .to_nm = 680};
    all->callout[1] = (bc_callout){.name = "through the whole of the window at every angle",
                                   .quantity = BC_T,
                                   .statistic = BC_AVERAGE,
                                   .sense = BC_AT_LEAST,
                                   .limit = 0.99,
                                   .from_nm = 430,
                                   .to_nm = 650,
                                   .polarization = BC_POL_EACH,
                                   .scope = BC_SCOPE_PART};
    all->callout[2] = (bc_callout){.name = "range finder", .limit = 0.01, .from_nm = 633, .to_nm = 633};
    for (size_t i = 0; i < FIXTURE_FINDINGS; i++) {
        const bc_callout *callout = &all->callout[i % FIXTURE_CALLOUTS];
        all->finding[i] =
            (bc_finding){.callout = callout,
                         .substrate = &all->glass[i / FIXTURE_CALLOUTS],
                         .limit_used = used[i],
                         .at_nm = 500.25,
                         .at_aoi_rad = M_PI / 6,
                         .at_polarization = callout->polarization == BC_POL_EACH ? BC_POL_P : BC_POL_UNPOLARIZED,
                         .pass = used[i] <= 1.0};
        all->finding[i].value =
            callout->sense == BC_AT_MOST ? used[i] * callout->limit : 1.0 - used[i] * (1.0 - callout->limit);
    }
    all->result = (bc_check_result){
        .pass = false, .limit_used = 1.25, .decisive = 4, .count = FIXTURE_FINDINGS, .finding = all->finding};
}

void fixture_open(fixture *all)
{
    memset(all, 0, sizeof *all);
    scratch_write("soft.csv", TABLE("measured by hand\n# density_g_cm3: 3 (from memory)"));
    scratch_write("hard.csv", TABLE("a source told in so many words that no line of eighty columns can hold them all"));
    all->materials = scratch_materials();
    all->glass[0] = medium(all->materials, "1.52");
    all->glass[1] = medium(all->materials, "1.62");
    fill_stack(all);
    fill_findings(all);
    all->back = (bc_back){.kind = BC_BACK_SAME, .substrate_mm = 3.0};
    all->check = (bc_check_report){.stack_path = "start.csv",
                                   .callouts_path = "callouts.csv",
                                   .stack = &all->stack,
                                   .result = &all->result,
                                   .back = &all->back,
                                   .back_assumed = true};
    all->rung[0] = (bc_rung){{.layers = 1}, 91.0, 2.5};
    all->rung[1] = (bc_rung){all->stack, 125.0, 1.25};
    all->outer[0] = (bc_outer){&all->stack.layer[0].material, 1.25};
    all->outer[1] = (bc_outer){&all->stack.layer[1].material, 4.5};
    all->drafted = (bc_draft_result){.starts = 17,
                                     .rungs = 2,
                                     .rung = all->rung,
                                     .chosen = 1,
                                     .searches = 10,
                                     .agreeing = 4,
                                     .optima = 33,
                                     .looked_at = 5,
                                     .allowed = 5,
                                     .outers = 2,
                                     .outer = all->outer,
                                     .alternative_has = BC_FEWER_LAYERS,
                                     .alternative = {all->stack, 125.0, 1.3}};
    all->draft = (bc_design_report){.command = "draft",
                                    .check = all->check,
                                    .draft = &all->drafted,
                                    .stop = BC_STOP_BUDGET,
                                    .seed = 7,
                                    .effort = 1.0,
                                    .minimum_nm = 8.0,
                                    .thin_layers = 1};
}

void fixture_close(fixture *all)
{
    bc_materials_free(all->materials);
}

cJSON *parse(const bc_text *text)
{
    cJSON *root = cJSON_ParseWithOpts(text->data, NULL, 1);
    ck_assert_msg(root != NULL, "no JSON: %s", text->data);
    return root;
}

double number_of(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    ck_assert_msg(cJSON_IsNumber(item), "no number '%s'", name);
    return item->valuedouble;
}

const char *string_of(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    ck_assert_msg(cJSON_IsString(item), "no string '%s'", name);
    return item->valuestring;
}

size_t occurrences(const char *text, const char *piece)
{
    size_t count = 0;
    while ((text = strstr(text, piece)) != NULL) {
        count++;
        text += strlen(piece);
    }
    return count;
}

void expect_tidy(const char *text)
{
    char line[1024];
    while (*text != '\0') {
        const size_t length = strcspn(text, "\n");
        ck_assert_uint_lt(length, sizeof line);
        memcpy(line, text, length);
        line[length] = '\0';
        ck_assert_msg(bc_text_width(line) <= 80, "%zu columns: %s", bc_text_width(line), line);
        ck_assert_msg(length == 0 || line[length - 1] != ' ', "ends in a blank: '%s'", line);
        text += length + (text[length] == '\n');
    }
}
