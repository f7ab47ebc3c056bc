// web/src/swatch/lights.ts from the program itself: XYZ is linear in reflectance, so a reading of each single band is one
// column of the weights. node make-lights.mjs RUSSET > src/swatch/lights.ts
import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";

const russet = process.argv[2] ?? "../build/release/russet", bands = [...Array(31).keys()];
const folder = mkdtempSync(join(tmpdir(), "lights-")), file = join(folder, "bands.csv");
const row = band => [`s${band}`, ...bands.map(b => b === band ? 1 : 0)].join(",");
writeFileSync(file, [["SAMPLE_ID", ...bands.map(b => 400 + 10 * b)].join(","), ...bands.map(row)].join("\n") + "\n");
const column = (band, light) => JSON.parse(execFileSync(russet, ["reading", `${file}#s${band}`, "--illuminant", light,
    "--geometry", "sci", "--json"], {encoding: "utf8"})).xyz;
console.log("// Made by make-lights.mjs from russet's own tables (CIE, 10 degrees): weights of the 31 bands for X, Y and Z.");
console.log("export const WEIGHTS = {");
for (const light of ["D65", "A", "FL11"]) {
    const columns = bands.map(band => column(band, light));
    console.log(`    ${light}: [`);
    for (const axis of [0, 1, 2]) console.log(`        [${columns.map(c => +c[axis].toFixed(4)).join(", ")}],`);
    console.log("    ],");
}
console.log("} as const;");
rmSync(folder, {recursive: true});
