// What the page's tests share that needs no browser: checks that are counted, and a picture.
import {deflateSync} from "node:zlib";

let passed = 0, failed = 0;

export function check(title, holds, seen = "") {
    if (holds) passed++;
    else failed++;
    console.log(`${holds ? "ok" : "FAIL"} ${title}${holds ? "" : `: ${seen}`}`);
}

/** Prints the last line and ends the program. */
export function summary() {
    console.log(`${passed} passed, ${failed} failed`);
    process.exit(failed ? 1 : 0);
}

/** A PNG of one grey with a mark, so that no two are the same bytes (RFC 2083). */
export function picture(mark) {
    const side = 64, rows = Buffer.alloc(side * (side * 3 + 1), 120 + mark);
    for (let y = 0; y < side; y++) rows[y * (side * 3 + 1)] = 0;
    const table = Array.from({length: 256}, (_, n) => {
        for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
        return n >>> 0;
    });
    const crc = bytes => (bytes.reduce((c, byte) => table[(c ^ byte) & 255] ^ (c >>> 8), 0xffffffff) ^ 0xffffffff) >>> 0;
    const chunk = (type, data) => {
        const body = Buffer.concat([Buffer.from(type), data]), out = Buffer.alloc(body.length + 8);
        out.writeUInt32BE(data.length, 0);
        body.copy(out, 4);
        out.writeUInt32BE(crc(body), body.length + 4);
        return out;
    };
    const head = Buffer.alloc(13);
    head.writeUInt32BE(side, 0);
    head.writeUInt32BE(side, 4);
    head.set([8, 2, 0, 0, 0], 8);
    const buffer = Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), chunk("IHDR", head), chunk("IDAT", deflateSync(rows)), chunk("IEND", Buffer.alloc(0))]);
    return {name: `photograph-${mark}.png`, mimeType: "image/png", buffer};
}
