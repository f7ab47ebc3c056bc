/* Colour differences.
 *
 * CIEDE2000: ISO/CIE 11664-6; the equations and their numbers in the order of Sharma, Wu & Dalal 2005, Color
 * Res. Appl. 30:21. G = .5 (1 - sqrt(Cm^7 / (Cm^7 + 25^7))), a' = (1 + G) a, C' and h' of (a', b), Cm and C'm
 * the means of both dL' = L2 - L1, dC' = C'2 - C'1, dH' = 2 sqrt(C'1 C'2) sin(dh/2) T = 1 - .17 cos(hm - 30)
 * + .24 cos 2hm + .32 cos(3hm + 6) - .20 cos(4hm - 63) SL = 1 + .015 (Lm - 50)^2 / sqrt(20 + (Lm - 50)^2), SC
 * = 1 + .045 C'm, SH = 1 + .015 C'm T RT = -2 sqrt(C'm^7 / (C'm^7 + 25^7)) sin(60 exp(-((hm - 275)/25)^2))
 *     dE00^2 = (dL'/SL)^2 + (dC'/SC)^2 + (dH'/SH)^2 + RT (dC'/SC) (dH'/SH)
 * The seams. Mean hue hm: of hues that lie more than 180 degrees apart it is the mean across 0; a grey has no
 * hue, and the mean is then the other's. Tie rule: hues exactly 180 degrees apart (within 1e-9 degree,
 * because two hues that are opposite on paper seldom are to the last bit) take the plain mean (h'1 + h'2)/2,
 * not the one across 0: pair 14 of the 2005 table is such a pair, and this gives its published 4.8045. The
 * formula itself jumps there.
 *
 * CMC(l:c): BS 6923:1988, ISO 105-J03. CIE76: ISO/CIE 11664-4. */
#include "colour/difference.h"
#include <assert.h>
#include <math.h>

static const double degree = M_PI / 180;
static const double tie_deg = 1e-9;

static void check_views(struct lab a, struct lab b) {
    assert(a.view.light == b.view.light && a.view.observer == b.view.observer &&
           "colours seen under different lights have no difference");
    (void)a, (void)b;
}

static double hue_deg(double a, double b) {
    if (a == 0 && b == 0) return 0;
    const double h = atan2(b, a) / degree;
    return h < 0 ? h + 360 : h;
}

static double square(double x) {
    return x * x;
}

/* sqrt(C^7 / (C^7 + 25^7)) */
static double seventh(double c) {
    const double c7 = c * square(c * c * c), limit = 6103515625.0;
    return sqrt(c7 / (c7 + limit));
}

/* What the two hues give: their step (-180..180), their mean, and by how much the sum counts in the mean
 * (1/2, or 1 with a grey). */
struct hues {
    double step, mean, share;
};

static struct hues hues_of(double h1, double h2, bool has_grey) {
    if (has_grey) return (struct hues){0, h1 + h2, 1};
    const double step = h2 - h1, sum = h1 + h2;
    if (fabs(step) <= 180 + tie_deg) return (struct hues){step, sum / 2, .5};
    return (struct hues){step > 0 ? step - 360 : step + 360, (sum < 360 ? sum + 360 : sum - 360) / 2, .5};
}

static double hue_weight(double hm) {
    return 1 - .17 * cos((hm - 30) * degree) + .24 * cos(2 * hm * degree) + .32 * cos((3 * hm + 6) * degree) -
           .20 * cos((4 * hm - 63) * degree);
}

static double lightness_weight(double lm) {
    const double d2 = square(lm - 50);
    return 1 + .015 * d2 / sqrt(20 + d2);
}

static double rotation_deg(double hm) {
    return 60 * exp(-square((hm - 275) / 25)); /* twice 30 */
}

struct de00_parts difference_de00_parts(struct lab reference, struct lab sample) {
    check_views(reference, sample);
    const double mean = (hypot(reference.a, reference.b) + hypot(sample.a, sample.b)) / 2;
    const double stretch = 1 + .5 * (1 - seventh(mean));
    const double a1 = stretch * reference.a, a2 = stretch * sample.a;
    const double c1 = hypot(a1, reference.b), c2 = hypot(a2, sample.b), cm = (c1 + c2) / 2;
    const struct hues hue = hues_of(hue_deg(a1, reference.b), hue_deg(a2, sample.b), c1 == 0 || c2 == 0);
    struct de00_parts out;
    out.l = (sample.l - reference.l) / lightness_weight((reference.l + sample.l) / 2);
    out.c = (c2 - c1) / (1 + .045 * cm);
    out.h = 2 * sqrt(c1 * c2) * sin(hue.step / 2 * degree) / (1 + .015 * cm * hue_weight(hue.mean));
    out.rt = -2 * seventh(cm) * sin(rotation_deg(hue.mean) * degree);
    const double squared = square(out.l) + square(out.c) + square(out.h) + out.rt * out.c * out.h;
    out.de00 = squared < 0 ? 0 : sqrt(squared); /* not fmax: a NaN must stay one */
    return out;
}

double difference_de00(struct lab reference, struct lab sample) {
    return difference_de00_parts(reference, sample).de00;
}

double difference_de76(struct lab reference, struct lab sample) {
    check_views(reference, sample);
    return sqrt(square(sample.l - reference.l) + square(sample.a - reference.a) +
                square(sample.b - reference.b));
}

/* dH*ab with the sign of the hue step: from dE^2 - dL^2 - dC^2 without its cancellation. */
static double hue_difference(struct lab reference, struct lab sample) {
    const double cross = reference.a * sample.b - reference.b * sample.a;
    const double dot = reference.a * sample.a + reference.b * sample.b;
    const double c1c2 = hypot(reference.a, reference.b) * hypot(sample.a, sample.b);
    /* 2 (C1 C2 - dot) = 2 cross^2 / (C1 C2 + dot), whichever of the two does not cancel. */
    const double squared = dot > 0 ? 2 * cross * cross / (c1c2 + dot) : 2 * (c1c2 - dot);
    return cross < 0 ? -sqrt(squared) : sqrt(squared);
}

double difference_cmc(struct lab reference, struct lab sample, double l, double c) {
    check_views(reference, sample);
    const struct lch r = lch_of(reference), s = lch_of(sample);
    const double sl = r.l < 16 ? .511 : .040975 * r.l / (1 + .01765 * r.l);
    const double sc = .0638 * r.c / (1 + .0131 * r.c) + .638;
    const double c4 = square(square(r.c)), f = sqrt(c4 / (c4 + 1900));
    const bool is_between = r.h_deg >= 164 && r.h_deg <= 345;
    const double t = is_between ? .56 + fabs(.2 * cos((r.h_deg + 168) * degree))
                                : .36 + fabs(.4 * cos((r.h_deg + 35) * degree));
    const double sh = sc * (f * t + 1 - f);
    return sqrt(square((s.l - r.l) / (l * sl)) + square((s.c - r.c) / (c * sc)) +
                square(hue_difference(reference, sample) / sh));
}

struct difference difference_of(struct lab reference, struct lab sample) {
    return (struct difference){
        .de00 = difference_de00(reference, sample),
        .de76 = difference_de76(reference, sample),
        .cmc21 = difference_cmc(reference, sample, 2, 1),
        .dl = sample.l - reference.l,
        .da = sample.a - reference.a,
        .db = sample.b - reference.b,
        .dc = hypot(sample.a, sample.b) - hypot(reference.a, reference.b),
        .dh = hue_difference(reference, sample),
    };
}

/* A value with its derivatives by the sample's a and b. */
struct slope {
    double v, a, b;
};

static struct slope plus(struct slope p, struct slope q) {
    return (struct slope){p.v + q.v, p.a + q.a, p.b + q.b};
}

static struct slope times(struct slope p, struct slope q) {
    return (struct slope){p.v * q.v, p.a * q.v + p.v * q.a, p.b * q.v + p.v * q.b};
}

static struct slope over(struct slope p, struct slope q) {
    const double v = p.v / q.v;
    return (struct slope){v, (p.a - v * q.a) / q.v, (p.b - v * q.b) / q.v};
}

static struct slope scale(double k, struct slope p) {
    return (struct slope){k * p.v, k * p.a, k * p.b};
}

/* Value v whose derivative by p is d. */
static struct slope chain(double v, double d, struct slope p) {
    return (struct slope){v, d * p.a, d * p.b};
}

static struct slope constant(double v) {
    return (struct slope){v, 0, 0};
}

/* At the tip of the cone the length has no derivative; 0 is the mean of all directions. */
static struct slope length(struct slope x, struct slope y) {
    const double v = hypot(x.v, y.v);
    if (v == 0) return constant(0);
    return (struct slope){v, (x.v * x.a + y.v * y.a) / v, (x.v * x.b + y.v * y.b) / v};
}

static struct slope angle_deg(struct slope x, struct slope y) {
    const double c2 = x.v * x.v + y.v * y.v, h = hue_deg(x.v, y.v);
    if (c2 == 0) return constant(h);
    return (struct slope){h, (x.v * y.a - y.v * x.a) / (c2 * degree),
                          (x.v * y.b - y.v * x.b) / (c2 * degree)};
}

static struct slope seventh_slope(struct slope c) {
    const double v = seventh(c.v);
    /* d/dC sqrt(u), u = C^7/(C^7 + 25^7): u' = 7 u (1 - u) / C */
    return chain(v, c.v == 0 ? 0 : 3.5 * v * (1 - v * v) / c.v, c);
}

static struct slope hue_weight_slope(struct slope hm) {
    const double h = hm.v;
    const double d = .17 * sin((h - 30) * degree) - .48 * sin(2 * h * degree) -
                     .96 * sin((3 * h + 6) * degree) + .80 * sin((4 * h - 63) * degree);
    return chain(hue_weight(h), d * degree, hm);
}

static struct slope rotation_slope(struct slope hm, struct slope cm) {
    const double theta = rotation_deg(hm.v), d_theta = theta * -2 * (hm.v - 275) / 625;
    const struct slope sine = chain(sin(theta * degree), cos(theta * degree) * degree * d_theta, hm);
    return scale(-2, times(seventh_slope(cm), sine));
}

/* 2 sqrt(c1 c2) sin(step / 2) */
static struct slope hue_step_slope(struct slope c1, struct slope c2, struct slope h1, struct slope h2,
                                   double step) {
    const struct slope product = times(c1, c2);
    if (product.v == 0) return constant(0);
    const struct slope root = chain(sqrt(product.v), .5 / sqrt(product.v), product);
    const struct slope half = scale(.5 * degree, plus(h2, scale(-1, h1)));
    return scale(2, times(root, chain(sin(step / 2 * degree), cos(step / 2 * degree), half)));
}

/* The part of de00^2 that is not lightness. */
static struct slope chromatic(struct lab reference, struct lab sample) {
    const struct slope sa = {sample.a, 1, 0}, sb = {sample.b, 0, 1}, rb = constant(reference.b);
    const struct slope mean = scale(.5, plus(constant(hypot(reference.a, reference.b)), length(sa, sb)));
    const struct slope stretch = plus(constant(1.5), scale(-.5, seventh_slope(mean)));
    const struct slope a1 = scale(reference.a, stretch), a2 = times(stretch, sa);
    const struct slope c1 = length(a1, rb), c2 = length(a2, sb), cm = scale(.5, plus(c1, c2));
    const struct slope h1 = angle_deg(a1, rb), h2 = angle_deg(a2, sb);
    const struct hues hue = hues_of(h1.v, h2.v, c1.v == 0 || c2.v == 0);
    struct slope hm = scale(hue.share, plus(h1, h2));
    hm.v = hue.mean;
    const struct slope sc = plus(constant(1), scale(.045, cm));
    const struct slope sh = plus(constant(1), scale(.015, times(cm, hue_weight_slope(hm))));
    const struct slope c = over(plus(c2, scale(-1, c1)), sc);
    const struct slope h = over(hue_step_slope(c1, c2, h1, h2, hue.step), sh);
    const struct slope ch = times(c, h);
    return plus(plus(times(c, c), times(h, h)), times(rotation_slope(hm, cm), ch));
}

double difference_de00_squared(struct lab reference, struct lab sample, double gradient[3]) {
    check_views(reference, sample);
    const double dl = sample.l - reference.l, off = (reference.l + sample.l) / 2 - 50;
    const double root = sqrt(20 + off * off), sl = lightness_weight(off + 50);
    /* d SL / d L2 is half of that by the mean: .015 (2 off / root - off^3 / root^3). */
    const double d_sl = .5 * .015 * off * (2 - off * off / (root * root)) / root;
    const struct slope rest = chromatic(reference, sample);
    gradient[0] = 2 * dl / (sl * sl) * (1 - dl / sl * d_sl);
    gradient[1] = rest.a;
    gradient[2] = rest.b;
    return square(dl / sl) + rest.v;
}

struct de00_metric difference_metric(struct lab reference) {
    const double c = hypot(reference.a, reference.b), stretch = 1 + .5 * (1 - seventh(c));
    const double a = stretch * reference.a, cp = hypot(a, reference.b), h = hue_deg(a, reference.b);
    const double cosine = cp > 0 ? a / cp : 1, sine = cp > 0 ? reference.b / cp : 0;
    const double sc = 1 + .045 * cp, sh = 1 + .015 * cp * hue_weight(h);
    const double rt = -2 * seventh(cp) * sin(rotation_deg(h) * degree);
    /* c^2 + h^2 + rt c h = (c + rt/2 h)^2 + (1 - rt^2/4) h^2, and |rt| < 2 sin 60 < 2. */
    const double across = sqrt(1 - rt * rt / 4);
    const double c_row[2] = {stretch * cosine / sc, sine / sc};
    const double h_row[2] = {-stretch * sine / sh, cosine / sh};
    struct de00_metric out = {{{1 / lightness_weight(reference.l), 0, 0}}};
    for (int i = 0; i < 2; i++) {
        out.f[1][i + 1] = c_row[i] + rt / 2 * h_row[i];
        out.f[2][i + 1] = across * h_row[i];
    }
    return out;
}
