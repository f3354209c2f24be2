/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "fuzz.h"
#include <bloomcoat/measured.h>
#include <math.h>

static void expect_values(const bc_measured_file *file)
{
    fuzz_expect(file->count > 0 && file->scans > 0, "a value");
    for (size_t i = 0; i < file->count; i++) {
        const double nm = file->wavelength_nm[i], value = file->value[i];
        fuzz_expect(nm >= 100.0 * (1.0 - 1e-6) && nm <= 1e5 * (1.0 + 1e-6), "wavelengths from 100 nm to 100 um");
        fuzz_expect(i == 0 || nm > file->wavelength_nm[i - 1], "rising wavelengths");
        fuzz_expect(value >= -0.0500001 && value <= 1.1000001, "values from -5 to 110 percent");
        fuzz_expect(file->repeats[i] >= 1, "a measurement of each");
        fuzz_expect(file->repeats[i] == 1 ? isnan(file->deviation_of_mean[i]) : file->deviation_of_mean[i] >= 0.0,
                    "a scatter where there are repeats");
        fuzz_expect(file->uncertainty == NULL || file->uncertainty[i] >= 0.0 || isnan(file->uncertainty[i]),
                    "an uncertainty of 0 or more");
    }
}

/* Nothing about a file that was read may be left open. */
static void expect_stated(const bc_measured_file *file)
{
    size_t values = 0, wavelengths = 0;
    fuzz_expect(file->unit != BC_UNIT_UNTOLD && file->unit_stated != BC_STATED_NOT, "a unit");
    fuzz_expect(file->wavelength_unit != BC_WAVELENGTH_UNTOLD && file->wavelength_unit_stated != BC_STATED_NOT,
                "a unit of wavelength");
    for (size_t i = 0; i < file->columns; i++) {
        fuzz_expect(file->column[i].header != NULL, "a header, if an empty one");
        values += file->column[i].role == BC_ROLE_VALUE;
        wavelengths += file->column[i].role == BC_ROLE_WAVELENGTH;
    }
    fuzz_expect(wavelengths == 1 && values >= 1, "one column of wavelengths, and values");
    fuzz_expect(file->first_line > 0 && file->first_line <= file->last_line, "lines");
}

static bc_measured_options options_for(uint32_t hash)
{
    static const char *const columns[] = {"2", "R"};
    static const bc_quantity quantities[] = {BC_R, BC_T};
    bc_measured_options options = {0};
    if (hash % 4 == 1)
        options.preferred = &quantities[hash / 4 % 2];
    if (hash % 4 == 2) {
        options.columns = 1;
        options.column = &columns[hash / 4 % 2];
        options.unit = (bc_measured_unit)(hash / 8 % 3);
        options.scan = hash / 32 % 4 == 0 ? BC_SCAN_ALL : hash / 32 % 4 - 1;
    }
    if (hash % 4 == 3) {
        options.quantity = &quantities[hash / 4 % 2];
        options.wavelength_unit = (bc_wavelength_unit)(hash / 8 % 3);
        options.decimal = (bc_decimal)(hash / 32 % 3);
        options.separator = (bc_separator)(hash / 128 % 5);
    }
    return options;
}

void fuzz_measured(const uint8_t *bytes, size_t size)
{
    const bc_measured_options options = options_for(fuzz_hash(bytes, size));
    bc_measured_file file = {0};
    bc_error error = {0};
    bc_status status;
    fuzz_set_file(bytes, size);
    status = bc_measured_file_read(FUZZ_PATH, &options, &file, &error);
    if (status != BC_OK) {
        fuzz_expect_refusal(status, &error);
        return;
    }
    expect_values(&file);
    expect_stated(&file);
    bc_measured_file_clear(&file);
}
