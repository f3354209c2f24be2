# SPDX-License-Identifier: GPL-3.0-or-later
#
# Makes the dispersion tables NAME.csv from their coefficients:
#
#     LC_ALL=C awk -f materials/make-tables.awk materials/coefficients.csv                  beside coefficients.csv
#     LC_ALL=C awk -v out=FOLDER -f materials/make-tables.awk materials/coefficients.csv    into FOLDER
#
# Any POSIX awk writes the same bytes, so there is no `^` on numbers (awks round powers differently); LC_ALL=C because
# some take the decimal point from the language.
#
# A table is read back through the monotone cubic of Steffen, Astron. Astrophys. 239, 443 (1990). Its rows are chosen so
# that this adds less than N_TOLERANCE to n and K_TOLERANCE + K_RELATIVE k to k: begin with the ends, interpolate, and
# put a row at a round wavelength near the middle of every interval that misses its formula, until none does.

BEGIN {
    N_TOLERANCE = 1e-6 # nd-1 to four digits and the Abbe number to 0.01 must survive
    K_TOLERANCE = 5e-8
    K_RELATIVE = 2e-3
    CHECK_TOLERANCE = 1e-6 # check_n is given to six decimals
    SAMPLES = 12           # per interval
    FADE = 0.15            # an exponential k falls smoothly to zero over this share of the wavelength where it ends
    MAX_ROWS = 2000
    SPLITS = split("1000 500 200 100 50 20 10 5 2 1 0.5 0.25", STEP, " ")
    COLUMNS = split("name kind formula coefficients from_um to_um k_formula k_coefficients k_from_um k_to_um k_note " \
                    "check_um check_n source doi note caution process_c density_g_cm3", COLUMN, " ")
    set_formulas()
    if (sprintf("%.1f", 1 / 2) != "0.5") {
        print "make-tables.awk: found a decimal comma; expected to be run as LC_ALL=C awk ..." | "cat 1>&2"
        failed = 2
        exit failed
    }
}

{ sub(/\r$/, "") }
/^[ \t]*(#|$)/ { next }
!header_read { read_header(); next }
{ make_table() }
END { exit failed }

function set_formulas() {
    TEXT["sellmeier_root"] = "n^2 = 1 + sum B L^2/(L^2 - C^2), L in um, B1 C1 B2 C2 ... ="
    TEXT["sellmeier"] = "n^2 = 1 + sum B L^2/(L^2 - C), L in um, B1 C1 B2 C2 ... ="
    TEXT["sellmeier_const"] = "n^2 = A + sum B L^2/(L^2 - C), L in um, A B1 C1 B2 C2 ... ="
    TEXT["pole_const"] = "n^2 = A + sum B/(L^2 - C^2), L in um, A B1 C1 B2 C2 ... ="
    TEXT["power"] = "n = sum c L^p, L in um, c1 p1 c2 p2 ... ="
    K_TEXT["exp_energy"] = "ln k = a + b E, E = 1.23984/L in eV, L in um, a b ="
    K_TEXT["exp_wavelength"] = "ln k = a + b L, L in um, a b ="
    K_COUNT["zero"] = 0
    K_COUNT["constant"] = 1
    K_COUNT["exp_energy"] = 2
    K_COUNT["exp_wavelength"] = 2
    K_COUNT["table"] = 0 # any number of pairs
}

# ---- reading

function fail(column, found, expected) {
    printf "%s:%d: %sfound '%s'; expected %s\n", FILENAME, FNR,
        (column == "" ? "" : "column " place[column] " (" column "): "), found, expected | "cat 1>&2"
    failed = 2
    exit failed
}

# Fields of one CSV line into cell[1..]; a quoted field may hold commas and doubled quotes, but no line break.
function split_csv(line, cell,    count, field, quoted, i, character) {
    for (i = 1; i <= length(line); i++) {
        character = substr(line, i, 1)
        if (quoted && character == "\"" && substr(line, i + 1, 1) == "\"") {
            field = field "\""
            i++
        } else if (character == "\"") {
            quoted = !quoted
        } else if (character == "," && !quoted) {
            cell[++count] = field
            field = ""
        } else {
            field = field character
        }
    }
    cell[++count] = field
    return count
}

function read_header(    count, cell, i) {
    count = split_csv($0, cell)
    for (i = 1; i <= count; i++)
        place[cell[i]] = i
    for (i = 1; i <= COLUMNS; i++)
        if (!(COLUMN[i] in place))
            fail("", $0, "a header with the column " COLUMN[i])
    width = count
    header_read = 1
}

function is_number(text) {
    return text ~ /^[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$/
}

# A wavelength given in um, in nm with no trace of the binary fraction.
function nm_of(column) {
    if (!is_number(value[column]) || value[column] + 0 <= 0)
        fail(column, value[column], "a wavelength in um above 0")
    return int(value[column] * 1e6 + 0.5) / 1000
}

function read_numbers(column, into,    count, i) {
    count = split(value[column], into, " ")
    for (i = 1; i <= count; i++) {
        if (!is_number(into[i]))
            fail(column, into[i], "a number")
        into[i] += 0
    }
    return count
}

function read_row(    count, cell, i) {
    count = split_csv($0, cell)
    if (count != width)
        fail("", count " fields", width " fields as in the header")
    for (i = 1; i <= COLUMNS; i++)
        value[COLUMN[i]] = cell[place[COLUMN[i]]]
    if (value["name"] !~ /^[A-Za-z0-9_+-][A-Za-z0-9_+.-]*$/ || value["name"] in made)
        fail("name", value["name"], "a name of letters, digits, '-', '_', '+' and '.' that no row above has")
    made[value["name"]] = 1
    formula = value["formula"]
    if (!(formula in TEXT))
        fail("formula", formula, "sellmeier_root, sellmeier, sellmeier_const, pole_const or power")
    count = read_numbers("coefficients", c)
    lead = (formula ~ /_const$/)
    if (count < 2 || count % 2 != lead)
        fail("coefficients", count " numbers", (lead ? "A and then pairs of numbers" : "pairs of numbers"))
    pairs = (count - lead) / 2
    for (i = 2; formula == "power" && i <= count; i += 2)
        if (c[i] != int(c[i]))
            fail("coefficients", c[i], "a whole number as the power of L")
    from = nm_of("from_um")
    to = nm_of("to_um")
    if (from >= to)
        fail("to_um", value["to_um"], "a wavelength above from_um")
    read_k()
    check_index()
}

function read_k(    i) {
    k_formula = value["k_formula"]
    if (!(k_formula in K_COUNT))
        fail("k_formula", k_formula, "zero, constant, exp_energy or exp_wavelength")
    k_count = read_numbers("k_coefficients", kc)
    if (k_formula == "table" ? k_count < 4 || k_count % 2 != 0 : k_count != K_COUNT[k_formula])
        fail("k_coefficients", value["k_coefficients"], (k_formula == "table" ? "two pairs or more" : K_COUNT[k_formula] " numbers") " for " k_formula)
    k_from = from
    k_to = k_end = to
    if (k_formula == "zero")
        return
    k_from = nm_of("k_from_um")
    k_to = nm_of("k_to_um")
    if (k_from < from || k_to > to || k_from >= k_to)
        fail("k_to_um", value["k_from_um"] " to " value["k_to_um"], "a range within from_um to to_um")
    k_end = k_to
    if (k_formula ~ /^exp_/)
        k_end = smallest(to, int(k_to * (1 + FADE) + 0.5))
    for (i = 3; k_formula == "table" && i < k_count; i += 2)
        if (kc[i] <= kc[i - 2])
            fail("k_coefficients", kc[i], "wavelengths that rise")
}

function check_index(    found) {
    if (!is_number(value["check_n"]))
        fail("check_n", value["check_n"], "the index at check_um")
    found = index_at(nm_of("check_um"))
    if (found - value["check_n"] > CHECK_TOLERANCE || value["check_n"] - found > CHECK_TOLERANCE)
        fail("check_n", value["check_n"], sprintf("%.6f as formula and coefficients give it", found))
}

# ---- the formulas

function power(base, exponent,    product, i) {
    product = 1
    for (i = exponent < 0 ? -exponent : exponent; i > 0; i--)
        product *= base
    return exponent < 0 ? 1 / product : product
}

function index_at(nm,    L, L2, sum, i, b, pole) {
    L = nm / 1000
    L2 = L * L
    sum = formula == "power" ? 0 : lead ? c[1] : 1
    for (i = 1; i <= pairs; i++) {
        b = c[lead + 2 * i - 1]
        pole = c[lead + 2 * i]
        if (formula == "power")
            sum += b * power(L, pole)
        else if (formula == "sellmeier_root")
            sum += b * L2 / (L2 - pole * pole)
        else if (formula == "pole_const")
            sum += b / (L2 - pole * pole)
        else
            sum += b * L2 / (L2 - pole)
    }
    return formula == "power" ? sum : sqrt(sum)
}

# Straight between the published pairs: only rows between them that n asks for are made by it.
function k_between(um,    i, t) {
    for (i = 3; i < k_count - 1 && kc[i] < um; i += 2)
        ;
    t = (um - kc[i - 2]) / (kc[i] - kc[i - 2])
    if (t < 1e-9) # a published wavelength, but for the binary fraction
        return kc[i - 1]
    if (t > 1 - 1e-9)
        return kc[i + 1]
    return kc[i - 1] + t * (kc[i + 1] - kc[i - 1])
}

# 1 up to k_to, then smoothly down to 0 at the wavelength where FADE ends.
function fade(nm,    x) {
    if (nm <= k_to)
        return 1
    x = (nm / k_to - 1) / FADE
    return x >= 1 ? 0 : 1 - x * x * (3 - 2 * x)
}

function k_at(nm) {
    if (k_formula == "zero" || nm < k_from || nm > k_end)
        return 0
    if (k_formula == "constant")
        return kc[1]
    if (k_formula == "table")
        return k_between(nm / 1000)
    return fade(nm) * exp(kc[1] + kc[2] * (k_formula == "exp_energy" ? 1239.84 / nm : nm / 1000))
}

# ---- choosing the rows

# A row at nm in its place, if that lies in the table and has none yet.
function put_row(nm,    i, before) {
    for (i = rows; i > 0 && x[i] > nm; i--)
        ;
    if (nm < from || nm > to || (i > 0 && x[i] == nm))
        return
    if (rows >= MAX_ROWS)
        fail("coefficients", value["coefficients"], "an index smooth enough for " MAX_ROWS " rows")
    before = i
    for (i = ++rows; i > before + 1; i--) {
        x[i] = x[i - 1]
        n[i] = n[i - 1]
        k[i] = k[i - 1]
    }
    x[i] = nm
    n[i] = index_at(nm)
    k[i] = k_at(nm)
}

function smallest(a, b) {
    return a < b ? a : b
}

function magnitude(a) {
    return a < 0 ? -a : a
}

# Steffen's slopes (at the ends the one-sided difference) of y[1..rows] into slope[].
function find_slopes(y, slope,    i, h, s, before_h, before_s, p) {
    for (i = 1; i < rows; i++) {
        h = x[i + 1] - x[i]
        s = (y[i + 1] - y[i]) / h
        if (i == 1) {
            slope[i] = s
        } else if (before_s * s <= 0) {
            slope[i] = 0
        } else {
            p = (before_s * h + s * before_h) / (before_h + h)
            slope[i] = smallest(magnitude(p), 2 * smallest(magnitude(before_s), magnitude(s)))
            if (s < 0)
                slope[i] = -slope[i]
        }
        before_h = h
        before_s = s
    }
    slope[rows] = s
}

# The cubic of interval i, a fraction t into it.
function interpolate(y, slope, i, t,    h, rise) {
    h = x[i + 1] - x[i]
    rise = y[i + 1] - y[i]
    return y[i] + t * (h * slope[i] + t * (3 * rise - h * (2 * slope[i] + slope[i + 1]) \
        + t * (h * (slope[i] + slope[i + 1]) - 2 * rise)))
}

function misses(i,    j, t, nm, true_k) {
    for (j = 1; j < SAMPLES; j++) {
        t = j / SAMPLES
        nm = x[i] + t * (x[i + 1] - x[i])
        if (magnitude(interpolate(n, n_slope, i, t) - index_at(nm)) > N_TOLERANCE)
            return 1
        if (k_formula == "table") # which says nothing between its pairs
            continue
        true_k = k_at(nm)
        if (magnitude(interpolate(k, k_slope, i, t) - true_k) > K_TOLERANCE + K_RELATIVE * true_k)
            return 1
    }
    return 0
}

# The interval to split when interval i misses: a much wider neighbour, which spoils the slope they share, or i itself.
function interval_to_split(i,    widest, j) {
    widest = i
    for (j = i - 1; j <= i + 1; j++)
        if (j >= 1 && j < rows && x[j + 1] - x[j] > 3 * (x[widest + 1] - x[widest]))
            widest = j
    return widest
}

# The roundest wavelength in the middle two fifths between a and b.
function split_point(a, b,    middle, i, nm) {
    middle = (a + b) / 2
    for (i = 1; i <= SPLITS; i++) {
        nm = int(middle / STEP[i] + 0.5) * STEP[i]
        if (magnitude(nm - middle) <= (b - a) / 5)
            return nm
    }
    fail("coefficients", value["coefficients"], "an index smooth enough for steps of " STEP[SPLITS] " nm near " middle " nm")
}

# The ends, those of k and its published pairs, and the lines F, d and C that a glass's code is made from.
function put_first_rows(    i) {
    rows = 0
    put_row(from)
    put_row(to)
    put_row(k_from)
    put_row(k_to)
    put_row(k_end)
    for (i = 1; k_formula == "table" && i < k_count; i += 2)
        put_row(int(kc[i] * 1e6 + 0.5) / 1000)
    if (value["name"] ~ /^[0-9][0-9][0-9][0-9][0-9][0-9]$/) {
        put_row(486.133)
        put_row(587.562)
        put_row(656.273)
    }
}

function choose_rows(    i, new, found) {
    put_first_rows()
    do {
        find_slopes(n, n_slope)
        find_slopes(k, k_slope)
        found = 0
        for (i = 1; i < rows; i++)
            if (misses(i))
                new[++found] = interval_to_split(i)
        for (i = 1; i <= found; i++)
            new[i] = split_point(x[new[i]], x[new[i] + 1])
        for (i = 1; i <= found; i++)
            put_row(new[i])
    } while (found > 0)
}

# ---- writing

function k_words(    text) {
    if (k_formula == "zero")
        text = "0 over the whole table (absorption is not modelled)"
    else if (k_formula == "constant")
        text = value["k_coefficients"] " from " value["k_from_um"] " to " value["k_to_um"] " um"
    else if (k_formula == "table")
        text = "published values in the rows below, from " value["k_from_um"] " to " value["k_to_um"] " um"
    else
        text = K_TEXT[k_formula] " " value["k_coefficients"] ", from " value["k_from_um"] " to " value["k_to_um"] " um"
    if (k_end > k_to)
        text = text sprintf(", from there smoothly to 0 at %.10g um (ours)", k_end / 1000)
    if (k_from > from || k_end < to)
        text = text ", 0 elsewhere"
    return text (value["k_note"] == "" ? "" : "; " value["k_note"])
}

function write_note(path, key, text) {
    if (text != "")
        print "# " key ": " text > path
}

function write_table(path,    i) {
    print "# SPDX-License-Identifier: GPL-3.0-or-later" > path
    write_note(path, "generated", "by make-tables.awk from coefficients.csv")
    write_note(path, "material", value["name"])
    write_note(path, "kind", value["kind"])
    write_note(path, "source", value["source"])
    write_note(path, "doi", value["doi"])
    write_note(path, "range", sprintf("%s to %s um (%.10g to %.10g nm)", value["from_um"], value["to_um"], from, to))
    write_note(path, "formula", TEXT[formula] " " value["coefficients"])
    write_note(path, "k", k_words())
    write_note(path, "note", value["note"])
    write_note(path, "caution", value["caution"])
    if (value["process_c"] != "")
        write_note(path, (value["kind"] == "layer" ? "" : "max_") "process_c", value["process_c"] " (common practice, no source)")
    if (value["density_g_cm3"] != "")
        write_note(path, "density_g_cm3", value["density_g_cm3"] " (of the bulk; CRC Handbook of Chemistry and Physics, from memory)")
    print "wavelength_nm,n,k" > path
    for (i = 1; i <= rows; i++)
        printf "%.10g,%.7f,%s\n", x[i], n[i], (k[i] == 0 ? "0" : sprintf("%.6e", k[i])) > path
    close(path)
}

function make_table(    folder) {
    folder = out
    if (folder == "") {
        folder = FILENAME
        if (!sub(/\/[^\/]*$/, "", folder))
            folder = "."
    }
    read_row()
    choose_rows()
    write_table(folder "/" value["name"] ".csv")
}
