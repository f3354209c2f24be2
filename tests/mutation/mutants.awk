# SPDX-License-Identifier: GPL-3.0-or-later
#
# Mutants of a C file: for every place where one of the rules below applies, a line "file TAB line number TAB new text".
# Comments, strings, directives, declarations of types and messages are left alone. -v module=NAME: a few rules are for the optics alone.
BEGIN {
    FS = "\n"
    # what to look for (plain text, in code), and what to put in its place
    rule(" + ", " - "); rule(" - ", " + "); rule(" * ", " / "); rule(" / ", " * ")
    rule(" += ", " -= "); rule(" += ", " = "); rule(" *= ", " = ")
    rule("= -", "= "); rule("(-", "("); rule("{-", "{"); rule(", -", ", ")
    rule("BC_S", "BC_P"); rule("BC_P)", "BC_S)"); rule("BC_P]", "BC_S]"); rule("[p]", "[0]")
    rule(" < ", " <= "); rule(" > ", " >= "); rule(" <= ", " < "); rule(" >= ", " > ")
    rule(" < ", " > "); rule(" == ", " != "); rule(" != ", " == "); rule(" && ", " || "); rule(" || ", " && ")
    rule("true", "false"); rule("false", "true"); rule("if (", "if (!"); rule("(!", "(")
    rule("2.0", "1.0"); rule("4.0", "2.0"); rule("0.5", "1.0"); rule("1.0", "2.0"); rule("0.0", "1.0")
    rule(" - 1", ""); rule(" + 1", ""); rule("j--", "j++")
    if (module == "optics") {
        rule(".re", ".im"); rule(".im", ".re"); rule("_re", "_im"); rule("_im", "_re")
        rule("sine", "cosine"); rule("inverse", "eta"); rule("B", "C"); rule("C2", "B2")
    } else {
        rule("fmin(", "fmax("); rule("fmax(", "fmin("); rule("floor(", "ceil("); rule("ceil(", "floor(")
        rule("BC_AT_MOST", "BC_AT_LEAST"); rule("BC_R)", "BC_T)"); rule("BC_T)", "BC_R)"); rule("break;", "continue;")
    }
}

function rule(from, to) { FROM[++RULES] = from; TO[RULES] = to }

# The line with comments and strings blanked out, column by column.
function code_of(line,   i, c, out, quoted) {
    out = ""
    for (i = 1; i <= length(line); i++) {
        c = substr(line, i, 1)
        if (!in_comment && !quoted && substr(line, i, 2) == "/*") in_comment = 1
        if (in_comment) {
            if (substr(line, i, 2) == "*/") { in_comment = 0; out = out "  "; i++; continue }
            out = out " "
            continue
        }
        if (c == "\"") quoted = !quoted
        out = out (quoted || c == "\"" ? " " : c)
    }
    return out
}

{
    line = $0
    code = code_of(line)
    # A message goes on to the end of its statement.
    if (message || code ~ /^ *(return )?bc_fail/) {
        message = code !~ /;$/
        next
    }
    if (code ~ /^ *#/ || code !~ /^    /)
        next
    for (r = 1; r <= RULES; r++)
        for (at = index(code, FROM[r]); at > 0;) {
            printf "%s\t%d\t%s%s%s\n", FILENAME, FNR, substr(line, 1, at - 1), TO[r], substr(line, at + length(FROM[r]))
            rest = index(substr(code, at + 1), FROM[r])
            at = rest > 0 ? at + rest : 0
        }
    # A statement that is left out.
    if (code ~ /^ +[A-Za-z_>.*\[\]-]+ [-+*]?= .*;$/ && code !~ /^ +(const|vector|field|double|size_t|unsigned|bool|int|static) /)
        printf "%s\t%d\t%s\n", FILENAME, FNR, "    ;"
}
