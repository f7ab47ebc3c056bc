// The colour steps in a real browser without instrument or scale: the first day, a pour that is typed with an over-pour and its rescue, words of
// the eye, a card that is measured, damp air, a sheen by eye; how the page draws colours, against the program's own figures and published ones.
// With instrument, scale and ring the job goes through in story.mjs.
// Usage: node bench.mjs ADDRESS RUSSET, as `russet serve` printed it, on the demo shop.
import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {broke_off, check, device, finish, launch, saved, screen, settled} from "./kit.mjs";

const [,, address, russet] = process.argv, origin = new URL(address).origin, demo = new URL("../../data/demo/", import.meta.url);
const work = mkdtempSync(join(tmpdir(), "bench-"));
const browser = await launch();
const button = (page, name) => page.getByRole("button", {name, exact: true});
const text_of = page => page.locator("main").innerText();
const program = args => JSON.parse(execFileSync(russet, [...args, "--json"], {encoding: "utf8", cwd: work}));
const seat = new URL("helm-seat.cgats", demo).pathname;

// ---- how colours are drawn ----

async function module_of(path) {
    const web = new URL("../../web/", import.meta.url), {build} = createRequire(new URL("package.json", web))("esbuild");
    const out = join(work, `${path.replace(/\W/g, "-")}.mjs`);
    await build({entryPoints: [new URL(`src/${path}`, web).pathname], bundle: true, format: "esm", outfile: out, logLevel: "error"});
    return import(out);
}

async function colours() {
    const see = await module_of("swatch/see.ts"), reading = program(["reading", seat]);
    let worst = 0;
    for (const light of ["D65", "A", "FL11"]) {
        const {lab} = program(["reading", seat, "--illuminant", light]), mine = see.lab_of({reflectance: reading.reflectance}, light);
        worst = Math.max(worst, ...lab.map((v, i) => Math.abs(v - mine[i])));
    }
    check("Lab on the page is the program's under three lights, within .005", worst < .005, worst);
    // IEC 61966-2-1: linear .18418651 (L* 50) is 118.9 of 255; white and black are the ends.
    for (const [l, css] of [[50, "#777777"], [100, "#ffffff"], [0, "#000000"]])
        check(`L* ${l} is drawn as ${css}`, see.look({lab: [l, 0, 0]}).css === css, see.look({lab: [l, 0, 0]}).css);
    const grey = new Array(31).fill(.2);
    for (const light of ["D65", "A", "FL11"]) {
        const [r, g, b] = see.look({reflectance: grey}, light).css.match(/\w\w/g).map(h => parseInt(h, 16));
        check(`a grey stays grey under ${light}: the eye stands in that light`, Math.max(r, g, b) - Math.min(r, g, b) <= 1, [r, g, b].join());
    }
    check("a colour that the screen cannot show says so", see.look({lab: [60, 90, 60]}).shown === false && see.look({lab: [41, 15, 20]}).shown === true);
    check("by another light a mere Lab is not known", see.look({lab: [41, 15, 20]}, "A") === null);
    program(["toners", "fit", new URL("drawdowns.cgats", demo).pathname, "--about", new URL("about.json", demo).pathname, "--out", "toners.json"]);
    const toners = JSON.parse(readFileSync(join(work, "toners.json"), "utf8"));
    for (const id of ["red-oxide", "black", "orange"]) {
        const truth = program(["predict", "--toners", "toners.json", "--parts", `${id}=1`]).reflectance;
        const mine = see.masstone(toners.toners[id].k, toners.toners[id].s, toners.surface);
        const a = see.lab_of({reflectance: truth}), b = see.lab_of({reflectance: mine}), off = Math.hypot(...a.map((v, i) => v - b[i]));
        console.log(`  figure: layer of ${id} against the program's masstone: ${off.toFixed(1)} dE*ab`);
        check(`the layer of ${id} looks about like its masstone (plain Kubelka-Munk, without the beam): 6 dE*ab`, off < 6, off);
    }
    const {slopes_of, gloss_at} = await module_of("sheen/ladder.tsx"), rows = [[0, 78], [.25, 48], [.5, 26], [.75, 12], [1, 4]].map(([matte, gu]) => ({matte, gu}));
    const curve = [...Array(101).keys()].map(i => gloss_at(rows, slopes_of(rows), i / 100));
    check("the ladder's curve never turns (Fritsch and Carlson 1980)", curve.every((gu, i) => !i || gu < curve[i - 1]));
    check("it goes through every rung", rows.every(row => Math.abs(gloss_at(rows, slopes_of(rows), row.matte) - row.gu) < 1e-9));
    const {pitch_of} = await module_of("pour/tone.ts");
    check("the tone rises two octaves", pitch_of({told: "short", part: 1}) === 4 * pitch_of({told: "short", part: 0}));
}

async function machine() {
    const pour = await module_of("pour/pour.ts"), s = {...pour.begin(60, .01, null, {}), ready: true};
    const now = {as: "white", toner: "white", name: "White", g: 2, to_g: 2, minus_g: .05, plus_g: .05, let_down: null};
    const told = g => pour.tell(s, now, g);
    check("a reading is told as short, in or over", [-1, 0, 1, 1.95, 2.05, 2.06].map(told).join() === "less,nothing,short,in,in,over", [-1, 0, 1, 1.95, 2.05, 2.06].map(told).join());
    const twice = pour.take(pour.take(s, now, .1), {...now, as: "black:10"}, .3);
    check("amounts are differences of readings, on the scale's grid", pour.poured_argument(twice) === "white=0.1,black:10=0.2", pour.poured_argument(twice));
    check("undo takes the last one back", pour.poured_argument(pour.undo(twice)) === "white=0.1");
}

// ---- the steps ----

async function new_job(page, title) {
    await page.goto(`${origin}/new`);
    await page.getByLabel("What it is called on the bench").fill(title);
    await page.getByLabel("Customer").fill("demo customer");
    await page.getByLabel("Pieces").fill("helm seat");
    await page.getByLabel("Colours").fill("cognac");
    await button(page, "Open the job").click();
    await page.waitForURL(/\/job\/\d+$/);
    return new URL(page.url()).pathname;
}

async function step(it, job, name) {
    await it.page.goto(`${origin}${job}/${name}`);
    await it.page.locator("main h1").waitFor();
}

const figure = async page => Number((await page.locator(".large b").innerText()).replace(/[^\d.]/g, ""));
const scale_shows = page => page.getByLabel(/^The scale shows/);

async function type(page, g) {
    const before = await page.locator(".large").innerText();
    await scale_shows(page).fill(g.toFixed(2));
    await page.keyboard.press("Enter");
    await page.waitForFunction(old => document.querySelector(".large")?.textContent !== old && !document.querySelector(".large")?.innerText.includes(old), before);
}

/** Pours to every line until all is in. */
async function pour_rest(page, done) {
    for (let i = 0; i < 20 && !await button(page, done).isVisible(); i++) {
        await settled(page);
        await scale_shows(page).or(button(page, done)).first().waitFor();
        if (await scale_shows(page).isVisible()) await type(page, await figure(page));
    }
    await button(page, done).waitFor();
}

async function pour(it, job) {
    const {page} = it;
    await step(it, job, "pour");
    await button(page, "Begin to pour").waitFor();
    await screen(it, "before the pour");
    const sheet = await saved(page, () => button(page, "Open the pour sheet").click());
    check("the pour sheet is a PDF", sheet.bytes.subarray(0, 5).toString() === "%PDF-");
    await button(page, "Begin to pour").click();
    await button(page, "The cup is on, the scale at zero").waitFor();
    check("cautions stand before the first pour", (await page.locator(".caution").innerText()).includes("safety data sheet"));
    await button(page, "The cup is on, the scale at zero").click();
    await scale_shows(page).waitFor();
    await screen(it, "the first pour");
    check("the first line is the first figure", await page.locator(".pot-next").count() === 1 && await figure(page) > 0);
    await scale_shows(page).fill("0");
    check("a scale at zero pours nothing", await button(page, "Poured").isDisabled());
    await type(page, await figure(page));
    const second = await figure(page);
    await scale_shows(page).fill((second + 1.2).toFixed(2).replace(".", ","));
    check("past the window is told before it is taken", (await text_of(page)).includes("Past the window"));
    await page.keyboard.press("Enter");
    await page.getByRole("heading", {name: /^Too much/}).waitFor();
    await screen(it, "an over-pour");
    await page.reload();
    await page.getByRole("heading", {name: /^Too much/}).waitFor();
    check("a reload in an over-pour loses nothing", true);
    await button(page, "I typed it wrong").click();
    await scale_shows(page).waitFor();
    check("a mistyped reading is taken back", await figure(page) === second, await figure(page));
    await scale_shows(page).fill((second + 1.2).toFixed(2));
    await page.keyboard.press("Enter");
    await page.getByRole("heading", {name: /^Too much/}).waitFor();
    await page.getByRole("button", {name: /^Mend it/}).first().click();
    await scale_shows(page).waitFor();
    await screen(it, "a mended plan");
    await pour_rest(page, "Into the book");
    check("a mended pot ends near", /not told apart|just seen/.test(await page.locator(".sentence").innerText()), await page.locator(".sentence").innerText());
    await screen(it, "all is in");
    await button(page, "Into the book").click();
    await button(page, "On to the dabs").waitFor();
    await screen(it, "a pot in the book");
}

/** An over-pour on a scale of .1 g: what mends it is poured as let-downs, and the program takes it so. */
async function coarse_rescue() {
    const pour = await module_of("pour/pour.ts"), recipe = new URL("../data/pour/match.json", import.meta.url).pathname;
    const ask = s => program(["pour", "--recipe", recipe, "--batch-g", "20", "--scale-step", "0.1", "--poured", pour.poured_argument(s)]);
    let s = {...pour.begin(20, .1, null, {}), ready: true, poured: [{as: "binder", toner: "binder", g: 4}, {as: "oxide-red", toner: "oxide-red", g: 1.6}]};
    const reply = ask(s), asked = [];
    check("a rescue on a coarse scale has let-downs", pour.is_over(s, reply) && reply.rescue.whole.pours.some(one => one.let_down), JSON.stringify(reply.rescue?.whole.pours));
    s = pour.mend_by(s, reply.rescue.whole);
    for (let now; (now = pour.now_of(s, reply)) && asked.length < 12;) {
        asked.push([now.as, now.let_down]);
        s = pour.take(s, now, now.to_g);
    }
    check("each let-down is told with what is stirred, and counted as what it is", asked.some(([as, let_down]) => as === "black:10" && let_down.toner_g > 0) && asked.every(([as, let_down]) => as.endsWith(":10") === !!let_down), JSON.stringify(asked));
    const right = ask(s);
    check("poured so, the pot is right", right.rescue === null && right.may_stay.yes && Math.abs(right.may_stay.cost_de00 - reply.rescue.whole.de00) < .01, JSON.stringify(right.may_stay));
}

/** A pot that was poured and corrected on the command line: the page reckons the next correction for the very same one. */
async function other_door() {
    const shop = ["--shop", join(work, "shop")], file = (name, kind, more) => writeFileSync(join(work, name), JSON.stringify({kind, format: 1, ...more}));
    file("poured.json", "pour", {poured: [{toner: "white", g: 10}, {toner: "binder", g: 20}]});
    file("added.json", "adjustment", {additions: [{toner: "white", g: 1.5}, {toner: "black", g: .25}]});
    program(["shop", "init", ...shop]);
    program(["job", "new", "--title", "seat", "--colour", "cognac", ...shop]);
    program(["shelf", "keep", "toners.json", ...shop]);
    const {pot} = program(["job", "log", "1", "poured.json", "--colour", "cognac", ...shop]);
    program(["job", "log", "1", "added.json", "--colour", "cognac", "--pot", pot, "--now", "2040-01-01T00:00:00Z", ...shop]);
    const {corrected_pot} = await module_of("dabs/pot.ts"), job = program(["job", "show", "1", "--documents", ...shop]), found = corrected_pot(job, job.colours[0]);
    check("what the command line added is in the page's pot", found.total_g === 31.75 && found.parts.white === 11.5 && found.parts.black === .25 && found.added.length === 1, JSON.stringify(found));
    program(["pot", "log", pot, "emptied", ...shop]);
    check("an emptied pot is corrected no more", corrected_pot(program(["job", "show", "1", "--documents", ...shop]), job.colours[0]) === null);
}

/* In the page: a sheet of the first day with its dabs on it, photographed a little dark; colours in sRGB are invented. */
async function photograph({png, start, window, dab}) {
    const dpmm = 300 / 25.4, image = new Image();
    image.src = `data:image/png;base64,${png}`;
    await image.decode();
    const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
    canvas.width = image.width, canvas.height = image.height;
    pen.drawImage(image, 0, 0);
    const left = (210 - start.size_mm[0]) / 2, top = 11 /* as src/report/card_sheet.c lays it */, inks = {white: [232, 232, 228], "yellow-oxide": [184, 134, 47], "red-oxide": [124, 58, 46], black: [29, 29, 30]};
    const square = ([x, y], side, rgb) => {
        pen.fillStyle = `rgb(${rgb.map(Math.round).join()})`;
        pen.fillRect((x + left - side / 2) * dpmm, (y + top - side / 2) * dpmm, side * dpmm, side * dpmm);
    };
    for (const place of start.places.filter(place => place.dab)) {
        const let_down = place.dab.endsWith(".10"), ink = inks[place.dab.replace(".10", "")];
        square(place.center_mm, 1.2 * place.size_mm, ink.map((v, i) => (let_down ? .35 * v + .65 * inks.white[i] : v) * (place.over === "bare-black" ? .93 : 1)));
    }
    const {center, size} = start.window_mm, beside = [center[0] - size / 4, center[1]];
    if (window) square(center, size, window);
    if (dab) square(beside, size / 2, dab);
    pen.fillStyle = "rgba(0, 0, 0, .15)";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    return canvas.toDataURL("image/jpeg", .92).split(",")[1];
}

/** Nothing is there yet: what is wanted first, what is typed, and what is refused. */
async function no_colour(it, job) {
    const {page} = it;
    await step(it, job, "recipe");
    await page.getByText("no colour to match yet").waitFor();
    await screen(it, "recipe without a colour");
    await step(it, job, "colour");
    await screen(it, "colour, empty");
    await page.getByRole("radio", {name: /Type in Lab/}).check();
    for (const [name, value] of [["L*", "41"], ["a*", "15,5"], ["b*", "20"]]) await page.getByLabel(name, {exact: true}).fill(value);
    await button(page, "Read it").click();
    await button(page, "Keep this colour").waitFor();
    check("a typed Lab says that it is known by daylight alone", (await text_of(page)).includes("Only its daylight colour is known"));
    await screen(it, "a typed Lab");
    await button(page, "Drop it").click();
    await page.getByRole("radio", {name: /Instrument's file/}).check();
    await page.getByLabel("File of the instrument").setInputFiles({name: "not a reading.cgats", mimeType: "text/plain", buffer: Buffer.from("no such thing")});
    await button(page, "Read it").click();
    await page.getByRole("alert").waitFor();
    check("a file that is no reading is refused in words", (await page.getByRole("alert").innerText()).length > 20);
}

/** A card that lies half over white, on the demo's own shelf: what a stronger white makes of both halves is told apart from what hides. */
async function halves(it) {
    const {page} = it, white = `${new URL("drawdowns.cgats", demo).pathname}#bare-white`, filler = `${new URL("grounds.cgats", demo).pathname}#filler`;
    const post = async (verb, args, files = {}) => {
        const answer = await page.request.post(`${origin}/api/run/${verb}`, {data: {arguments: args, files}, headers: {origin}});
        return (await answer.json()).reply;
    };
    const target = program(["reading", seat]), match = program(["match", "--toners", "toners.json", "--target", seat, "--backing", filler, "--film-um", "30", "--batch-g", "60", "--out", "match.json"]);
    const poured = program(["pour", "--recipe", "match.json#1", "--batch-g", "60", "--all-poured"]);
    const {id} = await post("job/new", {"--title": "Halves", "--colour": "cognac"});
    for (const document of [target, match, poured]) await post("job/log", {JOB: id, FILE: "it.json", "--colour": "cognac"}, {"it.json": {document}});
    const parts = poured.poured.map(({toner, g}) => `${toner}=${g * (toner === "binder" ? 1 : 1.08)}`).join(), nm = [...Array(31).keys()].map(i => 400 + 10 * i);
    const reading = (name, reflectance) => ({name, mimeType: "text/csv", buffer: Buffer.from(`id,geometry,${nm.join()}\n${name},sci,${reflectance.map(r => r.toFixed(6)).join()}\n`)});
    const over = ground => program(["predict", "--toners", "toners.json", "--parts", parts, "--backing", ground, "--film-um", "31"]).reflectance;
    const asked = [];
    page.on("request", request => request.url().endsWith("/api/run/adjust") && asked.push(request.postDataJSON()));
    await step(it, `/job/${id}`, "dabs");
    await page.getByRole("radio", {name: /Measure the card/}).check();
    check("a card half over white is the usual one", await page.getByRole("radio", {name: /Half over white/}).isChecked());
    await page.getByRole("radio", {name: /Instrument's file/}).check();
    const read = [["bare", program(["reading", white]).reflectance, "over the white half"], ["white", over(white), "over the job's ground"], ["ground", over(filler), null]];
    for (const [name, reflectance, next] of read) {
        await page.getByLabel("File of the instrument").setInputFiles(reading(`${name}.csv`, reflectance));
        if (name === "white") await screen(it, "a card half over white");
        await button(page, "Read it").click();
        if (next) await page.getByText(`Read the film ${next}`).waitFor();
    }
    await button(page, "Judge it again").waitFor();
    const args = asked[0]?.arguments ?? {};
    check("both halves and the bare white are asked about", args["--half"] === "white.json" && args["--half-backing"] === "bare.json" && args["--measured"] === "card.json", JSON.stringify(args));
    await screen(it, "what both halves ask for");
    await button(page, "Judge it again").click();
    check("the bare white is kept for the next card", await button(page, "Read the bare white anew").count() === 1);
}

/** A shop that has a phone and labels only: from the sheet's photograph to a pot. */
async function same_day(it, job) {
    const {page} = it, index = "white=PW6,yellow-oxide=PY42,red-oxide=PR101,black=PBk7";
    program(["toners", "start", "--index", index, "--out", "start-shelf.json"]);
    program(["card", "--kind", "start", "--toners", "start-shelf.json", "--out", "sheet.png"]);
    program(["card", "--kind", "start", "--toners", "start-shelf.json", "--out", "start.json"]);
    const png = readFileSync(join(work, "sheet.png")).toString("base64"), start = JSON.parse(readFileSync(join(work, "start.json"), "utf8"));
    const shoot = async (window, dab) => ({name: window ? "spot.jpg" : "sheet.jpg", mimeType: "image/jpeg", buffer: Buffer.from(await page.evaluate(photograph, {png, start, window, dab}), "base64")});
    const sheet = await shoot(null), spot = it.spot = await shoot([129, 79, 56]);
    const {center, size} = start.window_mm, px = x => Math.round((x + (210 - start.size_mm[0]) / 2) * 300 / 25.4), y = Math.round((center[1] + 11) * 300 / 25.4);
    it.both = {photo: await shoot([129, 79, 56], [140, 79, 56]), spot: `${px(center[0] + size / 4)},${y},40`, dab: `${px(center[0] - size / 4)},${y},40`};
    await step(it, job, "colour");
    await page.locator("summary", {hasText: "the first day"}).click();
    await page.getByLabel(/One toner a line/).fill("white=PW6\nyellow-oxide=PY42\nblack=nothing-known");
    await button(page, "Begin this shelf").click();
    await page.getByRole("alert").waitFor();
    await page.getByLabel(/One toner a line/).fill(index.replaceAll(",", "\n"));
    await button(page, "Begin this shelf").click();
    await button(page, "Open the sheet").waitFor();
    const paper = await saved(page, () => button(page, "Open the sheet").click());
    writeFileSync(join(work, "first-day.pdf"), paper.bytes);
    const says = execFileSync("pdftotext", ["-layout", join(work, "first-day.pdf"), "-"], {encoding: "utf8"}).replace(/\s+/g, " ");
    check("the sheet of the first day is a PDF that speaks of the page and gives no commands", paper.name === "sheet.pdf" && says.includes("press Read the dabs") && !/russet [a-z]+ |--[a-z]/.test(says), says.slice(0, 900));
    await screen(it, "the first day");
    await page.getByLabel("Photograph of the sheet").setInputFiles(sheet);
    await button(page, "Read the dabs").click();
    await button(page, "Use this shelf").waitFor();
    await page.reload();
    await button(page, "Use this shelf").waitFor();
    check("a reload on the first day loses nothing", true);
    await button(page, "Use this shelf").click();
    await page.getByText("Photograph the spot", {exact: true}).waitFor();
    await page.getByRole("radio", {name: /Photographs with a card/}).check();
    await page.getByLabel("Photographs of the spot").setInputFiles(spot);
    await screen(it, "photographs of the spot");
    await button(page, "Read it").click();
    await button(page, "Keep this colour").waitFor();
    const sure = Number((await text_of(page)).match(/sure to about ([\d.]+)/)?.[1]);
    check("a photograph says how sure it is", sure > .5 && sure < 6, sure);
    await screen(it, "a colour from a photograph");
    await button(page, "Keep this colour").click();
    await button(page, "Find its recipe").click();
    await button(page, "Find pots").click();
    await button(page, "Take this pot").waitFor();
    const cards = (await page.locator(".sentence").innerText()).match(/about (\d) cards|(4) cards or more/);
    check("a shelf without an instrument needs more cards than one", Number(cards?.[1] ?? cards?.[2]) >= 2, await page.locator(".sentence").innerText());
    await screen(it, "pots of the first day");
    await button(page, "Take this pot").click();
    await page.waitForURL(/\/pour/);
}

/** By eye, and by a card that is measured; the ring is the story's. */
async function dabs(it, job) {
    const {page} = it;
    await step(it, job, "dabs");
    await page.getByRole("radio", {name: /By eye/}).check();
    await button(page, "redder").click();
    await button(page, "darker").click();
    await page.getByRole("group", {name: "How much darker"}).getByRole("radio", {name: "clearly"}).check();
    await screen(it, "by eye");
    await button(page, "What to add").click();
    await button(page, "Judge it again").waitFor();
    check("the eye's answer is one sentence", /^Add .* g .*\.$/.test(await page.locator(".sentence").innerText()), await page.locator(".sentence").innerText());
    await page.reload();
    await button(page, "Judge it again").waitFor();
    await screen(it, "what to add");
    await button(page, "Judge it again").click();
    await page.getByRole("radio", {name: /Measure the card/}).check();
    await page.getByRole("radio", {name: /Instrument's file/}).check();
    await page.getByLabel("File of the instrument").setInputFiles(seat);
    await button(page, "Read it").click();
    await page.getByRole("alert").waitFor();
    check("a card that was read otherwise than the spot is refused in words of the bench", (await page.getByRole("alert").innerText()).includes("not read the same way"), await page.getByRole("alert").innerText());
    await page.getByRole("radio", {name: /Photographs with a card/}).check();
    await page.locator("input[type=file][multiple]").setInputFiles(it.spot);
    await button(page, "Read it").click();
    await button(page, "Judge it again").waitFor();
    check("a measured card is answered", (await page.locator(".sentence").innerText()).length > 5);
    await screen(it, "a measured card");
    await button(page, "Judge it again").click();
    await page.getByRole("radio", {name: /Photograph both/}).check();
    await page.locator("input[type=file][multiple]").setInputFiles(it.both.photo);
    await page.getByLabel(/^Spot as x/).fill(it.both.spot);
    check("without the dab nothing is read", await button(page, "Read it").isDisabled());
    await page.getByLabel(/^Dab as x/).fill(it.both.dab);
    await screen(it, "dab and part in one photograph");
    await button(page, "Read it").click();
    await button(page, "Judge it again").waitFor();
    check("a dab that is lighter and redder than the part is answered by what takes that off", /^Add .* g .*\.$/.test(await page.locator(".sentence").innerText()), await page.locator(".sentence").innerText());
    await screen(it, "what the photograph of both asks for");
    await button(page, "Judge it again").click();
    await button(page, "It matches: leave it so").click();
    await page.waitForURL(/\/coats/);
    check("what matches goes on to the coats", true);
}

/** Air that is too damp, and the sheen by eye; good air and the ladder are the story's. */
async function coats_and_sheen(it, job) {
    const {page} = it, fill = (label, value) => page.getByLabel(label).fill(value);
    await step(it, job, "coats");
    await screen(it, "coats, empty");
    for (const [label, value] of [[/^Area under/, "0,6"], [/^Dry film of all/, "84"], [/^Solids by volume/, "32"], [/^Air/, "16"], [/^Humidity/, "71"], [/^Surface/, "13"]]) await fill(label, value);
    await button(page, "Plan the coats").click();
    await page.getByText("Wait", {exact: true}).waitFor();
    check("coats are reckoned from what is in the pot", /The pot holds [\d.]+ g: \d+ g are missing\./.test(await text_of(page)), await text_of(page));
    await screen(it, "coats that have to wait");
    const card = await saved(page, () => button(page, "Open the coat card").click());
    check("the coat card is a PDF", card.bytes.subarray(0, 5).toString() === "%PDF-");
    await button(page, "Into the book").click();
    await button(page, "On to the grain").waitFor();
    await step(it, job, "sheen");
    await page.getByRole("radio", {name: /By eye/}).check();
    await button(page, "Lay out a strip").click();
    await page.locator(".strip button").nth(3).click();
    await screen(it, "a strip of dabs");
    await button(page, "Mix for this sheen").click();
    await button(page, "Into the book").click();
    await button(page, "On to the final check").waitFor();
}

async function again_in(it, job, width, height, scheme) {
    const dark = await device(browser, width, height, scheme);
    await dark.context.addCookies(await it.context.cookies());
    for (const name of ["colour", "recipe", "pour", "dabs", "coats", "sheen"]) {
        await step(dark, job, name);
        await settled(dark.page);
        await screen(dark, `${name}, ${scheme}`);
    }
    await dark.context.close();
}

try {
    await colours();
    await machine();
    await coarse_rescue();
    await other_door();
    const it = await device(browser, 390, 844);
    await it.page.goto(address);
    await it.page.locator("h1").waitFor();
    const job = await new_job(it.page, "Same day");
    const narrow = await device(browser, 360, 740);
    await narrow.context.addCookies(await it.context.cookies());
    await halves(narrow);
    await narrow.context.close();
    for (const part of [no_colour, same_day, pour, dabs, coats_and_sheen]) await part(it, job);
    await again_in(it, job, 360, 740, "dark");
} catch (error) {
    await broke_off(browser, "the colour steps", error);
}
await browser.close();
rmSync(work, {recursive: true});
finish();
