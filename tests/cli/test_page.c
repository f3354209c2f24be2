/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../report/markup.h"
#include "scan.h"
#include <cjson/cJSON.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define QUOTE                                                                                                          \
    "quote --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 1 --effort 0.05 --prove 0 "
#define CHECK "check stack.csv --callouts callouts.csv --quiet "

static void expect_same_files(const char *one, const char *other)
{
    char line[3 * PATH_SIZE];
    snprintf(line, sizeof line, "cmp '%s/%s' '%s/%s'", scratch_folder(), one, scratch_folder(), other);
    ck_assert_int_eq(system(line), 0);
}

/* What `sha256sum` says of a file in the scratch folder stands in the page. */
static void expect_sum_of(const char *name, const char *page)
{
    char line[2 * PATH_SIZE], sum[65] = "";
    FILE *pipe;
    snprintf(line, sizeof line, "sha256sum '%s'", scratch_path(name));
    pipe = popen(line, "r");
    ck_assert_ptr_nonnull(pipe);
    ck_assert_ptr_nonnull(fgets(sum, sizeof sum, pipe));
    pclose(pipe);
    ck_assert_uint_eq(strlen(sum), 64);
    ck_assert_msg(strstr(page, sum) != NULL, "no %s of %s", sum, name);
}

START_TEST(check_reports_what_it_says)
{
    outcome json;
    markup page;
    cJSON *root;
    const cJSON *row;
    write_inputs();
    json = expect(0, NULL, CHECK "--json --report r.html --report r.pdf --part-number OR-7 --title Window");
    root = cJSON_Parse(json.out);
    ck_assert_ptr_nonnull(root);
    page = markup_read(content("r.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Meets every callout"));
    ck_assert_ptr_nonnull(strstr(page.text, "OR-7"));
    ck_assert_uint_eq(page.pictures, 1);
    cJSON_ArrayForEach(row, cJSON_GetObjectItem(root, "callouts"))
    {
        char number[64];
        snprintf(number, sizeof number, "%.4f", cJSON_GetObjectItem(row, "value_percent")->valuedouble);
        ck_assert_msg(strstr(page.text, number) != NULL, "no %s", number);
        snprintf(number, sizeof number, "%.3f", cJSON_GetObjectItem(row, "limit_used")->valuedouble);
        ck_assert_msg(strstr(page.text, number) != NULL, "no %s", number);
    }
    expect_sum_of("stack.csv", page.text);
    expect_sum_of("callouts.csv", page.text);
    ck_assert_int_eq(strncmp(content("r.pdf"), "%PDF-", 5), 0);
    cJSON_Delete(root);
    free(page.text);
    expect(1, NULL, "check stack.csv --callouts hard.csv --report hard.html");
    ck_assert_ptr_nonnull(strstr(content("hard.html"), "Does not meet every callout"));
}
END_TEST

START_TEST(quote_reports_what_it_says)
{
    outcome text;
    markup page;
    write_inputs();
    scratch_write("process.csv",
                  "material,rate_nm_per_s,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,"
                  "index_sigma,minimum_nm\n*,0.5,1,0.5,0.2,0.002,8\n");
    scratch_write("chamber.csv", "key,value\nload_diameter_mm,150\npump_down_min,70\nbetween_layers_s,36\n");
    scratch_write("tight.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                               "band,R,max,<= 0.2,420,680,0,unpolarized\n");
    scratch_write("profile.csv", "radius_mm,thickness_percent\n0,100\n10,99\n");
    text = expect(
        1, NULL,
        "quote --callouts tight.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 3 --effort 0.05 --prove 0 "
        "--process "
        "process.csv --chamber chamber.csv --quantity 100 --part-diameter-mm 50 --radius-mm 60 --clear-aperture-mm 20 "
        "--thickness-profile profile.csv --quiet --internal-report q.html --internal-report q.pdf --date 2026-11-25");
    page = markup_read(content("q.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Not feasible"));
    ck_assert_ptr_nonnull(strstr(page.text, "2026-11-25"));
    expect_numbers_of(text.out, page.text);
    expect_sum_of("tight.csv", page.text);
    expect_sum_of("process.csv", page.text);
    expect_sum_of("chamber.csv", page.text);
    expect_sum_of("profile.csv", page.text);
    free(page.text);
    expect(2, "found the same file for --report and for --internal-report",
           QUOTE "--internal-report x.html --report x.html");
    expect(2, "x.txt: found no report's ending", QUOTE "--internal-report x.txt");
    expect(2, "--validity-days: found '0'", QUOTE "--report x.html --validity-days 0");
    expect(2, "--quote-number has no meaning without a report", QUOTE "--quote-number 7");
}
END_TEST

/* What was offered, to whom and until when; on the first third of the page the verdict and the quantity. */
START_TEST(a_quote_for_the_customer)
{
    static const char *const told[] = {"Offered as asked",
                                       "40 parts, both faces coated",
                                       "Q-7",
                                       "RFQ-12",
                                       "2028-01-30",
                                       "until 2028-03-01",
                                       "1.52",
                                       "420–680",
                                       "≤\u00a030",
                                       "Durability",
                                       "Net-weight"};
    markup page;
    write_inputs();
    scratch_write("easy.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 30,420,680,0,unpolarized\n");
    expect(0, NULL,
           "quote --callouts easy.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 1 --effort 0.05 --prove 0 "
           "--quiet "
           "--quantity 40 --both-sides --quote-number Q-7 --request-number RFQ-12 --date 2028-01-30 --validity-days 31 "
           "--page-foot Net-weight --report q.html --report q.pdf --paper letter");
    page = markup_read(content("q.html"));
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
        ck_assert_msg(strstr(page.text, told[i]) != NULL, "no '%s' in %s", told[i], page.text);
    ck_assert_uint_eq(page.pictures, 1);
    free(page.text);
    scratch_write("part.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope\n"
                              "through,T,min,>= 50,500,600,0,unpolarized,part\n");
    /* The part has two coated faces, and one of them is quoted. */
    expect(0, NULL,
           "quote --callouts part.csv --substrate 1.52 --materials 1.38 --max-layers 1 --effort "
           "0.05 --quiet --report q.html");
    ck_assert_ptr_nonnull(strstr(content("q.html"), "coated as the front (assumed). One face is quoted"));
    /* Without a date there is room to write it. */
    expect(0, NULL,
           "quote --callouts easy.csv --substrate 1.52 --materials 1.38 --max-layers 1 --effort 0.05 --prove 0 --quiet "
           "--validity-days 31 --report q.html");
    page = markup_read(content("q.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Date ____"));
    ck_assert_ptr_nonnull(strstr(page.text, "31 days from its date"));
    free(page.text);
}
END_TEST

START_TEST(deposit_reports_what_it_says)
{
    outcome text;
    markup page;
    write_inputs();
    scratch_write("process.csv", "material,rate_nm_per_s,tooling_factor\n*,0.5,1.04\n");
    scratch_write("chamber.csv", "key,value\npump_down_min,70\nbetween_layers_s,36\n");
    text = expect(0, NULL,
                  "deposit stack.csv --process process.csv --chamber chamber.csv --monitor-nm 500,550 --quiet "
                  "--report d.html --report d.pdf");
    page = markup_read(content("d.html"));
    expect_numbers_of(text.out, page.text);
    ck_assert_ptr_nonnull(strstr(page.text, "high voltage"));
    expect_sum_of("stack.csv", page.text);
    expect_sum_of("process.csv", page.text);
    expect_sum_of("chamber.csv", page.text);
    ck_assert_uint_eq(page.pictures, 1);
    expect(2, "found the same file for --sheet-csv and for --report",
           "deposit stack.csv --report d.html --sheet-csv d.html");
    free(page.text);
}
END_TEST

START_TEST(inspect_reports_what_it_says)
{
    outcome text;
    markup page;
    write_stacks();
    write_scan("scan.csv", "nm,%R", "spectrum second.csv --from 400 --to 700 --step 2 --quiet");
    text = expect(1, NULL,
                  INSPECT
                  " --uncertainty-percent 0.02 --process process.csv --next-stack next.csv --internal-report i.html "
                  "--internal-report i.pdf --date 2026-11-25 --part-number OR-7");
    page = markup_read(content("i.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Rejected"));
    ck_assert_ptr_nonnull(strstr(page.text, "OR-7"));
    ck_assert_ptr_nonnull(strstr(page.text, "2026-11-25"));
    ck_assert_uint_eq(page.pictures, 1);
    expect_numbers_of(text.out, page.text);
    expect_sum_of("scan.csv", page.text);
    expect_sum_of("stack.csv", page.text);
    expect_sum_of("callouts.csv", page.text);
    expect_sum_of("process.csv", page.text);
    ck_assert_int_eq(strncmp(content("i.pdf"), "%PDF-", 5), 0);
    free(page.text);
    /* A lot: every file that was measured. */
    write_scan("other.csv", "nm,%R", "spectrum thick.csv --from 400 --to 700 --step 4 --quiet");
    text = expect(1, NULL,
                  "inspect scan.csv other.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.02 "
                  "--internal-report lot.html");
    page = markup_read(content("lot.html"));
    expect_numbers_of(text.out, page.text);
    expect_sum_of("scan.csv", page.text);
    expect_sum_of("other.csv", page.text);
    free(page.text);
    expect(1, NULL, INSPECT " --uncertainty-percent 0.02 --internal-report again.html --internal-report again.pdf");
    expect(1, NULL, INSPECT " --uncertainty-percent 0.02 --internal-report twice.html --internal-report twice.pdf");
    expect_same_files("again.html", "twice.html");
    expect_same_files("again.pdf", "twice.pdf");
    expect(2, "found the same file for --report and for --next-stack",
           INSPECT " --uncertainty-percent 0.02 --next-stack x.html --report x.html");
    scratch_write("scan.html", content("scan.csv"));
    expect(2, "scan.html: found one of the inputs",
           "inspect scan.html --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.02 --report scan.html");
    expect(2, "expected --report FILE beside it", INSPECT " --date 2026-11-25");
}
END_TEST

/* What was measured, of which lot, by which rule; nothing where nothing is decided. */
START_TEST(a_certificate_for_the_customer)
{
    static const char *const told[] = {"Certificate of conformity",
                                       "Conforms",
                                       "C-9",
                                       "Q-7",
                                       "PO-3",
                                       "250 parts",
                                       "photo",
                                       "23-C",
                                       "420–680",
                                       "JCGM 106",
                                       "Signature",
                                       "k = 2",
                                       "meets",
                                       "Durability"};
    static const char *const never[] = {"2.1 ", "1.38", "layer", "fit", "scan.csv", "stack", "SHA", "uses", "tooling"};
    markup page;
    write_stacks();
    expect(0, NULL,
           INSPECT " --uncertainty-percent 0.02 --report c.html --report c.pdf --certificate-number C-9 --quote-number "
                   "Q-7 --order-number PO-3 --lot-size 250 --instrument photo --conditions 23-C --date 2026-11-25");
    page = markup_read(content("c.html"));
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++)
        ck_assert_msg(strstr(page.text, told[i]) != NULL, "no '%s' in %s", told[i], page.text);
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
        ck_assert_msg(strstr(page.text, never[i]) == NULL, "'%s' in %s", never[i], page.text);
    free(page.text);
    write_scan("bad.csv", "nm,%R", "spectrum second.csv --from 400 --to 700 --step 2 --quiet");
    expect(1, NULL,
           "inspect bad.csv scan.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.02 --report "
           "n.html");
    page = markup_read(content("n.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Report of nonconformity"));
    ck_assert_ptr_nonnull(strstr(page.text, "Not met: \""));
    ck_assert_ptr_nonnull(strstr(page.text, "1 of 2"));
    free(page.text);
    /* Too uncertain to decide: no certificate, and an internal report all the same. */
    expect(1, "no certificate was written",
           INSPECT " --uncertainty-percent 20 --report u.html --internal-report v.html");
    ck_assert_int_ne(access(scratch_path("u.html"), F_OK), 0);
    ck_assert_int_eq(access(scratch_path("v.html"), F_OK), 0);
    expect(2, "--lot-size: found '0'", INSPECT " --uncertainty-percent 0.02 --report x.html --lot-size 0");
}
END_TEST

START_TEST(lens_reports_what_it_says)
{
    outcome text;
    markup page;
    write_inputs();
    scratch_write("profile.csv", "radius_mm,thickness_percent\n0,100\n10,96\n");
    text = expect(1, NULL,
                  "lens stack.csv --callouts callouts.csv --radius-mm 60 --clear-aperture-mm 20 --thickness-profile "
                  "profile.csv --quiet --report l.html --report l.pdf --paper letter");
    page = markup_read(content("l.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Does not meet every callout"));
    ck_assert_uint_eq(page.pictures, 1);
    expect_numbers_of(text.out, page.text);
    expect_sum_of("stack.csv", page.text);
    expect_sum_of("callouts.csv", page.text);
    expect_sum_of("profile.csv", page.text);
    free(page.text);
}
END_TEST

START_TEST(yield_reports_what_it_says)
{
    outcome text;
    markup page;
    write_inputs();
    scratch_write("process.csv", "material,thickness_sigma_percent\n*,2\n");
    text = expect(0, NULL,
                  "yield stack.csv --callouts callouts.csv --process process.csv --runs 500 --quiet --report y.html "
                  "--report y.pdf --date 2026-11-25");
    page = markup_read(content("y.html"));
    expect_numbers_of(text.out, page.text);
    ck_assert_ptr_nonnull(strstr(page.text, "Yield "));
    ck_assert_ptr_nonnull(strstr(page.text, "gives no index_sigma"));
    ck_assert_ptr_nonnull(strstr(page.text, "The error that decides"));
    ck_assert_uint_eq(page.pictures, 1);
    expect_sum_of("stack.csv", page.text);
    expect_sum_of("callouts.csv", page.text);
    expect_sum_of("process.csv", page.text);
    free(page.text);
}
END_TEST

/* From another place, in another time zone, at another time: the same bytes, but for a date that is asked for. */
START_TEST(a_report_is_reproducible)
{
    char line[3 * PATH_SIZE];
    write_inputs();
    mkdir(scratch_path("b"), 0700);
    scratch_write("b/stack.csv", content("stack.csv"));
    scratch_write("b/callouts.csv", content("callouts.csv"));
    setenv("TZ", "UTC", 1);
    expect(0, NULL, CHECK "--report a.html --report a.pdf");
    setenv("TZ", "Pacific/Kiritimati", 1);
    setenv("LC_ALL", "de_DE.UTF-8", 1);
    snprintf(line, sizeof line,
             "check %s/b/stack.csv --callouts b/callouts.csv --quiet --report b/a.html --report "
             "b/a.pdf",
             scratch_folder());
    expect(0, NULL, line);
    expect_same_files("a.html", "b/a.html");
    expect_same_files("a.pdf", "b/a.pdf");
    setenv("SOURCE_DATE_EPOCH", "951782400", 1); /* 2000-02-29T00:00:00Z, by `date -u -d @951782400` */
    expect(0, NULL, CHECK "--report c.html --report c.pdf");
    unsetenv("SOURCE_DATE_EPOCH");
    expect(0, NULL, CHECK "--report d.html --report d.pdf --date 2000-02-29");
    expect_same_files("c.html", "d.html");
    expect_same_files("c.pdf", "d.pdf");
    ck_assert_ptr_nonnull(strstr(content("c.html"), "2000-02-29"));
    unsetenv("TZ");
    unsetenv("LC_ALL");
    for (const char *const *name = (const char *const[]){"b/stack.csv", "b/callouts.csv", "b/a.html", "b/a.pdf", NULL};
         *name != NULL; name++)
        unlink(scratch_path(*name));
    rmdir(scratch_path("b"));
}
END_TEST

static const struct {
    const char *options, *piece;
} wrong[] = {
    {"--report r.txt", "expected a name that ends in .html or .pdf"},
    {"--report r", "expected a name that ends in .html or .pdf"},
    {"--report -", "expected a name that ends in .html or .pdf"},
    {"--report r.pdf --paper a5", "--paper: found 'a5'"},
    {"--report r.pdf --date 2026-02-29", "--date: found '2026-02-29'"},
    {"--report r.pdf --date yesterday", "--date: found 'yesterday'"},
    {"--report r.pdf --date 2026-13-01", "--date"},
    {"--report r.pdf --date 2026-00-10", "--date: found '2026-00-10'"},
    {"--report r.pdf --date 2026-04-31", "--date: found '2026-04-31'"},
    {"--report r.pdf --date 2026-04-00", "--date: found '2026-04-00'"},
    {"--report r.pdf --date 1900-02-29", "--date: found '1900-02-29'"},
    {"--report r.pdf --date 0000-01-01", "--date: found '0000-01-01'"},
    {"--report r.pdf --date 2026/04/30", "--date: found '2026/04/30'"},
    {"--report r.pdf --date 2026-4x-30", "--date: found '2026-4x-30'"},
    {"--report r.pdf --date 2026-04/30", "--date: found '2026-04/30'"},
    {"--report r.pdf --date 2026-04-3x", "--date: found '2026-04-3x'"},
    {"--report r.pdf --report ./r.pdf", "another --report"},
    {"--report r.html -o r.html", "the result"},
    {"--report r.pdf --plot r.pdf", "--plot"},
    {"--report none/r.pdf", "found no such folder"},
    {"--report link.html", "found one of the inputs"},
    {"--paper a4", "expected --report FILE beside it"},
    {"--date 2026-01-01", "expected --report FILE beside it"},
    {"--title T", "expected --report FILE beside it"},
    {"--part-number P", "expected --report FILE beside it"},
};

START_TEST(a_wrong_report_is_refused_before_the_work)
{
    char line[400];
    size_t files;
    write_inputs();
    ck_assert_int_eq(symlink("stack.csv", scratch_path("link.html")), 0);
    files = count_files();
    snprintf(line, sizeof line, CHECK "%s", wrong[_i].options);
    expect(2, wrong[_i].piece, line);
    ck_assert_uint_eq(count_files(), files);
}
END_TEST

START_TEST(a_wrong_epoch_is_refused)
{
    static const char *const wrong_epoch[] = {"yesterday", "-5", "1e9", "99999999999999999999", "12 "};
    write_inputs();
    for (size_t i = 0; i < sizeof wrong_epoch / sizeof wrong_epoch[0]; i++) {
        setenv("SOURCE_DATE_EPOCH", wrong_epoch[i], 1);
        expect(2, "SOURCE_DATE_EPOCH: found", CHECK "--report r.html");
        expect(0, NULL, CHECK); /* it is nobody's business without a report */
    }
    unsetenv("SOURCE_DATE_EPOCH");
}
END_TEST

/* The result fits, the report does not: nothing of it is left, and an older one is as it was. */
START_TEST(a_full_disk_leaves_no_half_report)
{
    const circumstances small = {.standard_output = "/dev/null", .file_size = 3000};
    size_t files;
    write_inputs();
    scratch_write("old.pdf", "as it was");
    files = count_files();
    ck_assert_int_eq(run_in(&small, CHECK "--report new.html").code, 3);
    ck_assert_int_eq(run_in(&small, CHECK "--report old.pdf").code, 3);
    ck_assert_uint_eq(count_files(), files);
    ck_assert_str_eq(content("old.pdf"), "as it was");
}
END_TEST

Suite *cli_page_suite(void)
{
    Suite *suite = suite_create("reports to send out");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, check_reports_what_it_says);
    tcase_add_test(tcase, quote_reports_what_it_says);
    tcase_add_test(tcase, a_quote_for_the_customer);
    tcase_add_test(tcase, deposit_reports_what_it_says);
    tcase_add_test(tcase, inspect_reports_what_it_says);
    tcase_add_test(tcase, a_certificate_for_the_customer);
    tcase_add_test(tcase, lens_reports_what_it_says);
    tcase_add_test(tcase, yield_reports_what_it_says);
    tcase_add_test(tcase, a_report_is_reproducible);
    tcase_add_loop_test(tcase, a_wrong_report_is_refused_before_the_work, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, a_wrong_epoch_is_refused);
    tcase_add_test(tcase, a_full_disk_leaves_no_half_report);
    suite_add_tcase(suite, tcase);
    return suite;
}
