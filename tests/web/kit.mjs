// What the page's tests share: Chromium, checks that are counted, and what holds on every screen.
import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import {deflateSync} from "node:zlib";

const web = new URL("../../web/", import.meta.url);
const require = createRequire(new URL("package.json", web));
const {chromium} = require("playwright-core");
const axe = readFileSync(new URL("node_modules/axe-core/axe.min.js", web), "utf8");

let passed = 0, failed = 0;

export function check(title, holds, seen = "") {
    if (holds) passed++;
    else failed++;
    console.log(`${holds ? "ok" : "FAIL"} ${title}${holds ? "" : `: ${seen}`}`);
}

export function finish() {
    console.log(`${passed} passed, ${failed} failed`);
    process.exit(failed ? 1 : 0);
}

export const launch = () => chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", headless: true,
    args: ["--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync",
        ...(process.getuid() === 0 ? ["--no-sandbox"] : [])],
});

/** A device: its own cookies. `said` collects what its console complains of. */
export async function device(browser, width, height, scheme = "light") {
    const context = await browser.newContext({viewport: {width, height}, colorScheme: scheme, acceptDownloads: true});
    context.setDefaultTimeout(15000);
    if (process.env.DIST) // while working on the page: its newest build instead of the one inside the program
        for (const name of ["app.js", "app.css"]) await context.route(`**/${name}`, route => route.fulfill({path: `${process.env.DIST}/${name}`}));
    const page = await context.newPage(), said = [];
    page.on("pageerror", error => said.push(error.message));
    page.on("console", message => {
        if (message.type() === "error" && !/Failed to load resource|net::ERR/.test(message.text())) said.push(message.text());
    });
    return {context, page, said, width};
}

/* In the page: any painted colour outside of pictures whose red, green and blue differ. */
function coloured() {
    const hue = text => {
        const [r, g, b, a = "1"] = (text.match(/[\d.]+/g) ?? []);
        return text.startsWith("rgb") && Number(a) > 0 && !(r === g && g === b);
    };
    return [...document.querySelectorAll("body *")].filter(element => !element.closest("svg") && ["color", "backgroundColor", "borderTopColor", "outlineColor"]
        .some(name => hue(getComputedStyle(element)[name]))).slice(0, 3).map(element => element.outerHTML.slice(0, 80));
}

/* In the page: what is to be pressed and is smaller than 48 px. A link inside a sentence is text. */
function small() {
    return [...document.querySelectorAll("button, .button, .chip, summary, nav a, .card:is(a), input:not([type=radio]):not([type=checkbox]):not([type=file]), textarea")].filter(element => {
        const box = element.getBoundingClientRect();
        return box.width > 0 && (box.height < 47.5 || box.width < 47.5);
    }).slice(0, 3).map(element => element.outerHTML.slice(0, 80));
}

/** What holds on every screen: no axe violation, no colour but the material's, targets for a glove, no sideways scroll. */
export async function screen(of, name) {
    const {page, width, said} = of, title = `${name} at ${width} px`;
    if (!await page.evaluate(() => "axe" in window)) await page.evaluate(axe);
    const {violations} = await page.evaluate(() => window.axe.run(document, {resultTypes: ["violations"]}));
    check(`axe finds no violation: ${title}`, violations.length === 0, violations.map(v => `${v.id}: ${v.nodes[0].html.slice(0, 120)}`).join("; "));
    const hues = await page.evaluate(coloured), tiny = await page.evaluate(small);
    check(`no colour but the material's: ${title}`, hues.length === 0, hues.join("; "));
    check(`every target is 48 px: ${title}`, tiny.length === 0, tiny.join("; "));
    const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    check(`nothing sticks out sideways: ${title}`, over <= 0, `${over} px`);
    check(`one heading of the first order: ${title}`, await page.locator("h1").count() === 1, await page.locator("h1").count());
    check(`the console is silent: ${title}`, said.length === 0, said.splice(0).join("; "));
    if (process.env.SHOTS) await page.screenshot({path: `${process.env.SHOTS}/${name.replace(/\W+/g, "-")}-${width}.png`, fullPage: true});
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

/** What the page saves: its bytes. */
export async function saved(page, press) {
    const [download] = await Promise.all([page.waitForEvent("download"), press()]);
    return {name: download.suggestedFilename(), bytes: readFileSync(await download.path())};
}
