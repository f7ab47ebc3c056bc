// Pictures for the page's tests, painted by rule: a panel with cracks and a worn place, a grain under a torch that is moved. RGB of 8 bits as PNG
// (ISO/IEC 15948). All of it is invented.
import {deflateSync} from "node:zlib";

const table = Array.from({length: 256}, (_, n) => {
    for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
    return n >>> 0;
});
const crc = bytes => (bytes.reduce((c, byte) => table[(c ^ byte) & 255] ^ (c >>> 8), 0xffffffff) ^ 0xffffffff) >>> 0;

export function png(width, height, at) {
    const rows = Buffer.alloc(height * (3 * width + 1));
    for (let y = 0; y < height; y++) for (let x = 0; x < width; x++)
        at(x, y).forEach((v, c) => rows[y * (3 * width + 1) + 1 + 3 * x + c] = Math.max(0, Math.min(255, Math.round(v))));
    const chunk = (type, data) => {
        const body = Buffer.concat([Buffer.from(type), data]), out = Buffer.alloc(body.length + 8);
        out.writeUInt32BE(data.length, 0);
        body.copy(out, 4);
        out.writeUInt32BE(crc(body), body.length + 4);
        return out;
    };
    const head = Buffer.alloc(13);
    head.writeUInt32BE(width, 0);
    head.writeUInt32BE(height, 4);
    head.set([8, 2, 0, 0, 0], 8);
    return Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), chunk("IHDR", head), chunk("IDAT", deflateSync(rows, {level: 3})), chunk("IEND", Buffer.alloc(0))]);
}

/** A chain of numbers that fill 0..1 evenly (Weyl). */
const even = (i, which) => (.5 + i * [.6180339887, .7548776662, .5698402910][which % 3] + .37 * which) % 1;
const grit = (x, y) => 12 * (even(x * 733 + y * 977, 0) - .5);

/** 400 x 300 px, .25 mm each: cognac leather, three cracks of .5 mm and 60 mm together, a worn place of 15 cm2. */
export const panel = () => png(400, 300, (x, y) => {
    const crack = [60, 70, 80].some((y0, i) => x >= 40 + 20 * i && x < 120 + 20 * i && Math.abs(y - y0 - 3 * Math.sin(x / 9)) < 1);
    const worn = x >= 240 && x < 360 && y >= 160 && y < 260, n = grit(x, y);
    return (crack ? [40, 24, 16] : worn ? [168, 128, 100] : [122, 74, 44]).map(v => v + n);
});

/** Bumps of about pitch_px on a flat ground, lit by a torch at that azimuth (degrees from the right, counter-clockwise) and elevation. */
export function grain(pitch_px, azimuth, elevation, side = 240) {
    const centres = Array.from({length: Math.round((side / pitch_px) ** 2 * 1.6)}, (_, i) => [side * even(i + 1, 0), side * even(i + 1, 1), .7 + .6 * even(i + 1, 2)]);
    const height = new Float64Array(side * side), r = pitch_px * .55;
    for (const [cx, cy, size] of centres) for (let y = Math.max(0, Math.floor(cy - 3 * r)); y < Math.min(side, cy + 3 * r); y++)
        for (let x = Math.max(0, Math.floor(cx - 3 * r)); x < Math.min(side, cx + 3 * r); x++) height[y * side + x] += .12 * pitch_px * size * Math.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (r * r));
    const rad = Math.PI / 180, l = [Math.cos(azimuth * rad) * Math.cos(elevation * rad), Math.sin(azimuth * rad) * Math.cos(elevation * rad), Math.sin(elevation * rad)];
    return png(side, side, (x, y) => {
        const at = (u, v) => height[Math.min(side - 1, Math.max(0, v)) * side + Math.min(side - 1, Math.max(0, u))];
        const p = (at(x + 1, y) - at(x - 1, y)) / 2, q = -(at(x, y + 1) - at(x, y - 1)) / 2, shade = Math.max(0, (-p * l[0] - q * l[1] + l[2]) / Math.hypot(p, q, 1));
        const code = 255 * Math.min(1, .75 * shade) ** (1 / 2.2) + grit(x, y) / 6;
        return [code, code, code];
    });
}

/** The photographs of a grain, torch from twelve o'clock on as a clock goes. */
export const torches = (pitch_px, count = 6, elevation = 35) => Array.from({length: count}, (_, i) =>
    ({name: `torch-${i + 1}.png`, mimeType: "image/png", buffer: grain(pitch_px, 90 - 360 / count * i, elevation)}));
