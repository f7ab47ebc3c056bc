/* Money, tax, labour and the quote.
 *
 * Sources: ISO 4217 list one of 2024-06-25 (exponents other than 2, named below); PERT (Malcolm et al. 1959):
 * (1, 2, 5) has mean 2.3333 and sd .6667; margin 40 % is 166.67 on 100; 20 % on three lines of .99 is .60 by
 * line and .59 by invoice; repair 250 against 900 new is worth it over .278 (worked values, computed from the
 * formulas). The simulation of labour is an independent, slow twin. */
#include "check.h"
#include "trade/quote.h"

static int64_t whole(unsigned long long *state, int64_t low, int64_t high) {
    return low + (int64_t)(check_random(state) * (double)(high - low + 1));
}

static bool is_among(const char *code, const char *list) {
    const char *at = strstr(list, code);
    return at && strlen(code) == 3;
}

static void exponents_are_those_of_iso_4217(void) {
    static const char none[] = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
                      three[] = "BHD IQD JOD KWD LYD OMR TND", four[] = "CLF UYW";
    size_t count = 0, other = 0;
    for (const char *code; (code = money_currency_at(count)); count++) {
        const int want = is_among(code, none) ? 0 : is_among(code, three) ? 3 : is_among(code, four) ? 4 : 2;
        CHECK(money_exponent(code) == want);
        other += want != 2;
        CHECK(count == 0 || strcmp(money_currency_at(count - 1), code) < 0);
    }
    CHECK(count == 166 && other == 17 + 7 + 2);
    CHECK(money_exponent("HUF") == 2); /* locale libraries say 0 */
    static const char *const not_codes[] = {"", "XAU", "QQQ", "eur", "EURO", "ABC"};
    for (size_t i = 0; i < 6; i++) CHECK(money_exponent(not_codes[i]) == -1);
}

static void what_is_written_is_read_again_in_every_currency(void) {
    unsigned long long state = 7;
    struct fault fault;
    for (size_t i = 0; money_currency_at(i); i++)
        for (int k = 0; k < 200; k++) {
            struct money money = {whole(&state, k % 3 ? -99999 : -MONEY_MOST, k % 3 ? 99999 : MONEY_MOST),
                                  ""},
                         back;
            char text[MONEY_TEXT];
            memcpy(money.currency, money_currency_at(i), 4);
            money_text(text, money);
            CHECK_TEXT(text + strlen(text) - 3, money.currency);
            text[strlen(text) - 4] = 0;
            CHECK(money_read("--x", text, money.currency, &back, &fault) == STATUS_OK);
            CHECK(back.minor == money.minor && strcmp(back.currency, money.currency) == 0);
        }
    char text[MONEY_TEXT];
    CHECK_TEXT(money_text(text, (struct money){-5, "EUR"}), "-0.05 EUR");
    CHECK_TEXT(money_text(text, (struct money){123456789, "JPY"}), "123456789 JPY");
    CHECK_TEXT(money_text_grouped(text, (struct money){123456789, "EUR"}), "1\u00a0234\u00a0567.89\u00a0EUR");
    CHECK_TEXT(money_text_grouped(text, (struct money){-MONEY_MOST, "CLF"}),
               "-100\u00a0000\u00a0000\u00a0000.0000\u00a0CLF");
}

static void what_is_no_amount_is_refused(void) {
    static const char *const bad[] = {"",
                                      "-",
                                      ".",
                                      "1.234",
                                      "1,234",
                                      "1,2,3",
                                      "1,234.5",
                                      "1e3",
                                      "0x1",
                                      " 1",
                                      "1 ",
                                      "--1",
                                      "1.2.3",
                                      "99999999999999",
                                      "9999999999999999999999"};
    struct money money;
    struct fault fault;
    int32_t ppm;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        CHECK(money_read("--x", bad[i], "EUR", &money, &fault) == STATUS_USAGE);
    CHECK(money_read("--x", "1.5", "JPY", &money, &fault) == STATUS_USAGE);
    CHECK(money_read("--x", "1", "QQQ", &money, &fault) == STATUS_USAGE);
    CHECK(money_read("--x", "12.5", "EUR", &money, &fault) == STATUS_OK && money.minor == 1250);
    CHECK(money_read("--x", "12,5", "EUR", &money, &fault) == STATUS_OK && money.minor == 1250);
    CHECK(money_read("--x", "1,5", "KWD", &money, &fault) == STATUS_USAGE); /* it may mean thousands */
    CHECK(money_read("--x", ".5", "EUR", &money, &fault) == STATUS_OK && money.minor == 50);
    CHECK(rate_read("--x", "9.975", &ppm, &fault) == STATUS_OK && ppm == 99750);
    CHECK(rate_read("--x", "100.0001", &ppm, &fault) == STATUS_USAGE);
    CHECK(rate_read("--x", "-1", &ppm, &fault) == STATUS_USAGE);
    char text[32];
    CHECK_TEXT(rate_text(text, 99750), "9.975\u00a0%");
    CHECK_TEXT(rate_text(text, 200000), "20\u00a0%");
    CHECK_TEXT(rate_text(text, 0), "0\u00a0%");
}

static void half_goes_away_from_zero(void) {
    CHECK(money_times(1, 1, 2) == 1 && money_times(-1, 1, 2) == -1);
    CHECK(money_times(3, 1, 2) == 2 && money_times(5, 1, 10) == 1 && money_times(4, 1, 10) == 0);
    CHECK(money_times(MONEY_MOST, MONEY_MOST, 1) == MONEY_MOST);
    unsigned long long state = 3;
    for (int k = 0; k < 20000; k++) { /* twin: the remainder decides */
        const int64_t a = whole(&state, -1000000, 1000000), n = whole(&state, 0, 3000000),
                      d = whole(&state, 1, 2000000);
        const int64_t size = a < 0 ? -a : a, q = size * n / d, r = size * n % d;
        const int64_t want = q + (2 * r >= d);
        CHECK(money_times(a, n, d) == (a < 0 ? -want : want));
    }
}

/* Largest remainder: parts add up, no part is a unit or more from its quota, equal weights differ by one at
 * most, and no part with the smaller remainder got a unit before one with a larger. */
static void parts_add_up_by_largest_remainder(void) {
    unsigned long long state = 11;
    for (int k = 0; k < 5000; k++) {
        const size_t n = (size_t)whole(&state, 1, k % 50 ? 12 : MONEY_PARTS_MOST);
        const int64_t total = whole(&state, -100000, 100000);
        int64_t weight[MONEY_PARTS_MOST], out[MONEY_PARTS_MOST], sum = 0, all = 0;
        for (size_t i = 0; i < n; i++) all += weight[i] = k % 7 ? whole(&state, 0, 1000) : 0;
        money_share(total, weight, n, out);
        const int64_t size = total < 0 ? -total : total;
        for (size_t i = 0; i < n; i++) {
            sum += out[i];
            const int64_t w = all ? weight[i] : 1, a = all ? all : (int64_t)n,
                          part = out[i] < 0 ? -out[i] : out[i];
            CHECK(part == size * w / a || part == size * w / a + 1);
            for (size_t j = 0; j < n; j++) {
                const int64_t v = all ? weight[j] : 1, other = out[j] < 0 ? -out[j] : out[j];
                const bool mine = part > size * w / a, theirs = other > size * v / a;
                if (size * w % a > size * v % a) CHECK(mine || !theirs);
            }
        }
        CHECK(sum == total);
    }
}

static void tax_by_line_and_by_invoice_differ_as_they_should(void) {
    struct tax_line line[3] = {{.written = 99, .rate_ppm = 200000},
                               {.written = 99, .rate_ppm = 200000},
                               {.written = 99, .rate_ppm = 200000}};
    struct tax tax;
    struct fault fault;
    CHECK(tax_reckon(line, 3, TAX_BY_LINE, TAX_ADDED, &tax, &fault) == STATUS_OK && tax.tax == 60);
    CHECK(tax_reckon(line, 3, TAX_BY_INVOICE, TAX_ADDED, &tax, &fault) == STATUS_OK && tax.tax == 59);
    CHECK(line[0].tax == 20 && line[1].tax == 20 && line[2].tax == 19 && tax.gross == 297 + 59);
    for (int i = 0; i < 3; i++) line[i].written = 119;
    CHECK(tax_reckon(line, 3, TAX_BY_INVOICE, TAX_INCLUDED, &tax, &fault) == STATUS_OK && tax.gross == 357);
    CHECK(tax.net == 297 && tax.tax == 60); /* 357 * .2 / 1.2 = 59.5 */
}

static void lines_and_rates_and_totals_always_add_up(void) {
    static const int32_t rates[] = {0, 55000, 99750, 200000, 1000000};
    unsigned long long state = 5;
    struct fault fault;
    for (int k = 0; k < 4000; k++) {
        const enum tax_rule rule = k & 1 ? TAX_BY_INVOICE : TAX_BY_LINE;
        const enum tax_writing writing = k & 2 ? TAX_INCLUDED : TAX_ADDED;
        const size_t n = (size_t)whole(&state, 0, 30);
        struct tax_line line[30];
        for (size_t i = 0; i < n; i++)
            line[i] = (struct tax_line){.written = whole(&state, k % 5 ? 0 : -5000, 50000),
                                        .rate_ppm = rates[whole(&state, 0, 4)]};
        struct tax tax;
        CHECK(tax_reckon(line, n, rule, writing, &tax, &fault) == STATUS_OK);
        int64_t net = 0, vat = 0, gross = 0, written = 0;
        for (size_t i = 0; i < n; i++) {
            CHECK(line[i].net + line[i].tax == line[i].gross);
            CHECK((writing == TAX_ADDED ? line[i].net : line[i].gross) == line[i].written);
            const double exact = (double)line[i].written * line[i].rate_ppm /
                                 (writing == TAX_ADDED ? 1e6 : 1e6 + line[i].rate_ppm);
            CHECK(fabs((double)line[i].tax - exact) <= (rule == TAX_BY_LINE ? .5 : 1) + 1e-9);
            net += line[i].net, vat += line[i].tax, gross += line[i].gross, written += line[i].written;
        }
        CHECK(tax.net == net && tax.tax == vat && tax.gross == gross && net + vat == gross);
        CHECK((writing == TAX_ADDED ? tax.net : tax.gross) == written);
        for (size_t r = 0; r < tax.rate_count; r++) {
            int64_t sum = 0, own = 0;
            for (size_t i = 0; i < n; i++)
                if (line[i].rate_ppm == tax.rate[r].rate_ppm) sum += line[i].written, own += line[i].tax;
            const int64_t whole_ppm =
                writing == TAX_ADDED ? MILLION : MILLION + (int64_t)tax.rate[r].rate_ppm;
            CHECK(tax.rate[r].tax == own);
            if (rule == TAX_BY_INVOICE) CHECK(own == money_times(sum, tax.rate[r].rate_ppm, whole_ppm));
            CHECK(r == 0 || tax.rate[r - 1].rate_ppm > tax.rate[r].rate_ppm);
        }
    }
}

static void pert_meets_its_worked_value(void) {
    struct spread s;
    struct fault fault;
    const struct minutes one = {1, 2, 5};
    CHECK(labour_spread(&one, 1, &s, &fault) == STATUS_OK);
    CHECK_NEAR(s.mean, 2.3333, 5e-5);
    CHECK_NEAR(s.sd, .6667, 5e-5);
    CHECK(s.p50 < s.mean && s.mean < s.p80);
    const struct minutes sure[2] = {{30, 30, 30}, {0, 0, 0}};
    CHECK(labour_spread(sure, 2, &s, &fault) == STATUS_OK);
    CHECK_NEAR(s.p50, 30, 1e-9);
    CHECK_NEAR(s.p80, 30, 1e-9);
    CHECK(labour_spread(NULL, 0, &s, &fault) == STATUS_OK && s.p80 == 0);
    static const struct minutes bad[] = {{3, 2, 5},           {1, 6, 5},           {-1, 2, 5},
                                         {(double)NAN, 2, 5}, {1, 2, (double)NAN}, {1, 2, 1e9}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        CHECK(labour_spread(&bad[i], 1, &s, &fault) == STATUS_INPUT);
}

static int by_size(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* A beta number by the PERT shape, a = 1 + 4 (likely - low)/(high - low): two gamma numbers by the sum of
 * logs and rejection are overkill here; its inverse is tabulated by summing the density. */
struct shape {
    double at[2001];
};
static void tabulate(struct minutes m, struct shape *shape) {
    const double width = m.high - m.low, a = 4 * (m.likely - m.low) / width,
                 b = 4 * (m.high - m.likely) / width;
    double sum = 0, below[2001] = {0};
    for (int i = 0; i < 2000; i++) {
        const double x = (i + .5) / 2000;
        sum += pow(x, a) * pow(1 - x, b);
        below[i + 1] = sum;
    }
    int k = 0;
    for (int i = 0; i <= 2000; i++) {
        while (k < 1999 && below[k + 1] < sum * i / 2000) k++;
        const double step = below[k + 1] - below[k];
        shape->at[i] =
            m.low +
            width * (k + (step > 0 ? fmin(1, fmax(0, (sum * i / 2000 - below[k]) / step)) : 0)) / 2000;
    }
}

/* The demo's kind of job: all usual tasks of a worn, cracked helm seat. Tasks slip together: each number is
 * drawn by a common normal with weight sqrt(.3) and an own one. */
static void the_closed_percentiles_are_near_a_simulation(void) {
    enum { DRAWS = 20000 };
    static const enum task task[] = {TASK_LOOK,  TASK_CLEAN, TASK_DEGREASE, TASK_MASK,    TASK_SAND,
                                     TASK_FILL,  TASK_READ,  TASK_MIX,      TASK_CORRECT, TASK_COAT,
                                     TASK_SHEEN, TASK_CHECK, TASK_HAND_OVER};
    enum { TASKS = sizeof task / sizeof task[0] };
    static struct shape shape[TASKS];
    static double total[DRAWS];
    const struct work_size size = {.area_m2 = .6, .line_mm = 420, .spots = 1, .colours = 1, .coats = 4};
    struct minutes part[TASKS];
    struct spread s;
    struct fault fault;
    for (int t = 0; t < TASKS; t++) {
        const struct task_time time = task_usual_time(task[t]);
        part[t] = task_minutes(&time, task[t], &size);
        tabulate(part[t], &shape[t]);
    }
    CHECK(labour_spread(part, TASKS, &s, &fault) == STATUS_OK);
    unsigned long long state = 1;
    for (int k = 0; k < DRAWS; k++) {
        total[k] = 0;
        double common = 0;
        for (int t = -1; t < TASKS; t++) {
            const double z =
                sqrt(-2 * log(check_random(&state) + 1e-300)) * cos(2 * M_PI * check_random(&state));
            if (t < 0) {
                common = z;
                continue;
            }
            const double u = erfc(-(sqrt(.3) * common + sqrt(.7) * z) / M_SQRT2) / 2;
            total[k] += shape[t].at[(int)(u * 1999.999)];
        }
    }
    qsort(total, DRAWS, sizeof total[0], by_size);
    const double p50 = total[DRAWS / 2], p80 = total[DRAWS * 4 / 5];
    printf("  figure: helm seat P50 %.1f min, simulated %.1f; P80 %.1f, simulated %.1f (20000 draws)\n",
           s.p50, p50, s.p80, p80);
    CHECK_NEAR(s.p50 / p50, 1, .02);
    CHECK_NEAR(s.p80 / p80, 1, .03);
}

static struct quote_case sample(const struct quote_item *item, size_t count) {
    return (struct quote_case){.currency = "EUR",
                               .hour_minor = 3000,
                               .overhead_hour_minor = 1200,
                               .margin_ppm = 400000,
                               .call_out_minor = 2500,
                               .travel_minor_per_km = 60,
                               .travel_km = 18.5,
                               .tax_ppm = 200000,
                               .tax_rule = TAX_BY_INVOICE,
                               .count = count,
                               .item = item};
}

static void margin_and_choice_meet_their_worked_values(void) {
    CHECK(quote_price_of_cost(10000, 400000) == 16667);
    struct repair_or_new choice = {.repair_minor = 25000, .new_minor = 90000, .falls_short_ppm = 150000};
    repair_or_new_judge(&choice);
    CHECK_NEAR(choice.chance_needed_ppm / 1e6, .278, 5e-4);
    CHECK(choice.expected_minor == 25000 + 13500 && choice.repair_is_better);
    choice.falls_short_ppm = 722200;
    repair_or_new_judge(&choice);
    CHECK(choice.repair_is_better); /* 277800 ppm satisfy, 277778 are needed */
    choice.falls_short_ppm = 722300;
    repair_or_new_judge(&choice);
    CHECK(!choice.repair_is_better);
    choice = (struct repair_or_new){.repair_minor = 100, .new_minor = 50};
    repair_or_new_judge(&choice);
    CHECK(!choice.repair_is_better && choice.chance_needed_ppm == MILLION);
    const enum damage two[] = {DAMAGE_WORN, DAMAGE_CRACK};
    CHECK(falls_short_of(two, 2) == 1000000 - 782000 && falls_short_of(two, 0) == 0);
}

static void a_quote_reckons_as_by_hand(void) {
    /* One hour, sure: cost 30 + 12 + 18 material = 60; at 40 % margin 100; 25 call-out; 18.5 km at .60
     * = 11.10; 136.10 net, 27.22 tax. */
    const struct quote_item item[] = {{QUOTE_LABOUR, "work", {60, 60, 60}, 0},
                                      {QUOTE_MATERIAL, "paint", {0, 0, 0}, 1800}};
    struct quote_case in = sample(item, 2);
    static struct quote q;
    struct fault fault;
    CHECK(quote_make(&in, &q, &fault) == STATUS_OK);
    CHECK(q.count == 4 && q.line[0].low == 7000 && q.line[1].low == 3000 && q.line[3].low == 1110);
    CHECK(q.low.net == 13610 && q.low.tax == 2722 && q.low.gross == 16332 && q.high.gross == 16332);
    in.discount_ppm = 100000;
    CHECK(quote_make(&in, &q, &fault) == STATUS_OK && q.line[4].low == -1361 && q.low.net == 12249);
    in.discount_ppm = 0;
    in.least_minor = 20000;
    CHECK(quote_make(&in, &q, &fault) == STATUS_OK && q.low.net == 20000 && q.line[4].low == 6390);
    in.writing = TAX_INCLUDED;
    CHECK(quote_make(&in, &q, &fault) == STATUS_OK && q.low.gross == 20000 && q.low.net == 16667);
}

/* Any job in any currency: lines add up at both ends, the upper end is not below the lower, a fixed price is
 * the same at both ends, and the price of work less its cost is the margin. */
static void every_quote_adds_up(void) {
    unsigned long long state = 21;
    static struct quote q;
    struct fault fault;
    for (int k = 0; k < 3000; k++) {
        struct quote_item item[30];
        const size_t n = (size_t)whole(&state, 0, 30);
        for (size_t i = 0; i < n; i++) {
            const double low = 60 * check_random(&state), likely = low + 60 * check_random(&state);
            item[i] = (struct quote_item){(enum quote_line_kind)whole(&state, 0, 2),
                                          "x",
                                          {low, likely, likely + 90 * check_random(&state)},
                                          whole(&state, 0, 99999)};
        }
        struct quote_case in = sample(item, n);
        memcpy(in.currency, money_currency_at((size_t)k % 166), 4);
        in.tax_rule = k & 1 ? TAX_BY_LINE : TAX_BY_INVOICE;
        in.writing = k & 2 ? TAX_ADDED : TAX_INCLUDED;
        in.discount_ppm = (int32_t)whole(&state, 0, 300000);
        in.margin_ppm = (int32_t)whole(&state, 0, 900000);
        in.least_minor = whole(&state, 0, 50000);
        CHECK(quote_make(&in, &q, &fault) == STATUS_OK);
        int64_t low = 0, high = 0, work = 0;
        for (size_t i = 0; i < q.count; i++) {
            low += q.line[i].low, high += q.line[i].high;
            if (i < n && q.line[i].kind != QUOTE_FIXED) work += q.line[i].low;
            if (i < n)
                CHECK(q.line[i].high >= q.line[i].low); /* materials were a cent less at the upper end */
            if (i < n && q.line[i].kind == QUOTE_FIXED)
                CHECK(q.line[i].low == item[i].minor && q.line[i].high == item[i].minor);
        }
        CHECK((in.writing == TAX_ADDED ? q.low.net : q.low.gross) == low);
        CHECK((in.writing == TAX_ADDED ? q.high.net : q.high.gross) == high);
        CHECK(high >= low && work == quote_price_of_cost(q.cost_low, in.margin_ppm));
    }
}

static void rates_that_are_none_are_refused(void) {
    const struct quote_item item = {QUOTE_MATERIAL, "paint", {0, 0, 0}, 100};
    static struct quote q;
    struct fault fault;
    struct quote_case in = sample(&item, 1);
    in.margin_ppm = 950000;
    CHECK(quote_make(&in, &q, &fault) == STATUS_USAGE);
    in = sample(&item, 1);
    in.travel_km = (double)NAN;
    CHECK(quote_make(&in, &q, &fault) == STATUS_USAGE);
    in = sample(&item, 1);
    in.hour_minor = -1;
    CHECK(quote_make(&in, &q, &fault) == STATUS_USAGE);
    in = sample(&item, 1);
    memcpy(in.currency, "QQQ", 4);
    CHECK(quote_make(&in, &q, &fault) == STATUS_USAGE);
}

int main(void) {
    RUN(exponents_are_those_of_iso_4217);
    RUN(what_is_written_is_read_again_in_every_currency);
    RUN(what_is_no_amount_is_refused);
    RUN(half_goes_away_from_zero);
    RUN(parts_add_up_by_largest_remainder);
    RUN(tax_by_line_and_by_invoice_differ_as_they_should);
    RUN(lines_and_rates_and_totals_always_add_up);
    RUN(pert_meets_its_worked_value);
    RUN(the_closed_percentiles_are_near_a_simulation);
    RUN(margin_and_choice_meet_their_worked_values);
    RUN(a_quote_reckons_as_by_hand);
    RUN(every_quote_adds_up);
    RUN(rates_that_are_none_are_refused);
    return check_done();
}
