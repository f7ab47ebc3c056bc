#include "device/scale_line.h"
#include "base/text.h"
#include <math.h>
#include <string.h>

enum meaning {
    MEANS_UNIT,
    MEANS_STABLE,
    MEANS_MOVING,
    MEANS_NET,
    MEANS_GROSS,
    MEANS_TARE,
    MEANS_NOTHING,
    MEANS_OVER,
    MEANS_UNDER,
    MEANS_TROUBLE,
    MEANS_NO_MASS,
};

struct known {
    const char *text;
    enum meaning meaning;
    double unit_g;
};

static const struct known units[] = {
    {"g", MEANS_UNIT, 1},
    {"gm", MEANS_UNIT, 1},
    {"gram", MEANS_UNIT, 1},
    {"grams", MEANS_UNIT, 1},
    {"kg", MEANS_UNIT, 1000},
    {"mg", MEANS_UNIT, 0.001},
    {"oz", MEANS_UNIT, 28.349523125},
    {"ozt", MEANS_UNIT, 31.1034768},
    {"lb", MEANS_UNIT, 453.59237},
    {"lbs", MEANS_UNIT, 453.59237},
    {"ct", MEANS_UNIT, 0.2},
    {"car", MEANS_UNIT, 0.2},
    {"dwt", MEANS_UNIT, 1.55517384},
    {"gn", MEANS_UNIT, 0.06479891},
    {"pcs", MEANS_NO_MASS, 0},
    {"pc", MEANS_NO_MASS, 0},
    {"ml", MEANS_NO_MASS, 0},
    {"%", MEANS_NO_MASS, 0},
};

const char *scale_unit_name(double unit_g) {
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (units[i].meaning == MEANS_UNIT && fabs(units[i].unit_g - unit_g) <= 1e-9 * unit_g)
            return units[i].text;
    return "g";
}

static const struct known marks[] = {
    {"st", MEANS_STABLE, 0},     {"s", MEANS_STABLE, 0},        {"stable", MEANS_STABLE, 0},
    {"stab", MEANS_STABLE, 0},   {"ss", MEANS_STABLE, 0},       {"us", MEANS_MOVING, 0},
    {"u", MEANS_MOVING, 0},      {"d", MEANS_MOVING, 0},        {"sd", MEANS_MOVING, 0},
    {"m", MEANS_MOVING, 0},      {"?", MEANS_MOVING, 0},        {"~", MEANS_MOVING, 0},
    {"dyn", MEANS_MOVING, 0},    {"unstable", MEANS_MOVING, 0}, {"unstab", MEANS_MOVING, 0},
    {"motion", MEANS_MOVING, 0}, {"moving", MEANS_MOVING, 0},   {"*", MEANS_NOTHING, 0},
    {"nt", MEANS_NET, 0},        {"n", MEANS_NET, 0},           {"net", MEANS_NET, 0},
    {"gs", MEANS_GROSS, 0},      {"g", MEANS_GROSS, 0},         {"gross", MEANS_GROSS, 0},
    {"tr", MEANS_TARE, 0},       {"t", MEANS_TARE, 0},          {"tare", MEANS_TARE, 0},
    {"pt", MEANS_TARE, 0},       {"z", MEANS_NOTHING, 0},       {"zero", MEANS_NOTHING, 0},
    {"ww", MEANS_NOTHING, 0},    {"ol", MEANS_OVER, 0},         {"over", MEANS_OVER, 0},
    {"overload", MEANS_OVER, 0}, {"ofl", MEANS_OVER, 0},        {"ul", MEANS_UNDER, 0},
    {"under", MEANS_UNDER, 0},   {"underload", MEANS_UNDER, 0}, {"err", MEANS_TROUBLE, 0},
    {"error", MEANS_TROUBLE, 0}, {"e", MEANS_TROUBLE, 0},
};

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

static const struct known *known_find(const struct known *list, size_t count, const char *s, size_t n) {
    char word[16];
    if (n == 0 || n >= sizeof word) return NULL;
    memcpy(word, s, n);
    word[n] = 0;
    for (size_t i = 0; i < count; i++)
        if (text_same_ignoring_case(list[i].text, word)) return &list[i];
    return NULL;
}

#define FIND(list, s, n) known_find(list, sizeof list / sizeof *list, s, n)

/* A number at s: digits, one decimal mark, digits. Returns its length, 0 when it is none or too long. */
static size_t number_at(const char *s, size_t n, double *value, double *step) {
    size_t i = 0, whole = 0, decimals = 0;
    double v = 0, worth = 1;
    for (; i < n && is_digit(s[i]); i++, whole++) v = v * 10 + (s[i] - '0');
    const bool mark = i < n && (s[i] == '.' || s[i] == ',');
    const bool fraction = mark && i + 1 < n && is_digit(s[i + 1]);
    if (fraction) {
        for (i++; i < n && is_digit(s[i]); i++, decimals++) {
            v = v * 10 + (s[i] - '0');
            worth *= 10;
        }
    } else if (mark && s[i] == '.' && whole > 0) {
        i++; /* "12." of a scale that shows whole grams */
    }
    if (whole + decimals == 0 || whole > 9 || decimals > 6) return 0;
    if (i < n && (s[i] == '.' || (fraction && s[i] == ',' && i + 1 < n && is_digit(s[i + 1])))) return 0;
    *value = v / worth;
    *step = 1 / worth;
    return i;
}

/* What has been made out of a line so far. */
struct reader {
    struct scale_said said;
    const char *s;
    size_t n, at;
    int sign; /* 0: none yet */
    bool number, stable, moving, bad;
    double value, step;
};

static bool take_number(struct reader *r) {
    double value, step;
    const size_t length = number_at(r->s + r->at, r->n - r->at, &value, &step);
    if (length == 0 || r->number) return false;
    r->at += length;
    r->number = true;
    r->value = r->sign < 0 ? -value : value;
    r->step = step;
    return true;
}

static size_t run_of(const struct reader *r, char c) {
    size_t length = 0;
    while (r->at + length < r->n && r->s[r->at + length] == c) length++;
    return length;
}

/* '+' or '-' before the number, a run of them instead of it, or the lone one of "S +". */
static bool take_sign(struct reader *r) {
    const char c = r->s[r->at];
    const size_t length = run_of(r, c);
    r->at += length;
    if (length >= 3) {
        r->said.sort = c == '+' ? SCALE_OVERLOAD : SCALE_TROUBLE;
        return true;
    }
    if (length != 1 || r->sign != 0 || r->number) return false;
    r->sign = c == '+' ? 1 : -1;
    return true;
}

static bool apply(struct reader *r, const struct known *word) {
    switch (word->meaning) {
    case MEANS_UNIT:
        r->said.has_unit = true;
        r->said.unit_g = word->unit_g;
        return true;
    case MEANS_STABLE:
        return r->stable = true;
    case MEANS_MOVING:
        return r->moving = true;
    case MEANS_NET:
        r->said.net = NET_NET;
        return true;
    case MEANS_GROSS:
        r->said.net = NET_GROSS;
        return true;
    case MEANS_TARE:
        r->said.net = NET_TARE;
        return true;
    case MEANS_NOTHING:
        return true;
    case MEANS_OVER:
        r->said.sort = SCALE_OVERLOAD;
        return true;
    case MEANS_UNDER:
        r->said.sort = SCALE_UNDERLOAD;
        return true;
    case MEANS_TROUBLE:
        r->said.sort = SCALE_TROUBLE;
        return true;
    case MEANS_NO_MASS:
        r->said.sort = SCALE_NO_MASS;
        return true;
    }
    return false;
}

/* "HHHH" and "LLLL" stand for digits on a display that cannot show them. */
static bool take_letters_run(struct reader *r, size_t length) {
    const char c = r->s[r->at];
    const bool high = c == 'H' || c == 'h', low = c == 'L' || c == 'l';
    if ((!high && !low) || length < 3 || run_of(r, c) != length) return false;
    r->said.sort = high ? SCALE_OVERLOAD : SCALE_UNDERLOAD;
    r->at += length;
    return true;
}

static bool take_word(struct reader *r) {
    size_t length = 0;
    while (r->at + length < r->n && is_letter(r->s[r->at + length])) length++;
    if (length == 0) length = 1;
    if (take_letters_run(r, length)) return true;
    const struct known *word = NULL;
    if (r->number && !r->said.has_unit) word = FIND(units, r->s + r->at, length);
    if (!word) word = FIND(marks, r->s + r->at, length);
    r->at += length;
    return word && apply(r, word);
}

static bool take_one(struct reader *r) {
    const char c = r->s[r->at];
    if (is_blank(c) || c == ',' || c == ';' || c == ':' || c == '=') return ++r->at, true;
    if (c == '+' || c == '-') return take_sign(r);
    if (c == '_' && run_of(r, c) >= 3) {
        r->at += run_of(r, c);
        r->said.sort = SCALE_UNDERLOAD;
        return true;
    }
    if (is_digit(c) || (c == '.' && r->at + 1 < r->n && is_digit(r->s[r->at + 1]))) return take_number(r);
    return take_word(r);
}

static const struct scale_said nonsense = {.sort = SCALE_NONSENSE};

/* "S +": no number, one sign, the word S. */
static struct scale_said finish_without_number(const struct reader *r) {
    struct scale_said said = r->said;
    if (said.sort == SCALE_NO_MASS) return nonsense;
    if (said.sort == SCALE_NONSENSE && r->stable && r->sign != 0)
        said.sort = r->sign > 0 ? SCALE_OVERLOAD : SCALE_UNDERLOAD;
    return said;
}

static struct scale_said finish(const struct reader *r) {
    struct scale_said said = r->said;
    said.motion = r->moving ? MOTION_MOVING : r->stable ? MOTION_STABLE : MOTION_UNTOLD;
    if (!r->number) return finish_without_number(r);
    if (said.sort != SCALE_NONSENSE) return said; /* an overload may carry a number that means nothing */
    const double unit_g = said.has_unit ? said.unit_g : 1;
    said.sort = SCALE_WEIGHT;
    said.mass_g = r->value * unit_g;
    said.step_g = r->step * unit_g;
    return said;
}

struct scale_said scale_line_read(const char *line, size_t n) {
    struct reader r = {.s = line, .n = n};
    if (n > SCALE_LINE_MOST) return nonsense;
    while (r.at < n)
        if (!take_one(&r)) return nonsense;
    return finish(&r);
}

static bool ends_line(unsigned char c) {
    return c == '\r' || c == '\n' || c == 0 || c == 2 || c == 3;
}

size_t scale_cut_feed(struct scale_cut *cut, const unsigned char *bytes, size_t size, bool *whole,
                      size_t *n) {
    *whole = false;
    for (size_t i = 0; i < size; i++) {
        if (ends_line(bytes[i])) {
            *whole = !cut->dropping && cut->length > 0;
            *n = cut->length;
            cut->length = 0;
            cut->dropping = false;
            if (*whole) return i + 1;
        } else if (cut->length == SCALE_LINE_MOST) {
            cut->dropping = true;
        } else {
            cut->line[cut->length++] = (char)bytes[i];
        }
    }
    return size;
}

/* ---- patterns
 * ------------------------------------------------------------------------------------------------------- */

/* One element of a pattern: a text, a blank, or {name:value}. */
struct element {
    char kind; /* 't' text, ' ' blank, or the first letter of its name */
    const char *value;
    size_t value_n, length; /* length in the pattern */
    char text;
};

static const char *const element_names[] = {"sign", "number", "unit", "stable", "skip"};

static char element_kind(const char *name, size_t n) {
    for (size_t i = 0; i < sizeof element_names / sizeof *element_names; i++)
        if (strlen(element_names[i]) == n && memcmp(element_names[i], name, n) == 0)
            return "snuSk"[i]; /* sign number unit Stable skip */
    return 0;
}

/* The element at p; kind 0 when it is malformed. */
static struct element element_at(const char *p) {
    struct element e = {.kind = 't', .text = *p, .length = 1};
    if (is_blank(*p)) e.kind = ' ';
    if ((*p == '{' || *p == '}') && p[1] == *p) return e.length = 2, e;
    if (*p == '}') e.kind = 0;
    if (*p != '{') return e;
    const char *end = strchr(p, '}');
    if (!end) return e.kind = 0, e;
    const char *colon = memchr(p, ':', (size_t)(end - p));
    e.kind = element_kind(p + 1, (size_t)((colon ? colon : end) - p - 1));
    e.value = colon ? colon + 1 : NULL;
    e.value_n = colon ? (size_t)(end - colon - 1) : 0;
    e.length = (size_t)(end - p + 1);
    return e;
}

/* "3" of {skip:3}; false when it is no number 1..99. */
static bool skip_count(const struct element *e, size_t *count) {
    *count = 0;
    for (size_t i = 0; i < e->value_n; i++) {
        if (!is_digit(e->value[i]) || i > 1) return false;
        *count = *count * 10 + (size_t)(e->value[i] - '0');
    }
    return *count > 0;
}

static bool element_is_sound(const struct element *e) {
    size_t count;
    switch (e->kind) {
    case 0:
        return false;
    case 'u': {
        const struct known *unit = e->value ? FIND(units, e->value, e->value_n) : NULL;
        return !e->value || (unit && unit->meaning == MEANS_UNIT);
    }
    case 'S':
        return e->value && e->value_n > 0;
    case 'k':
        return !e->value || skip_count(e, &count);
    default:
        return !e->value;
    }
}

enum status scale_pattern_make(struct scale_pattern *pattern, const char *text, struct fault *fault) {
    if (strlen(text) >= sizeof pattern->text)
        return FAULT(fault, PATTERN_TOO_LONG, COUNT_TEXT(sizeof pattern->text - 1));
    int numbers = 0, units_seen = 0, marks_seen = 0;
    for (const char *p = text; *p;) {
        const struct element e = element_at(p);
        if (!element_is_sound(&e)) return FAULT(fault, PATTERN_NOT_SOUND, p);
        numbers += e.kind == 'n';
        units_seen += e.kind == 'u';
        marks_seen += e.kind == 'S';
        p += e.length;
    }
    if (numbers != 1 || units_seen != 1 || marks_seen > 1) return FAULT(fault, PATTERN_NEEDS, text);
    memset(pattern, 0, sizeof *pattern);
    memcpy(pattern->text, text, strlen(text));
    return STATUS_OK;
}

static void take_blanks(struct reader *r) {
    while (r->at < r->n && is_blank(r->s[r->at])) r->at++;
}

static bool at_text(const struct reader *r, const char *text, size_t n) {
    return r->n - r->at >= n && memcmp(r->s + r->at, text, n) == 0;
}

static bool match_sign(struct reader *r) {
    if (r->at < r->n && (r->s[r->at] == '+' || r->s[r->at] == '-')) r->sign = r->s[r->at++] == '-' ? -1 : 1;
    take_blanks(r);
    return true;
}

/* Digits, or one of the words that a scale shows instead of them. */
static bool match_number(struct reader *r) {
    if (r->at < r->n && (is_digit(r->s[r->at]) || r->s[r->at] == '.')) return take_number(r);
    size_t length = 0;
    while (r->at + length < r->n && !is_blank(r->s[r->at + length]) && r->s[r->at + length] != ',') length++;
    const struct scale_said said = scale_line_read(r->s + r->at, length);
    r->at += length;
    r->said.sort = said.sort;
    return said.sort == SCALE_OVERLOAD || said.sort == SCALE_UNDERLOAD || said.sort == SCALE_TROUBLE;
}

static bool match_unit(struct reader *r, const struct element *e) {
    if (e->value) return apply(r, FIND(units, e->value, e->value_n));
    size_t length = 0;
    while (r->at + length < r->n && is_letter(r->s[r->at + length])) length++;
    for (; length > 0; length--) { /* the longest unit: a stability mark may follow at once, as in "gS" */
        const struct known *unit = FIND(units, r->s + r->at, length);
        if (!unit) continue;
        r->at += length;
        return apply(r, unit);
    }
    return r->said.sort != SCALE_NONSENSE; /* an overload needs no unit */
}

/* {stable:A|B}: the longer text is tried first, so that one may begin with the other. */
static bool match_stable(struct reader *r, const struct element *e) {
    const char *bar = memchr(e->value, '|', e->value_n);
    const size_t a = bar ? (size_t)(bar - e->value) : e->value_n, b = bar ? e->value_n - a - 1 : 0;
    const bool first = at_text(r, e->value, a), second = b == 0 || at_text(r, bar + 1, b);
    if (!first && !second) return false;
    r->stable = first && (!second || a >= b);
    r->moving = !r->stable;
    r->at += r->stable ? a : b;
    return true;
}

static bool match_skip(struct reader *r, const struct element *e, const char *rest) {
    size_t count;
    if (e->value && skip_count(e, &count)) {
        if (r->n - r->at < count) return false;
        r->at += count;
        return true;
    }
    const struct element next = *rest ? element_at(rest) : (struct element){0};
    while (r->at < r->n && !(next.kind == 't'   ? r->s[r->at] == next.text
                             : next.kind == 'n' ? is_digit(r->s[r->at])
                             : next.kind == 's' ? strchr("+-0123456789", r->s[r->at]) && r->s[r->at]
                                                : next.kind == ' ' && is_blank(r->s[r->at])))
        r->at++;
    return true;
}

static bool match_element(struct reader *r, const struct element *e, const char *rest) {
    switch (e->kind) {
    case 's':
        return match_sign(r);
    case 'n':
        return match_number(r);
    case 'u':
        return match_unit(r, e);
    case 'S':
        return match_stable(r, e);
    case 'k':
        return match_skip(r, e, rest);
    case ' ':
        take_blanks(r);
        return true;
    default:
        return r->at < r->n && r->s[r->at++] == e->text;
    }
}

struct scale_said scale_pattern_read(const struct scale_pattern *pattern, const char *line, size_t n) {
    struct reader r = {.s = line, .n = n};
    if (n > SCALE_LINE_MOST) return nonsense;
    for (const char *p = pattern->text; *p;) {
        const struct element e = element_at(p);
        p += e.length;
        if (!match_element(&r, &e, p)) return nonsense;
    }
    return r.at == n ? finish(&r) : nonsense;
}
