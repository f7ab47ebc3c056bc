// What scripts, the page and outside checks rely on: every verb's words, the kind and keys of its JSON, exit codes, where a shop lies, that what one
// verb wrote another reads. Usage: node tests/cli/contract.mjs RUSSET
import {spawnSync} from "node:child_process";
import {existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join, resolve} from "node:path";
import {fileURLToPath} from "node:url";
import {check, summary} from "../web/count.mjs";
import {panel, torches} from "../web/paint.mjs";

const program = resolve(process.argv[2]), root = dirname(dirname(dirname(fileURLToPath(import.meta.url)))), demo = join(root, "data/demo");
const work = mkdtempSync(join(tmpdir(), "russet-contract-"));
process.on("exit", () => rmSync(work, {recursive: true, force: true}));
const clean = {...process.env, LC_ALL: "C", XDG_DATA_HOME: join(work, "data-home")};
delete clean.RUSSET_SHOP;

function russet(words, {env = clean, input = ""} = {}) {
    const done = spawnSync(program, words, {cwd: work, env, input, maxBuffer: 1 << 28});
    return {code: done.status, out: done.stdout.toString(), said: done.stderr.toString()};
}
const digits = (value, most) => String(value).replace(/e.*/, "").split(".")[1]?.length > most;
const isBand = list => Array.isArray(list) && list.length === 31 && list.every(v => typeof v === "number" && !digits(v, 6));

/** Runs with --json, exit 0 unless told; the object has the kind and holds what each test of `keys` says. */
function gives(words, kind, keys = {}, code = 0) {
    const done = russet([...words, "--json"]), name = `russet ${words.join(" ")}`.replaceAll(work, "").slice(0, 90);
    let object = {};
    try {
        object = JSON.parse(done.out);
    } catch { /* told below */ }
    check(`${name}: ends with ${code}`, done.code === code, `${done.code} ${done.said}`);
    check(`${name}: kind ${kind}`, object.kind === kind && object.format === 1 && /^\d+\.\d+\.\d+$/.test(object.russet ?? "") && Object.keys(object)[0] === "russet", done.out.slice(0, 80));
    for (const [key, holds] of Object.entries(keys)) {
        const value = key.split(".").reduce((o, k) => o?.[k], object);
        check(`${name}: ${key}`, holds === true ? value !== undefined && value !== null : holds(value, object), JSON.stringify(value)?.slice(0, 120));
    }
    return object;
}
function refuses(words, code, options) {
    const done = russet(words, options);
    check(`russet ${words.join(" ").slice(0, 80)}: ${code} and one sentence`, done.code === code && done.out === "" && /^russet: .*[.?]\n$/.test(done.said), `${done.code} ${done.said}${done.out.slice(0, 80)}`);
}
const is = type => value => typeof value === type, list = value => Array.isArray(value) && value.length > 0, number = value => Number.isFinite(value);
const lab = value => Array.isArray(value) && value.length === 3 && value.every(Number.isFinite);
const file = (name, text) => (writeFileSync(join(work, name), text), name);

// ---- readings
const seat = join(demo, "helm-seat.cgats"), ground = `${join(demo, "grounds.cgats")}#filler`;
gives(["reading", seat, "--out", "seat.json"], "reading", {reflectance: isBand, lab, "repeat_de00.mean": number, "repeat_de00.max": number, rejected: Array.isArray});
gives(["reading", "--lab=40,20,30"], "reading", {lab});
gives(["reading", seat, "--illuminant", "A", "--observer", "2"], "reading", {lab});
const names = ["SPECTRAL_NM400", "SPECTRAL_NM_400", "NM_400", "NM400", "SPEC_400", "nm400"];
for (const name of names) {
    const columns = Array.from({length: 31}, (_, i) => name.replace("400", String(400 + 10 * i)));
    file("t.cgats", `CGATS.17\nNUMBER_OF_FIELDS 32\nBEGIN_DATA_FORMAT\nSAMPLE_ID ${columns.join(" ")}\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\ns ${columns.map(() => ".25").join(" ")}\nEND_DATA\n`);
    gives(["reading", "t.cgats", "--geometry", "sci"], "reading", {reflectance: v => v?.every(x => x === .25)});
}
const wave = (from, to, step, at) => Array.from({length: Math.floor((to - from) / step) + 1}, (_, i) => `${from + i * step},${at(from + i * step)}`).join("\n") + "\n";
file("wave.csv", wave(380, 730, 5, nm => 20 + (nm - 380) / 10));
gives(["reading", "wave.csv"], "reading", {reflectance: v => isBand(v) && Math.abs(v[0] - .22) < 1e-6});
file("narrow.csv", wave(420, 700, 10, () => .2));
refuses(["reading", "narrow.csv"], 3);
gives(["reading", "seat.json"], "reading", {reflectance: isBand});
check("- is standard input", russet(["reading", "-", "--json"], {input: readFileSync(seat)}).code === 0);
gives(["compare", seat, "--lab=40,20,30"], "comparison", {differences: is("object")});
gives(["compare", "--lab=40,20,30", "--lab=41,20,30"], "comparison", {"differences.lab.de00": number, differences: v => Object.keys(v).length === 1});
gives(["compare", "seat.json", ground, "--illuminants", "D65,A,FL11"], "comparison", {
    ...Object.fromEntries(["D65", "A", "FL11"].flatMap(l => ["de00", "de76", "cmc21", "dL", "da", "db", "dC", "dH"].map(k => [`differences.${l}.${k}`, number]))),
    "metamerism.A": number, "grey_scale.change": number, "grey_scale.staining": number});

// ---- toners
const drawdowns = join(demo, "drawdowns.cgats");
const toners = gives(["toners", "fit", drawdowns, "--about", join(demo, "about.json"), "--geometry", "sci", "--out", "toners.json"], "toners", {"surface.k1": number, "surface.k2": number, disbelieved: Array.isArray, fit: true});
check("each toner has k and s of 31 bands", Object.values(toners.toners ?? {}).length > 0 && Object.values(toners.toners).every(t => t.k.length === 31 && t.s.length === 31));
gives(["toners", "start", "--index", "white=PW6,blue=PB15:3+PW6:.1,brown=yellow-oxide+warm-black", "--out", "started.json"], "toners", {"toners.brown.k": list});
gives(["toners", "show", "toners.json"], "shelf");
for (const kind of ["png", "svg", "pdf"]) check(`toners swatch --out swatch.${kind}`, russet(["toners", "swatch", "toners.json", "--out", `swatch.${kind}`]).code === 0 && existsSync(join(work, `swatch.${kind}`)));

// ---- recipe
const match = gives(["match", "--toners", "toners.json", "--target", "seat.json", "--backing", ground, "--film-um", "84", "--max-toners", "5", "--binder-fraction", ".6", "--batch-g", "60", "--scale-step", "0.01", "--illuminants", "D65,A,FL11",
    "--weights", ".6,.25,.15", "--coat-um", "12", "--require", "white", "--exclude", "ultramarine", "--stock", join(demo, "stock.json"), "--sheen-gu", "20", "--top", "4", "--tolerance", "1.0", "--out", "match.json"], "match", {
    recipes: list, "search.subsets": number, "search.refined": number, "search.audited": v => v === false, "search.seconds": v => v === undefined});
const best = match.recipes?.[0] ?? {};
for (const key of ["rank", "parts", "cost", "lab", "reflectance", "metamerism", "contrast_ratio", "film_um_to_hide", "coats_to_hide", "weighing_de00_p95", "min_batch_g", "price_minor"]) check(`a recipe has ${key}`, best[key] !== undefined);
check("its de00 is by light", ["D65", "A", "FL11"].every(l => number(best.de00?.[l])));
check("each part says toner, mass_fraction, g, ml", best.parts?.every(p => p.toner && number(p.mass_fraction) && number(p.g) && number(p.ml)));
check("the grams sum to the batch", Math.abs(best.parts?.reduce((sum, p) => sum + p.g, 0) - 60) < .005);
check("the binder is the share asked for", Math.abs(best.parts?.find(p => p.toner === "binder")?.mass_fraction - .6) < .001);
check("five toners at most, the binder not counted", match.recipes?.every(r => r.parts.filter(p => p.toner !== "binder").length <= 5));
check("required is in, excluded is out", match.recipes?.every(r => r.parts.some(p => p.toner === "white") && !r.parts.some(p => p.toner === "ultramarine")));
check("best first, by rank", match.recipes?.every((r, i) => r.rank === i + 1));
gives(["match", "--toners", "toners.json", "--target", "seat.json", "--audit", "--exclude", "green,violet,blue,orange,magenta,red-oxide,brown-oxide"], "match", {"search.audited": v => v === true, "recipes.0.film_um_to_hide": v => v === null || number(v)});
const timed = russet(["match", "--toners", "toners.json", "--target", "seat.json", "--timing"]);
check("--timing tells the seconds", timed.code === 0 && /second/.test(timed.said), timed.said);
gives(["match", "--toners", "toners.json", "--target", "--lab=60,80,-90"], "match", {recipes: list}, 1);
gives(["predict", "--toners", "toners.json", "--parts", "white=12.5,black=0.4,binder=20", "--backing", ground, "--film-um", "30"], "prediction", {reflectance: isBand, lab, contrast_ratio: number});
const first = best.parts?.find(p => p.toner !== "binder");
gives(["pour", "--recipe", "match.json#2", "--batch-g", "60", "--scale-step", ".01"], "pour", {});
gives(["pour", "--recipe", "match.json#1", "--batch-g", "60", "--poured", `${first?.toner}=${(first?.g * 1.1).toFixed(2)}`, "--pot-g", "120"], "pour", {});
const pot = best.parts?.map(p => `${p.toner}=${p.g}`).join(",");
gives(["predict", "--toners", "toners.json", "--parts", pot.replace(/white=[\d.]+/, "white=3"), "--backing", ground, "--film-um", "84", "--out", "card.json"], "prediction");
gives(["adjust", "--toners", "toners.json", "--pot", pot, "--measured", "card.json", "--target", "seat.json", "--backing", ground, "--film-um", "84", "--pot-g", "120", "--taken-g", "2", "--out", "adjustment.json"], "adjustment", {additions: Array.isArray, de00_before: number, de00_after: number, total_g: number});
gives(["adjust", "--toners", "toners.json", "--pot", pot, "--by-eye", "redder 1, darker 2", "--backing", ground, "--film-um", "84"], "adjustment", {additions: Array.isArray});
const ring = gives(["adjust", "--toners", "toners.json", "--pot", pot, "--ring", "--backing", ground, "--film-um", "84"], "ring", {dabs: v => v?.length >= 5 && v.length <= 7});
check("each dab is told in grams", ring.dabs?.every(d => Object.keys(d).some(k => /_g$|^g$|additions|parts/.test(k))), JSON.stringify(ring.dabs?.[1])?.slice(0, 150));
for (const nearest of ["3", "2,3"]) gives(["adjust", "--toners", "toners.json", "--pot", pot, "--ring", "--nearest", nearest, "--backing", ground, "--film-um", "84"], "ring");

// ---- coating, air, sheen
gives(["amount", "--area-m2", ".6", "--film-um", "30", "--solids-volume", ".32", "--transfer", ".6", "--coats", "4", "--spare", ".1"], "amount", {coats: number});
gives(["air", "--air-c", "16", "--rh", "71", "--surface-c", "13"], "air", {dew_point_c: number, go: v => v === false}, 1);
file("ladder.csv", "matte_fraction,gu20,gu60,gu85\n0,60,88,95\n.25,25,55,80\n.5,8,28,55\n.75,2,11,30\n1,.5,4,14\n");
gives(["sheen", "--ladder", "ladder.csv", "--target-gu", "20", "--angle", "60", "--batch-ml", "200"], "sheen", {});
gives(["sheen", "--ladder", "ladder.csv", "--target-gu", "20", "--measured", ".6=24"], "sheen", {});

// ---- card, photographs
const card = gives(["card", "--kind", "frame", "--out", "frame.pdf"], "card", {size_mm: v => v?.length === 2, tags: list, patches: list, "surround.y": v => v === .18, "window_mm.center": list, "window_mm.size": number});
check("card.pdf is written", readFileSync(join(work, "frame.pdf")).subarray(0, 5).toString() === "%PDF-");
check("tags: family 36h11, four corners from top left, clockwise", card.tags?.every(t => t.family === "36h11" && t.corners_mm.length === 4 && t.corners_mm[0][0] < t.corners_mm[1][0] && t.corners_mm[0][1] < t.corners_mm[3][1]));
check("patches: id, center_mm, size_mm, role, reflectance or lab", card.patches?.every(p => p.id && p.center_mm.length === 2 && number(p.size_mm) && ["neutral", "colour", "black-trap"].includes(p.role) && (p.reflectance || p.lab)));
for (const kind of ["own", "start"]) gives(["card", "--kind", kind, "--toners", "toners.json", "--out", `${kind}.pdf`], "card", {tags: list});
writeFileSync(join(work, "panel.png"), panel());
const damage = gives(["photo", "damage", "panel.png", "--mm-per-px", ".25", "--panel", "5,5 395,5 395,295 5,295", "--sound", "150,200 220,200 220,280 150,280", "--overlay", "over.png", "--cracks-out", "cracks.png", "--loss-out", "loss.png"], "damage",
    {panel_mm2: number, loss_mm2: number, crack_mm: number, crack_mm_per_cm2: number, "crack_width_mm.median": v => v === null || number(v), classes: Array.isArray});
check("pictures are on the photograph's grid", ["over", "cracks", "loss"].every(n => readFileSync(join(work, `${n}.png`)).readUInt32BE(16) === 400), JSON.stringify(damage).slice(0, 80));
const photos = torches(6);
photos.forEach(p => writeFileSync(join(work, p.name), p.buffer));
file("lights.json", JSON.stringify({lights: photos.map((p, i) => ({photo: p.name, azimuth_deg: 90 - 60 * i, elevation_deg: 35, distance_mm: 500}))}));
const ask = ["photo", "grain", ...photos.map(p => p.name), "--lights", "lights.json", "--mm-per-px", ".1", "--l-filter-mm", "5"];
const grain = gives([...ask, "--s-filter-mm", ".25", "--height-out", "h.png", "--patch", "10,10,220,220", "--out", "grain.json"], "grain",
    Object.fromEntries(["Sa_um", "Sq_um", "Sz_um", "Ssk", "Sku", "Sal_mm", "Str", "Std_deg", "Sdq", "Sdr"].map(k => [k, v => v === null || number(v)])));
for (const k of ["Sa", "Sq", "Sal", "Str", "Sdq"]) check(`${k} has its uncertainty`, Object.keys(grain).some(n => n.startsWith(k) && n.endsWith("_u95")));
gives(["grain", "compare", "grain.json", "grain.json"], "grain-comparison", {});
file("shots.csv", "pressure_bar,fluid_turns,distance_mm,viscosity_s,coats,Sal_mm,Sa_um\n");
gives(["grain", "gun", "--log", "shots.csv", "--want", "grain.json"], "gun", {});

// ---- rules
refuses(["match"], 2);
refuses(["nonsense"], 2);
refuses(["reading", "no-such-file"], 3);
refuses(["reading", seat, "--out", "/dev/full"], 4);
refuses(["reading", file("new.json", '{"russet":"9.0.0","kind":"reading","format":2}')], 3);
const once = russet(["match", "--toners", "toners.json", "--target", "seat.json", "--json"]).out;
check("same input, same bytes", once === russet(["match", "--toners", "toners.json", "--target", "seat.json", "--json"], {env: {...clean, RUSSET_THREADS: "2", LC_ALL: "de_AT.UTF-8", TZ: "Asia/Tokyo"}}).out && once.length > 0);
check("--out holds what --json prints", readFileSync(join(work, "match.json"), "utf8") === russet(["match", "--toners", "toners.json", "--target", "seat.json", "--backing", ground, "--film-um", "84", "--max-toners", "5", "--binder-fraction", ".6", "--batch-g", "60",
    "--scale-step", "0.01", "--coat-um", "12", "--require", "white", "--exclude", "ultramarine", "--stock", join(demo, "stock.json"), "--sheen-gu", "20", "--top", "4", "--tolerance", "1.0", "--json"]).out);

// ---- the shop
gives(["shop", "init"], "shop");
check("a shop lies in $XDG_DATA_HOME/russet when nothing else is said", existsSync(join(work, "data-home/russet/book.sqlite")));
check("or in $RUSSET_SHOP", russet(["shop", "init"], {env: {...clean, RUSSET_SHOP: join(work, "second")}}).code === 0 && existsSync(join(work, "second/book.sqlite")));
check("or in --shop", russet(["shop", "init", "--shop", "third"], {env: {...clean, RUSSET_SHOP: join(work, "second")}}).code === 0 && existsSync(join(work, "third/book.sqlite")));
gives(["job", "new", "--title", "Helm seat", "--customer", "demo customer", "--piece", "cushion", "--colour", "cognac"], "job");
gives(["job", "list"], "jobs", {jobs: list});
gives(["job", "log", "1", "match.json", "--colour", "cognac"], "logged");
gives(["job", "show", "1"], "job");
gives(["shop", "check"], "shop-check");
gives(["shop", "backup", "--out", "copy.backup"], "shop-backup");
gives(["shop", "restore", "copy.backup", "--shop", "fourth"], "shop-restore");
gives(["shop", "export", "--out", "all.zip"], "shop-exported");
gives(["shop", "import", "all.zip", "--shop", "third"], "shop-import");
for (const verb of ["quote", "invoice", "inspect", "handover", "serve", "shop erase-customer"]) check(`russet ${verb} --help`, russet([...verb.split(" "), "--help"]).code === 0);
summary();
