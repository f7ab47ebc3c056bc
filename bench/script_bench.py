#!/usr/bin/python3
"""Fit, correction and camera: the whole program against a careful script with general-purpose libraries, in one run.

    apt-get install --no-install-recommends python3-numpy python3-scipy python3-skimage python3-opencv
    bench/script_bench.py build/release [fit] [adjust] [camera]

The script of the fit: finite-film Kubelka-Munk with Saunderson's correction (k1 .04, k2 .6) and films as written, solved band by band
by scipy.optimize.least_squares (trust region, bounds, analytic would be no quicker: 31 small problems). Of the correction: every
addition of up to three toners by SLSQP on the shelf's own curves. Of the camera: OpenCV's tag detector (its name for the family
36h11), a homography, means of the patches, a 3 x 4 matrix by least squares on chart values, all in linear light. Start of the
interpreter and imports are not counted for the scripts; russet's is the whole process. Times are CPU time of all threads, so that a busy machine changes them little. Data: the demo's (invented), a picture made here.
"""
import itertools, json, os, subprocess, sys, tempfile, time
import numpy as np
from rows import launch, row

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
DEMO = ROOT + "/data/demo"
OBSERVER = "cmf_CIE_1964_10_Degree_Standard_Observer.csv"
BANDS = 31


def russet(*words):
    """The reply, seconds of CPU (all threads), the most memory (MiB)."""
    text, _, seconds, memory = launch([russet.program, *map(str, words), "--json"])
    return json.loads(text), seconds, memory


def lab_of(reflectance):
    """D65, 10 degrees, by the program's own observer table (data/cie), so that colour arithmetic is not what differs."""
    if lab_of.weights is None:
        lab_of.weights = weights("D65")
    return lab_under(reflectance, lab_of.weights)


lab_of.weights = None


def table(name):
    rows = [line.replace(",", " ").split() for line in open(f"{ROOT}/data/cie/{name}") if line.strip() and (line[0].isdigit())]
    return {int(float(r[0])): [float(v) for v in r[1:]] for r in rows}


def weights(light):
    observer, lamp = table(OBSERVER), table(f"illum_{light}.csv")
    nm = range(400, 701, 10)
    w = np.array([[observer[n][i] * lamp[n][0] for n in nm] for i in range(3)])
    return w / w[1].sum()


def lab_under(reflectance, w):
    xyz, white = np.asarray(reflectance) @ w.T, w.sum(1)
    t = xyz / white
    f = np.where(t > (6 / 29) ** 3, np.cbrt(np.maximum(t, 1e-9)), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


def de00(a, b):
    from skimage.color import deltaE_ciede2000
    return deltaE_ciede2000(a, b)


# ---- paint, as a script would write it

K1, K2 = .04, .6


def inner(r):
    return (r - K1) / (1 - K1 - K2 + K2 * r)


def outer(r):
    return K1 + (1 - K1) * (1 - K2) * r / (1 - K2 * r)


def film(k, s, x, ground):
    s = np.maximum(s, 1e-9)
    a = 1 + k / s
    b = np.sqrt(np.maximum(a * a - 1, 1e-12))
    y = np.minimum(b * s * x, 50)
    coth = 1 / np.tanh(np.maximum(y, 1e-9))
    return (1 - ground * (a - b * coth)) / (a - ground + b * coth)


def read_drawdowns():
    lines = open(DEMO + "/drawdowns.cgats").read().splitlines()
    head = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split("\t")
    rows = [line.split("\t") for line in lines[lines.index("BEGIN_DATA") + 1:lines.index("END_DATA")]]
    return lines, head, rows


def split(rows, head):
    """Every fifth mix of two colours and more is kept for judging."""
    mix = [i for i, h in enumerate(head) if h.startswith("MIX_")]
    held, fitted, seen = [], [], 0
    for r in rows:
        colours = sum(float(r[i]) > 0 for i in mix if head[i] != "MIX_binder")
        seen += colours >= 2
        (held if colours >= 2 and seen % 5 == 0 else fitted).append(r)
    return fitted, held


def arrays(rows, head, bare):
    mix = [i for i, h in enumerate(head) if h.startswith("MIX_")]
    band = [i for i, h in enumerate(head) if h.startswith("SPECTRAL_")]
    parts = np.array([[float(r[i]) for i in mix] for r in rows])
    parts /= parts.sum(1)[:, None]
    return parts, np.array([float(r[2]) for r in rows]), np.array([bare[r[1]] for r in rows]), np.array([[float(r[i]) for i in band] for r in rows])


def script_fit(parts, um, ground, measured):
    from scipy.optimize import least_squares
    n = parts.shape[1]
    k, s = np.empty((n, BANDS)), np.empty((n, BANDS))
    for b in range(BANDS):
        def miss(v):
            return outer(film(parts @ v[:n], parts @ v[n:], um, inner(ground[:, b]))) - measured[:, b]
        found = least_squares(miss, np.full(2 * n, .05), bounds=(0, np.inf), x_scale=.05, max_nfev=200)
        k[:, b], s[:, b] = found.x[:n], found.x[n:]
    return k, s


def bench_fit(folder):
    lines, head, rows = read_drawdowns()
    bare = {r[0][5:]: np.array([float(v) for v in r[-BANDS:]]) for r in rows if r[0].startswith("bare-")}
    films = [r for r in rows if not r[0].startswith("bare-")]
    for r in films:
        r[1] = r[1].replace("bare-", "")
    fitted, held = split(films, head)
    written = {r[0] for r in fitted} | {r[0] for r in rows if r[0].startswith("bare-")}
    kept = [line for line in lines[lines.index("BEGIN_DATA") + 1:lines.index("END_DATA")] if line.split("\t")[0] in written]
    top = [f"NUMBER_OF_SETS {len(kept)}" if line.startswith("NUMBER_OF_SETS") else line for line in lines[:lines.index("BEGIN_DATA") + 1]]
    with open(f"{folder}/films.cgats", "w") as out:
        out.write("\n".join(top + kept + ["END_DATA"]) + "\n")
    ours = [russet("toners", "fit", f"{folder}/films.cgats", "--about", DEMO + "/about.json", "--out", f"{folder}/toners.json") for _ in range(3)]
    took, memory = min(o[1] for o in ours), ours[0][2]
    parts, um, ground, measured = arrays(fitted, head, bare)
    begun = time.process_time()
    k, s = script_fit(parts, um, ground, measured)
    peer = time.process_time() - begun
    parts, um, ground, measured = arrays(held, head, bare)
    seen = outer(film(parts @ k, parts @ s, um[:, None], inner(ground)))
    names = [h[4:] for h in head if h.startswith("MIX_")]
    own = []
    for r, p in zip(held, parts):
        mix = ",".join(f"{n}={v:.6f}" for n, v in zip(names, p) if v > 0)
        reply = russet("predict", "--toners", f"{folder}/toners.json", "--parts", mix, "--backing", f"{DEMO}/drawdowns.cgats#bare-{r[1]}", "--film-um", r[2])[0]
        own.append(reply["reflectance"])
    truth = lab_of(measured)
    a, b = np.median(de00(truth, lab_of(np.array(own)))), np.median(de00(truth, lab_of(seen)))
    row("fit of the shelf", len(fitted), 1e3 * took, "scipy least_squares, band by band", 1e3 * peer,
        f"{len(held)} mixes kept out: median {a:.2f} dE00 (script {b:.2f})", memory)


def bench_adjust(folder):
    from scipy.optimize import minimize
    russet("toners", "fit", DEMO + "/drawdowns.cgats", "--about", DEMO + "/about.json", "--out", f"{folder}/shelf.json")
    shelf = json.load(open(f"{folder}/shelf.json"))["toners"]
    names = list(shelf)
    k, s = (np.array([shelf[n][c] for n in names]) for c in "ks")
    target, ground = f"{DEMO}/helm-seat.cgats", f"{DEMO}/grounds.cgats#filler"
    match = russet("match", "--toners", f"{folder}/shelf.json", "--target", target, "--backing", ground, "--film-um", 84, "--batch-g", 60, "--out", f"{folder}/match.json")[0]
    pot = {t["toner"]: t["g"] for t in match["recipes"][0]["parts"]}
    first = next(n for n in pot if n not in ("white", "binder"))
    pot[first] *= 1.15 # over-poured
    parts = ",".join(f"{n}={g:.2f}" for n, g in pot.items())
    russet("predict", "--toners", f"{folder}/shelf.json", "--parts", parts, "--backing", ground, "--film-um", 84, "--out", f"{folder}/card.json")
    words = ["adjust", "--measured", f"{folder}/card.json", "--toners", f"{folder}/shelf.json", "--pot", parts, "--target", target, "--backing", ground, "--film-um", 84, "--pot-g", 120]
    ours = [russet(*words) for _ in range(3)]
    reply, took, memory = min(ours, key=lambda o: o[1])
    want = np.array(russet("reading", target)[0]["reflectance"])
    under = np.array(russet("reading", ground)[0]["reflectance"])
    base = np.array([pot.get(n, 0) for n in names])
    lights = [(weights("D65"), .6), (weights("A"), .25), (weights("FL11"), .15)]
    labs = [lab_under(want, w) for w, _ in lights]

    def miss(grams):
        p = grams / grams.sum()
        r = outer(film(p @ k, p @ s, 84., inner(under)))
        return sum(share * float(de00(lab, lab_under(r, w))) for (w, share), lab in zip(lights, labs))

    begun, best, tried = time.process_time(), (miss(base), ()), 0
    for n in (1, 2, 3):
        for some in itertools.combinations(range(len(names)), n):
            some = list(some)

            def with_these(v):
                grams = base.copy()
                grams[some] += v
                return miss(grams)
            found = minimize(with_these, np.full(n, .3), method="SLSQP", bounds=[(0, 30)] * n, options=dict(maxiter=30))
            tried += 1
            if found.fun < best[0] - 1e-4:
                best = (found.fun, some)
    peer = time.process_time() - begun
    row("correction of a pot", len(names), 1e3 * took, f"scipy SLSQP, {tried} sets of additions", 1e3 * peer,
        f"{reply['de00_before']:.2f} to {reply['de00_after']:.2f} dE00 (script to {best[0]:.2f})", memory)


# ---- the camera

TURNS = 2 # quarter turns between OpenCV's upright of this family and libapriltag's


def srgb(v):
    v = np.clip(v, 0, 1)
    return np.where(v <= .0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - .055)


def make_photo(folder, wide):
    import cv2
    card = json.load(open(f"{folder}/card.json"))
    px = wide / 240.
    w, h = int(card["size_mm"][0] * px), int(card["size_mm"][1] * px)
    to_rgb = np.linalg.inv(np.array([[.4124, .3576, .1805], [.2126, .7152, .0722], [.0193, .1192, .9505]]))

    def rgb(r):
        return np.clip(to_rgb @ ((np.asarray(r) @ weights("D65").T) * [.9505 / .9481, 1, 1.089 / 1.073]), 0, 1)
    flat = np.full((h, w, 3), .18, np.float32)
    for p in card["patches"]:
        (x, y), half = p["center_mm"], p["size_mm"] / 2
        flat[int((y - half) * px):int((y + half) * px), int((x - half) * px):int((x + half) * px)] = rgb(p["reflectance"])
    spot = json.loads(json.dumps(russet("reading", DEMO + "/helm-seat.cgats")[0]["reflectance"]))
    (x, y), half = card["window_mm"]["center"], card["window_mm"]["size"] / 2
    flat[int((y - half) * px):int((y + half) * px), int((x - half) * px):int((x + half) * px)] = rgb(spot)
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    draw = getattr(cv2.aruco, "generateImageMarker", None) or cv2.aruco.drawMarker
    for t in card["tags"]:
        (x0, y0), (x1, _) = t["corners_mm"][0], t["corners_mm"][1]
        side = int((x1 - x0) * px)
        quiet = int((x1 - x0) * px / 8)
        a, b = int(y0 * px), int(x0 * px)
        flat[max(0, a - quiet):a + side + quiet, max(0, b - quiet):b + side + quiet] = .85
        flat[a:a + side, b:b + side] = np.where(np.rot90(draw(family, t["id"], side), TURNS)[..., None] > 0, .85, .04)
    high = wide * 3 // 4
    corner = np.float32([[.18 * wide, .06 * high], [.80 * wide, .08 * high], [.77 * wide, .95 * high], [.20 * wide, .92 * high]])
    m = cv2.getPerspectiveTransform(np.float32([[0, 0], [w, 0], [w, h], [0, h]]), corner)
    seen = cv2.warpPerspective(flat, m, (wide, high), flags=cv2.INTER_AREA, borderValue=(.18, .18, .18))
    rng = np.random.default_rng(3)
    yy, xx = np.mgrid[0:high, 0:wide]
    seen *= (1 - .25 * (((xx / wide - .5) ** 2 + (yy / high - .5) ** 2)))[..., None]
    seen = seen * [.9, 1, .8] * .9 + .004 + rng.normal(0, .004, (high, wide, 1))
    cv2.imwrite(f"{folder}/photo.jpg", (255 * srgb(seen[..., ::-1]) + .5).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 93])
    return np.array(spot), (wide * high) / 1e6


def script_photo(folder, card):
    import cv2
    picture = cv2.imread(f"{folder}/photo.jpg")
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    how = (getattr(cv2.aruco, "DetectorParameters_create", None) or cv2.aruco.DetectorParameters)()
    how.minMarkerDistanceRate = .005 # else the white border's own outline takes the place of the tag
    corners, ids, _ = cv2.aruco.detectMarkers(grey, family, parameters=how)
    where = {t["id"]: t["corners_mm"] for t in card["tags"]}
    a = np.concatenate([where[i] for i in ids.ravel() if i in where]).astype(np.float32)
    b = np.concatenate([np.roll(c[0], -TURNS, 0) for c, i in zip(corners, ids.ravel()) if i in where])
    m, _ = cv2.findHomography(a, b)
    level = np.arange(256) / 255.
    level = np.where(level <= .04045, level / 12.92, ((level + .055) / 1.055) ** 2.4).astype(np.float32)

    def mean(center, size):
        x, y = center
        q = cv2.perspectiveTransform(np.float32([[[x - size / 3, y - size / 3], [x + size / 3, y - size / 3], [x + size / 3, y + size / 3], [x - size / 3, y + size / 3]]]), m)[0]
        lo, hi = np.ceil(q.min(0)).astype(int), np.floor(q.max(0)).astype(int)
        return level[picture[lo[1]:hi[1], lo[0]:hi[0]]].mean((0, 1))
    seen = np.array([mean(p["center_mm"], p["size_mm"]) for p in card["patches"]])
    want = np.array([p["reflectance"] for p in card["patches"]]) @ weights("D65").T
    ones = np.ones((len(seen), 1))
    matrix = np.linalg.lstsq(np.hstack([seen, ones]), want, rcond=None)[0]
    xyz = np.append(mean(card["window_mm"]["center"], card["window_mm"]["size"]), 1) @ matrix
    white = weights("D65").sum(1)
    f = np.cbrt(np.maximum(xyz / white, 1e-4))
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def bench_camera(folder):
    russet("card", "--kind", "frame", "--out", f"{folder}/card.json")
    card = json.load(open(f"{folder}/card.json"))
    for wide in (1000, 2000, 4000):
        spot, megapixels = make_photo(folder, wide)
        ours = [russet("photo", "colour", f"{folder}/photo.jpg", "--card", f"{folder}/card.json") for _ in range(3)]
        reply, took, memory = min(ours, key=lambda o: o[1])
        times = []
        for _ in range(3):
            begun = time.process_time()
            lab = script_photo(folder, card)
            times.append(time.process_time() - begun)
        truth = lab_of(spot)
        row("a photograph to a reading", megapixels, 1e3 * took, "OpenCV tags, numpy matrix", 1e3 * min(times),
            f"{float(de00(truth, np.array(reply['lab']))):.2f} dE00 (script {float(de00(truth, lab)):.2f})", memory)


def main():
    russet.program = os.path.join(os.path.abspath(sys.argv[1]), "russet")
    with tempfile.TemporaryDirectory() as folder:
        for what in sys.argv[2:] or ("fit", "adjust", "camera"):
            {"fit": bench_fit, "adjust": bench_adjust, "camera": bench_camera}[what](folder)


if __name__ == "__main__":
    main()
