/* The match's kernel, written once over vectors of 32 bytes whose lanes are recipes, and compiled for float
 * and double, with and without AVX2 (match_kernel_*.c). It uses only +, -, x, /, square root, comparison and
 * bit operations, all exact to the last bit by IEEE 754, no contraction and no libm, so every build gives the
 * same bits. It nominates; what is printed comes from predict.c.
 *
 * Per recipe: K = sum c k, S = sum counted(c) s; beam (beam.c); film (Kubelka-Munk, hyperbolic form written
 * with e = exp(-2 sigma X)); air interface; lights; CIEDE2000 (Sharma, Wu, Dalal 2005) with the hue angles as
 * unit vectors. Then the minimum of sum_t w_t sqrt(|e_t + E_t d|^2 + eps^2) + w_r sqrt(|r + J d|^2 + eps^2) +
 * cost'd + lambda |d|^2 / 2 over a box with sum d = 0, eps shrinking, by the primal-dual Newton step for sums
 * of norms (Chan, Golub, Mulet 1999; Andersen et al. 2000); bounds by a primal active set with truncated
 * steps. The includer defines REAL, INTEGER, REAL_IS_FLOAT and KERNEL_NAME. */
#include "paint/match_kernel_beam.h"

/* ---- the problem in REAL ---- */

struct light_rows {
    REAL row[3][BANDS];
};

struct goal {
    REAL l, a, b, weight, chroma; /* chroma: of a, b as they are */
    int light;
};

struct lens {
    int slots, lights, terms;
    bool opaque, true_slope, beam, leans;
    REAL thin, forward;
    struct beams beams; /* at `forward`, for a shelf whose toners do not lean */
    REAL film, guard, k1, k2, span, rms_weight, end;
    REAL backing[BANDS], target[BANDS];
    struct light_rows light[MATCH_LIGHTS_MOST];
    struct goal goal[MATCH_TERMS_MOST];
};

/* One group of LANES recipes: what does not change while it is refined. */
struct group {
    vec k[SLOTS][BANDS], s[SLOTS][BANDS];
    vec low[SLOTS], high[SLOTS], price[SLOTS], bend[SLOTS], crowd[SLOTS], lean[SLOTS];
};

/* A point and the local model there. */
struct point {
    vec c[SLOTS], f, damp, hope; /* damp and hope: of the point that is kept */
    vec e[MATCH_TERMS_MOST][3], slope[MATCH_TERMS_MOST][3][SLOTS];
    vec q0, q1[SLOTS], q2[PAIRS];
};

#define PAIR(i, j) ((i) * ((i) + 1) / 2 + (j)) /* j <= i */

/* ---- film and air interface ---- */

/* Kubelka-Munk's film, inside. */
IN struct by_ks film_inside(const struct lens *v, int b, vec k, vec s) {
    const vec a = k + s, sigma = root(larger(k * (k + s + s), splat(v->guard * v->guard)));
    vec w = splat(R(1)), w_slope = splat(R(0)), u = sigma, u_slope = splat(R(1));
    const REAL backing = v->backing[b];
    if (!v->opaque) {
        const vec e = exp_minus(sigma * (v->film + v->film));
        w = R(1) - e;
        w_slope = e * (v->film + v->film);
        u = sigma + sigma * e;
        u_slope = (R(1) + e) - sigma * w_slope;
    }
    const vec rest = a - s * backing, over = R(1) / (rest * w + u);
    const vec r = (s * w - (a * w - u) * backing) * over;
    const vec top = (s * w_slope - (a * w_slope - u_slope) * backing) - r * (rest * w_slope + u_slope);
    const vec steep = top / sigma;
    return (struct by_ks){r, over * (steep * a - w * (r + backing)),
                          over * (steep * k + w * ((R(1) - backing) - r * (R(1) - backing)))};
}

/* film_lit of beam.c. */
IN struct by_ks film_under_beam(const struct lens *v, const struct beams *at, int b, vec k, vec s) {
    const struct by_ks fk = with_bump(left_of(&at->of_k, k, s, v->thin), at, v->thin, k, s),
                       fs = left_of(&at->of_s, k, s, v->thin);
    const struct by_ks c = left_of(&at->of_leaving, k, s, v->thin),
                       in = film_inside(v, b, k * fk.value, s * fs.value);
    const vec r = in.value, over = R(1) / (R(1) + (c.value - R(1)) * r), by_r = c.value * over * over;
    const vec by_c = r * (R(1) - r) * over * over;
    return (struct by_ks){c.value * r * over,
                          by_r * (in.by_k * (fk.value + k * fk.by_k) + in.by_s * s * fs.by_k) + by_c * c.by_k,
                          by_r * (in.by_k * k * fk.by_s + in.by_s * (fs.value + s * fs.by_s)) +
                              by_c * c.by_s};
}

IN void film_band(const struct lens *v, const struct beams *at, int b, vec k, vec s, vec *measured, vec *by_k,
                  vec *by_s) {
    const struct by_ks inner = v->beam ? film_under_beam(v, at, b, k, s) : film_inside(v, b, k, s);
    const vec air = R(1) / (R(1) - inner.value * v->k2), gain = air * air * v->span;
    *measured = inner.value * air * v->span + v->k1;
    *by_k = gain * inner.by_k;
    *by_s = gain * inner.by_s;
}

struct bands {
    vec r[BANDS], by_k[BANDS], by_s[BANDS];
};

/* shelf_beams: the shelf's asymmetry and the toners' leans by part times S. What a step does to it is left
 * out of the slopes (it moves them by about a hundredth); the next round sees it. */
IN vec forward_of(const struct lens *v, const struct group *g, const vec c[], int b) {
    vec lean = splat(R(0)), sum = splat(R(1e-12));
    for (int i = 0; i < v->slots; i++) {
        const vec scatter = c[i] * g->s[i][b];
        lean += scatter * g->lean[i];
        sum += scatter;
    }
    return smaller(larger(lean / sum + v->forward, splat(R(0))), splat(R(.75)));
}

/* counted: how much of a toner's S counts at its mass fraction (toner_counted), with its slope. */
static void see_bands(const struct lens *v, const struct group *g, const vec c[], vec by_c[SLOTS],
                      struct bands *out) {
    vec counted[SLOTS];
    for (int i = 0; i < v->slots; i++) {
        const vec over = R(1) / (R(1) + g->crowd[i] * c[i]);
        counted[i] = c[i] * (R(1) - g->bend[i] * c[i]) * over;
        by_c[i] = (R(1) - g->bend[i] * c[i] * (R(2) + g->crowd[i] * c[i])) * over * over;
    }
    for (int b = 0; b < BANDS; b++) {
        vec k = splat(R(0)), s = splat(R(0));
        struct beams own;
        for (int i = 0; i < v->slots; i++) {
            k += c[i] * g->k[i][b];
            s += counted[i] * g->s[i][b];
        }
        if (v->leans) own = beams_at(forward_of(v, g, c, b), v->thin);
        film_band(v, v->leans ? &own : &v->beams, b, larger(k, splat(R(1e-15))), larger(s, splat(R(1e-12))),
                  &out->r[b], &out->by_k[b], &out->by_s[b]);
    }
}

/* ---- colour ---- */

IN vec lab_curve(vec t, vec *slope) {
    const vec cube = cube_root(larger(t, splat(R(1e-6))));
    const mask bright = t > R(216.0 / 24389);
    *slope = pick(bright, R(1.0 / 3) / (cube * cube), splat(R(24389.0 / 3132)));
    return pick(bright, cube, t * R(24389.0 / 3132) + R(16.0 / 116));
}

struct colour {
    vec l, a, b;
};

/* The weighting functions of CIEDE2000 between a colour and a goal, as a metric on (dL, da, db). */
struct frame {
    vec metric[3][3]; /* upper rows: e = metric x delta */
};

IN vec power7(vec x) {
    const vec x2 = x * x, x4 = x2 * x2;
    return x4 * x2 * x;
}

IN vec chroma_weight(vec mean) {
    const vec p = power7(mean);
    return root(p / (p + R(6103515625.0)));
}

/* 1 - .17 cos(h - 30) + .24 cos 2h + .32 cos(3h + 6) - .20 cos(4h - 63) by multiples of the unit vector (x,
 * y). */
IN vec hue_weight(vec x, vec y) {
    const vec x2 = x * x - y * y, y2 = (x + x) * y, x3 = x2 * x - y2 * y, y3 = y2 * x + x2 * y;
    const vec x4 = x2 * x2 - y2 * y2, y4 = (x2 + x2) * y2;
    return R(1) - R(.17) * (x * R(.86602540378443865) + y * R(.5)) + R(.24) * x2 +
           R(.32) * (x3 * R(.99452189536827333) - y3 * R(.10452846326765347)) -
           R(.20) * (x4 * R(.45399049973954680) + y4 * R(.89100652418836787));
}

/* sin(2 x 30 deg exp(-((h - 275) / 25)^2)) of the unit vector (x, y). */
IN vec blue_turn(vec x, vec y) {
    const vec along = x * R(.08715574274765817) - y * R(.99619469809174553);
    const vec across = y * R(.08715574274765817) + x * R(.99619469809174553);
    const vec half = across / (R(1) + larger(along, splat(R(0)))),
              t = half / (R(1) + root(R(1) + half * half)), t2 = t * t;
    vec angle = R(1.0 / 9) - t2 * R(1.0 / 11);
    angle = R(1.0 / 7) - t2 * angle;
    angle = R(1.0 / 5) - t2 * angle;
    angle = R(1.0 / 3) - t2 * angle;
    angle = (t - t * t2 * angle) * R(4 * 57.295779513082321 / 25);
    const vec z = pick(along > R(0), exp_minus(angle * angle), splat(R(0))) * R(1.0471975511965976),
              z2 = z * z;
    vec p = R(1.0 / 5040) - z2 * R(1.0 / 362880);
    p = R(1.0 / 120) - z2 * p;
    p = R(1.0 / 6) - z2 * p;
    return z - z * z2 * p;
}

/* Squared CIEDE2000; frame (when wanted) receives the metric of this pair. */
IN vec difference(struct colour x, const struct goal *goal, struct frame *frame) {
    const REAL tiny = REAL_IS_FLOAT ? R(1e-12) : R(1e-24);
    const vec c1 = root(x.a * x.a + x.b * x.b + tiny);
    const vec stretch = R(1.5) - R(.5) * chroma_weight((c1 + goal->chroma) * R(.5));
    const vec a1 = x.a * stretch, a2 = stretch * goal->a, b2 = splat(goal->b);
    const vec p1 = root(a1 * a1 + x.b * x.b + tiny), p2 = root(a2 * a2 + b2 * b2 + tiny),
              mean = (p1 + p2) * R(.5);
    const vec hx = a1 / p1 + a2 / p2, hy = x.b / p1 + b2 / p2, over = R(1) / root(hx * hx + hy * hy + tiny);
    const vec ux = hx * over, uy = hy * over;
    const vec level = (x.l + goal->l) * R(.5) - R(50), level2 = level * level;
    const vec sl = R(1) / (R(1) + R(.015) * level2 / root(R(20) + level2));
    const vec sc = R(1) / (R(1) + R(.045) * mean), sh = R(1) / (R(1) + R(.015) * mean * hue_weight(ux, uy));
    const vec turn = -blue_turn(ux, uy) * (chroma_weight(mean) + chroma_weight(mean));
    const vec dot = a1 * a2 + x.b * b2, cross = a2 * x.b - a1 * b2, both = p1 * p2;
    const vec wide = root(larger(both - dot, splat(R(0))) * R(2)),
              narrow = cross / root((both + larger(dot, splat(R(0)))) * R(.5));
    const vec dh = pick(dot < R(0), pick(cross < R(0), -wide, wide), narrow) * sh;
    const vec dl = (x.l - goal->l) * sl, dc = (p1 - p2) * sc;
    if (frame) {
        const vec half = turn * R(.5), rest = root(R(1) - half * half);
        frame->metric[0][0] = sl;
        frame->metric[1][1] = (ux * sc - half * uy * sh) * stretch;
        frame->metric[1][2] = uy * sc + half * ux * sh;
        frame->metric[2][1] = -rest * uy * sh * stretch;
        frame->metric[2][2] = rest * ux * sh;
    }
    return dl * dl + dc * dc + dh * dh + turn * dc * dh;
}

/* half the gradient of the squared difference, by central differences (it is smooth where the difference
 * itself has its kink) */
IN void difference_slope(struct colour x, const struct goal *goal, vec out[3]) {
    const REAL h = REAL_IS_FLOAT ? R(.03125) : R(.0009765625);
    struct colour up = x, down = x;
    up.l += h, down.l -= h;
    out[0] = (difference(up, goal, NULL) - difference(down, goal, NULL)) * (R(.25) / h);
    up = down = x;
    up.a += h, down.a -= h;
    out[1] = (difference(up, goal, NULL) - difference(down, goal, NULL)) * (R(.25) / h);
    up = down = x;
    up.b += h, down.b -= h;
    out[2] = (difference(up, goal, NULL) - difference(down, goal, NULL)) * (R(.25) / h);
}

/* e and its slopes by (L, a, b): |e| is the difference, and when true_slope its gradient is the difference's
 * own: a rank-one correction along e of the metric with the weighting functions held. */
static void term_local(const struct lens *v, struct colour x, const struct goal *goal, vec e[3],
                       vec slope[3][3]) {
    struct frame frame;
    const vec square = larger(difference(x, goal, &frame), splat(R(0)));
    const vec dl = x.l - goal->l, da = x.a - goal->a, db = x.b - goal->b;
    const REAL tiny = REAL_IS_FLOAT ? R(1e-10) : R(1e-18);
    memset(slope, 0, 9 * sizeof(vec));
    slope[0][0] = frame.metric[0][0];
    for (int i = 1; i < 3; i++)
        for (int j = 1; j < 3; j++) slope[i][j] = frame.metric[i][j];
    for (int i = 0; i < 3; i++) e[i] = slope[i][0] * dl + slope[i][1] * da + slope[i][2] * db;
    const vec scale = root((square + tiny) / (e[0] * e[0] + e[1] * e[1] + e[2] * e[2] + tiny));
    for (int i = 0; i < 3; i++) e[i] *= scale;
    if (!v->true_slope) return;
    vec want[3];
    difference_slope(x, goal, want);
    const vec over = R(1) / (square + R(1e-6));
    for (int j = 0; j < 3; j++) {
        const vec miss = (want[j] - (slope[0][j] * e[0] + slope[1][j] * e[1] + slope[2][j] * e[2])) * over;
        for (int i = 0; i < 3; i++) slope[i][j] += e[i] * miss;
    }
}

/* Slopes of (L, a, b) by the slots, from those of X/Xn, Y/Yn, Z/Zn. */
IN void light_colour(const struct lens *v, int light, const struct bands *bands, const vec by[SLOTS][BANDS],
                     struct colour *x, vec lab_by[3][SLOTS]) {
    const struct light_rows *rows = &v->light[light];
    vec f[3], slope[3];
    for (int j = 0; j < 3; j++) {
        vec sum = splat(R(0));
        for (int b = 0; b < BANDS; b++) sum += bands->r[b] * rows->row[j][b];
        f[j] = lab_curve(sum, &slope[j]);
    }
    x->l = f[1] * R(116) - R(16), x->a = (f[0] - f[1]) * R(500), x->b = (f[1] - f[2]) * R(200);
    for (int i = 0; i < v->slots; i++) {
        vec sx = splat(R(0)), sy = sx, sz = sx;
        for (int b = 0; b < BANDS; b++) {
            const vec d = by[i][b];
            sx += d * rows->row[0][b];
            sy += d * rows->row[1][b];
            sz += d * rows->row[2][b];
        }
        sx *= slope[0], sy *= slope[1], sz *= slope[2];
        lab_by[0][i] = sy * R(116), lab_by[1][i] = (sx - sy) * R(500), lab_by[2][i] = (sy - sz) * R(200);
    }
}

static void see_light(const struct lens *v, int light, const struct bands *bands, const vec by[SLOTS][BANDS],
                      struct point *p) {
    struct colour x;
    vec lab_by[3][SLOTS];
    light_colour(v, light, bands, by, &x, lab_by);
    for (int t = 0; t < v->terms; t++) {
        if (v->goal[t].light != light) continue;
        vec slope[3][3];
        term_local(v, x, &v->goal[t], p->e[t], slope);
        for (int r = 0; r < 3; r++)
            for (int i = 0; i < v->slots; i++)
                p->slope[t][r][i] =
                    slope[r][0] * lab_by[0][i] + slope[r][1] * lab_by[1][i] + slope[r][2] * lab_by[2][i];
    }
}

static void see_spectrum(const struct lens *v, const struct bands *bands, const vec by[SLOTS][BANDS],
                         struct point *p) {
    vec miss[BANDS];
    p->q0 = splat(R(0));
    for (int b = 0; b < BANDS; b++) {
        miss[b] = bands->r[b] - v->target[b];
        p->q0 += miss[b] * miss[b];
    }
    for (int i = 0; i < v->slots; i++) {
        vec sum = splat(R(0));
        for (int b = 0; b < BANDS; b++) sum += miss[b] * by[i][b];
        p->q1[i] = sum;
        for (int j = 0; j <= i; j++) {
            vec pair = splat(R(0));
            for (int b = 0; b < BANDS; b++) pair += by[i][b] * by[j][b];
            p->q2[PAIR(i, j)] = pair;
        }
    }
}

/* ---- the objective at a point, smoothed by end ---- */

IN vec length3(const vec e[3], vec eps2) {
    return root(e[0] * e[0] + e[1] * e[1] + e[2] * e[2] + eps2);
}

static void see(const struct lens *v, const struct group *g, struct point *p) {
    struct bands bands;
    vec by[SLOTS][BANDS], by_c[SLOTS];
    see_bands(v, g, p->c, by_c, &bands);
    for (int i = 0; i < v->slots; i++)
        for (int b = 0; b < BANDS; b++)
            by[i][b] = bands.by_k[b] * g->k[i][b] + bands.by_s[b] * g->s[i][b] * by_c[i];
    for (int l = 0; l < v->lights; l++) see_light(v, l, &bands, (const vec(*)[BANDS])by, p);
    const vec eps2 = splat(v->end * v->end);
    p->f = splat(R(0));
    if (v->rms_weight > 0) {
        see_spectrum(v, &bands, (const vec(*)[BANDS])by, p);
        /* the spectral residual is in the unit of F after its weight; its smoothing is the same share of it
         */
        p->f += root(p->q0 * (v->rms_weight * v->rms_weight) + eps2 * R(.01));
    }
    for (int t = 0; t < v->terms; t++) p->f += length3(p->e[t], eps2) * v->goal[t].weight;
    for (int i = 0; i < v->slots; i++) p->f += p->c[i] * g->price[i];
}

/* ---- the local model's minimum ---- */

struct step_state {
    vec d[SLOTS];                                            /* from the point */
    vec now[MATCH_TERMS_MOST][3], dual[MATCH_TERMS_MOST][3]; /* e + E d, and the dual of its length */
    vec square[MATCH_TERMS_MOST][PAIRS];                     /* E'E */
    vec gradient[SLOTS], hessian[PAIRS];
};

IN void start_steps(const struct lens *v, const int n, const struct point *p, vec eps2,
                    struct step_state *st) {
    UNROLL for (int i = 0; i < n; i++) st->d[i] = splat(R(0));
    for (int t = 0; t < v->terms; t++) {
        const vec(*e)[SLOTS] = p->slope[t];
        for (int r = 0; r < 3; r++) st->now[t][r] = p->e[t][r];
        const vec over = R(1) / length3(p->e[t], eps2);
        for (int r = 0; r < 3; r++) st->dual[t][r] = p->e[t][r] * over;
        UNROLL for (int i = 0; i < n; i++) UNROLL for (int j = 0; j <= i; j++) st->square[t][PAIR(i, j)] =
            e[0][i] * e[0][j] + e[1][i] * e[1][j] + e[2][i] * e[2][j];
    }
}

/* Gradient and primal-dual Hessian of one term. */
IN void add_term(const struct lens *v, const int n, const struct point *p, int t, struct step_state *st,
                 vec eps2) {
    const vec *now = st->now[t], *dual = st->dual[t];
    vec pull[SLOTS], hold[SLOTS];
    const vec over = R(1) / length3(now, eps2), weight = over * v->goal[t].weight, half = over * R(.5);
    UNROLL for (int i = 0; i < n; i++) {
        const vec x = p->slope[t][0][i], y = p->slope[t][1][i], z = p->slope[t][2][i];
        pull[i] = x * now[0] + y * now[1] + z * now[2];
        hold[i] = (x * dual[0] + y * dual[1] + z * dual[2]) * half;
        st->gradient[i] += pull[i] * weight;
    }
    UNROLL for (int i = 0; i < n; i++) UNROLL for (int j = 0; j <= i; j++) st->hessian[PAIR(i, j)] +=
        weight * (st->square[t][PAIR(i, j)] - pull[i] * hold[j] - pull[j] * hold[i]);
}

IN void add_spectrum(const struct lens *v, const int n, const struct point *p, struct step_state *st,
                     vec eps2) {
    vec pull[SLOTS], square = p->q0;
    UNROLL for (int i = 0; i < n; i++) {
        pull[i] = p->q1[i];
        UNROLL for (int j = 0; j < n; j++) pull[i] += p->q2[i >= j ? PAIR(i, j) : PAIR(j, i)] * st->d[j];
        square += (pull[i] + p->q1[i]) * st->d[i];
    }
    const REAL w2 = v->rms_weight * v->rms_weight;
    const vec over = R(1) / root(larger(square, splat(R(0))) * w2 + eps2 * R(.01)), scale = over * w2;
    const vec bend = scale * scale * over * R(.8);
    UNROLL for (int i = 0; i < n; i++) {
        st->gradient[i] += pull[i] * scale;
        UNROLL for (int j = 0; j <= i; j++) st->hessian[PAIR(i, j)] +=
            scale * p->q2[PAIR(i, j)] - bend * pull[i] * pull[j];
    }
}

IN void model_slopes(const struct lens *v, const int n, const struct group *g, const struct point *p,
                     struct step_state *st, vec eps, vec damp) {
    const vec eps2 = eps * eps;
    UNROLL for (int i = 0; i < n; i++) st->gradient[i] = g->price[i] + damp * st->d[i];
    UNROLL for (int i = 0; i < PAIRS; i++) st->hessian[i] = splat(R(0));
    for (int t = 0; t < v->terms; t++) add_term(v, n, p, t, st, eps2);
    if (v->rms_weight > 0) add_spectrum(v, n, p, st, eps2);
    UNROLL for (int i = 0; i < n; i++) st->hessian[PAIR(i, i)] += damp;
}

/* The Newton step with the held slots at rest and sum 0: H p = -g, H q = 1, step = p - q sum p / sum q. */
IN void solve_step(const int n, const struct step_state *st, const mask held[], vec step[]) {
    vec l[PAIRS], p[SLOTS], q[SLOTS], over[SLOTS];
    UNROLL for (int i = 0; i < n; i++) {
        p[i] = pick(held[i], splat(R(0)), -st->gradient[i]);
        q[i] = pick(held[i], splat(R(0)), splat(R(1)));
        UNROLL for (int j = 0; j <= i; j++) {
            vec sum = pick(held[i] | held[j], splat(i == j ? R(1) : R(0)), st->hessian[PAIR(i, j)]);
            const vec before = sum;
            UNROLL for (int m = 0; m < j; m++) sum -= l[PAIR(i, m)] * l[PAIR(j, m)] * over[m];
            /* l holds L D: the pivot stays on the diagonal, never under a sliver of what it was */
            if (i == j) {
                sum = larger(sum, before * (REAL_IS_FLOAT ? R(1e-5) : R(1e-12)) + R(1e-20));
                over[i] = R(1) / sum;
            }
            l[PAIR(i, j)] = sum;
        }
        UNROLL for (int m = 0; m < i; m++) {
            const vec factor = l[PAIR(i, m)] * over[m];
            p[i] -= factor * p[m];
            q[i] -= factor * q[m];
        }
    }
    vec sum_p = splat(R(0)), sum_q = splat(R(1e-30));
    UNROLL for (int i = n - 1; i >= 0; i--) {
        UNROLL for (int m = i + 1; m < n; m++) {
            p[i] -= l[PAIR(m, i)] * p[m];
            q[i] -= l[PAIR(m, i)] * q[m];
        }
        p[i] *= over[i];
        q[i] *= over[i];
        sum_p += p[i];
        sum_q += q[i];
    }
    const vec share = sum_p / sum_q;
    UNROLL for (int i = 0; i < n; i++) step[i] = p[i] - q[i] * share;
}

/* Slots that rest at a bound: those that the gradient keeps there, and those that the step would push out. */
IN void hold_slots(const int n, const struct group *g, const struct point *p, const struct step_state *st,
                   mask held[]) {
    vec sum = splat(R(0)), inside = splat(R(0));
    UNROLL for (int i = 0; i < n; i++) {
        const vec c = p->c[i] + st->d[i];
        const mask in = (c > g->low[i]) & (c < g->high[i]);
        sum += pick(in, st->gradient[i], splat(R(0)));
        inside += pick(in, splat(R(1)), splat(R(0)));
    }
    const vec level = sum / larger(inside, splat(R(1)));
    UNROLL for (int i = 0; i < n; i++) {
        const vec c = p->c[i] + st->d[i];
        const mask at_low = c <= g->low[i], at_high = c >= g->high[i], known = inside > R(.5);
        held[i] = (known & at_low & (st->gradient[i] > level)) |
                  (known & at_high & (st->gradient[i] < level)) | (at_low & at_high);
    }
}

IN bool any(mask m) {
    long long part[4];
    memcpy(part, &m, sizeof m);
    return (part[0] | part[1] | part[2] | part[3]) != 0;
}

IN void step_held(const int n, const struct group *g, const struct point *p, const struct step_state *st,
                  vec step[]) {
    mask held[SLOTS];
    hold_slots(n, g, p, st, held);
    for (int round = 0; round < 3; round++) {
        mask changed = {0};
        solve_step(n, st, held, step);
        UNROLL for (int i = 0; i < n; i++) {
            const vec c = p->c[i] + st->d[i];
            const mask out =
                ~held[i] & (((c <= g->low[i]) & (step[i] < R(0))) | ((c >= g->high[i]) & (step[i] > R(0))));
            held[i] |= out;
            changed |= out;
        }
        if (!any(changed)) break;
    }
}

IN void step_inside(const int n, const struct group *g, const struct point *p, const struct step_state *st,
                    vec step[]) {
    step_held(n, g, p, st, step);
    vec share = splat(R(1));
    UNROLL for (int i = 0; i < n; i++) {
        const vec c = p->c[i] + st->d[i];
        const vec room = pick(step[i] < R(0), c - g->low[i], g->high[i] - c), want = size_of(step[i]);
        share = pick(want * share > room, room / larger(want, splat(R(1e-30))), share);
    }
    UNROLL for (int i = 0; i < n; i++) step[i] *= share;
}

/* Chan, Golub, Mulet: the dual of |e| follows its linearisation and is kept in the unit ball. */
IN void move_dual(const struct lens *v, const int n, const struct point *p, struct step_state *st,
                  const vec step[], vec eps2) {
    for (int t = 0; t < v->terms; t++) {
        vec change[3], *now = st->now[t], *y = st->dual[t];
        for (int r = 0; r < 3; r++) {
            change[r] = splat(R(0));
            UNROLL for (int i = 0; i < n; i++) change[r] += p->slope[t][r][i] * step[i];
        }
        const vec over = R(1) / length3(now, eps2);
        const vec along = (now[0] * change[0] + now[1] * change[1] + now[2] * change[2]) * over * over;
        for (int r = 0; r < 3; r++) {
            now[r] += change[r];
            y[r] = now[r] * over - y[r] * along;
        }
        const vec shrink = R(1) / larger(length3(y, splat(R(0))), splat(R(1)));
        for (int r = 0; r < 3; r++) y[r] *= shrink;
    }
}

/* F as the local model has it at d, without damping. */
IN vec model_value(const struct lens *v, const int n, const struct group *g, const struct point *p,
                   const vec d[]) {
    const vec eps2 = splat(v->end * v->end);
    vec f = splat(R(0));
    UNROLL for (int i = 0; i < n; i++) f += (p->c[i] + d[i]) * g->price[i];
    for (int t = 0; t < v->terms; t++) {
        vec now[3];
        for (int r = 0; r < 3; r++) {
            now[r] = p->e[t][r];
            UNROLL for (int i = 0; i < n; i++) now[r] += p->slope[t][r][i] * d[i];
        }
        f += length3(now, eps2) * v->goal[t].weight;
    }
    if (v->rms_weight <= 0) return f;
    vec square = p->q0;
    UNROLL for (int i = 0; i < n; i++) {
        vec pull = p->q1[i] + p->q1[i];
        UNROLL for (int j = 0; j < n; j++) pull += p->q2[i >= j ? PAIR(i, j) : PAIR(j, i)] * d[j];
        square += pull * d[i];
    }
    return f + root(larger(square, splat(R(0))) * (v->rms_weight * v->rms_weight) + eps2 * R(.01));
}

IN void minimise_model(const struct lens *v, const int n, const struct group *g, const struct point *p,
                       vec damp, int steps, vec eps, vec shrink, vec d[], vec *hope) {
    struct step_state st;
    vec step[SLOTS];
    start_steps(v, n, p, eps * eps, &st);
    for (int k = 0; k < steps; k++) {
        model_slopes(v, n, g, p, &st, eps, damp);
        step_inside(n, g, p, &st, step);
        UNROLL for (int i = 0; i < n; i++) {
            const vec c = smaller(larger(p->c[i] + (st.d[i] + step[i]), g->low[i]), g->high[i]);
            st.d[i] = c - p->c[i];
        }
        if (k + 1 < steps || hope) move_dual(v, n, p, &st, step, eps * eps);
        eps = larger(eps * shrink, splat(v->end));
    }
    UNROLL for (int i = 0; i < n; i++) d[i] = st.d[i];
    if (!hope) return;
    /* what one more step would gain: steps that were cut short at a bound may not be all of them */
    model_slopes(v, n, g, p, &st, eps, damp);
    step_held(n, g, p, &st, step);
    vec gain = splat(R(0));
    UNROLL for (int i = 0; i < n; i++) gain -= st.gradient[i] * step[i];
    *hope = model_value(v, n, g, p, d) - larger(gain, splat(R(0))) * R(.5);
}

/* ---- a group's refinement ---- */

static void keep_where(const struct lens *v, mask where, const struct point *from, struct point *to) {
    for (int i = 0; i < v->slots; i++) to->c[i] = pick(where, from->c[i], to->c[i]);
    to->f = pick(where, from->f, to->f);
    to->q0 = pick(where, from->q0, to->q0);
    for (int i = 0; i < v->slots; i++) to->q1[i] = pick(where, from->q1[i], to->q1[i]);
    for (int i = 0; i < PAIRS; i++) to->q2[i] = pick(where, from->q2[i], to->q2[i]);
    for (int t = 0; t < v->terms; t++)
        for (int r = 0; r < 3; r++) {
            to->e[t][r] = pick(where, from->e[t][r], to->e[t][r]);
            for (int i = 0; i < v->slots; i++)
                to->slope[t][r][i] = pick(where, from->slope[t][r][i], to->slope[t][r][i]);
        }
}

/* shrink^(steps) takes eps to end in two thirds of the steps. */
IN vec shrink_rate(vec eps, REAL end, int steps) {
    vec rate = splat(end) / eps;
    /* a root of the ratio by repeated square roots: the power of two at or above 2/3 steps */
    for (int power = 1; 3 * power < 2 * steps; power *= 2) rate = root(rate);
    return larger(rate, splat(R(.05)));
}

/* A step along a curved valley (a film that nearly hides, in more or less binder) lands beside its floor,
 * higher than it began; from there one more step finds the floor again, farther on. So a step that failed is
 * not undone at once: the next one starts where it ended, and only when that fails too it goes back to the
 * best and is more careful (the watchdog of Chamberlain, Powell, Lemarechal and Pedersen 1982). */
IN void refine_slots(const struct lens *v, const int n, const struct group *g,
                     const struct match_schedule *schedule, struct point *best, struct point *trial) {
    struct point from;
    see(v, g, best);
    vec hope = best->f;
    mask astray = {0};
    from = *best;
    for (int outer = 0; outer < schedule->outer; outer++) {
        vec d[SLOTS];
        const vec eps = larger(from.f * R(.5), splat(v->end));
        minimise_model(v, n, g, &from, best->damp, schedule->inner, eps,
                       shrink_rate(eps, v->end, schedule->inner), d,
                       outer + 1 == schedule->outer ? &hope : NULL);
        for (int i = 0; i < n; i++) trial->c[i] = from.c[i] + d[i];
        see(v, g, trial);
        const mask better = trial->f < best->f, back = ~better & astray;
        keep_where(v, better, trial, best);
        best->damp = pick(better, best->damp * R(.2), pick(back, (best->damp + R(.05)) * R(16), best->damp));
        astray = ~better & ~astray;
        from = *trial;
        keep_where(v, back, best, &from);
    }
    best->hope = smaller(hope, best->f);
}

/* The loops over slots are unrolled for each number of them; fewer than three are filled up with empty ones.
 */
static void refine_group(const struct lens *v, const struct group *g, const struct match_schedule *schedule,
                         struct point *best, struct point *trial) {
    switch (v->slots) {
    case 3:
        refine_slots(v, 3, g, schedule, best, trial);
        break;
    case 4:
        refine_slots(v, 4, g, schedule, best, trial);
        break;
    case 5:
        refine_slots(v, 5, g, schedule, best, trial);
        break;
    default:
        refine_slots(v, 6, g, schedule, best, trial);
        break;
    }
}

/* ---- in and out ---- */

static void set_beam(const struct match_model *m, struct lens *v) {
    const struct beam *beam = &m->task->shelf->beam;
    v->beam = beam->on;
    v->thin = v->opaque ? R(0) : R(1 / m->film_um);
    v->leans = shelf_leans(m->task->shelf);
    v->forward = R(beam->forward);
    v->beams = beams_at(splat(v->forward), v->thin);
}

static void make_lens(const struct match_model *m, int slots, const struct match_schedule *schedule,
                      struct lens *v) {
    *v = (struct lens){.slots = slots,
                       .lights = (int)m->objective.lights,
                       .terms = (int)m->objective.terms,
                       .true_slope = schedule->true_slope};
    v->opaque = !(m->film_um < 1e6); /* no film of a metre is thin */
    set_beam(m, v);
    v->film = v->opaque ? R(0) : R(m->film_um);
    /* sigma X under this is taken as this: the film's numbers are ratios of differences there */
    v->guard = v->opaque ? R(1e-12) : R((REAL_IS_FLOAT ? 2e-3 : 1e-6) / m->film_um);
    v->k1 = R(m->k1), v->k2 = R(m->k2), v->span = R(m->span), v->end = R(schedule->end);
    v->rms_weight = R(m->rms_weight);
    for (int b = 0; b < BANDS; b++) {
        v->backing[b] = v->opaque ? R(0) : R(m->objective.backing[b]);
        v->target[b] = R(m->objective.target[b]);
        for (size_t l = 0; l < m->objective.lights; l++) {
            const struct weights *w = m->objective.light[l];
            v->light[l].row[0][b] = R(w->x[b] / w->white.x);
            v->light[l].row[1][b] = R(w->y[b] / w->white.y);
            v->light[l].row[2][b] = R(w->z[b] / w->white.z);
        }
    }
    for (size_t t = 0; t < m->objective.terms; t++) {
        const struct objective_term *term = &m->objective.term[t];
        const double a = term->lab.a, b = term->lab.b;
        v->goal[t] = (struct goal){
            R(term->lab.l), R(a), R(b), R(term->weight), R(__builtin_sqrt(a * a + b * b)), (int)term->light};
    }
}

static void load_lane(const struct match_model *m, const struct match_lane *lane, int slots, int at,
                      struct group *g, struct point *p) {
    for (int i = 0; i < slots; i++) {
        const int column = lane->column[i];
        const struct match_column *col = column >= 0 ? &m->column[column] : NULL;
        for (int b = 0; b < BANDS; b++) {
            g->k[i][b][at] = col ? R(col->k[b]) : 0;
            g->s[i][b][at] = col ? R(col->s[b]) : 0;
        }
        p->damp[at] = R(lane->damp);
        g->bend[i][at] = col ? R(col->bend) : 0;
        g->crowd[i][at] = col ? R(col->crowd) : 0;
        g->lean[i][at] = col ? R(col->lean) : 0;
        g->price[i][at] = col ? R(col->price * m->objective.cost_weight) : 0;
        g->low[i][at] = col ? R(lane->low[i]) : 0;
        g->high[i][at] = col ? R(lane->high[i]) : 0;
        const REAL c = col ? R(lane->c[i]) : 0;
        p->c[i][at] = c < g->low[i][at] ? g->low[i][at] : c > g->high[i][at] ? g->high[i][at] : c;
    }
}

static void store_lane(const struct lens *v, const struct point *p, int at, struct match_lane *lane) {
    for (int i = 0; i < v->slots; i++) lane->c[i] = lane->column[i] >= 0 ? (double)p->c[i][at] : 0;
    lane->f = (double)p->f[at];
    lane->damp = (double)p->damp[at];
    lane->hope = (double)p->hope[at];
    match_lane_fit(lane);
    struct match_local *local = lane->local;
    if (!local) return;
    for (int t = 0; t < v->terms; t++)
        for (int r = 0; r < 3; r++) {
            local->e[t][r] = (double)p->e[t][r][at];
            for (int i = 0; i < v->slots; i++) local->slope[t][r][i] = (double)p->slope[t][r][i][at];
        }
    local->q0 = (double)p->q0[at];
    for (int i = 0; i < v->slots; i++) {
        local->q1[i] = (double)p->q1[i][at];
        for (int j = 0; j <= i; j++) local->q2[i][j] = local->q2[j][i] = (double)p->q2[PAIR(i, j)][at];
    }
}

void KERNEL_NAME(const struct match_model *model, struct match_lane *lane, size_t count, int slots,
                 const struct match_schedule *schedule) {
    struct lens lens;
    struct point best, trial;
    make_lens(model, slots < 3 ? 3 : slots, schedule, &lens);
    /* what a Lab-only target never sets */
    memset(&best.q0, 0, sizeof best - offsetof(struct point, q0));
    memset(&trial.q0, 0, sizeof trial - offsetof(struct point, q0));
    for (size_t first = 0; first < count; first += (size_t)LANES) {
        struct group group;
        /* the last group is filled up with its last lane, so that no lane computes on nothing */
        for (int i = 0; i < LANES; i++) {
            const size_t at = first + (size_t)i < count ? first + (size_t)i : count - 1;
            load_lane(model, &lane[at], lens.slots, i, &group, &best);
        }
        refine_group(&lens, &group, schedule, &best, &trial);
        for (int i = 0; i < LANES && first + (size_t)i < count; i++)
            store_lane(&lens, &best, i, &lane[first + (size_t)i]);
    }
}
