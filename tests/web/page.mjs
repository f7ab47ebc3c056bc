// The page in a real browser: a job from a new customer to the handover paper, on a phone and on a desk; two devices on one
// job; a connection that is lost. Usage: node page.mjs ADDRESS, as `russet serve` printed it, on the demo shop.
import {readFileSync} from "node:fs";
import {gzipSync} from "node:zlib";
import {broke_off, check, device, finish, launch, picture, saved, screen, settled} from "./kit.mjs";

const address = process.argv[2], origin = new URL(address).origin;
const browser = await launch();

const SCRIPT = `<img src=x onerror="hit=1"><script>hit=2</script>`;
const button = (page, name) => page.getByRole("button", {name, exact: true});
const choose = async (page, group, word) => page.getByRole("group", {name: group}).getByLabel(word, {exact: true}).check();
const heading = async page => page.getByRole("heading", {level: 1}).innerText();
const at = (of, path) => of.page.goto(origin + path);
const text_of = page => page.locator("main").innerText();
const open = async (page, word) => page.locator("summary", {hasText: word}).first().click();

async function strangers() {
    const it = await device(browser, 390, 844);
    await at(it, "/job/2");
    await button(it.page, "Let me in").waitFor();
    check("a stranger sees the door and nothing of the shop", await heading(it.page) === "Let this device in", await heading(it.page));
    await screen(it, "the door");
    await it.page.getByLabel("The six figures").fill("000000");
    await button(it.page, "Let me in").click();
    await it.page.getByRole("alert").waitFor();
    check("wrong figures are refused in words", (await it.page.getByRole("alert").innerText()).length > 20);
    await it.context.close();
}

/** The printed address is opened once more: by who is in, and by another. */
async function printed_address_again(it) {
    const other = await device(browser, 390, 844);
    await other.page.goto(address);
    await button(other.page, "Let me in").waitFor();
    check("the printed address, opened a second time, leads to the door in words", (await text_of(other.page)).includes("was opened once already"), await text_of(other.page));
    await other.context.close();
    await it.page.goto(address);
    await it.page.locator(".cards a").first().waitFor();
    const {devices} = await it.page.evaluate(async () => (await fetch("/api/devices")).json());
    check("who is in goes in by it, and is no second device", new URL(it.page.url()).search === "" && devices.length === 1, JSON.stringify(devices));
}

async function first_visit(it) {
    await it.page.goto(address);
    await it.page.getByText("Take the walk").waitFor();
    await screen(it, "jobs, first visit");
    await button(it.page, "Take the walk").click();
    for (let stop = 1; ; stop++) {
        await it.page.getByText(`Walk ${stop} of`).waitFor();
        await settled(it.page);
        await screen(it, `the walk, stop ${stop}`, stop === 1);
        if (await button(it.page, "Next").count() === 0) break;
        await button(it.page, "Next").click();
    }
    await button(it.page, "Done").click();
    check("the walk ends", await it.page.getByText("Walk 1 of").count() === 0);
}

async function new_job(it, title) {
    await at(it, "/new");
    await screen(it, "new job");
    await it.page.getByLabel("What it is called on the bench").fill(title);
    await it.page.getByLabel("Customer").fill("demo customer");
    await it.page.getByLabel("Pieces").fill("seat cushion\nback rest");
    await it.page.getByLabel("Colours").fill("cognac");
    await it.page.reload();
    check("a reload keeps what was typed", await it.page.getByLabel("What it is called on the bench").inputValue() === title);
    await button(it.page, "Open the job").click();
    await it.page.waitForURL(/\/job\/\d+$/);
    await it.page.getByRole("heading", {name: title}).waitFor();
    check("script in a title is text", await heading(it.page) === title, await heading(it.page));
    await screen(it, "a new job");
    return new URL(it.page.url()).pathname;
}

async function look(it, job) {
    const {page} = it;
    await at(it, `${job}/look`);
    await page.getByRole("heading", {name: "First look"}).waitFor();
    check("the airbag is asked for before all else", await page.getByLabel("In your own words").count() === 0);
    await screen(it, "first look, the gate");
    await choose(page, "Is there an airbag", "I do not know");
    await choose(page, "What it belongs to", "car or van");
    await choose(page, "Which part it is", "seat");
    await page.getByText("Stop here").waitFor();
    check("an airbag that nobody knows of stops the work", await button(page, "Keep why not").count() === 1);
    await screen(it, "first look, stopped");
    await choose(page, "Is there an airbag", "No");
    await choose(page, "What it belongs to", "private boat");
    await page.getByText("It may be worked on").waitFor();
    await choose(page, "What it is made of", "pigmented leather");
    await choose(page, "What is wrong with it", "worn colour");
    await choose(page, "What is wrong with it", "cracks");
    await page.getByLabel("Area that is worked on").fill("0.35");
    await page.getByLabel("Cracks and cuts").fill("240");
    await page.locator("input[type=file][multiple]").setInputFiles([picture(1), picture(2)]);
    await page.locator(".photos img").nth(1).waitFor();
    await page.reload();
    await page.locator(".photos img").nth(1).waitFor();
    check("photographs and what was said survive a reload", await page.getByLabel("Cracks and cuts").inputValue() === "240");
    await page.getByRole("button", {name: "Take it out of the job"}).first().click();
    await page.getByText("The photograph was taken out").waitFor();
    check("a photograph can be taken out", await page.locator(".photos img").count() === 1);
    await button(page, "Undo").click();
    await page.locator(".photos img").nth(1).waitFor();
    await page.getByLabel("In your own words").fill("Bolster cracked <b>twice</b>");
    await button(page, "Keep what I saw").click();
    await page.getByText("It is in the book.").waitFor();
    await screen(it, "first look, kept");
    await at(it, job);
    await page.getByText("looked at, 2 photographs").waitFor();
    check("the job's path tells what came out", true);
}

/** Two phones tick one list at the same time: both ticks stand, and each phone shows both. */
async function prepare(it, other, job) {
    const {page} = it;
    for (const one of [it, other]) {
        await at(one, `${job}/prepare`);
        await one.page.locator(".ticks li").nth(2).waitFor();
    }
    const tick = async (one, i) => {
        await one.page.locator(".ticks input").nth(i).click();
        await one.page.locator(".ticks input:disabled").first().waitFor({state: "detached"});
    };
    const ticked = one => one.page.locator(".ticks input").evaluateAll(boxes => boxes.map(box => Number(box.checked)).join("").slice(0, 3));
    await other.context.setOffline(true); // it hears nothing of the first
    await tick(it, 0);
    await other.context.setOffline(false);
    await tick(other, 1);
    check("ticks of two phones join", await ticked(other) === "110", await ticked(other));
    await page.locator(".ticks input:checked").nth(1).waitFor();
    check("and the first phone shows the second's by itself", await ticked(it) === "110", await ticked(it));
    await tick(it, 0);
    await tick(other, 2);
    check("a tick that is taken back is taken back, whatever the other ticks", await ticked(other) === "011", await ticked(other));
    await page.reload();
    await page.locator(".ticks input:checked").nth(1).waitFor();
    check("the same after a reload", await ticked(it) === "011", await ticked(it));
}

async function finish_again(it, job) {
    const {page} = it;
    await at(it, "/book");
    await page.locator(".cards li").first().waitFor();
    await screen(it, "book");
    await page.getByLabel("Words of its name").fill("no such finish");
    await button(page, "Find").click();
    await page.getByText("None like that.").waitFor();
    await screen(it, "book, nothing found");
    await page.getByLabel("Words of its name").fill("tan");
    await open(page, "Near a colour");
    await page.getByLabel("or L, a, b").fill("35.4, -0.8, 10.4");
    await button(page, "Find").click();
    await page.getByText("hardly to be told apart").first().waitFor();
    check("the nearest finish stands first", (await page.locator(".cards li").first().innerText()).includes("hardly to be told apart"));
    await page.locator(".cards a").first().click();
    await page.getByRole("heading", {name: "Make it again"}).waitFor();
    await page.locator(".chip").first().waitFor();
    await screen(it, "a finish");
    await page.locator(".chip", {hasText: it.title}).first().locator("input").check();
    await button(page, "Take it as the recipe").isEnabled();
    await button(page, "Take it as the recipe").click();
    await page.waitForURL(new RegExp(`${job}(/|$)`));
    check("a finish of the book becomes the recipe of a job", true);
}

async function handover(it, job) {
    const {page} = it;
    await at(it, `${job}/handover`);
    await page.locator("input[type=file][multiple]").setInputFiles([picture(3)]);
    await page.locator(".photos img").first().waitFor();
    await screen(it, "hand over");
    await button(page, "Make the record").click();
    await button(page, "Hand it over even so").waitFor();
    const paper = await saved(page, () => button(page, "Hand it over even so").click());
    check("the record is a PDF", paper.bytes.subarray(0, 5).toString() === "%PDF-", paper.bytes.subarray(0, 60).toString());
    await page.getByText(/^Made on/).waitFor();
    const again = await saved(page, () => button(page, "Save the record as PDF").click());
    check("the same record can be saved once more", again.bytes.subarray(0, 5).toString() === "%PDF-");
    const days = await saved(page, () => button(page, "Its days for the calendar").click());
    check("the days are a calendar", days.bytes.toString().startsWith("BEGIN:VCALENDAR"), days.bytes.subarray(0, 60).toString());
    await button(page, "Keep this finish").click();
    await page.getByText("is in the book.").waitFor();
    await button(page, "The piece is with the customer: end the job").click();
    await page.getByText("The job has ended.").waitFor();
    await screen(it, "handed over");
    await at(it, job);
    await page.getByRole("list", {name: "Steps of the job"}).waitFor();
    await open(page, "What was done");
    check("words of the job are text", (await text_of(page)).includes("Bolster cracked <b>twice</b>"));
    await screen(it, "a job that ended");
}

async function shelf(it) {
    const {page} = it, lot = `T-${it.width}`;
    await at(it, "/shelf");
    await page.locator(".cards li").first().waitFor();
    await screen(it, "shelf");
    await page.locator(".cards a", {hasText: "Titanium white"}).click();
    await open(page, "A bottle came in");
    await page.getByLabel("Lot on the bottle").fill(lot);
    await page.getByLabel("What is in it").fill("250");
    await choose(page, "Was it frozen", "no");
    await button(page, "Put it on the shelf").click();
    await page.locator(".card", {hasText: lot}).waitFor();
    await page.locator(".card", {hasText: lot}).locator("summary").click();
    await page.locator(".card", {hasText: lot}).getByLabel("What is left in it").fill("200");
    await page.locator(".card", {hasText: lot}).getByRole("button", {name: "Set it"}).click();
    await page.locator(".card", {hasText: lot}).getByText("200 g left").waitFor();
    check("a bottle comes in and is counted", true);
    await screen(it, "a toner");
    await at(it, "/shelf");
    await open(page, "Teach the shelf");
    await page.getByLabel("Toners and their pigments").fill("white=PW6\nbrown=yellow-oxide+warm-black");
    await button(page, "Begin with these").click();
    await page.getByText("Make this the shelf").waitFor();
    await screen(it, "teach the shelf");
    await button(page, "Cancel").click();
    await page.getByLabel("Toners and their pigments").fill("white=no-such-pigment");
    await button(page, "Begin with these").click();
    await page.getByRole("alert").waitFor();
    check("a pigment that nobody knows is told in words", (await page.getByRole("alert").innerText()).includes("no-such-pigment"));
    await screen(it, "teach the shelf, refused");
}

async function second_device(first) {
    const second = await device(browser, 360, 740, "dark");
    const code = await first.page.evaluate(async () => (await (await fetch("/api/pairing", {method: "POST", headers: {"Content-Type": "application/json"}, body: "{}"})).json()).code);
    await at(second, "/");
    await second.page.getByLabel("The six figures").fill(code);
    await second.page.getByLabel("What this device is called").fill("the other phone");
    await button(second.page, "Let me in").click();
    await second.page.getByRole("heading", {name: "Jobs"}).waitFor();
    check("six figures let a second device in", true);
    return second;
}

/** Two devices on one job, a device that is sent away. */
async function two_devices(first, second, job) {
    await at(first, job);
    await open(first.page, "Name, day and state");
    await first.page.getByLabel("What was said").fill("from the first");
    await at(second, job);
    await open(second.page, "Name, day and state");
    await second.page.getByLabel("What was said").fill("from the second");
    await button(second.page, "Save").click();
    await second.page.locator("main > p", {hasText: "from the second"}).waitFor();
    await first.page.getByText("Somebody else has just worked on this job").waitFor();
    check("the first device is told what the second did", true);
    await button(first.page, "Save").click();
    await first.page.locator("main > p", {hasText: "from the second"}).waitFor();
    check("the first does not overwrite the second silently", await first.page.locator("main > p", {hasText: "from the first"}).count() === 0);
    await first.page.getByRole("alert").waitFor();
    check("it is told why, and what was typed is still in its field", await first.page.getByLabel("What was said").inputValue() === "from the first");
    await screen(first, "a change that came second");
    await button(first.page, "Save").click();
    await first.page.locator("main > p", {hasText: "from the first"}).waitFor();
    await button(first.page, "Undo").click();
    await first.page.locator("main > p", {hasText: "from the second"}).waitFor();
    check("who has seen it may save once more, and take it back", true);
    await screen(second, "a job in the dark");
    await at(first, "/settings");
    await first.page.getByText("the other phone").waitFor();
    await screen(first, "settings");
    await first.page.getByRole("button", {name: "Send away: the other phone"}).click();
    await first.page.getByText("is sent away").waitFor();
    await second.page.getByRole("heading", {name: "Let this device in"}).waitFor();
    check("a device that was sent away stands before the door", true);
    const backup = await saved(first.page, () => button(first.page, "Save a backup").click());
    check("the backup is a book", backup.bytes.subarray(0, 15).toString() === "SQLite format 3", backup.bytes.subarray(0, 15).toString());
    await second.context.close();
}

/** Answers and requests that are lost: everything is in the book once. */
async function lost(it, job) {
    const {page, context} = it;
    await at(it, `${job}/look`);
    await choose(page, "Is there an airbag", "No");
    await page.getByText("Take a photograph").waitFor();
    const before = await page.locator(".photos img").count();
    await context.setOffline(true);
    await page.locator("input[type=file][multiple]").setInputFiles([picture(10), picture(11)]);
    await page.getByText("2 things are kept on this phone").waitFor();
    await screen(it, "out of reach");
    await context.setOffline(false);
    await page.locator(".photos img").nth(before + 1).waitFor();
    check("what was kept while out of reach arrives by itself", await page.locator(".photos img").count() === before + 2, await page.locator(".photos img").count());
    let lose = true; // the bench gets it, its answer is lost
    await page.route("**/api/run/job/log", async route => {
        if (!lose) return route.continue();
        lose = false;
        await route.fetch();
        await route.abort();
    });
    await page.locator("input[type=file][multiple]").setInputFiles([picture(12)]);
    await page.getByText("One thing is kept on this phone").waitFor();
    await page.reload();
    await page.locator(".photos img").nth(before + 2).waitFor();
    await page.getByText("One thing is kept").waitFor({state: "detached"});
    check("an answer that was lost makes no second entry, also after a reload", await page.locator(".photos img").count() === before + 3, await page.locator(".photos img").count());
    await page.unroute("**/api/run/job/log");
}

async function keyboard(it) {
    const {page} = it;
    await at(it, "/");
    await page.locator(".cards a").first().waitFor();
    await page.locator(".skip").focus();
    check("whoever comes to it from the keyboard sees a way past the places", (await page.locator(".skip").boundingBox()).y >= 0);
    for (let i = 0; i < 20 && !await page.evaluate(() => document.activeElement.classList.contains("card")); i++) await page.keyboard.press("Tab");
    await page.keyboard.press("Enter");
    await page.waitForURL(/\/job\/\d+/);
    await page.getByRole("list", {name: "Steps of the job"}).waitFor();
    check("a job opens from the keyboard, and its name has the focus", await page.evaluate(() => document.activeElement.tagName) === "H1");
}

function sizes() {
    const dist = new URL("../../web/dist/", import.meta.url);
    const bytes = ["app.js", "app.css", "index.html"].reduce((sum, name) => sum + gzipSync(readFileSync(new URL(name, dist))).length, 0);
    console.log(`  figure: first load ${(bytes / 1000).toFixed(1)} kB gzipped (script, style and document)`);
    check("first load under 200 kB gzipped", bytes < 200000, bytes);
}

/** Read in the sun and in a dark garage: text stands out 7 to 1 (WCAG 2.2, 1.4.6), edges of what is pressed 3 to 1 (1.4.11); nothing moves for
 *  who asked for no motion (prefers-reduced-motion). By the style that is in the program. */
function style() {
    const css = readFileSync(new URL("../../web/src/style/base.css", import.meta.url), "utf8"), whole = readFileSync(new URL("../../web/dist/app.css", import.meta.url), "utf8");
    const light = hex => { // relative luminance, WCAG 2.2
        const v = parseInt(hex.slice(1, 3), 16) / 255;
        return v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
    };
    const contrast = (a, b) => (Math.max(light(a), light(b)) + .05) / (Math.min(light(a), light(b)) + .05);
    const blocks = [...css.matchAll(/:root \{([^}]*--ground[^}]*)\}/g)].map(([, block]) => Object.fromEntries([...block.matchAll(/--([a-z-]+): (#[0-9a-f]{6})/g)].map(([, name, hex]) => [name, hex])));
    check("there is a light and a dark style", blocks.length === 2, blocks.length);
    for (const [name, c] of [["light", blocks[0]], ["dark", blocks[1]]]) {
        const text = Math.min(...["ground", "sheet", "well"].flatMap(under => [contrast(c.ink, c[under]), contrast(c.soft, c[under])]), contrast(c.main, c["main-ink"])), edge = Math.min(contrast(c.edge, c.ground), contrast(c.edge, c.sheet));
        console.log(`  figure: least contrast of text, ${name}: ${text.toFixed(1)} to 1; of an edge ${edge.toFixed(1)} to 1`);
        check(`text stands out 7 to 1, edges 3 to 1, ${name}`, text >= 7 && edge >= 3, `${text} ${edge}`);
    }
    const still = whole.replace(/@media \(prefers-reduced-motion: ?no-preference\)\{(?:[^{}]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\})*\}/g, "");
    check("nothing moves for who asked for no motion", still.length < whole.length && !/animation|transition/.test(still), still.match(/.{40}(animation|transition).{40}/)?.[0]);
}

/** The shop's settings: each is said, shown, and taken back. */
async function settings(it) {
    const {page} = it;
    const undo = async () => {
        await page.reload(); // the offer survives it
        await button(page, "Undo").click();
        await page.getByText("Taken back.").waitFor();
    };
    const tell = async (verb, args) => (await (await page.request.post(`${origin}/api/run/${verb}`, {data: {arguments: args}, headers: {origin}})).json()).reply;
    /** Another phone has said something since this one looked: nothing is written over, what was typed stays, what the book has is shown; once more and it goes. */
    const second_phone = async (what, other, field, typed, save) => {
        await field().fill(typed);
        await other();
        await save().click();
        await page.getByText("by somebody else").waitFor();
        check(`${what}: the later phone does not win unseen, and what was typed stays`, await field().inputValue() === typed, await field().inputValue());
        await screen(it, `${what}, said by another phone`, false);
        await save().click();
        await page.getByText("by somebody else").waitFor({state: "detached"});
        await settled(page);
    };
    await at(it, "/settings/zone");
    await page.getByLabel("Another time zone").fill("Mars/Crater");
    await button(page, "Set it").click();
    await page.getByRole("alert").waitFor();
    await screen(it, "a time zone that is none");
    await page.getByLabel("Another time zone").fill("Europe/Vienna");
    await button(page, "Set it").click();
    await page.getByText("As you said.").waitFor();
    check("the shop's time zone is set", (await text_of(page)).includes("Europe/Vienna"));
    await screen(it, "the time zone");
    await undo();
    check("and taken back", await page.getByText("As the machine says that runs the bench.").count() === 1);
    await second_phone("a time zone", () => tell("shop/zone", {ZONE: "Pacific/Auckland"}), () => page.getByLabel("Another time zone"), "Europe/Vienna", () => button(page, "Set it"));
    check("once it was seen it goes", (await tell("shop/zone", {})).zone === "Europe/Vienna");
    await at(it, "/settings/tasks");
    await open(page, "Colour coats");
    await page.getByLabel(/^Guarantee/).fill("24");
    await page.getByLabel("What the guarantee does not cover").fill(SCRIPT);
    await button(page, "Save").click();
    await page.getByText("The minutes are your own.").waitFor();
    await screen(it, "minutes and guarantee");
    await undo();
    await page.getByText("The minutes are your own.").waitFor({state: "detached"});
    check("a task's guarantee is set and taken back", true);
    const task = page.locator("details[open]", {hasText: "Colour coats"});
    await open(page, "Colour coats");
    await second_phone("a guarantee", () => tell("task/set", {TASK: "coat", "--months": 36}), () => task.getByLabel(/^Guarantee/), "18", () => task.getByRole("button", {name: "Save"}));
    check("a guarantee goes once it was seen", (await tell("task/list", {})).tasks.find(one => one.task === "coat").months === 18);
    await tell("task/set", {TASK: "coat", "--usual": true});
    await at(it, "/settings/lists");
    await page.getByText("No list yet.").waitFor();
    await screen(it, "price lists, none");
    await page.getByLabel("Name of the list").fill(`garage ${SCRIPT}`);
    await button(page, "Begin it").click();
    await open(page, "Colour coats");
    await page.getByLabel("What is asked").fill("60");
    await page.getByLabel("a square metre").check();
    await page.getByLabel("Why").fill(SCRIPT);
    await button(page, "Save").click();
    await page.locator("summary", {hasText: /Colour coats: .*60/}).waitFor();
    await screen(it, "a price list");
    const price = page.locator("details[open] details[open]", {hasText: "Colour coats"});
    await second_phone("a price", () => tell("price/set", {LIST: `garage ${SCRIPT}`, ITEM: "coat", AMOUNT: "55", "--per": "m2"}), () => price.getByLabel("What is asked"), "65", () => price.getByRole("button", {name: "Save"}));
    await page.locator("summary", {hasText: /Colour coats: .*65/}).waitFor();
    await undo();
    await page.locator("summary", {hasText: /Colour coats: .*55/}).waitFor();
    check("a price is taken back to what the other phone said", true);
    await at(it, "/settings/customers");
    await open(page, "A new customer");
    const form = page.locator("details[open]");
    for (const label of [/^Name, as/, "Telephone", "Mail", "Address", "What is worth knowing"]) await form.getByLabel(label).fill(`demo ${SCRIPT}`);
    await form.getByLabel("yes").check();
    await form.getByLabel(`garage ${SCRIPT}`).check();
    await page.reload();
    await open(page, "A new customer");
    check("a reload keeps a customer that was typed in", await form.getByLabel("Mail").inputValue() === `demo ${SCRIPT}`);
    await button(page, "Put them in the book").click();
    await open(page, `demo ${SCRIPT}`);
    await page.locator("details[open]", {hasText: `demo ${SCRIPT}`}).getByLabel("Telephone").fill("");
    await page.locator("details[open]", {hasText: `demo ${SCRIPT}`}).getByRole("button", {name: "Save"}).click();
    await page.getByText("it is in the book.").waitFor();
    await screen(it, "a customer");
    await undo();
    await open(page, `demo ${SCRIPT}`);
    const known = page.locator("details[open]", {hasText: `demo ${SCRIPT}`}), key = (await tell("customer/list", {"--words": "script"})).customers[0].id;
    await second_phone("a customer", () => tell("customer/change", {CUSTOMER: key, "--email": "seat@example.org"}), () => known.getByLabel("Telephone"), "0123", () => known.getByRole("button", {name: "Save"}));
    check("what the other phone said of a customer stays beside it", (one => one.telephone === "0123" && one.email === "seat@example.org")((await tell("customer/list", {"--words": "script"})).customers[0]));
    await undo();
    const customer = await page.evaluate(async () => (await (await fetch("/api/run/customer/list", {method: "POST", headers: {"Content-Type": "application/json"}, body: JSON.stringify({arguments: {"--words": "script"}})})).json()).reply.customers[0]);
    check("a customer has a list; what was emptied is there again after undo", customer.trade && customer.price_list_name === `garage ${SCRIPT}` && customer.telephone === `demo ${SCRIPT}`, JSON.stringify(customer));
    check("script in every field of the settings is text", await page.evaluate(() => globalThis.hit === undefined && document.querySelector("img[src=x]") === null));
    await at(it, "/settings/prices");
    await page.getByLabel("What an hour of labour costs you").fill("30");
    await page.getByLabel("The shop's name on its papers").evaluate(field => field.closest("details").open = true);
    await page.getByLabel("The shop's name on its papers").fill(`demo shop ${SCRIPT}`);
    await page.reload();
    await page.getByLabel("Currency").waitFor();
    check("a reload keeps prices that were typed in", await page.getByLabel("What an hour of labour costs you").inputValue() === "30");
    await button(page, "Keep these prices").click();
    await page.getByText("Your prices are in the book.").waitFor();
    await screen(it, "prices");
    const asked = async () => (await (await page.request.post(`${origin}/api/run/shop/pricing`, {data: {}, headers: {origin}})).json()).reply, said = await asked();
    await button(page, "Undo").click();
    await page.getByText("Taken back.").waitFor();
    await page.reload();
    await page.getByText("Taken back.").waitFor();
    check("prices are taken back, also after a reload", (await asked()).name !== said.name, (await asked()).name);
    await button(page, "Undo").click();
    await page.getByText("Your prices are in the book.").waitFor();
    check("and said again by taking that back", JSON.stringify({...await asked(), changed: 0}) === JSON.stringify({...said, changed: 0}));
    await page.request.post(`${origin}/api/run/shop/pricing`, {data: {arguments: {"--hour": "44"}}, headers: {origin}});
    await button(page, "Undo").click();
    await page.getByText("The prices were changed by somebody else").waitFor();
    check("what another phone has said since is not overwritten by an undo", (await asked()).hour_minor === 4400, (await asked()).hour_minor);
    await button(page, "I have seen it").click();
    await page.waitForFunction(() => [...document.querySelectorAll("main input")].some(field => field.value === "44.00"));
    check("and is shown", true);
}

/** Script in every text field (a quarter of the screens; all with RUSSET_LONG): each form of a screen is filled with it, sent when it can be, and looked at again. */
async function script_everywhere(it, paths) {
    const {page} = it, typed = new Set(), most_forms = 7;
    const harm = () => page.evaluate(() => globalThis.hit !== undefined || document.querySelector("img[src=x], main script") !== null);
    let harmed = 0, sent = 0, told = 0;
    for (const path of paths) {
        await at(it, path);
        await settled(page);
        for (let turn = 0; turn < 2; turn++) { // what is inside of one may be made when it is opened
            await page.evaluate(() => [...document.querySelectorAll("main details")].slice(0, 8).forEach(one => one.open = true));
            await page.waitForTimeout(50);
        }
        for (const way of await page.getByRole("radio", {name: /Type in Lab|Gloss meter/}).all()) await way.check();
        for (let i = 0; i < Math.min(most_forms, await page.locator("main form").count()); i++) {
            const form = page.locator("main form").nth(i), fields = form.locator("input:not([type=radio], [type=checkbox], [type=file], [type=date]), textarea");
            for (let k = 0; k < await fields.count(); k++) {
                const field = fields.nth(k);
                if (!await field.isVisible()) continue;
                await field.fill(SCRIPT);
                typed.add(`${path.replace(/\d+/g, "N")} ${await field.evaluate(one => one.labels[0]?.textContent)}`);
            }
            const send = form.locator("button[type=submit]").last();
            if (await send.count() && await send.isVisible() && await send.isEnabled()) {
                await send.click();
                await page.waitForFunction(() => !document.querySelector("[aria-busy=true]"));
                sent++;
                told += await page.getByRole("alert").count() > 0;
            }
            harmed += await harm();
        }
        await at(it, path);
        await settled(page);
        harmed += await harm();
    }
    console.log(`  figure: ${typed.size} text fields on ${paths.length} screens held script; ${sent} forms were sent, ${told} refused in words`);
    check("script in every text field of every screen is text", harmed === 0 && typed.size > (process.env.RUSSET_LONG ? 70 : 10), `${harmed} of ${typed.size}`);
}

try {
    sizes();
    style();
    await strangers();
    const phone = await device(browser, 390, 844);
    await first_visit(phone);
    await printed_address_again(phone);
    phone.title = "Helm seat <i>390</i>";
    const job = await new_job(phone, phone.title), other = await second_device(phone);
    await look(phone, job);
    await prepare(phone, other, job);
    await finish_again(phone, job);
    await lost(phone, job);
    await two_devices(phone, other, job);
    await keyboard(phone);
    await shelf(phone);
    await handover(phone, job);
    await settings(phone);
    for (const [width, height, scheme] of [[360, 740, "dark"], [768, 1024, "light"]]) {
        await phone.page.setViewportSize({width, height});
        await phone.page.emulateMedia({colorScheme: scheme});
        phone.width = width;
        for (const path of ["/", "/new", "/shelf", "/book", "/settings", ...["prices", "lists", "tasks", "customers", "zone"].map(part => `/settings/${part}`), job, ...["look", "quote", "prepare", "check", "handover"].map(step => `${job}/${step}`), "/nowhere"]) {
            await at(phone, path);
            await settled(phone.page);
            await screen(phone, `${path}, ${scheme}`, width === 360);
        }
    }
    const everywhere = ["/", "/new", "/shelf", "/shelf/white", "/book", "/settings", ...["prices", "lists", "tasks", "customers", "zone"].map(part => `/settings/${part}`), job,
        ...["look", "quote", "colour", "recipe", "pour", "dabs", "coats", "grain", "sheen", "check", "handover"].map(step => `${job}/${step}`), "/job/1/look", "/job/1/pour", "/job/1/check"];
    await script_everywhere(phone, process.env.RUSSET_LONG ? everywhere : everywhere.filter((_, i) => i % 4 === 0)); // docs/page.md has the figures of all
} catch (error) {
    await broke_off(browser, "the walk through the page", error);
}
await browser.close();
finish();
