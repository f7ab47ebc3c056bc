#!/usr/bin/python3
"""Grain and wear of 12 megapixels: russet against the same steps by general-purpose libraries, in one run.

    apt-get install python3-numpy python3-scipy python3-skimage
    bench/surface_bench.py build/release/russet [FOLDER]

Pictures are made here (a random surface with a Gaussian autocorrelation, six near torches, sensor noise, JPEG 95;
a cracked panel) and kept in FOLDER when it is given. The peer decodes by skimage.io, divides by a second-order fit,
drops the brightest 40 %, solves weighted least squares three times over, integrates by scipy.fft's cosine and sine
transforms, filters, and reckons the parameters; for wear it flattens, filters in 16 directions and three scales,
labels and thins. Both run with two threads where they can (scipy.fft workers=2; NumPy is one thread).
"""
import json, os, subprocess, sys, tempfile, time
import numpy as np
from scipy import fft, ndimage, signal
from skimage import io, measure, morphology
from rows import launch, row

W, H, STEP, S, L = 4000, 3000, .04, .25, 5.


def encode(v):
    v = np.clip(v, 0, 1)
    return (255 * np.where(v <= .0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - .055) + .5).astype(np.uint8)


def make_grain(folder):
    rng = np.random.default_rng(5)
    fx, fy = np.fft.rfftfreq(W, STEP), np.fft.fftfreq(H, STEP)
    a = np.exp(-(2 * np.pi) ** 2 * (fx[None] ** 2 + fy[:, None] ** 2) * .25 / 8) * np.exp(2j * np.pi * rng.random((H, len(fx))))
    a[0, 0] = 0
    k = .018 / np.fft.irfft2(a, s=(H, W)).std()
    p = k * np.fft.irfft2(a * 2j * np.pi * fx[None], s=(H, W))
    q = k * np.fft.irfft2(a * 2j * np.pi * fy[:, None], s=(H, W))
    x, y = (np.arange(W) + .5 - W / 2) * STEP, (np.arange(H) + .5 - H / 2) * STEP
    lights, d, el = [], 500., np.deg2rad(27.5)
    for i in range(6):
        az = np.deg2rad(60 * i + 10)
        dx, dy, dz = np.cos(az) * np.cos(el) * d - x[None], -np.sin(az) * np.cos(el) * d - y[:, None], np.sin(el) * d
        r2 = dx ** 2 + dy ** 2 + dz ** 2
        v = np.maximum(0, (dz - p * dx - q * dy) / np.sqrt(r2 * (1 + p * p + q * q))) * d * d / r2
        v = v * .45 / np.sin(el) * .9 * (.8 + .4 * rng.random()) + .003 * rng.standard_normal((H, W))
        io.imsave(f"{folder}/p{i}.jpg", np.repeat(encode(v)[..., None], 3, 2), quality=95)
        lights.append(dict(photo=f"p{i}.jpg", azimuth_deg=60 * i + 10, elevation_deg=27.5, distance_mm=d))
    with open(f"{folder}/lights.json", "w") as out:
        json.dump(dict(lights=lights), out)


def make_wear(folder):
    rng = np.random.default_rng(7)
    light = .3 * np.exp(.12 * ndimage.gaussian_filter(rng.standard_normal((H, W)), 3) * 10)
    light *= 1 + .04 * rng.standard_normal((H, W))
    for _ in range(12):
        x, y, way = rng.random() * W, rng.random() * H, 2 * np.pi * rng.random()
        for _ in range(4000):
            way += .03 * rng.standard_normal()
            x, y = x + .5 * np.cos(way), y + .5 * np.sin(way)
            if not (8 < x < W - 8 and 8 < y < H - 8):
                break
            light[int(y) - 3:int(y) + 4, int(x) - 3:int(x) + 4] *= .93
    io.imsave(f"{folder}/wear.jpg", np.repeat(encode(light)[..., None], 3, 2), quality=95)


def run(command):
    text, wall, cpu, memory = launch(command)
    return wall, cpu, memory, json.loads(text)


def linear(path):
    table = np.arange(256) / 255.
    table = np.where(table <= .04045, table / 12.92, ((table + .055) / 1.055) ** 2.4)
    return table.astype(np.float32)[io.imread(path)].mean(2)


def terms(y, x):
    x, y = (2 * x + 1.) / W - 1, (2 * y + 1.) / H - 1
    return np.stack([np.ones_like(x * y), x + 0 * y, y + 0 * x, x * x + 0 * y, x * y, y * y + 0 * x], -1)


def even(v):
    t = terms(np.arange(2, H, 5)[:, None], np.arange(2, W, 5)[None]).reshape(-1, 6)
    some = v[2::5, 2::5].reshape(-1)
    c = np.linalg.lstsq(t, some, rcond=None)[0]
    keep = some <= 2 * (t @ c)
    c = np.linalg.lstsq(t[keep], some[keep], rcond=None)[0]
    for y in range(0, H, 250):
        v[y:y + 250] /= terms(np.arange(y, y + 250)[:, None], np.arange(W)[None]) @ c
    return v


def slopes(v, lights):
    n, keep = len(v), len(v) - int(.4 * len(v))
    p, q = np.empty((H, W), np.float32), np.empty((H, W), np.float32)
    x = ((np.arange(W) + .5 - W / 2) * STEP)[None]
    for y0 in range(0, H, 100):
        y = ((np.arange(y0, y0 + 100) + .5 - H / 2) * STEP)[:, None]
        part = np.stack([a[y0:y0 + 100] for a in v])
        rows = []
        for light in lights:
            az, el = np.deg2rad(light["azimuth_deg"]), np.deg2rad(light["elevation_deg"])
            high = light["distance_mm"] * np.sin(el)
            mx, my = np.cos(az) / np.tan(el) - x / high, -np.sin(az) / np.tan(el) - y / high
            rows.append(np.stack(np.broadcast_arrays(np.ones_like(mx + my), -mx, -my), -1))
        m = np.stack(rows)
        order = np.argsort(part, 0, kind="stable")[:keep]
        part, m = np.take_along_axis(part, order, 0), np.take_along_axis(m, order[..., None], 0)
        weight = np.ones_like(part)
        for turn in range(4):
            a = np.einsum("nyx,nyxi,nyxj->yxij", weight, m, m, optimize=True)
            b = np.einsum("nyx,nyxi,nyx->yxi", weight, m, part, optimize=True)
            s = np.linalg.solve(a, b[..., None])[..., 0]
            if turn < 3:
                off = (part - np.einsum("nyxi,yxi->nyx", m, s)) / s[..., 0]
                weight = 1 / (1 + (off / np.where(off > 0, .02, .04)) ** 2)
        p[y0:y0 + 100], q[y0:y0 + 100] = s[..., 1] / s[..., 0], s[..., 2] / s[..., 0]
    return p, q


def integrate(p, q):
    x, y = ((2 * np.arange(W) + 1.) / W - 1)[None], ((2 * np.arange(H) + 1.) / H - 1)[:, None]
    cross = ((p * y).mean() * H + (q * x).mean() * W) / (H * H * (y * y).mean() + W * W * (x * x).mean())
    p = p - p.mean() - (p * x).mean() / (x * x).mean() * x - cross * H * y
    q = q - q.mean() - (q * y).mean() / (y * y).mean() * y - cross * W * x
    pc = fft.dct(fft.dst(p, 2, axis=1, workers=2), 2, axis=0, workers=2)
    qc = fft.dst(fft.dct(q, 2, axis=1, workers=2), 2, axis=0, workers=2)
    u, v = (np.pi * np.arange(W) / (W * STEP))[None], (np.pi * np.arange(H) / (H * STEP))[:, None]
    across, down = np.zeros((H, W)), np.zeros((H, W))
    across[:, 1:], down[1:] = pc[:, :-1], qc[:-1]
    both = u * u + v * v
    both[0, 0] = 1
    f2 = both / (4 * np.pi ** 2)
    gain = np.exp(-np.log(2) * f2 * S * S) * (1 - np.exp(-np.log(2) * f2 * L * L))
    z = -(u * across + v * down) / both * gain
    z[0, 0] = 0
    return fft.dctn(z, 3, workers=2) / (4. * W * H)


def parameters(z):
    z = z - z.mean()
    sq = np.sqrt((z ** 2).mean())
    out = dict(Sa_um=1e3 * abs(z).mean(), Sq_um=1e3 * sq, Sz_um=1e3 * np.ptp(z), Ssk=(z ** 3).mean() / sq ** 3,
               Sku=(z ** 4).mean() / sq ** 4)
    k = np.array([-1, 9, -45, 0, 45, -9, 1]) / (60 * STEP)
    g = sum(ndimage.correlate1d(z, k, axis=i)[3:-3, 3:-3] ** 2 for i in (0, 1))
    out["Sdq"], out["Sdr"] = np.sqrt(g.mean()), (np.sqrt(1 + g) - 1).mean()
    shape = [fft.next_fast_len(n + n // 2 + 3, True) for n in z.shape]
    acf = fft.irfft2(abs(fft.rfft2(z, shape, workers=2)) ** 2, shape, workers=2)
    reach = []
    for a in np.pi * np.arange(360) / 360:
        r = np.arange(.25, 200, .25)
        x, y = r * np.cos(a), r * np.sin(a)
        v = ndimage.map_coordinates(np.roll(acf, (300, 300), (0, 1))[:600, :600], [y + 300, x + 300], order=1) if a == 0 else \
            ndimage.map_coordinates(parameters.near, [y + 300, x + 300], order=1)
        if a == 0:
            parameters.near = np.roll(acf, (300, 300), (0, 1))[:600, :600]
        v = v / acf[0, 0] * W * H / ((W - abs(x)) * (H - abs(y)))
        i = np.argmax(v <= .2)
        reach.append(r[i] - .25 * (.2 - v[i]) / (v[i - 1] - v[i]))
    out["Sal_mm"], out["Str"] = min(reach) * STEP, min(reach) / max(reach)
    return out


def peer_grain(folder):
    with open(f"{folder}/lights.json") as file:
        lights = json.load(file)["lights"]
    v = [even(linear(f"{folder}/p{i}.jpg")) for i in range(6)]
    p, q = slopes(v, lights)
    del v
    z = integrate(p, q)
    third = [parameters(z)] + [None] * 0
    return third[0]


def peer_wear(folder):
    v = linear(f"{folder}/wear.jpg")
    v = v.reshape(H // 2, 2, W // 2, 2).mean((1, 3))
    root = np.cbrt(v)
    mean = ndimage.uniform_filter(root, 49)
    sd = np.sqrt(np.maximum(0, ndimage.uniform_filter(root * root, 49) - mean * mean))
    flat = (root - mean) / np.maximum(sd, .5 * np.median(sd))
    best = np.zeros_like(flat)
    for sigma in (1.5, 2.5, 4.5):
        in_x, in_y = (sigma * ndimage.gaussian_filter(flat, sigma, order=o) for o in ((0, 1), (1, 0)))
        z = np.zeros_like(flat)
        for k in range(16):
            c, s = np.cos(np.pi * k / 16), np.sin(np.pi * k / 16)
            tap = np.arange(-7, 8) * sigma * 4 / 3
            kernel = np.zeros((2 * 44 + 1,) * 2)
            kernel[np.round(44 + tap * s).astype(int), np.round(44 + tap * c).astype(int)] = np.exp(-np.arange(-7, 8) ** 2 * (16 / 9) / 30)
            slope = signal.oaconvolve(c * in_y - s * in_x, kernel / kernel.sum(), "same")
            far = [int(np.round(sigma * 4 / 3 * v)) for v in (c, -s)]
            z = np.maximum(z, np.minimum(np.roll(slope, (-far[0], -far[1]), (0, 1)), -np.roll(slope, far, (0, 1))))
        best = np.maximum(best, (z - np.median(z)) / (1.4826 * np.median(abs(z - np.median(z)))))
    parts = measure.label(best > np.quantile(best, .95), connectivity=2)
    morphology.skeletonize(parts > 0)


def halve(folder):
    """The same at half the width, for how time grows."""
    for name in [f"p{i}" for i in range(6)] + ["wear"]:
        picture = io.imread(f"{folder}/{name}.jpg").astype(np.float32)
        half = picture.reshape(H // 2, 2, W // 2, 2, 3).mean((1, 3))
        io.imsave(f"{folder}/half-{name}.jpg", (half + .5).astype(np.uint8), quality=95)
    with open(f"{folder}/lights.json") as file:
        lights = json.load(file)
    for light in lights["lights"]:
        light["photo"] = "half-" + light["photo"]
    with open(f"{folder}/half-lights.json", "w") as out:
        json.dump(lights, out)


def main():
    if sys.argv[1] == "--make":
        return make_grain(sys.argv[2]), make_wear(sys.argv[2])
    russet, folder = os.path.abspath(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else tempfile.mkdtemp()
    if not os.path.exists(f"{folder}/wear.jpg"): # elsewhere: a child's most memory begins with its parent's
        os.makedirs(folder, exist_ok=True)
        subprocess.run([sys.executable, __file__, "--make", folder], check=True)
    photos = [f"{folder}/p{i}.jpg" for i in range(6)]
    wall, cpu, memory, own = run([russet, "photo", "grain", *photos, "--lights", f"{folder}/lights.json", "--mm-per-px",
                                  str(STEP), "--light-sd-deg", "0", "--json"])
    print(f"grain of 6 x 12 MP: russet {wall:.1f} s ({cpu:.1f} s of CPU), {memory:.0f} MiB, on {os.cpu_count()} cores")
    wall_w, cpu_w, memory_w, wear = run([russet, "photo", "damage", f"{folder}/wear.jpg", "--mm-per-px", ".04", "--json"])
    print(f"wear of 12 MP: russet {wall_w:.1f} s ({cpu_w:.1f} s of CPU), {memory_w:.0f} MiB; {wear['crack_mm']:.0f} mm of cracks")
    start, spent = time.perf_counter(), time.process_time()
    peer = peer_grain(folder)
    peer_wall, peer_cpu = time.perf_counter() - start, time.process_time() - spent
    print(f"grain by numpy, scipy, skimage: {peer_wall:.1f} s ({peer_cpu:.1f} s of CPU): {peer_wall / wall:.1f} times as long, {peer_cpu / cpu:.1f} times the CPU")
    grain_cpu = peer_cpu
    start, spent = time.perf_counter(), time.process_time()
    peer_wear(folder)
    peer_wall, peer_cpu = time.perf_counter() - start, time.process_time() - spent
    print(f"wear by the same: {peer_wall:.1f} s ({peer_cpu:.1f} s of CPU): {peer_wall / wall_w:.1f} times as long, {peer_cpu / cpu_w:.1f} times the CPU")
    off = max(abs(own[key] / value - 1) for key, value in peer.items())
    row("grain of six photographs", 12, 1e3 * cpu, "numpy, scipy, skimage", 1e3 * grain_cpu, f"parameters within {100 * off:.2g} % of theirs", memory)
    row("wear of a photograph", 12, 1e3 * cpu_w, "numpy, scipy, skimage", 1e3 * peer_cpu, "docs/damage.md", memory_w)
    halve(folder)
    photos = [f"{folder}/half-p{i}.jpg" for i in range(6)]
    _, cpu, memory, _ = run([russet, "photo", "grain", *photos, "--lights", f"{folder}/half-lights.json", "--mm-per-px", str(2 * STEP), "--light-sd-deg", "0", "--json"])
    row("grain of six photographs", 3, 1e3 * cpu, "", 0, "", memory)
    _, cpu, memory, _ = run([russet, "photo", "damage", f"{folder}/half-wear.jpg", "--mm-per-px", ".08", "--json"])
    row("wear of a photograph", 3, 1e3 * cpu, "", 0, "", memory)
    for key, value in peer.items():
        print(f"  {key}: russet {own[key]}, peer {value:.6g} ({100 * (own[key] / value - 1):+.4f} %)")


if __name__ == "__main__":
    main()
