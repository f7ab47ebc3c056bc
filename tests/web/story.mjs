// One job from a new customer to the handover paper, on a phone (390x844) and on a desk (1280x800): photographs, quote, preparation, a reading,
// a recipe, a pour by a scale on a pseudo-terminal with an over-pour and its rescue, a ring of dabs and the correction it asks for, coats,
// grain, sheen, a check that fails and one that passes, the record. A reload at every step, axe on every screen.
// Usage: node story.mjs RUSSET DEMO-SHOP PSEUDO-SCALE; the server is its own, on a copy of that shop.
import {execFileSync, spawn} from "node:child_process";
import {cpSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {broke_off, check, device, finish, launch, picture, saved, screen, settled} from "./kit.mjs";
import {torches} from "./paint.mjs";

const [,, russet, demo, pseudo_scale] = process.argv, work = mkdtempSync(join(tmpdir(), "story-"));
const seat = new URL("../../data/demo/helm-seat.cgats", import.meta.url).pathname, grain_shots = torches(12);
const button = (page, name) => page.getByRole("button", {name, exact: true});
const choose = async (page, group, word) => page.getByRole("group", {name: group}).getByLabel(word, {exact: true}).check();
const open = async (page, word) => page.locator("summary", {hasText: word}).first().click();

/** The first line that a child prints. */
const first_line = child => new Promise((resolve, reject) => {
    let said = "";
    child.stdout.on("data", more => {
        said += more;
        if (said.includes("\n")) resolve(said.split("\n")[0]);
    });
    child.once("exit", code => reject(new Error(`it ended with ${code}`)));
});

const scale_line = spawn(pseudo_scale, {stdio: ["pipe", "pipe", "inherit"]});
const lies_on_scale = g => scale_line.stdin.write(`${g.toFixed(2)}\n`);

async function step(it, job, name) {
    await it.page.goto(`${it.origin}${job}/${name}`);
    await settled(it.page);
}

/* In the page: what a reload might lose. */
const standing = page => page.evaluate(() => JSON.stringify({
    said: [...document.querySelectorAll("main input:not([type=file], [type=search]), main textarea")].filter(one => /radio|checkbox/.test(one.type) ? one.checked : one.value !== "")
        .map(one => `${one.closest("fieldset")?.querySelector("legend")?.textContent ?? ""} ${one.labels?.[0]?.textContent ?? ""} = ${one.value}`),
    pictures: document.querySelectorAll("main img").length, sentences: [...document.querySelectorAll("main .sentence, main .verdict .word, main h1")].map(one => one.textContent),
}));

async function reload(it, what) {
    const {page} = it;
    await settled(page); // what was pressed has ended
    const before = await standing(page);
    await page.reload();
    await settled(page);
    let after = await standing(page);
    for (let i = 0; i < 300 && after !== before; i++) {
        await page.waitForTimeout(100);
        after = await standing(page);
    }
    check(`a reload loses nothing: ${what} at ${it.width} px`, after === before, `${before} became ${after}`);
}

/** The entries of the job that is shown, as the book has them; and a post as another phone would make it. */
const run_for = async (it, verb, body) => (await (await it.page.request.post(`${it.origin}/api/run/${verb}`, {data: body, headers: {origin: it.origin}})).json()).reply;
const job_of = page => new URL(page.url()).pathname.split("/")[2];
const entries = async (it, more = {}) => (await run_for(it, "job/show", {arguments: {JOB: job_of(it.page), ...more}})).entries;

/** What was kept last is taken back, stays so over a reload, and that is taken back in turn: the book has it all. */
async function undo(it, what, without, within) {
    const {page} = it, ids = async more => (await entries(it, more)).map(entry => entry.id);
    if (it.width !== 390) return; // once is enough
    const before = await ids({});
    await button(page, "Undo").click();
    await without.waitFor();
    await page.reload();
    await without.waitFor();
    await page.getByText("Taken back.").waitFor();
    const after = await ids({}), all = await ids({"--with-replaced": true});
    check(`${what}: undone, also after a reload, and nothing has left the book`, after.length === before.length && JSON.stringify(after) !== JSON.stringify(before) && before.every(id => all.includes(id)), [before, after, all].join(" | "));
    await screen(it, `${what}, undone`, what === "the colour");
    await button(page, "Undo").click();
    await within.waitFor();
    check(`${what}: and there again by taking that back`, true);
}

/** Another phone has put the reading right before this one takes it back. */
async function undo_too_late(it) {
    const {page} = it;
    if (it.width !== 390) return;
    const mine = (await entries(it)).at(-1);
    await page.getByText("it is in the book").waitFor();
    await run_for(it, "job/log", {arguments: {JOB: job_of(page), "--step": "colour", "--colour": mine.colour, "--replaces": mine.id, FILE: "d"}, files: {d: {entry: mine.id}}});
    const theirs = (await entries(it)).at(-1);
    await button(page, "Undo").click();
    await page.getByText("Somebody else has").last().waitFor();
    check("an undo of what another phone has put right is refused in words", (await entries(it)).at(-1).id === theirs.id && theirs.id !== mine.id, [mine.id, theirs.id]);
    await button(page, "I have seen it").click();
}

async function new_customer(it, title) {
    const {page} = it;
    await page.goto(`${it.origin}/new`);
    await page.getByLabel("What it is called on the bench").fill(title);
    const asked = page.waitForResponse(response => response.url().endsWith("customer/list") && response.request().postData().includes(`demo customer ${it.width}`));
    await page.getByLabel("Customer").fill(`demo customer ${it.width}`);
    await asked; // the book was asked for the name
    await open(page, "How to reach a new customer");
    await page.getByLabel("Telephone").fill("+00 555 0190");
    await page.getByLabel("Pieces").fill("seat cushion");
    await page.getByLabel("Colours").fill("cognac");
    await reload(it, "a new customer and job");
    await screen(it, "new job, filled in");
    await button(page, "Open the job").click();
    await page.waitForURL(/\/job\/\d+$/);
    await page.getByRole("heading", {name: title}).waitFor();
    await reload(it, "the job");
    await screen(it, "the job's path");
    return new URL(page.url()).pathname;
}

async function look(it, job) {
    const {page} = it;
    await step(it, job, "look");
    await screen(it, "first look, the gate");
    await choose(page, "Is there an airbag", "No");
    await page.locator("input[type=file][multiple]").setInputFiles([picture(it.width), picture(it.width + 1)]);
    await page.locator(".photos img").nth(1).waitFor();
    await choose(page, "What it belongs to", "private boat");
    await choose(page, "Which part it is", "seat");
    await choose(page, "What it is made of", "pigmented leather");
    await choose(page, "What is wrong with it", "worn colour");
    await choose(page, "What is wrong with it", "cracks");
    await page.getByLabel("Area that is worked on").fill("0,35");
    await page.getByLabel("Cracks and cuts").fill("240");
    await page.getByLabel("In your own words").fill("bolster cracked");
    await page.getByText("It may be worked on").waitFor();
    await reload(it, "the first look, filled in");
    await screen(it, "first look, filled in");
    await button(page, "Keep what I saw").click();
    await page.getByText("It is in the book.").waitFor();
    await undo(it, "the first look", button(page, "Keep what I saw"), button(page, "Keep it so"));
    await reload(it, "the first look");
    await screen(it, "first look, in the book");
}

async function quote(it, job) {
    const {page} = it;
    await step(it, job, "quote");
    await page.getByText(/Reckon the price|Say them once/).first().waitFor();
    if (await page.getByText("Say them once").count()) {
        for (const [label, value] of [["What an hour of labour costs you", "30"], ["Rent, van, insurance", "12"], ["Margin", "40"], ["Tax on everything", "20"]]) await page.getByLabel(label).first().fill(value);
        await reload(it, "prices, filled in");
        await screen(it, "prices, filled in");
        await button(page, "Keep these prices").click();
    }
    await page.getByLabel("A new part").fill("900");
    await reload(it, "what a quote is made from");
    await button(page, "Reckon the price").click();
    await page.getByText("Between").waitFor();
    const paper = await saved(page, () => button(page, "Save the quote as PDF").click());
    check("the quote is a PDF", paper.bytes.subarray(0, 5).toString() === "%PDF-");
    await screen(it, "the price");
    await button(page, "The customer says yes").click();
    await page.getByText("The customer said yes").waitFor();
    await reload(it, "the price, agreed");
    await screen(it, "the price, agreed");
}

async function prepare(it, job) {
    const {page} = it;
    await step(it, job, "prepare");
    await page.locator(".ticks li").first().waitFor();
    await screen(it, "preparation");
    const count = await page.locator(".ticks li").count();
    for (let i = 0; i < count; i++) {
        await page.locator(".ticks input").nth(i).check();
        await page.locator(".ticks input:disabled").first().waitFor({state: "detached"});
    }
    await page.getByText("All is done.").waitFor();
    await reload(it, "the preparation");
    await screen(it, "preparation, all ticked");
}

async function colour(it, job) {
    const {page} = it;
    await step(it, job, "colour");
    await screen(it, "colour, empty");
    await page.getByRole("radio", {name: /Instrument's file/}).check();
    await page.getByLabel("File of the instrument").setInputFiles(seat);
    await button(page, "Read it").click();
    await button(page, "Keep this colour").waitFor();
    await page.getByLabel("Where it was read").fill("under the back rest");
    await reload(it, "a fresh reading, and where it was read");
    check("a fresh reading says what it is made of", (await page.locator("main").innerText()).includes("5 readings, 1 left out."), await page.locator("main").innerText());
    await screen(it, "a fresh reading");
    await button(page, "Keep this colour").click();
    await button(page, "Find its recipe").waitFor();
    check("the reading is in the book, with where it was read", (await page.locator("main").innerText()).includes("under the back rest"));
    check("the target is shown under three lights", await page.locator(".lights svg[role=img]").count() === 3);
    await undo(it, "the colour", page.getByRole("radio", {name: /Instrument's file/}), button(page, "Find its recipe"));
    await undo_too_late(it);
    await reload(it, "the colour");
    if (it.width === 390) await open(page, "Figures and curves");
    await screen(it, "the colour");
}

/** A recipe is a pot under one sentence; another pot is another picture; figures are one tap deeper. */
async function pots(it) {
    const {page} = it, chips = page.locator(".pot-chip input"), says = await page.locator(".sentence").innerText();
    check("there are several pots to choose from", await chips.count() >= 2, await chips.count());
    check("a pot stands under one sentence", /^(Hides in \d+ coats?|Lets|Hiding).*, (about \d cards?|4 cards or more), .*\.$/.test(says), says);
    check("the dab lies in the target without a line around it", await page.locator(".swatch-ground path[stroke], .swatch-ground rect[stroke]").count() === 0
        && await page.locator(".swatch-ground path").count() === 3);
    check("no table of differences is in sight before it is asked for", await page.locator("dl.figures:visible, table:visible").count() === 0
        && await page.locator(".named-pot svg rect[fill]:not(pattern rect)").count() >= 2);
    await chips.nth(1).check();
    check("another pot is another picture", await page.locator(".named-pot li").count() >= 2);
    await open(page, "Figures and curves");
    check("figures and curves are one tap deeper", await page.locator("dl.figures:visible").count() === 1 && await page.locator(".curves:visible").count() === 1);
    await chips.nth(0).check();
}

async function recipe(it, job) {
    const {page} = it;
    await step(it, job, "recipe");
    await page.getByLabel("How much to mix").fill("60");
    await button(page, "Find pots").click();
    await button(page, "Take this pot").waitFor();
    await reload(it, "pots to choose from");
    if (it.width === 390) await pots(it);
    await screen(it, "pots to choose from");
    await button(page, "Take this pot").click();
    await page.waitForURL(/\/pour/);
    await button(page, "Begin to pour").waitFor();
    await undo(it, "the recipe", page.getByText("no recipe to pour yet"), button(page, "Begin to pour"));
}

/** The line that is poured to, as the large figure's words tell it. */
async function line_of(page) {
    const words = await page.locator(".large .large-says", {hasText: "up to"}).innerText();
    return Number(words.match(/up to ([\d.]+) g/)[1]);
}

/** What lies still on the scale inside its window is taken by the page itself. */
async function pour_all(page, done) {
    for (let i = 0; i < 20; i++) {
        await page.locator(".large").or(button(page, done)).first().waitFor();
        if (await button(page, done).count()) return;
        const line = await line_of(page);
        lies_on_scale(line);
        await page.waitForFunction(old => !document.querySelector(".large")?.innerText.includes(`up to ${old} g`), line.toFixed(2));
    }
}

async function pour(it, job) {
    const {page} = it;
    lies_on_scale(0);
    await step(it, job, "pour");
    await page.getByLabel("How much to pour").fill("58");
    await reload(it, "how much to pour");
    await screen(it, "before the pour");
    await button(page, "Begin to pour").click();
    await button(page, "The cup is on, the scale at zero").waitFor();
    check("cautions stand before the first pour", (await page.locator(".caution").innerText()).includes("safety data sheet"));
    await screen(it, "cautions before the pour");
    await button(page, "The cup is on, the scale at zero").click();
    await page.getByText("still to pour").waitFor();
    check("with the scale on its cable nothing is to be typed", await page.getByLabel(/^The scale shows/).count() === 0);
    const first = await line_of(page), name = await page.locator(".pour-name").innerText();
    lies_on_scale(first / 2);
    await page.waitForFunction(left => Math.abs(parseFloat(document.querySelector(".large b").textContent) - left) < .02, first / 2);
    check("the large figure counts down with the scale", true);
    check("the screen is kept awake while it is poured", await page.getByText("The screen stays on while you pour.").count() === 1);
    if (it.width === 390) {
        const pitches = () => page.evaluate(() => globalThis.told.filter(value => value > 100));
        await page.waitForFunction(() => globalThis.told.at(-1) > 100 || globalThis.told.includes(440));
        check("half way the tone stands an octave above where it begins (220 Hz)", (await pitches()).some(hz => Math.abs(hz - 440) < 8), (await pitches()).join());
        check("and it was asked to sound", await page.evaluate(() => globalThis.told.some(value => value > .05 && value < 1)));
    }
    await reload(it, "half a pour");
    await page.getByText("still to pour").waitFor();
    await screen(it, "a pour by the scale");
    lies_on_scale(first);
    await page.waitForFunction(old => document.querySelector(".pour-name")?.textContent !== old, name);
    if (it.width === 1280) check("what is muted is never asked to sound", await page.evaluate(() => globalThis.told.every(value => value === 0 || value > 100)), await page.evaluate(() => globalThis.told.join()));
    check("what rests inside the window is poured", await page.locator(".named-pot li[data-state=in]").count() === 1);
    if (it.width === 390) await button(page, "Mute").click(); // the other size finds it muted
    await page.locator("button[aria-pressed=true]", {hasText: "Mute"}).waitFor();
    await reload(it, "the first toner in the pot");
    await page.locator(".large").waitFor();
    lies_on_scale(await line_of(page) + 1.2);
    await page.getByText("Past the window").waitFor();
    await button(page, "Too much").click();
    await page.getByRole("heading", {name: /^Too much/}).waitFor();
    await reload(it, "an over-pour");
    await screen(it, "an over-pour");
    await page.getByRole("button", {name: /^Mend it/}).first().click();
    await page.locator(".large").waitFor();
    await reload(it, "a mended plan");
    await screen(it, "a mended plan");
    await pour_all(page, "Into the book");
    check("a mended pot ends near", /not told apart|just seen/.test(await page.locator(".sentence").innerText()), await page.locator(".sentence").innerText());
    await reload(it, "all is in");
    await screen(it, "all is in");
    await button(page, "Into the book").click();
    await button(page, "On to the dabs").waitFor();
    await reload(it, "the pot in the book");
    await screen(it, "the pot in the book");
}

async function dabs(it, job) {
    const {page} = it;
    await step(it, job, "dabs");
    await page.getByRole("radio", {name: /Ring of dabs/}).check();
    await button(page, "Lay out a ring").click();
    await page.locator(".ring-dab").first().waitFor();
    await page.locator(".ring-dab").nth(2).click();
    await reload(it, "a ring and its nearest dab");
    check("the dab that was tapped is still the nearest", await page.locator(".ring-dab[aria-pressed=true]").count() === 1);
    await screen(it, "a ring of dabs");
    await button(page, "What to add").click();
    await button(page, "Pour these").waitFor();
    await reload(it, "what to add");
    await screen(it, "what to add");
    lies_on_scale(0);
    await button(page, "Pour these").click();
    await page.locator(".large").waitFor();
    await reload(it, "a correction on the scale");
    await page.locator(".large").waitFor();
    await screen(it, "a correction on the scale");
    await pour_all(page, "Into the book");
    await button(page, "Into the book").click();
    await page.getByRole("heading", {name: "Added so far"}).waitFor();
    await reload(it, "the corrected pot");
    await screen(it, "the corrected pot");
    await button(page, "It matches: leave it so").click();
    await page.waitForURL(/\/coats/);
}

async function coats(it, job) {
    const {page} = it;
    await step(it, job, "coats");
    for (const [label, value] of [[/^Area under/, "0,6"], [/^Dry film of all/, "84"], [/^Solids by volume/, "32"], [/^Air/, "21"], [/^Humidity/, "50"], [/^Surface/, "20"]]) await page.getByLabel(label).fill(value);
    await open(page, "Thinner, flash-off");
    await page.getByLabel(/^Thinner/).fill("10");
    await page.getByRole("radio", {name: "solvent"}).check();
    await reload(it, "coats, filled in");
    await screen(it, "coats, filled in");
    await button(page, "Plan the coats").click();
    await page.getByText("Go", {exact: true}).waitFor();
    check("solvent keeps phone, scale and hotspot outside", (await page.locator(".caution").innerText()).includes("outside the spray area"));
    check("film stands against hiding as a picture", await page.locator(".film svg[role=img]").count() === 1);
    await screen(it, "coats planned");
    await button(page, "Into the book").click();
    await button(page, "On to the grain").waitFor();
    await undo(it, "the coats", button(page, "Plan the coats"), button(page, "On to the grain"));
    await reload(it, "the coats");
}

async function grain(it, job) {
    const {page} = it;
    await step(it, job, "grain");
    for (const whose of ["Sound part", "Repair"]) {
        if (whose === "Repair") await open(page, "Read a grain");
        await choose(page, "Whose grain", whose);
        await page.getByLabel("Width of what the photograph shows").fill("24");
        await page.getByLabel("Photographs with the torch moved").setInputFiles(grain_shots);
        await button(page, "Read the grain").click();
        await page.locator(".relief", {hasText: whose}).locator("img").waitFor();
    }
    await button(page, "Compare them").click();
    await page.locator(".verdict").waitFor();
    check("a grain is the same as itself", (await page.locator(".verdict .word").innerText()).includes("The same grain"), await page.locator(".verdict").innerText());
    await undo(it, "the grain compared", button(page, "Compare them"), page.locator(".verdict"));
    await reload(it, "the grain");
    await screen(it, "the grain, compared");
}

async function sheen(it, job) {
    const {page} = it;
    await step(it, job, "sheen");
    await page.getByRole("radio", {name: /Gloss meter/}).check();
    for (const [i, gu] of [78, 48, 26, 12, 4].entries()) await page.getByLabel(/^Gloss \(/).nth(i).fill(String(gu));
    await page.getByLabel(/^Gloss of the sound part/).fill("15");
    await reload(it, "a ladder, filled in");
    await screen(it, "a ladder, filled in");
    await button(page, "Reckon the mix").click();
    await button(page, "Into the book").waitFor();
    check("the ladder is a curve with the target on it", await page.locator(".ladder-target").count() === 1);
    await screen(it, "the sheen on the ladder");
    await button(page, "Into the book").click();
    await button(page, "On to the final check").waitFor();
    if (it.width === 390) {
        const {csv} = await run_for(it, "shelf/ladder", {});
        check("the ladder is kept in the shop, for every device", csv?.startsWith("matte_fraction,gu60\n0,78\n"), csv);
    }
    await undo(it, "the sheen", page.getByRole("radio", {name: /Gloss meter/}), button(page, "On to the final check"));
    await reload(it, "the sheen");
}

async function final_check(it, job) {
    const {page} = it;
    const read = async (sound, repair) => {
        await page.getByLabel("Where", {exact: true}).fill("seat cushion, front edge");
        await page.getByRole("group", {name: "Sound part"}).getByLabel("or L, a, b").fill(sound);
        await page.getByRole("group", {name: "Repair", exact: true}).getByLabel("or L, a, b").fill(repair);
        await reload(it, `a check, filled in (${repair})`);
        await button(page, "Check it").click();
        await page.locator(".verdict").waitFor();
    };
    await step(it, job, "check");
    await read("42, 20, 30", "46, 24, 25");
    check("a repair that is off fails", await page.locator(".verdict.fail").count() === 1, await page.locator("main").innerText());
    await reload(it, "a check that failed");
    await screen(it, "a check that failed");
    await step(it, job, "handover");
    await button(page, "Make the record").click();
    await button(page, "Hand it over even so").waitFor();
    check("a job whose check failed is not handed over without a word", true);
    await screen(it, "handover, not proven");
    await step(it, job, "check");
    await button(page, "Check again").click();
    await read("42, 20, 30", "42.1, 20.1, 30.1");
    await page.locator(".verdict.pass").waitFor();
    await reload(it, "a check that passed");
    await screen(it, "a check that passed");
}

/** What stands on the paper, and its fonts, by poppler. */
function paper_says(bytes, name) {
    const file = join(work, `${name}.pdf`);
    writeFileSync(file, bytes);
    const fonts = execFileSync("pdffonts", [file], {encoding: "utf8"}).trim().split("\n").slice(2);
    return {text: execFileSync("pdftotext", ["-layout", file, "-"], {encoding: "utf8"}), embedded: fonts.length > 0 && fonts.every(line => /\s(yes)\s+(yes|no)\s+(yes|no)\s+\d+\s+\d+\s*$/.test(line))};
}

async function handover(it, job, title) {
    const {page} = it;
    await step(it, job, "handover");
    await page.locator("input[type=file][multiple]").setInputFiles([picture(it.width + 2)]);
    await page.locator(".photos img").first().waitFor();
    await page.getByLabel("What the customer should know").fill("Keep it out of the sun for a week.");
    await reload(it, "the handover, filled in");
    const record = await saved(page, () => button(page, "Make the record").click());
    const {text, embedded} = paper_says(record.bytes, "record");
    check("the handover is a PDF whose text can be taken out", [title, `demo customer ${it.width}`, "out of the sun"].every(words => text.replace(/\s+/g, " ").includes(words)), text.slice(0, 600));
    check("its fonts are embedded", embedded);
    await page.getByText(/^Made on/).waitFor();
    check("what was poured is in the book of finishes by itself", await button(page, "Call it so").count() === 1);
    await page.getByLabel("What it is called").fill(`Cognac ${it.width}`);
    await button(page, "Call it so").click();
    await page.getByText(`Cognac ${it.width} is in the book.`).waitFor();
    await button(page, "Make the invoice").click();
    const bill = await saved(page, () => page.getByRole("button", {name: /^Save invoice/}).click());
    check("the invoice is a PDF", bill.bytes.subarray(0, 5).toString() === "%PDF-");
    await button(page, "The piece is with the customer: end the job").click();
    await page.getByText("The job has ended.").waitFor();
    await reload(it, "the job handed over");
    await screen(it, "handed over");
}

async function story(it, width, height) {
    await it.page.setViewportSize({width, height});
    it.width = width;
    const title = `Helm seat of the launch ${width}`, job = await new_customer(it, title);
    for (const part of [look, quote, prepare, colour, recipe, pour, dabs, coats, grain, sheen, final_check]) await part(it, job);
    await handover(it, job, title);
}

const browser = await launch();
let server;
try {
    cpSync(demo, join(work, "shop"), {recursive: true});
    server = spawn(russet, ["serve", "--shop", join(work, "shop"), "--port", "0", "--scale", await first_line(scale_line)], {stdio: ["ignore", "pipe", "inherit"]});
    const address = await first_line(server), it = {...await device(browser, 390, 844), origin: new URL(address).origin};
    await it.context.addInitScript(() => { // what pitch and what loudness the page asks for
        const ask = AudioParam.prototype.setTargetAtTime;
        globalThis.told = [];
        AudioParam.prototype.setTargetAtTime = function (value, ...more) {
            globalThis.told.push(value);
            return ask.call(this, value, ...more);
        };
    });
    await it.page.goto(address);
    await settled(it.page);
    await story(it, 390, 844);
    await story(it, 1280, 800);
} catch (error) {
    await broke_off(browser, "one job from a new customer to the handover", error);
}
await browser.close();
scale_line.stdin.end();
if (server) {
    server.kill("SIGTERM");
    await new Promise(resolve => server.exitCode === null ? server.once("exit", resolve) : resolve());
    const sound = execFileSync(russet, ["shop", "check", "--shop", join(work, "shop"), "--json"], {encoding: "utf8"});
    check("the shop is sound afterwards", !/"status": "NO"/.test(sound));
}
rmSync(work, {recursive: true});
finish();
