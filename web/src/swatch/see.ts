// How a colour looks on this screen. A reflectance is seen under each light and adapted to the screen's white (linear Bradford,
// ICC.1:2022 annex E), as an eye adapts that stands in that light; then IEC 61966-2-1 (sRGB). What the screen cannot show is drawn
// toward grey of the same luminance until it can, and says so.
import {WEIGHTS} from "./lights";

export type Light = keyof typeof WEIGHTS;
export const LIGHTS: Light[] = ["D65", "A", "FL11"];
export type Triple = readonly [number, number, number];

/** A colour as a document of the bench has it; one that is only a Lab is known by daylight alone. */
export interface Seen {
    kind?: string;
    lab?: readonly number[] | null;
    reflectance?: readonly number[] | null;
}

export interface Look {
    css: string;
    /** False: the real colour is more vivid than the screen can be. */
    shown: boolean;
    /** Relative luminance 0..1 of what is shown, for the ink on it. */
    y: number;
}

type Matrix = readonly [Triple, Triple, Triple];
const BRADFORD: Matrix = [[.8951, .2664, -.1614], [-.7502, 1.7135, .0367], [.0389, -.0685, 1.0296]];
const BRADFORD_BACK: Matrix = [[.9869929, -.1470543, .1599627], [.4323053, .5183603, .0492912], [-.0085287, .0400428, .9684867]];
const TO_SRGB: Matrix = [[3.2404542, -1.5371385, -.4985314], [-.969266, 1.8760108, .041556], [.0556434, -.2040259, 1.0572252]];
const SCREEN_WHITE: Triple = [.95047, 1, 1.08883];

const dot = (a: readonly number[], b: readonly number[]): number => a.reduce((sum, x, i) => sum + x * (b[i] ?? 0), 0);
const times = (m: Matrix, v: Triple): Triple => [dot(m[0], v), dot(m[1], v), dot(m[2], v)];

export const white_of = (light: Light): Triple => WEIGHTS[light].map(w => w.reduce<number>((a, b) => a + b, 0) / 100) as unknown as Triple;

export const xyz_of_reflectance = (r: readonly number[], light: Light): Triple =>
    WEIGHTS[light].map(w => dot(w, r) / 100) as unknown as Triple;

const curve_back = (f: number): number => f > 6 / 29 ? f ** 3 : 3 * (6 / 29) ** 2 * (f - 4 / 29);

/** CIE 15:2004, 8.2.1, backwards; daylight and 10 degrees. */
export function xyz_of_lab(lab: readonly number[]): Triple {
    const [l = 0, a = 0, b = 0] = lab, y = (l + 16) / 116, w = white_of("D65");
    return [w[0] * curve_back(y + a / 500), w[1] * curve_back(y), w[2] * curve_back(y - b / 200)];
}

const curve = (t: number): number => t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29;

export function lab_of(seen: Seen, light: Light = "D65"): Triple | null {
    if (light === "D65" && seen.lab) return seen.lab as unknown as Triple;
    if (!seen.reflectance) return null;
    const xyz = xyz_of_reflectance(seen.reflectance, light), w = white_of(light);
    const [fx, fy, fz] = xyz.map((v, i) => curve(v / w[i]!)) as [number, number, number];
    return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)];
}

function adapt(xyz: Triple, white: Triple): Triple {
    const cone = times(BRADFORD, xyz), from = times(BRADFORD, white), to = times(BRADFORD, SCREEN_WHITE);
    return times(BRADFORD_BACK, cone.map((c, i) => c * to[i]! / from[i]!) as unknown as Triple);
}

const gamma = (v: number): number => v <= .0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - .055;
const byte = (v: number): string => Math.round(255 * gamma(Math.min(1, Math.max(0, v)))).toString(16).padStart(2, "0");

/** Linear light inside 0..1: as much of the way from the grey of its luminance as fits. */
function fit(rgb: Triple, y: number): {rgb: Triple; whole: boolean} {
    const grey = Math.min(1, Math.max(0, y)), slack = .002;
    let part = 1;
    for (const v of rgb) {
        if (v > 1 + slack) part = Math.min(part, (1 - grey) / (v - grey));
        if (v < -slack) part = Math.min(part, grey / (grey - v));
    }
    return {rgb: rgb.map(v => grey + part * (v - grey)) as unknown as Triple, whole: part === 1};
}

export function look_of_xyz(xyz: Triple, white: Triple): Look {
    const seen = adapt(xyz, white), fitted = fit(times(TO_SRGB, seen), seen[1]);
    return {css: `#${fitted.rgb.map(byte).join("")}`, shown: fitted.whole, y: Math.min(1, Math.max(0, seen[1]))};
}

/** null: what it looks like under this light is not known. */
export function look(seen: Seen, light: Light = "D65"): Look | null {
    if (seen.reflectance && seen.reflectance.length === 31)
        return look_of_xyz(xyz_of_reflectance(seen.reflectance, light), white_of(light));
    return seen.lab && light === "D65" ? look_of_xyz(xyz_of_lab(seen.lab), white_of("D65")) : null;
}

/** Ink that can be read on it (WCAG 2.2, 1.4.3: the luminance at which black and white are even). */
export const ink_on = (look: Look): string => look.y > .179 ? "#000" : "#fff";

/** A toner by itself, thick: Kubelka-Munk of infinite film, then its surface (Saunderson 1942). */
export function masstone(k: readonly number[], s: readonly number[], surface: {k1?: number; k2?: number}): number[] {
    const k1 = surface.k1 ?? 0, k2 = surface.k2 ?? 0;
    return k.map((kb, i) => {
        const ratio = kb / Math.max(s[i] ?? 0, 1e-9), inner = 1 / (1 + ratio + Math.sqrt(ratio * ratio + 2 * ratio));
        return k1 + (1 - k1) * (1 - k2) * inner / (1 - k2 * inner);
    });
}
