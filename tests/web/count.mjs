// What the page's tests share that needs no browser: checks that are counted, and a picture.
import {png} from "./paint.mjs";

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

/** A PNG of one grey with a mark, so that no two are the same bytes. */
export function picture(mark) {
    const buffer = png(64, 64, () => [120 + mark, 120 + mark, 120 + mark]);
    return {name: `photograph-${mark}.png`, mimeType: "image/png", buffer};
}
