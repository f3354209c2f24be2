/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scan.h"
#include <stdio.h>
#include <string.h>

void write_scan(const char *name, const char *header, const char *spectrum)
{
    static char text[100000];
    const bool both = strchr(strchr(header, ',') + 1, ',') != NULL;
    size_t used = (size_t)snprintf(text, sizeof text, "%s\n", header);
    const outcome computed = run(spectrum);
    ck_assert_msg(computed.code == 0, "%s: %s", spectrum, computed.err);
    for (const char *line = strchr(computed.out, '\n') + 1; *line != '\0'; line = strchr(line, '\n') + 1) {
        double nm, aoi, R, T;
        char polarization[16];
        ck_assert_int_eq(sscanf(line, "%lf,%lf,%15[a-z],%lf,%lf", &nm, &aoi, polarization, &R, &T), 5);
        used += (size_t)(both ? snprintf(text + used, sizeof text - used, "%g,%.4f,%.4f\n", nm, R, T)
                              : snprintf(text + used, sizeof text - used, "%g,%.4f\n", nm, R));
        ck_assert_uint_lt(used, sizeof text - 100);
    }
    scratch_write(name, text);
}

void write_stacks(void)
{
    write_inputs();
    scratch_write("second.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,97.787\nlayer,2.1,146.421\n"
                                "layer,1.38,35.081\nlayer,2.1,15.658\nsubstrate,1.52,\n");
    scratch_write("thick.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,99.74274\nlayer,2.1,135.7722\n"
                               "layer,1.38,35.78262\nlayer,2.1,15.97116\nsubstrate,1.52,\n");
    scratch_write("process.csv", "material,rate_nm_per_s,tooling_factor\n*,0.5,1.1\n2.1,,0.9\n");
    write_scan("scan.csv", "nm,%R", "spectrum stack.csv --from 400 --to 700 --step 2 --quiet");
}
